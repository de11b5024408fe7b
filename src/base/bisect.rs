//! Bisection.

/// Halvings that bring any interval of moderate numbers down to neighbouring ones.
pub const TO_ROUNDING: usize = 100;

/// The two places, no more than one halved so many times apart, between which a condition that holds at the first end ceases to hold, if
/// it does not hold at the second; either end may be the greater. Of several such places one is found.
pub fn bisected(ends: [f64; 2], halvings: usize, mut holds: impl FnMut(f64) -> bool) -> [f64; 2] {
    sign_change(ends, halvings, 1.0, |x| if holds(x) { 1.0 } else { -1.0 })
}

/// The same for the sign that a function has at the first end, where its value is `at_first`; twice the same place where it is zero.
pub fn sign_change(
    [mut a, mut b]: [f64; 2],
    halvings: usize,
    at_first: f64,
    mut f: impl FnMut(f64) -> f64,
) -> [f64; 2] {
    for _ in 0..halvings {
        let middle = 0.5 * (a + b);
        if middle <= a.min(b) || middle >= a.max(b) {
            break;
        }
        let value = f(middle);
        if value == 0.0 {
            return [middle; 2];
        }
        if (value > 0.0) == (at_first > 0.0) { a = middle } else { b = middle }
    }
    [a, b]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn roots_are_found_to_rounding_from_either_side() {
        let f = |x: f64| x * x - 2.0;
        for ends in [[1.0, 2.0], [2.0, 1.0]] {
            let [a, b] = sign_change(ends, TO_ROUNDING, f(ends[0]), f);
            assert!((a - b).abs() <= f64::EPSILON * 2.0 && (a.min(b)..=a.max(b)).contains(&2f64.sqrt()), "{a} {b}");
            assert_eq!(f(a) > 0.0, f(ends[0]) > 0.0);
        }
        assert_eq!(sign_change([-1.0, 3.0], TO_ROUNDING, -1.0, |x| x - 1.0), [1.0, 1.0]);
        // three halvings of an interval of 1
        assert_eq!(bisected([0.0, 1.0], 3, |x| x < 0.3), [0.25, 0.375]);
    }
}
