//! What the comparison comes to, in a few sentences.

use super::against::Against;
use super::explain::{Fit, IDENTIFIABLE};
use super::obstacles::Found;
use super::worst::Worst;
use crate::base::Point;
use crate::base::units::{significant, with_error};
use crate::base::warning::{Code, Warning};
use crate::theory::departure::Effect;

/// Map modes beyond so many of their standard deviations contradict the lines.
const DISAGREE: f64 = 2.0;
/// Part of the noise that the mesh may add.
const MESH: f64 = 1.0 / 3.0;
/// Standard errors that make an amplitude differ from one.
const SURE: f64 = 4.0;
/// What is left over the errors known of, below which nothing is left to explain.
const NOTHING: f64 = 2.0;

/// What goes into the verdict.
#[derive(Debug, Clone, Copy)]
pub struct Evidence<'a> {
    /// Against the ideal pattern, nothing fitted but levels.
    pub ideal: &'a Against,
    /// The amplitudes of the effects; columns of effects have the keys of [`Effect::key`].
    pub fit: &'a Fit,
    /// The obstacles, where asked for.
    pub obstacles: &'a [Found],
    /// The worst place with every effect as predicted.
    pub worst: Option<&'a Worst>,
    /// Standard deviation of the map, root mean square, m; none where places were given in the cell.
    pub map_sigma: Option<f64>,
    /// Displacement thickness of the edge layer, m.
    pub displacement: f64,
    /// Numerical error of shifts, m.
    pub numerical: f64,
}

/// The verdict.
#[derive(Debug, Clone, PartialEq)]
pub struct Verdict {
    /// In words.
    pub text: String,
    /// Whether the effects of the budget, near their predicted sizes, leave nothing beyond the errors known of.
    pub explained: bool,
    /// What nobody can tell apart from lines alone: always said.
    pub alike: Vec<String>,
    /// What weakens it.
    pub warnings: Vec<Warning>,
}

/// Forms the verdict.
pub fn verdict(evidence: &Evidence) -> Verdict {
    let Evidence { ideal, fit, obstacles, worst, map_sigma, displacement, .. } = *evidence;
    let mut text = format!(
        "Departs from ideal by {} rms ({} at {})",
        mm(ideal.shift.rms),
        mm(ideal.shift.largest),
        place(ideal.shift.largest_at)
    );
    text += &format!(", ± {} line finding", mm(fit.noise));
    if let Some(map) = map_sigma {
        text += &format!(", ± {} map", mm(map));
    }
    text += ".";
    let moved: Vec<String> = obstacles.iter().filter_map(Found::told).collect();
    for sentence in &moved {
        text += &format!(" {}.", capital(sentence));
    }
    let effects: Vec<_> = Effect::ALL.iter().filter_map(|effect| Some((effect, fit.of(effect.key())?))).collect();
    let errors = fit.noise.hypot(map_sigma.unwrap_or(0.0));
    let seen = |predicted: f64| predicted > 0.5 * errors;
    let mut fits = true;
    for (effect, of) in effects.iter().filter(|(_, of)| seen(of.predicted_rms)) {
        let name = format!("{}{}", if **effect == Effect::Gap { "an " } else { "the " }, effect.name());
        if of.identifiable < IDENTIFIABLE {
            let like = of.like.as_deref().unwrap_or("others");
            text += &format!(" {} cannot be told apart from {like}.", capital(&name));
            continue;
        }
        fits &= (of.value - 1.0).abs() <= SURE * of.sigma;
        text += &format!(
            " {} explains {} % of it (size {} of the predicted)",
            capital(&name),
            (100.0 * of.explained).round().max(0.0),
            with_error(of.value, of.sigma)
        );
        if **effect == Effect::EdgeLayer {
            text += &format!("; a radius larger by {} would look the same", mm(displacement));
        }
        text += ".";
    }
    let stretches = fit.chi * fit.noise;
    let nothing = stretches <= NOTHING * errors && worst.is_none();
    match worst {
        Some(worst) => {
            let stands = |near: &str| obstacles.iter().any(|found| found.name == near && found.told().is_some());
            let of_it = worst.near.as_ref().is_some_and(|(name, _)| stands(name));
            let shift = mm(worst.shift.abs());
            let head = if of_it { format!("It shows most, with {shift},") } else { format!("Unexplained: {shift}") };
            text += &format!(" {head} at {} on line {}", place(worst.at), worst.line);
            if let Some((name, distance)) = &worst.near {
                text += &format!(", {} from \"{name}\"", mm(*distance));
            }
            text += ".";
        }
        None => text += &format!(" Nothing else is above {}.", mm(stretches.max(0.5 * errors))),
    }
    Verdict {
        text,
        explained: nothing && fits && moved.is_empty(),
        alike: alike(displacement),
        warnings: warnings(evidence),
    }
}

/// What lines cannot tell apart, whatever their quality.
fn alike(displacement: f64) -> Vec<String> {
    vec![
        format!("the edge layer looks like every radius larger by {}", mm(displacement)),
        "all obstacles moved together look like the frame moved the other way".to_owned(),
        "a gap that tapers across an empty cell looks like nothing, and along a cell like little".to_owned(),
        "the speed of the flow looks like nothing: lines of one speed are those of any".to_owned(),
    ]
}

fn warnings(evidence: &Evidence) -> Vec<Warning> {
    let Evidence { fit, map_sigma, numerical, .. } = *evidence;
    let mut warnings = Vec::new();
    if let (Some(map), Some(edge)) = (map_sigma, fit.of(Effect::EdgeLayer.key()))
        && map > edge.predicted_rms
    {
        let (map, layer) = (mm(map), mm(edge.predicted_rms));
        let matter =
            format!("this picture cannot decide: its map is good to {map}, and the edge layer shifts lines by {layer}");
        warnings.push(Warning::new(Code::MapTooPoor, matter, "use more marks, placed better"));
    }
    if let Some(z) = fit.prior_z.filter(|&z| z > DISAGREE) {
        let matter = format!("marks and lines disagree: the lines move the map by {z:.1} of its standard deviations");
        let remedy = "look at marks.png, and measure the places of the marks again";
        warnings.push(Warning::new(Code::MarksAgainstLines, matter, remedy).value(z));
    }
    if numerical > MESH * fit.noise {
        let (mesh, noise) = (mm(numerical), mm(fit.noise));
        let matter = format!("the mesh adds {mesh} to shifts, more than a third of the {noise} of line finding");
        warnings.push(Warning::new(Code::MeshTooCoarse, matter, "use a finer mesh"));
    }
    for column in fit.columns.iter().filter(|c| c.predicted_rms > fit.noise && c.identifiable < IDENTIFIABLE) {
        let like = column.like.as_deref().unwrap_or("the others");
        let matter = format!("{} cannot be told apart from {like}", column.name);
        warnings.push(Warning::new(Code::LooksAlike, matter, "trace lines on both sides of every obstacle"));
    }
    warnings
}

fn mm(length: f64) -> String {
    format!("{} mm", significant(1e3 * length, 2))
}

fn place(at: Point) -> String {
    format!("x = {:.0} mm, y = {:.0} mm", 1e3 * at[0], 1e3 * at[1])
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}
