//! What a calibration is asked to do, and the marks as it finds them.

use super::cautions;
use super::lens::Frame;
use super::marks::{Seen, Unseen, find, size_from_picture};
use super::pixel::Pixel;
use super::start::{FEWEST, check_order, check_spread};
use super::step_down::Layer;
use crate::base::plane::{distance, length};
use crate::base::warning::Warning;
use crate::base::{Error, Point, Result};
use crate::input::case::{Face, LensPrior, Mark};
use crate::input::measured::Photo;
use rayon::prelude::*;

/// Least size of a mark, pixels, and its most as a share of the picture's longer side.
const SIZES: [f64; 2] = [4.0, 0.125];

/// All that the case tells of a photograph.
#[derive(Debug, Clone, PartialEq)]
pub struct Request {
    /// The marks.
    pub marks: Vec<Mark>,
    /// The face they are on.
    pub marks_on: Face,
    /// The plate; needed where the marks are on its outer face, of little effect otherwise.
    pub plate: Option<Layer>,
    /// Standard deviation of their places, m, each coordinate.
    pub placed_within: f64,
    /// Width of a cross or diameter of a dot, m; found in the picture if not given.
    pub mark_size: Option<f64>,
    /// What is known of the lens.
    pub lens: LensPrior,
    /// The gap b, m.
    pub gap: f64,
    /// Height of the dye zeta = 2z/b, from -1 at the back plate to 1 at the front plate.
    pub dye_height: f64,
    /// Refractive index of the fluid.
    pub fluid_index: f64,
}

/// A mark as it was sought.
#[derive(Debug, Clone, PartialEq)]
pub struct Sought {
    /// Its name.
    pub name: String,
    /// Its expected size, pixels.
    pub size: f64,
    /// What was found, or why nothing was.
    pub seen: std::result::Result<Seen, Unseen>,
}

impl Request {
    /// Whether its values make sense.
    pub(super) fn check(&self) -> Result<()> {
        if self.marks_on == Face::Outer && self.plate.is_none() {
            return Err(Error::failed(
                "the marks are on the outer face of a plate of unknown thickness",
                "give `photo.plate_thickness`, or `rig.plate_thickness`",
            ));
        }
        let wrong = |what: &str, value: f64, range: &str| {
            Err(Error::argument(format!("{what} is {value}, and should be {range}"), format!("give {what} {range}")))
        };
        if let Some(plate) = self.plate {
            if !(plate.thickness >= 0.0 && plate.thickness.is_finite()) {
                return wrong("the thickness of the plate", plate.thickness, "zero or more, m");
            }
            if !(1.0..=3.0).contains(&plate.index) {
                return wrong("the refractive index of the plate", plate.index, "1 to 3");
            }
        }
        if !(1.0..=3.0).contains(&self.fluid_index) {
            return wrong("the refractive index of the fluid", self.fluid_index, "1 to 3");
        }
        if !(self.gap > 0.0 && self.gap.is_finite()) {
            return wrong("the gap", self.gap, "above zero, m");
        }
        if !(-1.0..=1.0).contains(&self.dye_height) {
            return wrong("the height of the dye", self.dye_height, "-1 to 1");
        }
        if !(self.placed_within >= 0.0 && self.placed_within.is_finite()) {
            return wrong("`mark_placed_within`", self.placed_within, "zero or more, m");
        }
        if let Some(size) = self.mark_size.filter(|size| !(*size > 0.0 && size.is_finite())) {
            return wrong("`mark_size`", size, "above zero, m");
        }
        if !(self.lens.k1 > 0.0 && self.lens.k2 > 0.0) {
            return wrong("the prior of the lens", self.lens.k1.min(self.lens.k2), "above zero");
        }
        for (k, mark) in self.marks.iter().enumerate() {
            if !mark.at.iter().chain(&mark.click).all(|value| value.is_finite()) {
                return Err(Error::argument(
                    format!("mark {} has no finite place or pixel", mark.name),
                    "give two lengths in the cell and two pixels of each mark",
                ));
            }
            if self.marks[..k].iter().any(|other| other.name == mark.name) {
                return Err(Error::argument(
                    format!("two marks are called {}", mark.name),
                    "give each mark a name of its own",
                ));
            }
        }
        Ok(())
    }

