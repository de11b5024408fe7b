//! Stations of a line: its middle every so many metres along it, and what it looks like there.
//!
//! A station is the value of a quadratic through the ridges about it, as those of traced places are
//! ([`crate::bench::lines`]): a mean would cut the corner. It is then put back for what a bend does to the middle found. A
//! bend of curvature k (1/px) under a blur of variance `b² = sigma² + 1/12` (the Gaussian of the ridges, and the pixel)
//! pulls the top of a line inwards by `k b²/2`, for `r_t = (r_ρρ + r_ρ/ρ)/2` drifts with 1/(2ρ). Against that, a dye
//! line is even in psi and not in distance: flow without curl has `dV/dn = k V` towards the centre of the bend, so `psi
//! - psi_j = V (n + k n²/2)`, the tail is longer on the outer side, and the blur moves the top outwards by `(3/2) k v`,
//! `1/v = 1/b² + 1/w²`, for a Gaussian of standard deviation w. Together
//!
//! `inwards = k (b²/2 - (3/2) b² w²/(b² + w²))`,
//!
//! 0.003 mm at 3.6 px/mm on a bend of 30 mm radius for lines of 0.5 mm standard deviation, outwards; for lines that are
//! very thin, inwards. First order in k: for w k below 0.1. Blur by the lens is unknown and left.

use super::absorbance::Absorbance;
use super::along::Mile;
use super::link::Linked;
use super::profile::Across;
use super::scale::HALF_HEIGHT;
use super::view::View;
use crate::base::Point;
use crate::base::plane::length;
use crate::bench::lines::quadratic;
use crate::bench::photo::Pixel;
use crate::bench::statistics::median;

/// Half the window of the quadratic, in spacings.
const WINDOW: f64 = 1.5;

/// Fewest ridges within half a spacing, and in the window.
const LEAST: [usize; 2] = [3, 6];

/// Part of a line's usual contrast below which glare has moved its middle.
const FAINT: f64 = 0.75;

/// Stations on either side of the running median of contrasts.
const USUAL: usize = 15;

/// Blur of a pixel, variance in squares of pixels.
const PIXEL: f64 = 1.0 / 12.0;

/// A station of a traced line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    /// Length of the ideal line up to it, from where that enters the cell, m: a multiple of the spacing.
    pub arc: f64,
    /// The middle of the line in the picture, pixels.
    pub pixel: Pixel,
    /// The same in the cell, m.
    pub at: Point,
    /// Full width of its profile at half the height, pixels.
    pub width: f64,
    /// Height of its profile, in units of absorbance.
    pub contrast: f64,
    /// Ridges within half a spacing.
    pub ridges: usize,
    /// Shift from the level that it was linked to, to the left, m.
    pub shift: f64,
}

/// How stations are made.
#[derive(Debug, Clone, Copy)]
pub struct Making<'a> {
    /// The picture and the map.
    pub view: &'a View<'a>,
    /// Its dye.
    pub absorbance: &'a Absorbance,
    /// Profiles.
    pub across: Across,
    /// Distance of stations, m.
    pub spacing: f64,
    /// Standard deviation of the Gaussian of the ridges, pixels.
    pub sigma: f64,
}

