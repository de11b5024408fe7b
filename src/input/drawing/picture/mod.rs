//! Silhouettes from pictures: the half-tone line at sub-pixel accuracy, smoothed, its corners kept.

mod contour;
mod corner;
mod fit;
mod hold;
mod light;
mod raster;
mod smooth;
#[cfg(test)]
mod tests;
mod tone;
mod track;

use super::load;
use super::names::Names;
use super::stroke::{Painted, Sheet, Stroke};
use crate::base::error::Problems;
use crate::base::hash::sha256;
use crate::base::plane::distance;
use crate::base::text::printable;
use crate::input::case::ReadOptions;
use crate::input::picture::decode;
use contour::{Contour, contours};
use raster::Raster;
use std::path::Path;

/// Largest file read, bytes.
const MAX_BYTES: u64 = 256 << 20;

/// Blobs and holes below this many square pixels are specks.
const SPECK: f64 = 12.0;

/// And those below this fraction of the largest blob.
const SMALL: f64 = 1e-4;

/// Most blobs and holes that are followed.
const MOST_BLOBS: usize = 2000;

/// Reads the outlines of the blobs and holes of a picture, in pixels from its lower left corner, y up; metres per pixel are known if two
/// marks are given. Blobs are named by falling area: "1" is the largest.
///
/// # Errors
/// Those of decoding, a picture of one tone, and no blob that is large enough.
pub(super) fn read(file: &Path, options: &ReadOptions) -> Result<Sheet, Problems> {
    let bytes = load::bytes(file, MAX_BYTES)?;
    let sha256 = sha256(&bytes);
    let raster = Raster::of(&decode(&bytes, file)?);
    drop(bytes);
    let (width, height) = (raster.width, raster.height);
    let unit = scale(file, options)?;
    let coverage = tone::coverage(raster, &options.picture, file)?;
    let found = contours(&coverage, file)?;
    let unevenly = light::uneven(&coverage);
    let mut notes = coverage.notes;
    notes.extend(unevenly);
    let largest = found.iter().map(|c| c.area).fold(0.0, f64::max);
    let least = SPECK.max(SMALL * largest);
    let count = found.len();
    let kept: Vec<Contour> = found.into_iter().filter(|c| c.area.abs() >= least).collect();
    if !kept.iter().any(|c| c.area > 0.0) {
        let message =
            format!("the picture of {width} x {height} pixels shows no obstacle larger than {SPECK} square pixels");
        return Err(Problems::one(file, message, "give a larger picture, or set `tone` or `threshold`"));
    }
    if kept.len() < count {
        notes.push(format!("left out: {} specks smaller than {least:.0} square pixels", count - kept.len()));
    }
    if kept.len() > MOST_BLOBS {
        let message =
            format!("the picture has {} blobs and holes, more than the {MOST_BLOBS} that are followed", kept.len());
        return Err(Problems::one(file, message, "clean the picture up, or give a threshold"));
    }
    let mut strokes = Vec::new();
    let (mut blobs, mut holes) = (0, 0);
    for contour in &kept {
        let name = if contour.area > 0.0 {
            blobs += 1;
            format!("{blobs}")
        } else {
            holes += 1;
            format!("hole {holes}")
        };
        strokes.push((trace(contour, &name, unit, options, &mut notes), contour.at_border));
    }
    let at_border: Vec<&str> = strokes.iter().filter(|(_, at)| *at).map(|(stroke, _)| stroke.name.as_str()).collect();
    if !at_border.is_empty() {
        let first = at_border.iter().take(5).copied().collect::<Vec<_>>().join(", ");
        notes.push(format!(
            "blob {first} reaches the border of the picture and is cut off there: check that nothing is missing"
        ));
    }
    let strokes = strokes.into_iter().map(|(stroke, _)| stroke).collect();
    Ok(Sheet { strokes, unit, page: Some([0.0; 2]), notes, sha256, ..Sheet::default() })
}

/// Metres per pixel from two marks and how far they are apart.
fn scale(file: &Path, options: &ReadOptions) -> Result<Option<f64>, Problems> {
    let picture = &options.picture;
    match (picture.marks, picture.marks_apart) {
        (Some([p, q]), Some(apart)) => {
            let pixels = distance(p, q);
            if !(pixels > 0.0 && pixels.is_finite() && apart > 0.0) {
                let message = format!("the marks are {pixels} pixels and {apart} m apart, which gives no scale");
                return Err(Problems::one(file, message, "give two different places in pixels and their distance"));
            }
            Ok(Some(apart / pixels))
        }
        (None, None) => Ok(None),
        (given, _) => {
            let (there, missing) = if given.is_some() { ("marks", "marks_apart") } else { ("marks_apart", "marks") };
            let message = format!("{there} is given without {missing}");
            Err(Problems::one(
                file,
                message,
                "give both, such as marks = [[10, 20], [410, 20]] and marks_apart = \"40 mm\"",
            ))
        }
    }
}

fn trace(contour: &Contour, name: &str, unit: Option<f64>, options: &ReadOptions, notes: &mut Vec<String>) -> Stroke {
    let fitted = fit::fitted(contour, options.picture.deviation);
    if contour.area > 0.0 && (name == "1" || options.every || options.id.as_deref() == Some(name)) {
        let scale = unit.or(options.unit);
        let length = |pixels: f64| match scale {
            Some(unit) => format!("{pixels:.2} pixels ({:.2e} mm)", 1e3 * unit * pixels),
            None => format!("{pixels:.2} pixels"),
        };
        let mut note = format!("blob {name} is drawn within {} of the half-tone line", length(fitted.deviation));
        if fitted.corners > 0 {
            let (s, verb) = if fitted.corners == 1 { ("", "is") } else { ("s", "are") };
            note += &format!(
                "; its {} corner{s} {verb} drawn sharp, up to {} beyond it",
                fitted.corners,
                length(fitted.cut)
            );
        }
        notes.push(note);
        if fitted.traced > 0 {
            let (s, verb) = if fitted.traced == 1 { ("", "is") } else { ("s", "are") };
            notes.push(format!(
                "{} part{s} of blob {name} {verb} left as traced from pixel to pixel: no smooth curve keeps to the line there",
                fitted.traced
            ));
        }
        if fitted.abrupt {
            notes.push(
                "the picture has no intermediate tones along the edge: it is known to half a pixel only".to_owned(),
            );
        }
    }
    Stroke {
        curves: fitted.curves,
        places: Vec::new(),
        closed: true,
        painted: Painted::Line,
        element: 0,
        name: printable(name).into_owned(),
        ids: Names::default().with(name),
        layers: Names::default(),
    }
}
