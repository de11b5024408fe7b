//! The ideal pattern in SI units: the pair scaled to the case's drive, nodal velocities, values at any place.
//!
//! `V = −(b²/12 μ) ∇p` and `b V = curl ψ = (dpsi/dy, −dpsi/dx)`: the nodal velocity is the mean of both, each from a
//! recovered gradient of second order. On solid edges the stream function alone is used, since it is exact there, and the normal
//! part is removed.

use super::Pair;
use super::allowance::outline_allowance;
use crate::base::plane;
use crate::base::units::GRAVITY;
use crate::geometry::{Piece, Plan, Side};
use crate::input::case::{Case, DriveQuantity, Fluid, Gap};
use crate::numerics::fem::{Model, Space, gradient};
use rayon::prelude::*;

/// Shape factor Q/(K0 dp) with its guaranteed bounds on the polygonal domain; W/L for an empty cell of uniform gap.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ShapeFactor {
    /// Middle of the bounds.
    pub value: f64,
    /// Lower bound.
    pub lower: f64,
    /// Upper bound.
    pub upper: f64,
    /// Half the distance of the bounds over the value.
    pub relative_half_width: f64,
    /// What replacing curves by chords can add, to first order, in units of the shape factor.
    pub outline_allowance: f64,
}

impl ShapeFactor {
    /// Half the distance of the bounds.
    pub fn half_width(&self) -> f64 {
        0.5 * (self.upper - self.lower)
    }
}

/// Fluid angle above which a corner is a knife edge, near which the ideal speed has no limit worth a number, rad: a solid angle below
/// 18 degrees.
pub const KNIFE_EDGE: f64 = 1.9 * std::f64::consts::PI;

/// The state the drive sets.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DriveState {
    /// Mean speed over the inlet U, m/s.
    pub mean_speed: f64,
    /// Volumetric flow rate Q, m3/s.
    pub flow_rate: f64,
    /// Pressure drop between the ends, Pa; with given inflow the dissipation over Q.
    pub pressure_drop: f64,
    /// The same as a head of the fluid, m.
    pub head: f64,
}

/// The ideal pattern at the vertices of a mesh, in SI units.
#[derive(Debug)]
pub struct Pattern {
    /// The shape factor.
    pub shape_factor: ShapeFactor,
    /// The state the drive sets.
    pub drive: DriveState,
    /// The fluid.
    pub fluid: Fluid,
    /// Pressure, Pa; its mean over the outlet is zero.
    pub pressure: Vec<f64>,
    /// Stream function, m3/s: 0 on the lower wall, Q on the upper.
    pub stream_function: Vec<f64>,
    /// Gap-averaged velocity, m/s.
    pub velocity: Vec<[f64; 2]>,
}

/// Values at a place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ProbeValue {
    /// Pressure, Pa.
    pub pressure: f64,
    /// Pressure over the pressure drop.
    pub pressure_fraction: f64,
    /// Gap-averaged velocity, m/s.
    pub velocity: [f64; 2],
}

impl Pattern {
    /// The pattern of the pair at the drive of the case. `reference_length` is the obstacle length used where the drive is given as a
    /// Reynolds number, m.
    pub fn new(space: &Space, pair: &Pair, case: &Case, reference_length: f64) -> Self {
        Pattern::unit(space, pair, case).scaled(space, case, reference_length)
    }

    /// The pattern of the pair in the unit state ([`Case::in_unit_state`]), its velocities recovered; of the case gap and ends count.
    pub fn unit(space: &Space, pair: &Pair, case: &Case) -> Self {
        let value = 0.5 * (pair.lower + pair.upper);
        let unit = case.in_unit_state();
        let drive = drive_state(&unit, &space.mesh.plan, value, space.reference_gap, 1.0);
        let pressure = multiplied(&pair.pressure, drive.pressure_drop);
        let stream_function = multiplied(&pair.stream, drive.flow_rate);
        let velocity = nodal_velocity(space, &pressure, &stream_function);
        let slope = |vertex: usize| {
            let (v, b) = (velocity[vertex], space.gap[vertex]);
            plane::length(v) * 12.0 / (b * b * drive.pressure_drop)
        };
        let shape_factor = ShapeFactor {
            value,
            lower: pair.lower,
            upper: pair.upper,
            relative_half_width: 0.5 * (pair.upper - pair.lower) / value,
            outline_allowance: outline_allowance(space, slope),
        };
        Pattern { shape_factor, drive, fluid: unit.fluid, pressure, stream_function, velocity }
    }

