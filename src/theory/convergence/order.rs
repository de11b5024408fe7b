//! Observed order, extrapolated value and grid convergence index.
//!
//! With sizes h1 < h2 < h3, ratios r21 = h2/h1 and r32 = h3/h2, differences e21 = f2 - f1 and e32 = f3 - f2 (Celik et al. 2008,
//! J. Fluids Eng. 130, 078001):
//!
//! - order: `p = [ln|e32/e21| + q(p)]/ln r21`, `q(p) = ln[(r21^p − s)/(r32^p − s)]`, `s = sign(e32/e21)`;
//! - extrapolated value: `f_ext = (r21^p f1 − f2)/(r21^p − 1)`;
//! - `e_a = |(f1 − f2)/f1|`, `e_ext = |(f_ext − f1)/f_ext|`, `GCI = 1.25 e_a/(r21^p − 1)`.
//!
//! s = -1 is oscillating convergence. Where Celik et al. take the absolute value of the bracket, its sign is kept here: an order
//! that is not positive says that the differences grow, and then there is nothing to extrapolate.

use crate::base::bisect::{TO_ROUNDING, sign_change};

/// Factor of the GCI where the order is confirmed (Roache 1994, J. Fluids Eng. 116, 405; Celik et al. 2008).
pub const SAFETY: f64 = 1.25;
/// Largest order that is taken at its word; beyond it differences stand at rounding or the meshes are too few.
pub const MOST_ORDER: f64 = 12.0;
const LEAST_ORDER: f64 = 1e-3;
/// Steps of the fixed-point iteration; it contracts by at least about one half per step where the ratios are alike.
const STEPS: usize = 500;
/// Part of the largest value below which differences are rounding.
const ROUNDING: f64 = 16.0 * f64::EPSILON;

/// Size of a plane mesh of so many triangles on an area, m: `sqrt(area/N)`.
pub fn mesh_size(area: f64, triangles: usize) -> f64 {
    (area / triangles.max(1) as f64).sqrt()
}

/// What three meshes say about an error.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// Order p.
    pub order: f64,
    /// Value at size zero.
    pub extrapolated: f64,
    /// e_a of the finest two; none if the finest value is zero.
    pub approximate_error: Option<f64>,
    /// e_ext of the finest; none if the extrapolated value is zero.
    pub extrapolated_error: Option<f64>,
    /// GCI of the finest, with the factor 1.25; none if the finest value is zero.
    pub gci: Option<f64>,
    /// The same in units of the quantity: `1.25 |f2 − f1|/(r21^p − 1)`.
    pub uncertainty: f64,
}

/// How three values behave.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Observation {
    /// They approach a value from one side.
    Monotone(Estimate),
    /// They approach a value from both sides.
    Oscillating(Estimate),
    /// The finest two differ by rounding only.
    Settled,
    /// Their differences do not shrink as a power of the size does; whether they change sign.
    Growing {
        /// Whether the differences change sign.
        oscillating: bool,
    },
    /// Sizes or values are no sequence to judge: not finite, or sizes that do not grow.
    Unfit,
}

impl Observation {
    /// The estimate, where there is one.
    pub fn order(&self) -> Option<Estimate> {
        match self {
            Observation::Monotone(estimate) | Observation::Oscillating(estimate) => Some(*estimate),
            _ => None,
        }
    }
}

/// Order, extrapolated value and errors from three meshes, finest first. Works for any sizes that grow strictly.
pub fn observe(sizes: [f64; 3], values: [f64; 3]) -> Observation {
    observe_above(sizes, values, 0.0)
}

