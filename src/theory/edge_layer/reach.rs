//! How far the edge layer reaches: where the pattern and the layers are those of the fluid outside it.
//!
//! No-slip at a solid edge holds back fluid within about one gap ([`super::profile`]); the layers and the inertia of the edge need some
//! more to become those of the outer flow. Three gaps are taken, the gap being the one at the place itself: of the mean profile
//! 8e-5 is missing there, `(96/π⁴) exp(−3 π)`.

use crate::base::Point;
use crate::base::plane;
use crate::geometry::Curve;
use crate::numerics::fem::Space;

/// Local gaps from a solid edge within which neither the pattern nor the layers are valid.
pub const REACH: f64 = 3.0;

/// How far from solid edges something keeps.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Margin {
    /// So many gaps, each place with its own gap.
    Gaps(f64),
    /// The same length everywhere, m.
    Length(f64),
}

impl Margin {
    /// The reach of the edge layer.
    pub const REACH: Margin = Margin::Gaps(REACH);

    /// Its width where the gap is so wide, m.
    pub fn width(self, gap: f64) -> f64 {
        match self {
            Margin::Gaps(count) => count * gap,
            Margin::Length(length) => length,
        }
    }

    /// Its largest width in a cell, m.
    pub fn widest(self, space: &Space) -> f64 {
        self.width(space.gap.iter().fold(0.0, |a: f64, &b| a.max(b)))
    }

    /// The margin for a gap that is everywhere so many times as wide: gaps grow along, a length stays.
    pub fn for_gap(self, times: f64) -> Margin {
        match self {
            Margin::Gaps(count) => Margin::Gaps(count * times),
            Margin::Length(length) => Margin::Length(length),
        }
    }

    /// Whether a place so far from the nearest solid edge, m, is left out where the gap is so wide, m.
    pub fn holds(self, distance: f64, gap: f64) -> bool {
        distance < self.width(gap)
    }
}

/// The fluid near solid edges on a mesh.
#[derive(Debug, Clone, Copy)]
pub struct Reach<'a> {
    gap: &'a [f64],
    distance: &'a [f64],
    margin: Margin,
}

/// The fluid within reach of the edge layer.
pub fn reach(space: &Space) -> Reach<'_> {
    Reach::of(space, Margin::REACH)
}

impl<'a> Reach<'a> {
    /// The fluid within a margin.
    pub fn of(space: &'a Space, margin: Margin) -> Self {
        Reach { gap: &space.gap, distance: space.wall_distance(), margin }
    }

    /// Whether a vertex stands within it.
    pub fn holds(&self, vertex: usize) -> bool {
        self.margin.holds(self.distance[vertex], self.gap[vertex])
    }

    /// The vertices beyond it, in ascending order.
    pub fn beyond(self) -> impl Iterator<Item = usize> + use<'a> {
        (0..self.gap.len()).filter(move |&v| !self.holds(v))
    }
}

/// Steps of the golden section towards the foot of a place on a curve: each leaves 0.62 of the part, all together 3e-13.
const STEPS: usize = 60;

/// Distance of a place from the nearest edge that holds fluid back, curves as they are and not as their chords, m.
pub fn clearance(space: &Space, at: Point) -> f64 {
    let mesh = &space.mesh;
    let holding = mesh.boundary.iter().filter(|edge| mesh.plan.holds_back(mesh.side(edge)));
    holding.fold(f64::INFINITY, |nearest, edge| {
        let [a, b] = edge.vertices.map(|v| mesh.points[v as usize]);
        let middle = plane::middle(a, b);
        let length = plane::distance(a, b);
        // the part of a curve between the ends of an edge keeps within an edge's length of its middle
        if plane::distance(middle, at) - length >= nearest {
            return nearest;
        }
        nearest.min(distance_to_part(&mesh.plan.pieces[edge.piece as usize].curve, edge.parameters, at))
    })
}

