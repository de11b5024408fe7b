//! How well contributions are known: their numerical errors, and the size of what first order neglects. All are root mean squares over
//! the observation region, as fractions of the mean speed U.

use super::region::Region;
use crate::base::plane::distance;
use crate::geometry::Side;
use crate::input::case::Reynolds;
use crate::numerics::fem::Space;

/// Part of U that stands for the pattern's own departure from uniform flow where that is less.
const LEAST_OWN: f64 = 0.05;
/// Corrections are solved from a recovered velocity on the same mesh: twice its error is taken.
const CARE: f64 = 2.0;
/// Next term of the edge part of inertia over that part, in units of b/a, a the radius: three-dimensional solutions for a round post,
/// whose departure first order misses by 3 to 10 % for Re* near zero.
const NEXT_OF_EDGE: f64 = 0.8;
/// Next order of inertia over the whole of the first, in units of Re*: three-dimensional solutions past a post, b/a = 0.1 and 0.2, which first order
/// misses by 11 to 14 % at Re* = 0.27 and 23 to 29 % at 0.6 (`validation/three_dimensions`).
const NEXT_OF_INERTIA: f64 = 0.45;

/// Estimated error of the velocity: the mean of the velocities from pressure and stream function is off by half their difference
/// (Prager & Synge 1947, Q. Appl. Math. 5, 241), which the shares of the bracket measure, `‖ΔV‖/U = (W/(2 S)) √(Σ shares/A)` for the
/// shape factor S and the inlet's width W. It holds over the whole fluid; by parts it is an estimate.
pub fn velocity_error(space: &Space, shares: &[f64], shape_factor: f64, region: &Region, width: f64) -> f64 {
    let mut within = vec![false; space.mesh.points.len()];
    region.vertices.iter().for_each(|&v| within[v] = true);
    let (mut sum, mut area) = (0.0, 0.0);
    for (t, corners) in space.mesh.triangles.iter().enumerate() {
        if corners.iter().all(|&v| within[v as usize]) {
            sum += shares[t].max(0.0);
            area += space.area(t);
        }
    }
    if area > 0.0 { 0.5 * width / shape_factor * (sum / area).sqrt() } else { 0.0 }
}

/// Relative error of the pattern's own departure from uniform flow: `error/max(own, U/20)`. Corrections are made from that departure,
/// and a pattern that hardly differs from uniform flow has no accurate ones.
pub fn relative_error(velocity_error: f64, own_departure: f64) -> f64 {
    velocity_error / own_departure.max(LEAST_OWN)
}

/// How a correction depends on the velocity of the pattern.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Degree {
    /// As the velocity: the edge layer.
    Linear,
    /// As its square: inertia.
    Quadratic,
}

/// Estimated numerical error of a correction of this size: `2 n e size`, e the relative error of the pattern, n the degree, by which
/// small relative errors are multiplied.
pub fn correction_error(degree: Degree, relative: f64, size: f64) -> f64 {
    let n = match degree {
        Degree::Linear => 1.0,
        Degree::Quadratic => 2.0,
    };
    CARE * n * relative * size
}

/// Estimated numerical error of the next term of the edge layer's inertia, of this size: it goes by how the bend within a gap b changes, for
/// which it takes two chords; those of length h leave out h/b, of first order like all that is recovered at an edge, and everything from
/// h = b on. Twice that, as of the velocity; the mean along obstacles.
pub fn bend_error(space: &Space, size: f64) -> f64 {
    let (mut lengths, mut shares) = (0.0, 0.0);
    let plan = &space.mesh.plan;
    let holds = |side: Side| matches!(side, Side::Obstacle(_)) && plan.holds_back(side);
    let of_obstacles = space.mesh.boundary.iter().filter(|edge| holds(space.mesh.side(edge)));
    for edge in of_obstacles {
        let [i, j] = edge.vertices.map(|v| v as usize);
        let length = distance(space.mesh.points[i], space.mesh.points[j]);
        lengths += length;
        shares += length * (2.0 * length / (space.gap[i] + space.gap[j])).min(1.0);
    }
    if lengths > 0.0 { CARE * size * shares / lengths } else { 0.0 }
}

/// Shape factors of one cell by growing order in b/L.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ShapeFactors {
    /// Of the ideal pattern.
    pub ideal: f64,
    /// With the edge layer to first order.
    pub first_order: f64,
    /// With the edges moved, which has terms of second order.
    pub moved: f64,
}

/// What the edge layer of this size neglects: second order over first as the shape factors have it, `size |S2 − S1|/|S1 − S0|`; none
/// if first order leaves the shape factor alone.
pub fn edge_layer_neglected(size: f64, shape: &ShapeFactors) -> Option<f64> {
    let first = shape.first_order - shape.ideal;
    (first != 0.0).then(|| size * ((shape.moved - shape.first_order) / first).abs())
}

/// Sizes of the speed departure by inertia.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct InertiaSizes {
    /// Of all of it.
    pub whole: f64,
    /// Of the part that the edge term brings.
    pub edge_part: f64,
    /// Of the part that its next term brings, if it is in the whole.
    pub next_part: Option<f64>,
    /// Of the first and the second order, if the second is in the whole.
    pub orders: Option<[f64; 2]>,
}

