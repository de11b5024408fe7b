//! The levels of the stream function that lines start on, where no needles give them: peaks of a histogram of psi.
//!
//! Over the first part of what the picture shows a line has not yet departed from its level, and its ridges pile up
//! there. Each slab of psi has a beginning of its own: a picture that is turned in the cell begins further downstream
//! on one side. A peak counts as a line where ridges cover a quarter of that stretch.

use super::choice::Spot;
use super::view::View;
use crate::bench::photo::Calibration;

/// The first part of what the picture shows.
const HEAD: f64 = 0.15;

/// Share of the head that ridges of a line cover at least.
const COVERED: f64 = 0.25;

/// Slabs of the width of the cell.
const SLABS: usize = 48;

/// Bins of a standard deviation of a line.
const BINS: f64 = 8.0;

/// What the picture shows of a slab of psi.
#[derive(Debug, Clone, Copy)]
struct Slab {
    low: f64,
    high: f64,
    /// Pixels for a metre of phi, summed and counted.
    pixels: [f64; 2],
}

/// Levels in ascending order, m, of lines with a standard deviation of so many metres.
pub fn levels(spots: &[Spot], view: &View, sigma: f64) -> Vec<f64> {
    let (low, high) = view.open_nodes().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), (_, _, open)| {
        (low.min(open.ideal.psi), high.max(open.ideal.psi))
    });
    let bin = sigma / BINS;
    let count = ((high - low) / bin).ceil();
    if !(1.0..1e7).contains(&count) {
        return Vec::new();
    }
    let slab_of = |psi: f64| (((psi - low) / (high - low) * SLABS as f64).max(0.0) as usize).min(SLABS - 1);
    let mut slabs = [Slab { low: f64::INFINITY, high: f64::NEG_INFINITY, pixels: [0.0; 2] }; SLABS];
    for (_, node, open) in view.open_nodes() {
        let slab = &mut slabs[slab_of(open.ideal.psi)];
        (slab.low, slab.high) = (slab.low.min(open.phi), slab.high.max(open.phi));
        let per = pixels_of(view.calibration, node.place) / crate::base::plane::length(open.ideal.slope);
        if per.is_finite() {
            slab.pixels = [slab.pixels[0] + per, slab.pixels[1] + 1.0];
        }
    }
    let head: Vec<&Spot> = spots
        .iter()
        .filter(|spot| {
            let slab = slabs[slab_of(spot.psi)];
            spot.phi < slab.low + HEAD * (slab.high - slab.low)
        })
        .collect();
    let count = count as usize;
    let mut bins = vec![0.0f64; count + 1];
    for spot in &head {
        bins[(((spot.psi - low) / bin) as usize).min(count)] += 1.0;
    }
    let reach = BINS as usize;
    let sum = |k: usize| bins[k.saturating_sub(reach)..(k + reach + 1).min(bins.len())].iter().sum::<f64>();
    let sums: Vec<f64> = (0..bins.len()).map(sum).collect();
    // within two widths the fullest counts, the first of equals
    let apart = (2.0 * super::scale::HALF_HEIGHT * BINS) as usize;
    let is_peak = |k: &usize| {
        let slab = slabs[slab_of(low + bin * (*k as f64 + 0.5))];
        let wanted = COVERED * HEAD * (slab.high - slab.low) * slab.pixels[0] / slab.pixels[1].max(1.0);
        let before = &sums[k.saturating_sub(apart)..*k];
        let behind = &sums[*k + 1..(*k + 1 + apart).min(sums.len())];
        sums[*k] >= wanted.max(3.0) && before.iter().all(|v| *v < sums[*k]) && behind.iter().all(|v| *v <= sums[*k])
    };
    let peaks: Vec<usize> = (0..sums.len()).filter(is_peak).collect();
    let level = |&k: &usize| {
        let middle = low + bin * (k as f64 + 0.5);
        let mut near: Vec<f64> =
            head.iter().map(|spot| spot.psi).filter(|psi| (psi - middle).abs() <= 2.0 * sigma).collect();
        near.sort_by(f64::total_cmp);
        near.get(near.len() / 2).copied()
    };
    let mut found: Vec<f64> = peaks.iter().filter_map(level).collect();
    found.sort_by(f64::total_cmp);
    found.dedup();
    found
}

fn pixels_of(calibration: &Calibration, place: crate::base::Point) -> f64 {
    calibration.scale(place).unwrap_or(f64::NAN)
}
