//! Photographs of a camera that shares nothing with the code, against the limits of the design.

pub(crate) mod camera;
mod map;
mod pictures;

use super::Sighting;
use super::step_down::Layer;
use super::{Calibration, Request};
use crate::input::case::LensPrior;
use crate::input::case::{Face, Mark};
use camera::{Camera, Depth, Random};

/// Twelve marks about a cell of 300 by 200 mm; the first four stand at its corners, the first eight are spread as one would.
const MARKS: [[f64; 2]; 12] = [
    [0.010, 0.008],
    [0.290, 0.008],
    [0.290, 0.192],
    [0.010, 0.192],
    [0.100, 0.010],
    [0.205, 0.190],
    [0.012, 0.110],
    [0.288, 0.090],
    [0.200, 0.012],
    [0.095, 0.188],
    [0.150, 0.009],
    [0.150, 0.191],
];

fn names(count: usize) -> Vec<String> {
    "abcdefghijkl".chars().take(count).map(String::from).collect()
}

/// A case for a camera with the first marks, with clicks at their pixels.
fn request(camera: &Camera, count: usize, on: Face) -> Request {
    let depth = if on == Face::Inner { Depth::Inner } else { Depth::Outer };
    let marks = names(count).into_iter().zip(MARKS);
    Request {
        marks: marks.map(|(name, at)| Mark { name, at, click: camera.pixel(at, depth) }).collect(),
        marks_on: on,
        plate: Some(Layer { thickness: camera.plate[0], index: camera.plate[1] }),
        placed_within: 0.02e-3,
        mark_size: Some(7e-3),
        lens: LensPrior::CORRECTED,
        gap: camera.gap,
        dye_height: 0.0,
        fluid_index: camera.fluid,
    }
}

/// The marks of a request as a perfect eye sees them: really placed with an error in m, seen with one in pixels.
fn sightings(camera: &Camera, request: &Request, placed: f64, seen: f64, seed: u64) -> Vec<Sighting> {
    let mut random = Random(seed);
    let depth = if request.marks_on == Face::Inner { Depth::Inner } else { Depth::Outer };
    let of = |mark: &Mark| {
        let really = mark.at.map(|v| v + placed * random.normal());
        let pixel = camera.pixel(really, depth).map(|v| v + seen * random.normal());
        Sighting { name: mark.name.clone(), place: mark.at, pixel, saturated: 0.0 }
    };
    request.marks.iter().map(of).collect()
}

/// Places of the dye all over the cell.
fn grid() -> Vec<[f64; 2]> {
    (0..13 * 9).map(|k| [0.006 + 0.024 * (k % 13) as f64, 0.006 + 0.0235 * (k / 13) as f64]).collect()
}

/// Errors of the map on the grid, mm.
fn errors(camera: &Camera, calibration: &Calibration) -> Vec<f64> {
    let off = |p: &[f64; 2]| {
        let found = calibration.point(camera.pixel(*p, Depth::Dye)).unwrap();
        1e3 * (found[0] - p[0]).hypot(found[1] - p[1])
    };
    grid().iter().map(off).collect()
}

fn rms(list: &[f64]) -> f64 {
    (list.iter().map(|v| v * v).sum::<f64>() / list.len() as f64).sqrt()
}

/// Stated deviations on the grid, mm.
fn stated(calibration: &Calibration) -> Vec<f64> {
    grid().iter().map(|p| 1e3 * calibration.map_sigma(*p).unwrap()).collect()
}

/// Share of the grid whose error is within two stated deviations.
fn within(errors: &[f64], stated: &[f64]) -> f64 {
    errors.iter().zip(stated).filter(|(error, sigma)| **error <= 2.0 * **sigma).count() as f64 / errors.len() as f64
}
