//! The profile inside the edge layer against the plain series, the rectangular duct and published integrals.

use std::f64::consts::PI;
use twinplate::theory::edge_layer::profile::{DISPLACEMENT, EXTENT, mean, phi, slowing};

/// Ten Gauss points (Abramowitz & Stegun, table 25.4) on each of `parts` equal parts.
fn integral(f: impl Fn(f64) -> f64, from: f64, to: f64, parts: usize) -> f64 {
    const NODES: [(f64, f64); 5] = [
        (0.148_874_338_981_631_2, 0.295_524_224_714_752_9),
        (0.433_395_394_129_247_2, 0.269_266_719_309_996_3),
        (0.679_409_568_299_024_4, 0.219_086_362_515_982_04),
        (0.865_063_366_688_984_5, 0.149_451_349_150_580_6),
        (0.973_906_528_517_171_7, 0.066_671_344_308_688_14),
    ];
    let half = 0.5 * (to - from) / parts as f64;
    let part = |k: usize| {
        let middle = from + (2 * k + 1) as f64 * half;
        NODES.iter().map(|(x, w)| half * w * (f(middle - half * x) + f(middle + half * x))).sum::<f64>()
    };
    (0..parts).map(part).sum()
}

/// The plain series, with so many terms that what is left is below 48/pi^3 / (4 K^2), K the last k.
fn plain(n: f64, zeta: f64, terms: usize) -> f64 {
    let term = |m: usize| {
        let k = (2 * m + 1) as f64;
        let sign = if m.is_multiple_of(2) { 1.0 } else { -1.0 };
        sign * (k * PI * zeta / 2.0).cos() * (-k * PI * n).exp() / k.powi(3)
    };
    1.5 * (1.0 - zeta * zeta) - 48.0 / PI.powi(3) * (0..terms).rev().map(term).sum::<f64>()
}

#[test]
fn both_forms_agree_with_the_plain_series() {
    // 20 000 terms leave at most 2.5e-10 at the edge, nothing from n = 0.001 on: exp(-40 000 pi 0.001) = 1e-55
    for n in [0.001, 0.01, 0.1, 0.2, 0.2499999, 0.25, 0.3, 0.5, 1.0, 3.0] {
        for zeta in [0.0, 0.2, -0.5, 0.9, -0.999] {
            let (value, expected) = (phi(n, zeta), plain(n, zeta, 20_000));
            assert!((value - expected).abs() < 1e-13, "n {n} zeta {zeta}: {value} {expected}");
        }
    }
    assert!((phi(1e-9, 0.3) - plain(1e-9, 0.3, 20_000)).abs() < 3e-10);
}

#[test]
fn no_slip_and_the_parabola_far_away() {
    for zeta in [-1.0_f64, -0.7, 0.0, 0.4, 1.0, 2.0] {
        let parabola = 1.5 * (1.0 - zeta * zeta).max(0.0);
        assert_eq!(phi(0.0, zeta), 0.0);
        assert_eq!(phi(-1.0, zeta), 0.0);
        assert!(phi(1e-12, zeta) < 1e-10);
        assert!((phi(12.0, zeta) - parabola).abs() < 1e-15);
    }
    assert!(phi(0.4, 1.0) == 0.0 && mean(0.0) == 0.0 && (mean(12.0) - 1.0).abs() < 1e-15);
    assert!(phi(f64::INFINITY, 0.0) == 1.5 && phi(1e-300, 1e-300).is_finite());
    // between the forms: neither a jump nor a kink
    let (below, above) = (phi(0.25 - 1e-9, 0.3), phi(0.25 + 1e-9, 0.3));
    assert!(above > below && above - below < 1e-8);
}

#[test]
fn the_mean_is_the_mean_and_its_deficit_the_displacement() {
    for n in [0.01, 0.1, 0.24, 0.26, 0.7] {
        // even in zeta and smooth there; near the plates at n = 0.01 the profile turns over a hundredth of the gap
        let expected = integral(|zeta| phi(n, zeta), 0.0, 1.0, 64);
        assert!((mean(n) - expected).abs() < 1e-12, "n {n}: {} {expected}", mean(n));
    }
    // 93 zeta(5)/pi^5 (Thompson 1968, J. Fluid Mech. 31, 379); beyond n = 8 the deficit is below exp(-8 pi) = 1e-11
    let zeta5 = (1..2000).rev().map(|k| f64::powi(k as f64, -5)).sum::<f64>();
    assert!((DISPLACEMENT - 93.0 * zeta5 / PI.powi(5)).abs() < 1e-13);
    let deficit = integral(|n| 1.0 - mean(n), 0.0, 8.0, 200);
    assert!((deficit - DISPLACEMENT).abs() < 1e-10, "{deficit}");
    assert!((deficit - 0.315_124_438).abs() < 1e-9);
}

#[test]
fn the_flux_through_a_cut_across_the_layer() {
    // up to n = N the flux is N - delta* but for (96/pi^5) exp(-pi N) b
    for far in [1.0, 2.0, 5.0] {
        let flux = integral(|n| integral(|zeta| phi(n, zeta), 0.0, 1.0, 8), 0.0, far, 40);
        let missing = 96.0 / PI.powi(5) * f64::exp(-PI * far);
        let expected = far - DISPLACEMENT + missing;
        // the next mode adds 3^-5 exp(-3 pi N) of that size
        let next = 96.0 / PI.powi(5) / 243.0 * f64::exp(-3.0 * PI * far);
        assert!((flux - expected).abs() < 1.1 * next + 1e-8, "N {far}: {flux} {expected}");
    }
}

