//! Free bubbles of a case: their paths through the ideal pattern, and the pattern with one in it.

use super::settings::Settings;
use super::shared::Shared;
use crate::base::field::{Field, Fields};
use crate::base::row::{Kind, Row, Section};
use crate::base::units::{Dimension, significant};
use crate::base::{Result, plane};
use crate::input::case::{Case, Ends, FreeBubble};
use crate::numerics::fem::Space;
use crate::theory::bubbles::{self, Air, Bubble, Patch, Path, follow, free_patch};
use crate::theory::ideal::{Goal, Pattern, Solved, Stage};
use std::sync::Arc;

/// The pattern at the moment at which a free bubble is let go.
#[derive(Debug)]
pub struct Patched {
    /// Its number among the bubbles of the case.
    pub bubble: usize,
    /// The mesh, with the bubble's disc cut out, and the pair on it.
    pub solved: Arc<Solved>,
    /// The pattern and the bubble's velocity.
    pub patch: Patch,
    /// Stream function seen from the bubble, m3/s; none where the gap varies.
    pub seen: Option<Vec<f64>>,
    /// Flow through the cell over that without the bubble.
    flow_ratio: f64,
}

/// Paths of the free bubbles through the ideal pattern, in a cell that slopes as the case's `[filling]` says.
pub(super) fn bubble_paths(case: &Case, space: &Space, pattern: &Pattern) -> Result<Vec<Path>> {
    let path = |bubble: &FreeBubble| {
        let FreeBubble { name, centre, diameter, .. } = bubble.clone();
        follow(space, pattern, &Bubble { name, centre, diameter }, &air(case, bubble))
    };
    case.bubbles.iter().map(path).collect()
}

fn air(case: &Case, bubble: &FreeBubble) -> Air {
    let filling = &case.filling;
    Air {
        tension: filling.surface_tension,
        density_difference: case.fluid.density,
        tilt: filling.uphill.map(|part| part * filling.tilt.sin()),
        films: bubble.films,
    }
}

/// The pattern with each bubble whose `patch` is asked for, at the pressure drop, or the flow, of `pattern`.
pub(super) fn patches(case: &Case, space: &Space, pattern: &Pattern, shared: &Shared) -> Result<Vec<Patched>> {
    let wanted = case.bubbles.iter().enumerate().filter(|(_, bubble)| bubble.patch);
    wanted.map(|one| patched(case, space, pattern, one, shared)).collect()
}

fn patched(
    case: &Case,
    space: &Space,
    pattern: &Pattern,
    (k, bubble): (usize, &FreeBubble),
    shared: &Shared,
) -> Result<Patched> {
    let plan = Arc::new(space.mesh.plan.with_bubble(&bubble.name, bubble.centre, bubble.diameter));
    let disc = plan.obstacles.len() as u32 - 1;
    let goal = Some(Goal::Triangles(space.mesh.triangles.len()));
    let unit = shared.solution(case, &plan, Settings { goal, ..Settings::default() }, &|_: Stage| {})?;
    let solved = unit.solved.clone();
    let drop = match case.drive.ends {
        Ends::HeldPressure => pattern.drive.pressure_drop,
        Ends::GivenInflow => unit.pattern.drive.pressure_drop * (case.fluid.viscosity * pattern.drive.mean_speed),
    };
    let patch = free_patch(&solved.space, &solved.pair, drop, case.fluid.viscosity, disc, &air(case, bubble))?;
    Ok(Patched {
        bubble: k,
        seen: space.uniform_gap().then(|| patch.in_its_frame(&solved.space)),
        flow_ratio: patch.flow_rate / pattern.drive.flow_rate,
        patch,
        solved,
    })
}

impl Patched {
    /// What stands in its file.
    pub fn fields(&self) -> Fields<'_> {
        let mut vertices = vec![
            Field::scalar("pressure", "Pa", &self.patch.pressure),
            Field::scalar("stream_function", "m3/s", &self.patch.stream_function),
            Field::plane("velocity", "m/s", &self.patch.flow),
        ];
        vertices.extend(self.seen.as_ref().map(|seen| Field::scalar("stream_function_from_bubble", "m3/s", seen)));
        let meaning = "one moment: the pattern changes as the bubble goes; stream_function_from_bubble: what one sees who goes with it";
        Fields { vertices, triangles: Vec::new(), meaning: vec![meaning] }
    }

    fn rows(&self) -> Vec<Row> {
        let [u, v] = self.patch.velocity;
        let speed = plane::length([u, v]);
        vec![
            Row::new("patch_speed_m_per_s", "speed beside walls", speed, Kind::Of(Dimension::Speed)).full().means(
                "the velocity at which pressure, weight and films on the bubble's disc balance, everything near it included",
                "Taylor & Saffman 1959 for the balance; solved here",
                "round; the moment at which it is let go",
            ),
            Row::new("patch_angle_deg", "its direction", v.atan2(u).to_degrees(), Kind::Degrees).full(),
            Row::new("patch_flow_ratio", "flow with it over that without", self.flow_ratio, Kind::Number).full(),
        ]
    }
}

/// The section on free bubbles, with what was found of them.
pub(super) fn section(paths: &[Path], patched: &[Patched]) -> Section {
    let mut section = bubbles::section(paths);
    for found in patched {
        section.parts[found.bubble].rows.extend(found.rows());
        let speed = Dimension::Speed.show_to(plane::length(found.patch.velocity), 3);
        section.notes.push(format!(
            "\"{}\" with the flow that it changes itself goes at {speed}, {} deg from x: a picture taken as it passes is unsteady, and its dye lines \
             are none of the lines of that moment.",
            paths[found.bubble].bubble.name,
            significant(found.patch.velocity[1].atan2(found.patch.velocity[0]).to_degrees(), 3)
        ));
    }
    section
}