    /// The same pattern at the drive and with the fluid of a case of the same gap and ends: V and ψ go as the mean speed, p as the pressure
    /// drop.
    pub fn scaled(&self, space: &Space, case: &Case, reference_length: f64) -> Pattern {
        let drive = drive_state(case, &space.mesh.plan, self.shape_factor.value, space.reference_gap, reference_length);
        let speed = drive.mean_speed / self.drive.mean_speed;
        Pattern {
            shape_factor: self.shape_factor,
            fluid: case.fluid.clone(),
            pressure: multiplied(&self.pressure, drive.pressure_drop / self.drive.pressure_drop),
            stream_function: multiplied(&self.stream_function, drive.flow_rate / self.drive.flow_rate),
            velocity: multiplied_vectors(&self.velocity, speed),
            drive,
        }
    }

    /// Gap-averaged velocity of each triangle, m/s: mean of the values from pressure and stream function.
    pub fn velocity_of_cells(&self, space: &Space) -> Vec<[f64; 2]> {
        (0..space.mesh.triangles.len())
            .into_par_iter()
            .map(|t| {
                let (vertices, corners) = (space.mesh.triangles[t], space.corners(t));
                let slope = |values: &[f64]| gradient(corners, vertices.map(|v| values[v as usize]));
                let b = vertices.iter().map(|&v| space.gap[v as usize]).sum::<f64>() / 3.0;
                mean_velocity(slope(&self.pressure), slope(&self.stream_function), b, self.fluid.viscosity)
            })
            .collect()
    }

    /// |V|/U at the vertices.
    pub fn speed_ratio(&self) -> Vec<f64> {
        self.velocity.par_iter().map(|v| (v[0] * v[0] + v[1] * v[1]).sqrt() / self.drive.mean_speed).collect()
    }

    /// Pressure coefficient 1 - (|V|/U)² of the inviscid flow with these streamlines (Bernoulli), at the vertices.
    pub fn pressure_coefficient(&self) -> Vec<f64> {
        let square = self.drive.mean_speed * self.drive.mean_speed;
        self.velocity.par_iter().map(|v| 1.0 - (v[0] * v[0] + v[1] * v[1]) / square).collect()
    }

    /// Values at a place given by its triangle and barycentric coordinates.
    pub fn at(&self, space: &Space, triangle: u32, weights: [f64; 3]) -> ProbeValue {
        let pressure = space.mesh.number_at((triangle, weights), &self.pressure);
        ProbeValue {
            pressure,
            pressure_fraction: pressure / self.drive.pressure_drop,
            velocity: space.mesh.vector_at((triangle, weights), &self.velocity),
        }
    }
}

/// A field times a number.
pub(crate) fn multiplied(field: &[f64], by: f64) -> Vec<f64> {
    field.iter().map(|x| x * by).collect()
}

/// A field of vectors times a number.
pub(crate) fn multiplied_vectors(field: &[[f64; 2]], by: f64) -> Vec<[f64; 2]> {
    field.iter().map(|v| v.map(|x| x * by)).collect()
}

/// Value of a linear vertex field.
pub fn interpolate(space: &Space, triangle: u32, weights: [f64; 3], values: &[f64]) -> f64 {
    space.mesh.number_at((triangle, weights), values)
}