    /// The marks of a picture as they are sought, in the order of the request, seen or not.
    ///
    /// # Errors
    /// [`Error::Failed`] if there are fewer than four, three of four in a line, clicks that do not fit their places, or marks too small
    /// or too large to be found.
    pub fn sought(&self, photo: &Photo) -> Result<Vec<Sought>> {
        let (names, places): (Vec<String>, Vec<Point>) =
            self.marks.iter().map(|mark| (mark.name.clone(), mark.at)).unzip();
        let clicks: Vec<Pixel> = self.marks.iter().map(|mark| mark.click).collect();
        if self.marks.len() < FEWEST {
            return Err(Error::failed(
                format!("{} marks are given, {FEWEST} are needed", self.marks.len()),
                "add a `[[photo.mark]]` for each mark in the picture, eight to twelve for a good map",
            ));
        }
        check_spread(&names, &places)?;
        let rough = check_order(Frame::new(photo.size(), &places), &names, &places, &clicks)?;
        let scales: Vec<f64> = places
            .iter()
            .map(|place| rough.stretch(*place).map_or(f64::NAN, |[x, y]| length(x).max(length(y))))
            .collect();
        let middle = scales.iter().sum::<f64>() / scales.len() as f64;
        let relative: Vec<f64> = scales.iter().map(|scale| scale / middle).collect();
        let size = match self.mark_size {
            Some(size) => Some(size * middle),
            None => size_from_picture(photo, &clicks, &relative),
        };
        // where nothing is found at any size, one size tells why
        let size = size.unwrap_or(20.0);
        let [width, height] = photo.size();
        let most = SIZES[1] * width.max(height) as f64;
        if !(size >= SIZES[0] && size <= most) {
            return Err(Error::failed(
                format!("marks are {size:.1} px wide in the picture; {:.0} to {most:.0} px can be found", SIZES[0]),
                "check `mark_size`, or take the picture from where the marks are smaller or larger in it",
            ));
        }
        let mut sought: Vec<Sought> = self
            .marks
            .par_iter()
            .zip(&relative)
            .map(|(mark, relative)| {
                let size = size * relative;
                Sought { name: mark.name.clone(), size, seen: find(photo, mark.click, size) }
            })
            .collect();
        refuse_twice(&mut sought);
        Ok(sought)
    }

    /// The same with a warning for each that is not seen while four others are.
    pub(super) fn seek(&self, photo: &Photo) -> Result<(Vec<Sought>, Vec<Warning>)> {
        let sought = self.sought(photo)?;
        let unseen: Vec<(&Mark, &Sought)> =
            self.marks.iter().zip(&sought).filter(|(_, sought)| sought.seen.is_err()).collect();
        let seen = self.marks.len() - unseen.len();
        if seen < FEWEST {
            return Err(not_enough(&unseen, seen, self.marks.len()));
        }
        let warnings = unseen.iter().map(|(mark, sought)| cautions::unseen(&mark.name, mark.click, &reason(sought)));
        let warnings = warnings.collect();
        Ok((sought, warnings))
    }
}

fn reason(sought: &Sought) -> String {
    sought.seen.err().map(|unseen| unseen.to_string()).unwrap_or_default()
}

/// Marks nearer to each other than half their size are one, and neither click tells which.
fn refuse_twice(sought: &mut [Sought]) {
    let places: Vec<Option<Pixel>> = sought.iter().map(|sought| sought.seen.ok().map(|seen| seen.at)).collect();
    for (k, own) in sought.iter_mut().enumerate() {
        let Some(at) = places[k] else { continue };
        let is_same = |other: &Option<Pixel>| other.is_some_and(|other| distance(other, at) < 0.5 * own.size);
        if places.iter().enumerate().any(|(j, other)| j != k && is_same(other)) {
            own.seen = Err(Unseen::Twice);
        }
    }
}

/// The error that names the marks that are missing and why.
fn not_enough(unseen: &[(&Mark, &Sought)], seen: usize, all: usize) -> Error {
    let names: Vec<&str> = unseen.iter().map(|(mark, _)| mark.name.as_str()).collect();
    let clicks: Vec<String> =
        unseen.iter().map(|(mark, _)| format!("[{:.0}, {:.0}]", mark.click[0], mark.click[1])).collect();
    let reasons: Vec<String> =
        unseen.iter().map(|(mark, sought)| format!("{}: {}", mark.name, reason(sought))).collect();
    let (noun, verb) = if names.len() == 1 { ("mark", "is") } else { ("marks", "are") };
    let list = match names.split_last() {
        Some((last, [])) => (*last).to_owned(),
        Some((last, first)) => format!("{} and {last}", first.join(", ")),
        None => String::new(),
    };
    Error::failed(
        format!(
            "{noun} {list} {verb} not to be seen near {}: {seen} of {all} found, {FEWEST} are needed ({})",
            clicks.join(", "),
            reasons.join("; ")
        ),
        "click at the middle of each mark, within 10 px or one and a half of its size, and check `mark_size`; marks are dark on a \
         lighter ground",
    )
}
