//! Air that stays: what holds it, when it leaves, and its outline for a case.

use crate::base::Point;
use crate::base::plane::{self, distance};
use crate::geometry::kerf::moved;
use crate::geometry::{Curve, Side};
use crate::numerics::fem::Space;
use crate::study::Study;
use crate::theory::bubbles::{behind_post, travel_speed};
use crate::theory::wetting::Conditions;
use std::f64::consts::PI;

/// Air nearer to a solid than this part of its own size is held by it.
const TOUCHES: f64 = 0.1;
/// Part of the gap by which outlines of air stand off solids, so that they can be obstacles of a case.
const OFF: f64 = 0.1;

/// The obstacle or wall that air touches, by name, and half its extent across the flow, m.
pub(super) fn owner(space: &Space, rims: &[Vec<Point>]) -> Option<(String, f64)> {
    let size = rims.iter().map(|rim| plane::polygon_area(rim).abs()).sum::<f64>().sqrt();
    let plan = &space.mesh.plan;
    let nearest = space
        .solid_edges()
        .map(|edge| {
            let off = rims.iter().flatten().map(|&p| distance(p, edge.middle)).fold(f64::INFINITY, f64::min);
            (off - 0.5 * edge.length, edge.side)
        })
        .min_by(|a, b| a.0.total_cmp(&b.0))?;
    let (off, side) = nearest;
    let (name, half) = match side {
        Side::Obstacle(k) => plan.obstacles.get(k as usize).map(|found| (found.name.clone(), 0.5 * found.height))?,
        other => (plan.name_of(other), 0.0),
    };
    (off <= TOUCHES * size).then_some((name, half))
}

/// Mean speed over the inlet above which the flow takes held air along, m/s: that of a round bubble of its area, larger in the lee of an
/// obstacle of half extent `half`.
pub(super) fn leaves_above(study: &Study, conditions: &Conditions, area: f64, half: Option<f64>) -> f64 {
    let filling = &study.case.filling;
    let radius = (area / PI).sqrt();
    let difference = filling.receding_angle.cos() - filling.advancing_angle.cos();
    let free = travel_speed(conditions.tension, difference, conditions.gap, conditions.viscosity, radius);
    free * half.filter(|half| *half > 0.0).map_or(1.0, |half| behind_post(radius, half))
}

/// An outline of air, a tenth of a gap inside itself; as it is where nothing would be left of it.
pub(super) fn off_solids(outline: &[Point], gap: f64) -> Vec<Vec<Point>> {
    let n = outline.len();
    let sides: Vec<Curve> = (0..n).map(|k| Curve::Line { from: outline[k], to: outline[(k + 1) % n] }).collect();
    let places = |curves: Vec<Curve>| -> Vec<Point> {
        let parts = |curve: &Curve| if matches!(curve, Curve::Line { .. }) { vec![0.0] } else { vec![0.0, 0.5] };
        curves.iter().flat_map(|curve| parts(curve).into_iter().map(|t| curve.point(t))).collect()
    };
    match moved(&sides, -OFF * gap) {
        Ok(found) => found.into_iter().map(places).collect(),
        Err(_) => vec![outline.to_vec()],
    }
}
