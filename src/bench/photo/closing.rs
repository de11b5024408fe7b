//! The ground of a picture: what it would be without its dark marks, by a closing.
//!
//! A closing (dilation, then erosion) by a disc fills whatever is dark and cannot hold the disc, and keeps every edge between a dark and
//! a light half: the rim of a spacer under a mark stays where it is, where a mean or a polynomial would smear it. A row of the disc is a
//! plain run, and the largest value in a run is found in three comparisons a pixel whatever its length (van Herk 1992, Pattern
//! Recognition Letters 13, 517).

/// The closing of an image of so many columns by a disc of a radius, pixels. Beyond the frame there is nothing to close with: it is left
/// out, so that the frame makes no shade.
pub fn closed(light: &[f64], width: usize, radius: f64) -> Vec<f64> {
    let dilated = largest_in_disc(light, width, radius);
    let negative: Vec<f64> = dilated.iter().map(|value| -value).collect();
    largest_in_disc(&negative, width, radius).iter().map(|value| -value).collect()
}

/// The largest value within the disc about each pixel.
fn largest_in_disc(values: &[f64], width: usize, radius: f64) -> Vec<f64> {
    let height = values.len() / width.max(1);
    let mut out = vec![f64::NEG_INFINITY; values.len()];
    let reach = radius.max(0.0) as usize;
    for step in 0..=reach {
        let half = (radius * radius - (step * step) as f64).max(0.0).sqrt() as usize;
        for row in 0..height {
            let run = largest_in_run(&values[row * width..(row + 1) * width], half);
            let targets = [row.checked_sub(step), (step > 0 && row + step < height).then_some(row + step)];
            for target in targets.into_iter().flatten() {
                for (out, value) in out[target * width..(target + 1) * width].iter_mut().zip(&run) {
                    *out = out.max(*value);
                }
            }
        }
    }
    out
}

/// The largest value within so many places on either side of each.
fn largest_in_run(row: &[f64], half: usize) -> Vec<f64> {
    let (n, length) = (row.len(), 2 * half + 1);
    // padded on both sides so that every run is whole
    let at = |k: usize| if k >= half && k - half < n { row[k - half] } else { f64::NEG_INFINITY };
    let count = (n + 2 * half).div_ceil(length) * length;
    let (mut ahead, mut behind) = (vec![f64::NEG_INFINITY; count], vec![f64::NEG_INFINITY; count]);
    for k in 0..count {
        ahead[k] = if k % length == 0 { at(k) } else { at(k).max(ahead[k - 1]) };
    }
    for k in (0..count).rev() {
        behind[k] = if k % length == length - 1 { at(k) } else { at(k).max(behind[k + 1]) };
    }
    (0..n).map(|k| behind[k].max(ahead[k + length - 1])).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The definition, pixel by pixel.
    fn slow(values: &[f64], width: usize, radius: f64, best: fn(f64, f64) -> f64, worst: f64) -> Vec<f64> {
        let (width, height) = (width as i64, values.len() as i64 / width as i64);
        let near = |k: i64| {
            let (column, row) = (k % width, k / width);
            (0..width * height)
                .filter(|other| {
                    let (dx, dy) = (other % width - column, other / width - row);
                    (dx * dx + dy * dy) as f64 <= radius * radius
                })
                .fold(worst, |most, other| best(most, values[other as usize]))
        };
        (0..width * height).map(near).collect()
    }

    #[test]
    fn closing_is_that_of_the_definition() {
        let mut state = 7u64;
        let mut random = || {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (state >> 40) as f64
        };
        let (width, height) = (23, 17);
        let values: Vec<f64> = (0..width * height).map(|_| random()).collect();
        for radius in [0.0, 1.0, 2.3, 5.0, 9.7] {
            let dilated = slow(&values, width, radius, f64::max, f64::MIN);
            let expected = slow(&dilated, width, radius, f64::min, f64::MAX);
            assert_eq!(closed(&values, width, radius), expected, "radius {radius}");
        }
    }

    #[test]
    fn a_step_stays_and_a_spot_goes() {
        let (width, height) = (40, 40);
        let step = |k: usize| if k % width < 20 { 200.0 } else { 90.0 };
        let ground: Vec<f64> = (0..width * height).map(step).collect();
        let mut marked = ground.clone();
        for row in 17..23 {
            for column in 16..24 {
                marked[row * width + column] = 10.0;
            }
        }
        let found = closed(&marked, width, 6.0);
        // the tip of a disc that lies in the dark half reaches one column into the mark
        let wrong: Vec<usize> = (0..ground.len()).filter(|&k| found[k] != ground[k]).collect();
        assert!(wrong.iter().all(|k| k % width == 19), "{wrong:?}");
    }
}
