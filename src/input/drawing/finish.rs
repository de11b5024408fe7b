//! From the strokes of a file to the outlines that are wanted.

use super::about::About;
use super::affine::Affine;
use super::chain::{Chained, chain, drop_doubles};
use super::choose::{choose, wanted};
use super::drawn::{Drawing, Loop};
use super::painted::{close_painted, unite_painted};
use super::repair::{Fault, Repairs, close_gaps, drop_points, straighten, untangle};
use super::stroke::{MOST_CURVES, Sheet, Stroke, size_of};
use crate::base::Point;
use crate::base::error::Problems;
use crate::base::plane::distance;
use crate::base::units::significant;
use crate::geometry::measure::enclosed;
use crate::geometry::meet::THIN_OUT;
use crate::geometry::{Curve, periodic_spline};
use crate::input::case::ReadOptions;
use std::collections::BTreeSet;
use std::path::Path;

/// Ends nearer than this fraction of the drawing's size are one, whatever the tolerance.
const ONE: f64 = 1e-9;

/// Largest tolerance that may be asked for.
const MOST_TOLERANCE: f64 = 0.01;

/// Most open ends reported one by one.
const MOST_OPEN: usize = 5;

/// Chains, repairs and chooses.
///
/// # Errors
/// Nothing to choose, outlines that do not close or that cross themselves, each by more than the tolerance.
pub(super) fn finish(sheet: Sheet, file: &Path, options: &ReadOptions) -> Result<Drawing, Problems> {
    let Sheet { strokes, unit: stated, mut notes, y, page, text, sha256 } = sheet;
    let about = About { file, options, unit: options.unit.or(stated), y };
    let with_text = |mut problems: Problems| {
        if !text.is_empty() {
            problems.add_text(file, &text);
        }
        problems
    };
    let [asked, there] = [options.unit, stated].map(|unit| unit.unwrap_or(f64::NAN));
    if (asked / there - 1.0).abs() > 1e-9 {
        let [asked, there] = [asked, there].map(|unit| significant(1e3 * unit, 6));
        notes.push(format!("the file states {there} mm per unit; {asked} mm, as the case says, is taken"));
    }
    check(&strokes, file).map_err(with_text)?;
    let before = notes.clone();
    let with_notes = |mut problems: Problems| {
        if let Some(first) = problems.list.first_mut().filter(|_| !before.is_empty()) {
            first.remedy += &format!(" (noted before: {})", before.join("; "));
        }
        with_text(problems)
    };
    let strokes = wanted(strokes, &about).map_err(with_notes)?;
    let mut repairs = Repairs::default();
    let closed = close(strokes, &about, &mut repairs, &mut notes).map_err(with_text)?;
    let closed = rounded_off(closed, options.smooth, &mut notes);
    let (mut chosen, mut found) = choose(closed, &about, &mut notes).map_err(with_notes)?;
    let mut problems = Problems::default();
    for stroke in &mut chosen {
        repair(stroke, &about, &mut repairs, &mut problems);
    }
    say(&repairs, &about, &mut notes);
    if !problems.is_empty() {
        return Err(with_text(problems));
    }
    let scale = about.unit.unwrap_or(1.0);
    name_apart(&mut chosen);
    let loops = chosen.into_iter().map(|stroke| as_loop(stroke, scale)).collect();
    let scaled = |p: Point| p.map(|x| scale * x);
    found.iter_mut().for_each(|found| found.bounds = found.bounds.map(scaled));
    Ok(Drawing { loops, scaled: about.unit.is_some(), page: page.map(scaled), found, notes, sha256 })
}

