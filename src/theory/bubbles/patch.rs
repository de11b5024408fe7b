//! The pattern with a free bubble in it: a moving patch of one pressure, walls and other obstacles near it included.
//!
//! The cell is meshed with the bubble's disc cut out. The rim moves at U and pushes liquid, `−(b²/12 μ) ∂p/∂n = U.n`, n out of the bubble, so
//! that `p = p0 + U_x p_x + U_y p_y`: the pressure round a fixed disc, and those of a disc that moves along x or y with nothing
//! driving. With linear elements the loads are `∫ b n φ_i ds` over the chords of the rim. What the pressure and the rim's tension do to the bubble
//! together is nothing:
//!
//! `∫ p n ds = π R² (Δρ g s + (2 γ/b²) ∇b) − 2 (γ/b) R I (3.8785 + 1.1307) (μ |U|/γ)^(2/3) U/|U|`,
//!
//! s the sine of the tilt up the slope, I as in the film law: two equations for the two parts of U, whose solution is unique, since
//! the drag of the films grows with the speed. The speeds are those of the discrete problem, of second order in the size of the mesh.
//!
//! Range: as [`super::speed_ratio`]; round, whatever is near; the moment at which the bubble is there, for the pattern changes as it goes.

use super::film::{ADVANCING, COSINES, RECEDING};
use super::{Air, frame, wedge_speed};
use crate::base::bisect::{TO_ROUNDING, sign_change};
use crate::base::units::GRAVITY;
use crate::base::{Error, Result, plane};
use crate::geometry::Side;
use crate::numerics::fem::{SolidEdge, Space};
use crate::theory::circulation::velocity_of;
use crate::theory::ideal::Pair;
use rayon::prelude::*;

/// Part of the energy that iteration may leave undone in the pressure of a moving disc.
const ALGEBRAIC_SHARE: f64 = 1e-18;

/// The pattern at the moment at which a free bubble is in it.
#[derive(Debug, Clone)]
pub struct Patch {
    /// The bubble's velocity U, m/s.
    pub velocity: [f64; 2],
    /// Pressure at the vertices with the bubble in its place, Pa; zero at the outlet.
    pub pressure: Vec<f64>,
    /// Stream function with the bubble in its place, m3/s: 0 on the lower wall.
    pub stream_function: Vec<f64>,
    /// Gap-mean velocity at the vertices, m/s.
    pub flow: Vec<[f64; 2]>,
    /// Flow through the inlet with the bubble in its place, m3/s.
    pub flow_rate: f64,
    /// By how much the resistance to motion is not symmetric, of its trace: rounding and iteration.
    pub asymmetry: f64,
}

