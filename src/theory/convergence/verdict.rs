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
mod tests {
    use super::*;

    /// Small enough that the differences of these tests leave no three digits standing.
    const BASE: f64 = 0.05;
    const SIZES: [f64; 5] = [16.0, 8.0, 4.0, 2.0, 1.0];

    fn of(error: impl Fn(f64) -> f64, expected: f64) -> Judgement {
        judge(&SIZES, &SIZES.map(|h| BASE + error(h)), expected, 1e-12)
    }

    #[test]
    fn a_power_of_the_expected_order_is_asymptotic() {
        let j = of(|h| -1e-3 * h * h, 2.0);
        assert_eq!((j.standing, j.factor), (Standing::Asymptotic, SAFETY));
        assert!((j.extrapolated - BASE).abs() < 1e-9 && (j.uncertainty - 1.25e-3).abs() < 1e-9, "{j:?}");
    }

    #[test]
    fn another_order_is_not_and_the_careful_factor_holds() {
        // order 2 where the corner has 4/3: the error goes by the lower one
        let j = of(|h| 1e-3 * h * h, 4.0 / 3.0);
        assert_eq!((j.standing, j.factor), (Standing::NotYet, CAREFUL));
        assert!((j.order_used - 4.0 / 3.0).abs() < 1e-12 && j.why().contains("faster"), "{j:?}");
        let j = of(|h| 1e-3 * h, 2.0);
        assert!(
            j.standing == Standing::NotYet && j.why().contains("slowly") && (j.order_used - 1.0).abs() < 1e-9,
            "{j:?}"
        );
        // the right order on the finest three meshes, another one before
        let j = of(|h| 1e-3 * h * h + 1e-5 * h.powi(5), 2.0);
        assert_eq!(j.standing, Standing::NotYet, "{j:?}");
    }

    #[test]
    fn a_last_difference_that_is_small_by_chance_is_not_believed() {
        let errors = [16.0, 8.0, 4.0, 2.0, 1.999_999];
        let j = judge(&SIZES, &errors.map(|e| BASE + e), 1.0, 0.0);
        assert_eq!(j.standing, Standing::NotYet);
        // the difference before, 2, halved, times three
        assert!((j.uncertainty - 3.0).abs() < 1e-5 && (j.extrapolated - j.extrapolated.min(7.0)).abs() < 1e-5, "{j:?}");
        // an order of 0.05 extrapolates no further than one of 0.5
        let j = of(|h| 1e-3 * h.powf(0.05), 1.0);
        let difference = 1e-3 * (2f64.powf(0.05) - 1.0);
        assert!((BASE + 1e-3 - j.extrapolated) < 2.5 * difference && j.order_used == 0.5, "{j:?}");
    }

    #[test]
    fn rounding_oscillation_and_too_few_meshes() {
        assert_eq!(of(|_| 0.0, 2.0).standing, Standing::Rounding);
        assert_eq!(of(|h| 1e-14 * h, 2.0).standing, Standing::Rounding);
        let j = of(|h| if h == 2.0 { -1e-3 } else { 1e-3 * h * h }, 2.0);
        assert_eq!((j.standing, j.factor), (Standing::Oscillating, CAREFUL));
        let j = judge(&SIZES[..3], &[1.0, 0.25, 0.0625].map(|e| BASE + e), 2.0, 0.0);
        assert!(j.standing == Standing::NotYet && j.why().contains("take four"), "{j:?}");
        let j = judge(&SIZES[..2], &[1.0, 0.25], 2.0, 0.0);
        assert!(j.standing == Standing::NotYet && j.gci.is_none());
        assert_eq!(judge(&[], &[], 2.0, 0.0).standing, Standing::NotYet);
    }

    /// Values on sizes halved, whose differences fall with these orders, coarse to fine; the last difference is `last`.
    fn falling(orders: &[f64], last: f64) -> Vec<f64> {
        let mut differences = vec![last];
        for order in orders.iter().rev() {
            differences.insert(0, differences[0] * 2f64.powf(*order));
        }
        let mut values = vec![BASE];
        for difference in differences {
            values.push(values[values.len() - 1] - difference);
        }
        values
    }

    fn judged(orders: &[f64], expected: f64) -> Judgement {
        let values = falling(orders, 1e-4);
        judge(&SIZES[SIZES.len() - values.len()..], &values, expected, 0.0)
    }

