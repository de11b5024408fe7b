//! First-order edge layer, order b/L: within about one gap of a solid edge no-slip holds back fluid.
//!
//! The displacement thickness is `δ* = 93 ζ(5)/π⁵ b` (half of what a rectangular duct loses; Thompson 1968, J. Fluid
//! Mech. 31, 379; Lee & Fung 1969, J. Fluid Mech. 37, 657 for the post). The outer flow sees injection
//! `b V_n = d(b δ* V_s)/ds`, in weak form, reusing the operator of the ideal pattern:
//!
//! `∫ K ∇p1.∇t = ∫_Gamma K δ* (dp0/ds)(dt/ds) ds`, p1 = 0 on held ends, and the conductance changes by
//! `dC = -∫_Gamma K δ* (dp0/ds)² ds/dp²`.
//!
//! With given inflow the core is faster by 1/(1 - 2 δ*/W), and the loads where walls meet ends are left out.
//!
//! Range: the next terms are of order (b/L)²; the difference to the variant with every solid edge moved into the fluid by
//! δ* ([`moved`]) shows their size. At a corner of fluid angle ω the error is of order (b/L)^(2 π/ω) instead; near a
//! knife edge there is no first-order result, so the term is switched off within one gap of edges sharper than 60 degrees.

mod band;
pub mod moved;
pub mod profile;
mod reach;
mod rows;

pub use band::{Band, sharp_bands, weight};
pub use profile::DISPLACEMENT;
pub use reach::{Margin, REACH, Reach, clearance, reach};

use crate::base::Result;
use crate::geometry::{Plan, Side};
use crate::input::case::{Ends, Fluid};
use crate::numerics::fem::{Operator, SolidEdge, Space};
use crate::theory::ideal::{Pattern, multiplied, multiplied_vectors};

/// Fluid angle above which the term is switched off near a corner, rad: a solid edge sharper than 60 degrees.
pub const TOO_SHARP: f64 = 300.0 / 180.0 * std::f64::consts::PI;

/// Local gaps from such a corner within which it is.
const BAND: f64 = 1.0;

/// b/L above which the edge layer, of that order, is no small part of the pattern.
pub const THICK: f64 = 0.1;

/// The first-order edge-layer departure.
#[derive(Debug)]
pub struct EdgeLayer {
    /// δ* at the middle of the cell, m.
    pub displacement_thickness: f64,
    /// Shape factor with the edge layer, to first order.
    pub shape_factor: f64,
    /// Pressure change p1 at the vertices, Pa.
    pub pressure: Vec<f64>,
    /// Gap-averaged velocity of the outer flow with the edge layer, m/s.
    pub velocity: Vec<[f64; 2]>,
    /// Mean speed over the inlet with the edge layer, m/s: lower than the ideal one at held pressures, the same with given
    /// inflow.
    pub mean_speed: f64,
    /// Corners near which the term is switched off.
    pub bands: Vec<Band>,
    /// Weakest order of what is neglected, as a power of b/L: 2 without corners, 2 π/ω at the sharpest.
    pub neglected_order: f64,
}

impl EdgeLayer {
    /// That of a fluid at a mean speed, m/s, from that of the unit state: the velocity goes as U, p1 as μ U.
    pub fn scaled(&self, speed: f64, fluid: &Fluid) -> EdgeLayer {
        EdgeLayer {
            pressure: multiplied(&self.pressure, fluid.viscosity * speed),
            velocity: multiplied_vectors(&self.velocity, speed),
            mean_speed: self.mean_speed * speed,
            bands: self.bands.clone(),
            ..*self
        }
    }

    /// What the edge layer changes of the velocity of a pattern at the same mean speed, m/s.
    pub fn change_at_speed(&self, pattern: &Pattern) -> Vec<[f64; 2]> {
        let scale = pattern.drive.mean_speed / self.mean_speed;
        let change = |(v, w): (&[f64; 2], &[f64; 2])| [scale * v[0] - w[0], scale * v[1] - w[1]];
        self.velocity.iter().zip(&pattern.velocity).map(change).collect()
    }
}

/// Solves for the edge-layer departure of an ideal pattern, with the pressure operator of that pattern. `width` is the width
/// of the cell, m.
///
/// # Errors
/// [`crate::base::Error::NoConvergence`] if the solver does not come to its end.
pub fn solve_edge_layer(
    space: &Space,
    operator: &Operator,
    ends: Ends,
    pattern: &Pattern,
    width: f64,
) -> Result<EdgeLayer> {
    let core = match ends {
        Ends::HeldPressure => 1.0,
        Ends::GivenInflow => 1.0 / (1.0 - 2.0 * displacement_thickness(space.reference_gap) / width),
    };
    solve_along(space.holding_edges(), space, operator, ends, pattern, core)
}

