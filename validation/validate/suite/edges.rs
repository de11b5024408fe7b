//! The first-order edge layer, its profile, and its variant with moved edges.

use super::closed_form::circle_in_channel;
use super::{Effort, Figure};
use crate::cells::{cell_of_gap, circle, study};
use twinplate::input::case::Ends::HeldPressure;
use twinplate::study::Study;
use twinplate::theory::edge_layer::moved::solve_moved;
use twinplate::theory::edge_layer::profile;
use twinplate::theory::edge_layer::{DISPLACEMENT, EdgeLayer, solve_edge_layer};

/// Named quantities of the edge layer.
pub fn figure(what: &str, with: &[f64], effort: Effort) -> Option<Figure> {
    match (what, with) {
        ("constant", &[]) => Some(Figure { value: DISPLACEMENT, error: 0.0 }),
        ("displacement", &[]) => Some(displacement()),
        ("duct", &[ratio]) => duct(ratio),
        ("post_dipole", &[ratio]) => post_dipole(ratio, effort),
        ("displacement_of_post", &[ratio]) => displacement_of_post(ratio, effort),
        _ => None,
    }
}

/// Integral of 1 - <u>/V over the distance from the edge, by Simpson's rule to 12 gaps, n = 12 t^4 so that the logarithm at the edge
/// does no harm. Error: the change from half the points, and exp(-12 pi) beyond.
fn displacement() -> Figure {
    let rule = |steps: usize| {
        let at = |k: usize| {
            let t = k as f64 / steps as f64;
            48.0 * t.powi(3) * (1.0 - profile::mean(12.0 * t.powi(4)))
        };
        let inner: f64 = (1..steps).map(|k| at(k) * if k % 2 == 1 { 4.0 } else { 2.0 }).sum();
        (at(0) + inner + at(steps)) / (3.0 * steps as f64)
    };
    let (coarse, value) = (rule(400), rule(800));
    Figure { value, error: (value - coarse).abs() + 1e-13 }
}

fn with_layer(study: &Study) -> Option<EdgeLayer> {
    let (space, operator) = (&study.solved.space, &study.solved.pair.pressure_operator);
    solve_edge_layer(space, operator, HeldPressure, &study.pattern, study.case.cell.inlet_width()).ok()
}

/// Flow factor of an empty duct of b/W: shape factor with the edge layer over the ideal one. Error: the first term that the layer of
/// one edge leaves out, (384/pi^5)(b/W) exp(-pi W/b), and rounding of the solver, 1e-9.
fn duct(ratio: f64) -> Option<Figure> {
    let (case, plan) = cell_of_gap(3.0, 1.0, &format!("{ratio:?}"), HeldPressure, "");
    let study = study(case, plan, 400, false);
    let value = with_layer(&study)?.shape_factor / study.pattern.shape_factor.value;
    let pi = std::f64::consts::PI;
    Some(Figure { value, error: 384.0 / pi.powi(5) * ratio * (-pi / ratio).exp() + 1e-9 })
}

/// Shape factor of a cell of length 1 and unit width round a post of diameter D, all edges moved into the fluid by delta.
fn moved_shape(diameter: f64, delta: f64) -> f64 {
    let width = 1.0 - 2.0 * delta;
    width / (1.5 + width * circle_in_channel((diameter + 2.0 * delta) / width)[0])
}

fn post_study(diameter: f64, gap: f64, triangles: usize) -> Study {
    let (case, plan) = cell_of_gap(1.5, 1.0, &format!("{gap:?}"), HeldPressure, &circle([0.75, 0.5], diameter));
    study(case, plan, triangles, false)
}

/// Dipole of a post over a^2 for b/a, from the variant with moved edges: a' such that the row of images gives the shape factor found.
/// Error: its bracket and what chords leave out (as the allowance of the unmoved post), and the ends, exp(-2 pi L/W) dL/W.
fn post_dipole(ratio: f64, effort: Effort) -> Option<Figure> {
    let diameter = 0.2;
    let study = post_study(diameter, 0.5 * diameter * ratio, 16 * effort.triangles);
    let layer = with_layer(&study)?;
    let moved = solve_moved(&study.case, &study.plan, &study.solved.space, &layer).ok()?;
    let walls = 1.0 - 2.0 * layer.displacement_thickness;
    let shape = |grown: f64| walls / (1.5 + walls * circle_in_channel(grown / walls)[0]);
    let (mut low, mut high) = (diameter, 1.5 * diameter);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if shape(middle) > moved.shape_factor { low = middle } else { high = middle }
    }
    let slope = (shape(low * 1.001) - shape(low * 0.999)) / (0.002 * low);
    let ends = (-3.0 * std::f64::consts::PI).exp() * circle_in_channel(low)[0] * moved.shape_factor.powi(2);
    let error = (moved.half_width + study.pattern.shape_factor.outline_allowance + ends) / slope.abs();
    Some(Figure { value: (low / diameter).powi(2), error: 2.0 * low / diameter * error / diameter })
}

/// delta*/b as the first-order term of a post and its side walls shows it: the change of the shape factor over the derivative of the
/// exact one as all edges move. Error: what four times the triangles change, and the ends as above.
fn displacement_of_post(ratio: f64, effort: Effort) -> Option<Figure> {
    let (diameter, gap) = (0.3, 0.15 * ratio);
    let h = 1e-4;
    let slope = (moved_shape(diameter, h) - moved_shape(diameter, -h)) / (2.0 * h);
    let run = |triangles: usize| {
        let study = post_study(diameter, gap, triangles);
        Some((with_layer(&study)?.shape_factor - study.pattern.shape_factor.value) / slope / gap)
    };
    let (coarse, value) = (run(4 * effort.triangles)?, run(16 * effort.triangles)?);
    let ends = (-3.0 * std::f64::consts::PI).exp();
    Some(Figure { value, error: (value - coarse).abs() + ends * value })
}
