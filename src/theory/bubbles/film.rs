//! Speed of a free round bubble, and what the films that it leaves on the plates do to it.
//!
//! Where a meniscus advances along wetted plates at the speed U_n the jump of pressure there is `(2 γ/b)(1 + 3.8785 Ca_n^(2/3))`, where it
//! recedes `(2 γ/b)(1 − 1.1307 Ca_n^(2/3))`, Ca_n = μ U_n/γ (Bretherton 1961, J. Fluid Mech. 10, 166; Burgess & Foster 1990, Phys.
//! Fluids A 2, 1105, with 3.88 and −1.13 as recalled; the constants follow from `H''' = (H − 1)/H³`, which the tests integrate). Round a
//! disc that goes at U = x V through a stream V its first harmonic balances that of the pressure, `(12 μ R/b²)(2V − U)`:
//!
//! `2 − x = k x^(2/3)`, `k = 0.44715 (b/R)(μ V/γ)^(−1/3)`, `0.44715 = (3.8785 + 1.1307) I/(6 π)`, `I = ∫ cos^(5/3) over half a circle`.
//!
//! In words: the greater the bubble and the faster the flow, the less the films hold it. Surfactant whose concentration varies along the
//! surface stiffens it and holds it further; there is no formula for that.
//!
//! Range: wetted plates (θ = 0), 2R above three gaps, capillary number below 1e-2, round.

use crate::base::bisect::{TO_ROUNDING, sign_change};

/// Rise of the jump at an advancing meniscus over `(2 γ/b) Ca^(2/3)`.
pub const ADVANCING: f64 = 3.8785;
/// The same at a receding meniscus.
pub const RECEDING: f64 = -1.1307;
/// Film thickness over `b Ca^(2/3)`: 0.64304 · 3^(2/3)/2 (Bretherton 1961, J. Fluid Mech. 10, 166).
const THICKNESS: f64 = 0.66879;
/// `√π Γ(4/3)/Γ(11/6)`: cos^(5/3) over half a circle.
pub(super) const COSINES: f64 = 1.682_619;
/// Pressure factor of a fixed disc in an unbounded cell: its first harmonic is `12 μ m1 V R/b²`.
pub const UNBOUNDED: f64 = 2.0;
/// [`shape_number`] up to which a bubble stays round within a few per cent, and from which on it stretches, breeds a tail or splits.
pub const ROUND: f64 = 0.3;
/// The other end: see [`ROUND`].
pub const STRETCHED: f64 = 3.0;
/// Least diameter of a bubble over the gap for which it counts as a disc.
pub const DISC: f64 = 3.0;

/// Film number k: the drag of the films over that of the liquid; infinite at rest.
///
/// `gap` and `radius` in m, `capillary` the capillary number μ V/γ of the flow at the bubble. Formula and range at the head of the file.
pub fn film_number(gap: f64, radius: f64, capillary: f64) -> f64 {
    (ADVANCING - RECEDING) * COSINES / (6.0 * std::f64::consts::PI) * gap / radius / capillary.cbrt()
}

/// U/V of a free round bubble with a film number k, from `2 − x = k x^(2/3)`: 2 without films, 1 at k = 1, nought for k without limit.
///
/// ```
/// use twinplate::theory::bubbles::speed_ratio;
/// assert!((speed_ratio(0.0) - 2.0).abs() < 1e-15);
/// assert!((speed_ratio(1.0) - 1.0).abs() < 1e-15);
/// ```
pub fn speed_ratio(k: f64) -> f64 {
    speed_ratio_between(UNBOUNDED, k)
}

/// The same between side walls, from `(1 − x) m1 + x = k x^(2/3)`: m1/(m1 − 1) without films.
///
/// `m1`, above one, is the pressure factor of the fixed disc ([`super::pressure_factor`]). A negative k counts as none; the result is not a number
/// where one of both is none.
pub fn speed_ratio_between(m1: f64, k: f64) -> f64 {
    if m1.is_nan() || k.is_nan() || m1 <= 1.0 {
        return f64::NAN;
    }
    let free = m1 / (m1 - 1.0);
    if k <= 0.0 || k.is_infinite() {
        return if k <= 0.0 { free } else { 0.0 };
    }
    // falls from m1 at x = 0 to −k x^(2/3) at the speed without films
    let missing = |x: f64| (1.0 - x) * m1 + x - k * x.cbrt().powi(2);
    let [low, high] = sign_change([0.0, free], TO_ROUNDING, m1, missing);
    0.5 * (low + high)
}

