//! Dye lines of a photograph, traced to a fraction of a pixel.
//!
//! How wide lines are is found first (`scale`); the picture becomes dye (`absorbance`), of which ridges are the
//! middles of lines (`ridges`); those that run as the ideal pattern has them (`choice`) are shared among levels of
//! its stream function (`levels`, `link`) and become stations every few millimetres (`places`, `profile`). Only
//! what is in the fluid beyond a margin is looked at (`view`).
//!
//! Rows are done side by side, every sum in a fixed order: the same on any number of threads.

mod absorbance;
mod along;
mod choice;
mod gauss;
mod levels;
mod link;
mod nothing;
mod outcome;
mod places;
mod profile;
mod ridges;
mod runs;
mod scale;
mod view;

pub use outcome::{TracedLine, Tracing};
pub use places::Place;

use crate::base::{Point, Result};
use crate::bench::lines::Ideal;
use crate::bench::photo::Calibration;
use crate::input::case::Dye;
use crate::input::measured::Photo;
use crate::theory::edge_layer::Margin;
use absorbance::Absorbance;
use along::{Along, Mile};
use choice::{Spot, choose};
use gauss::Kernel;
use link::{Linked, along_line, shared, spacings, step};
use nothing::Nothing;
use places::Making;
use profile::Across;
use rayon::prelude::*;
use ridges::{Image, noise, ridges};
use scale::Scale;
use view::View;

/// Least standard deviation of the Gaussian of the ridges, pixels, and its part of that of the lines.
const SIGMA: [f64; 2] = [1.5, 0.5];

/// Width of the square of the ground, pixels; at most so many spacings, at least so many widths of lines.
const GROUND: [f64; 3] = [41.0, 2.5, 4.0];

/// Least width of lines, pixels.
const NARROW: f64 = 2.0;

/// Noise that a ridge must be above, in standard deviations.
const STRENGTH: f64 = 4.0;

/// Spots with this part of the strength of the strong quarter are surely of lines, and the share of them that lines
/// must take up.
const SURE: f64 = 0.5;
const TAKEN: f64 = 0.5;

/// The spacing of neighbouring levels is no more than this times that of the lines seen, for a needle may be without a
/// line.
const WIDEST: f64 = 1.5;

/// How far downstream of its needle a line begins, m: the needle itself is seen up to there.
const FED: f64 = 5e-3;

/// Least median deviation of a line's spots, pixels: where they agree by chance, that drops none.
const LEAST_DEVIATION: f64 = 0.02;

/// What to trace.
#[derive(Debug, Clone, PartialEq)]
pub struct Tracer {
    /// How dye shows.
    pub dye: Dye,
    /// How far lines keep from solids.
    pub margin: Margin,
    /// Distance of stations, m.
    pub spacing: f64,
    /// Where dye enters, m; if none are given, levels are those of the picture's first stretch.
    pub needles: Vec<Point>,
}

/// A level of the stream function and where it comes from.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Level {
    psi: f64,
    needle: Option<usize>,
}

impl Tracer {
    /// Traces the lines of a picture; `pressure` is that of the ideal pattern at the vertices, in any unit.
    ///
    /// # Errors [`crate::base::Error`] that says which step found nothing: no fluid, no line, lines narrower than two
    /// pixels, lines that are not those of the ideal pattern within 0.4 of their spacing; a spacing that is no length,
    /// a needle outside the fluid.
    pub fn trace(&self, photo: &Photo, calibration: &Calibration, ideal: &Ideal, pressure: &[f64]) -> Result<Tracing> {
        self.check()?;
        let along = Along::new(ideal, pressure);
        let given = self.levels(ideal)?;
        let view = View::new(photo, calibration, &along, self.margin).ok_or(Nothing::Fluid)?;
        let pixels_per_m = outcome::pixels_per_m(&view).ok_or(Nothing::Fluid)?;
        let saturated = outcome::saturated(photo, &view);
        let scale = Scale::of(photo, &view, self.dye).ok_or(Nothing::Scale { saturated })?;
        if scale.width() < NARROW {
            return Err(Nothing::Narrow { width: scale.width() }.into());
        }
        let spacing = scale.spacing.unwrap_or(f64::INFINITY);
        let window = GROUND[0].min(GROUND[1] * spacing).max(GROUND[2] * scale.width());
        let absorbance =
            Absorbance::new(photo, &view, self.dye, window as usize).ok_or(Nothing::Scale { saturated })?;
        let sigma = (SIGMA[1] * scale.sigma).max(SIGMA[0]);
        let kernel = Kernel::new(sigma);
        let image = Image { values: &absorbance.values, area: view.area };
        let noise = noise(image, &view, &kernel).ok_or(Nothing::Fluid)?;
        let found = ridges(image, &view, &kernel, STRENGTH * noise);
        let spots = choose(&found, &view, &absorbance, 2.0 * sigma);
        if spots.is_empty() {
            return Err(Nothing::Ridges { saturated, ridges: found.len() }.into());
        }
        let levels = if given.is_empty() {
            let psi = levels::levels(&spots, &view, scale.sigma / pixels_per_m);
            psi.into_iter().map(|psi| Level { psi, needle: None }).collect()
        } else {
            given
        };
        if levels.is_empty() {
            return Err(Nothing::Levels { spots: spots.len() }.into());
        }
        let limit = WIDEST * spacing.min(1e9) / pixels_per_m;
        let making = Making {
            view: &view,
            absorbance: &absorbance,
            across: Across::new(scale.sigma, spacing),
            spacing: self.spacing,
            sigma,
        };
        let lines = self.lines(&spots, &levels, limit, LEAST_DEVIATION / pixels_per_m, &making)?;
        if lines.iter().all(|line| line.places.is_empty()) {
            return Err(Nothing::Stations { spots: spots.len(), levels: levels.len() }.into());
        }
        Ok(Tracing {
            noise_px: outcome::noise(&lines, &view, self.spacing),
            pixels_per_m,
            line_sigma_px: scale.sigma,
            ridge_sigma_px: sigma,
            weights: absorbance.weights,
            saturated,
            lines,
        })
    }