/// Speeds, flow, pressure and head from the one given quantity: Q = S K0 dp, K0 = b0³/(12 μ), Q = U times the area of the plan's inlet.
pub fn drive_state(case: &Case, plan: &Plan, shape_factor: f64, gap: f64, reference_length: f64) -> DriveState {
    let Fluid { density, viscosity, .. } = case.fluid;
    let nu = viscosity / density;
    let inlet_area = inlet_area(plan, &case.cell.gap);
    let conductance = shape_factor * gap.powi(3) / (12.0 * viscosity);
    let flow_rate = match case.drive.quantity {
        DriveQuantity::MeanSpeed(u) => u * inlet_area,
        DriveQuantity::FlowRate(q) => q,
        DriveQuantity::PressureDrop(dp) => conductance * dp,
        DriveQuantity::Head(h) => conductance * density * GRAVITY * h,
        DriveQuantity::ReducedReynolds(re) => re * nu * reference_length / (gap * gap) * inlet_area,
        DriveQuantity::ObstacleReynolds(re) => re * nu / reference_length * inlet_area,
        DriveQuantity::GapReynolds(re) => re * nu / gap * inlet_area,
    };
    let pressure_drop = flow_rate / conductance;
    DriveState {
        mean_speed: flow_rate / inlet_area,
        flow_rate,
        pressure_drop,
        head: pressure_drop / (density * GRAVITY),
    }
}

/// Integral of the gap over the inlet, m2, by Simpson's rule on so many parts of each piece (exact for gaps up to cubic along straight ones).
pub fn inlet_area(plan: &Plan, gap: &Gap) -> f64 {
    const PARTS: usize = 128;
    let of = |piece: &Piece| {
        let speed = |s: f64| plane::length(piece.curve.derivative(piece.parameter(s))) * (piece.to - piece.from).abs();
        let at = |k: usize| {
            let s = k as f64 / (2 * PARTS) as f64;
            gap.at(piece.point(s)) * speed(s)
        };
        let part = |k: usize| at(2 * k) + 4.0 * at(2 * k + 1) + at(2 * k + 2);
        (0..PARTS).map(part).sum::<f64>() / (6 * PARTS) as f64
    };
    plan.pieces.iter().filter(|piece| piece.side == Side::Inlet).map(of).sum()
}

/// Velocities at the vertices for a viscosity of 1 Pa s.
fn nodal_velocity(space: &Space, pressure: &[f64], stream: &[f64]) -> Vec<[f64; 2]> {
    let recovery = space.recovery();
    let [dp, dpsi] = if space.uniform_gap() {
        recovery.gradients(Model::Harmonic, [pressure, stream])
    } else {
        let [dp] = recovery.gradients(space.conserved(3.0), [pressure]);
        let [dpsi] = recovery.gradients(space.conserved(-3.0), [stream]);
        [dp, dpsi]
    };
    let mut velocity: Vec<[f64; 2]> =
        (0..dp.len()).into_par_iter().map(|v| mean_velocity(dp[v], dpsi[v], space.gap[v], 1.0)).collect();
    remove_normal_part(space, &mut velocity);
    velocity
}

fn mean_velocity(dp: [f64; 2], dpsi: [f64; 2], b: f64, viscosity: f64) -> [f64; 2] {
    let mobility = b * b / (12.0 * viscosity);
    [0.5 * (dpsi[1] / b - mobility * dp[0]), 0.5 * (-dpsi[0] / b - mobility * dp[1])]
}

/// Removes the normal part on smooth solid edges and sets fluid corners of less than a straight angle to rest.
pub(crate) fn remove_normal_part(space: &Space, velocity: &mut [[f64; 2]]) {
    for (vertex, walls) in wall_tangents(space) {
        let v = &mut velocity[vertex as usize];
        match walls {
            WallTangent::Smooth(t) => {
                let along = v[0] * t[0] + v[1] * t[1];
                *v = [along * t[0], along * t[1]];
            }
            WallTangent::Corner { fluid_angle } if fluid_angle < std::f64::consts::PI => *v = [0.0, 0.0],
            WallTangent::Corner { .. } => {}
        }
    }
}

/// Direction of the solid edge at a boundary vertex.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum WallTangent {
    /// Unit tangent of the true curve, the fluid on its left.
    Smooth([f64; 2]),
    /// Two tangents that differ; the angle of the fluid between them, rad.
    Corner {
        /// Angle of the fluid, rad.
        fluid_angle: f64,
    },
}

