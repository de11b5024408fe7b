//! Inertia: first order, Re* = U b²/(ν L), that of the edge layer, Re* b/L, with its next term ([`next`]), and second order ([`second`]).
//!
//! Gap average: `V1 = −(b²/12 μ)[∇q1 + (54/35) ρ m]` with `q1 = p1 + (27/35) ρ |V0|²`,
//! `m = (2/b)[(V0.∇b) V0 − |V0|² ∇b]` (zero for a uniform gap), and
//! `∫ K ∇q1.∇t = −(54/35) ρ ∫ K m.∇t + ∫ b Q1 dt/ds ds`, the last term along solid edges ([`edge`]);
//! `q1 = (27/35) ρ |V0|²` on held ends. Layers at height ζ move with
//! `(3/2)(1 − ζ²)(V0 + V1) + (b²/(4 ν)) g(ζ) N`, `N = (V0·∇) V0` ([`layers`]).
//!
//! Everything follows by powers from the unit state, U = 1 m/s, ρ = 1 kg/m3, μ = 1 Pa s ([`Inertia::scaled`]): q1, p1 as ρ U², N as U²,
//! V1 as U²/ν, V2 as U³/ν², numbers as U/ν.
//!
//! Range: the layer field is not valid within about three gaps of an edge; where the local number b² |N|/(ν |V|) exceeds one,
//! three-dimensional solutions show errors above 15 % of the first-order departure.

mod bend;
pub mod edge;
mod factor;
mod fields;
pub mod layers;
mod local;
pub mod next;
mod rows;
pub mod second;
mod setting;
mod size;
#[cfg(test)]
mod tests;

pub use edge::EDGE_COEFFICIENT;
pub use fields::NearEdges;
pub use layers::PRESSURE_COEFFICIENT;
pub use local::velocity_gradient;
pub use next::{CURVATURE_COEFFICIENT, WEAKENING};
pub use second::Second;
pub use setting::Setting;

use crate::base::Result;
use crate::base::plane;
use crate::geometry::Side;
use crate::input::case::{EdgeTerm, Ends, Fluid};
use crate::numerics::fem::{Operator, SolidEdge, Space};
use crate::theory::edge_layer::{Band, weight};
use crate::theory::ideal::{multiplied, multiplied_vectors};
use edge::{BAND, TRIED};
use local::{inertia_number, spreading, taper_acceleration};
use size::{apart, over, size};

/// Local inertia number above which first order is no longer quantitative.
pub const LIMIT: f64 = 1.0;

/// Reduced Reynolds number below which inertia in the gap needs no thought.
pub const SMALL: f64 = 0.05;

/// Reduced Reynolds number above which three-dimensional solutions for a post show errors of the first-order departure beyond a
/// seventh: 11 to 14 % at 0.27, 23 to 29 % at 0.6.
pub const TESTED: f64 = 0.3;

/// Sensitivity to the length of the bands above which first order does not decide.
pub const UNDECIDED: f64 = 0.2;

/// The inertia departure at the vertices: first order, and what was added to it.
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
    /// Largest change of V1, and of V1 + V2 (root mean square, relative), when the bands are halved or doubled; none without bands.
    pub band_sensitivity: Option<f64>,
    /// The part of V1 that the next term of the edge layer's inertia brings, or the factor in its place, m/s ([`next`], `factor`); none if
    /// neither was asked for or applies.
    pub next_part: Option<Vec<[f64; 2]>>,
    /// What the edge layer changes of N, grad(V0.V_e), m/s2, with V_e what it changes of the velocity; empty without the next term.
    pub next_acceleration: Vec<[f64; 2]>,
    /// The second order, if it was asked for and applies.
    pub second: Option<Second>,
    edge_term: EdgeTerm,
    /// `band_sensitivity` of V1 alone.
    first_sensitivity: Option<f64>,
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
    let nu = fluid.kinematic_viscosity();
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

    let setting = Setting { space, operator, ends, fluid };
    // (54/35) ρ m
    let force: Vec<[f64; 2]> = taper.iter().map(|m| m.map(|x| 2.0 * PRESSURE_COEFFICIENT * density * x)).collect();
    let still = vec![0.0; speed.len()];
    let by_edges = |gaps: f64| {
        let bands = edge::bands(space, gaps);
        setting.solve(&still, edge::edge_loads(space, &speed, fluid, &bands))
    };
    let start: Vec<f64> = speed.iter().map(|v| PRESSURE_COEFFICIENT * density * v * v).collect();
    let loads = if force.is_empty() {
        still.clone()
    } else {
        setting.loads(|v| force[v].map(|f| -space.gap[v].powi(3) / (12.0 * viscosity) * f))
    };
    let by_ends = setting.solve(&start, loads)?;
    let of_edges = by_edges(BAND)?;
    let potential: Vec<f64> = by_ends.iter().zip(&of_edges).map(|(a, b)| a + b).collect();
    let change = |q: &[f64], force: &[[f64; 2]]| setting.velocity(q, space.harmonic_if_uniform(), force);
    let (ends_part, edge_part) = (change(&by_ends, &force), change(&of_edges, &[]));
    let correction = plane::sums(&ends_part, &edge_part);
    let bands = edge::bands(space, BAND);
    let band_sensitivity = if bands.is_empty() {
        None
    } else {
        let mut worst: f64 = 0.0;
        for gaps in TRIED {
            let other = plane::sums(&ends_part, &change(&by_edges(gaps)?, &[]));
            worst = worst.max(over(apart(space, &correction, &other), size(space, &correction)));
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
        first_sensitivity: band_sensitivity,
        next_part: None,
        next_acceleration: Vec::new(),
        second: None,
        edge_term: EdgeTerm::Leading,
        velocity: velocity.to_vec(),
        layer_factor,
    })
}

