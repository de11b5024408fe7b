//! When a bubble that its contact lines hold begins to move.
//!
//! The pressure round a round obstacle in a flow of gap-mean speed V is `p = const − (24 μ V R/b²) cos t`. Where the contact angle may be
//! anything between receding and advancing, the meniscus holds differences up to `(2 γ/b) D`, D = cos(θ_rec) − cos(θ_adv), between the
//! front and the rear. The contact lines begin to slip where the extremes of the pressure, `48 μ V R/b²` apart, reach it: at V1. The bubble
//! travels as a whole above V2, where the first harmonic `(4/π)(γ/b) D` of the step between an advancing and a receding half can
//! no longer balance that of the pressure; what is beyond drives a patch of one pressure, whose speed is twice that of the flow.

use crate::base::units::GRAVITY;
use std::f64::consts::PI;

/// Mean speed at which the contact lines of a held bubble begin to slip, m/s: V1 = γ b D/(24 μ R), derived as above.
///
/// `tension` in N/m, `cosine_difference` D = cos(θ_rec) − cos(θ_adv), `gap` and `radius` in m, `viscosity` in Pa s. Round bubble wider than
/// the gap, far from edges.
pub fn slip_speed(tension: f64, cosine_difference: f64, gap: f64, viscosity: f64, radius: f64) -> f64 {
    tension * gap * cosine_difference / (24.0 * viscosity * radius)
}

/// Mean speed above which a held round bubble travels, m/s: V2 = γ b D/(6 π μ R) = (4/π) V1; arguments and range as [`slip_speed`].
///
/// ```
/// use twinplate::theory::bubbles::travel_speed;
/// let clean = travel_speed(72.7e-3, 0.3, 1e-3, 1.0016e-3, 5e-3);
/// assert!((clean - 0.231).abs() < 1e-3); // m/s: far above any display
/// ```
pub fn travel_speed(tension: f64, cosine_difference: f64, gap: f64, viscosity: f64, radius: f64) -> f64 {
    4.0 / PI * slip_speed(tension, cosine_difference, gap, viscosity, radius)
}

/// Speed of a bubble whose contact lines slip all round, m/s: U = 2 (V − V2), nought below V2. Speeds in m/s.
pub fn travelling(speed: f64, travel_speed: f64) -> f64 {
    2.0 * (speed - travel_speed).max(0.0)
}

/// Speed at which a round bubble rises up the slope in liquid at rest, m/s: V_g = Δρ g sin(α) b²/(12 μ), no films (Taylor &
/// Saffman 1959, Q. J. Mech. Appl. Math. 12, 265). It acts on a held bubble as V_g/2 does, for a bubble runs at 2V + V_g.
///
/// `density_difference` liquid less gas, kg/m3; `tilt` α in rad; `gap` in m; `viscosity` in Pa s.
pub fn rise_speed(density_difference: f64, tilt: f64, gap: f64, viscosity: f64) -> f64 {
    density_difference * GRAVITY * tilt.sin() * gap * gap / (12.0 * viscosity)
}

/// Tilt that makes a held bubble travel, rad: sin α = 2 (V2 − V)/V_90 from V + V_g/2 > V2, the flow uphill; nought where the flow
/// is enough, none where not even an upright cell is.
///
/// `speed` V and `travel_speed` V2 in m/s, `upright` V_90 the rise speed at 90 degrees, m/s.
pub fn travel_tilt(speed: f64, travel_speed: f64, upright: f64) -> Option<f64> {
    let missing = (travel_speed - speed).max(0.0);
    let sine = if missing > 0.0 { 2.0 * missing / upright } else { 0.0 };
    (0.0..=1.0).contains(&sine).then(|| sine.asin())
}

