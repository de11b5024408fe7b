//! Measurements from the bench against theory: a photograph, traced lines, or tracks of particles.

mod lines;
mod material;
mod pressure;
mod sections;
mod tracks;
mod wish;

pub use lines::{AgainstTheory, LinesFound};
pub use material::{Material, What};
pub use pressure::{Coefficient, Pressures};
pub use sections::map_sections;
pub use tracks::TracksFound;
pub use wish::{Theory, Wish};

use super::budget::Plates;
use super::{Settings, Study};
use crate::base::error::Problems;
use crate::base::plane::Rect;
use crate::base::warning::{Code, Warning};
use crate::base::{Error, Point, Result};
use crate::bench::lines::Course;
use crate::bench::outlines::{self, Outline};
use crate::bench::photo::Calibration;
use crate::bench::trace::{TracedLine, Tracer, Tracing};
use crate::geometry::Plan;
use crate::input::case::{Case, PhotoSettings};
use crate::theory::ideal::{Goal, Stage};
use lines::{compare_lines, ideal_of, levelled_by_needles, margin, needle_levels};
use material::at_photo;
use std::path::Path;
use std::sync::Arc;
use tracks::compare_tracks;

/// Triangles of the mesh where the case or the command line asks for no other: shifts are then good to some micrometres.
const TRIANGLES: usize = 60_000;

/// Places along each side of the cell at which the map is judged.
const JUDGED: usize = 13;

/// What was found.
#[derive(Debug)]
pub enum Found {
    /// Of lines.
    Lines(Box<LinesFound>),
    /// Of tracks.
    Tracks(Box<TracksFound>),
}

/// Measurements held against theory.
#[derive(Debug)]
pub struct Comparison {
    /// The solved case.
    pub study: Study,
    /// What was measured.
    pub material: Material,
    /// The map of the picture.
    pub calibration: Option<Calibration>,
    /// Side walls and obstacles as the picture shows them; none without a picture.
    pub outlines: Vec<Outline>,
    /// How lines were found in the picture.
    pub traced: Option<Tracing>,
    /// What was found.
    pub found: Found,
    /// What a reader must know.
    pub warnings: Vec<Warning>,
    /// Whether lines are drawn over the pattern.
    pub overlay: bool,
}

/// Solves a case and holds what was measured against it.
///
/// # Errors
/// As [`Study::solve`]; a cell that is no rectangle; pictures in which no line is found; tables without enough lines or tracks.
pub fn compare_measured(
    case: Case,
    plan: Arc<Plan>,
    material: Material,
    calibration: Option<Calibration>,
    wish: &Wish,
    watch: &(dyn Fn(Stage) + Sync),
) -> Result<Comparison> {
    if plan.rectangle().is_none() {
        return Err(Error::failed(
            "measurements are compared with theory in rectangular cells only, and this cell is none",
            "sample the fields at your places instead: twinplate sample CASE places.csv",
        ));
    }
    let what = material.mapped(&case, calibration.as_ref())?;
    let goal = wish.goal.unwrap_or(Goal::Triangles(TRIANGLES));
    let outlines = calibration.as_ref().map_or_else(Vec::new, |map| material.outlines(&case, &plan, map));
    let study = Study::solve(case, plan, Settings { goal: Some(goal), inertia: true, edge_layer: true }, watch)?;
    let plates = study.plates(margin(&study))?;
    let mut warnings = calibration.as_ref().zip(study.case.photo.as_ref()).map_or_else(Vec::new, of_calibration);
    warnings.extend(outlines::warnings(&outlines));
    let mut traced = None;
    let lines = |courses: Vec<Course>| -> Result<Found> {
        let found = compare_lines(&study, &plates, &courses, calibration.as_ref(), wish, watch);
        Ok(Found::Lines(Box::new(found.map_err(|error| in_file(&material.file, error))?)))
    };
    let found = match what {
        What::Tracks(tracks) => {
            let found = compare_tracks(&study, &plates, &tracks, wish);
            Found::Tracks(Box::new(found.map_err(|error| in_file(&material.file, error))?))
        }
        What::Lines(list) => {
            let mut courses: Vec<Course> =
                list.iter().map(|trace| Course::of(trace, study.case.compare.station)).collect();
            let ideal = ideal_of(&study, &plates);
            if let Some(levels) = needle_levels(&study.case.streaklines, &ideal) {
                levelled_by_needles(&mut courses, &levels, &ideal);
            }
            lines(courses)?
        }
        What::Picture => {
            let tracing = traced_lines(&study, &plates, &material, calibration.as_ref())?;
            warnings.extend(tracing.lines.iter().filter_map(hidden));
            let courses = tracing.courses();
            traced = Some(tracing);
            lines(courses)?
        }
    };
    if let Found::Lines(found) = &found {
        warnings.extend(found.warnings().iter().cloned());
    }
    let overlay = wish.overlay || material.photo.is_some();
    Ok(Comparison { study, material, calibration, outlines, traced, found, warnings, overlay })
}