impl Inertia {
    /// Adds the next term of the edge layer's inertia to V1, and to the layers what the edge layer changes of N, where the gap is uniform.
    /// `edge_change` is what the edge layer changes of the velocity at the same mean speed, m/s.
    ///
    /// # Errors
    /// [`crate::base::Error::NoConvergence`] if the solver does not come to its end.
    pub fn with_next_edge_term(mut self, setting: &Setting, edge_change: &[[f64; 2]]) -> Result<Inertia> {
        let Setting { space, ends, fluid, .. } = *setting;
        if !space.uniform_gap() {
            return Ok(self);
        }
        let loads = next::loads(space, ends, fluid, &self.velocity, edge_change, &self.potential, &self.bands);
        self.edge_term = EdgeTerm::Next;
        self.next_acceleration = next::acceleration(space, &self.velocity, edge_change, &self.bands);
        self.with_loads(setting, loads)
    }

    /// Multiplies the leading edge term by the factor of curved edges in place of its next term, where the gap is uniform.
    ///
    /// # Errors
    /// As [`Inertia::with_next_edge_term`].
    pub fn with_curvature_factor(mut self, setting: &Setting) -> Result<Inertia> {
        if !setting.space.uniform_gap() {
            return Ok(self);
        }
        self.edge_term = EdgeTerm::Factor;
        let speed: Vec<f64> = self.velocity.iter().map(|&v| plane::length(v)).collect();
        let loads = factor::loads(setting.space, &speed, setting.fluid, &self.bands);
        self.with_loads(setting, loads)
    }

    /// Adds what further loads on q1 bring.
    fn with_loads(mut self, setting: &Setting, loads: Vec<f64>) -> Result<Inertia> {
        let potential = setting.solve(&vec![0.0; loads.len()], loads)?;
        let part = setting.velocity(&potential, setting.space.harmonic_if_uniform(), &[]);
        self.correction = plane::sums(&self.correction, &part);
        for whole in [&mut self.potential, &mut self.pressure] {
            whole.iter_mut().zip(&potential).for_each(|(whole, more)| *whole += more);
        }
        self.next_part = Some(part);
        Ok(self)
    }

    /// Adds the second order, where the gap is uniform, weakened along curved edges as what the first order has there asks for.
    ///
    /// # Errors
    /// [`crate::base::Error::NoConvergence`] if the solver does not come to its end.
    pub fn with_second_order(mut self, setting: &Setting) -> Result<Inertia> {
        if setting.space.uniform_gap() {
            let given = second::Given {
                velocity: &self.velocity,
                acceleration: &self.acceleration,
                spreading: &self.spreading,
                first: &self.correction,
                edge_term: self.edge_term,
            };
            self.second = Some(second::solve(setting, &given)?);
            self.band_sensitivity = self.sensitivity(setting.space);
        }
        Ok(self)
    }

    /// That of a fluid at a mean speed, m/s, from that of the unit state, by the powers of each part.
    pub fn scaled(&self, space: &Space, speed: f64, fluid: &Fluid) -> Inertia {
        let nu = fluid.kinematic_viscosity();
        let square = speed * speed;
        let (stress, first) = (fluid.density * square, square / nu);
        let mut scaled = Inertia {
            potential: multiplied(&self.potential, stress),
            pressure: multiplied(&self.pressure, stress),
            correction: multiplied_vectors(&self.correction, first),
            edge_part: multiplied_vectors(&self.edge_part, first),
            acceleration: multiplied_vectors(&self.acceleration, square),
            spreading: multiplied(&self.spreading, square),
            number: multiplied(&self.number, speed / nu),
            bands: self.bands.clone(),
            band_sensitivity: None,
            next_part: self.next_part.as_ref().map(|part| multiplied_vectors(part, first)),
            next_acceleration: multiplied_vectors(&self.next_acceleration, square),
            second: self.second.as_ref().map(|second| second.scaled(first * (speed / nu))),
            edge_term: self.edge_term,
            first_sensitivity: self.first_sensitivity,
            velocity: multiplied_vectors(&self.velocity, speed),
            layer_factor: multiplied(&self.layer_factor, 1.0 / nu),
        };
        scaled.band_sensitivity = scaled.sensitivity(space);
        scaled
    }

