//! How far the map may be off at a point.
//!
//! The covariance of the unknowns is a sum over its eigenvectors, each an independent mode. At a fixed pixel a mode of one standard deviation
//! moves the point of the cell by a vector g_m; the standard deviation there is `sqrt(sum |g_m|²)` (both components together). Modes of the map
//! come first, then those of the pose, which act through the step to the dye alone: with marks on the inner face through the step in
//! the fluid, since the lift of the marks takes the same step in the plate back.
//!
//! Seen against true errors: once to five times too careful, for centres are found twice as well as the 0.1 px counted, and priors
//! of the lens are wide. What no mode holds: that the thickness or index of the plate is wrong, that the plates are bent.

use super::Calibration;
use super::pixel::Pixel;
use crate::base::Point;
use crate::base::plane::{Vector, length, square, way};

/// Share of a mode that is walked: modes of a poor map may lead beyond the horizon.
const SHARE: f64 = 1e-3;

impl Calibration {
    /// The displacements of a point of the dye, m, by one standard deviation of each mode of the calibration; none outside the picture's plane.
    pub fn modes(&self, point: Point) -> Option<Vec<Vector>> {
        let pixel = self.pixel(point)?;
        let outer = self.fit.lens.point(pixel)?;
        let walked = |mode: &[f64], share: f64| {
            let unknowns: Vec<f64> =
                self.fit.lens.unknowns.iter().zip(mode).map(|(unknown, step)| unknown + share * step).collect();
            self.fit.lens.with(&unknowns).point(pixel)
        };
        let mut list = Vec::new();
        for mode in self.fit.minimum.modes(self.fit.factor) {
            let ends = [walked(&mode, -SHARE)?, walked(&mode, SHARE)?].map(|end| self.below(end));
            list.push(way(ends[0], ends[1]).map(|step| step / (2.0 * SHARE)));
        }
        let own = if self.marks_on_inner { &self.layers[1..] } else { &self.layers[..] };
        for [ahead, behind] in &self.fit.pose.modes {
            let ends = [behind, ahead].map(|stand| stand.lowered(outer, own));
            list.push(way(ends[0], ends[1]).map(|step| 0.5 * step));
        }
        Some(list)
    }

    /// The standard deviation of the map at a point of the dye, m: of the distance, both components together.
    pub fn map_sigma(&self, point: Point) -> Option<f64> {
        Some(self.modes(point)?.iter().map(|mode| square(*mode)).sum::<f64>().sqrt())
    }

    /// Root of the mean square and largest value of [`Calibration::map_sigma`] over points, m, such as a grid over what the picture
    /// shows of the cell; none if none of them is in its plane.
    pub fn map_sigma_over(&self, points: &[Point]) -> Option<[f64; 2]> {
        let all: Vec<f64> = points.iter().filter_map(|point| self.map_sigma(*point)).collect();
        let mean = all.iter().map(|sigma| sigma * sigma).sum::<f64>() / all.len() as f64;
        (!all.is_empty()).then(|| [mean.sqrt(), all.iter().copied().fold(0.0, f64::max)])
    }

    /// How far the dye lies outwards of the mark's face on the ray of a pixel, m.
    pub fn depth_step(&self, pixel: Pixel) -> Option<f64> {
        let outer = self.fit.lens.point(pixel)?;
        let from = if self.marks_on_inner { self.fit.pose.stand.lowered(outer, &self.layers[..1]) } else { outer };
        Some(length(way(from, self.below(outer))))
    }
}
