//! What speed and tilt leave of the air that a slow, level front keeps, and what happens off the middle of the cell.

use super::law::Effective;
use super::pockets::Channel;
use std::f64::consts::{FRAC_PI_2, PI};

/// Factor and exponent of the law; a fit to runs of round posts with H = 2.5 and 5 radii.
const FACTOR: f64 = 0.65;
const EXPONENT: f64 = 0.8;
/// Largest n for which the law is held against runs.
const FARTHEST: f64 = 60.0;
/// N over a post's radius from which on a pocket stands behind the middle of the post, wherever the post stands.
pub const MIDDLE: f64 = 0.1;

/// What is left of a pocket, as parts of what a slow level front keeps.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Share {
    /// The best value.
    pub value: f64,
    /// The least.
    pub low: f64,
    /// The most.
    pub high: f64,
}

impl Share {
    fn within(value: f64, less: f64, more: f64) -> Share {
        Share { value, low: value * (1.0 - less), high: value * (1.0 + more) }
    }
}

/// The law itself, `1/(1 + 0.65 n^0.8)`: what the front keeps at n = [`super::Conditions::levelling`] of what it keeps as n goes to 0.
///
/// A fit to runs of lone round posts (computed): 10 per cent for n from 0.06 to 25, 23 per cent at 62; with tilt 20 per cent.
pub fn left_at(n: f64) -> f64 {
    1.0 / (1.0 + FACTOR * n.max(0.0).powf(EXPONENT))
}

/// Behind a lone round post or flat rear: [`left_at`], within a quarter up to n = 60, beyond from none to twice.
pub fn behind(n: f64) -> Share {
    let value = left_at(n);
    if n <= FARTHEST { Share::within(value, 0.25, 0.25) } else { Share::within(value, 1.0, 1.0) }
}

/// Before a flat front, with n over the half-width of the cell for the radius: [`left_at`] within 40 per cent. Two runs (computed), n = 0.06 and 6.25:
/// 0.127 and 0.045 of which this makes 0.126 and 0.035.
pub fn before(n: f64) -> Share {
    let value = left_at(n);
    if n <= 10.0 { Share::within(value, 0.4, 0.4) } else { Share::within(value, 1.0, 1.0) }
}

/// Between two posts in a row: [`left_at`], of which runs (computed) keep up to 1.3 times at n = 0.6, and from none to 1.8 times at n = 6.
pub fn between(n: f64) -> Share {
    let value = left_at(n);
    match n {
        n if n < 0.1 => Share::within(value, 0.1, 0.1),
        n if n < 1.0 => Share::within(value, 0.25, 0.5),
        _ => Share::within(value, 1.0, 1.0),
    }
}

/// What is left beyond the rims of a cup that opens downstream, and what may be missing inside: the cup itself keeps its air within 5 per cent while
/// n < 1; beyond, fronts that flow round the rims took up to 35 per cent of all (runs to n = 62, computed).
pub fn cup_loss(n: f64) -> f64 {
    if n < 1.0 { 0.05 } else { 0.35 }
}

/// Largest curvature that the front must pass on one side of a round post, `max over β of (sin(θ − β) − cos θ_wall)/(H − a sin β)`: at
/// `A cos β + B sin β = a sin θ`, A = H cos θ + a cos θ_wall, B = H sin θ. None where the post fills the channel. Derived.
pub fn largest_curvature(radius: f64, channel: &Channel, side: Effective) -> Option<f64> {
    let (a, h, theta, wall) = (radius, channel.half_width, side.angle(), channel.wall.cosine());
    if a >= h {
        return None;
    }
    let (sin, cos) = theta.sin_cos();
    let (p, q) = (h * cos + a * wall, h * sin);
    let curvature = |beta: f64| ((theta - beta).sin() - wall) / (h - a * beta.sin());
    let apart = (a * sin / p.hypot(q)).clamp(-1.0, 1.0).acos();
    let middle = q.atan2(p);
    let inside = |beta: f64| (-FRAC_PI_2..=PI).contains(&beta);
    let extremes = [middle - apart, middle + apart].into_iter().filter(|&beta| inside(beta)).map(curvature);
    // the fronts stand at the rear last of all
    Some(extremes.fold(curvature(0.0), f64::max))
}

