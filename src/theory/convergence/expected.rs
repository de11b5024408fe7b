//! The order that theory has for linear elements, from the corners of the fluid.
//!
//! At a corner of fluid angle ω the pressure behaves as `r^α`, α = π/ω where two walls meet and π/(2ω) where a wall meets a held end.
//! On meshes of one size there the energy, and with it the shape factor and by pollution every value at a place, converges as
//! `h^(2α)`, at most as h² (Grisvard 1985, Elliptic Problems in Nonsmooth Domains). Meshes graded into the corners keep h².

use crate::base::Point;
use crate::base::row::Order;
use crate::geometry::Plan;
use crate::input::case::Ends;
use std::f64::consts::PI;

/// The corner that sets the order.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sharpest {
    /// Where, m.
    pub at: Point,
    /// Angle of the fluid, rad.
    pub fluid_angle: f64,
    /// Whether a wall meets a held end there; else walls meet.
    pub at_held_end: bool,
    /// α: the pressure goes as the distance to this power.
    pub exponent: f64,
}

/// Exponent α of a corner up to which the edge layer is switched off near it: a solid sharper than 60° has α = π/(300°) = 0.6.
const KNIFE: f64 = 0.6;

/// The corner of least exponent α; none if the boundary has no corner that slows convergence below second order.
pub fn sharpest_corner(plan: &Plan, ends: Ends) -> Option<Sharpest> {
    let solid = |piece: usize| plan.solid(plan.pieces[piece].side).is_some();
    // where an end meets a wall in line, the kind of condition changes: a corner with no turn
    let of = plan.junctions().into_iter().filter_map(|corner| {
        let at_held_end = ends == Ends::HeldPressure && solid(corner.before) != solid(corner.after);
        let exponent = if at_held_end { 0.5 } else { 1.0 } * PI / corner.fluid_angle;
        // a right angle at a held end, and any corner of less than pi between walls, does not slow it down
        let slows = exponent < 1.0 - 1e-9;
        slows.then_some(Sharpest { at: corner.at, fluid_angle: corner.fluid_angle, at_held_end, exponent })
    });
    of.min_by(|a, b| a.exponent.total_cmp(&b.exponent))
}

/// How the sizes of meshes change towards corners.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Grading {
    /// Not at all.
    Even,
    /// They shrink so that the error there stays a small part.
    IntoCorners,
}

