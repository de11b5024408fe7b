//! Which tones of a picture are the obstacle.

use super::raster::Raster;
use crate::base::error::Problems;
use crate::input::case::{PictureOptions, Tone};
use std::path::Path;

/// Least difference between the two tones, of 65535.
const LEAST_CONTRAST: f64 = 0.02 * 65535.0;

/// Steps of the histogram.
const STEPS: usize = 1024;

/// How much of the obstacle a pixel holds: positive inside, negative outside, zero half way; +-1 at the two tones.
pub(super) struct Coverage {
    pub width: usize,
    pub height: usize,
    values: Vec<u16>,
    threshold: f64,
    /// The tones of obstacle and background are this far from the threshold.
    reach: [f64; 2],
    /// Whether larger values are the obstacle.
    rising: bool,
    pub notes: Vec<String>,
}

impl Coverage {
    /// At a pixel; outside the picture what makes its edge the border between the last pixel and the next.
    pub fn at(&self, x: isize, y: isize) -> f64 {
        let (w, h) = (self.width as isize, self.height as isize);
        let inside = (0..w).contains(&x) && (0..h).contains(&y);
        let value = self.pixel(x.clamp(0, w - 1) as usize, y.clamp(0, h - 1) as usize);
        if inside { value } else { -value.abs() }
    }

    fn pixel(&self, x: usize, y: usize) -> f64 {
        let above = f64::from(self.values[y * self.width + x]) - self.threshold;
        let inwards = if self.rising { above } else { -above };
        inwards / self.reach[usize::from(inwards < 0.0)]
    }
}

/// Sorts the tones into obstacle and background.
///
/// The threshold is half way between the medians of the two classes of Otsu 1979 (IEEE Trans. Syst. Man Cybern. 9, 62), which a half
/// covered pixel has if covered pixels were blended as encoded, the way drawing programs do. What most of the border shows is background.
/// A picture whose border is transparent is taken by its opacity; where luminance counts, transparent pixels are white (black if the
/// obstacle is said to be light).
///
/// # Errors
/// A picture of one tone.
pub(super) fn coverage(raster: Raster, options: &PictureOptions, file: &Path) -> Result<Coverage, Problems> {
    let Raster { width, height, grey, opacity } = raster;
    let mut notes = Vec::new();
    let share = |values: &[u16], threshold: f64| share_of_border(values, width, height, threshold);
    let by_opacity = options.tone.is_none() && opacity.as_ref().is_some_and(|o| share(o, 32767.5) < 0.5);
    let values = match opacity {
        None => grey,
        Some(opacity) if by_opacity => {
            notes.push("the picture is transparent along its border: what is opaque is the obstacle".to_owned());
            opacity
        }
        Some(opacity) => over(grey, &opacity, if options.tone == Some(Tone::Light) { 0.0 } else { 65535.0 }),
    };
    let (least, largest) = values.iter().fold((u16::MAX, 0), |(a, b), v| (a.min(*v), b.max(*v)));
    if f64::from(largest - least) < LEAST_CONTRAST {
        let message = format!(
            "the picture shows no obstacle: its tones run from {:.1} % to {:.1} % only",
            f64::from(least) / 655.35,
            f64::from(largest) / 655.35
        );
        return Err(Problems::one(
            file,
            message,
            "give a picture of a dark obstacle on light ground, or the other way round",
        ));
    }
    let histogram = histogram(&values);
    let split = options.threshold.map_or_else(|| otsu(&histogram), |t| ((t * STEPS as f64) as usize).min(STEPS));
    let medians = [median(&histogram, 0..split), median(&histogram, split..STEPS)];
    let [Some(low), Some(high)] = medians else {
        let given = 100.0 * options.threshold.unwrap_or_default();
        let message = format!(
            "the threshold of {given} % splits nothing: the tones run from {:.1} % to {:.1} %",
            f64::from(least) / 655.35,
            f64::from(largest) / 655.35
        );
        return Err(Problems::one(file, message, "give a threshold between the two, or leave it out"));
    };
    let threshold = options.threshold.map_or(0.5 * (low + high), |t| 65535.0 * t);
    let border_is_high = share(&values, threshold) >= 0.5;
    let rising = match options.tone {
        _ if by_opacity => true,
        Some(tone) => tone == Tone::Light,
        None => !border_is_high,
    };
    let how = if options.threshold.is_some() { "as given" } else { "half way between the two tones" };
    let what = if by_opacity { "opacity" } else { "luminance" };
    let side = if by_opacity {
        "opaque"
    } else if rising {
        "light"
    } else {
        "dark"
    };
    notes.push(format!("the obstacle is the {side} part, its edge at a {what} of {:.1} %, {how}", threshold / 655.35));
    let (below, above) = ((threshold - low).max(1.0), (high - threshold).max(1.0));
    let reach = if rising { [above, below] } else { [below, above] };
    Ok(Coverage { width, height, values, threshold, reach, rising, notes })
}

/// Luminance with transparent pixels over a ground.
fn over(mut grey: Vec<u16>, opacity: &[u16], ground: f64) -> Vec<u16> {
    for (g, o) in grey.iter_mut().zip(opacity) {
        let part = f64::from(*o) / 65535.0;
        *g = (part * f64::from(*g) + (1.0 - part) * ground).round() as u16;
    }
    grey
}

/// The share of the pixels along the border that are above a threshold.
fn share_of_border(values: &[u16], width: usize, height: usize, threshold: f64) -> f64 {
    let rows = (0..width).flat_map(|x| [x, (height - 1) * width + x]);
    let columns = (0..height).flat_map(|y| [y * width, y * width + width - 1]);
    let (mut above, mut count) = (0usize, 0usize);
    for place in rows.chain(columns) {
        above += usize::from(f64::from(values[place]) > threshold);
        count += 1;
    }
    above as f64 / count.max(1) as f64
}

fn histogram(values: &[u16]) -> Vec<u64> {
    let mut counts = vec![0; STEPS];
    for value in values {
        counts[usize::from(*value) * STEPS / 65536] += 1;
    }
    counts
}

/// The first step of the upper class: where the variance between the classes is largest, the middle of a plateau.
fn otsu(counts: &[u64]) -> usize {
    let total: f64 = counts.iter().map(|c| *c as f64).sum();
    let moment: f64 = counts.iter().enumerate().map(|(k, c)| k as f64 * *c as f64).sum();
    let (mut weight, mut sum, mut best) = (0.0, 0.0, (0.0, 1, 1));
    for (k, count) in counts.iter().enumerate() {
        weight += *count as f64;
        sum += k as f64 * *count as f64;
        if weight == 0.0 || weight == total {
            continue;
        }
        let apart = sum / weight - (moment - sum) / (total - weight);
        let between = weight * (total - weight) * apart * apart;
        if between > best.0 {
            best = (between, k + 1, k + 1);
        } else if between == best.0 {
            best.2 = k + 1;
        }
    }
    (best.1 + best.2) / 2
}

/// The median tone of some steps; none if they are empty.
fn median(counts: &[u64], steps: std::ops::Range<usize>) -> Option<f64> {
    let total: u64 = counts[steps.clone()].iter().sum();
    let mut seen = 0;
    for k in steps {
        seen += counts[k];
        if total > 0 && 2 * seen >= total {
            // The first and last step stand for black and white themselves.
            return Some(65535.0 * k as f64 / (STEPS - 1) as f64);
        }
    }
    None
}
