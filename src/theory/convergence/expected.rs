//! The order that theory has for linear elements, from the corners of the fluid.
//!
//! At a corner of fluid angle omega the pressure behaves as r^alpha, alpha = pi/omega where two walls meet and pi/(2 omega) where
//! a wall meets a held end. On meshes of one size there the energy, and with it the shape factor and by pollution every value at
//! a place, converges as h^(2 alpha), at most as h^2 (Grisvard 1985, Elliptic Problems in Nonsmooth Domains). Meshes graded into
//! the corners keep h^2.

use crate::base::Point;
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
    /// alpha: the pressure goes as the distance to this power.
    pub exponent: f64,
}

/// How a quantity depends on the pattern.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Shape factor and its bounds, pressure and velocity at places away from corners: min(2, 2 alpha).
    Pattern,
    /// With the edge layer, whose loads hold the slope of the pressure along edges: min(2, 2 alpha - 1). Near edges sharper than 60
    /// degrees the term is switched off, and min(2, 2 alpha) holds again.
    EdgeLayer,
    /// A measure over the observation region, whose rim follows the mesh: min(1, 2 alpha).
    Region,
}

impl From<crate::base::row::Order> for Kind {
    fn from(order: crate::base::row::Order) -> Kind {
        match order {
            crate::base::row::Order::Pattern => Kind::Pattern,
            crate::base::row::Order::EdgeLayer => Kind::EdgeLayer,
            crate::base::row::Order::Region => Kind::Region,
        }
    }
}

/// The corner of least exponent alpha; none if the boundary has no corner that slows convergence below second order.
pub fn sharpest_corner(plan: &Plan, ends: Ends) -> Option<Sharpest> {
    let solid = |piece: usize| plan.solid(plan.pieces[piece].side).is_some();
    let of = plan.corners().into_iter().filter_map(|corner| {
        let at_held_end = ends == Ends::HeldPressure && solid(corner.before) != solid(corner.after);
        let exponent = if at_held_end { 0.5 } else { 1.0 } * PI / corner.fluid_angle;
        // a right angle at a held end, and any corner of less than pi between walls, does not slow it down
        let slows = exponent < 1.0 - 1e-9;
        slows.then_some(Sharpest { at: corner.at, fluid_angle: corner.fluid_angle, at_held_end, exponent })
    });
    of.min_by(|a, b| a.exponent.total_cmp(&b.exponent))
}

/// Expected order of a quantity on meshes that are not graded into corners (`graded` false) or are.
pub fn expected_order(sharpest: Option<&Sharpest>, kind: Kind, graded: bool) -> f64 {
    let twice = match sharpest {
        Some(corner) if !graded => 2.0 * corner.exponent,
        _ => 2.0,
    };
    match kind {
        Kind::Pattern => twice.min(2.0),
        Kind::EdgeLayer => match sharpest {
            Some(corner) if corner.exponent > 0.6 => (2.0 * corner.exponent - 1.0).min(twice),
            _ => twice.min(2.0),
        },
        Kind::Region => twice.min(1.0),
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
            assert_eq!(expected_order(None, Kind::Pattern, false), 2.0);
        }
        // obtuse angle of a wall and a held end: h^(pi/omega); with given inflow it does not matter
        let angle = 0.75 * PI;
        let held = sharpest_corner(&parallelogram(angle), Ends::HeldPressure).unwrap();
        assert!(held.at_held_end && (held.fluid_angle - angle).abs() < 1e-12);
        assert!((expected_order(Some(&held), Kind::Pattern, false) - 4.0 / 3.0).abs() < 1e-12);
        assert_eq!(expected_order(Some(&held), Kind::Pattern, true), 2.0);
        assert_eq!(sharpest_corner(&parallelogram(angle), Ends::GivenInflow), None);
        // right-angled post: h^(4/3); the edge layer h^(1/3)
        let l = [[0.0, 0.0], [2.0, 0.0], [2.0, 1.0], [1.0, 1.0], [1.0, 2.0], [0.0, 2.0]];
        let mut sides = [Lower, Lower, Upper, Upper, Upper, Lower].map(Side::Wall).to_vec();
        (sides[1], sides[4]) = (Side::Outlet, Side::Inlet);
        let bend = sharpest_corner(&Plan::polygon(&l, &sides, &[]).unwrap(), Ends::HeldPressure).unwrap();
        assert_eq!(bend.at, [1.0, 1.0]);
        assert!((expected_order(Some(&bend), Kind::Pattern, false) - 4.0 / 3.0).abs() < 1e-12);
        assert!((expected_order(Some(&bend), Kind::EdgeLayer, false) - 1.0 / 3.0).abs() < 1e-12);
    }
}
