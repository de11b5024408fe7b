//! The report of a study: every number with its unit.

use crate::input::case::Ends;
use crate::report::report::{
    CaseId, CellSize, Cycle, DriveFacts, EdgeLayer as EdgeLayerFacts, EdgeLayerProbe, FluidProperties,
    Inertia as InertiaFacts, InertiaProbe, MeshFacts, ProbeValues, Program, Report, Reynolds, ShapeFactor, Solver,
    Timings,
};
use crate::study::Study;
use crate::theory::edge_layer::EdgeLayer;
use crate::theory::ideal::Goal;
use crate::theory::inertia::{EDGE_COEFFICIENT, Inertia, PRESSURE_COEFFICIENT, flow_change};

impl Study {
    /// The report, without the names of files and the time to write them.
    pub fn report(&self) -> Report {
        let (case, drive, shape) = (&self.case, &self.pattern.drive, &self.pattern.shape_factor);
        let mesh = &self.solved.space.mesh;
        Report {
            program: Program::default(),
            case: CaseId {
                title: case.title.clone(),
                file: case.file.display().to_string(),
                sha256: case.sha256.clone(),
            },
            cell: CellSize {
                length_m: case.cell.length,
                width_m: case.cell.width,
                gap_m: self.solved.space.reference_gap,
            },
            fluid: FluidProperties {
                name: case.fluid.name.clone(),
                density_kg_per_m3: case.fluid.density,
                viscosity_pa_s: case.fluid.viscosity,
            },
            mesh: MeshFacts {
                vertices: mesh.points.len(),
                triangles: mesh.triangles.len(),
                min_angle_deg: mesh.least_angle().to_degrees(),
                levels: mesh.coarser.len() + 1,
            },
            reynolds: Reynolds {
                obstacle: Some(self.reynolds.obstacle),
                gap: self.reynolds.gap,
                reduced: Some(self.reynolds.reduced),
                reference_length_m: Some(self.reynolds.reference_length),
            },
            drive: DriveFacts {
                mean_speed_m_per_s: drive.mean_speed,
                flow_rate_m3_per_s: drive.flow_rate,
                pressure_drop_pa: drive.pressure_drop,
                head_m: drive.head,
            },
            shape_factor: ShapeFactor {
                value: shape.value,
                lower: shape.lower,
                upper: shape.upper,
                relative_half_width: shape.relative_half_width,
                outline_allowance: shape.outline_allowance,
                target_relative_half_width: match self.goal {
                    Goal::Error { relative, .. } => Some(relative),
                    Goal::Triangles(_) => None,
                },
                ..ShapeFactor::default()
            },
            probes: self.probe_facts(),
            inertia: self.inertia.as_ref().map(|inertia| self.inertia_facts(inertia)),
            edge_layer: self.edge_layer.as_ref().map(|layer| self.edge_layer_facts(layer)),
            solver: Some(self.solver_facts()),
            warnings: self.warnings(),
            timings_s: Timings {
                mesh: self.spent.mesh.as_secs_f64(),
                solve: self.spent.solve.as_secs_f64(),
                write: 0.0,
                total: self.spent.total.as_secs_f64(),
            },
            files: Vec::new(),
            file_sizes_bytes: Vec::new(),
            more: Default::default(),
        }
    }

    fn probe_facts(&self) -> Vec<ProbeValues> {
        let values = self.probe_values();
        let of = self.case.probes.iter().zip(values).map(|(probe, value)| {
            let speed = value.velocity[0].hypot(value.velocity[1]);
            ProbeValues {
                name: probe.name.clone(),
                x_m: probe.at[0],
                y_m: probe.at[1],
                pressure_pa: value.pressure,
                pressure_fraction: value.pressure_fraction,
                speed_m_per_s: speed,
                speed_ratio: speed / self.pattern.drive.mean_speed,
                angle_deg: angle(value.velocity),
            }
        });
        of.collect()
    }

    fn inertia_facts(&self, inertia: &Inertia) -> InertiaFacts {
        let speed = self.pattern.drive.mean_speed;
        let pressure = self.at_probes(&inertia.pressure);
        let mean = self.vectors_at_probes(&inertia.mean_velocity());
        let middle = self.vectors_at_probes(&inertia.layer(0.0));
        let plate = self.vectors_at_probes(&inertia.near_plate());
        let ratio = |v: [f64; 2], by: f64| v[0].hypot(v[1]) / by;
        let probes = self.case.probes.iter().enumerate().map(|(k, probe)| InertiaProbe {
            name: probe.name.clone(),
            pressure_pa: pressure[k],
            mean_speed_ratio: ratio(mean[k], speed),
            mean_angle_deg: angle(mean[k]),
            midplane_speed_ratio: ratio(middle[k], 1.5 * speed),
            midplane_angle_deg: angle(middle[k]),
            near_plate_speed_ratio: ratio(plate[k], speed),
            near_plate_angle_deg: angle(plate[k]),
        });
        InertiaFacts {
            pressure_coefficient: PRESSURE_COEFFICIENT,
            edge_coefficient: EDGE_COEFFICIENT,
            flow_change: match self.case.drive.ends {
                Ends::HeldPressure => flow_change(&self.solved.space, inertia),
                Ends::GivenInflow => 0.0,
            },
            probes: probes.collect(),
        }
    }

    fn edge_layer_facts(&self, layer: &EdgeLayer) -> EdgeLayerFacts {
        let velocity = self.vectors_at_probes(&layer.velocity);
        let probes = self.case.probes.iter().zip(velocity).map(|(probe, v)| EdgeLayerProbe {
            name: probe.name.clone(),
            speed_ratio: v[0].hypot(v[1]) / layer.mean_speed,
            angle_deg: angle(v),
        });
        EdgeLayerFacts {
            displacement_thickness_m: layer.displacement_thickness,
            shape_factor: layer.shape_factor,
            moved_edges_shape_factor: self.moved.as_ref().and_then(|m| m.as_ref().ok()).map(|m| m.shape_factor),
            neglected_order: layer.neglected_order,
            probes: probes.collect(),
        }
    }

    /// A nodal vector field at the probes.
    fn vectors_at_probes(&self, field: &[[f64; 2]]) -> Vec<[f64; 2]> {
        let component = |k: usize| self.at_probes(&field.iter().map(|v| v[k]).collect::<Vec<f64>>());
        component(0).into_iter().zip(component(1)).map(|(x, y)| [x, y]).collect()
    }

    fn solver_facts(&self) -> Solver {
        let cycles = &self.solved.cycles;
        Solver {
            iterations_pressure: cycles.last().map_or(0, |c| c.iterations[0]),
            iterations_stream_function: cycles.last().map_or(0, |c| c.iterations[1]),
            cycles: cycles
                .iter()
                .map(|c| Cycle { triangles: c.triangles, relative_half_width: c.relative_half_width })
                .collect(),
        }
    }
}

/// Direction from +x, counter-clockwise positive, degrees.
fn angle(v: [f64; 2]) -> f64 {
    v[1].atan2(v[0]).to_degrees()
}
