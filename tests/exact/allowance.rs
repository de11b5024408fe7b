//! The stated allowance for chords in place of curves against the change they make.

use crate::cells::{Grid, cell, circle, study};
use std::fmt::Write;
use std::sync::Arc;
use twinplate::Point;
use twinplate::geometry::Side;
use twinplate::input::case::Ends::HeldPressure;
use twinplate::input::case::Gap;
use twinplate::numerics::mesh::{Mesh, SizeField};

/// Corners of the polygon that stands for the post on a mesh, in order.
fn corners(mesh: &Mesh) -> Vec<Point> {
    let on_post = mesh.boundary.iter().filter(|edge| mesh.side(edge) == Side::Obstacle(0));
    on_post.map(|edge| mesh.points[edge.vertices[0] as usize]).collect()
}

/// A circle of half the width: shape factor 1/(3 + 0.494479592) (rows of images; see bounds.rs). The polygon inside it, solved by itself to a
/// guaranteed bracket, lets more through; the allowance, which takes the steeper end of every chord and no help from signs, is above that
/// change, and below three times it.
#[test]
fn the_allowance_is_above_the_true_change_and_not_far() {
    let (case, plan) = cell(3.0, 1.0, HeldPressure, &circle([1.5, 0.5], 0.5));
    for size in [0.12, 0.06] {
        let mesh = Mesh::generate(&plan, &SizeField::new(size, 0.3, vec![]), 100_000).unwrap();
        let points = corners(&mesh);
        let grid = Grid::new(mesh, &Gap::Uniform(1e-3), 1e-3, HeldPressure);
        let allowance = grid.pattern(&case).shape_factor.outline_allowance;
        let mut text = String::from("[[obstacle]]\npolygon = { points = [");
        points.iter().for_each(|p| write!(text, "{p:?}, ").unwrap());
        let (polygon, outline) = cell(3.0, 1.0, HeldPressure, &(text + "] }\n"));
        let shape = study(polygon, Arc::clone(&outline), 20_000, false).pattern.shape_factor;
        let exact = 1.0 / (3.0 + 0.494479592);
        let change = [shape.lower - exact, shape.upper - exact];
        println!("{} chords: change {change:?}, allowance {allowance:.3e}", points.len());
        assert!(change[1] < allowance, "{change:?} {allowance}");
        assert!(change[0] > allowance / 3.0, "{change:?} {allowance}");
    }
}