/// Radius of the bubble that goes as fast as the flow, k = 1, m: smaller ones lag, larger ones run ahead. Arguments as [`film_number`].
pub fn keeping_pace(gap: f64, capillary: f64) -> f64 {
    film_number(gap, 1.0, capillary)
}

/// Speed that a gap which widens gives a bubble at rest, m/s: V_w = γ ∇b/(6 μ), towards the wider place, no films.
///
/// The jump 2 γ/b is less there by `(2 γ/b²) ∇b.r` along the rim, as if the stream were γ ∇b/(12 μ) faster. `slope` ∇b in m/m; wetted
/// plates, ∇b far below one. A gap that changes by 12 μ V/γ of the way moves a bubble as much as the flow does.
pub fn wedge_speed(tension: f64, viscosity: f64, slope: [f64; 2]) -> [f64; 2] {
    slope.map(|s| tension * s / (6.0 * viscosity))
}

/// The stream that drives a bubble, m/s, as a vector: `V + (V_g + V_w)/2` far from walls; the bubble goes along it at x times its length, x
/// by the film law with that length in place of V. `flow` V, `rise` V_g up the slope ([`super::rise_speed`]) and `wedge` ([`wedge_speed`]),
/// all in m/s. It follows from U = 2V + V_g + V_w without films.
pub fn driving(flow: [f64; 2], rise: [f64; 2], wedge: [f64; 2]) -> [f64; 2] {
    [0, 1].map(|k| flow[k] + (rise[k] + wedge[k]) / UNBOUNDED)
}

/// Film that a bubble leaves on each plate, m: `0.6688 b Ca^(2/3)` (Bretherton 1961), Ca with the speed of the meniscus, below 1e-2.
pub fn film_left(gap: f64, capillary: f64) -> f64 {
    THICKNESS * gap * capillary.cbrt().powi(2)
}

/// In-plane capillary number `12 μ V R²/(γ b²)`: the pressure of the flow against the tension of the rim. Below [`ROUND`] a bubble stays
/// round within a few per cent, above [`STRETCHED`] it does not.
pub fn shape_number(gap: f64, radius: f64, capillary: f64) -> f64 {
    12.0 * capillary * (radius / gap).powi(2)
}

/// Speed of a round drop of another liquid that leaves no film, m/s: `U = (2 μ V + Δρ g sin(α) b²/12)/(μ + μ2)`.
///
/// The disc of mobility b²/(12 μ2) in a uniform gradient has a uniform one inside, as a cylinder in a field. `viscosities` μ outside and
/// μ2 inside, Pa s; `speed` V and `rise` V_g = Δρ g sin(α) b²/(12 μ), m/s. Equal viscosities give V + V_g/2, a bubble 2V + V_g.
pub fn drop_speed([outside, inside]: [f64; 2], speed: f64, rise: f64) -> f64 {
    outside * (2.0 * speed + rise) / (outside + inside)
}

