//! Closed forms of the air that stays beside one obstacle when the front moves slowly: every front is then an arc of one radius.
//!
//! A symmetric cell of half-width H round an obstacle in its middle, filled along +x; lengths in any one unit. An arc from the obstacle to the
//! wall has the curvature `κ(β) = (sin(θ − β) − cos θ_wall)/(H − a sin β)`, a post's contact standing at the angle β from its rear; the fronts of
//! both sides meet on the axis with the radius `r = H/(1 − cos θ_wall)` ([`super::arc_radius`]). Angles are the effective ones of the plane. All
//! forms here are derived; runs of a sharp front with tension approach them within 1 to 7 per cent as N goes to 0 (computed).

use super::conditions::arc_radius;
use super::law::Effective;
use std::f64::consts::FRAC_PI_2;

/// The symmetric cell round an obstacle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Channel {
    /// From the axis to the wall, or to the middle of the passage beside a neighbour.
    pub half_width: f64,
    /// How the front meets the wall; at a right angle in the middle of a passage.
    pub wall: Effective,
}

impl Channel {
    /// Radius of the arcs that close on the axis; none where the wall wets wholly.
    pub fn radius(&self) -> Option<f64> {
        let radius = arc_radius(self.half_width, self.wall);
        (radius.is_finite() && radius > 0.0).then_some(radius)
    }
}

/// Air that two fronts close in on the axis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Closed {
    /// Its area, both halves.
    pub area: f64,
    /// How far from the obstacle's centre (round post) or face (flat one) it reaches along the axis.
    pub tip: f64,
    /// Where the fronts stand on a round post when they meet: angle from its rear, rad; on a flat rear the distance from the axis.
    pub contact: f64,
}

/// Air behind a lone round post of radius a; none for θ ≤ π/2 and where the wall wets wholly. With r the radius of the arcs:
///
/// `x_t = sqrt(a² − 2 a r cos θ)`, `β = atan2(r, x_t) − atan2(r sin θ, a − r cos θ)`, `α = θ − π/2 − β`,
/// `A = r (x_t − a sin θ) − r² α − a² β`.
///
/// The centre of the arc stands at (x_t, r) and makes the angle θ with the post's where they cross. Range: a below H, N to 0.
pub fn round_rear(radius: f64, channel: &Channel, side: Effective) -> Option<Closed> {
    let (a, r, theta) = (radius, channel.radius()?, side.angle());
    if theta <= FRAC_PI_2 || a >= channel.half_width {
        return None;
    }
    let tip = (a * (a - 2.0 * r * theta.cos())).sqrt();
    let contact = r.atan2(tip) - (r * theta.sin()).atan2(a - r * theta.cos());
    let turn = theta - FRAC_PI_2 - contact;
    let area = r * (tip - a * theta.sin()) - r * r * turn - a * a * contact;
    Some(Closed { area: area.max(0.0), tip, contact })
}

/// Air behind a flat rear across the flow of half-width w, as of a square; none for θ ≤ π/2:
/// `φ = min(θ − π/2, acos(1 − w/r))`, `A = r² ((2 − cos φ) sin φ − φ)`, its foot `r (1 − cos φ)` from the axis, its tip r sin φ behind.
/// Range: w below H, N to 0.
pub fn flat_rear(half_width: f64, channel: &Channel, side: Effective) -> Option<Closed> {
    let (r, theta) = (channel.radius()?, side.angle());
    if theta <= FRAC_PI_2 || half_width >= channel.half_width {
        return None;
    }
    Some(over_rear(r, (theta - FRAC_PI_2).min(widest(half_width, r))))
}

/// Turn of an arc of radius r from the axis to the distance w from it.
fn widest(half_width: f64, r: f64) -> f64 {
    (1.0 - half_width / r).clamp(-1.0, 1.0).acos()
}

fn over_rear(r: f64, turn: f64) -> Closed {
    let (sin, cos) = turn.sin_cos();
    Closed { area: r * r * ((2.0 - cos) * sin - turn), tip: r * sin, contact: r * (1.0 - cos) }
}

