//! Kolmogorov-Smirnov test: do numbers stand uniformly on [0, 1]?

/// Probability that uniform numbers stand as far from uniform as these, by the limit for many numbers with the correction for few
/// (Stephens 1970, J. R. Stat. Soc. B 32, 115).
pub fn uniform_probability(numbers: &[f64]) -> f64 {
    let mut sorted = numbers.to_vec();
    sorted.sort_by(f64::total_cmp);
    let n = sorted.len() as f64;
    let distance = |(k, u): (usize, &f64)| (u - k as f64 / n).abs().max((u - (k as f64 + 1.0) / n).abs());
    let largest = sorted.iter().enumerate().map(distance).fold(0.0, f64::max);
    let x = (n.sqrt() + 0.12 + 0.11 / n.sqrt()) * largest;
    // the series needs no terms where it is 1 to five digits
    if x < 0.3 {
        return 1.0;
    }
    let term = |k: i32| 2.0 * (-1.0_f64).powi(k - 1) * (-2.0 * f64::from(k * k) * x * x).exp();
    (1..=20).map(term).sum::<f64>().clamp(0.0, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_published_limits_come_back() {
        // 1.358/(sqrt n + 0.12 + 0.11/sqrt n) is passed in 5 % of all cases (Stephens 1970)
        let limit = 1.358 / (10.0 + 0.12 + 0.011);
        let moved: Vec<f64> = (0..100).map(|k| ((f64::from(k) + 1.0) / 100.0 - limit).max(0.0)).collect();
        assert!((uniform_probability(&moved) - 0.05).abs() < 1e-3);
        let even: Vec<f64> = (0..100).map(|k| (f64::from(k) + 0.5) / 100.0).collect();
        assert_eq!(uniform_probability(&even), 1.0);
    }
}