/// The lines of the photograph.
fn traced_lines(
    study: &Study,
    plates: &Plates,
    material: &Material,
    calibration: Option<&Calibration>,
) -> Result<Tracing> {
    let case = &study.case;
    let (Some(photo), Some(map), Some(settings)) = (&material.photo, calibration, &case.photo) else {
        return Err(Error::failed("there is no photograph", "name one"));
    };
    let needles = case.streaklines.seeding.needles().to_vec();
    let tracer = Tracer { dye: settings.dye, margin: margin(study), spacing: case.compare.station, needles };
    let traced = tracer.trace(photo, map, &ideal_of(study, plates), &study.pattern.pressure);
    traced.map_err(|error| at_photo(case, settings, &error))
}

/// A failure of what was measured as a mistake in its file.
fn in_file(file: &Path, error: Error) -> Error {
    match error {
        Error::Failed { what, remedy } => Error::Input(Problems::one(file, what, remedy)),
        other => other,
    }
}

/// A warning of a line of which a third or more is hidden.
fn hidden(line: &TracedLine) -> Option<Warning> {
    let thirds: Vec<&str> = ["first", "middle", "last"]
        .into_iter()
        .zip(line.hidden)
        .filter_map(|(third, hidden)| hidden.then_some(third))
        .collect();
    let number = line.number;
    let matter = match thirds.as_slice() {
        [] => return None,
        [_, _, _] => format!("line {number} is not to be seen"),
        _ => format!("line {number} is hidden over its {} third", thirds.join(" and ")),
    };
    let remedy = "light the cell evenly from behind, without glare, and let the dye of its needle run longer";
    Some(Warning::new(Code::LineHidden, matter, remedy).value(line.covered))
}

/// What a reader must know of the map.
pub(super) fn of_calibration((map, settings): (&Calibration, &PhotoSettings)) -> Vec<Warning> {
    let mut warnings = map.fit.warnings.clone();
    if settings.placed_within.defaulted {
        let message = format!(
            "marks are taken as placed within {} mm, which the case does not say: mark_placed_within under [photo]",
            1e3 * settings.placed_within.value
        );
        warnings.push(Warning::note(Code::PlacingAssumed, message));
    }
    warnings
}

/// Places all over the part of the cell between the marks, at which the map is judged.
pub(super) fn judged(case: &Case) -> Vec<Point> {
    let marks = case.photo.iter().flat_map(|photo| photo.marks.iter().map(|mark| mark.at));
    let between = Rect::of(marks);
    let sides = case.cell.size();
    let place = |k: usize, axis: usize| {
        let [from, to] = [between.low[axis].max(0.0), between.high[axis].min(sides[axis])];
        from + (k as f64 + 0.5) / JUDGED as f64 * (to - from)
    };
    (0..JUDGED * JUDGED).map(|k| [place(k % JUDGED, 0), place(k / JUDGED, 1)]).collect()
}
