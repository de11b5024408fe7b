//! An end of the cell as a mesh has it: its vertices in order, and what lies beyond it.

use super::Mesh;
use crate::base::Point;
use crate::base::plane::{
    Segment, between, cross, distance, distance_to_segment, dot, left, length, nearest_on_segment, way,
};
use crate::geometry::Side;
use std::collections::BTreeMap;

/// Chords that turn by less than this are one straight line, rad.
const STRAIGHT: f64 = 1e-12;
/// A step passes an end that it misses by less than this part of its width: rounding at a corner.
const BESIDE: f64 = 0.05;

/// An end of the cell on a mesh.
#[derive(Debug, Clone)]
pub struct Gate {
    vertices: Vec<u32>,
    /// Straight parts in walking order, the fluid on the left.
    chords: Vec<Segment>,
    width: f64,
}

impl Gate {
    /// The end of a side, inlet or outlet; without vertices if the mesh has none.
    pub fn of(mesh: &Mesh, side: Side) -> Gate {
        let edges: Vec<[u32; 2]> =
            mesh.boundary.iter().filter(|edge| mesh.side(edge) == side).map(|edge| edge.vertices).collect();
        let mut next: BTreeMap<u32, u32> = edges.iter().map(|&[a, b]| (a, b)).collect();
        let ended: std::collections::BTreeSet<u32> = edges.iter().map(|&[_, b]| b).collect();
        let starts: Vec<u32> = next.keys().copied().filter(|a| !ended.contains(a)).collect();
        let (mut vertices, mut chords): (Vec<u32>, Vec<Segment>) = (Vec::new(), Vec::new());
        for start in starts {
            let mut at = start;
            vertices.push(at);
            while let Some(to) = next.remove(&at) {
                let [p, q] = [at, to].map(|v| mesh.points[v as usize]);
                match chords.last_mut().filter(|last| last[1] == p && is_straight(**last, q)) {
                    Some(last) => last[1] = q,
                    None => chords.push([p, q]),
                }
                vertices.push(to);
                at = to;
            }
        }
        let width = chords.iter().map(|[a, b]| distance(*a, *b)).sum();
        if side == Side::Inlet {
            vertices.reverse();
        }
        Gate { vertices, chords, width }
    }

    /// Its vertices from the lower wall to the upper.
    pub fn vertices(&self) -> &[u32] {
        &self.vertices
    }

    /// Its width, m.
    pub fn width(&self) -> f64 {
        self.width
    }

    /// The fraction of the way from one place to another at which the end is passed from within; none if it is not.
    pub fn passed(&self, from: Point, to: Point) -> Option<f64> {
        let (chord, _) = self.nearest(to)?;
        let [a, b] = [from, to].map(|p| ahead(chord, p));
        let share = -a / (b - a);
        let beside = || distance_to_segment(between(from, to, share), chord);
        (a < 0.0 && b >= 0.0 && beside() <= BESIDE * self.width).then_some(share)
    }

    /// Where the way from a place before it to one beyond it, however far, leaves the cell, and the fraction of the way until there.
    pub fn crossed(&self, from: Point, to: Point) -> (Point, f64) {
        let Some((chord, _)) = self.nearest(to) else { return (to, 1.0) };
        let [a, b] = [from, to].map(|p| ahead(chord, p));
        let share = if b > a { (-a / (b - a)).clamp(0.0, 1.0) } else { 1.0 };
        // exactly on the end
        (nearest_on_segment(between(from, to, share), chord), share)
    }

    /// The direction in which the flow passes the end on the whole, of length 1; into the cell for an inlet, out of it for an outlet.
    pub fn direction(&self, side: Side) -> Option<[f64; 2]> {
        let sum = self.chords.iter().fold([0.0; 2], |[x, y], &[a, b]| {
            let [u, v] = left(way(a, b));
            [x + u, y + v]
        });
        let inwards = crate::base::plane::unit(sum)?;
        Some(if side == Side::Inlet { inwards } else { inwards.map(|x| -x) })
    }

    fn nearest(&self, p: Point) -> Option<(Segment, f64)> {
        let all = self.chords.iter().map(|&chord| (chord, distance_to_segment(p, chord)));
        all.min_by(|a, b| a.1.total_cmp(&b.1))
    }
}

/// Signed distance of a place from the line of a chord, positive on its right.
fn ahead([a, b]: Segment, p: Point) -> f64 {
    let along = way(a, b);
    let outwards = left(along).map(|x| -x / length(along));
    dot(way(a, p), outwards)
}

fn is_straight([a, b]: Segment, c: Point) -> bool {
    let (u, v) = (way(a, b), way(b, c));
    dot(u, v) > 0.0 && cross(u, v).abs() <= STRAIGHT * length(u) * length(v)
}

impl Mesh {
    /// Extent of the cell along the way the flow enters, m: the length of a rectangle.
    pub fn along(&self) -> f64 {
        let inwards = Gate::of(self, Side::Inlet).direction(Side::Inlet).unwrap_or([1.0, 0.0]);
        let size = crate::base::plane::Rect::of(self.points.iter().copied()).size();
        dot(size, inwards.map(f64::abs))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::{Plan, Wall};
    use crate::numerics::mesh::SizeField;
    use std::sync::Arc;

    /// A bend from an inlet on the left to an outlet at the top: places are before it, beyond it, or beyond it only where it is not.
    #[test]
    fn an_end_knows_what_is_beyond_it() {
        let points = [[0.0, 0.0], [2.0, 0.0], [2.0, 3.0], [1.0, 3.0], [1.0, 1.0], [0.0, 1.0]];
        let (lower, upper) = (Side::Wall(Wall::Lower), Side::Wall(Wall::Upper));
        let plan = Plan::polygon(&points, &[lower, lower, Side::Outlet, upper, upper, Side::Inlet], &[]).unwrap();
        let mesh = Mesh::generate(&Arc::new(plan), &SizeField::new(0.3, 0.3, vec![]), 10_000).unwrap();
        let [inlet, outlet] = [Side::Inlet, Side::Outlet].map(|side| Gate::of(&mesh, side));
        assert_eq!((inlet.width(), outlet.width()), (1.0, 1.0));
        assert_eq!(outlet.passed([1.5, 2.75], [1.5, 3.75]), Some(0.25));
        for (from, to) in [([1.5, 2.0], [1.5, 2.75]), ([1.5, 3.5], [1.5, 2.75]), ([0.5, 2.5], [0.5, 3.5])] {
            assert_eq!(outlet.passed(from, to), None, "{from:?} {to:?}");
        }
        assert_eq!(
            (inlet.passed([0.25, 0.5], [-0.25, 0.5]), inlet.crossed([1.0, 0.5], [-3.0, 2.5])),
            (Some(0.5), ([0.0, 1.0], 0.25))
        );
        assert_eq!(inlet.direction(Side::Inlet), Some([1.0, 0.0]));
        assert_eq!(outlet.direction(Side::Outlet).map(|d| d[1]), Some(1.0));
        let heights = |gate: &Gate, axis: usize| {
            gate.vertices().iter().map(|&v| mesh.points[v as usize][axis]).collect::<Vec<f64>>()
        };
        assert!(heights(&inlet, 1).windows(2).all(|y| y[0] < y[1]), "from the lower wall to the upper");
        assert!(heights(&outlet, 0).windows(2).all(|x| x[0] > x[1]));
        assert_eq!(mesh.along(), 2.0);
    }
}