    /// What the lengths of the bands decide of V1, and of V1 + V2, whose parts go with different powers.
    fn sensitivity(&self, space: &Space) -> Option<f64> {
        let Some(Second { correction, by_bands: Some(apart), .. }) = &self.second else {
            return self.first_sensitivity;
        };
        let whole = size(space, &plane::sums(&self.correction, correction));
        Some(self.first_sensitivity.unwrap_or(0.0).max(over(*apart, whole)))
    }

    /// The largest `b² |dV_s/ds|/ν` along solid edges, 1: what tells between shapes how far the series goes.
    pub fn edge_number(&self, space: &Space, fluid: &Fluid) -> f64 {
        let speed = |v: usize| plane::length(self.velocity[v]);
        let of = |edge: SolidEdge| {
            let [i, j] = edge.vertices;
            let turns = plane::dot(self.velocity[i], self.velocity[j]) < 0.0;
            let change = if turns { speed(i) + speed(j) } else { (speed(j) - speed(i)).abs() };
            weight(&self.bands, edge.middle) * edge.gap.powi(2) * change / edge.length
        };
        space.holding_edges().map(of).fold(0.0, f64::max) * fluid.density / fluid.viscosity
    }

    /// (b²/(4 ν)) N at the vertices, m/s: what a layer departs by is g(ζ) times this.
    pub fn layer_vector(&self) -> Vec<[f64; 2]> {
        self.by_layer(&self.acceleration)
    }

    /// The same of what the edge layer changes of N; empty without the next term.
    pub fn next_layer_vector(&self) -> Vec<[f64; 2]> {
        self.by_layer(&self.next_acceleration)
    }

    fn by_layer(&self, acceleration: &[[f64; 2]]) -> Vec<[f64; 2]> {
        acceleration.iter().zip(&self.layer_factor).map(|(n, factor)| n.map(|x| factor * x)).collect()
    }

    /// What a layer departs by over g(ζ), m/s: with the second order also (b²/(4 ν)) grad(V0.V1).
    pub fn turning(&self) -> Vec<[f64; 2]> {
        let mut turning = self.layer_vector();
        add(&mut turning, 1.0, &self.next_layer_vector());
        if let Some(second) = &self.second {
            add(&mut turning, 1.0, &second.turning);
        }
        turning
    }

    /// Rate of d ζ/dt at the vertices, 1/s: a layer drifts by G(ζ) times this, since d ζ/dt = 2 w/b.
    pub fn rising(&self) -> Vec<f64> {
        self.spreading.iter().zip(&self.layer_factor).map(|(s, factor)| -factor * s).collect()
    }

    /// Gap-averaged velocity V0 + V1, and V2 with the second order, m/s.
    pub fn mean_velocity(&self) -> Vec<[f64; 2]> {
        self.combine(1.0, 0.0, [0.0; 2])
    }

    /// Root mean square of V1 beyond reach of the edge layer, m/s.
    pub fn gap_mean(&self, space: &Space) -> f64 {
        size(space, &self.correction)
    }

    /// Root mean square of a part over that of V1, beyond reach of the edge layer.
    pub fn share(&self, space: &Space, part: &[[f64; 2]]) -> f64 {
        over(size(space, part), size(space, &self.correction))
    }

    /// Velocity of the layer at height ζ, m/s.
    pub fn layer(&self, zeta: f64) -> Vec<[f64; 2]> {
        self.combine(1.5 * (1.0 - zeta * zeta), layers::profile(zeta), layers::second_profiles(zeta))
    }

    /// Limit at the plates of the layer velocity over (3/2)(1 - ζ²), m/s: the gap mean + (4/35)(b²/(4 ν)) N to first
    /// order.
    pub fn near_plate(&self) -> Vec<[f64; 2]> {
        self.combine(1.0, layers::over_parabola(1.0), layers::second_over_parabola(1.0))
    }

    /// Drift across the gap at height ζ, m/s, positive upwards.
    pub fn drift(&self, space: &Space, zeta: f64) -> Vec<f64> {
        let profile = layers::drift_profile(zeta);
        self.rising().iter().zip(&space.gap).map(|(rate, b)| 0.5 * b * profile * rate).collect()
    }

    fn combine(&self, parabola: f64, profile: f64, seconds: [f64; 2]) -> Vec<[f64; 2]> {
        let mut sum = self.velocity.clone();
        add(&mut sum, 1.0, &self.correction);
        if let Some(second) = &self.second {
            add(&mut sum, 1.0, &second.correction);
        }
        sum.iter_mut().for_each(|u| *u = u.map(|x| parabola * x));
        if profile != 0.0 {
            add(&mut sum, profile, &self.turning());
        }
        if let Some(second) = &self.second {
            add(&mut sum, seconds[0], &second.bending);
            add(&mut sum, seconds[1], &second.stretching);
        }
        sum
    }
}

/// Adds a multiple of a field.
fn add(sum: &mut [[f64; 2]], factor: f64, field: &[[f64; 2]]) {
    if factor != 0.0 {
        sum.iter_mut().zip(field).for_each(|(s, f)| *s = [s[0] + factor * f[0], s[1] + factor * f[1]]);
    }
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
