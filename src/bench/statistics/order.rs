//! Medians, quantiles, mean squares.

/// The quantile of a fraction, linear between neighbours; none of nothing.
pub fn quantile(values: &[f64], fraction: f64) -> Option<f64> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let place = fraction.clamp(0.0, 1.0) * sorted.len().checked_sub(1)? as f64;
    let (below, part) = (place.floor() as usize, place.fract());
    let above = sorted.get(below + 1).copied().unwrap_or(sorted[below]);
    Some(sorted[below] + part * (above - sorted[below]))
}

/// The median; none of nothing.
pub fn median(values: &[f64]) -> Option<f64> {
    quantile(values, 0.5)
}

/// Root of the mean square; zero of nothing.
pub fn rms(values: &[f64]) -> f64 {
    (values.iter().map(|v| v * v).sum::<f64>() / values.len().max(1) as f64).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantiles_lie_between_neighbours() {
        assert_eq!(median(&[3.0, 1.0, 2.0]), Some(2.0));
        assert_eq!(median(&[4.0, 1.0, 2.0, 3.0]), Some(2.5));
        assert_eq!(quantile(&[0.0, 10.0], 0.9), Some(9.0));
        assert_eq!(median(&[]), None);
        assert_eq!([rms(&[3.0, -4.0, 0.0, 0.0]), rms(&[])], [2.5, 0.0]);
        let values: Vec<f64> = (0..=100).map(f64::from).collect();
        assert_eq!(quantile(&values, 0.95), Some(95.0));
    }
}