/// Expected order of a quantity on meshes that are not graded into corners or are, α the least exponent:
///
/// - the pattern, that is the shape factor and its bounds, pressure and velocity at places away from corners: `min(2, 2α)`;
/// - with the edge layer, whose loads hold the slope of the pressure along edges: `min(2, 2α − 1)`; near edges sharper than 60° the
///   term is switched off, and `min(2, 2α)` holds again;
/// - a measure over the observation region, whose rim follows the mesh: `min(1, 2α)`.
///
/// On meshes graded into the corners 2α counts as 2; the slope along edges keeps its `2α − 1`.
pub fn expected_order(sharpest: Option<&Sharpest>, order: Order, grading: Grading) -> f64 {
    let twice = match sharpest {
        Some(corner) if grading == Grading::Even => 2.0 * corner.exponent,
        _ => 2.0,
    };
    match order {
        Order::Pattern => twice.min(2.0),
        Order::EdgeLayer => match sharpest {
            Some(corner) if corner.exponent > KNIFE => 2.0 * corner.exponent - 1.0,
            _ => twice.min(2.0),
        },
        Order::Region => twice.min(1.0),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Side;
    use crate::geometry::Wall::{Lower, Upper};

    fn parallelogram(angle: f64) -> Plan {
        let sides = [Side::Wall(Lower), Side::Outlet, Side::Wall(Upper), Side::Inlet];
        let shift = -1.0 / angle.tan();
        Plan::polygon(&[[0.0, 0.0], [1.0, 0.0], [1.0 + shift, 1.0], [shift, 1.0]], &sides, &[]).unwrap()
    }

    #[test]
    fn exponents_of_corners() {
        let rectangle = parallelogram(0.5 * PI);
        for ends in [Ends::HeldPressure, Ends::GivenInflow] {
            assert_eq!(sharpest_corner(&rectangle, ends), None);
            assert_eq!(expected_order(None, Order::Pattern, Grading::Even), 2.0);
        }
        // obtuse angle of a wall and a held end: h^(pi/omega); with given inflow it does not matter
        let angle = 0.75 * PI;
        let held = sharpest_corner(&parallelogram(angle), Ends::HeldPressure).unwrap();
        assert!(held.at_held_end && (held.fluid_angle - angle).abs() < 1e-12);
        assert!((expected_order(Some(&held), Order::Pattern, Grading::Even) - 4.0 / 3.0).abs() < 1e-12);
        assert_eq!(expected_order(Some(&held), Order::Pattern, Grading::IntoCorners), 2.0);
        assert_eq!(sharpest_corner(&parallelogram(angle), Ends::GivenInflow), None);
        // right-angled post: h^(4/3); the edge layer h^(1/3)
        let l = [[0.0, 0.0], [2.0, 0.0], [2.0, 1.0], [1.0, 1.0], [1.0, 2.0], [0.0, 2.0]];
        let mut sides = [Lower, Lower, Upper, Upper, Upper, Lower].map(Side::Wall).to_vec();
        (sides[1], sides[4]) = (Side::Outlet, Side::Inlet);
        let bend = sharpest_corner(&Plan::polygon(&l, &sides, &[]).unwrap(), Ends::HeldPressure).unwrap();
        assert_eq!(bend.at, [1.0, 1.0]);
        assert!((expected_order(Some(&bend), Order::Pattern, Grading::Even) - 4.0 / 3.0).abs() < 1e-12);
        assert!((expected_order(Some(&bend), Order::EdgeLayer, Grading::Even) - 1.0 / 3.0).abs() < 1e-12);
    }

    /// A held end in the middle of a side: the pressure goes as the root of the distance where it meets the wall in line, and bounds close as h.
    /// Given inflow has none of that.
    #[test]
    fn an_end_in_line_with_its_wall_is_a_corner() {
        let points = [[0.0, 0.0], [1.0, 0.0], [1.0, 0.25], [1.0, 0.75], [1.0, 1.0], [0.0, 1.0]];
        let (lower, upper) = (Side::Wall(Lower), Side::Wall(Upper));
        let plan = Plan::polygon(&points, &[lower, lower, Side::Outlet, upper, upper, Side::Inlet], &[]).unwrap();
        let found = sharpest_corner(&plan, Ends::HeldPressure).unwrap();
        assert!(found.at_held_end && (found.exponent - 0.5).abs() < 1e-12 && found.at == [1.0, 0.25], "{found:?}");
        assert!((expected_order(Some(&found), Order::Pattern, Grading::Even) - 1.0).abs() < 1e-12);
        assert_eq!(sharpest_corner(&plan, Ends::GivenInflow), None);
    }

    fn corner(exponent: f64) -> Sharpest {
        Sharpest { at: [0.0, 0.0], fluid_angle: PI / exponent, at_held_end: false, exponent }
    }

    /// min(2, 2α), min(2, 2α - 1) up to solids of 60 degrees (α = 0.6) and min(2, 2α) beyond, min(1, 2α).
    #[test]
    fn orders_of_all_kinds() {
        for (exponent, edge_layer) in [(0.5, 1.0), (0.55, 1.1), (0.6, 1.2), (0.61, 0.22), (0.9, 0.8)] {
            let sharpest = corner(exponent);
            let of = |order| expected_order(Some(&sharpest), order, Grading::Even);
            assert!((of(Order::Pattern) - 2.0 * exponent).abs() < 1e-12, "{exponent}");
            assert!((of(Order::EdgeLayer) - edge_layer).abs() < 1e-12, "{exponent}: {}", of(Order::EdgeLayer));
            assert_eq!(of(Order::Region), 1.0, "{exponent}");
        }
        assert!((expected_order(Some(&corner(0.3)), Order::Region, Grading::Even) - 0.6).abs() < 1e-12);
        // graded into corners, the slope of the pressure along edges is all that is not smooth
        let graded = |exponent: f64, order| expected_order(Some(&corner(exponent)), order, Grading::IntoCorners);
        assert_eq!([0.3, 0.5, 0.9].map(|x| graded(x, Order::Pattern)), [2.0; 3]);
        assert_eq!([0.3, 0.5, 0.9].map(|x| graded(x, Order::Region)), [1.0; 3]);
        assert!((graded(0.9, Order::EdgeLayer) - 0.8).abs() < 1e-12 && graded(0.5, Order::EdgeLayer) == 2.0);
        let none =
            [Order::Pattern, Order::EdgeLayer, Order::Region].map(|order| expected_order(None, order, Grading::Even));
        assert_eq!(none, [2.0, 2.0, 1.0]);
    }

    /// Of two reentrant corners the one of larger fluid angle sets the order; a right angle at a held end is none.
    #[test]
    fn the_sharpest_corner_is_the_one_of_least_exponent() {
        // a notch: fluid angles of 270 degrees at (1, 1) and of 180 + atan 2 = 243 degrees at (2, 1)
        let points = [[0.0, 0.0], [4.0, 0.0], [4.0, 2.0], [2.5, 2.0], [2.0, 1.0], [1.0, 1.0], [1.0, 2.0], [0.0, 2.0]];
        let mut sides = [Side::Wall(Upper); 8];
        (sides[0], sides[1], sides[7]) = (Side::Wall(Lower), Side::Outlet, Side::Inlet);
        let plan = Plan::polygon(&points, &sides, &[]).unwrap();
        for ends in [Ends::HeldPressure, Ends::GivenInflow] {
            let sharpest = sharpest_corner(&plan, ends).unwrap();
            assert_eq!((sharpest.at, sharpest.at_held_end), ([1.0, 1.0], false));
            assert!((sharpest.exponent - 2.0 / 3.0).abs() < 1e-12 && (sharpest.fluid_angle - 1.5 * PI).abs() < 1e-12);
        }
    }
}
