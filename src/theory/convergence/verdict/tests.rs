//! Verdicts on ladders made by hand.

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
    assert!(j.standing == Standing::NotYet && j.why().contains("slowly") && (j.order_used - 1.0).abs() < 1e-9, "{j:?}");
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
    assert!(j.standing == Standing::NotYet && j.uncertainty == f64::INFINITY && j.gci.is_none() && j.factor == CAREFUL);
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
