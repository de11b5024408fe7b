//! First-order inertia, order Re* = U b²/(ν L), and the inertia of the edge layer, order Re* b/L.
//!
//! Gap average: `V1 = −(b²/12 μ)[∇q1 + (54/35) ρ m]` with `q1 = p1 + (27/35) ρ |V0|²`,
//! `m = (2/b)[(V0.∇b) V0 − |V0|² ∇b]` (zero for a uniform gap), and
//! `∫ K ∇q1.∇t = −(54/35) ρ ∫ K m.∇t + ∫ b Q1 dt/ds ds`, the last term along solid edges ([`edge`]);
//! `q1 = (27/35) ρ |V0|²` on held ends. Layers at height ζ move with
//! `(3/2)(1 − ζ²)(V0 + V1) + (b²/(4 ν)) g(ζ) N`, `N = (V0·∇) V0` ([`layers`]).
//!
//! Range: the layer field is not valid within about three gaps of an edge; where the local number b² |N|/(ν |V|) exceeds one,
//! three-dimensional solutions show errors above 15 % of the departure.

pub mod edge;
mod fields;
pub mod layers;
mod local;
mod rows;

pub use edge::EDGE_COEFFICIENT;
pub use fields::NearEdges;
pub use layers::PRESSURE_COEFFICIENT;
pub use local::velocity_gradient;

use crate::base::Result;
use crate::base::plane;
use crate::geometry::Side;
use crate::input::case::{Ends, Fluid};
use crate::numerics::fem::{Operator, Space, gradient};
use crate::theory::edge_layer::{Band, reach};
use local::{inertia_number, spreading, taper_acceleration};
use rayon::prelude::*;

/// Local inertia number above which first order is no longer quantitative.
pub const LIMIT: f64 = 1.0;

/// Reduced Reynolds number below which inertia in the gap needs no thought.
pub const SMALL: f64 = 0.05;

/// Reduced Reynolds number above which three-dimensional solutions for a post show errors of the first-order departure beyond a
/// tenth: 9 to 13 % at 0.27, about 20 % at 0.6.
pub const TESTED: f64 = 0.3;

/// Sensitivity to the length of the bands above which first order does not decide.
pub const UNDECIDED: f64 = 0.2;

/// Band at a corner too sharp for the edge term, in local gaps, and those tried in its place.
const BAND: f64 = 1.0;
const TRIED: [f64; 2] = [0.5, 2.0];

/// The first-order inertia departure at the vertices.
#[derive(Debug)]
pub struct Inertia {
    /// q1 = p1 + (27/35) ρ |V0|², Pa.
    pub potential: Vec<f64>,
    /// p1, Pa, with the speed it was asked for.
    pub pressure: Vec<f64>,
    /// V1, the change of the gap-averaged velocity, m/s.
    pub correction: Vec<[f64; 2]>,
    /// The part of V1 that the edge term brings, m/s; the rest comes from the ends and from the slope of the gap.
    pub edge_part: Vec<[f64; 2]>,
    /// N = (V0.grad) V0, m/s2.
    pub acceleration: Vec<[f64; 2]>,
    /// div(b³ N)/b³, which drives the drift to the plates, 1/s2; |grad V0|² for a uniform gap.
    pub spreading: Vec<f64>,
    /// Local inertia number b² |N|/(ν |V0|).
    pub number: Vec<f64>,
    /// Corners near which the edge term is switched off.
    pub bands: Vec<Band>,
    /// Largest change of V1 (root mean square, relative) when the bands are halved or doubled; none without bands.
    pub band_sensitivity: Option<f64>,
    velocity: Vec<[f64; 2]>,
    layer_factor: Vec<f64>,
}

