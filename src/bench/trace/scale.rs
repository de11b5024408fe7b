//! How wide the lines of a picture are and how far apart, from the picture itself.
//!
//! Along rows and columns the second derivative by a Gaussian of width s, times s^1.5, answers a line of standard
//! deviation w most strongly at s = w: with the height a of the line it is `a w s^1.5/(w² + s²)^1.5` (Lindeberg 1998,
//! Int. J. Comput. Vision 30, 117). Of a ladder of s the one is taken whose strongest answers are strongest, between
//! the steps by a parabola; where the line stands obliquely to the row, it is seen wider by one over the cosine. The
//! answer is what the strongest hundredths of places are above zero less what the weakest are below, which noise makes
//! equal and lines do not: the flanks of a line answer 0.45 of its middle. At that width the distance of neighbouring
//! tops is that of the lines.
//!
//! Range: 0.7 px to a third of the way from a solid that lines keep; a ground that changes slowly has no second
//! derivative.

use super::absorbance::scale as levels_of;
use super::gauss::{Kernel, pad};
use super::view::{STEP, View};
use crate::base::plane;
use crate::input::case::Dye;
use crate::input::measured::{Photo, SATURATED};
use rayon::prelude::*;

/// Steps of the ladder: from half a pixel on by roots of two.
const STEPS: usize = 15;

/// The share of places whose answer is below that of lines: of a line a pixel wide and fifty from the next, half the
/// places are above.
const RANK: f64 = 0.99;

/// Fewest places asked, and the part of the strongest answers that must not be noise.
const LEAST: usize = 2000;
const CLEARLY: f64 = 0.15;

/// Standard deviations of the Gaussian that solids keep away from a place that is asked.
const CLEAR: f64 = 3.0;

/// Rows and columns that are asked, each at most.
const ASKED: usize = 48;

/// Full width at half the height over the standard deviation, of a Gaussian.
pub const HALF_HEIGHT: f64 = 2.354_820_045;

/// Lines of a picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scale {
    /// Standard deviation of their profile, pixels.
    pub sigma: f64,
    /// Their usual distance from each other, pixels; none where no two are neighbours.
    pub spacing: Option<f64>,
}

/// A row or a column of the picture.
struct Track {
    light: Vec<f32>,
    /// Where it may be asked: how obliquely lines stand to it, and how far solids are, pixels.
    open: Vec<Option<[f64; 2]>>,
}

impl Scale {
    /// Of the lines in a view; none where too few places can be asked, or their answers are noise.
    pub fn of(photo: &Photo, view: &View, dye: Dye) -> Option<Scale> {
        let tracks: Vec<Track> = [0, 1].into_iter().flat_map(|axis| tracks(photo, view, dye, axis)).collect();
        let ladder: Vec<f64> = (0..STEPS).map(|k| 0.5 * 2f64.powf(0.5 * k as f64)).collect();
        let both: Vec<Option<[f64; 2]>> = ladder
            .par_iter()
            .map(|&s| {
                let kernel = Kernel::new(s);
                let mut all: Vec<f32> = tracks.iter().flat_map(|track| asked(track, &kernel, s)).flatten().collect();
                // too few places say nothing of their hundredths
                if all.len() < LEAST {
                    return None;
                }
                let [low, high] = [1.0 - RANK, RANK].map(|rank| {
                    let k = (rank * all.len() as f64) as usize;
                    f64::from(*all.select_nth_unstable_by(k, f32::total_cmp).1)
                });
                Some([high, high + low])
            })
            .collect();
        let answers = |k: usize| both[k].map(|[_, net]| net);
        let net = |k: usize| answers(k).unwrap_or(f64::NEG_INFINITY);
        let asked_at = (0..STEPS).filter(|&k| answers(k).is_some());
        let best = asked_at.max_by(|&i, &j| net(i).total_cmp(&net(j)).then(j.cmp(&i)))?;
        let [high, own] = both[best]?;
        if own.is_nan() || own <= CLEARLY * high {
            return None;
        }
        let near = |k: Option<usize>| k.filter(|&k| k < STEPS).and_then(answers);
        let step = match (near(best.checked_sub(1)), answers(best), near(Some(best + 1))) {
            (Some(a), Some(b), Some(c)) if a + c < 2.0 * b => (0.5 * (a - c) / (a + c - 2.0 * b)).clamp(-0.5, 0.5),
            _ => 0.0,
        };
        let seen = ladder[best] * 2f64.powf(0.5 * step);
        let kernel = Kernel::new(ladder[best]);
        let limit = 0.5 * high as f32;
        let mut gaps: Vec<f64> = Vec::new();
        let (mut sum, mut count) = (0.0, 0.0);
        for track in &tracks {
            for top in tops(track, &asked(track, &kernel, ladder[best]), limit).windows(2) {
                let cosine = 0.5 * (top[0].1 + top[1].1);
                gaps.push((top[1].0 - top[0].0) * cosine);
                (sum, count) = (sum + cosine, count + 1.0);
            }
        }
        let cosine = if count > 0.0 { sum / count } else { 1.0 };
        gaps.sort_by(f64::total_cmp);
        Some(Scale { sigma: seen * cosine, spacing: gaps.get(gaps.len() / 2).copied() })
    }

