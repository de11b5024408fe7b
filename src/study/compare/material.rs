//! What is compared: read, calibrated, mapped into the cell.

use crate::base::error::Problems;
use crate::base::{Error, Point, Result};
use crate::bench::outlines::{Outline, outlines};
use crate::bench::photo::step_down::{Layer, fluid_index};
use crate::bench::photo::{Calibration, Request, Sought};
use crate::geometry::Plan;
use crate::input::case::{Case, FluidKind, InputFile, PhotoSettings};
use crate::input::measured::{Measured, Photo, Trace, Track, read};
use std::path::{Path, PathBuf};
use std::time::Instant;

/// Part of the cell by which mapped places may lie outside it.
const OUTSIDE: f64 = 0.1;

/// What there is to compare.
#[derive(Debug, Clone)]
pub enum What {
    /// A photograph, whose lines are yet to be found.
    Picture,
    /// Traced lines.
    Lines(Vec<Trace>),
    /// Tracks of particles.
    Tracks(Vec<Track>),
}

impl What {
    /// Its name in files.
    pub fn key(&self) -> &'static str {
        match self {
            What::Picture => "photo",
            What::Lines(_) => "lines",
            What::Tracks(_) => "tracks",
        }
    }
}

/// A file of measurements, with the photograph whose pixels it counts in.
#[derive(Debug, Clone)]
pub struct Material {
    /// The file.
    pub file: PathBuf,
    /// What it holds.
    pub what: What,
    /// The photograph: the file itself, or the one whose pixels its places are in.
    pub photo: Option<Photo>,
    /// The files that were read.
    pub inputs: Vec<InputFile>,
    /// When reading began: the time of a comparison counts from here.
    pub began: Instant,
}

impl Material {
    /// What was measured elsewhere than in files.
    pub fn new(file: &Path, what: What, photo: Option<Photo>) -> Material {
        Material { file: file.to_owned(), what, photo, inputs: Vec::new(), began: Instant::now() }
    }

    /// Reads a file of measurements; without one the photograph of the case.
    ///
    /// # Errors
    /// Every mistake in the file, and a case that lacks what the file needs.
    pub fn read(case: &Case, file: Option<&Path>) -> Result<Material> {
        let began = Instant::now();
        let own = case.photo.as_ref().and_then(|photo| photo.file.as_ref());
        let file = file.map(Path::to_owned).or(own.map(|name| in_folder(case, name))).ok_or_else(|| {
            let remedy = "name a photograph, a table of lines or one of tracks on the command line, or file = \"...\" under [photo]";
            Problems::one(&case.file, "the case names no photograph", remedy)
        });
        let file = file.map_err(Error::Input)?;
        let sides = case.cell.size();
        let (measured, input) = read(&file, sides).map_err(Error::Input)?;
        let (what, in_pixels, own) = match measured {
            Measured::Photo(photo) => (What::Picture, false, Some(photo)),
            Measured::Lines(traces) => (What::Lines(traces.list), traces.in_pixels, None),
            Measured::Tracks(tracks) => (What::Tracks(tracks.list), tracks.in_pixels, None),
        };
        let mut inputs = vec![input];
        let photo = if in_pixels {
            let (photo, input) = shown(case, &file)?;
            inputs.push(input);
            Some(photo)
        } else {
            own
        };
        if photo.is_some() && case.photo.is_none() {
            let remedy =
                "add [photo] with marks_on, and a [[photo.mark]] for each of at least four marks of known place";
            return Err(Error::Input(Problems::one(
                &case.file,
                "the case has no table [photo], which maps a picture",
                remedy,
            )));
        }
        Ok(Material { file, what, photo, inputs, began })
    }

    /// The map of the photograph, if there is one.
    ///
    /// # Errors
    /// Marks that are not to be seen, too few or at odds, with the place of `[photo]` in the case.
    pub fn calibrate(&self, case: &Case) -> Result<Option<Calibration>> {
        let Some((photo, settings)) = self.photo.as_ref().zip(case.photo.as_ref()) else { return Ok(None) };
        Calibration::of(photo, &request(case, settings)).map(Some).map_err(|error| at_photo(case, settings, &error))
    }

