//! The profiles of first-order inertia across the gap, with ζ = 2z/b in [-1, 1].
//!
//! They solve `μ u1_zz = ∇p1 + ρ (u0·∇) u0` with `u0 = (3/2)(1 − ζ²) V0` and no slip at the plates. The
//! gap-averaged coefficient 54/35 is that of Ruyer-Quil 2001 (C. R. Acad. Sci. Paris IIb 329, 337); the first account of such
//! layers is Riegels 1938 (Z. angew. Math. Mech. 18, 95).

/// Coefficient of the dynamic pressure in p1 = q1 - (27/35) ρ |V|².
pub const PRESSURE_COEFFICIENT: f64 = 27.0 / 35.0;

/// Height at which a layer keeps the ideal direction: zero of [`profile`], and where the drift to the plates is largest.
pub const NEUTRAL_HEIGHT: f64 = 0.432_834_917_318_449;

/// g(ζ) = (3/280)(ζ² - 1)(7 ζ⁴ - 28 ζ² + 5): the layer departs from the parabola by (b²/(4 ν)) g N.
pub fn profile(zeta: f64) -> f64 {
    let x = zeta * zeta;
    3.0 / 280.0 * (x - 1.0) * ((7.0 * x - 28.0) * x + 5.0)
}

/// g over the parabola (3/2)(1 - ζ²) of the gap mean; at the plates its limit 4/35.
pub fn over_parabola(zeta: f64) -> f64 {
    let x = zeta * zeta;
    // the factor 1 - zeta^2 of g cancels
    -((7.0 * x - 28.0) * x + 5.0) / 140.0
}

/// G(ζ) = (3/280) ζ (1 - ζ²)² (ζ² - 5), the integral of g from mid-gap: the drift across the gap is
/// w = -(b/2)(b²/(4 ν)) G lap(|V0|²/2).
pub fn drift_profile(zeta: f64) -> f64 {
    let x = zeta * zeta;
    3.0 / 280.0 * zeta * (1.0 - x).powi(2) * (x - 5.0)
}

/// Coefficients of h1 and h2 over ζ² - 1, by falling powers of ζ².
const SECOND: [[f64; 5]; 2] =
    [[1078.0, -9317.0, 22_099.0, -21_791.0, 2875.0], [308.0, -3157.0, 7007.0, -4543.0, 449.0]];
/// What they are divided by.
const DIVISOR: f64 = 862_400.0;

/// h1(ζ) and h2(ζ): at second order a layer departs by `(b²/4ν)² [h1 ∇(V0·N) + h2 |∇V0|² V0]`. Both carry no flux:
/// `h1 = −(ζ²−1)(1078 ζ⁸ − 9317 ζ⁶ + 22099 ζ⁴ − 21791 ζ² + 2875)/862400`, `h2 = (ζ²−1)(308 ζ⁸ − 3157 ζ⁶ + 7007 ζ⁴ − 4543 ζ² + 449)/862400`.
pub fn second_profiles(zeta: f64) -> [f64; 2] {
    second_over_parabola(zeta).map(|h| 1.5 * (1.0 - zeta * zeta) * h)
}

