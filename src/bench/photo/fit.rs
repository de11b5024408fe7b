//! The map fitted to the marks: twelve unknowns, priors, and which marks do not belong.
//!
//! Residuals are pixels over `sigma = hypot(0.1 px, placed_within px/m)`, and the unknowns k1, k2 and o over their priors. Priors make any
//! number of marks from four on serve without a choice of model: with few marks the lens stays what lenses are, with many the marks decide.
//! Covariance: `(J'J)^-1 max(1, chi2/dof)`, dof = 2 N - 8, the four priors counted as measurements of their own.
//!
//! Marks on the inner face are lifted to where their rays leave the outer face (`step_down`), for only there is the camera a
//! pinhole; the lift follows the pose, and pose and map are found in turn until neither moves.

use super::cautions;
use super::lens::{CENTRE, Frame, K1, Lens};
use super::pixel::Pixel;
use super::pose::{Pose, pose};
use super::start::{FEWEST, check_spread, homography};
use super::step_down::Layer;
use crate::base::plane::{Rect, distance};
use crate::base::warning::Warning;
use crate::base::{Error, Point, Result};
use crate::bench::statistics::{Minimum, least_squares};
use crate::input::case::LensPrior;

/// Standard deviation of the centre of a mark, pixels: twice what was seen.
pub const CENTRE_SIGMA: f64 = 0.1;

/// Prior of the centre of distortion, half widths.
const AXIS_SIGMA: f64 = 0.03;

/// Marks from which on one that does not belong is left out; with fewer nothing is left to tell.
pub const ENOUGH: usize = 7;

/// By what the deviation of doubtful marks is multiplied where they cannot be left out.
const DOUBT: f64 = 5.0;

/// chi2 of two residuals that one mark in a hundred exceeds.
const SPURIOUS: f64 = 9.2;

/// chi2/dof of the others beyond which it is their deviation that is wrong, and the chance of a spurious mark is that of the ratio of
/// variances: `(1 + fall/rest)^(-dof/2)` for two residuals against dof (Fisher's F with 2 and dof).
const DISTRUSTED: f64 = 2.0;

/// That chance at most, over the number of marks among which the worst is picked.
const CHANCE: f64 = 0.01;

/// Share of a mark's window from which on glare counts.
const GLARE: f64 = 0.05;

/// Most of the marks, as a share, that can be in glare; with more of them the picture is bright as a whole.
const IN_GLARE: f64 = 1.0 / 3.0;

/// chi2/dof beyond which the marks are worse than said.
const UNLIKELY: f64 = 4.0;

/// Rounds of pose and lift: each brings the lift a hundred times nearer.
const LIFTS: usize = 4;

/// A mark as the fit takes it.
#[derive(Debug, Clone, PartialEq)]
pub struct Sighting {
    /// Its name.
    pub name: String,
    /// Its place on its face of the plate, m.
    pub place: Point,
    /// Its centre, pixels.
    pub pixel: Pixel,
    /// Share of its window that is saturated.
    pub saturated: f64,
}

/// What the fit takes for given.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Given {
    /// Size of the picture, pixels.
    pub size: [usize; 2],
    /// Standard deviation of the places of marks, m, each coordinate.
    pub placed_within: f64,
    /// Prior of the lens.
    pub lens: LensPrior,
    /// The plate above the marks, if they are on its inner face.
    pub above: Option<Layer>,
}

/// The map with all that is known of it.
#[derive(Debug, Clone)]
pub struct Fit {
    /// From the outer face to the picture.
    pub lens: Lens,
    /// Where the camera stood.
    pub pose: Pose,
    /// Unknowns, chi2, covariance.
    pub minimum: Minimum,
    /// Root of max(1, chi2/dof), by which all deviations are multiplied.
    pub factor: f64,
    /// The box about the places of the marks that were used, m.
    pub marked: Rect,
    /// Names of the marks that were used, with the distance of each from the fit, pixels.
    pub used: Vec<(String, f64)>,
    /// For each the distance of its place from where the others see it, m; empty with four marks.
    pub leave_one_out: Vec<f64>,
    /// Names of those that were left out.
    pub left_out: Vec<String>,
    /// What to know of the marks.
    pub warnings: Vec<Warning>,
}

impl Fit {
    /// chi2 over the number of residuals beyond the unknowns; none with four marks.
    pub fn chi2_per_freedom(&self) -> Option<f64> {
        (self.used.len() > FEWEST).then(|| self.minimum.chi2 / freedom(self.used.len()))
    }

    /// Distance of the marks from the fit, root of the mean square, pixels.
    pub fn residual_rms(&self) -> f64 {
        (self.used.iter().map(|used| used.1 * used.1).sum::<f64>() / self.used.len() as f64).sqrt()
    }
}

fn freedom(marks: usize) -> f64 {
    2.0 * marks as f64 - 8.0
}

/// One mark with its deviation.
#[derive(Clone)]
struct Weighed {
    sighting: Sighting,
    /// On the outer face, m.
    place: Point,
    /// Multiple of its deviation.
    doubt: f64,
}