    /// The marks of the photograph as far as they can be sought, where calibrating fails: for a picture of them.
    pub fn sought(&self, case: &Case) -> Vec<Sought> {
        let pair = self.photo.as_ref().zip(case.photo.as_ref());
        pair.and_then(|(photo, settings)| request(case, settings).sought(photo).ok()).unwrap_or_default()
    }

    /// The side walls and obstacles as the photograph shows them: a check of its map.
    pub fn outlines(&self, case: &Case, plan: &Plan, map: &Calibration) -> Vec<Outline> {
        self.photo.as_ref().map_or_else(Vec::new, |photo| outlines(photo, map, plan, middle_gap(case)))
    }

    /// What there is to compare with all places in the cell, m.
    ///
    /// # Errors
    /// Pixels that show no place of the plates, or one far outside the cell.
    pub fn mapped(&self, case: &Case, calibration: Option<&Calibration>) -> Result<What> {
        let Some(map) = calibration else { return Ok(self.what.clone()) };
        let sides = case.cell.size();
        let inside = |p: &Point| (0..2).all(|k| p[k] >= -OUTSIDE * sides[k] && p[k] <= (1.0 + OUTSIDE) * sides[k]);
        let moved = |name: String, pixels: &[Point]| -> Result<Vec<Point>> {
            let place = |pixel: &Point| {
                map.point(*pixel).filter(inside).ok_or_else(|| {
                    let [u, v] = pixel;
                    let message =
                        format!("pixel ({u}, {v}) of {name} shows no place in the cell, by more than a tenth of it");
                    let remedy =
                        "count pixels in the upright picture, to the right and down from its upper left corner";
                    Error::Input(Problems::one(&self.file, message, remedy))
                })
            };
            pixels.iter().map(place).collect()
        };
        let mut what = self.what.clone();
        match &mut what {
            What::Picture => {}
            What::Lines(lines) => {
                for line in lines {
                    line.places = moved(format!("line {}", line.number), &line.places)?;
                }
            }
            What::Tracks(tracks) => {
                for track in tracks {
                    track.points = moved(format!("track {}", track.name), &track.points)?;
                }
            }
        }
        Ok(what)
    }
}

/// The photograph whose pixels the places of a table are in.
fn shown(case: &Case, table: &Path) -> Result<(Photo, InputFile)> {
    let named = case.photo.as_ref().and_then(|photo| photo.file.as_ref());
    let found = named.map(|name| read(&in_folder(case, name), case.cell.size()));
    match found.transpose().map_err(Error::Input)? {
        Some((Measured::Photo(photo), input)) => Ok((photo, input)),
        _ => {
            let remedy = "name the photograph in the case, as file = \"...\" under [photo], with its marks";
            Err(Error::Input(Problems::one(table, "places are in pixels, and the case names no photograph", remedy)))
        }
    }
}

/// A file of the case, whose names are relative to its folder.
fn in_folder(case: &Case, name: &Path) -> PathBuf {
    case.file.parent().unwrap_or(Path::new("")).join(name)
}

/// The gap in the middle of the cell, m.
fn middle_gap(case: &Case) -> f64 {
    case.cell.middle_gap()
}

/// What the calibration is asked to do.
fn request(case: &Case, settings: &PhotoSettings) -> Request {
    let glycerol = match case.fluid.kind {
        FluidKind::GlycerolWater { fraction, .. } => fraction,
        FluidKind::Water { .. } | FluidKind::Stated => 0.0,
    };
    Request {
        marks: settings.marks.clone(),
        marks_on: settings.marks_on,
        plate: Some(Layer { thickness: settings.plate_thickness, index: settings.plate_index }),
        placed_within: settings.placed_within.value,
        mark_size: settings.mark_size,
        lens: settings.lens,
        gap: middle_gap(case),
        dye_height: case.streaklines.height,
        fluid_index: fluid_index(glycerol),
    }
}

/// A fault of the picture as a mistake in the case, where that speaks of the picture.
pub(super) fn at_photo(case: &Case, settings: &PhotoSettings, error: &Error) -> Error {
    let mut problems = Problems::default();
    problems.add_text(&case.file, &case.text);
    let remedy = error.remedy().unwrap_or_else(|| "compare the case with the picture".into());
    problems.add(&case.file, Some(settings.place.clone()), error.what(), remedy);
    Error::Input(problems)
}