/// Solves for the inertia departure of the pattern with gap-averaged velocity `velocity` (m/s, at the vertices).
///
/// `operator` is the pressure operator of the ideal pattern, used again. `pressure_velocity` is the velocity in
/// p1 = q1 - (27/35) ρ |V|²: the ideal one, or the one corrected for the edge layer.
pub fn solve_inertia(
    space: &Space,
    operator: &Operator,
    ends: Ends,
    fluid: &Fluid,
    velocity: &[[f64; 2]],
    pressure_velocity: &[[f64; 2]],
) -> Result<Inertia> {
    let Fluid { density, viscosity, .. } = *fluid;
    let nu = viscosity / density;
    let slopes = velocity_gradient(space, velocity);
    let acceleration: Vec<[f64; 2]> = velocity
        .iter()
        .zip(&slopes)
        .map(|(v, g)| [v[0] * g[0][0] + v[1] * g[0][1], v[0] * g[1][0] + v[1] * g[1][1]])
        .collect();
    let speed: Vec<f64> = velocity.iter().map(|&v| plane::length(v)).collect();
    let number = inertia_number(space, &speed, &slopes, &acceleration, nu);
    let spreading = spreading(space, velocity, &slopes, &acceleration);
    let taper = taper_acceleration(space, velocity);

    let conductivity = space.reference_gap.powi(3) / (12.0 * viscosity);
    let solve = |start: &[f64], mut loads: Vec<f64>| -> Result<Vec<f64>> {
        loads.iter_mut().for_each(|load| *load /= conductivity);
        let scale = operator_scale(start, &loads, ends);
        Ok(operator.solve(start, &loads, 1e-12 * scale * scale)?.values)
    };
    let still = vec![0.0; speed.len()];
    let by_edges = |gaps: f64| {
        let bands = edge::bands(space, gaps);
        solve(&still, edge::edge_loads(space, &speed, fluid, &bands))
    };
    let start: Vec<f64> = speed.iter().map(|v| PRESSURE_COEFFICIENT * density * v * v).collect();
    let mut loads = still.clone();
    add_taper_loads(space, &taper, fluid, &mut loads);
    let by_ends = solve(&start, loads)?;
    let of_edges = by_edges(BAND)?;
    let potential: Vec<f64> = by_ends.iter().zip(&of_edges).map(|(a, b)| a + b).collect();
    let change = |q: &[f64], taper: &[[f64; 2]]| gap_mean_change(space, q, taper, fluid);
    let (ends_part, edge_part) = (change(&by_ends, &taper), change(&of_edges, &[]));
    let correction = sum(&ends_part, &edge_part);
    let bands = edge::bands(space, BAND);
    let band_sensitivity = if bands.is_empty() {
        None
    } else {
        let mut worst: f64 = 0.0;
        for gaps in TRIED {
            let other = sum(&ends_part, &change(&by_edges(gaps)?, &[]));
            worst = worst.max(relative_difference(space, &correction, &other));
        }
        Some(worst)
    };
    let pressure = potential
        .iter()
        .zip(pressure_velocity)
        .map(|(q, v)| q - PRESSURE_COEFFICIENT * density * (v[0] * v[0] + v[1] * v[1]))
        .collect();
    let layer_factor = space.gap.iter().map(|b| b * b / (4.0 * nu)).collect();
    Ok(Inertia {
        potential,
        pressure,
        correction,
        edge_part,
        acceleration,
        spreading,
        number,
        bands,
        band_sensitivity,
        velocity: velocity.to_vec(),
        layer_factor,
    })
}

impl Inertia {
    /// (b²/(4 ν)) N at the vertices, m/s: what a layer departs by is g(ζ) times this.
    pub fn layer_vector(&self) -> Vec<[f64; 2]> {
        self.acceleration.iter().zip(&self.layer_factor).map(|(n, factor)| n.map(|x| factor * x)).collect()
    }

    /// Rate of d ζ/dt at the vertices, 1/s: a layer drifts by G(ζ) times this, since d ζ/dt = 2 w/b.
    pub fn rising(&self) -> Vec<f64> {
        self.spreading.iter().zip(&self.layer_factor).map(|(s, factor)| -factor * s).collect()
    }

    /// Gap-averaged velocity V0 + V1, m/s.
    pub fn mean_velocity(&self) -> Vec<[f64; 2]> {
        self.combine(1.0, 0.0)
    }

    /// Root mean square of V1 beyond reach of the edge layer, m/s.
    pub fn gap_mean(&self, space: &Space) -> f64 {
        size(space, &self.correction)
    }

    /// Velocity of the layer at height ζ, m/s.
    pub fn layer(&self, zeta: f64) -> Vec<[f64; 2]> {
        self.combine(1.5 * (1.0 - zeta * zeta), layers::profile(zeta))
    }

    /// Limit at the plates of the layer velocity over (3/2)(1 - ζ²), m/s: V0 + V1 + (4/35)(b²/(4 ν)) N.
    pub fn near_plate(&self) -> Vec<[f64; 2]> {
        self.combine(1.0, layers::over_parabola(1.0))
    }