/// Solves for the velocity of a free bubble and the pattern with it.
///
/// `space` and `pair` are those of the cell with the bubble's disc as the free obstacle number `obstacle`; `drop` is the pressure drop between the
/// ends, Pa, and `viscosity` that of the liquid, Pa s.
///
/// # Errors
/// [`Error::Usage`] if no edge of the mesh lies on that obstacle, [`Error::NoConvergence`] if the solver does not come to its end.
pub fn free_patch(space: &Space, pair: &Pair, drop: f64, viscosity: f64, obstacle: u32, air: &Air) -> Result<Patch> {
    let rim: Vec<SolidEdge> = space.solid_edges().filter(|edge| edge.side == Side::Obstacle(obstacle)).collect();
    if rim.is_empty() {
        let what = format!("obstacle number {obstacle} has no edge in the mesh, so that no bubble can take its place");
        return Err(Error::argument(what, "name the free obstacle that is the bubble's disc"));
    }
    let round = Round::of(space, &rim);
    let conductivity = space.reference_gap.powi(3) / (12.0 * viscosity);
    let scale = 12.0 * viscosity / (round.gap * round.gap);
    let tolerance = ALGEBRAIC_SHARE * scale * round.area * round.gap / conductivity;
    let moving: Vec<Vec<f64>> = [0, 1]
        .into_par_iter()
        .map(|k| {
            let loads: Vec<f64> = round.loads(space, &rim, k).iter().map(|load| load / conductivity).collect();
            let start = vec![0.0; loads.len()];
            Ok(pair.pressure_operator.solve(&start, &loads, tolerance)?.values)
        })
        .collect::<Result<_>>()?;
    let fixed: Vec<f64> = pair.pressure.iter().map(|p| drop * p).collect();
    let force = |p: &[f64]| round.force(space, &rim, p);
    let [along, across] = [force(&moving[0]), force(&moving[1])];
    let wedge = wedge_speed(air.tension, viscosity, round.slope);
    let pull = [0, 1].map(|k| round.area * (air.density_difference * GRAVITY * air.tilt[k] + scale * wedge[k]));
    let fixed_force = force(&fixed);
    let resistance = Resistance {
        matrix: [[along[0], across[0]], [along[1], across[1]]],
        films: if air.films { round.films(viscosity, air.tension) } else { 0.0 },
    };
    let velocity = resistance.velocity([pull[0] - fixed_force[0], pull[1] - fixed_force[1]]);
    let pressure: Vec<f64> = fixed
        .iter()
        .zip(moving[0].iter().zip(&moving[1]))
        .map(|(p, (x, y))| p + velocity[0] * x + velocity[1] * y)
        .collect();
    let matrix = pair.pressure_operator.matrix();
    let inlet = space.vertices_where(|side| side == Side::Inlet);
    let flow_rate = conductivity * inlet.iter().map(|&v| matrix.row_times(v as usize, &pressure)).sum::<f64>();
    let asymmetry = (along[1] - across[0]).abs() / (along[0] + across[1]);
    let crossing =
        |edge: &SolidEdge| velocity[0] * round.crossing(space, edge, 0) + velocity[1] * round.crossing(space, edge, 1);
    let stream_function = frame::stream_function(space, pair, flow_rate, &rim, crossing)?;
    let moving = space.vertices_where(|side| side == Side::Obstacle(obstacle));
    let flow = velocity_of(space, &stream_function, &moving);
    Ok(Patch { velocity, pressure, stream_function, flow, flow_rate, asymmetry })
}

impl Patch {
    /// The stream function that one who goes with the bubble sees, m3/s: constant along its rim where the gap is uniform.
    pub fn in_its_frame(&self, space: &Space) -> Vec<f64> {
        frame::in_its_frame(space, &self.stream_function, self.velocity)
    }
}

/// The disc as its chords have it.
#[derive(Debug, Clone, Copy)]
struct Round {
    /// Area between the chords, m2, the radius of a disc of that area, and the length of the chords, m.
    area: f64,
    radius: f64,
    length: f64,
    /// Mean gap along the rim, m, and its slope.
    gap: f64,
    slope: [f64; 2],
}

/// The normal of an edge into the fluid, as long as the edge.
fn normal(space: &Space, edge: &SolidEdge) -> [f64; 2] {
    let [a, b] = edge.vertices.map(|v| space.mesh.points[v]);
    plane::left(plane::way(a, b))
}

impl Round {
    fn of(space: &Space, rim: &[SolidEdge]) -> Round {
        let (mut area, mut length, mut gap, mut turned) = (0.0, 0.0, 0.0, [0.0; 2]);
        // places from the first vertex of the rim, for the sake of rounding
        let foot = space.mesh.points[rim[0].vertices[0]];
        for edge in rim {
            let n = normal(space, edge);
            area += 0.5 * plane::dot(plane::way(foot, edge.middle), n);
            length += edge.length;
            gap += edge.length * edge.gap;
            turned = plane::stepped(turned, edge.gap, n);
        }
        // ∫ b n ds over a closed rim is the area times the slope of a gap that is linear there
        let (radius, slope) = ((area / std::f64::consts::PI).sqrt(), turned.map(|x| x / area));
        Round { area, radius, length, gap: gap / length, slope }
    }