/// Air before a flat front across the flow of half-width w, for any side angle; none for θ_wall ≥ π/2. Seals that wet hollow the front out,
/// and both corners are wet before the middle: `R = H/cos θ_wall`, `A = R² asin(w/R) − w sqrt(R² − w²)`. The tip is the sag of the front between
/// the corners. Range: w below H, N to 0.
pub fn flat_front(half_width: f64, channel: &Channel) -> Option<Closed> {
    let (w, cosine) = (half_width, channel.wall.cosine());
    if cosine <= 1e-12 || w >= channel.half_width {
        return None;
    }
    let r = channel.half_width / cosine;
    let foot = (r * r - w * w).sqrt();
    Some(Closed { area: r * r * (w / r).asin() - w * foot, tip: r - foot, contact: w })
}

/// Air in a cup that opens downstream.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Cup {
    /// The fronts hold at the rims and meet behind: so much.
    Closed(Closed),
    /// They turn round the rims into the cup: anything from none to so much.
    Snaps(Closed),
}

/// Air in a cup of the area `cavity` and inner half-width w that opens downstream: `ψ = acos(1 − w/r)`, for θ ≥ ψ
/// `A = cavity + r² ((2 − cos ψ) sin ψ − ψ)`, below it the line snaps into the cup. Runs with ψ = 47.2 degrees kept nothing at 30 degrees, 3.2
/// half-widths squared (of a cavity of 2.88) at 45 (computed). None where the wall wets wholly. Range: w below H, N to 0.
pub fn cup_downstream(cavity: f64, half_width: f64, channel: &Channel, side: Effective) -> Option<Cup> {
    let r = channel.radius()?;
    let rim = widest(half_width, r);
    let beyond = over_rear(r, rim);
    let closed = Closed { area: cavity + beyond.area, ..beyond };
    Some(if side.angle() >= rim { Cup::Closed(closed) } else { Cup::Snaps(closed) })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::Point;
    use crate::base::plane::polygon_area;

    fn angle(degrees: f64) -> Effective {
        Effective::Angle(degrees.to_radians())
    }

    fn channel(half_width: f64, wall: f64) -> Channel {
        Channel { half_width, wall: angle(wall) }
    }

    fn close(value: Option<Closed>, expected: f64) -> bool {
        value.is_some_and(|closed| (closed.area - expected).abs() < 6e-6)
    }

    /// Exact values for H = 2.5 with upright seals, computed from the same closed forms in another language, to five digits.
    #[test]
    fn pockets_have_the_areas_of_the_table() {
        let level = channel(2.5, 90.0);
        for (theta, area) in [(110.0, 0.03656), (120.0, 0.09107), (135.0, 0.20604)] {
            assert!(close(round_rear(1.0, &level, angle(theta)), area), "{theta}");
        }
        assert!(close(flat_rear(1.0, &level, angle(110.0)), 0.08488));
        assert!(close(flat_front(1.0, &channel(2.5, 60.0)), 0.13497));
        for theta in [60.0, 110.0] {
            let Some(Cup::Closed(cup)) = cup_downstream(2.88, 0.8, &level, angle(theta)) else { panic!("{theta}") };
            assert!((cup.area - 3.785).abs() < 6e-4, "{cup:?}");
        }
    }

    /// Nothing at and below 90 degrees; seals that repel hollow out no front; a cup holds from acos(1 - 0.8/2.5) = 47.16 degrees on.
    #[test]
    fn thresholds_lie_between_none_and_some() {
        let level = channel(2.5, 90.0);
        for theta in [20.0, 45.0, 60.0, 80.0, 90.0] {
            assert_eq!(round_rear(1.0, &level, angle(theta)), None, "{theta}");
            assert_eq!(flat_rear(1.0, &level, angle(theta)), None, "{theta}");
        }
        let slight = round_rear(1.0, &level, angle(90.5)).unwrap();
        assert!(slight.area > 0.0 && slight.area < 1e-5, "{slight:?}");
        assert!(flat_rear(1.0, &level, angle(90.5)).unwrap().area > 0.0);
        assert_eq!(flat_front(1.0, &level), None);
        assert_eq!(flat_front(1.0, &channel(2.5, 100.0)), None);
        assert!(flat_front(1.0, &channel(2.5, 89.0)).unwrap().area > 0.0);
        assert!(matches!(cup_downstream(2.88, 0.8, &level, angle(47.2)), Some(Cup::Closed(_))));
        assert!(matches!(cup_downstream(2.88, 0.8, &level, angle(47.1)), Some(Cup::Snaps(_))));
        // a wall that wets wholly, an obstacle that fills the cell
        let wet = Channel { half_width: 2.5, wall: Effective::Wets };
        assert_eq!((round_rear(1.0, &wet, angle(120.0)), cup_downstream(1.0, 0.5, &wet, angle(90.0))), (None, None));
        assert_eq!((round_rear(2.5, &level, angle(120.0)), flat_front(2.5, &channel(2.5, 60.0))), (None, None));
        // at 180 degrees x_t = sqrt(1 + 2 r), β = atan(r/x_t): 0.48316
        assert!(close(round_rear(1.0, &level, Effective::Repels), 0.48316));
    }

    /// The pocket drawn: post from its rear to the contact, then the arc to the axis. Its corners meet the post at the angle θ, the
    /// axis along it and the wall at θ_wall; its shoelace area is that of the closed form, within the (step/r)²/12 of chords.
    #[test]
    fn the_round_pocket_is_what_its_arcs_enclose() {
        for (a, h, wall, theta) in [(1.0, 2.5, 90.0, 110.0), (0.7, 2.0, 70.0, 150.0), (2.0, 9.0, 120.0, 100.0)] {
            let (channel, theta) = (channel(h, wall), f64::to_radians(theta));
            let found = round_rear(a, &channel, Effective::Angle(theta)).unwrap();
            let r = channel.radius().unwrap();
            // the arc ends on the wall at its angle: the centre stands r cos θ_wall beyond the wall
            assert!((h + r * channel.wall.cosine() - r).abs() < 1e-12);
            let foot: Point = [a * found.contact.cos(), a * found.contact.sin()];
            assert!(((foot[0] - found.tip).hypot(foot[1] - r) - r).abs() < 1e-12);
            // angle between both radii at the contact
            let cosine = (foot[0] * (foot[0] - found.tip) + foot[1] * (foot[1] - r)) / (a * r);
            assert!((cosine - theta.cos()).abs() < 1e-12, "{cosine}");
            let n = 4000;
            let post = (0..=n).map(|k| found.contact * f64::from(k) / f64::from(n)).map(|b| [a * b.cos(), a * b.sin()]);
            let from = (foot[0] - found.tip).atan2(r - foot[1]);
            let arc = (1..=n).map(|k| from * (1.0 - f64::from(k) / f64::from(n)));
            let arc = arc.map(|t| [found.tip + r * t.sin(), r * (1.0 - t.cos())]);
            let outline: Vec<Point> = post.chain(arc).collect();
            let area = 2.0 * polygon_area(&outline).abs();
            assert!((area - found.area).abs() < 1e-6 * a * a, "{area} {found:?}");
        }
    }

    /// Lengths may be in any unit.
    #[test]
    fn areas_go_with_the_square_of_lengths() {
        let (small, large) = (channel(2.5, 80.0), channel(2.5e-3, 80.0));
        let scaled = |one: f64, other: f64| assert!((other - 1e-6 * one).abs() < 1e-12 * one);
        let theta = angle(125.0);
        let pair = [round_rear(1.0, &small, theta), round_rear(1e-3, &large, theta)].map(|p| p.unwrap().area);
        scaled(pair[0], pair[1]);
        let pair = [flat_rear(1.0, &small, theta), flat_rear(1e-3, &large, theta)].map(|p| p.unwrap().area);
        scaled(pair[0], pair[1]);
        let pair = [flat_front(1.0, &small), flat_front(1e-3, &large)].map(|p| p.unwrap().area);
        scaled(pair[0], pair[1]);
    }
}