/// One map for a set of marks.
struct Solved {
    lens: Lens,
    pose: Pose,
    minimum: Minimum,
    marks: Vec<Weighed>,
}

/// The map through the marks, which the order of the list does not change.
///
/// Marks that do not belong are left out by name while seven or more are there: those in glare, and the one without which chi2 falls
/// most, if by more than 9.2 (times chi2/dof of the others, where that is above one; beyond two by what their own spread makes unlikely: marks
/// placed worse than said are not all spurious). Two wrong marks at once may hide each other; then chi2/dof tells.
/// With fewer, deviations are multiplied by five instead: of marks in glare, and of all if they do not agree.
///
/// Errors: fewer than four marks, three of four in a line, or no camera that sees them so.
pub fn fit(given: &Given, sightings: &[Sighting]) -> Result<Fit> {
    let mut marks: Vec<Sighting> = sightings.to_vec();
    marks.sort_by(|a, b| a.name.cmp(&b.name));
    let names: Vec<String> = marks.iter().map(|mark| mark.name.clone()).collect();
    let places: Vec<Point> = marks.iter().map(|mark| mark.place).collect();
    if marks.len() < FEWEST {
        return Err(Error::failed(
            format!("{} marks ({}) are seen, {FEWEST} are needed", marks.len(), names.join(", ")),
            "show four marks or more, eight to twelve for a good map",
        ));
    }
    check_spread(&names, &places)?;
    let frame = Frame::new(given.size, &places);
    let mut warnings = Vec::new();
    let mut left_out = Vec::new();
    let mut doubts = vec![1.0; marks.len()];
    glare(&mut marks, &mut doubts, &mut left_out, &mut warnings);
    let mut solved = solve(given, frame, &marks, &doubts)?;
    while marks.len() >= ENOUGH {
        let Some(worst) = spurious(given, &solved) else { break };
        let left = marks.remove(worst);
        doubts.remove(worst);
        let off = solved.lens.pixel(solved.marks[worst].place).map_or(0.0, |at| distance(at, left.pixel));
        warnings.push(cautions::left_out(&left.name, off));
        left_out.push(left.name);
        solved = solve(given, frame, &marks, &doubts)?;
    }
    if marks.len() < ENOUGH && marks.len() > FEWEST && left_out.is_empty() && spurious(given, &solved).is_some() {
        warnings.push(cautions::at_odds(marks.len()));
        doubts.iter_mut().for_each(|doubt| *doubt *= DOUBT);
        solved = solve(given, frame, &marks, &doubts)?;
    }
    let count = marks.len();
    if count < 6 {
        warnings.push(cautions::few(count));
    }
    let per_freedom = if count > FEWEST { solved.minimum.chi2 / freedom(count) } else { 0.0 };
    if per_freedom > UNLIKELY {
        warnings.push(cautions::unlikely(per_freedom));
    }
    if solved.lens.is_mirrored() {
        warnings.push(cautions::mirrored());
    }
    let used = solved.marks.iter().map(|mark| {
        let off = solved.lens.pixel(mark.place).map_or(f64::NAN, |at| distance(at, mark.sighting.pixel));
        (mark.sighting.name.clone(), off)
    });
    let marked = Rect::of(solved.marks.iter().map(|mark| mark.sighting.place));
    Ok(Fit {
        marked,
        used: used.collect(),
        leave_one_out: without_each(given, &solved).iter().map(|without| without.0).collect(),
        factor: per_freedom.max(1.0).sqrt(),
        lens: solved.lens,
        pose: solved.pose,
        minimum: solved.minimum,
        left_out,
        warnings,
    })
}

/// Leaves out marks in glare, the worst first, or doubts them.
fn glare(marks: &mut Vec<Sighting>, doubts: &mut Vec<f64>, left_out: &mut Vec<String>, warnings: &mut Vec<Warning>) {
    let mut bright: Vec<String> =
        marks.iter().filter(|mark| mark.saturated > GLARE).map(|mark| mark.name.clone()).collect();
    if bright.len() as f64 > IN_GLARE * marks.len() as f64 {
        warnings.push(cautions::bright(bright.len()));
        return;
    }
    let share =
        |marks: &[Sighting], name: &str| marks.iter().find(|mark| mark.name == name).map_or(0.0, |mark| mark.saturated);
    bright.sort_by(|a, b| share(marks, b).total_cmp(&share(marks, a)).then(a.cmp(b)));
    for name in bright {
        let Some(k) = marks.iter().position(|mark| mark.name == name) else { continue };
        let is_left_out = marks.len() >= ENOUGH && {
            let others = marks.iter().filter(|mark| mark.name != name);
            let (names, places): (Vec<_>, Vec<_>) = others.map(|mark| (mark.name.clone(), mark.place)).unzip();
            check_spread(&names, &places).is_ok()
        };
        warnings.push(cautions::glare(&name, marks[k].saturated, is_left_out));
        if is_left_out {
            marks.remove(k);
            doubts.remove(k);
            left_out.push(name);
        } else {
            doubts[k] = DOUBT;
        }
    }
}

