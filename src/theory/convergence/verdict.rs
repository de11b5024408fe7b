//! A plain verdict on a quantity over a ladder of meshes.

use super::order::{Estimate, Observation, observe_above};

/// Factor of the GCI where the order is confirmed (Roache 1994, J. Fluids Eng. 116, 405; Celik et al. 2008).
pub const SAFETY: f64 = 1.25;
/// Factor where it is not: the one Roache recommends where no order is observed.
pub const CAREFUL: f64 = 3.0;
/// Distance between observed and expected order that still counts as agreement.
const NEAR: f64 = 0.25;
/// Most that the observed order may move from one three meshes to the next.
const STEADY: f64 = 0.5;

/// Whether a quantity is in the asymptotic range.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// The observed order agrees with the expected one and has been steady over the finest four meshes.
    Asymptotic,
    /// It does not, or not yet.
    NotYet,
    /// The values go to and fro.
    Oscillating,
    /// The finest values differ by rounding only.
    Rounding,
}

impl Verdict {
    /// Its name in reports.
    pub fn name(self) -> &'static str {
        match self {
            Verdict::Asymptotic => "asymptotic",
            Verdict::NotYet => "not yet",
            Verdict::Oscillating => "oscillating",
            Verdict::Rounding => "rounding",
        }
    }
}

/// What a ladder says about one quantity.
#[derive(Debug, Clone, PartialEq)]
pub struct Judgement {
    /// The verdict.
    pub verdict: Verdict,
    /// Why.
    pub why: String,
    /// Order observed on the finest three meshes, where there is one.
    pub observed_order: Option<f64>,
    /// Order used for the error: the observed one if confirmed, else the lower of it and the expected one, at least half the latter.
    pub order_used: f64,
    /// Richardson value: the value at size zero by the observed order (at least half the expected one); where nothing can be
    /// extrapolated the finest value.
    pub extrapolated: f64,
    /// Estimated error of the finest value, units of the quantity: factor |f2 - f1|/(r^p - 1), where the order is not confirmed with the
    /// larger of |f2 - f1| and |f3 - f2|/r32^q, q the expected order.
    pub uncertainty: f64,
    /// GCI: the same over the finest value; none if that is zero.
    pub gci: Option<f64>,
    /// The factor used.
    pub factor: f64,
}

/// Judges values on meshes, coarse to fine, against the expected order. Differences of at most `noise` (units of the quantity) are
/// taken for rounding. Fewer than four meshes never confirm an order.
pub fn judge(sizes: &[f64], values: &[f64], expected: f64, noise: f64) -> Judgement {
    let n = sizes.len().min(values.len());
    if n < 3 {
        let finest = values.last().copied().unwrap_or(0.0);
        return still(Verdict::NotYet, "fewer than three meshes show no order", finest, f64::INFINITY, expected);
    }
    let three = |end: usize| {
        let pick = |list: &[f64]| [list[end - 1], list[end - 2], list[end - 3]];
        observe_above(pick(sizes), pick(values), noise)
    };
    let [f1, f2, f3] = [values[n - 1], values[n - 2], values[n - 3]];
    let [r21, r32] = [sizes[n - 2] / sizes[n - 1], sizes[n - 3] / sizes[n - 2]];
    // a last difference that is small by chance, as where errors cancel, must not pass for accuracy
    let difference = (f2 - f1).abs().max((f3 - f2).abs() / r32.powf(expected));
    let careful = |order: f64| CAREFUL * difference / (r21.powf(order) - 1.0);
    let unconfirmed = |verdict: Verdict, why: String, estimate: Estimate| {
        // an order below half of what is expected is no order to extrapolate with
        let order_used = estimate.order.clamp(0.5 * expected, expected);
        let extrapolated = Estimate::new(r21, estimate.order.max(0.5 * expected), f1, f2).extrapolated;
        let uncertainty = careful(order_used);
        Judgement {
            verdict,
            why,
            observed_order: Some(estimate.order),
            order_used,
            extrapolated,
            uncertainty,
            gci: (f1 != 0.0).then(|| uncertainty / f1.abs()),
            factor: CAREFUL,
        }
    };
    match three(n) {
        Observation::Settled => still(
            Verdict::Rounding,
            "the finest two values differ by rounding only",
            f1,
            (f2 - f1).abs().max(noise),
            expected,
        ),
        Observation::Unfit => {
            still(Verdict::NotYet, "the sizes do not fall or a value is not finite", f1, f64::INFINITY, expected)
        }
        Observation::Growing { oscillating: true } => {
            let why = "the values go to and fro and do not settle; more or finer meshes are needed";
            still(Verdict::Oscillating, why, f1, careful(expected), expected)
        }
        Observation::Growing { oscillating: false } => {
            let why = "the last difference is no smaller than the one before; finer meshes are needed";
            still(Verdict::NotYet, why, f1, careful(expected), expected)
        }
        Observation::Oscillating(estimate) => {
            unconfirmed(Verdict::Oscillating, "the values go to and fro while they settle".to_owned(), estimate)
        }
        Observation::Monotone(estimate) => {
            let before = (n > 3).then(|| three(n - 1));
            match confirmed(&estimate, before, expected) {
                Ok(why) => Judgement {
                    verdict: Verdict::Asymptotic,
                    why,
                    observed_order: Some(estimate.order),
                    order_used: estimate.order,
                    extrapolated: estimate.extrapolated,
                    uncertainty: estimate.uncertainty,
                    gci: estimate.gci,
                    factor: SAFETY,
                },
                Err(why) => unconfirmed(Verdict::NotYet, why, estimate),
            }
        }
    }
}