#[test]
fn two_edges_are_a_wide_duct() {
    // Exact section of ratio b/W = 0.1: modes cosh(k pi y/b)/cosh(k pi W/(2b)) in place of one exponential (White, Viscous Fluid
    // Flow). The superposition leaves out exp(-pi W/b) = 2e-14.
    let wide = 10.0;
    let duct = |y: f64, zeta: f64| {
        let term = |m: usize| {
            let k = (2 * m + 1) as f64;
            let sign = if m.is_multiple_of(2) { 1.0 } else { -1.0 };
            let from = |d: f64| (-k * PI * d).exp();
            let shape = (from(0.5 * wide - y) + from(0.5 * wide + y)) / (1.0 + from(wide));
            sign * (k * PI * zeta / 2.0).cos() * shape / k.powi(3)
        };
        1.5 * (1.0 - zeta * zeta) - 48.0 / PI.powi(3) * (0..4000).rev().map(term).sum::<f64>()
    };
    let both = |y: f64, zeta: f64| phi(0.5 * wide - y, zeta) + phi(0.5 * wide + y, zeta) - 1.5 * (1.0 - zeta * zeta);
    for y in [0.0, 2.0, 4.0, 4.5, 4.9, 4.99] {
        for zeta in [0.0, 0.3, 0.8] {
            assert!((both(y, zeta) - duct(y, zeta)).abs() < 1e-12, "y {y} zeta {zeta}");
        }
    }
    // Flow factor of that duct: 0.936975112 (Shah & London 1978)
    let factor = integral(|y| mean(5.0 - y) + mean(5.0 + y) - 1.0, -5.0, 5.0, 400) / wide;
    assert!((factor - 0.936_975_112).abs() < 1e-9, "{factor}");
}

/// At the plates the ratio of the wall shears, `1 - (8/pi^2) sum k^-2 exp(-k pi n)` over odd k, of which 20 000 terms leave nothing from
/// n = 0.001 on; on the edge the sum is pi^2/8 and nothing of the parabola is left. Tolerance: rounding of a sum of that many terms.
#[test]
fn what_is_left_of_the_parabola_at_the_plates_is_the_shear() {
    let shear = |n: f64| {
        let term = |m: usize| (-((2 * m + 1) as f64) * PI * n).exp() / ((2 * m + 1) as f64).powi(2);
        1.0 - 8.0 / (PI * PI) * (0..20_000).rev().map(term).sum::<f64>()
    };
    for k in 1..=120 {
        let n = 0.001 * f64::from(k * k) / 4.0;
        for zeta in [1.0, -1.0] {
            let found = slowing(n, zeta);
            assert!((found - shear(n)).abs() < 1e-8, "n {n}: {found} {}", shear(n));
            if n < 4.0 {
                assert!((found - shear(n)).abs() < 1e-12, "n {n}: {found} {}", shear(n));
            }
        }
    }
    assert!(slowing(0.0, 1.0) == 0.0 && slowing(7.0, 1.0) == 1.0);
    // the limit is used for the nearest millionth of the gap alone, within 1e-6 of the ratio there
    for (n, zeta) in [(0.001, 0.999), (0.01, -0.999), (0.1, 0.998), (0.5, 0.5), (2.0, 0.0)] {
        let exact = plain(n, zeta, 20_000) / (1.5 * (1.0 - zeta * zeta));
        assert!((slowing(n, zeta) - exact).abs() < 1e-6 * exact, "n {n} zeta {zeta}: {} {exact}", slowing(n, zeta));
    }
}

/// `1 - (96/pi^4) sum k^-4 exp(-k pi n)`: 20 000 terms leave at most 1e-14 even on the edge.
#[test]
fn the_mean_is_its_plain_series() {
    for n in [1e-7, 1e-6, 1e-5, 1e-4].into_iter().chain((1..=300).map(|k| 0.0015 * f64::from(k))) {
        let term = |m: usize| (-((2 * m + 1) as f64) * PI * n).exp() / ((2 * m + 1) as f64).powi(4);
        let exact = 1.0 - 96.0 / PI.powi(4) * (0..20_000).rev().map(term).sum::<f64>();
        assert!((mean(n) - exact).abs() < 1e-13, "n {n}: {} {exact}", mean(n));
    }
}

/// As close to the edge as one likes: the shear is `-(4/pi^2) int ln tanh(u/2) du` from 0 to w = pi n, since `sum k^-1 exp(-k u)` over odd k is
/// `-(1/2) ln tanh(u/2)`; with ln(u/2) in place of ln tanh(u/2) this is `(4/pi^2) w (1 - ln(w/2))`, short of it by no more than w^3/36 times
/// 4/pi^2. Where the profile ends it is the parabola.
#[test]
fn the_shear_vanishes_with_the_distance() {
    for n in [1e-12, 1e-9, 1e-6, 1e-4] {
        let w = PI * n;
        let short = slowing(n, 1.0) - 4.0 / (PI * PI) * w * (1.0 - (0.5 * w).ln());
        assert!(short.abs() < 4.0 / (PI * PI) * w.powi(3) / 36.0 + 1e-15, "n {n}: {short}");
    }
    assert!(slowing(EXTENT, 1.0) == 1.0 && slowing(EXTENT, 0.3) == 1.0 && slowing(0.999 * EXTENT, 1.0) < 1.0);
}