/// The same over the parabola (3/2)(1 - ζ²), with their limits at the plates.
pub fn second_over_parabola(zeta: f64) -> [f64; 2] {
    let x = zeta * zeta;
    let [first, second] = SECOND.map(|coefficients| coefficients.iter().fold(0.0, |sum, c| sum * x + c));
    [first, -second].map(|value| value / (1.5 * DIVISOR))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// g is a polynomial of degree six: four Gauss points integrate it exactly.
    fn integral(f: impl Fn(f64) -> f64, from: f64, to: f64) -> f64 {
        const NODES: [(f64, f64); 4] = [
            (-0.861_136_311_594_052_6, 0.347_854_845_137_453_85),
            (-0.339_981_043_584_856_26, 0.652_145_154_862_546_2),
            (0.339_981_043_584_856_26, 0.652_145_154_862_546_2),
            (0.861_136_311_594_052_6, 0.347_854_845_137_453_85),
        ];
        let (middle, half) = (0.5 * (from + to), 0.5 * (to - from));
        NODES.iter().map(|(x, w)| half * w * f(middle + half * x)).sum()
    }

    #[test]
    fn the_profile_solves_its_equation() {
        // Unit V0, N along x: u1 = p (3/2)(1-z^2) - part; in units of b^2/(4 nu): u'' = g1 + (9/4)(1-z^2)^2 with g1 = -54/35
        // (no gap-mean change), u(+-1) = 0. Second differences of a sixth-degree polynomial: error h^2 g''''/12.
        let h = 1e-3;
        for k in -9..=9 {
            let z = 0.1 * k as f64;
            let second = (profile(z + h) - 2.0 * profile(z) + profile(z - h)) / (h * h);
            let expected = 2.25 * (1.0 - z * z).powi(2) - 54.0 / 35.0;
            assert!((second - expected).abs() < 1e-5, "z {z}: {second} {expected}");
        }
        assert!(profile(1.0).abs() < 1e-15);
    }

    #[test]
    fn the_profile_carries_no_flux_and_its_integral_is_the_drift() {
        assert!(integral(profile, 0.0, 1.0).abs() < 1e-15);
        for k in 0..=10 {
            let z = 0.1 * k as f64;
            assert!((integral(profile, 0.0, z) - drift_profile(z)).abs() < 1e-15);
        }
    }

    /// Mean zero as fractions: the integral of (x² - 1) c_k x^(2k) from 0 to 1 is c_k (1/(2k+3) - 1/(2k+1)). At mid-gap 115/34496 and
    /// -449/862400; at the plates the limits over 1 - ζ².
    #[test]
    fn second_order_profiles_carry_no_flux() {
        for coefficients in SECOND {
            // with the common denominator 11!! = 10395 all terms are whole
            let whole = |n: i64| 10_395 / n;
            let sum: i64 = coefficients
                .iter()
                .rev()
                .enumerate()
                .map(|(k, &c)| c as i64 * (whole(2 * k as i64 + 3) - whole(2 * k as i64 + 1)))
                .sum();
            assert_eq!(sum, 0, "{coefficients:?}");
        }
        let [first, second] = second_profiles(0.0);
        assert!((first - 115.0 / 34_496.0).abs() < 1e-16 && (second + 449.0 / 862_400.0).abs() < 1e-16);
        assert!(second_profiles(1.0).iter().all(|h| h.abs() < 1e-16) && second_profiles(-1.0) == second_profiles(1.0));
        let [first, second] = second_over_parabola(1.0);
        assert!((first + 5056.0 / 1_293_600.0).abs() < 1e-15 && (second + 64.0 / 1_293_600.0).abs() < 1e-15);
    }

    #[test]
    fn values_at_mid_gap_and_at_the_plates() {
        assert!((profile(0.0) + 3.0 / 56.0).abs() < 1e-15);
        let near = 1.0 - 1e-7;
        assert!((profile(near) / (1.0 - near * near) - 6.0 / 35.0).abs() < 1e-6);
        assert!((over_parabola(1.0) - 4.0 / 35.0).abs() < 1e-15);
        for zeta in [-0.9, 0.0, 0.3, 0.99] {
            assert!((over_parabola(zeta) * 1.5 * (1.0 - zeta * zeta) - profile(zeta)).abs() < 1e-15, "{zeta}");
        }
        assert!(profile(NEUTRAL_HEIGHT).abs() < 1e-15);
        // slope at the plate: -12/35, by the limit 6/35 times the slope -2 of 1 - zeta^2
        assert!((profile(1.0 - 1e-6) / -1e-6 + 12.0 / 35.0).abs() < 1e-5);
        assert_eq!(drift_profile(1.0), 0.0);
    }
}
