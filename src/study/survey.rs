//! Outlines measured before anything is solved: those of a drawing or a picture, or the obstacles of a case.

use super::read;
use crate::base::error::Problems;
use crate::base::{Error, Result};
use crate::geometry::survey::{Passage, Survey, passages};
use crate::geometry::{Curve, Plan};
use crate::input::Outline;
use crate::input::case::{Case, OutlineSize, ReadOptions};
use crate::input::drawing::{Drawing, Found, is_picture, read_drawing};
use std::path::Path;
use std::sync::Arc;

/// How an outline file is read; a case says so itself.
#[derive(Debug, Clone, PartialEq)]
pub struct SurveySettings {
    /// What is taken from the file, and how it is repaired.
    pub reading: ReadOptions,
    /// What it is scaled to.
    pub size: OutlineSize,
}

impl Default for SurveySettings {
    fn default() -> Self {
        SurveySettings { reading: ReadOptions::default(), size: OutlineSize::Stated }
    }
}

/// What one unit of the coordinates is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Coordinates {
    /// A metre.
    Metres,
    /// A pixel of a picture without a scale.
    Pixels,
    /// A unit of a file that does not say which.
    Units,
}

/// Where the coordinates start from; y points up.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CoordinatesFrom {
    /// The lower left corner of the cell, the page or the picture; in DXF and lists the origin.
    Corner,
    /// The upper left corner: the file does not state the height of its page.
    Upper,
}

/// An outline with its measures.
#[derive(Debug, Clone, PartialEq)]
pub struct MeasuredOutline {
    /// Its name in the file or in the case.
    pub name: String,
    /// Its curves, closed, counter-clockwise.
    pub curves: Vec<Curve>,
    /// Its measures, in units of the coordinates.
    pub survey: Survey,
}

/// The outlines of a file, measured.
#[derive(Debug, Clone)]
pub struct Outlines {
    /// Title of the case, or the name of the file.
    pub title: String,
    /// The file's name without folder and extension, after which files made from it are called.
    pub stem: String,
    /// The outlines.
    pub outlines: Vec<MeasuredOutline>,
    /// Of a drawing, every outline in it, taken or not.
    pub found: Vec<Found>,
    /// Where the coordinates start from.
    pub origin: CoordinatesFrom,
    /// Of a case, the narrowest passages of the fluid, the narrowest first.
    pub passages: Vec<Passage>,
    /// Repairs, choices made, and what was left out.
    pub notes: Vec<String>,
    /// What the coordinates are in.
    pub coordinates: Coordinates,
    /// The case and its plan, if the file is one.
    pub case: Option<(Case, Arc<Plan>)>,
}

/// Measures the outlines of a case file (`.toml`) or of an outline file.
///
/// ```
/// use twinplate::study::{SurveySettings, survey_outlines};
///
/// let found = survey_outlines("meshes/seal.csv".as_ref(), &SurveySettings::default())?;
/// let [width, height] = found.outlines[0].survey.size();
/// assert!(width > height);
/// # Ok::<(), twinplate::Error>(())
/// ```
///
/// # Errors
/// [`Error::Input`] with every mistake of the file.
pub fn survey_outlines(file: &Path, settings: &SurveySettings) -> Result<Outlines> {
    if file.extension().is_some_and(|e| e.eq_ignore_ascii_case("toml")) {
        of_case(file)
    } else {
        of_drawing(file, settings)
    }
}

fn of_case(file: &Path) -> Result<Outlines> {
    let (case, plan) = read(file)?;
    let mut outlines = Vec::new();
    for obstacle in &case.obstacles {
        outlines.extend(Outline::of(obstacle, &case.file).map_err(Error::Input)?);
    }
    Ok(Outlines {
        title: case.title.clone(),
        stem: stem(file),
        outlines: outlines.into_iter().filter_map(|o| measured(o.name, o.curves)).collect(),
        found: Vec::new(),
        origin: CoordinatesFrom::Corner,
        passages: passages(&plan),
        notes: plan.notes.clone(),
        coordinates: Coordinates::Metres,
        case: Some((case, plan)),
    })
}

fn of_drawing(file: &Path, settings: &SurveySettings) -> Result<Outlines> {
    let Drawing { loops, scaled, page, found, notes, .. } = sized(file, settings)?;
    Ok(Outlines {
        title: file.file_name().unwrap_or_default().to_string_lossy().into_owned(),
        stem: stem(file),
        outlines: loops.into_iter().filter_map(|l| measured(l.name, l.curves)).collect(),
        found,
        origin: if page.is_some() { CoordinatesFrom::Corner } else { CoordinatesFrom::Upper },
        passages: Vec::new(),
        notes,
        coordinates: match (scaled, is_picture(file)) {
            (true, _) => Coordinates::Metres,
            (false, true) => Coordinates::Pixels,
            (false, false) => Coordinates::Units,
        },
        case: None,
    })
}

/// The drawing at the wanted size, with a note of what its unit became.
fn sized(file: &Path, settings: &SurveySettings) -> Result<Drawing> {
    let drawing = read_drawing(file, &settings.reading).map_err(Error::Input)?.from_page();
    if settings.size == OutlineSize::Stated {
        return Ok(drawing);
    }
    drawing.sized(settings.size).ok_or_else(|| {
        let mut problems = Problems::default();
        problems.add(file, None, "the outline has no width or height to scale", "check the file");
        Error::Input(problems)
    })
}

/// An outline without curves has no measures.
fn measured(name: String, curves: Vec<Curve>) -> Option<MeasuredOutline> {
    let survey = Survey::of(&curves)?;
    Some(MeasuredOutline { name, curves, survey })
}

fn stem(file: &Path) -> String {
    file.file_stem().unwrap_or_default().to_string_lossy().into_owned()
}
