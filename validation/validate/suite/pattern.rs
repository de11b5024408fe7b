//! The ideal pattern past a circle and a thin plate in a channel.

use super::{Effort, Figure};
use crate::cells::{cell, circle, ellipse, ladder_of, study};
use std::f64::consts::FRAC_PI_2;
use std::sync::Arc;
use twinplate::geometry::{Curve, Plan};
use twinplate::input::case::Ends::HeldPressure;
use twinplate::theory::ideal::{Goal, first_size_field};

/// Named quantities of the pattern.
pub fn figure(what: &str, with: &[f64], effort: Effort) -> Option<Figure> {
    match (what, with) {
        ("shoulder_speed", &[diameter]) => shoulder_speed(diameter, effort),
        ("thin_plate", &[length]) => Some(thin_plate(length, effort)),
        _ => None,
    }
}

/// Speed over U at the shoulder of a circle of diameter D in a channel of unit width, on three nested meshes with a vertex there.
/// and edges there half as long as the program would have them: a recovered speed is as good as the mesh at its place.
/// Error: all of what the last refinement changed, three times what second order leaves.
fn shoulder_speed(diameter: f64, effort: Effort) -> Option<Figure> {
    let (case, plan) = cell(3.0, 1.0, HeldPressure, &circle([1.5, 0.5], diameter));
    let plan = with_vertex_on_the_shoulder(&plan);
    let shoulder = [1.5, 0.5 + 0.5 * diameter];
    let field = first_size_field(&plan, &case, Goal::Triangles(effort.triangles)).ok()?;
    let field = field.with_sources(vec![(shoulder, 0.5 * field.at(shoulder))]);
    let speeds: Vec<f64> = ladder_of(&case, &plan, &field, effort.triangles, 3)
        .iter()
        .map(|grid| {
            let v = grid.vectors_at(&grid.pattern(&case).velocity, &[shoulder])[0];
            v[0].hypot(v[1]) / 1e-3
        })
        .collect();
    Some(Figure { value: speeds[2], error: (speeds[2] - speeds[1]).abs() })
}

/// The same plan with the joint of a circle's arc at its shoulder.
fn with_vertex_on_the_shoulder(plan: &Plan) -> Arc<Plan> {
    let mut plan = plan.clone();
    for piece in &mut plan.pieces {
        if let Curve::Arc { rotation, .. } = &mut piece.curve {
            *rotation += FRAC_PI_2;
        }
    }
    Arc::new(plan)
}

/// Added length of a plate across a channel of unit width: ellipses of half-thickness A tend to it as dL0 + c1 A + c2 A^2 + ...
/// Value: the parabola through A = 0.01, 0.02, 0.03 of the half-length times 4 carried to 0. Error: brackets and allowances,
/// weighted as the values are, and the next term, what the parabola adds to the straight line times 3 A over the half-length.
fn thin_plate(length: f64, effort: Effort) -> Figure {
    let (half, a) = (0.5 * length, 0.02 * length);
    let added = |k: f64| {
        let (case, plan) = cell(3.0, 1.0, HeldPressure, &ellipse([1.5, 0.5], [k * a, half], 0.0));
        let shape = study(case, plan, 30 * effort.triangles, false).pattern.shape_factor;
        let error = (0.5 * (shape.upper - shape.lower) + shape.outline_allowance) / shape.value.powi(2);
        (1.0 / shape.value - 3.0, error)
    };
    let [(f1, e1), (f2, e2), (f3, e3)] = [1.0, 2.0, 3.0].map(added);
    let (line, parabola) = (2.0 * f1 - f2, 3.0 * f1 - 3.0 * f2 + f3);
    let next = (parabola - line).abs() * 3.0 * a / half;
    Figure { value: parabola, error: 3.0 * e1 + 3.0 * e2 + e3 + next }
}