    /// Full width at half the height of a line, pixels.
    pub fn width(&self) -> f64 {
        HALF_HEIGHT * self.sigma
    }
}

/// Rows (axis 0) or columns (axis 1) through nodes of the view.
fn tracks(photo: &Photo, view: &View, dye: Dye, axis: usize) -> Vec<Track> {
    let scale = levels_of(dye);
    let [along, across] = if axis == 0 { [view.columns, view.rows()] } else { [view.rows(), view.columns] };
    let [length, breadth] =
        if axis == 0 { [view.area.width, view.area.height] } else { [view.area.height, view.area.width] };
    let stride = across.div_ceil(ASKED).max(1);
    let lines: Vec<usize> = (0..across).step_by(stride).filter(|line| line * STEP < breadth).collect();
    let track = |&line: &usize| {
        let cell = |k: usize| if axis == 0 { [k, line] } else { [line, k] };
        let node = |k: usize| -> Option<[f64; 2]> {
            let [column, row] = cell(k);
            let node = view.node(column, row)?;
            let open = node.open?;
            let steps = view.steps((column * STEP).min(view.area.width - 1), (row * STEP).min(view.area.height - 1))?;
            // across the line in the picture: the slope of psi along rows and columns
            let slope = steps.map(|step| plane::dot(step, open.ideal.slope));
            let cosine = slope[axis].abs() / plane::length(slope);
            let pixel = plane::cross(steps[0], steps[1]).abs().sqrt();
            (cosine > 0.7).then_some([cosine, open.clearance / pixel])
        };
        let nodes: Vec<Option<[f64; 2]>> = (0..along).map(node).collect();
        let mut light = Vec::with_capacity(length);
        let mut open = Vec::with_capacity(length);
        for k in 0..length {
            let [x, y] = if axis == 0 { [k, line * STEP] } else { [line * STEP, k] };
            let pixel = photo.at((view.area.from[0] + x) as isize, (view.area.from[1] + y) as isize);
            light.push(pixel.iter().map(|&channel| scale[usize::from(channel)]).sum());
            let is_spoilt = pixel.iter().all(|&channel| channel > SATURATED);
            let pair = nodes.get(k / STEP).copied().flatten().zip(nodes.get(k / STEP + 1).copied().flatten());
            open.push(pair.filter(|_| !is_spoilt).map(|(a, b)| [0.5 * (a[0] + b[0]), a[1].min(b[1])]));
        }
        Track { light, open }
    };
    lines.iter().map(track).collect()
}

/// Minus the second derivative times s^1.5, where a track may be asked.
fn asked(track: &Track, kernel: &Kernel, s: f64) -> Vec<Option<f32>> {
    let reach = kernel.reach();
    let mut padded = Vec::new();
    pad(&track.light, reach, &mut padded);
    let factor = -(s.powf(1.5)) as f32;
    let answer = |(x, open): (usize, &Option<[f64; 2]>)| {
        open.filter(|[_, clear]| *clear > CLEAR * s)?;
        // what goes on beyond the frame would be a line of its own
        (x >= reach && x + reach < track.light.len()).then(|| {
            let middle = x + reach;
            let tail: f32 = (1..=reach).map(|k| kernel.second[k] * (padded[middle - k] + padded[middle + k])).sum();
            factor * (kernel.second[0] * padded[middle] + tail)
        })
    };
    track.open.iter().enumerate().map(answer).collect()
}

/// Places of tops above a limit and how obliquely the lines stand there.
fn tops(track: &Track, answers: &[Option<f32>], limit: f32) -> Vec<(f64, f64)> {
    let mut found = Vec::new();
    for k in 1..answers.len().saturating_sub(1) {
        let [Some(before), Some(own), Some(behind)] = [answers[k - 1], answers[k], answers[k + 1]] else { continue };
        if own > limit && own > before && own >= behind {
            found.push((k as f64, track.open[k].map_or(1.0, |[cosine, _]| cosine)));
        }
    }
    found
}
