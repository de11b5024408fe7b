//! A plain verdict on a quantity over a ladder of meshes.

use super::order::{Estimate, Observation, SAFETY, observe_above};

/// Factor of the GCI where the order is not confirmed: the one Roache recommends where no order is observed.
pub const CAREFUL: f64 = 3.0;
/// Distance between observed and expected order that still counts as agreement.
const NEAR: f64 = 0.25;
/// Most that the observed order may move from one three meshes to the next.
const STEADY: f64 = 0.5;

/// Uncertainty, over the value, at which three digits stand.
const THREE_DIGITS: f64 = 5e-4;

/// Where a quantity stands on its way to the asymptotic range.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// The observed order agrees with the expected one and has been steady over the finest four meshes.
    Asymptotic,
    /// Its first three digits stand by the careful estimate, although the order is not confirmed.
    Settled,
    /// The order is not confirmed, and digits still change.
    NotYet,
    /// The values go to and fro.
    Oscillating,
    /// The finest values differ by rounding only.
    Rounding,
}

impl Standing {
    /// Its name in reports.
    pub fn name(self) -> &'static str {
        match self {
            Standing::Asymptotic => "asymptotic",
            Standing::Settled => "settled",
            Standing::NotYet => "not yet",
            Standing::Oscillating => "oscillating",
            Standing::Rounding => "rounding",
        }
    }
}

/// What a ladder says about one quantity.
#[derive(Debug, Clone, PartialEq)]
pub struct Judgement {
    /// Where it stands.
    pub standing: Standing,
    /// Why, in words that are the same for all of its kind.
    pub reason: String,
    /// The orders it rests on; empty where there are none.
    pub orders: String,
    /// Order observed on the finest three meshes, where there is one.
    pub observed_order: Option<f64>,
    /// Order used for the error: the observed one if confirmed, else the lower of it and the expected one, at least half the latter.
    pub order_used: f64,
    /// Richardson value: the value at size zero by the observed order (at least half the expected one); where nothing can be
    /// extrapolated the finest value.
    pub extrapolated: f64,
    /// Estimated error of the finest value, units of the quantity: `factor |f2 − f1|/(r^p − 1)`, where the order is not confirmed with
    /// the larger of |f2 − f1| and `|f3 − f2|/r32^q`, q the expected order.
    pub uncertainty: f64,
    /// GCI: the same over the finest value; none if that is zero.
    pub gci: Option<f64>,
    /// The factor used.
    pub factor: f64,
}

impl Judgement {
    /// Why, with the orders it rests on.
    pub fn why(&self) -> String {
        if self.orders.is_empty() { self.reason.clone() } else { format!("{} ({})", self.reason, self.orders) }
    }
}

/// Judges values on meshes, coarse to fine, against the expected order. Differences of at most `noise` (units of the quantity) are
/// taken for rounding. Fewer than four meshes never confirm an order.
pub fn judge(sizes: &[f64], values: &[f64], expected: f64, noise: f64) -> Judgement {
    let n = sizes.len().min(values.len());
    if n < 3 {
        let finest = values.last().copied().unwrap_or(0.0);
        return still(Standing::NotYet, "fewer than three meshes show no order", finest, f64::INFINITY, expected);
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
    let unconfirmed = |standing: Standing, (reason, orders): (&str, String), estimate: Estimate| {
        // an order below half of what is expected is no order to extrapolate with
        let order_used = estimate.order.clamp(0.5 * expected, expected);
        let extrapolated = Estimate::new(r21, estimate.order.max(0.5 * expected), f1, f2).extrapolated;
        let uncertainty = careful(order_used);
        let stands = uncertainty <= THREE_DIGITS * f1.abs();
        Judgement {
            standing: if stands { Standing::Settled } else { standing },
            reason: if stands { format!("three digits stand, although {reason}") } else { reason.to_owned() },
            orders,
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
            Standing::Rounding,
            "the finest two values differ by rounding only",
            f1,
            (f2 - f1).abs().max(noise),
            expected,
        ),
        Observation::Unfit => {
            still(Standing::NotYet, "the sizes do not fall or a value is not finite", f1, f64::INFINITY, expected)
        }
        Observation::Growing { oscillating: true } => {
            let why = "the values go to and fro and do not settle; more or finer meshes are needed";
            still(Standing::Oscillating, why, f1, careful(expected), expected)
        }
        Observation::Growing { oscillating: false } => {
            let why = "the last difference is no smaller than the one before; finer meshes are needed";
            still(Standing::NotYet, why, f1, careful(expected), expected)
        }
        Observation::Oscillating(estimate) => {
            unconfirmed(Standing::Oscillating, ("the values go to and fro while they settle", String::new()), estimate)
        }
        Observation::Monotone(estimate) => {
            let before = (n > 3).then(|| three(n - 1));
            match confirmed(&estimate, before, expected) {
                Ok(orders) => Judgement {
                    standing: Standing::Asymptotic,
                    reason: "the order is the expected one, and steady".to_owned(),
                    orders,
                    observed_order: Some(estimate.order),
                    order_used: estimate.order,
                    extrapolated: estimate.extrapolated,
                    uncertainty: estimate.uncertainty,
                    gci: estimate.gci,
                    factor: SAFETY,
                },
                Err(why) => unconfirmed(Standing::NotYet, why, estimate),
            }
        }
    }
}

/// Whether an order is confirmed, with the orders; if not, why not.
fn confirmed(now: &Estimate, before: Option<Observation>, expected: f64) -> Result<String, (&'static str, String)> {
    let p = now.order;
    let Some(before) = before else {
        return Err(("three meshes show an order but cannot confirm it; take four", format!("order {p:.2}")));
    };
    let earlier = match before {
        Observation::Monotone(estimate) => estimate.order,
        _ => return Err(("an order shows on the finest three meshes only", format!("order {p:.2}"))),
    };
    let orders = format!("observed {p:.2} where {expected:.2} is expected, {earlier:.2} one mesh before");
    if (p - expected).abs() <= NEAR && (p - earlier).abs() <= STEADY {
        return Ok(orders);
    }
    let is_nearing = (p - expected).abs() < (earlier - expected).abs() - 0.02;
    let reason = match (p > expected + NEAR, p < expected - NEAR, is_nearing) {
        (true, _, true) => "the differences still fall faster than expected in the end, with an order on its way",
        (true, _, false) => "the differences still fall faster than expected in the end",
        (_, true, true) => "the differences fall more slowly than expected, with an order on its way",
        (_, true, false) => "the differences fall more slowly than expected",
        (_, _, true) => "the order has not been steady, and is on its way",
        (_, _, false) => "the order has not been steady",
    };
    Err((reason, orders))
}

/// A judgement that extrapolates nothing.
fn still(standing: Standing, reason: &str, finest: f64, uncertainty: f64, expected: f64) -> Judgement {
    Judgement {
        standing,
        reason: reason.to_owned(),
        orders: String::new(),
        observed_order: None,
        order_used: expected,
        extrapolated: finest,
        uncertainty,
        gci: (finest != 0.0 && uncertainty.is_finite()).then(|| uncertainty / finest.abs()),
        factor: if standing == Standing::Rounding { 1.0 } else { CAREFUL },
    }
}

#[cfg(test)]
mod tests;