    /// Drift across the gap at height ζ, m/s, positive upwards.
    pub fn drift(&self, space: &Space, zeta: f64) -> Vec<f64> {
        let profile = layers::drift_profile(zeta);
        self.rising().iter().zip(&space.gap).map(|(rate, b)| 0.5 * b * profile * rate).collect()
    }

    fn combine(&self, parabola: f64, profile: f64) -> Vec<[f64; 2]> {
        (0..self.velocity.len())
            .map(|v| {
                let of = |k: usize| {
                    parabola * (self.velocity[v][k] + self.correction[v][k])
                        + profile * self.layer_factor[v] * self.acceleration[v][k]
                };
                [of(0), of(1)]
            })
            .collect()
    }
}

/// Adds -(54/35) ρ int K m . grad t.
fn add_taper_loads(space: &Space, taper: &[[f64; 2]], fluid: &Fluid, loads: &mut [f64]) {
    if taper.is_empty() {
        return;
    }
    for (t, corners) in space.mesh.triangles.iter().enumerate() {
        let area = space.area(t);
        let mut mean = [0.0; 2];
        for &v in corners {
            let k = space.gap[v as usize].powi(3) / (12.0 * fluid.viscosity) / 3.0;
            mean = [mean[0] + k * taper[v as usize][0], mean[1] + k * taper[v as usize][1]];
        }
        for i in 0..3 {
            let slope = gradient(space.corners(t), std::array::from_fn(|k| if k == i { 1.0 } else { 0.0 }));
            loads[corners[i] as usize] -=
                2.0 * PRESSURE_COEFFICIENT * fluid.density * area * (mean[0] * slope[0] + mean[1] * slope[1]);
        }
    }
}

fn gap_mean_change(space: &Space, potential: &[f64], taper: &[[f64; 2]], fluid: &Fluid) -> Vec<[f64; 2]> {
    let [slope] = space.recovery().gradients(space.harmonic_if_uniform(), [potential]);
    (0..slope.len())
        .into_par_iter()
        .map(|v| {
            let mobility = space.gap[v].powi(2) / (12.0 * fluid.viscosity);
            let m = taper.get(v).copied().unwrap_or([0.0, 0.0]);
            std::array::from_fn(|k| -mobility * (slope[v][k] + 2.0 * PRESSURE_COEFFICIENT * fluid.density * m[k]))
        })
        .collect()
}

fn sum(a: &[[f64; 2]], b: &[[f64; 2]]) -> Vec<[f64; 2]> {
    a.iter().zip(b).map(|(a, b)| [a[0] + b[0], a[1] + b[1]]).collect()
}

/// Size of the solution's energy norm, for the stopping tolerance.
fn operator_scale(start: &[f64], loads: &[f64], ends: Ends) -> f64 {
    let load = loads.iter().fold(0.0, |a: f64, &b| a.max(b.abs()));
    match ends {
        Ends::HeldPressure => load.max(start.iter().sum::<f64>() / start.len() as f64),
        Ends::GivenInflow => load,
    }
}

/// Root mean square of a - b over that of a, over the fluid beyond reach of the edge layer.
fn relative_difference(space: &Space, a: &[[f64; 2]], b: &[[f64; 2]]) -> f64 {
    let (size, apart) =
        (size(space, a), space.root_mean_square(reach(space).beyond(), |v| plane::distance(a[v], b[v])));
    if size > 0.0 { apart / size } else { 0.0 }
}

/// Root mean square of a field's size beyond reach of the edge layer.
fn size(space: &Space, field: &[[f64; 2]]) -> f64 {
    space.root_mean_square(reach(space).beyond(), |v| plane::length(field[v]))
}

/// Change of the flow through the inlet that inertia brings, as a fraction of the flow (held ends only differ from zero).
pub fn flow_change(space: &Space, inertia: &Inertia) -> f64 {
    let (mut change, mut flow) = (0.0, 0.0);
    for edge in space.mesh.boundary.iter().filter(|edge| space.mesh.side(edge) == Side::Inlet) {
        let [a, b] = edge.vertices.map(|v| space.mesh.points[v as usize]);
        let normal = [b[1] - a[1], a[0] - b[0]];
        for v in edge.vertices.map(|v| v as usize) {
            let through = |u: [f64; 2]| 0.5 * space.gap[v] * (u[0] * normal[0] + u[1] * normal[1]);
            change += through(inertia.correction[v]);
            flow += through(inertia.velocity[v]);
        }
    }
    if flow == 0.0 { 0.0 } else { change / flow }
}