/// Map and pose in turn.
fn solve(given: &Given, frame: Frame, sightings: &[Sighting], doubts: &[f64]) -> Result<Solved> {
    let weighed = |(sighting, doubt): (&Sighting, &f64)| Weighed {
        sighting: sighting.clone(),
        place: sighting.place,
        doubt: *doubt,
    };
    let mut marks: Vec<Weighed> = sightings.iter().zip(doubts).map(weighed).collect();
    let nowhere = || {
        Error::failed(
            format!("no camera sees the {} marks where they are in the picture", sightings.len()),
            "compare names, places and pixels of the marks with the picture",
        )
    };
    let places: Vec<Point> = marks.iter().map(|mark| mark.place).collect();
    let pixels: Vec<Pixel> = sightings.iter().map(|sighting| sighting.pixel).collect();
    let start = homography(frame, &places, &pixels).ok_or_else(nowhere)?;
    let (mut lens, mut minimum) = refined(given, &start, &marks).ok_or_else(nowhere)?;
    let mut stood = stands(given, &lens, &minimum, &marks).ok_or_else(nowhere)?;
    if let Some(plate) = given.above {
        for _ in 0..LIFTS {
            for mark in &mut marks {
                mark.place = stood.stand.lifted(mark.sighting.place, &[plate]);
            }
            (lens, minimum) = refined(given, &lens, &marks).ok_or_else(nowhere)?;
            stood = stands(given, &lens, &minimum, &marks).ok_or_else(nowhere)?;
        }
    }
    Ok(Solved { lens, pose: stood, minimum, marks })
}

/// Deviation of a mark's pixel.
fn sigma(given: &Given, lens: &Lens, mark: &Weighed) -> Option<f64> {
    Some(mark.doubt * CENTRE_SIGMA.hypot(given.placed_within * lens.scale(mark.place)?))
}

/// The pose by marks on the outer face.
fn stands(given: &Given, lens: &Lens, minimum: &Minimum, marks: &[Weighed]) -> Option<Pose> {
    let factor = if marks.len() > FEWEST { (minimum.chi2 / freedom(marks.len())).max(1.0).sqrt() } else { 1.0 };
    let list: Option<Vec<_>> =
        marks.iter().map(|mark| Some((mark.place, mark.sighting.pixel, sigma(given, lens, mark)?))).collect();
    pose(lens, &list?, factor)
}

/// The twelve unknowns by least squares from a map nearby.
fn refined(given: &Given, start: &Lens, marks: &[Weighed]) -> Option<(Lens, Minimum)> {
    let sigmas: Option<Vec<f64>> = marks.iter().map(|mark| sigma(given, start, mark)).collect();
    let sigmas = sigmas?;
    let residuals = |x: &[f64]| {
        let lens = start.with(x);
        let mut list = Vec::with_capacity(2 * marks.len() + 4);
        for (mark, sigma) in marks.iter().zip(&sigmas) {
            let at = lens.pixel(mark.place)?;
            list.extend([0, 1].map(|k| (at[k] - mark.sighting.pixel[k]) / sigma));
        }
        list.extend([x[K1] / given.lens.k1, x[K1 + 1] / given.lens.k2]);
        list.extend([0, 1].map(|k| x[CENTRE + k] / AXIS_SIGMA));
        Some(list)
    };
    let minimum = least_squares(start.unknowns.to_vec(), residuals)?;
    Some((start.with(&minimum.at), minimum))
}

/// For each mark, where there are more than four: the distance of its place from where the others see it, m, and the chi2 of the others. NaN and
/// infinite where the others fix no map.
fn without_each(given: &Given, solved: &Solved) -> Vec<(f64, f64)> {
    let count = solved.marks.len();
    if count <= FEWEST {
        return Vec::new();
    }
    let without = |k: usize| {
        let mut others = solved.marks.clone();
        let left = others.remove(k);
        let (names, places): (Vec<_>, Vec<_>) =
            others.iter().map(|mark| (mark.sighting.name.clone(), mark.place)).unzip();
        check_spread(&names, &places).ok()?;
        let (lens, minimum) = refined(given, &solved.lens, &others)?;
        Some((distance(lens.point(left.sighting.pixel)?, left.place), minimum.chi2))
    };
    (0..count).map(|k| without(k).unwrap_or((f64::NAN, f64::INFINITY))).collect()
}

/// The mark without which chi2 falls most, if it falls by more than chance lets it.
fn spurious(given: &Given, solved: &Solved) -> Option<usize> {
    let chi2 = solved.minimum.chi2;
    let list = without_each(given, solved);
    let (worst, rest) = list.iter().map(|without| without.1).enumerate().min_by(|a, b| a.1.total_cmp(&b.1))?;
    let (fall, freedom) = (chi2 - rest, freedom(list.len() - 1));
    let spread = if freedom > 0.0 { (rest / freedom).max(1.0) } else { 1.0 };
    let is_spurious = if spread > DISTRUSTED {
        (1.0 + fall / rest).powf(-0.5 * freedom) < CHANCE / list.len() as f64
    } else {
        fall > SPURIOUS * spread
    };
    is_spurious.then_some(worst)
}