    fn check(&self) -> Result<()> {
        let width = self.margin.width(1.0);
        if !(self.spacing >= 1e-6 && self.spacing.is_finite()) {
            return Err(Nothing::Spacing { spacing: self.spacing }.into());
        }
        if !(width >= 0.0 && width.is_finite()) {
            return Err(Nothing::Margin { width }.into());
        }
        Ok(())
    }

    /// The levels of the needles, in ascending order.
    fn levels(&self, ideal: &Ideal) -> Result<Vec<Level>> {
        let level = |(k, &place): (usize, &Point)| match ideal.at(place, None) {
            Some(found) => Ok(Level { psi: found.psi, needle: Some(k) }),
            None => Err(Nothing::Needle { number: k + 1, place }),
        };
        let mut levels = self.needles.iter().enumerate().map(level).collect::<std::result::Result<Vec<_>, _>>()?;
        levels.sort_by(|a, b| a.psi.total_cmp(&b.psi).then(a.needle.cmp(&b.needle)));
        levels.dedup_by(|next, before| next.psi <= before.psi);
        Ok(levels)
    }

    fn lines(
        &self,
        spots: &[Spot],
        levels: &[Level],
        limit: f64,
        least: f64,
        making: &Making,
    ) -> Result<Vec<TracedLine>> {
        let psi: Vec<f64> = levels.iter().map(|level| level.psi).collect();
        let spacings = spacings(&psi, limit);
        let parts = shared(spots, &psi, &spacings);
        let course = |k: usize| -> Vec<Mile> {
            let needle = levels[k].needle.and_then(|needle| self.needles.get(needle)).copied();
            let nearest = || {
                let off = |spot: &&Spot| (spot.psi - psi[k]).abs();
                parts[k].iter().min_by(|a, b| off(a).total_cmp(&off(b))).map(|spot| spot.place)
            };
            let near = needle.or_else(nearest);
            near.map_or_else(Vec::new, |near| making.view.along.line(psi[k], near, 0.5 * self.spacing))
        };
        let mut linked: Vec<(Vec<Mile>, Vec<Linked>)> = (0..levels.len())
            .into_par_iter()
            .map(|k| {
                let course = course(k);
                let line = along_line(&self.fed(&parts[k], levels[k], making), &course, least);
                (course, line)
            })
            .collect();
        consistent(spots, &mut linked, &spacings)?;
        let line = |(k, (course, line)): (usize, &(Vec<Mile>, Vec<Linked>))| {
            let (places, lean) = making.stations(line, course, psi[k]);
            outcome::line(k, levels[k].psi, levels[k].needle, places, lean, course, making)
        };
        Ok(linked.par_iter().enumerate().map(line).collect())
    }
}

impl Tracer {
    /// The spots that dye from the needle of a level can have reached: what stands upstream of it is the needle.
    fn fed(&self, spots: &[Spot], level: Level, making: &Making) -> Vec<Spot> {
        let along = making.view.along;
        let needle = level.needle.and_then(|needle| self.needles.get(needle));
        let from = needle.and_then(|&at| along.ideal.at(at, None).map(|found| along.phi(at, &found) + FED));
        spots.iter().filter(|spot| from.is_none_or(|from| spot.phi > from)).copied().collect()
    }
}

/// Holds lines to the band that was looked at: of one that steps to its neighbour's place the longer stretch is kept.
///
/// # Errors
/// Most of what is clearly a line is on no level, or a line whose longer stretch is no two thirds of it.
fn consistent(spots: &[Spot], linked: &mut [(Vec<Mile>, Vec<Linked>)], spacings: &[[f64; 2]]) -> Result<()> {
    let mut strengths: Vec<f64> = spots.iter().map(|spot| spot.strength).collect();
    let rank = 3 * strengths.len() / 4;
    let limit = SURE * *strengths.select_nth_unstable_by(rank, f64::total_cmp).1;
    let sure = spots.iter().filter(|spot| spot.strength >= limit).count();
    let on_lines = linked.iter().flat_map(|(_, line)| line);
    let taken = on_lines.filter(|linked| linked.spot.strength >= limit).count();
    if (taken as f64) < TAKEN * sure as f64 {
        return Err(Nothing::Consistent { taken, sure }.into());
    }
    for (k, ((_, line), spacing)) in linked.iter_mut().zip(spacings).enumerate() {
        let whole = line.len();
        while let Some(arc) = step(line, spacing[0].min(spacing[1])) {
            let split = line.partition_point(|linked| linked.arc < arc);
            if 2 * split < line.len() {
                line.drain(..split.max(1));
            } else {
                line.truncate(split);
            }
            if 3 * line.len() < 2 * whole {
                return Err(Nothing::Step { number: k + 1, arc }.into());
            }
        }
    }
    Ok(())
}