/// Not too many curves, and all of them finite.
fn check(strokes: &[Stroke], file: &Path) -> Result<(), Problems> {
    let count: usize = strokes.iter().map(|stroke| stroke.curves.len()).sum();
    if count > MOST_CURVES + 1 {
        let message = format!("the file has {count} curves, more than the {MOST_CURVES} that are taken");
        return Err(Problems::one(file, message, "keep the outline only, or thin its points out"));
    }
    for stroke in strokes {
        let finite = |curve: &Curve| {
            [0.0, 0.5, 1.0]
                .iter()
                .all(|t| [curve.point(*t), curve.derivative(*t)].as_flattened().iter().all(|v| v.abs() < 1e100))
        };
        if let Some(bad) = stroke.curves.iter().position(|curve| !finite(curve)) {
            let mut problems = Problems::default();
            let message = "a coordinate is not a finite number below 1e100";
            problems.add(file, stroke.places.get(bad).cloned(), message, "check the numbers there and above");
            return Err(problems);
        }
    }
    Ok(())
}

/// All closed outlines, those of open strokes chained.
fn close(
    strokes: Vec<Stroke>,
    about: &About<'_>,
    repairs: &mut Repairs,
    notes: &mut Vec<String>,
) -> Result<Vec<Stroke>, Problems> {
    let size = size_of(strokes.iter().flat_map(|stroke| &stroke.curves));
    let tolerance = about.options.tolerance.max(ONE) * size;
    let mut strokes = strokes;
    for stroke in &mut strokes {
        straighten(stroke);
        drop_points(stroke, repairs);
    }
    let doubled = drop_doubles(&mut strokes);
    if doubled > 0 {
        notes.push(format!("{doubled} lines that stand there twice are taken once"));
    }
    let (mut closed, open): (Vec<Stroke>, Vec<Stroke>) = strokes.into_iter().partition(|stroke| stroke.closed);
    let open = open.into_iter().filter(|stroke| !stroke.curves.is_empty()).collect();
    let Chained { closed: chained, open, forks } = chain(open, tolerance);
    closed.extend(chained);
    let open = close_painted(open, &mut closed, notes);
    let closed = unite_painted(closed, notes);
    if let Some(fork) = forks.first() {
        let (count, place) = (forks.len(), about.place(*fork));
        notes.push(format!(
            "at {count} places more than two ends meet, first near {place}: the nearest ends are joined"
        ));
    }
    let gap = |stroke: &Stroke| {
        let [start, end] = stroke.ends().unwrap_or_default();
        let apart = about.length(distance(start, end));
        let (start, end) = (about.place(start), about.place(end));
        format!(
            "from {start} to {end} does not close: its ends are {apart} apart, more than the tolerance of {}",
            about.length(tolerance)
        )
    };
    if closed.is_empty() && !open.is_empty() {
        let mut problems = Problems::default();
        for stroke in open.iter().take(MOST_OPEN) {
            let message = format!("the line {}", gap(stroke));
            let remedy = "join the ends in the drawing, or raise `tolerance` (a fraction of the size, at most 0.01)";
            problems.add(about.file, stroke.places.first().cloned(), message, remedy);
        }
        return Err(problems);
    }
    for stroke in open.iter().take(MOST_OPEN) {
        notes.push(format!("left out: the line {}", gap(stroke)));
    }
    if open.len() > MOST_OPEN {
        notes.push(format!("left out: {} more open lines", open.len() - MOST_OPEN));
    }
    Ok(closed)
}

/// The spline through the corners of outlines with straight sides, where that is asked for.
fn rounded_off(mut strokes: Vec<Stroke>, smooth: bool, notes: &mut Vec<String>) -> Vec<Stroke> {
    if !smooth {
        return strokes;
    }
    let mut curved = 0;
    for stroke in &mut strokes {
        if stroke.curves.iter().all(Curve::is_straight) {
            let corners: Vec<Point> = stroke.curves.iter().map(|curve| curve.point(0.0)).collect();
            if corners.len() >= 3 {
                stroke.curves = periodic_spline(&corners);
            }
        } else {
            curved += 1;
        }
    }
    if curved > 0 {
        notes.push(format!("smooth = true changes nothing for {curved} outlines that have curves of their own"));
    }
    strokes
}