/// How far the front on the wide side of a post leads before the one on the narrow side passes, in the unit of the radius:
/// `a (a κ_narrow − a κ_wide)/N`, κ the largest curvatures of both sides and N over the radius. An estimate (derived: the difference of capillary
/// pressures over the viscous gradient); where it is more than what is left to the outlet the narrow side may still be dry when liquid comes out.
pub fn stall_lead(radius: f64, number: f64, narrow: &Channel, wide: &Channel, side: Effective) -> Option<f64> {
    let [narrow, wide] = [largest_curvature(radius, narrow, side)?, largest_curvature(radius, wide, side)?];
    (number > 0.0).then(|| (radius * radius * (narrow - wide) / number).max(0.0))
}

#[cfg(test)]
mod tests {
    use super::super::conditions::tests::water;
    use super::super::conditions::{Conditions, arc_radius};
    use super::super::pockets::{flat_rear, round_rear};
    use super::*;

    fn angle(degrees: f64) -> Effective {
        Effective::Angle(degrees.to_radians())
    }

    fn channel(half_width: f64, wall: f64) -> Channel {
        Channel { half_width, wall: angle(wall) }
    }

    /// Runs of a sharp front with tension (computed by another code, finer meshes extrapolated, good to 2 to 5 per cent) lie in the band.
    #[test]
    fn runs_lie_in_the_band() {
        // H, θ_wall, θ, N, area
        let runs = [
            (2.5, 90.0, 110.0, 0.01, 0.0349),
            (2.5, 90.0, 110.0, 0.1, 0.0257),
            (2.5, 90.0, 110.0, 1.0, 0.0086),
            (2.5, 90.0, 110.0, 10.0, 0.0024),
            (2.5, 90.0, 120.0, 0.01, 0.0847),
            (2.5, 90.0, 120.0, 0.1, 0.0612),
            (2.5, 90.0, 120.0, 1.0, 0.0214),
            (2.5, 90.0, 120.0, 10.0, 0.0057),
            (2.5, 90.0, 135.0, 0.01, 0.1946),
            (2.5, 90.0, 135.0, 0.1, 0.1389),
            (2.5, 90.0, 135.0, 1.0, 0.0488),
            (2.5, 90.0, 135.0, 10.0, 0.0123),
            (10.0, 90.0, 120.0, 0.01, 0.2676),
            (2.5, 120.0, 120.0, 0.1, 0.0448),
            (10.0, 110.0, 110.0, 0.1, 0.0379),
            (5.0, 90.0, 135.0, 0.3, 0.1042),
        ];
        for (h, wall, theta, number, area) in runs {
            let channel = channel(h, wall);
            let n = number * channel.radius().unwrap().powi(2);
            let most = round_rear(1.0, &channel, angle(theta)).unwrap().area;
            let share = behind(n);
            let off = share.value * most / area - 1.0;
            assert!(most * share.low <= area && area <= most * share.high, "{h} {theta} {number}: {off}");
            assert!(off.abs() < if n > 60.0 { 0.25 } else { 0.12 }, "{h} {theta} {number}: {off}");
        }
        let square = flat_rear(1.0, &channel(2.5, 90.0), angle(110.0)).unwrap().area;
        for (number, area) in [(0.01, 0.0798), (0.1, 0.060), (1.0, 0.0207)] {
            let share = behind(6.25 * number);
            assert!(square * share.low <= area && area <= square * share.high, "{number}");
        }
        for (number, area) in [(0.01, 0.127), (1.0, 0.045)] {
            let share = before(6.25 * number);
            assert!(0.13497 * share.low <= area && area <= 0.13497 * share.high, "{number}");
        }
        let rows = [(0.4424, 0.01, 0.434), (0.5855, 0.01, 0.580), (0.8615, 0.01, 0.853), (0.8615, 0.1, 0.77)];
        for (most, number, area) in
            rows.into_iter().chain([(0.5855, 1.0, 0.0), (0.8615, 1.0, 0.41), (0.8615, 10.0, 0.0)])
        {
            let share = between(6.25 * number);
            assert!(most * share.low <= area && area <= most * share.high, "{most} {number}");
        }
        // a cup of 2.88 with 0.905 beyond its rims, sides of 60 and 110 degrees
        for (number, least, most) in [(0.01, 3.76, 3.76), (0.1, 3.59, 3.59), (1.0, 2.35, 3.15), (10.0, 2.1, 2.4)] {
            let all = 2.88 + 0.905 * left_at(6.25 * number);
            let loss = cup_loss(6.25 * number);
            assert!(all * (1.0 - loss) <= least && most <= all * (1.0 + 0.05), "{number}");
        }
    }

