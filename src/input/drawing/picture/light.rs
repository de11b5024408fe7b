//! Whether the light on a picture is even.

use super::tone::Coverage;

/// The picture is looked at in so many parts along either side.
const PARTS: usize = 8;

/// Changes of a tone above this share of the contrast are said.
///
/// The edge stands where the tone is half way between obstacle and ground. Where the ground is lighter or darker by a share d of the
/// contrast, that place moves by d/2 of the width over which the edge is blurred: at two to three pixels of blur 0.2 is a quarter of
/// a pixel.
const UNEVEN: f64 = 0.2;

/// Steps of a tone, from -2 to 2 contrasts about the threshold.
const STEPS: usize = 256;

/// What is to be said of ground and obstacle where their tone is not the same everywhere.
pub(super) fn uneven(coverage: &Coverage) -> Vec<String> {
    let parts = histograms(coverage);
    let what = [("ground", 0..STEPS / 2), ("obstacle", STEPS / 2..STEPS)];
    what.into_iter()
        .filter_map(|(name, steps)| {
            let tones = parts.iter().enumerate().filter_map(|(k, counts)| Some((k, own_tone(counts, &steps)?)));
            let mut least: Option<(usize, f64)> = None;
            let mut most = least;
            for (k, tone) in tones {
                if least.is_none_or(|(_, known)| tone < known) {
                    least = Some((k, tone));
                }
                if most.is_none_or(|(_, known)| tone > known) {
                    most = Some((k, tone));
                }
            }
            let ((low, least), (high, most)) = (least?, most?);
            // the tones of ground and obstacle are two apart
            let share = 0.5 * (most - least);
            (share > UNEVEN).then(|| {
                format!(
                    "the light is uneven: from {} to {} the tone of the {name} changes by {:.0} % of the contrast, which moves \
                     the edge by up to {:.0} % of the width of its blur; light the cell evenly, or divide the picture by one \
                     of the empty cell",
                    side(low),
                    side(high),
                    100.0 * share,
                    50.0 * share
                )
            })
        })
        .collect()
}

/// Counts of tones in each part.
fn histograms(coverage: &Coverage) -> Vec<[u32; STEPS]> {
    let mut parts = vec![[0; STEPS]; PARTS * PARTS];
    for y in 0..coverage.height {
        for x in 0..coverage.width {
            let part = y * PARTS / coverage.height * PARTS + x * PARTS / coverage.width;
            let step = (coverage.at(x as isize, y as isize) + 2.0) * 0.25 * STEPS as f64;
            parts[part][(step.max(0.0) as usize).min(STEPS - 1)] += 1;
        }
    }
    parts
}

/// The median tone of one side of the threshold, in a part that mostly shows it: pixels of the edge do not count there.
fn own_tone(counts: &[u32; STEPS], steps: &std::ops::Range<usize>) -> Option<f64> {
    let own: u32 = counts[steps.clone()].iter().sum();
    if own == 0 || 2 * own < counts.iter().sum() {
        return None;
    }
    let mut seen = 0;
    let step = steps.clone().find(|&k| {
        seen += counts[k];
        2 * seen >= own
    })?;
    Some((step as f64 + 0.5) * 4.0 / STEPS as f64 - 2.0)
}

/// Where a part lies, in words.
fn side(part: usize) -> &'static str {
    let third = |k: usize| 3 * k / PARTS;
    const WORDS: [[&str; 3]; 3] = [
        ["the upper left", "above", "the upper right"],
        ["the left", "the middle", "the right"],
        ["the lower left", "below", "the lower right"],
    ];
    WORDS[third(part / PARTS)][third(part % PARTS)]
}