/// U/V of an elliptical bubble without films in an unbounded cell: 1 + l/c, semi-axes l along and c across the flow (Taylor & Saffman
/// 1959, Q. J. Mech. Appl. Math. 12, 265). Tension selects the circle, U = 2V (Tanveer 1986, 1987, Phys. Fluids, recalled).
pub fn ellipse_ratio(along: f64, across: f64) -> f64 {
    1.0 + along / across
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    /// `H''' = sign (H − 1)/H³` from a small departure from the film, (H, H', H''), to far out: H'' there, and the least height of the
    /// parabola it ends in, `H − H'²/(2 H'')`, which comes in as 1/x and is continued to none.
    fn meniscus(start: [f64; 3], sign: f64) -> [f64; 2] {
        let rate = |y: [f64; 3]| [y[1], y[2], sign * (y[0] - 1.0) / y[0].powi(3)];
        let ahead = |y: [f64; 3], k: [f64; 3], h: f64| [y[0] + h * k[0], y[1] + h * k[1], y[2] + h * k[2]];
        let (mut y, mut x) = (start, 0.0f64);
        let mut to = |end: f64| {
            while x < end {
                let h = (0.02 * (x - 40.0)).max(0.02).min(end - x);
                let k1 = rate(y);
                let k2 = rate(ahead(y, k1, 0.5 * h));
                let k3 = rate(ahead(y, k2, 0.5 * h));
                let k4 = rate(ahead(y, k3, h));
                y = ahead(y, [0, 1, 2].map(|i| (k1[i] + 2.0 * k2[i] + 2.0 * k3[i] + k4[i]) / 6.0), h);
                x = if end - x <= h { end } else { x + h };
            }
            y[0] - y[1] * y[1] / (2.0 * y[2])
        };
        let [near, far] = [to(2000.0), to(4000.0)];
        [y[2], 2.0 * far - near]
    }

    /// Bretherton's constants: 0.643 for the film, 3.88 and −1.13 for the jumps as Burgess & Foster recall them. The departure starts at 1e-7,
    /// whose square is left out; steps of 0.02 and 0.01 differ by 2e-9 in front and 1e-7 behind.
    #[test]
    fn the_constants_of_bretherton_follow_from_his_equation() {
        let [curvature, front] = meniscus([1.0 + 1e-7, 1e-7, 1e-7], 1.0);
        assert!((curvature - 0.643_039_9).abs() < 1e-6, "{curvature}");
        let cube = 3f64.cbrt().powi(2);
        assert!((curvature * cube / 2.0 - THICKNESS).abs() < 1e-5);
        assert!((curvature * front * cube - ADVANCING).abs() < 2e-5, "{}", curvature * front * cube);
        // behind, the film swings, (1/2 ± i √3/2) s: the phase is the one whose curvature is the same
        let behind = |size: f64| meniscus([1.0 + size, 0.5 * size, -0.5 * size], -1.0);
        let [size, _] = sign_change([3.5e-5, 3.9e-5], 30, -1.0, |size| behind(size)[0] - curvature);
        let [_, rear] = behind(size);
        assert!((curvature * rear * cube - RECEDING).abs() < 6e-5, "{}", curvature * rear * cube);
    }

    /// The midpoint rule of n parts errs as n^(−8/3) at the ends of cos^(5/3) and as n^(−5/3) at the steps of the jumps: 1e-6 here.
    #[test]
    fn the_factor_of_the_film_number_is_the_harmonic_of_the_jumps() {
        let n = 4000;
        let middles = |from: f64, to: f64| (0..n).map(move |j| from + (to - from) * (j as f64 + 0.5) / n as f64);
        let cosines = middles(-0.5 * PI, 0.5 * PI).map(|t| t.cos().powf(5.0 / 3.0)).sum::<f64>() * PI / n as f64;
        assert!((cosines - COSINES).abs() < 1e-6, "{cosines}");
        let (gamma, mu, b, r, v) = (0.05, 2e-3, 1e-3, 6e-3, 4e-3);
        let k = film_number(b, r, mu * v / gamma);
        assert!((k / (0.44715 * b / r * (mu * v / gamma).powf(-1.0 / 3.0)) - 1.0).abs() < 2e-5, "{k}");
        let u = speed_ratio(k) * v;
        let jump = |t: f64| {
            let normal = mu * u * t.cos() / gamma;
            2.0 * gamma / b * if normal > 0.0 { ADVANCING } else { RECEDING } * normal.abs().powf(2.0 / 3.0)
        };
        let films = middles(-PI, PI).map(|t| jump(t) * t.cos()).sum::<f64>() * 2.0 / n as f64;
        let liquid = 12.0 * mu * r / (b * b) * (2.0 * v - u);
        assert!((films / liquid - 1.0).abs() < 1e-5, "{films} {liquid}");
    }

    /// To the digits printed; at both ends of what a machine number can be as well.
    #[test]
    fn films_slow_a_bubble_by_the_law() {
        let table = [(0.1, 1.8493), (0.3, 1.5911), (1.0, 1.0), (2.0, 0.5912), (5.0, 0.2136), (10.0, 0.0839)];
        for (k, ratio) in table {
            assert!((speed_ratio(k) - ratio).abs() < 5.1e-5, "{k}: {}", speed_ratio(k));
        }
        for k in [1e-300, 1e-8, 0.7, 1e4, 1e9] {
            let x = speed_ratio(k);
            assert!((2.0 - x - k * x.cbrt().powi(2)).abs() < 1e-14 * 2.0, "{k}: {x}");
        }
        assert_eq!(speed_ratio(f64::INFINITY), 0.0);
        assert_eq!(speed_ratio(-1.0), 2.0);
        assert!(speed_ratio(f64::NAN).is_nan() && speed_ratio_between(1.0, 1.0).is_nan());
        for m1 in [2.303168, 4.319377] {
            let x = speed_ratio_between(m1, 0.8);
            assert!(((1.0 - x) * m1 + x - 0.8 * x.cbrt().powi(2)).abs() < 1e-13, "{m1}: {x}");
            assert!((speed_ratio_between(m1, 0.0) - m1 / (m1 - 1.0)).abs() < 1e-15);
        }
    }

    /// Water at 20 degC, 1 mm: 0.31, 0.63 and 0.95 of the flow; soaped 0.43 and 1.21.
    #[test]
    fn bubbles_in_water_lag_and_large_ones_run_ahead() {
        let of = |gamma: f64, v: f64, r: f64| speed_ratio(film_number(1e-3, r, 1.0016e-3 * v / gamma));
        let (water, soap) = (72.736e-3, 30e-3);
        let cases = [(water, 1e-3, 5e-3, 0.31), (water, 1e-3, 10e-3, 0.63), (water, 5e-3, 10e-3, 0.95)];
        for (gamma, v, r, ratio) in cases.into_iter().chain([(soap, 1e-3, 5e-3, 0.43), (soap, 1e-3, 20e-3, 1.21)]) {
            assert!((of(gamma, v, r) - ratio).abs() < 5.1e-3, "{gamma} {v} {r}: {}", of(gamma, v, r));
        }
        let pace = keeping_pace(1e-3, 1.0016e-3 * 1e-3 / water);
        assert!(of(water, 1e-3, 0.99 * pace) < 1.0 && of(water, 1e-3, 1.01 * pace) > 1.0, "{pace}");
        // Bretherton: 0.04 % of the gap at 1 mm/s
        let film = film_left(1e-3, 1.0016e-3 * 1e-3 / water);
        assert!((film / 1e-3 - 4e-4).abs() < 5e-5, "{film}");
        let number = shape_number(1e-3, 5e-3, 1e-5);
        assert!((number - 12.0 * 1e-5 * 25.0).abs() < 1e-15);
    }

    #[test]
    fn drops_and_ellipses_join_on_to_the_bubble() {
        assert!((drop_speed([1e-3, 1e-3], 3.0, 4.0) - 5.0).abs() < 1e-15);
        assert!((drop_speed([1e-3, 0.0], 3.0, 4.0) - 10.0).abs() < 1e-15);
        assert_eq!(drop_speed([1e-3, f64::INFINITY], 3.0, 4.0), 0.0);
        assert_eq!(ellipse_ratio(1.0, 1.0), speed_ratio(0.0));
        // without films: 2V + V_g + V_w
        let driven = driving([3.0, 0.0], [0.0, 2.0], [-1.0, 0.0]).map(|x| speed_ratio(0.0) * x);
        assert_eq!(driven, [5.0, 2.0]);
    }

    /// First harmonics on the rim: of the liquid's pressure, `−(12 μ R/b²)(2V − U)`, and of `−2 γ/b` where b = b0 + s x, by 4000 midpoints (the
    /// rule is exact to rounding for what is smooth and periodic); the next term of the jump is (s R/b)² of it.
    #[test]
    fn a_wedge_pushes_a_bubble_to_its_wide_end() {
        let (gamma, mu, b, r, slope) = (0.07, 1e-3, 1e-3, 5e-3, 1e-4);
        let [u, across] = wedge_speed(gamma, mu, [slope, 0.0]);
        assert!(u > 0.0 && across == 0.0);
        let n = 4000;
        let angles = (0..n).map(|j| 2.0 * PI * (j as f64 + 0.5) / n as f64);
        let jump = angles.map(|t| -2.0 * gamma / (b + slope * r * t.cos()) * t.cos()).sum::<f64>() * 2.0 / n as f64;
        let liquid = 12.0 * mu * r / (b * b) * u;
        assert!((jump / liquid - 1.0).abs() < 2.0 * (slope * r / b).powi(2), "{jump} {liquid}");
    }
}
