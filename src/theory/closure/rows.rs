//! The closure as rows of a report and as fields of a file.

use super::{Closure, Compared, Comparison, Departure, PER_GAP};
use crate::base::field::{Field, Fields};
use crate::base::plane;
use crate::base::row::{Kind, Row, Section};
use crate::base::units::Dimension;
use crate::theory::ideal::Probes;

/// What is said of the closure's fields.
const MEANING: &str = "flow by the closure (54/35) rho (V.grad)V = -grad p + (6/5) mu lap V - (12 mu/b^2) V, averaged over the gap, no slip \
on obstacles: valid up to their edges; ideal_velocity is that of ideal flow on the same mesh, slow_velocity that without inertia";

impl Closure {
    /// The mesh, the flow at the probes, and how it stands to the series. `ideal` is the ideal velocity at the probes and `departure` what
    /// the closure adds there, m/s.
    pub fn section(
        &self,
        probes: &Probes,
        ideal: &[[f64; 2]],
        departure: &Departure,
        mean_speed: f64,
        against: Option<&Comparison>,
    ) -> Section {
        let mesh = &self.space.mesh;
        let rows = vec![
            Row::new("triangles", "triangles of its mesh", mesh.triangles.len(), Kind::Number),
            Row::new("elements_per_gap", "elements in a gap at obstacles", PER_GAP, Kind::Number).digits(2),
            Row::new("iterations", "iterations", self.iterations, Kind::Number).full(),
        ];
        let entries = (0..probes.named.len()).map(|k| {
            let slow = plane::sums(&[ideal[k]], &[departure.edge_layer[k]])[0];
            let whole = plane::sums(&[slow], &[departure.inertia[k]])[0];
            let of = |keys, names, velocity| probes.speed_and_angle(keys, names, velocity, mean_speed);
            let seen = of(["speed_ratio", "angle_deg"], ["gap mean over U", "direction"], whole);
            let without = of(["slow_speed_ratio", "slow_angle_deg"], ["without inertia", "direction"], slow);
            let rows = seen.into_iter().chain(without.map(Row::full));
            std::iter::once(probes.name(k)).chain(rows).collect()
        });
        let mut parts = vec![Section::table("probes", "", entries)];
        if let Some(against) = against {
            let entries = against.parts.iter().map(Compared::rows);
            parts.push(Section::table("against_series", "Beside the series, gap mean, rms over U", entries));
        }
        let title = "By the closure (in-plane viscosity, no slip on obstacles, third order in Re*)";
        let mut section = Section::new("closure", title, rows).with(parts);
        if let Some(against) = against {
            section.rows.push(Row::new("text", "", against.text(), Kind::Number));
        }
        section
    }

    /// Velocity with all orders, without inertia, and ideal.
    pub fn fields(&self) -> Fields<'_> {
        Fields {
            vertices: vec![
                Field::scalar("stream_function", "m3/s", &self.stream_function),
                Field::plane("velocity", "m/s", self.velocity()),
                Field::plane("slow_velocity", "m/s", &self.orders[0]),
                Field::plane("ideal_velocity", "m/s", &self.ideal),
            ],
            triangles: Vec::new(),
            meaning: vec![MEANING],
        }
    }
}

impl Compared {
    fn rows(&self) -> Vec<Row> {
        let percent = |key, name, value: f64| Row::new(key, name, value, Kind::Percent).digits(2);
        let [x, y] = self.largest_at;
        vec![
            Row::new("name", "effect", self.part.key(), Kind::Number),
            percent("closure_rms", "closure", self.closure),
            percent("numerical_error", "its numerical error", self.error).means(
                "what extrapolation from this mesh and one of half as many elements in a gap changed, root mean square over the region",
                "this program",
                "",
            ),
            percent("series_rms", "series", self.series),
            percent("difference_rms", "difference", self.difference),
            percent("difference_max", "largest", self.largest),
            Row::new("difference_max_x_m", "at x", x, Kind::Of(Dimension::Length)).full(),
            Row::new("difference_max_y_m", "y", y, Kind::Of(Dimension::Length)).full(),
        ]
    }
}