/// Whether an order is confirmed, and why.
fn confirmed(now: &Estimate, before: Option<Observation>, expected: f64) -> Result<String, String> {
    let p = now.order;
    let Some(before) = before else {
        return Err(format!("three meshes show an order, {p:.2}, but cannot confirm it; take four"));
    };
    let earlier = match before {
        Observation::Monotone(estimate) => estimate.order,
        _ => return Err(format!("the order, {p:.2}, shows on the finest three meshes only")),
    };
    if (p - expected).abs() <= NEAR && (p - earlier).abs() <= STEADY {
        return Ok(format!("observed {p:.2} where {expected:.2} is expected, {earlier:.2} one mesh before"));
    }
    let moving = if (p - expected).abs() < (earlier - expected).abs() - 0.02 {
        format!("; it was {earlier:.2} one mesh before and is on its way")
    } else {
        format!("; it was {earlier:.2} one mesh before")
    };
    Err(if p > expected + NEAR {
        format!(
            "the differences still fall faster, with order {p:.2}, than the {expected:.2} expected in the end{moving}"
        )
    } else if p < expected - NEAR {
        format!("the differences fall more slowly, with order {p:.2}, than the {expected:.2} expected{moving}")
    } else {
        format!("the order, {p:.2}, has not been steady{moving}")
    })
}

/// A judgement that extrapolates nothing.
fn still(verdict: Verdict, why: &str, finest: f64, uncertainty: f64, expected: f64) -> Judgement {
    Judgement {
        verdict,
        why: why.to_owned(),
        observed_order: None,
        order_used: expected,
        extrapolated: finest,
        uncertainty,
        gci: (finest != 0.0 && uncertainty.is_finite()).then(|| uncertainty / finest.abs()),
        factor: if verdict == Verdict::Rounding { 1.0 } else { CAREFUL },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SIZES: [f64; 5] = [16.0, 8.0, 4.0, 2.0, 1.0];

    fn of(error: impl Fn(f64) -> f64, expected: f64) -> Judgement {
        judge(&SIZES, &SIZES.map(|h| 5.0 + error(h)), expected, 1e-12)
    }

    #[test]
    fn a_power_of_the_expected_order_is_asymptotic() {
        let j = of(|h| -1e-3 * h * h, 2.0);
        assert_eq!((j.verdict, j.factor), (Verdict::Asymptotic, SAFETY));
        assert!((j.extrapolated - 5.0).abs() < 1e-9 && (j.uncertainty - 1.25e-3).abs() < 1e-9, "{j:?}");
    }

    #[test]
    fn another_order_is_not_and_the_careful_factor_holds() {
        // order 2 where the corner has 4/3: the error goes by the lower one
        let j = of(|h| 1e-3 * h * h, 4.0 / 3.0);
        assert_eq!((j.verdict, j.factor), (Verdict::NotYet, CAREFUL));
        assert!((j.order_used - 4.0 / 3.0).abs() < 1e-12 && j.why.contains("faster"), "{j:?}");
        let j = of(|h| 1e-3 * h, 2.0);
        assert!(j.verdict == Verdict::NotYet && j.why.contains("slowly") && (j.order_used - 1.0).abs() < 1e-9, "{j:?}");
        // the right order on the finest three meshes, another one before
        let j = of(|h| 1e-3 * h * h + 1e-5 * h.powi(5), 2.0);
        assert_eq!(j.verdict, Verdict::NotYet, "{j:?}");
    }

    #[test]
    fn a_last_difference_that_is_small_by_chance_is_not_believed() {
        let errors = [16.0, 8.0, 4.0, 2.0, 1.999_999];
        let j = judge(&SIZES, &errors.map(|e| 5.0 + e), 1.0, 0.0);
        assert_eq!(j.verdict, Verdict::NotYet);
        // the difference before, 2, halved, times three
        assert!((j.uncertainty - 3.0).abs() < 1e-5 && (j.extrapolated - j.extrapolated.min(7.0)).abs() < 1e-5, "{j:?}");
        // an order of 0.05 extrapolates no further than one of 0.5
        let j = of(|h| 1e-3 * h.powf(0.05), 1.0);
        let difference = 1e-3 * (2f64.powf(0.05) - 1.0);
        assert!((5.0 + 1e-3 - j.extrapolated) < 2.5 * difference && j.order_used == 0.5, "{j:?}");
    }

    #[test]
    fn rounding_oscillation_and_too_few_meshes() {
        assert_eq!(of(|_| 0.0, 2.0).verdict, Verdict::Rounding);
        assert_eq!(of(|h| 1e-14 * h, 2.0).verdict, Verdict::Rounding);
        let j = of(|h| if h == 2.0 { -1e-3 } else { 1e-3 * h * h }, 2.0);
        assert_eq!((j.verdict, j.factor), (Verdict::Oscillating, CAREFUL));
        let j = judge(&SIZES[..3], &[1.0, 0.25, 0.0625].map(|e| 5.0 + e), 2.0, 0.0);
        assert!(j.verdict == Verdict::NotYet && j.why.contains("take four"), "{j:?}");
        let j = judge(&SIZES[..2], &[1.0, 0.25], 2.0, 0.0);
        assert!(j.verdict == Verdict::NotYet && j.gci.is_none());
        assert_eq!(judge(&[], &[], 2.0, 0.0).verdict, Verdict::NotYet);
    }
}