impl Making<'_> {
    /// The stations of a line on its course, and its lean.
    pub fn stations(&self, line: &[Linked], course: &[Mile], level: f64) -> (Vec<Place>, Option<f64>) {
        let whole = course.last().map_or(0.0, |mile| mile.arc);
        let mut found: Vec<(Place, [f64; 2])> = Vec::new();
        let (mut from, mut to) = (0, 0);
        for k in 0..=(whole / self.spacing) as usize {
            let arc = k as f64 * self.spacing;
            while from < line.len() && line[from].arc < arc - WINDOW * self.spacing {
                from += 1;
            }
            while to < line.len() && line[to].arc <= arc + WINDOW * self.spacing {
                to += 1;
            }
            found.extend(self.station(&line[from..to.max(from)], arc));
        }
        let kept = clear(&found);
        let lean = self.across.mean(line.iter().map(|linked| &linked.spot), self.absorbance);
        let lean = lean.and_then(|profile| self.across.lean(&profile));
        let widths: Vec<f64> = kept.iter().map(|(place, _)| place.width).collect();
        let width = median(&widths).unwrap_or(0.0) / HALF_HEIGHT;
        let straightened = kept.into_iter().filter_map(|(place, inwards)| self.put_back(place, inwards, width, level));
        (straightened.collect(), lean)
    }

    /// A station and its vector of curvature, 1/px.
    fn station(&self, window: &[Linked], arc: f64) -> Option<(Place, [f64; 2])> {
        let own: Vec<&Linked> = window.iter().filter(|l| (l.arc - arc).abs() <= 0.5 * self.spacing).collect();
        let [before, behind] = [window.iter().any(|l| l.arc <= arc), window.iter().any(|l| l.arc >= arc)];
        if own.len() < LEAST[0] || window.len() < LEAST[1] || !before || !behind {
            return None;
        }
        let through = |axis: usize| {
            let pairs: Vec<[f64; 2]> = window.iter().map(|l| [l.arc - arc, l.spot.pixel[axis]]).collect();
            quadratic(&pairs)
        };
        let [x, y] = [through(0)?, through(1)?];
        let (course, bend) = ([x[1], y[1]], [2.0 * x[2], 2.0 * y[2]]);
        let square = course[0] * course[0] + course[1] * course[1];
        let turn = (course[0] * bend[1] - course[1] * bend[0]) / (square * square);
        let inwards = [-course[1] * turn, course[0] * turn];
        let profile = self.across.mean(own.iter().map(|l| &l.spot), self.absorbance)?;
        let shape = self.across.shape(&profile)?;
        let place = Place {
            arc,
            pixel: [x[0], y[0]],
            at: [0.0; 2],
            width: shape.width,
            contrast: shape.contrast,
            ridges: own.len(),
            shift: 0.0,
        };
        inwards.iter().chain(&place.pixel).all(|value| value.is_finite()).then_some((place, inwards))
    }

    /// The station without what the bend did to it, and its place in the cell.
    fn put_back(&self, place: Place, inwards: [f64; 2], width: f64, level: f64) -> Option<Place> {
        let blur = self.sigma * self.sigma + PIXEL;
        let own = (width * width - PIXEL).max(0.0);
        let pulled = pulled(blur, own);
        let pixel = [0, 1].map(|k| place.pixel[k] - pulled * inwards[k]);
        let at = self.view.calibration.point(pixel)?;
        let ideal = self.view.along.ideal.at(at, None)?;
        let shift = (ideal.psi - level) / length(ideal.slope);
        Some(Place { pixel, at, shift, ..place })
    }
}

/// How far a bend moves the middle found inwards, over its curvature, for variances of the blur and of the line,
/// squares of pixels.
pub fn pulled(blur: f64, line: f64) -> f64 {
    0.5 * blur - 1.5 * blur * line / (blur + line)
}

/// Stations with the line's usual contrast.
fn clear(found: &[(Place, [f64; 2])]) -> Vec<(Place, [f64; 2])> {
    let is_clear = |k: &usize| {
        let near = &found[k.saturating_sub(USUAL)..(k + USUAL + 1).min(found.len())];
        let contrasts: Vec<f64> = near.iter().map(|(place, _)| place.contrast).collect();
        median(&contrasts).is_some_and(|usual| found[*k].0.contrast >= FAINT * usual)
    };
    (0..found.len()).filter(is_clear).map(|k| found[k]).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The top of a blurred line on a circle of radius R, by summing the blur in the plane.
    fn top(radius: f64, blur: f64, line: f64, is_even_in_psi: bool) -> f64 {
        let profile = |r: f64| {
            let n = radius - r;
            let q = if is_even_in_psi { n + 0.5 * n * n / radius } else { n };
            (-0.5 * q * q / (line * line)).exp()
        };
        let pitch = 0.1 * blur;
        let blurred = |r: f64| {
            let mut sum = 0.0;
            for i in -60..=60 {
                for j in -60..=60 {
                    let [x, y] = [f64::from(i) * pitch, f64::from(j) * pitch];
                    sum += (-0.5 * (x * x + y * y) / (blur * blur)).exp() * profile((r + x).hypot(y));
                }
            }
            sum
        };
        let [a, b, c] = [-0.2, 0.0, 0.2].map(|step| blurred(radius + step));
        radius + 0.1 * (a - c) / (a - 2.0 * b + c)
    }

    /// Against the blur summed in the plane, on a bend of 30 mm at 3.6 px/mm; second order is left, in w/R a fiftieth.
    #[test]
    fn a_bend_moves_the_middle_as_the_formula_says() {
        for (blur, line) in [(1.5, 1.7), (1.5, 0.8), (2.5, 3.0)] {
            let radius = 108.0;
            let whole = pulled(blur * blur, line * line) / radius;
            let found = radius - top(radius, blur, line, true);
            assert!((found - whole).abs() < 0.05 * (0.5 * blur * blur / radius), "{blur} {line}: {found} {whole}");
            let found = radius - top(radius, blur, line, false);
            assert!((found / (0.5 * blur * blur / radius) - 1.0).abs() < 0.05, "{blur} {line}: {found}");
        }
    }
}
