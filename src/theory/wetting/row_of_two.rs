//! Air that stays between two round posts in a row along the flow.

use super::law::Effective;
use super::pockets::{Channel, round_rear};
use crate::base::bisect::{TO_ROUNDING, sign_change};
use crate::base::plane::{Point, distance, polygon_area, turn, way};
use std::f64::consts::FRAC_PI_2;

/// What happens at the first of two posts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum InRow {
    /// The fronts touch the second post before they meet: the air between both stays, both halves.
    Between {
        /// Its area.
        area: f64,
        /// Angle from the rear of the first post at which the fronts then stand on it, rad.
        contact: f64,
    },
    /// The first post behaves as a lone one.
    Lone,
}

/// Places looked at for the first touch.
const PLACES: usize = 400;

/// What happens between two round posts of radius a whose centres stand a `pitch` apart along the axis.
///
/// The arc from the first post at β has its centre at `C = a (cos β, sin β) + r (−cos(θ − β), sin(θ − β))`, r = 1/κ(β); it touches the second
/// post where `|C − (L, 0)| = r + a`. If the contacts reach the rear (β = 0) without that, no air stays: at θ_wall = 90 degrees air is kept for
/// `2 r (1 − (L − 1) cos θ) ≥ (L − 1)² − 1` with r = H/sin θ in units of a, and in a wide cell for θ > acos(1/(L − 1)). Above 90 degrees the lone post's
/// pocket closes first if its contact stands further from the rear. Derived; runs of N to 0 agree within 2 per cent at θ_wall = 90 degrees
/// (computed), other walls by the same derivation.
pub fn in_row(radius: f64, pitch: f64, channel: &Channel, side: Effective) -> InRow {
    let (a, theta) = (radius, side.angle());
    if channel.radius().is_none() || a >= channel.half_width || pitch <= 2.0 * a {
        return InRow::Lone;
    }
    let arc = |beta: f64| Arc::at(beta, a, pitch, channel, theta);
    let gap = |beta: f64| arc(beta).map_or(f64::INFINITY, |arc| arc.gap());
    // from the widest stand of the front to the rear, the first touch counts
    let place = |k: usize| FRAC_PI_2 * (PLACES - k) as f64 / PLACES as f64;
    let touches = |k: usize| gap(place(k)) <= 0.0;
    let Some(k) = (1..=PLACES).find(|&k| touches(k)) else { return InRow::Lone };
    let at = gap(place(k - 1));
    let contact = if at.is_finite() {
        let [low, high] = sign_change([place(k - 1), place(k)], TO_ROUNDING, at, gap);
        0.5 * (low + high)
    } else {
        place(k)
    };
    if round_rear(a, channel, side).is_some_and(|lone| lone.contact > contact) {
        return InRow::Lone;
    }
    arc(contact).map_or(InRow::Lone, |arc| InRow::Between { area: arc.area(), contact })
}

/// An arc from the first post.
struct Arc {
    a: f64,
    pitch: f64,
    contact: Point,
    beta: f64,
    r: f64,
    centre: Point,
}

impl Arc {
    /// None where the front bulges against the flow.
    fn at(beta: f64, a: f64, pitch: f64, channel: &Channel, theta: f64) -> Option<Arc> {
        let (sin, cos) = (theta - beta).sin_cos();
        let curvature = (sin - channel.wall.cosine()) / (channel.half_width - a * beta.sin());
        if curvature * a < 1e-9 {
            return None;
        }
        let r = 1.0 / curvature;
        let contact = [a * beta.cos(), a * beta.sin()];
        Some(Arc { a, pitch, contact, beta, r, centre: [contact[0] - r * cos, contact[1] + r * sin] })
    }

    /// Distance of the arc's circle from the second post.
    fn gap(&self) -> f64 {
        distance(self.centre, [self.pitch, 0.0]) - self.r - self.a
    }

    /// Both halves of the air between posts and arc when they touch: the quadrilateral of the three centres and the contact less
    /// the three sectors.
    fn area(&self) -> f64 {
        let second = [self.pitch, 0.0];
        let whole = polygon_area(&[[0.0; 2], second, self.centre, self.contact]);
        let at_second = turn(way(second, self.centre), [-1.0, 0.0]).abs();
        let at_centre = turn(way(self.centre, self.contact), way(self.centre, second)).abs();
        let sectors = self.a * self.a * (self.beta + at_second) + self.r * self.r * at_centre;
        (2.0 * whole - sectors).max(0.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn level(half_width: f64) -> Channel {
        Channel { half_width, wall: Effective::Angle(FRAC_PI_2) }
    }

    fn area(pitch: f64, half_width: f64, theta: f64) -> Option<f64> {
        match in_row(1.0, pitch, &level(half_width), Effective::Angle(theta.to_radians())) {
            InRow::Between { area, .. } => Some(area),
            InRow::Lone => None,
        }
    }

    /// L = 3, H = 2.5: computed by the same closed form in another language, four digits; runs at N = 0.01 gave 0.434, 0.580, 0.853.
    #[test]
    fn areas_between_are_those_of_the_table() {
        for (theta, expected) in [(80.0, 0.4424), (90.0, 0.5855), (110.0, 0.8615)] {
            let found = area(3.0, 2.5, theta).unwrap();
            assert!((found - expected).abs() < 6e-5, "{theta}: {found}");
        }
        assert_eq!(area(3.0, 2.5, 60.0), None);
    }

    /// From none to some at the limits, two of them printed to 0.1 degrees, and of the inequality at β = 0; in a wide cell at acos(1/2).
    #[test]
    fn air_is_kept_from_the_limit_on() {
        for (pitch, half_width, limit) in [(3.0, 2.5, 78.1), (2.5, 2.5, 58.3), (3.0, 5.0, 68.9), (3.0, 1e4, 60.0)] {
            assert_eq!(area(pitch, half_width, limit - 0.1), None, "{pitch} {half_width}");
            assert!(area(pitch, half_width, limit + 0.1).is_some(), "{pitch} {half_width}");
            let rest = |degrees: f64| {
                let (sin, cos) = degrees.to_radians().sin_cos();
                2.0 * half_width / sin * (1.0 - (pitch - 1.0) * cos) - (pitch - 1.0).powi(2) + 1.0
            };
            assert!(rest(limit - 0.1) < 0.0 && rest(limit + 0.1) > 0.0, "{pitch} {half_width}");
        }
    }

    /// Far apart the first post is a lone one on either side of 90 degrees; posts that touch, and seals that wet wholly, are no row.
    #[test]
    fn posts_far_apart_are_lone_ones() {
        assert_eq!((area(30.0, 2.5, 80.0), area(30.0, 2.5, 120.0)), (None, None));
        assert_eq!(area(2.0, 2.5, 120.0), None);
        let wet = Channel { half_width: 2.5, wall: Effective::Wets };
        assert_eq!(in_row(1.0, 3.0, &wet, Effective::Angle(2.0)), InRow::Lone);
        // in millimetres as in radii
        let small = in_row(1e-3, 3e-3, &level(2.5e-3), Effective::Angle(FRAC_PI_2));
        assert!(matches!(small, InRow::Between { area, .. } if (area - 0.58549e-6).abs() < 1e-10), "{small:?}");
    }
}