/// The edge layer that the rims of bubbles alone have, or would have if they did not slip: by what a stiff rim differs from a free one.
///
/// # Errors
/// As [`solve_edge_layer`].
pub fn solve_rims(space: &Space, operator: &Operator, ends: Ends, pattern: &Pattern) -> Result<EdgeLayer> {
    let rims = space.solid_edges().filter(|edge| space.mesh.plan.is_bubble(edge.side));
    solve_along(rims, space, operator, ends, pattern, 1.0)
}

/// The edge layer along some edges; far from them the flow is `core` times the ideal one.
fn solve_along(
    edges: impl Iterator<Item = SolidEdge>,
    space: &Space,
    operator: &Operator,
    ends: Ends,
    pattern: &Pattern,
    core: f64,
) -> Result<EdgeLayer> {
    let viscosity = pattern.fluid.viscosity;
    let bands = bands(space);
    let (loads, loss) = edge_loads(edges, space, ends, &pattern.pressure, viscosity, &bands);
    let drive = &pattern.drive;
    // loss = int K delta* p_s^2 ds, the power that the layer takes from the flow, and Q dp the whole power
    let relative = -loss / (drive.flow_rate * drive.pressure_drop);
    let conductivity = space.reference_gap.powi(3) / (12.0 * viscosity);
    let scaled: Vec<f64> = loads.iter().map(|f| f / conductivity).collect();
    let start = vec![0.0; scaled.len()];
    let size = scaled.iter().fold(0.0, |a: f64, f| a.max(f.abs()));
    let pressure = operator.solve(&start, &scaled, 1e-12 * size * size)?.values;
    let [slope] = space.recovery().gradients(space.harmonic_if_uniform(), [&pressure]);
    let velocity = (0..slope.len())
        .map(|v| {
            let mobility = space.gap[v].powi(2) / (12.0 * viscosity);
            std::array::from_fn(|k| core * pattern.velocity[v][k] - mobility * slope[v][k])
        })
        .collect();
    let mean_speed = match ends {
        Ends::HeldPressure => drive.mean_speed * (1.0 + relative),
        Ends::GivenInflow => drive.mean_speed,
    };
    Ok(EdgeLayer {
        displacement_thickness: displacement_thickness(space.reference_gap),
        shape_factor: pattern.shape_factor.value * (1.0 + relative),
        pressure,
        velocity,
        mean_speed,
        bands,
        neglected_order: neglected_order(&space.mesh.plan),
    })
}

/// Loads of the same kind that displace the flow `−(b²/12 μ) ∇q` of a potential q, Pa: one per vertex, m3/s.
pub fn displacement_loads(space: &Space, ends: Ends, potential: &[f64], viscosity: f64, bands: &[Band]) -> Vec<f64> {
    edge_loads(space.holding_edges(), space, ends, potential, viscosity, bands).0
}

/// Loads `∫ K δ* p_s dt/ds ds` of edges on the vertices, m3/s, and `∫ K δ* p_s² ds`, W.
fn edge_loads(
    edges: impl Iterator<Item = SolidEdge>,
    space: &Space,
    ends: Ends,
    pressure: &[f64],
    viscosity: f64,
    bands: &[Band],
) -> (Vec<f64>, f64) {
    let mut loss = 0.0;
    let mut loads = space.flux_loads(edges.map(|edge| {
        let SolidEdge { vertices: [i, j], middle, length, gap: b, .. } = edge;
        let conductivity = weight(bands, middle) * b.powi(3) / (12.0 * viscosity);
        let carried = conductivity * displacement_thickness(b) * (pressure[j] - pressure[i]) / length;
        loss += carried * (pressure[j] - pressure[i]);
        (edge, carried)
    }));
    if ends == Ends::GivenInflow {
        balance_ends(space, &mut loads);
    }
    (loads, loss)
}

/// Leaves out the loads where walls meet ends, and what that leaves unbalanced.
fn balance_ends(space: &Space, loads: &mut [f64]) {
    let of_ends = space.vertices_where(|side| matches!(side, Side::Inlet | Side::Outlet));
    of_ends.iter().for_each(|&v| loads[v as usize] = 0.0);
    let outlet = space.vertices_where(|side| side == Side::Outlet);
    let excess = loads.iter().sum::<f64>() / outlet.len().max(1) as f64;
    outlet.iter().for_each(|&v| loads[v as usize] -= excess);
}

