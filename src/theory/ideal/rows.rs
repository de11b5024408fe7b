//! The ideal pattern as rows of a report.

use super::{Cycle, DriveState, Goal, Iterations, Pattern, ShapeFactor, Solved};
use crate::base::Point;
use crate::base::plane;
use crate::base::row::{Kind, Row, Section};
use crate::base::units::Dimension;
use crate::numerics::fem::Space;
use crate::numerics::mesh::Place;

/// What the shape factor is.
const DEFINITION: &str = "Q/(K dp) with K = b^3/(12 mu) at the middle of the cell; width/length for the empty cell";

/// Places of a mesh at which fields are read.
#[derive(Debug, Clone)]
pub struct Probes<'a> {
    /// The mesh.
    pub space: &'a Space,
    /// Name and place of each.
    pub named: Vec<(&'a str, Point)>,
    /// Triangle of each and its coordinates there.
    pub places: &'a [Place],
}

impl<'a> Probes<'a> {
    /// A nodal field at the probes.
    pub fn scalar(&self, field: &[f64]) -> Vec<f64> {
        self.places.iter().map(|&place| self.space.mesh.number_at(place, field)).collect()
    }

    /// A nodal vector field at the probes.
    pub fn vector(&self, field: &[[f64; 2]]) -> Vec<[f64; 2]> {
        self.places.iter().map(|&place| self.space.mesh.vector_at(place, field)).collect()
    }

    /// The row that names a probe, which opens its entry of every table.
    pub fn name(&self, probe: usize) -> Row {
        Row::new("name", "probe", self.named[probe].0.to_owned(), Kind::Number)
    }

    /// Size of a velocity over `by`, and its direction from +x, counter-clockwise, as rows.
    pub fn speed_and_angle(
        &self,
        keys: [&'static str; 2],
        names: [&'static str; 2],
        velocity: [f64; 2],
        by: f64,
    ) -> [Row; 2] {
        let speed = plane::length(velocity) / by;
        let angle = velocity[1].atan2(velocity[0]).to_degrees();
        [
            Row::new(keys[0], names[0], speed, Kind::Number).digits(5),
            Row::new(keys[1], names[1], angle, Kind::Degrees).digits(4),
        ]
    }
}

impl ShapeFactor {
    /// Value, bounds and allowance; `goal` is what was asked for.
    pub fn section(&self, goal: Goal) -> Section {
        // iteration stops far below the bracket; what is left is rounding of the sums
        let noise = Some(1e-12 * self.value.abs());
        let mut rows = vec![
            Row::new("value", "shape factor S", self.value, Kind::Number)
                .digits(9)
                .error(self.value * self.relative_half_width)
                .followed("shape_factor", noise),
            Row::new("lower", "guaranteed not below", self.lower, Kind::Number)
                .digits(9)
                .followed("shape_factor.lower", noise),
            Row::new("upper", "guaranteed not above", self.upper, Kind::Number)
                .digits(9)
                .followed("shape_factor.upper", noise),
            Row::new("relative_half_width", "half-width of the bounds", self.relative_half_width, Kind::Percent)
                .digits(3),
            Row::new("outline_allowance", "outline allowance", self.outline_allowance, Kind::Number).digits(3),
        ];
        let mut notes = vec![
            "The bounds hold for the polygon that is meshed; the outline allowance is what chords in place of curves can add to them, to \
             first order."
                .to_owned(),
        ];
        if let Goal::Error { relative, .. } = goal {
            rows.push(
                Row::new("target_relative_half_width", "half-width asked for", relative, Kind::Percent).digits(3),
            );
            if self.relative_half_width > relative {
                let times = crate::base::units::significant(self.relative_half_width / relative, 3);
                notes.push(format!("The half-width asked for was NOT reached: the bounds are {times} times too wide."));
            }
        }
        rows.push(Row::new("definition", "what it is", DEFINITION, Kind::Number));
        Section::new("shape_factor", "Conduction shape factor", rows).noted(notes)
    }
}

impl DriveState {
    /// Speed, flow, pressure drop and head.
    pub fn section(&self) -> Section {
        let rows = vec![
            Row::new("mean_speed_m_per_s", "mean speed U", self.mean_speed, Kind::Of(Dimension::Speed)),
            Row::new("flow_rate_m3_per_s", "flow rate Q", self.flow_rate, Kind::Of(Dimension::FlowRate)),
            Row::new("pressure_drop_pa", "pressure drop", self.pressure_drop, Kind::Pressure),
            Row::new("head_m", "head of the fluid itself", self.head, Kind::Of(Dimension::Length)),
        ];
        Section::new("drive", "Drive (ideal pattern)", rows.into_iter().map(|row| row.digits(6)).collect())
    }
}

impl Pattern {
    /// The pattern at the probes.
    pub fn probe_section(&self, probes: &Probes) -> Section {
        let (pressure, velocity) = (probes.scalar(&self.pressure), probes.vector(&self.velocity));
        let entries = (0..probes.places.len()).map(|k| {
            let (name, at) = probes.named[k];
            let length = |key, text, x: f64| Row::new(key, text, x, Kind::Of(Dimension::Length)).digits(5);
            let keys = ["speed_ratio", "angle_deg"];
            let speed = plane::length(velocity[k]);
            let [ratio, angle] =
                probes.speed_and_angle(keys, ["speed over U", "direction"], velocity[k], self.drive.mean_speed);
            vec![
                probes.name(k),
                length("x_m", "x", at[0]),
                length("y_m", "y", at[1]),
                Row::new("pressure_pa", "pressure", pressure[k], Kind::Pressure)
                    .digits(6)
                    .followed(format!("probe.{name}.pressure"), Some(1e-9 * self.drive.pressure_drop.abs())),
                Row::new("pressure_fraction", "of the drop", pressure[k] / self.drive.pressure_drop, Kind::Number)
                    .digits(6),
                Row::new("speed_m_per_s", "speed", speed, Kind::Of(Dimension::Speed)).digits(5),
                ratio.followed(format!("probe.{name}.speed_ratio"), Some(1e-8)),
                angle,
            ]
        });
        let title = "Probes, ideal pattern (speed averaged over the gap, direction from +x, counter-clockwise)";
        Section::table("probes", title, entries)
    }
}

impl Solved {
    /// How the equations were solved.
    pub fn section(&self) -> Section {
        let last = self.cycles.last().map_or(Iterations::default(), |cycle| cycle.iterations);
        let rows = vec![
            Row::new("iterations_pressure", "iterations for the pressure", last.pressure, Kind::Number),
            Row::new(
                "iterations_stream_function",
                "iterations for the stream function",
                last.stream_function,
                Kind::Number,
            ),
        ];
        let entry = |cycle: &Cycle| {
            vec![
                Row::new("triangles", "triangles", cycle.triangles, Kind::Number),
                Row::new("relative_half_width", "half-width of the bounds", cycle.relative_half_width, Kind::Percent)
                    .digits(3),
            ]
        };
        let cycles = Section::table("cycles", "Adaptive cycles", self.cycles.iter().map(entry));
        Section::new("solver", "Solver (none of these iterations where it is factorised)", rows).with(vec![cycles])
    }
}