/// Exact direction of the solid edge at every vertex on a solid, in ascending order of vertices. A vertex where a solid meets an
/// end has the solid's direction.
pub fn wall_tangents(space: &Space) -> Vec<(u32, WallTangent)> {
    let plan = &space.mesh.plan;
    let mut ends: Vec<(u32, bool, [f64; 2])> = Vec::new();
    for edge in &space.mesh.boundary {
        if matches!(space.mesh.side(edge), Side::Inlet | Side::Outlet) {
            continue;
        }
        let [a, b] = edge.vertices.map(|v| space.mesh.points[v as usize]);
        let chord = unit([b[0] - a[0], b[1] - a[1]]);
        let curve = &plan.pieces[edge.piece as usize].curve;
        for (k, leaves) in [(0, true), (1, false)] {
            let d = unit(curve.derivative(edge.parameters[k]));
            let along = d[0] * chord[0] + d[1] * chord[1];
            // a curve may be walked backwards, and a derivative may vanish at a cusp
            let tangent = if along.is_nan() || along.abs() < 0.5 {
                chord
            } else {
                [d[0] * along.signum(), d[1] * along.signum()]
            };
            ends.push((edge.vertices[k], leaves, tangent));
        }
    }
    ends.sort_unstable_by_key(|&(vertex, leaves, _)| (vertex, leaves));
    ends.chunk_by(|a, b| a.0 == b.0).map(|group| (group[0].0, between(group))).collect()
}

fn between(group: &[(u32, bool, [f64; 2])]) -> WallTangent {
    let (arriving, leaving) = (group[0].2, group[group.len() - 1].2);
    let turn = plane::turn(arriving, leaving);
    if turn.abs() < 1e-3 {
        WallTangent::Smooth(unit(plane::stepped(arriving, 1.0, leaving)))
    } else {
        // a turn of nearly half a circle to the left is a cusp that rounding has put on the wrong side
        let turn = if turn > 3.0 { turn - 2.0 * std::f64::consts::PI } else { turn };
        WallTangent::Corner { fluid_angle: std::f64::consts::PI - turn }
    }
}

fn unit(v: [f64; 2]) -> [f64; 2] {
    v.map(|x| x / plane::length(v))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::{Plan, Wall};
    use crate::input::case::Gap;
    use crate::numerics::mesh::{Mesh, SizeField};
    use std::sync::Arc;

    /// A channel with a step in its lower wall. The ideal flow goes as r^(π/ω - 1) about a corner: at rest at the foot of the step, where
    /// ω is 90 degrees, and without limit at its edge of 270 degrees, where the recovered velocity is left as it is. Elsewhere on walls
    /// only what goes along them stays.
    #[test]
    fn the_foot_of_a_step_is_at_rest_and_its_edge_is_not() {
        let points = [[0.0, 0.0], [1.0, 0.0], [1.0, 0.4], [2.0, 0.4], [2.0, 1.0], [0.0, 1.0]];
        let lower = Side::Wall(Wall::Lower);
        let sides = [lower, lower, lower, Side::Outlet, Side::Wall(Wall::Upper), Side::Inlet];
        let plan = Arc::new(Plan::polygon(&points, &sides, &[]).unwrap());
        let mesh = Mesh::generate(&plan, &SizeField::new(0.2, 0.3, vec![]), 10_000).unwrap();
        let space = Space::new(Arc::new(mesh), &Gap::Uniform(1e-3), 1e-3);
        let mut velocity = vec![[1.0, 2.0]; space.mesh.points.len()];
        remove_normal_part(&space, &mut velocity);
        let mut seen = [0; 5];
        for (&[x, y], &v) in space.mesh.points.iter().zip(&velocity) {
            let near = |a: f64, b: f64| (a - b).abs() < 1e-9;
            let (kind, expected) = if near(x, 1.0) && near(y, 0.0) {
                (0, [0.0, 0.0])
            } else if near(x, 1.0) && near(y, 0.4) {
                (1, [1.0, 2.0])
            } else if near(x, 1.0) && y < 0.4 {
                (2, [0.0, 2.0])
            } else if near(y, 0.0) || near(y, 1.0) || near(y, 0.4) && x > 1.0 {
                (3, [1.0, 0.0])
            } else {
                (4, [1.0, 2.0])
            };
            seen[kind] += 1;
            assert!((v[0] - expected[0]).abs() < 1e-12 && (v[1] - expected[1]).abs() < 1e-12, "{x} {y}: {v:?}");
        }
        assert!(seen[..2] == [1, 1] && seen[2..].iter().all(|&count| count > 0), "{seen:?}");
    }
}