/// What inertia neglects. Of the edge term `0.8 (b/a) edge part`, a half the reference length, and of the orders `0.45 Re* whole`; where the
/// next term of one is known, that term once more in the same ratio, as in a geometric series.
pub fn inertia_neglected(sizes: &InertiaSizes, gap: f64, reynolds: &Reynolds) -> f64 {
    let half = 0.5 * reynolds.reference_length;
    let again = |first: f64, next: f64| if first > 0.0 { next * (next / first).min(1.0) } else { next };
    let edge = match sizes.next_part {
        Some(next) => again(sizes.edge_part, next),
        None => NEXT_OF_EDGE * gap / half * sizes.edge_part,
    };
    let order = match sizes.orders {
        Some([first, second]) => again(first, second),
        None => NEXT_OF_INERTIA * reynolds.reduced * sizes.whole,
    };
    edge + order
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Plan;
    use crate::geometry::Wall::{Lower, Upper};
    use crate::input::case::Gap;
    use crate::numerics::mesh::{Mesh, SizeField};
    use std::sync::Arc;

    fn reynolds(reduced: f64) -> Reynolds {
        // a post of radius 5 mm
        Reynolds { obstacle: 1.0, gap: 0.1, reduced, reference_length: 0.01 }
    }

    /// What first-order inertia misses of the departure, by the three-dimensional solutions for a post: 11 to 14 % at Re* = 0.27, 23 to 29 % at 0.6;
    /// there the edge term is a small part of the whole.
    #[test]
    fn inertia_neglects_what_three_dimensional_solutions_show() {
        let whole = 0.04;
        let share = |re: f64| {
            let sizes = InertiaSizes { whole, edge_part: 0.2 * whole, next_part: None, orders: None };
            inertia_neglected(&sizes, 0.5e-3, &reynolds(re)) / whole
        };
        assert!((0.105..0.145).contains(&share(0.27)), "{}", share(0.27));
        assert!((0.225..0.295).contains(&share(0.6)), "{}", share(0.6));
        // twice the whole with the same edge part
        let grown = inertia_neglected(
            &InertiaSizes { whole: 2.0 * whole, edge_part: 0.0, next_part: None, orders: None },
            0.5e-3,
            &reynolds(0.6),
        );
        assert!((grown / (0.45 * 0.6 * 2.0 * whole) - 1.0).abs() < 1e-12);
    }

    /// For Re* near zero first order misses 3 to 10 % of the departure, for gaps of an eighth of the radius and less; all of it is the edge
    /// part's next term, 0.8 b/a.
    #[test]
    fn the_edge_part_has_a_next_term_of_its_own() {
        let sizes = InertiaSizes { whole: 0.0, edge_part: 0.03, next_part: None, orders: None };
        for (gap, share) in [(0.2e-3, 0.032), (0.5e-3, 0.08)] {
            let found = inertia_neglected(&sizes, gap, &reynolds(0.0)) / 0.03;
            assert!((found - share).abs() < 1e-12 && (0.03..0.1).contains(&found), "{found}");
        }
    }

    /// A pattern that differs from uniform flow by 0.3 of U and is known to 0.003 of U has corrections known to one per cent of themselves,
    /// doubled for care and once more for what goes as the square. An empty cell, whose pattern differs by nothing, counts as 1/20.
    #[test]
    fn errors_of_corrections() {
        assert!((relative_error(0.003, 0.3) - 0.01).abs() < 1e-15);
        assert!((relative_error(0.003, 0.051) - 0.003 / 0.051).abs() < 1e-15);
        for own in [0.0, 0.02, 0.05] {
            assert!((relative_error(0.003, own) - 0.06).abs() < 1e-15, "{own}");
        }
        assert!((correction_error(Degree::Linear, 0.01, 0.2) - 0.004).abs() < 1e-15);
        assert!((correction_error(Degree::Quadratic, 0.01, 0.2) - 0.008).abs() < 1e-15);
    }

    /// Chords of a quarter of a gap leave out a quarter of how the bend changes, those of a gap and more all of it.
    #[test]
    fn bends_within_a_gap_are_told_by_shorter_chords() {
        let sides = [Side::Wall(Lower), Side::Outlet, Side::Wall(Upper), Side::Inlet];
        let hole = [[0.4, 0.4], [0.4, 0.6], [0.6, 0.6], [0.6, 0.4]];
        let plan = Plan::polygon(&[[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]], &sides, &[hole.to_vec()]).unwrap();
        let mesh = Arc::new(Mesh::generate(&Arc::new(plan), &SizeField::new(0.05, 0.3, vec![]), 10_000).unwrap());
        let of = |gap: f64| bend_error(&Space::new(mesh.clone(), &Gap::Uniform(gap), gap), 0.03);
        let edge = 0.05;
        assert!((of(4.0 * edge) / (2.0 * 0.03 / 4.0) - 1.0).abs() < 0.1, "{}", of(4.0 * edge) / 0.03);
        assert_eq!(of(0.8 * edge), 2.0 * 0.03);
    }

    /// An empty duct of width W between straight edges: S = W/L (1 - 0.63 b/W) to first order and, with each edge moved by 0.315 b, the same
    /// again; a series 1 - x + x² has second over first x.
    #[test]
    fn the_edge_layer_neglects_second_over_first_order() {
        let x = 0.1;
        let shape = ShapeFactors { ideal: 0.5, first_order: 0.5 * (1.0 - x), moved: 0.5 * (1.0 - x + x * x) };
        assert!((edge_layer_neglected(0.02, &shape).unwrap() - 0.02 * x).abs() < 1e-15);
        // whichever way either goes
        let other = ShapeFactors { moved: 0.5 * (1.0 - x - x * x), ..shape };
        assert!((edge_layer_neglected(0.02, &other).unwrap() - 0.02 * x).abs() < 1e-15);
        assert_eq!(edge_layer_neglected(0.02, &ShapeFactors { first_order: 0.5, ..shape }), None);
    }
}