/// As [`observe`]; differences of at most `noise`, in units of the quantity, count as rounding.
pub(super) fn observe_above(sizes: [f64; 3], values: [f64; 3], noise: f64) -> Observation {
    let [h1, h2, h3] = sizes;
    let fit = values.iter().all(|f| f.is_finite()) && 0.0 < h1 && h1 < h2 && h2 < h3 && h3.is_finite();
    if !fit {
        return Observation::Unfit;
    }
    let [f1, f2, f3] = values;
    let largest = f1.abs().max(f2.abs()).max(f3.abs());
    let floor = noise.max(ROUNDING * largest);
    let (e21, e32) = (f2 - f1, f3 - f2);
    if e21.abs() <= floor {
        return Observation::Settled;
    }
    if e32.abs() <= floor {
        return Observation::Growing { oscillating: false };
    }
    let sign = (e32 / e21).signum();
    let oscillating = sign < 0.0;
    match fixed_point([h2 / h1, h3 / h2], (e32 / e21).abs().ln(), sign) {
        None => Observation::Growing { oscillating },
        Some(p) if oscillating => Observation::Oscillating(Estimate::new(h2 / h1, p, f1, f2)),
        Some(p) => Observation::Monotone(Estimate::new(h2 / h1, p, f1, f2)),
    }
}

/// p = [ln|e32/e21| + q(p)]/ln r21, found by fixed-point iteration; none if it is not within sensible limits.
fn fixed_point([r21, r32]: [f64; 2], log_ratio: f64, s: f64) -> Option<f64> {
    let next = |p: f64| {
        let q = ((r21.powf(p) - s) / (r32.powf(p) - s)).ln();
        (log_ratio + q) / r21.ln()
    };
    let mut p = (log_ratio / r21.ln()).clamp(LEAST_ORDER, MOST_ORDER);
    for step in 0..STEPS {
        let to = next(p);
        if !to.is_finite() {
            break;
        }
        // half steps where whole ones go to and fro
        let to = if step < 50 { to } else { 0.5 * (p + to) };
        let to = to.clamp(0.5 * LEAST_ORDER, 2.0 * MOST_ORDER);
        if (to - p).abs() <= 1e-13 * to {
            return (LEAST_ORDER..=MOST_ORDER).contains(&to).then_some(to);
        }
        p = to;
    }
    halving(|p| next(p) - p)
}

/// The least root within the limits, where the iteration does not contract, as with very unlike ratios.
fn halving(f: impl Fn(f64) -> f64) -> Option<f64> {
    let grid = |k: u32| LEAST_ORDER + (MOST_ORDER - LEAST_ORDER) * f64::from(k) / 240.0;
    let k = (0..240).find(|&k| f(grid(k)) * f(grid(k + 1)) <= 0.0)?;
    let (low, high) = (grid(k), grid(k + 1));
    let at_low = f(low);
    let [low, high] = if at_low == 0.0 { [low; 2] } else { sign_change([low, high], TO_ROUNDING, at_low, f) };
    Some(0.5 * (low + high))
}

impl Estimate {
    /// From the order p, the ratio of the finest two sizes and their values, finest first.
    pub fn new(r21: f64, order: f64, f1: f64, f2: f64) -> Self {
        let gain = r21.powf(order) - 1.0;
        let extrapolated = f1 + (f1 - f2) / gain;
        let relative = |difference: f64, of: f64| (of != 0.0).then(|| (difference / of).abs());
        let approximate_error = relative(f1 - f2, f1);
        Estimate {
            order,
            extrapolated,
            approximate_error,
            extrapolated_error: relative(extrapolated - f1, extrapolated),
            gci: approximate_error.map(|e| SAFETY * e / gain),
            uncertainty: SAFETY * (f2 - f1).abs() / gain,
        }
    }
}

/// What three meshes of one ratio say.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ConstantRatio {
    /// Order `p = ln[(f3 − f2)/(f2 − f1)]/ln r`.
    pub order: f64,
    /// `f1 + (f1 − f2)/(r^p − 1)`.
    pub extrapolated: f64,
    /// GCI of the finest and of the middle mesh, each relative to its own value, factor 1.25.
    pub gci: [f64; 2],
    /// `GCI_23/(r^p GCI_12)`: one in the asymptotic range.
    pub range: f64,
}

