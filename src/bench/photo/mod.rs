//! Calibration of a photograph of a cell: which pixel shows which place of the dye.
//!
//! Marks of known place on a face of the plate are clicked at roughly and found to a fraction of a pixel (`marks`); a homography with a lens
//! is fitted to them (`lens`, `fit`), wrong marks are left out by name; where the camera stood follows (`pose`) and with it the step
//! from that face to the dye (`step_down`); and how far all this may be off at a point (`map_sigma`).
//!
//! Places are in metres of the cell, x along the flow, y upwards; pixels run rightwards and downwards from the upper left corner of the
//! upright picture. Marks are sought side by side, all else is done in a fixed order of sums: the same on any number of threads, and for
//! marks in any order.

mod blob;
mod cautions;
mod closing;
pub mod fit;
pub mod lens;
mod map_sigma;
pub mod marks;
mod pixel;
pub mod pose;
mod request;
mod start;
pub mod step_down;
mod window;

pub use fit::Sighting;
pub use pixel::Pixel;
pub use request::{Request, Sought};

use crate::base::plane::Rect;
use crate::base::warning::Warning;
use crate::base::{Point, Result};
use crate::input::case::{Face, Mark};
use crate::input::measured::Photo;
use fit::{Fit, Given, fit};
use step_down::Layer;

/// Part of the extent of the marks by which a place may lie beside them.
const BESIDE: f64 = 0.05;

/// The map between the pixels of a photograph and the dye in the cell.
#[derive(Debug, Clone)]
pub struct Calibration {
    /// The map of the outer face, the pose and what is known of both.
    pub fit: Fit,
    /// Plate and fluid down to the dye.
    pub layers: [Layer; 2],
    /// Whether the marks are on the inner face.
    pub marks_on_inner: bool,
    /// The marks as found, in the order of the request; none where there is nothing to see.
    pub sought: Vec<Sought>,
}

impl Calibration {
    /// Finds the marks of a request in a picture and fits the map to them.
    ///
    /// Errors, each with its place and remedy: fewer than four marks given or seen; three marks in a line; clicks that were swapped; no plate where
    /// the marks are on its outer face; values that make no sense.
    pub fn of(photo: &Photo, request: &Request) -> Result<Calibration> {
        request.check()?;
        let (sought, warnings) = request.seek(photo)?;
        let seen = |(mark, sought): (&Mark, &Sought)| {
            sought.seen.ok().map(|seen| Sighting {
                name: mark.name.clone(),
                place: mark.at,
                pixel: seen.at,
                saturated: seen.saturated,
            })
        };
        let sightings: Vec<Sighting> = request.marks.iter().zip(&sought).filter_map(seen).collect();
        Calibration::fitted(photo.size(), request, &sightings, sought, warnings)
    }

    /// The same from centres that are known already, such as those of another program, for a picture of some width and height.
    pub fn from_centres(size: [usize; 2], request: &Request, sightings: &[Sighting]) -> Result<Calibration> {
        request.check()?;
        Calibration::fitted(size, request, sightings, Vec::new(), Vec::new())
    }

    fn fitted(
        size: [usize; 2],
        request: &Request,
        sightings: &[Sighting],
        sought: Vec<Sought>,
        warnings: Vec<Warning>,
    ) -> Result<Calibration> {
        let plate = request.plate.unwrap_or(Layer { thickness: 0.0, index: 1.5 });
        let marks_on_inner = request.marks_on == Face::Inner;
        let above = marks_on_inner.then_some(plate);
        let given = Given { size, placed_within: request.placed_within, lens: request.lens, above };
        let mut fit = fit(&given, sightings)?;
        fit.warnings.splice(0..0, warnings);
        // through the back plate the dye is as far below as it is above its middle
        let height = if fit.lens.is_mirrored() { -request.dye_height } else { request.dye_height };
        let fluid = Layer { thickness: 0.5 * request.gap * (1.0 - height), index: request.fluid_index };
        Ok(Calibration { fit, layers: [plate, fluid], marks_on_inner, sought })
    }

    /// The place of the dye, m, that a pixel shows; none beyond the horizon or where the lens folds.
    pub fn point(&self, pixel: Pixel) -> Option<Point> {
        self.fit.lens.point(pixel).map(|outer| self.below(outer))
    }

    /// The pixel that shows a place of the dye, m: [`Calibration::point`] backwards, to rounding.
    pub fn pixel(&self, point: Point) -> Option<Pixel> {
        self.fit.lens.pixel(self.fit.pose.stand.lifted(point, &self.layers))
    }

    /// Whether a place lies between the marks, or beside them by no more than a twentieth of their extent: elsewhere the map is a guess, and
    /// what the picture shows may be clamps and tables.
    pub fn is_known_at(&self, place: Point) -> bool {
        let Rect { low, high } = self.fit.marked;
        (0..2).all(|k| {
            let beside = BESIDE * (high[k] - low[k]);
            place[k] >= low[k] - beside && place[k] <= high[k] + beside
        })
    }

    /// The dye on the ray through a point of the outer face, m.
    pub(crate) fn below(&self, outer: Point) -> Point {
        self.fit.pose.stand.lowered(outer, &self.layers)
    }

    /// Pixels for a metre at a place of the dye: the root of the ratio of areas.
    pub fn scale(&self, point: Point) -> Option<f64> {
        self.fit.lens.scale(self.fit.pose.stand.lifted(point, &self.layers))
    }

    /// By how much the map would be off at a place, m, if the marks were on the other face than was said: `t tan(theta_p)`, of which
    /// a shift of the whole may be taken for one of the frame.
    pub fn other_face(&self, point: Point) -> f64 {
        let stand = self.fit.pose.stand;
        step_down::Stand::outwards(stand.slope(stand.lifted(point, &self.layers)), self.layers[0])
    }
}

#[cfg(test)]
pub(crate) mod tests;