    /// `∫ b n_k ds` over an edge, less what it sums to, spread over the rim: a bubble keeps its volume.
    fn crossing(&self, space: &Space, edge: &SolidEdge, k: usize) -> f64 {
        edge.gap * normal(space, edge)[k] - self.area * self.slope[k] / self.length * edge.length
    }

    /// `∫ b n_k φ_i ds`, with that less.
    fn loads(&self, space: &Space, rim: &[SolidEdge], k: usize) -> Vec<f64> {
        let mut loads = vec![0.0; space.mesh.points.len()];
        for edge in rim {
            let part = 0.5 * self.crossing(space, edge, k);
            edge.vertices.into_iter().for_each(|v| loads[v] += part);
        }
        loads
    }

    /// `∫ (b/b_m) p n ds`, b_m the mean gap: the force of a pressure on the disc's surroundings, by gap.
    fn force(&self, space: &Space, rim: &[SolidEdge], p: &[f64]) -> [f64; 2] {
        rim.iter().fold([0.0; 2], |sum, edge| {
            let [i, j] = edge.vertices;
            plane::stepped(sum, 0.5 * (p[i] + p[j]) * edge.gap / self.gap, normal(space, edge))
        })
    }

    /// Drag of the films over `|U|^(2/3)`.
    fn films(&self, viscosity: f64, tension: f64) -> f64 {
        let jumps = 2.0 * tension / self.gap * (ADVANCING - RECEDING) * (viscosity / tension).cbrt().powi(2);
        jumps * self.radius * COSINES
    }
}

/// What resists a moving disc: `matrix U + films |U|^(−1/3) U`.
#[derive(Debug, Clone, Copy)]
struct Resistance {
    matrix: [[f64; 2]; 2],
    films: f64,
}