/// Distance of a place from a part of a curve so short that it has one foot there.
fn distance_to_part(curve: &Curve, [from, to]: [f64; 2], at: Point) -> f64 {
    let distance = |t: f64| plane::distance(curve.point(t), at);
    let golden = 0.5 * (5f64.sqrt() - 1.0);
    let (mut low, mut high) = (from, to);
    for _ in 0..STEPS {
        let [left, right] = [high - golden * (high - low), low + golden * (high - low)];
        if distance(left) < distance(right) { high = right } else { low = left }
    }
    distance(from).min(distance(to)).min(distance(0.5 * (low + high)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::{Piece, Plan, Side, Wall};
    use crate::input::case::Gap;
    use crate::numerics::mesh::{Mesh, SizeField};
    use crate::theory::edge_layer::profile;
    use std::f64::consts::PI;
    use std::sync::Arc;

    #[test]
    fn a_margin_takes_the_gap_of_the_place() {
        // distance, gap, within three gaps, within 5 mm
        for (distance, gap, near, inside) in [
            (2.9e-3, 1e-3, true, true),
            (3.0e-3, 1e-3, false, true),
            (3.1e-3, 1e-3, false, true),
            (3.1e-3, 1.1e-3, true, true),
            (5.0e-3, 1e-3, false, false),
            (f64::INFINITY, 1e-3, false, false),
        ] {
            assert_eq!(Margin::REACH.holds(distance, gap), near, "{distance} {gap}");
            assert_eq!(Margin::Length(5e-3).holds(distance, gap), inside, "{distance} {gap}");
        }
        assert_eq!(Margin::Gaps(3.0).for_gap(2.0).width(1e-3), 6e-3);
        assert_eq!(Margin::Length(5e-3).for_gap(2.0).width(1e-3), 5e-3);
    }

    /// A channel of 1 m by 1 m with a round post of radius 0.15 m in the middle, on a coarse mesh.
    fn post(gap: &Gap) -> Space {
        let sides = [Side::Wall(Wall::Lower), Side::Outlet, Side::Wall(Wall::Upper), Side::Inlet];
        let mut plan = Plan::polygon(&[[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]], &sides, &[]).unwrap();
        let curve = Curve::Arc { centre: [0.5; 2], semi_axes: [0.15; 2], rotation: 0.0, start: 0.0, end: 2.0 * PI };
        plan.pieces.push(Piece { curve, from: 1.0, to: 0.0, side: Side::Obstacle(0) });
        plan.loops.push(4..5);
        let size = SizeField::new(0.1, 0.3, vec![]);
        Space::new(Arc::new(Mesh::generate(&Arc::new(plan), &size, 10_000).unwrap()), gap, gap.at([0.5; 2]))
    }

    /// Chords of length 0.1 on the post stand off it by up to 0.1²/(8 * 0.15) = 8 mm; the clearance knows nothing of them.
    #[test]
    fn the_clearance_is_that_of_the_curve() {
        let space = post(&Gap::Uniform(0.02));
        for k in 0..40 {
            let angle = 2.0 * PI * f64::from(k) / 40.0;
            for r in [0.15, 0.155, 0.17, 0.2, 0.3] {
                let p = [0.5 + r * angle.cos(), 0.5 + r * angle.sin()];
                let exact = (r - 0.15).min(p[1]).min(1.0 - p[1]);
                assert!((clearance(&space, p) - exact).abs() < 1e-12, "{p:?}");
            }
        }
        // the ends hold back nothing
        assert!((clearance(&space, [0.01, 0.2]) - 0.2).abs() < 1e-12);
    }

    /// In gaps of the place, and no further than the profile goes.
    #[test]
    fn distances_count_the_gaps_of_their_place() {
        let space = post(&Gap::Linear { at: 0.04, slope: [0.06, 0.0], middle: [0.5; 2] });
        let mut far = [0; 2];
        for (v, found) in profile::distances(&space).into_iter().enumerate() {
            let gaps = space.wall_distance()[v] / (0.04 + 0.06 * (space.mesh.points[v][0] - 0.5));
            assert!((found - gaps.min(6.0)).abs() < 1e-9, "{found} {gaps}");
            far[usize::from(gaps > 6.0)] += 1;
        }
        assert!(far[0] > 10 && far[1] > 10, "{far:?}");
    }

    #[test]
    fn vertices_are_held_by_their_own_gap() {
        let gap = Gap::Linear { at: 0.04, slope: [0.06, 0.0], middle: [0.5; 2] };
        let space = post(&gap);
        let near = reach(&space);
        let mut sides = [0; 2];
        for (v, p) in space.mesh.points.iter().enumerate() {
            let held = space.wall_distance()[v] < 3.0 * (0.04 + 0.06 * (p[0] - 0.5));
            assert_eq!(near.holds(v), held, "{p:?}");
            sides[usize::from(held)] += 1;
        }
        assert!(sides[0] > 10 && sides[1] > 10, "{sides:?}");
        assert!((Margin::REACH.widest(&space) - 3.0 * 0.07).abs() < 1e-12);
        assert_eq!(near.beyond().count(), sides[0]);
        assert_eq!(Reach::of(&space, Margin::Length(0.0)).beyond().count(), space.mesh.points.len());
        assert!(near.beyond().all(|v| !near.holds(v)));
    }
}