/// How much faster the flow far away must be where a bubble sits at the rear of a round post and touches it: the flow on the axis, a
/// distance d behind the post, is `U0 (1 − a²/(a + d)²)`, taken at the bubble's middle, d = R. A bubble small against the post needs
/// a/(2R) times the speed.
///
/// `bubble` R and `post` a are radii in m. Ideal flow round a circle (Lamb, Hydrodynamics, art. 68); the flow is taken to be even across
/// the bubble.
pub fn behind_post(bubble: f64, post: f64) -> f64 {
    let part = post / (post + bubble);
    1.0 / (1.0 - part * part)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Pressure round a no-flux circle, sampled: slip begins where the extremes differ by (2 γ/b) D, travel where the first harmonics of
    /// pressure and step balance. Trapezoids of 4096 points on a step err by 1/4096 of it at most.
    #[test]
    fn thresholds_follow_from_the_pressure_round_a_circle() {
        let (gamma, d, b, mu, r) = (0.05, 0.2, 1.2e-3, 1.5e-3, 7e-3);
        let pressure = |v: f64, t: f64| -2.0 * v * r * 12.0 * mu / (b * b) * t.cos();
        let v1 = slip_speed(gamma, d, b, mu, r);
        let spread = pressure(v1, PI) - pressure(v1, 0.0);
        assert!((spread / (2.0 * gamma / b * d) - 1.0).abs() < 1e-14, "{spread}");
        let v2 = travel_speed(gamma, d, b, mu, r);
        let n = 4096;
        let force: f64 = (0..n)
            .map(|k| (k as f64 + 0.5) * 2.0 * PI / n as f64)
            .map(|t| (pressure(v2, t) + gamma / b * d * t.cos().signum()) * t.cos())
            .sum();
        assert!(force.abs() / n as f64 * b / (gamma * d) < 1e-6, "{force}");
    }

    /// Water, 1 mm, R 5 mm, D 0.3: 0.18 and 0.23 m/s; with surfactant, 30 mN/m and D 0.02: 5 and 6.4 mm/s.
    #[test]
    fn clean_bubbles_stay_and_soaped_ones_go() {
        let of = |gamma, d| [slip_speed, travel_speed].map(|f| f(gamma, d, 1e-3, 1.0016e-3, 5e-3));
        let [slip, travel] = of(72.736e-3, 0.3);
        assert!((slip - 0.18155).abs() < 1e-5 && (travel - 0.23116).abs() < 1e-5, "{slip} {travel}");
        let [slip, travel] = of(30e-3, 0.02);
        assert!((slip - 4.99e-3).abs() < 5e-6 && (travel - 6.36e-3).abs() < 1e-5, "{slip} {travel}");
        assert_eq!(travelling(0.9 * travel, travel), 0.0);
        assert!((travelling(1.5 * travel, travel) - travel).abs() < 1e-15);
    }

    /// Water, 1 mm, 1 degree: 14.2 mm/s (998.2 * 9.80665 * sin(1 deg) * 1e-6/(12 * 1.0016e-3)).
    #[test]
    fn tilt_stands_in_for_speed() {
        let rise = rise_speed(998.2, 1f64.to_radians(), 1e-3, 1.0016e-3);
        assert!((rise - 14.21e-3).abs() < 5e-6, "{rise}");
        let upright = rise_speed(998.2, 0.5 * PI, 1e-3, 1.0016e-3);
        let (v, v2) = (1e-3, 6e-3);
        let tilt = travel_tilt(v, v2, upright).unwrap();
        // on either side of the threshold
        let beyond = |tilt: f64| v + 0.5 * rise_speed(998.2, tilt, 1e-3, 1.0016e-3) > v2;
        assert!(beyond(1.001 * tilt) && !beyond(0.999 * tilt), "{tilt}");
        assert_eq!(travel_tilt(v2, v2, upright), Some(0.0));
        assert_eq!(travel_tilt(0.0, 0.51 * upright, upright), None);
        assert!(travel_tilt(0.0, 0.49 * upright, upright).is_some());
        assert_eq!(travel_tilt(0.0, v2, 0.0), None);
    }

    /// (a + R)^2/(R (2a + R)); a/(2R) for small bubbles, with 3/4 more as the next term of its expansion.
    #[test]
    fn the_lee_of_a_post_shelters_small_bubbles() {
        assert!((behind_post(1.0, 10.0) - 121.0 / 21.0).abs() < 1e-12);
        let (small, post) = (1e-3, 1.0);
        assert!((behind_post(small, post) - post / (2.0 * small) - 0.75).abs() < 1e-3);
        assert!((behind_post(1e3, 1.0) - 1.0).abs() < 2e-6);
    }
}