/// Roache's form for one ratio r of sizes (Roache 1994, J. Fluids Eng. 116, 405), values finest first; none unless the values
/// approach a limit from one side and are not zero.
pub fn observe_constant_ratio(ratio: f64, [f1, f2, f3]: [f64; 3]) -> Option<ConstantRatio> {
    let order = ((f3 - f2) / (f2 - f1)).ln() / ratio.ln();
    let sensible = ratio > 1.0 && (LEAST_ORDER..=MOST_ORDER).contains(&order) && f1 != 0.0 && f2 != 0.0;
    sensible.then(|| {
        let gain = ratio.powf(order) - 1.0;
        let gci = [SAFETY * ((f2 - f1) / f1).abs() / gain, SAFETY * ((f3 - f2) / f2).abs() / gain];
        let range = gci[1] / (ratio.powf(order) * gci[0]);
        ConstantRatio { order, extrapolated: f1 + (f1 - f2) / gain, gci, range }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Half a unit of the last digit printed, in units of the value.
    fn same(value: f64, printed: f64, last_digit: f64) {
        assert!((value - printed).abs() <= 0.5 * last_digit * (1.0 + 1e-9), "{value} instead of {printed}");
    }

    /// N, values, then p, f_ext, e_a, e_ext, GCI (the last three in %), and the unit of the last digit of f_ext.
    fn example(n: [usize; 3], values: [f64; 3], [p, extrapolated, e_a, e_ext, gci]: [f64; 5], digit: f64) -> Estimate {
        let estimate = observe(n.map(|n| mesh_size(1.0, n)), values).order().unwrap();
        println!("{estimate:?}");
        same(estimate.order, p, 0.01);
        same(estimate.extrapolated, extrapolated, digit);
        same(100.0 * estimate.approximate_error.unwrap(), e_a, 0.1);
        same(100.0 * estimate.extrapolated_error.unwrap(), e_ext, 0.1);
        same(100.0 * estimate.gci.unwrap(), gci, 0.1);
        estimate
    }

    /// Celik et al. 2008, J. Fluids Eng. 130, 078001: reattachment length.
    #[test]
    fn published_example() {
        example([18_000, 8_000, 4_500], [6.063, 5.972, 5.863], [1.53, 6.1685, 1.5, 1.7, 2.2], 1e-4);
    }

    /// Same source, values from memory.
    #[test]
    fn examples_from_memory() {
        let n = [18_000, 4_500, 980];
        // remembered as e_ext 0.9 %, but (10.8801 - 10.7880)/10.8801 is 0.85 %
        example(n, [10.7880, 10.7250, 10.6050], [0.75, 10.8801, 0.6, 0.85, 1.1], 1e-4);
        // oscillating
        example(n, [6.0042, 5.9624, 6.0909], [1.51, 6.0269, 0.7, 0.4, 0.5], 1e-4);
        let sizes = n.map(|n| mesh_size(1.0, n));
        assert!(matches!(observe(sizes, [6.0042, 5.9624, 6.0909]), Observation::Oscillating(_)));
    }

    /// Roache's method: the worked example of a public tutorial on grid convergence, ratio 2.
    #[test]
    fn constant_ratio_example() {
        let values = [0.97050, 0.96854, 0.96178];
        let roache = observe_constant_ratio(2.0, values).unwrap();
        same(roache.order, 1.786170, 1e-6);
        same(roache.extrapolated, 0.9713003, 1e-7);
        same(100.0 * roache.gci[0], 0.103, 1e-3);
        same(100.0 * roache.gci[1], 0.356, 1e-3);
        // f1/f2: the range differs from one by the relative change of the value only
        same(roache.range, 0.97050 / 0.96854, 1e-9);
        let celik = observe([1.0, 2.0, 4.0], values).order().unwrap();
        assert!((celik.order - roache.order).abs() < 1e-12);
    }

    #[test]
    fn exact_powers_are_found_for_any_sizes() {
        for p in [0.5, 1.0, 4.0 / 3.0, 2.0, 3.7] {
            for sizes in [[1.0, 2.0, 4.0], [1.0, 1.5, 2.0], [1.0, 1.2, 3.0], [1.0, 3.0, 3.5]] {
                let estimate = observe(sizes, sizes.map(|h: f64| 7.0 - 0.3 * h.powf(p))).order().unwrap();
                assert!((estimate.order - p).abs() < 1e-8, "{p} {sizes:?} {estimate:?}");
                assert!((estimate.extrapolated - 7.0).abs() < 1e-8);
                assert!((estimate.uncertainty - 1.25 * 0.3).abs() < 1e-7);
            }
        }
    }

    #[test]
    fn what_is_no_power_is_told_apart() {
        let sizes = [1.0, 2.0, 4.0];
        assert_eq!(observe(sizes, [3.0, 3.0, 3.0]), Observation::Settled);
        assert_eq!(observe(sizes, [0.0, 0.0, 0.0]), Observation::Settled);
        assert_eq!(observe(sizes, [3.0, 3.0 + 1e-15, 2.0]), Observation::Settled);
        assert_eq!(observe_above(sizes, [3.0, 3.0 + 1e-9, 2.0], 1e-8), Observation::Settled);
        assert_eq!(observe(sizes, [3.0, 2.0, 2.0]), Observation::Growing { oscillating: false });
        assert_eq!(observe(sizes, [3.0, 2.0, 1.5]), Observation::Growing { oscillating: false });
        assert_eq!(observe(sizes, [3.0, 2.0, 2.5]), Observation::Growing { oscillating: true });
        // an order of forty
        assert_eq!(observe(sizes, [3.0, 3.0 + 1e-12, 20.0]), Observation::Growing { oscillating: false });
        for sizes in
            [[1.0, 1.0, 2.0], [2.0, 1.0, 4.0], [0.0, 1.0, 2.0], [1.0, f64::NAN, 3.0], [1.0, 2.0, f64::INFINITY]]
        {
            assert_eq!(observe(sizes, [3.0, 2.0, 0.0]), Observation::Unfit, "{sizes:?}");
        }
        assert_eq!(observe(sizes, [f64::NAN, 2.0, 0.0]), Observation::Unfit);
        // a value of zero has no relative error
        let at_zero = observe(sizes, [0.0, 1.0, 3.0]).order().unwrap();
        assert_eq!((at_zero.gci, at_zero.approximate_error), (None, None));
        assert!((at_zero.uncertainty - 1.25).abs() < 1e-12);
        assert_eq!(observe_constant_ratio(2.0, [0.0, 1.0, 3.0]), None);
        assert_eq!(observe_constant_ratio(1.0, [1.0, 2.0, 4.0]), None);
        assert_eq!(observe_constant_ratio(2.0, [1.0, 1.0, 1.0]), None);
    }

    /// Rounding of a value that is a sum of many parts is a few units of its last digit; sixteen are taken for nothing, of the largest
    /// value, whatever its sign. Above that differences that halve show the order one.
    #[test]
    fn differences_of_a_few_last_digits_are_rounding() {
        let sizes = [1.0, 2.0, 4.0];
        for f in [1.0, -1.0, 1024.0, -0.25] {
            let at = |part: f64| f * (1.0 + part * f64::EPSILON);
            for parts in [[0.0, 8.0, 24.0], [0.0, 14.0, 1e6], [8.0, 0.0, 24.0], [0.0, 0.0, 1e12]] {
                assert_eq!(observe(sizes, parts.map(at)), Observation::Settled, "{f} {parts:?}");
            }
            let order = observe(sizes, [0.0, 32.0, 96.0].map(at)).order().unwrap().order;
            assert!((order - 1.0).abs() < 1e-9, "{f}: {order}");
            // the last difference is seen, the one before is not
            let growing = observe(sizes, [0.0, 32.0, 24.0].map(at));
            assert_eq!(growing, Observation::Growing { oscillating: false }, "{f}");
        }
        // the largest of all three counts
        let digits = 32.0 * f64::EPSILON;
        assert_eq!(observe(sizes, [1.0, 1.0 + digits, 4.0]), Observation::Settled);
        assert_eq!(observe(sizes, [0.0, digits, -4.0]), Observation::Settled);
        assert!(observe(sizes, [0.0, digits, 3.0 * digits]).order().is_some());
    }
}