    /// The band is a quarter up to n = 60, and all beyond.
    #[test]
    fn the_band_opens_where_no_run_is() {
        let (inside, beyond) = (behind(59.9), behind(60.1));
        assert!((inside.low / inside.value - 0.75).abs() < 1e-12 && (inside.high / inside.value - 1.25).abs() < 1e-12);
        assert_eq!((beyond.low, beyond.high), (0.0, 2.0 * beyond.value));
        assert_eq!((left_at(0.0), left_at(-1.0), left_at(f64::INFINITY)), (1.0, 1.0, 0.0));
        assert!((cup_loss(0.99), cup_loss(1.01)) == (0.05, 0.35) && before(9.9).low > 0.0 && before(10.1).low == 0.0);
        assert!(between(0.99).low > 0.0 && between(1.01).low == 0.0 && between(0.09).low > between(0.11).low);
    }

    /// Water in 1 mm at 1 mm/s, post of 40 mm in 200 mm, plates of 60 degrees: with an angle in the plane of 110 degrees some 18 mm2, and a degree
    /// uphill 1.9 mm2; sides of 110 degrees meet the front at 110.9 in the plane, which makes 20 and 2.1 mm2.
    #[test]
    fn a_degree_uphill_takes_nine_tenths_of_the_air() {
        let a = 0.02;
        let kept = |conditions: Conditions, side: Effective| {
            let channel = Channel { half_width: 0.1, wall: conditions.seal() };
            let n = conditions.levelling(arc_radius(0.1, conditions.seal()));
            1e6 * round_rear(a, &channel, side).unwrap().area * behind(n).value
        };
        let uphill = Conditions { tilt: [1f64.to_radians().sin(), 0.0], ..water() };
        let plain = [water(), uphill].map(|conditions| kept(conditions, angle(110.0)));
        assert!((plain[0] - 18.07).abs() < 0.01 && (plain[1] - 1.917).abs() < 0.002, "{plain:?}");
        let corrected = [water(), uphill].map(|conditions| kept(conditions, conditions.side()));
        assert!((corrected[0] - 19.96).abs() < 0.01 && (corrected[1] - 2.117).abs() < 0.002, "{corrected:?}");
    }

    /// The largest curvature by looking at 20 001 places, 1e-7 off at most; H from close to wide, walls of both kinds.
    #[test]
    fn the_front_must_pass_its_largest_curvature() {
        for (h, wall, theta) in
            [(2.45, 90.0, 120.0), (1.2, 90.0, 120.0), (5.0, 60.0, 100.0), (3.0, 110.0, 150.0), (2.0, 90.0, 45.0)]
        {
            let channel = channel(h, wall);
            let found = largest_curvature(1.0, &channel, angle(theta)).unwrap();
            let theta = f64::to_radians(theta);
            let at = |k: i32| {
                let beta = PI * f64::from(k) / 20_000.0;
                ((theta - beta).sin() - channel.wall.cosine()) / (h - beta.sin())
            };
            let seen = (0..=20_000).map(at).fold(f64::NEG_INFINITY, f64::max);
            assert!(
                found >= seen - 1e-12 && found - seen < 1e-7 * (1.0 + found.abs()) || found > seen,
                "{found} {seen}"
            );
        }
        assert_eq!(largest_curvature(1.0, &channel(1.0, 90.0), angle(120.0)), None);
    }

    /// H = 2.5, 120 degrees, N = 0.01: 3.1, 12.7 and 35 radii for a post 0.05, 0.2 and 0.5 off the middle; none in the middle.
    #[test]
    fn the_narrow_side_stalls() {
        let lead = |off: f64| {
            let (narrow, wide) = (channel(2.5 - off, 90.0), channel(2.5 + off, 90.0));
            stall_lead(1.0, 0.01, &narrow, &wide, angle(120.0)).unwrap()
        };
        for (off, expected, within) in
            [(0.05, 3.134, 1e-3), (0.2, 12.716, 1e-3), (0.5, 34.606, 1e-3), (0.0, 0.0, 1e-12)]
        {
            assert!((lead(off) - expected).abs() < within, "{off}: {}", lead(off));
        }
        let one = channel(2.5, 90.0);
        assert_eq!(stall_lead(1.0, 0.0, &one, &one, angle(120.0)), None);
    }
}