    /// Confirmed: within 0.25 of what is due, and not moved by more than 0.5 since one mesh before.
    #[test]
    fn orders_are_confirmed_when_near_and_steady() {
        for (orders, standing, words) in [
            ([2.0, 2.0], Standing::Asymptotic, "observed 2.00 where 2.00 is expected, 2.00 one mesh before"),
            ([2.2, 2.2], Standing::Asymptotic, "observed 2.20 where 2.00 is expected"),
            ([1.8, 1.8], Standing::Asymptotic, "observed 1.80"),
            ([2.45, 2.0], Standing::Asymptotic, "2.45 one mesh before"),
            ([1.55, 2.0], Standing::Asymptotic, "1.55 one mesh before"),
            // near but not steady
            (
                [2.6, 2.0],
                Standing::NotYet,
                "has not been steady, and is on its way (observed 2.00 where 2.00 is expected, 2.60 one mesh before)",
            ),
            (
                [1.4, 2.0],
                Standing::NotYet,
                "has not been steady, and is on its way (observed 2.00 where 2.00 is expected, 1.40",
            ),
            // steady but not near
            (
                [2.3, 2.3],
                Standing::NotYet,
                "faster than expected in the end (observed 2.30 where 2.00 is expected, 2.30 one mesh before",
            ),
            (
                [2.7, 2.3],
                Standing::NotYet,
                "faster than expected in the end, with an order on its way (observed 2.30 where 2.00 is expected, 2.70",
            ),
            (
                [1.7, 1.7],
                Standing::NotYet,
                "more slowly than expected (observed 1.70 where 2.00 is expected, 1.70 one mesh before",
            ),
            (
                [1.7, 1.4],
                Standing::NotYet,
                "more slowly than expected (observed 1.40 where 2.00 is expected, 1.70 one mesh before",
            ),
        ] {
            let j = judged(&orders, 2.0);
            assert!(j.standing == standing && j.why().contains(words), "{orders:?}: {j:?}");
            let nears = standing == Standing::NotYet && (orders[1] - 2.0).abs() < (orders[0] - 2.0).abs();
            assert!(j.why().contains("on its way") == nears, "{orders:?}: {}", j.why());
            assert!((j.observed_order.unwrap() - orders[1]).abs() < 1e-9);
            let gain = 2f64.powf(orders[1]) - 1.0;
            match standing {
                Standing::Asymptotic => {
                    assert!((j.order_used - orders[1]).abs() < 1e-9 && j.factor == SAFETY);
                    assert!((j.uncertainty / (1.25e-4 / gain) - 1.0).abs() < 1e-6, "{j:?}");
                }
                _ => assert!((j.order_used - orders[1].min(2.0)).abs() < 1e-9 && j.factor == CAREFUL),
            }
        }
        // the same orders on the finest three meshes alone, and where the values grew one mesh before
        assert!(judged(&[2.0], 2.0).why().contains("take four"));
        let j = judged(&[-0.5, 2.0], 2.0);
        assert!(j.standing == Standing::NotYet && j.why().contains("finest three meshes only"), "{j:?}");
    }

    /// The differences of a power h^q fall by r^q: from the one before, 4e-4, the last one is due to be 1e-4 for q = 2, whatever it is. The
    /// error is three times that over r^p - 1 with p at most 2 and at least 1.
    #[test]
    fn the_difference_that_is_due_counts() {
        for (last, order_used, uncertainty) in [(1e-7, 2.0, 3e-4 / 3.0), (0.8e-4, 2.0, 3e-4 / 3.0), (2e-4, 1.0, 6e-4)] {
            let values = [4e-4 + last, last, 0.0].map(|e| BASE + e);
            let j = judge(&SIZES[2..], &values, 2.0, 0.0);
            assert_eq!((j.standing, j.factor), (Standing::NotYet, CAREFUL));
            assert!((j.order_used - order_used).abs() < 1e-6, "{j:?}");
            assert!((j.uncertainty / uncertainty - 1.0).abs() < 1e-6, "{j:?}");
            assert!((j.gci.unwrap() * BASE / j.uncertainty - 1.0).abs() < 1e-12);
        }
        // ratios other than two: meshes of sizes 9, 3, 1, where the difference that is due is a ninth
        let j = judge(&[9.0, 3.0, 1.0], &[9e-4 + 1e-7, 1e-7, 0.0].map(|e| BASE + e), 2.0, 0.0);
        assert!((j.uncertainty / (3e-4 / 8.0) - 1.0).abs() < 1e-6, "{j:?}");
        // sizes 6, 2, 1: due over the wider ratio, used over the finer
        let j = judge(&[6.0, 2.0, 1.0], &[9e-4 + 1e-7, 1e-7, 0.0].map(|e| BASE + e), 2.0, 0.0);
        assert!((j.uncertainty / (3e-4 / 3.0) - 1.0).abs() < 1e-6, "{j:?}");
        // values that grow: nothing is extrapolated, but the error is no less
        let j = judge(&SIZES[2..], &[BASE, BASE + 1e-4, BASE + 3e-4], 2.0, 0.0);
        assert!(j.standing == Standing::NotYet && j.observed_order.is_none() && j.extrapolated == BASE + 3e-4, "{j:?}");
        assert!((j.uncertainty / 2e-4 - 1.0).abs() < 1e-6, "{j:?}");
        let j = judge(&SIZES[2..], &[BASE, BASE + 1e-4, BASE - 1e-4], 2.0, 0.0);
        assert!(j.standing == Standing::Oscillating && j.why().contains("do not settle"), "{j:?}");
        assert!((j.uncertainty / 2e-4 - 1.0).abs() < 1e-6, "{j:?}");
    }