/// Corners near which the term is switched off.
fn bands(space: &Space) -> Vec<Band> {
    sharp_bands(space, BAND, TOO_SHARP)
}

/// δ* for a gap, m.
pub fn displacement_thickness(gap: f64) -> f64 {
    DISPLACEMENT * gap
}

/// Power of b/L of what first order neglects: 2, or 2 π/ω at the sharpest corner between edges that hold fluid back.
fn neglected_order(plan: &Plan) -> f64 {
    let solid = |piece: usize| plan.holds_back(plan.pieces[piece].side);
    let sharpest = plan
        .corners()
        .iter()
        .filter(|corner| solid(corner.before) && solid(corner.after))
        .map(|corner| corner.fluid_angle)
        .fold(std::f64::consts::PI, f64::max);
    2.0 * std::f64::consts::PI / sharpest
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Wall::{Lower, Upper};
    use crate::input::case::Gap;
    use crate::numerics::mesh::{Mesh, SizeField};
    use crate::theory::ideal::Goal;
    use std::f64::consts::PI;
    use std::sync::Arc;

    const SIDES: [Side; 4] = [Side::Wall(Lower), Side::Outlet, Side::Wall(Upper), Side::Inlet];

    fn around(hole: &[[f64; 2]]) -> Plan {
        Plan::polygon(&[[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]], &SIDES, &[hole.to_vec()]).unwrap()
    }

    /// 2 π/ω at the sharpest corner: 4/3 at a square post of 270 degrees, 2 without corners of solids beyond a straight angle.
    #[test]
    fn the_neglected_order_is_that_of_the_sharpest_corner_of_solids() {
        let square = around(&[[0.4, 0.4], [0.6, 0.4], [0.6, 0.6], [0.4, 0.6]]);
        assert!((neglected_order(&square) - 4.0 / 3.0).abs() < 1e-12);
        let empty = Plan::polygon(&[[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]], &SIDES, &[]).unwrap();
        assert!((neglected_order(&empty) - 2.0).abs() < 1e-12);
        // at the corner of 270 degrees a wall meets an end: no edge layer turns round it
        let l = [[0.0, 0.0], [2.0, 0.0], [2.0, 2.0], [1.0, 2.0], [1.0, 1.0], [0.0, 1.0]];
        let sides = [Lower, Lower, Lower, Upper, Upper, Lower].map(Side::Wall);
        let with = |inlet: usize, outlet: usize| {
            let mut sides = sides;
            (sides[inlet], sides[outlet]) = (Side::Inlet, Side::Outlet);
            neglected_order(&Plan::polygon(&l, &sides, &[]).unwrap())
        };
        assert!((with(4, 2) - 2.0).abs() < 1e-12);
        // between two walls it does
        assert!((with(5, 2) - 4.0 / 3.0).abs() < 1e-12);
    }

    /// Wedges with an edge of 59 and of 61 degrees, the others blunter: the term is switched off within one gap of the sharper one.
    #[test]
    fn edges_sharper_than_60_degrees_are_switched_off() {
        for (degrees, off) in [(59.0f64, 1), (61.0, 0)] {
            let half = 0.5 * degrees.to_radians();
            let (tip, back) = ([0.6, 0.5], 0.15);
            let rise = back * half.tan();
            let hole = [
                tip,
                [0.6 - back, 0.5 + rise],
                [0.5 - back, 0.5 + rise],
                [0.5 - back, 0.5 - rise],
                [0.6 - back, 0.5 - rise],
            ];
            let size = SizeField::new(0.05, 0.3, vec![]);
            let mesh = Mesh::generate(&Arc::new(around(&hole)), &size, 10_000).unwrap();
            let space = Space::new(Arc::new(mesh), &Gap::Uniform(0.02), 0.02);
            let bands = bands(&space);
            assert_eq!(bands.len(), off, "{degrees}");
            // a limit is to be exceeded
            assert!(bands.iter().all(|band| sharp_bands(&space, 1.0, band.fluid_angle).is_empty()));
            for band in bands {
                assert_eq!((band.at, band.length), (tip, 0.02));
                assert!((band.fluid_angle - (2.0 * PI - 2.0 * half)).abs() < 1e-9);
            }
        }
    }

    /// Given inflow is a problem of given fluxes all round, which has a solution only where the loads sum to zero. For p = x² along two
    /// walls what an edge carries is `K δ* (x_i + x_j)`; without the loads where walls meet ends the others sum to the difference of what
    /// the last and the first edge carry, and the outlet takes that back, as much at each vertex.
    #[test]
    fn loads_with_given_inflow_balance() {
        let (b, viscosity) = (0.02, 3e-3);
        let plan = Plan::polygon(&[[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]], &SIDES, &[]).unwrap();
        let mesh = Mesh::generate(&Arc::new(plan), &SizeField::new(0.1, 0.3, vec![]), 10_000).unwrap();
        let space = Space::new(Arc::new(mesh), &Gap::Uniform(b), b);
        let x = |v: usize| space.mesh.points[v][0];
        let pressure: Vec<f64> = (0..space.mesh.points.len()).map(|v| x(v) * x(v)).collect();
        let (loads, _) = edge_loads(space.holding_edges(), &space, Ends::GivenInflow, &pressure, viscosity, &[]);
        let unit = displacement_thickness(b) * b.powi(3) / (12.0 * viscosity);
        let carried: Vec<(f64, f64)> =
            space.solid_edges().map(|edge| (edge.middle[0], 2.0 * unit * edge.middle[0])).collect();
        // the first and the last edge of both walls
        let near = |end: f64| carried.iter().filter(move |(at, _)| (at - end).abs() < 0.1).map(|(_, of)| of);
        let back = near(1.0).sum::<f64>() - near(0.0).sum::<f64>();
        let outlet = space.vertices_where(|side| side == Side::Outlet);
        let each = back / outlet.len() as f64;
        assert!(near(0.0).count() == 2 && near(1.0).count() == 2 && each > unit / 10.0);
        assert!(loads.iter().sum::<f64>().abs() < 1e-12 * unit, "{}", loads.iter().sum::<f64>() / unit);
        for v in outlet {
            assert!((loads[v as usize] - each).abs() < 1e-12 * unit, "{} {each}", loads[v as usize]);
        }
        let inlet = space.vertices_where(|side| side == Side::Inlet);
        assert!(inlet.into_iter().all(|v| loads[v as usize] == 0.0));
        // between held ends nothing is taken away, and within a band there is nothing
        let (loads, loss) = edge_loads(space.holding_edges(), &space, Ends::HeldPressure, &pressure, viscosity, &[]);
        let first = space.solid_edges().map(|edge| edge.vertices).find(|&[i, _]| space.mesh.points[i] == [0.0, 0.0]);
        let [i, j] = first.unwrap();
        assert!((loads[i] + unit * (x(i) + x(j))).abs() < 1e-12 * unit && loss > 0.0);
        let everywhere = [Band { at: [0.5; 2], fluid_angle: 5.5, length: 2.0 }];
        let (loads, loss) =
            edge_loads(space.holding_edges(), &space, Ends::HeldPressure, &pressure, viscosity, &everywhere);
        assert!(loss == 0.0 && loads.iter().all(|&load| load == 0.0));
    }

    /// The pressure change is solved until the squared energy of the remaining error is below 1e-12 times the square of the largest load,
    /// whatever the units make of it: against a solution with a millionth of that energy left, whose own error counts for a thousandth.
    #[test]
    fn the_pressure_change_is_solved_to_its_tolerance_at_any_speed() {
        for speed in [1e-9, 1e-3] {
            let text = format!(
                "[cell]\nlength = 2\nwidth = 1\ngap = 0.02\n[fluid]\ndensity = 1000\nviscosity = 1e-3\n[drive]\nmean_speed = {speed:e}\n\
                 [[obstacle]]\ncircle = {{ centre = [1, 0.5], diameter = 0.3 }}\n"
            );
            let case = crate::input::case::parse(&text, "case.toml".as_ref()).into_result().unwrap();
            let plan = Arc::new(Plan::new(&case, &mut Default::default()).unwrap());
            let solved = crate::theory::ideal::solve_ideal(&plan, &case, Goal::Triangles(40_000), &|_| {}).unwrap();
            let (space, operator) = (&solved.space, &solved.pair.pressure_operator);
            let pattern = Pattern::new(space, &solved.pair, &case, 1.0);
            let layer = solve_edge_layer(space, operator, case.drive.ends, &pattern, case.cell.inlet_width()).unwrap();
            let (loads, _) = edge_loads(space.holding_edges(), space, case.drive.ends, &pattern.pressure, 1e-3, &[]);
            let scaled: Vec<f64> = loads.iter().map(|f| f / (0.02f64.powi(3) / (12.0 * 1e-3))).collect();
            let largest = scaled.iter().fold(0.0, |a: f64, f| a.max(f.abs()));
            let tolerance = 1e-12 * largest * largest;
            let close = operator.solve(&vec![0.0; scaled.len()], &scaled, 1e-6 * tolerance).unwrap();
            assert!(close.iterations > 1, "a mesh of one level is solved exactly");
            let left: Vec<f64> = layer.pressure.iter().zip(&close.values).map(|(p, q)| p - q).collect();
            let energy = operator.matrix().energy(&left);
            assert!(energy > 0.0 && energy < 1.01 * tolerance, "{speed}: {:e}", energy / tolerance);
        }
    }

    #[test]
    fn the_displacement_thickness_is_a_third_of_a_gap() {
        // 93 zeta(5)/pi^5, zeta(5) = 1.036927755143369926 (Abramowitz & Stegun 1964, table 23.3)
        let exact = 93.0 * 1.036_927_755_143_37 / PI.powi(5);
        assert!((displacement_thickness(2.0) - 2.0 * exact).abs() < 1e-14);
    }

    /// Loads are linear in the edges: nothing stands on the free rim of a bubble, what is left is what the walls have, and a stiff rim adds
    /// the layer that the rims have alone, to the tolerance of the solver. Far from a lone bubble the layer is then that of an empty cell.
    #[test]
    fn a_free_rim_has_no_layer_and_a_stiff_one_has_that_of_the_rims() {
        let solved = |edge: &str| {
            let text = format!(
                "[cell]\nlength = 2\nwidth = 1\ngap = 0.02\n[fluid]\ndensity = 1000\nviscosity = 1e-3\n[drive]\nmean_speed = 1e-4\n\
                 [[obstacle]]\nbubble = true\nedge = \"{edge}\"\ncircle = {{ centre = [1, 0.5], diameter = 0.3 }}\n"
            );
            let case = crate::input::case::parse(&text, "case.toml".as_ref()).into_result().unwrap();
            let plan = Arc::new(Plan::new(&case, &mut Default::default()).unwrap());
            let solved = crate::theory::ideal::solve_ideal(&plan, &case, Goal::Triangles(4_000), &|_| {}).unwrap();
            let pattern = Pattern::new(&solved.space, &solved.pair, &case, 1.0);
            (case, solved, pattern)
        };
        let of = |edge: &str| {
            let (case, solved, pattern) = solved(edge);
            let (space, operator) = (&solved.space, &solved.pair.pressure_operator);
            let (loads, loss) = edge_loads(space.holding_edges(), space, case.drive.ends, &pattern.pressure, 1e-3, &[]);
            let rim = space.vertices_where(|side| space.mesh.plan.is_bubble(side));
            let on_rim = rim.iter().map(|&v| loads[v as usize].abs()).fold(0.0, f64::max);
            let layer = solve_edge_layer(space, operator, case.drive.ends, &pattern, 1.0).unwrap();
            let rims = solve_rims(space, operator, case.drive.ends, &pattern).unwrap();
            let walls: f64 = space
                .solid_edges()
                .filter(|edge| matches!(edge.side, Side::Wall(_)))
                .map(|SolidEdge { vertices: [i, j], length, .. }| {
                    let rise = pattern.pressure[j] - pattern.pressure[i];
                    0.02f64.powi(3) / (12.0 * 1e-3) * displacement_thickness(0.02) * rise * rise / length
                })
                .sum();
            (pattern, on_rim, loss, walls, layer, rims)
        };
        let (pattern, on_rim, loss, walls, free, rims) = of("free");
        assert!(on_rim == 0.0 && (loss / walls - 1.0).abs() < 1e-12, "{on_rim} {loss} {walls}");
        let (same, on_rim, loss, walls, stiff, _) = of("solid");
        assert!(on_rim > 0.0 && loss > 1.1 * walls && same.pressure == pattern.pressure, "{loss} {walls}");
        let largest = stiff.pressure.iter().fold(0.0, |a: f64, p| a.max(p.abs()));
        for ((s, f), r) in stiff.pressure.iter().zip(&free.pressure).zip(&rims.pressure) {
            assert!((s - f - r).abs() < 1e-5 * largest, "{s} {f} {r}");
        }
        let of_rims = rims.shape_factor - pattern.shape_factor.value;
        assert!((stiff.shape_factor - free.shape_factor - of_rims).abs() < 1e-12);
    }
}