impl Resistance {
    /// The velocity at which a push is resisted.
    fn velocity(&self, push: [f64; 2]) -> [f64; 2] {
        let with = |drag: f64| {
            let [[a, b], [c, d]] = self.matrix;
            let (a, d) = (a + drag, d + drag);
            let determinant = a * d - b * c;
            [(d * push[0] - b * push[1]) / determinant, (a * push[1] - c * push[0]) / determinant]
        };
        let free = with(0.0);
        let fastest = plane::length(free);
        if self.films <= 0.0 || fastest.is_nan() || fastest <= 0.0 {
            return free;
        }
        // the speed that a given one would follow from, over it, falls as it grows: one crossing
        let at = |speed: f64| with(self.films / speed.cbrt());
        let [low, high] = sign_change([0.0, fastest], TO_ROUNDING, 1.0, |speed| plane::length(at(speed)) - speed);
        at(0.5 * (low + high))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::{Plan, Wall};
    use crate::input::case::{Ends, Gap};
    use crate::numerics::fem::triangle_gradients;
    use crate::numerics::mesh::{Mesh, SizeField};
    use crate::theory::bubbles::{film_number, pressure_factor, rise_speed, speed_ratio_between};
    use crate::theory::ideal::solve_pair;
    use std::f64::consts::PI;
    use std::sync::Arc;

    const RADIUS: f64 = 0.2;
    const LENGTH: f64 = 3.0;
    const GAP: f64 = 0.02;
    const VISCOSITY: f64 = 1e-3;
    /// Pressure drop that drives an empty channel at 1 mm/s, Pa.
    const DROP: f64 = 12.0 * VISCOSITY * LENGTH * 1e-3 / (GAP * GAP);
    const BARE: Air = Air { tension: 0.05, density_difference: 1e3, tilt: [0.0; 2], films: false };

    /// A channel of width 1 m with a disc off its middle by so much.
    fn mesh(offset: f64, size: f64) -> Mesh {
        let sides = [Side::Wall(Wall::Lower), Side::Outlet, Side::Wall(Wall::Upper), Side::Inlet];
        let empty = Plan::polygon(&[[0.0, 0.0], [LENGTH, 0.0], [LENGTH, 1.0], [0.0, 1.0]], &sides, &[]).unwrap();
        let plan = empty.with_bubble("disc", [0.5 * LENGTH, 0.5 + offset], 2.0 * RADIUS);
        Mesh::generate(&Arc::new(plan), &SizeField::new(size, 0.3, vec![]), 100_000).unwrap()
    }

    fn solved(mesh: &Mesh, ends: Ends, air: &Air) -> Patch {
        let space = Space::new(Arc::new(mesh.clone()), &Gap::Uniform(GAP), GAP);
        let pair = solve_pair(&space, ends, 1e-3).unwrap();
        free_patch(&space, &pair, DROP, VISCOSITY, 0, air).unwrap()
    }

    /// U over the mean speed of the channel.
    fn ratio(patch: &Patch) -> f64 {
        patch.velocity[0] * GAP / patch.flow_rate
    }

    /// Exact by images, 1.767361 and 1.750786; ends 1.3 m from the rim add exp(−2 π 3/2) of the disc's dipole, 1e-4. On meshes halved twice the errors
    /// fall by four each time, and what is extrapolated is within a tenth of the last.
    #[test]
    fn walls_slow_the_patch_as_images_say() {
        for (offset, exact) in [(0.0, 1.767361), (0.1, 1.750786)] {
            let mut level = mesh(offset, 0.08);
            let mut errors = Vec::new();
            for _ in 0..3 {
                let patch = solved(&level, Ends::HeldPressure, &BARE);
                assert!(patch.asymmetry < 1e-9, "{}", patch.asymmetry);
                assert!(patch.velocity[1].abs() < 2e-3 * patch.velocity[0], "{:?}", patch.velocity);
                errors.push(ratio(&patch) - exact);
                level = level.refined();
            }
            let orders = [errors[0] / errors[1], errors[1] / errors[2]].map(f64::log2);
            assert!(orders.iter().all(|order| (order - 2.0).abs() < 0.25), "{offset}: {errors:?} {orders:?}");
            assert!((errors[2] - (errors[1] - errors[2]) / 3.0).abs() < 3e-4, "{offset}: {errors:?}");
            let m1 = pressure_factor(RADIUS, 0.5 + offset).unwrap();
            assert!((m1 / (m1 - 1.0) - exact).abs() < 1e-6);
        }
    }

    /// The discrete m1 from the bare patch, in the film law between walls with V + V_g/m1: the same velocity, for both are one balance.
    #[test]
    fn films_and_tilt_act_as_in_the_film_law() {
        let mesh = mesh(0.0, 0.08);
        let bare = solved(&mesh, Ends::GivenInflow, &BARE);
        let speed = bare.flow_rate / GAP;
        let m1 = ratio(&bare) / (ratio(&bare) - 1.0);
        let sine = 3e-6;
        let rise = rise_speed(1e3, 0.5 * PI, GAP, VISCOSITY) * sine;
        for (tilt, films) in [([0.0; 2], true), ([sine, 0.0], false), ([sine, 0.0], true)] {
            let patch = solved(&mesh, Ends::GivenInflow, &Air { tilt, films, ..BARE });
            assert!((patch.flow_rate / bare.flow_rate - 1.0).abs() < 1e-9, "given");
            let driving = speed + if tilt[0] > 0.0 { rise / m1 } else { 0.0 };
            let k = if films { film_number(GAP, RADIUS, VISCOSITY * driving / BARE.tension) } else { 0.0 };
            let law = speed_ratio_between(m1, k) * driving;
            // the chords' disc is smaller by (2 π/N)²/6, 1 % here, and so is what acts on its area or rim
            assert!((patch.velocity[0] / law - 1.0).abs() < 0.02, "{tilt:?} {films}: {:?} {law}", patch.velocity);
        }
        // up the slope across the channel it goes to the wall
        let across = solved(&mesh, Ends::GivenInflow, &Air { tilt: [0.0, sine], ..BARE });
        assert!(across.velocity[1] > 0.3 * rise && across.velocity[1] < rise, "{:?} {rise}", across.velocity);
        assert!((across.velocity[0] / bare.velocity[0] - 1.0).abs() < 5e-3);
    }

    /// Velocities by the pressure and by the stream function, each of first order on the triangles, come together as the mesh is halved, and from a
    /// place that goes with it the rim is one line.
    #[test]
    fn pressure_and_stream_function_are_of_one_flow() {
        let mut level = mesh(0.1, 0.08);
        let mut apart = Vec::new();
        for _ in 0..3 {
            let space = Space::new(Arc::new(level.clone()), &Gap::Uniform(GAP), GAP);
            let pair = solve_pair(&space, Ends::HeldPressure, 1e-3).unwrap();
            let air = Air { tilt: [0.0, 1e-6], ..BARE };
            let patch = free_patch(&space, &pair, DROP, VISCOSITY, 0, &air).unwrap();
            let of = |values: &[f64]| triangle_gradients(&level.points, &level.triangles, values);
            let (p, psi) = (of(&patch.pressure), of(&patch.stream_function));
            let mobility = GAP * GAP / (12.0 * VISCOSITY);
            let off = |t: usize| plane::distance([psi[t][1] / GAP, -psi[t][0] / GAP], p[t].map(|g| -mobility * g));
            let sum: f64 = (0..level.triangles.len()).map(|t| space.area(t) * off(t).powi(2)).sum();
            apart.push((sum / LENGTH).sqrt() / 1e-3);
            let seen = patch.in_its_frame(&space);
            let rim = || space.vertices_where(|side| side == Side::Obstacle(0)).into_iter().map(|v| seen[v as usize]);
            let (low, high) = (rim().fold(f64::INFINITY, f64::min), rim().fold(f64::NEG_INFINITY, f64::max));
            assert!(high - low < 1e-12 * patch.flow_rate, "{low} {high}");
            level = level.refined();
        }
        let orders = [apart[0] / apart[1], apart[1] / apart[2]].map(f64::log2);
        assert!(orders.iter().all(|order| (order - 1.0).abs() < 0.15), "{apart:?} {orders:?}");
    }

    #[test]
    fn a_disc_that_is_not_there_is_refused() {
        let space = Space::new(Arc::new(mesh(0.0, 0.2)), &Gap::Uniform(GAP), GAP);
        let pair = solve_pair(&space, Ends::HeldPressure, 1e-3).unwrap();
        assert!(free_patch(&space, &pair, DROP, VISCOSITY, 1, &BARE).is_err());
    }

    /// Where nothing pushes nothing moves, and where a push is small the films alone resist: push = films U^(2/3).
    #[test]
    fn the_balance_is_solved_for_any_push() {
        let resistance = Resistance { matrix: [[2.0, 0.5], [0.5, 1.0]], films: 3.0 };
        assert_eq!(resistance.velocity([0.0; 2]), [0.0; 2]);
        for push in [[1.0, 0.0], [-0.3, 40.0], [1e-9, 2e-9]] {
            let u = resistance.velocity(push);
            let drag = 3.0 / plane::length(u).cbrt();
            let found = [2.0 * u[0] + 0.5 * u[1] + drag * u[0], 0.5 * u[0] + u[1] + drag * u[1]];
            assert!(plane::distance(found, push) < 1e-12 * plane::length(push), "{u:?}");
        }
        let small = plane::length(resistance.velocity([1e-12, 0.0]));
        assert!((small / (1e-12f64 / 3.0).powf(1.5) - 1.0).abs() < 1e-3, "{small}");
    }
}