/// Joints, direction and crossings of a chosen outline.
fn repair(stroke: &mut Stroke, about: &About<'_>, repairs: &mut Repairs, problems: &mut Problems) {
    let called =
        if stroke.name.is_empty() { "the outline".to_owned() } else { format!("the outline \"{}\"", stroke.name) };
    if stroke.curves.len() == 1 {
        let halves = [stroke.curves[0].part(0.0, 0.5), stroke.curves[0].part(0.5, 1.0)];
        stroke.curves = halves.to_vec();
        stroke.places.extend(stroke.places.first().cloned());
    }
    close_gaps(stroke, repairs);
    let tolerance = about.options.tolerance * size_of(&stroke.curves);
    if let Err(fault) = untangle(stroke, tolerance, repairs) {
        let (span, message, remedy) = match fault {
            Fault::Crossing { at, crosses, length, place } => {
                let small = if length.is_finite() {
                    let [length, tolerance] = [length, tolerance].map(|l| about.length(l));
                    format!("; the smallest loop there is {length} long, the tolerance {tolerance}")
                } else {
                    String::new()
                };
                let meets = if crosses { "crosses" } else { "meets" };
                let message = format!("{called} {meets} itself near {}{small}", about.place(at));
                // a tenth more than its share of the size, of which two digits are told
                let enough = 1.1 * length / size_of(&stroke.curves);
                let cut = if enough <= MOST_TOLERANCE {
                    format!("; tolerance = {} cuts that loop off", significant(enough, 2))
                } else {
                    String::new()
                };
                (place, message, format!("check the order of its points: they must go round once{cut}"))
            }
            Fault::Crowd { crowd, place } => {
                (place, crowd.message(&called, &about.place(crowd.at)), THIN_OUT.to_owned())
            }
        };
        problems.add(about.file, span, message, &remedy);
        return;
    }
    if enclosed(&stroke.curves) < 0.0 {
        stroke.reverse();
        repairs.turned += 1;
    }
}

/// Every kind of repair, counted.
fn say(repairs: &Repairs, about: &About<'_>, notes: &mut Vec<String>) {
    let times = |count: usize, one: &str, many: &str| format!("{count} {}", if count == 1 { one } else { many });
    if repairs.turned > 0 {
        notes.push(
            times(repairs.turned, "outline runs clockwise and is", "outlines run clockwise and are")
                + " walked the other way",
        );
    }
    if repairs.repeated > 0 {
        notes.push(times(repairs.repeated, "repeated point dropped", "repeated points dropped"));
    }
    let mut note = |(count, largest): (usize, f64), one: &str, many: &str| {
        if count > 0 {
            notes.push(format!("{}, the largest {}", times(count, one, many), about.length(largest)));
        }
    };
    note(repairs.gaps, "hairline gap closed", "hairline gaps closed");
    note(repairs.spikes, "spike cut off", "spikes cut off");
    note(
        repairs.crossings,
        "small loop cut off where the outline crosses itself",
        "small loops cut off where the outline crosses itself",
    );
}

/// Gives outlines without a name their number, and repeated names one behind them.
fn name_apart(strokes: &mut [Stroke]) {
    let mut known = BTreeSet::new();
    for (index, stroke) in strokes.iter_mut().enumerate() {
        let given = std::mem::take(&mut stroke.name);
        stroke.name = if given.is_empty() { format!("{}", index + 1) } else { given.clone() };
        if !known.insert(stroke.name.clone()) {
            stroke.name = format!("{given} {}", index + 1);
            known.insert(stroke.name.clone());
        }
    }
}

fn as_loop(stroke: Stroke, scale: f64) -> Loop {
    let map = Affine::scale(scale, scale);
    let start = stroke.places.iter().map(|place| place.start).min();
    let end = stroke.places.iter().map(|place| place.end).max();
    Loop {
        name: stroke.name,
        layer: stroke.layers.innermost(),
        // A valid outline is never moved: not even multiplied by one.
        curves: if scale == 1.0 { stroke.curves } else { stroke.curves.iter().map(|curve| map.curve(curve)).collect() },
        place: start.zip(end).map(|(start, end)| start..end),
    }
}
