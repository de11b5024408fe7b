//! Inertia as rows of a report.

use super::{EDGE_COEFFICIENT, Inertia, PRESSURE_COEFFICIENT, flow_change};
use crate::base::row::{Kind, Row, Section};
use crate::input::case::{Ends, Fluid};
use crate::theory::ideal::{DriveState, Probes};

impl Inertia {
    /// Coefficients, the change of the flow, and the corrected pattern at the probes.
    pub fn section(&self, probes: &Probes, drive: &DriveState, ends: Ends, fluid: &Fluid) -> Section {
        let change = match ends {
            Ends::HeldPressure => flow_change(probes.space, self),
            Ends::GivenInflow => 0.0,
        };
        let mut rows = vec![
            Row::new("order", "order in Re*", if self.second.is_some() { 2 } else { 1 }, Kind::Number),
            Row::new("pressure_coefficient", "coefficient of rho |V|^2 in p1", PRESSURE_COEFFICIENT, Kind::Number)
                .digits(6),
            Row::new("edge_coefficient", "edge coefficient C1", EDGE_COEFFICIENT, Kind::Number).digits(7),
            Row::new(
                "edge_number",
                "edge number b^2 max|dV_s/ds|/nu",
                self.edge_number(probes.space, fluid),
                Kind::Number,
            )
            .digits(3)
            .means(
                "how far the series goes along edges: from 1.5 on the second order no longer decides; it goes as Re*",
                "this program",
                "",
            ),
            Row::new("flow_change", "change of the flow at the same drop", change, Kind::Percent).digits(2),
        ];
        if let Some(next) = &self.next_part {
            rows.push(
                Row::new("next_edge_share", "next edge term over V1", self.share(probes.space, next), Kind::Percent)
                    .digits(2)
                    .means(
                        "root mean square of the next term of the edge layer's inertia over that of V1, three gaps from edges; how it weakens \
                         where the curvature is of the order of the gap is a fit to three-dimensional solutions past round posts", "this program", ""),
            );
        }
        if let Some(second) = &self.second {
            rows.push(
                Row::new(
                    "second_share",
                    "second order over first",
                    self.share(probes.space, &second.correction),
                    Kind::Percent,
                )
                .digits(2)
                .means(
                    "root mean square of V2 over that of V1 in the gap mean, three gaps from edges",
                    "",
                    "",
                ),
            );
        }
        let speed = drive.mean_speed;
        let pressure = probes.scalar(&self.pressure);
        let mean = probes.vector(&self.mean_velocity());
        let middle = probes.vector(&self.layer(0.0));
        let plate = probes.vector(&self.near_plate());
        let entries = (0..probes.places.len()).map(|k| {
            let name = probes.named[k].0;
            let mut rows = vec![
                probes.name(k),
                Row::new("pressure_pa", "p1", pressure[k], Kind::Pressure)
                    .digits(5)
                    .followed(format!("inertia.probe.{name}.pressure"), Some(1e-9 * drive.pressure_drop.abs())),
            ];
            for (keys, head, velocity, by) in [
                (["mean_speed_ratio", "mean_angle_deg"], "gap mean over U", mean[k], speed),
                (["midplane_speed_ratio", "midplane_angle_deg"], "mid-gap over 3U/2", middle[k], 1.5 * speed),
                (["near_plate_speed_ratio", "near_plate_angle_deg"], "near the plates", plate[k], speed),
            ] {
                let [ratio, angle] = probes.speed_and_angle(keys, [head, "direction"], velocity, by);
                let followed = keys[0] == "midplane_speed_ratio";
                let quantity = format!("inertia.probe.{name}.midplane_speed_ratio");
                rows.push(if followed { ratio.followed(quantity, Some(1e-8)) } else { ratio });
                rows.push(angle);
            }
            rows
        });
        let table = Section::table("probes", "", entries);
        let note = "p1 = q1 - (27/35) rho |V|^2 is the change of the pressure by inertia alone, up to a constant: compare differences. Speed \
                    near the plates is over (3/2)(1 - zeta^2) U.";
        let parts =
            if probes.places.is_empty() { vec![table.at(crate::base::row::Detail::Script)] } else { vec![table] };
        Section::new(
            "inertia",
            if self.second.is_some() {
                "With inertia (second order in Re*)"
            } else {
                "With inertia (first order in Re*)"
            },
            rows,
        )
        .with(parts)
        .noted(vec![note.to_owned()])
    }
}