    /// An order far below what is due is not extrapolated with: half of it is taken.
    #[test]
    fn slow_and_oscillating_values_are_extrapolated_with_half_the_order() {
        let j = judged(&[0.4, 0.4], 2.0);
        // f1 + (f1 - f2)/(2 - 1) with p = 1
        let finest = falling(&[0.4, 0.4], 1e-4)[3];
        assert!((j.extrapolated - (finest - 1e-4)).abs() < 1e-12 && j.order_used == 1.0, "{j:?}");
        let values = [BASE, BASE + 4e-4, BASE + 3e-4];
        let j = judge(&SIZES[2..], &values, 2.0, 0.0);
        assert!(j.standing == Standing::Oscillating && j.why().contains("while they settle") && j.factor == CAREFUL);
        // s = -1 with one ratio: p = ln 4/ln 2
        assert!((j.observed_order.unwrap() - 2.0).abs() < 1e-9, "{j:?}");
        assert!((j.uncertainty / 1e-4 - 1.0).abs() < 1e-6, "{j:?}");
    }

    /// Settled values are known to the noise that was given, or to their last difference where rounding is more.
    #[test]
    fn settled_values_are_known_to_the_noise() {
        let j = judge(&SIZES[2..], &[5.1, 5.0 + 1e-10, 5.0], 2.0, 1e-9);
        assert_eq!((j.standing, j.factor, j.uncertainty), (Standing::Rounding, 1.0, 1e-9));
        assert!((j.gci.unwrap() / 2e-10 - 1.0).abs() < 1e-9 && j.extrapolated == 5.0 && j.observed_order.is_none());
        let last = 4.0 * f64::EPSILON;
        let j = judge(&SIZES[2..], &[5.1, 5.0 + last, 5.0], 2.0, 0.0);
        assert_eq!((j.standing, j.uncertainty), (Standing::Rounding, last));
        let zero = judge(&SIZES[2..], &[1.0, 0.0, 0.0], 2.0, 1e-9);
        assert_eq!((zero.standing, zero.gci), (Standing::Rounding, None));
        // what is no sequence has no error to state
        let j = judge(&[1.0, 2.0, 4.0], &[3.0, 2.0, 1.0], 2.0, 0.0);
        assert!(
            j.standing == Standing::NotYet && j.uncertainty == f64::INFINITY && j.gci.is_none() && j.factor == CAREFUL
        );
        assert!(j.why().contains("sizes"));
    }

    /// An order is on its way where it has come nearer to the expected one by more than the two digits it is told with can hide.
    #[test]
    fn an_order_is_on_its_way_by_more_than_its_last_digit() {
        for (earlier, now, on_its_way) in
            [(2.51, 2.50, false), (2.53, 2.50, true), (1.49, 1.50, false), (1.47, 1.50, true), (2.47, 2.50, false)]
        {
            let why = judged(&[earlier, now], 2.0).why();
            assert_eq!(why.contains("on its way"), on_its_way, "{earlier} {now}: {why}");
            assert!(why.contains(&format!("{earlier:.2} one mesh before")), "{why}");
        }
    }

    /// Differences that fall with an order of 1.5 where 2 is due, q = 2 and p = 1.5: the careful estimate is three times the larger of the
    /// last difference and a quarter of the one before, over 2^1.5 - 1. Half a unit of the third digit of 0.05 is 2.5e-5.
    #[test]
    fn three_digits_may_stand_before_the_order_does() {
        let factor = 3.0 / (2f64.powf(1.5) - 1.0);
        for (share, standing) in [(0.99, Standing::Settled), (1.01, Standing::NotYet)] {
            let values = falling(&[1.5, 1.5], share * 2.5e-5 / factor);
            let values: Vec<f64> = values.iter().map(|v| v - values[3] + BASE).collect();
            let j = judge(&SIZES[1..], &values, 2.0, 0.0);
            assert_eq!(j.standing, standing, "{j:?}");
            assert_eq!(j.why().contains("three digits stand, although the differences fall more slowly"), share < 1.0);
            // what it rests on is the same
            assert!((j.uncertainty / (share * 2.5e-5) - 1.0).abs() < 1e-6 && j.factor == CAREFUL, "{j:?}");
        }
        let to_and_fro = [0.0, 4e-6, 3e-6].map(|e| BASE + e);
        assert_eq!(judge(&SIZES[2..], &to_and_fro, 2.0, 0.0).standing, Standing::Settled);
    }
}
