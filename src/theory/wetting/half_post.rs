//! Air at the foot of a half-round post that stands on a seal.

use super::law::Effective;
use std::f64::consts::FRAC_PI_2;

/// Curvatures of the front below this over the radius are taken as it: an arc is then a line to one part in 1e4, and nothing cancels.
const STRAIGHT: f64 = 1e-4;

/// Area of the air that stays at the upstream foot of a half post of radius a on a seal, in a cell of the full width W; none where the
/// seal's angle is at most π/2.
///
/// A seal that repels holds the front back, which leans over the foot and touches the post above it. With `κ = −(cos θ_seal + cos θ_other)/W`,
/// r = 1/κ the centre of the front stands `y = −r cos θ_seal` above the seal and, as they touch, r + a from the post's; the air is the triangle of
/// both centres and the contact less two sectors. Behind the post it leaves half of what [`super::round_rear`] gives for H = W. Derived; range: a well below W,
/// N to 0.
///
/// ```
/// use twinplate::theory::wetting::{Effective, half_post_foot};
/// let angle = Effective::Angle(110f64.to_radians());
/// assert!((half_post_foot(1.0, 5.0, angle, angle).unwrap() - 0.00566).abs() < 5e-6);
/// ```
pub fn half_post_foot(radius: f64, width: f64, seal: Effective, other: Effective) -> Option<f64> {
    let (a, theta) = (radius, seal.angle());
    if theta <= FRAC_PI_2 || a >= width {
        return None;
    }
    let curvature = -(seal.cosine() + other.cosine()) / width;
    let r = if curvature.abs() * a < STRAIGHT { a / STRAIGHT } else { 1.0 / curvature };
    let height = -r * theta.cos();
    let along = ((r + a).powi(2) - height * height).max(0.0).sqrt().copysign(r);
    // the contact with the seal, upstream of the post's centre
    let contact = along - r * theta.sin();
    let at_post = (height / along).atan();
    let at_centre = theta - FRAC_PI_2 - at_post;
    let area = 0.5 * (contact * height - a * a * at_post - r * r * at_centre);
    Some(area.max(0.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn angle(degrees: f64) -> Effective {
        Effective::Angle(degrees.to_radians())
    }

    /// Area between seal, front and post by the trapezoidal rule in y from the seal to the touch, for any pair of angles: the front x(y) is
    /// followed from its contact by its direction angle, and moved until it touches.
    fn drawn(width: f64, seal: f64, other: f64) -> f64 {
        let (seal, other) = (seal.to_radians(), other.to_radians());
        let curvature = -(seal.cos() + other.cos()) / width;
        let n = 200_000;
        // slope angle of the front against the upright: leans downstream by seal - 90 degrees at the seal, and turns back by κ dy = d(-sin)
        let lean = |y: f64| ((seal - FRAC_PI_2).sin() - curvature * y).asin();
        let (mut x, mut least, mut touch) = (0.0, f64::INFINITY, 0);
        let step = 1.0 / f64::from(n);
        let mut places = vec![0.0];
        for k in 0..n {
            x += lean((f64::from(k) + 0.5) * step).tan() * step;
            places.push(x);
        }
        for (k, x) in places.iter().enumerate() {
            let y = k as f64 * step;
            let gap = -(1.0 - y * y).max(0.0).sqrt() - x;
            if gap < least {
                (least, touch) = (gap, k);
            }
        }
        let air = |k: usize| -(1.0 - (k as f64 * step).powi(2)).max(0.0).sqrt() - places[k] - least;
        (0..touch).map(|k| 0.5 * step * (air(k) + air(k + 1))).sum()
    }

    /// The case of the table, both angles 110 degrees at a full width of 5: 0.00566; a drawn front for others, of which one is hollow.
    #[test]
    fn the_foot_keeps_what_the_front_leans_over() {
        let one = half_post_foot(1.0, 5.0, angle(110.0), angle(110.0)).unwrap();
        assert!((one - 0.00566).abs() < 5e-6, "{one}");
        for (width, seal, other) in [(5.0, 110.0, 110.0), (2.5, 110.0, 110.0), (4.0, 130.0, 90.0), (5.0, 120.0, 40.0)] {
            let found = half_post_foot(1.0, width, angle(seal), angle(other)).unwrap();
            let drawn = drawn(width, seal, other);
            assert!((found - drawn).abs() < 1e-6, "{width} {seal} {other}: {found} {drawn}");
        }
        // a straight front: a right-angled triangle less its sector, (tan e - e)/2 with e the lean of the front
        let lean = 20f64.to_radians();
        let straight = half_post_foot(1.0, 5.0, angle(110.0), angle(70.0)).unwrap();
        assert!((straight - 0.5 * (lean.tan() - lean)).abs() < 1e-5, "{straight}");
    }

    #[test]
    fn seals_that_do_not_repel_keep_none() {
        assert_eq!(half_post_foot(1.0, 5.0, angle(90.0), angle(110.0)), None);
        assert!(half_post_foot(1.0, 5.0, angle(91.0), angle(110.0)).unwrap() > 0.0);
        assert_eq!(half_post_foot(5.0, 5.0, angle(110.0), angle(110.0)), None);
    }
}
