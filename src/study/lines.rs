//! The lines of a case: values along them, their extremes, and the flow through them.

use super::Study;
use super::profile::{Known, LineFlow, Profile};
use super::sample::{Drive, InertiaFields, Sampler, edge_layer_columns};
use crate::base::Point;
use crate::base::plane::{between, distance, dot, left, way};
use crate::base::row::Section;
use crate::base::warning::{Code, Warning};
use crate::geometry::Plan;
use crate::input::case::{Case, Course, DriveQuantity, Line};
use std::borrow::Cow;

/// Parts of a line over which the velocity across it is summed.
const PARTS: usize = 20_000;
/// A stream function this near to that of a side wall, over Q, is that of the wall.
const AT_WALL: f64 = 1e-9;

impl Study {
    /// The fields of the study, with those of the corrections it was solved with.
    pub fn sampler(&self) -> Sampler<'_> {
        let (space, drive) = (&self.solved.space, &self.pattern.drive);
        let mut further = Vec::new();
        if let Some(inertia) = &self.inertia {
            let fields = InertiaFields {
                pressure: Cow::from(&inertia.pressure),
                mean: inertia.mean_velocity().into(),
                midplane: inertia.layer(0.0).into(),
                near_plate: inertia.near_plate().into(),
            };
            further.extend(fields.columns(drive.mean_speed));
        }
        if let Some(layer) = &self.edge_layer {
            further.extend(edge_layer_columns(Cow::from(&layer.velocity), layer.mean_speed));
        }
        Sampler::new(
            &space.mesh,
            space.locator(),
            self.case.cell.edge(),
            Drive { mean_speed: drive.mean_speed, pressure_drop: drive.pressure_drop },
            &self.pattern.pressure,
            &self.pattern.velocity,
            further,
        )
    }

    /// Values along the lines of the case, in their order.
    pub(super) fn along_lines(&self) -> Vec<Profile> {
        let sampler = self.sampler();
        let of = |line: &Line| {
            let (s, points): (Vec<f64>, Vec<Point>) = line.places(&self.plan)?.into_iter().unzip();
            let sampled = sampler.sample(&points);
            Some(Profile { line: line.clone(), s, points, sampled, flow: self.flow_through(line) })
        };
        self.case.lines.iter().filter_map(of).collect()
    }

    fn flow_through(&self, line: &Line) -> Option<LineFlow> {
        let Course::Straight { from, to } = line.course else { return None };
        if [from, to].into_iter().any(|at| self.plan.is_beyond_end(at, self.case.cell.edge())) {
            return None;
        }
        let (mesh, locator, drive) = (&self.solved.space.mesh, self.solved.space.locator(), &self.pattern.drive);
        // within a solid the nearest place of the fluid is on its edge, and the stream function is the same all along that
        let stream = |at: Point| mesh.number_at(locator.place(at, None), &self.pattern.stream_function);
        let ends = [stream(from), stream(to)];
        let (value, q) = (ends[1] - ends[0], drive.flow_rate);
        let at_wall = |of: f64| ends.iter().any(|psi| (psi - of).abs() <= AT_WALL * q.abs());
        let shape = &self.pattern.shape_factor;
        let known = if at_wall(0.0) && at_wall(q) {
            let given = match self.case.drive.quantity {
                DriveQuantity::PressureDrop(_) | DriveQuantity::Head(_) => [shape.lower, shape.upper],
                _ => [shape.value; 2],
            };
            let [a, b] = given.map(|bound| value * (bound / shape.value));
            Known::Within([a.min(b), a.max(b)])
        } else {
            Known::About((self.flow_across([from, to]) - value).abs() + shape.relative_half_width * q.abs())
        };
        Some(LineFlow { value, known })
    }

    /// Sum of b V across a straight line, from its left to its right, m3/s.
    fn flow_across(&self, [from, to]: [Point; 2]) -> f64 {
        let step = distance(from, to) / PARTS as f64;
        let points: Vec<Point> = (0..PARTS).map(|k| between(from, to, (k as f64 + 0.5) / PARTS as f64)).collect();
        let space = &self.solved.space;
        let places = space.locator().places(&points, self.case.cell.edge());
        let right = left(way(to, from)).map(|x| x / distance(from, to));
        let part = |(p, place): (&Point, &Option<_>)| {
            place.map_or(0.0, |place| {
                self.case.cell.gap.at(*p) * dot(right, space.mesh.vector_at(place, &self.pattern.velocity))
            })
        };
        step * points.iter().zip(&places).map(part).sum::<f64>()
    }

    /// Extremes along the lines, and the flow through them.
    pub(super) fn line_section(&self) -> Section {
        let title = "Lines, ideal pattern (s from their start or the front of the outline; extremes of their points)";
        Section::table("lines", title, self.profiles.iter().map(|profile| profile.rows(self.pattern.drive.flow_rate)))
    }
}

/// Which lines are cut by solids or leave the cell.
pub(super) fn cut_lines(case: &Case, plan: &Plan) -> Vec<Warning> {
    let note = |line: &Line| {
        let places = line.places(plan)?;
        let outside = places.iter().filter(|(_, at)| !plan.holds(*at, case.cell.edge())).count();
        (outside > 0).then(|| {
            let (name, all) = (&line.name, places.len());
            let message =
                format!("the line \"{name}\" is cut: {outside} of its {all} points lie in solids or outside the cell and have no values");
            Warning::note(Code::LineCutBySolid, message)
        })
    };
    case.lines.iter().filter_map(note).collect()
}
