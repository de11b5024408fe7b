//! Obstacles that stand elsewhere than drawn, or are larger: what lines would show of it, to first order.
//!
//! Moved by e, an obstacle's edge moves into the fluid by `dn = n·e`, n the normal into the fluid; grown, by `dn = 1` per unit of growth. To
//! first order the flow outside answers as it does to the edge layer with dn in place of the displacement thickness:
//! `∫ K ∇p1.∇t = ∫_edge K dn (dp0/ds)(dt/ds) ds`, with the pressure operator of the ideal pattern, three solves for each obstacle.
//! What that changes of the mean speed moves no line, for it goes along with the ideal flow.
//!
//! Range: one Newton step; errors are of the second order in the move over the radius. A move beyond a tenth of the obstacle's
//! size asks for another solve with the obstacle moved ([`Found::again`]). The edge layer of a round obstacle is the
//! same as its growth, so that one of both must be given.

use super::explain::{Column, Estimate, Fit, MOVE_FLOOR};
use super::ideal::Ideal;
use super::predict::shifts_of;
use super::shift::Line;
use crate::base::Result;
use crate::base::plane::{dot, left, unit, way};
use crate::geometry::Side;
use crate::numerics::fem::{Operator, Space, gradient, sides};
use crate::theory::ideal::Pattern;
use rayon::prelude::*;

/// Part of the size of an obstacle beyond which a move needs a second solve.
const FAR: f64 = 0.05;

/// Least stated error of a taper.
const TAPER_FLOOR: f64 = 0.005;

/// How many standard errors a move has that is told.
const SURE: f64 = 4.0;
/// The least move that is told, m.
const TOLD: f64 = 0.1e-3;

/// How an obstacle may differ from its drawing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Change {
    /// It stands further downstream.
    Along,
    /// It stands further towards the upper wall.
    Up,
    /// Its edge stands further out everywhere.
    Growth,
}

impl Change {
    /// All of them.
    pub const ALL: [Change; 3] = [Change::Along, Change::Up, Change::Growth];

    fn key(self) -> &'static str {
        match self {
            Change::Along => "dx",
            Change::Up => "dy",
            Change::Growth => "growth",
        }
    }

    /// How far an edge of the given normal into the fluid moves into it.
    fn into_fluid(self, normal: [f64; 2]) -> f64 {
        match self {
            Change::Along => normal[0],
            Change::Up => normal[1],
            Change::Growth => 1.0,
        }
    }
}

/// An obstacle as lines have it.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// Its name.
    pub name: String,
    /// How much further downstream, how much higher, how much grown, m, each with its standard error.
    pub changes: [(f64, f64); 3],
    /// Its extent across the flow, m.
    pub height: f64,
    /// Whether it moved so far that the case should be solved again with it there, and fitted again.
    pub again: bool,
}

/// What the velocity changes by for each unit of a change of the sides that move, 1/s.
///
/// # Errors
/// [`crate::base::Error::NoConvergence`] if the solver does not come to its end.
pub fn departure_of(
    space: &Space,
    operator: &Operator,
    pattern: &Pattern,
    moves: impl Fn(Side) -> bool,
    change: Change,
) -> Result<Vec<[f64; 2]>> {
    // over b0³/(12 μ), as the operator is
    let moving = space.solid_edges().filter(|edge| moves(edge.side));
    let loads = space.flux_loads(moving.map(|edge| {
        let [i, j] = edge.vertices;
        let along = unit(way(space.mesh.points[i], space.mesh.points[j])).unwrap_or_default();
        let slope = (pattern.pressure[j] - pattern.pressure[i]) / edge.length;
        (edge, (edge.gap / space.reference_gap).powi(3) * change.into_fluid(left(along)) * slope)
    }));
    answered(space, operator, pattern, &loads)
}

/// What the velocity changes by under loads of the pressure, over b0³/(12 μ), m/s.
fn answered(space: &Space, operator: &Operator, pattern: &Pattern, loads: &[f64]) -> Result<Vec<[f64; 2]>> {
    let size = loads.iter().fold(0.0, |a: f64, f| a.max(f.abs()));
    let pressure = operator.solve(&vec![0.0; loads.len()], loads, 1e-12 * size * size)?.values;
    let [slope] = space.recovery().gradients(space.harmonic_if_uniform(), [&pressure]);
    let mobility = |v: usize| space.gap[v].powi(2) / (12.0 * pattern.fluid.viscosity);
    Ok(slope.into_iter().enumerate().map(|(v, slope)| slope.map(|x| -mobility(v) * x)).collect())
}

/// A column for each change of each obstacle, obstacle after obstacle.
///
/// # Errors
/// As [`departure_of`].
pub fn obstacle_columns(ideal: &Ideal, lines: &[Line], operator: &Operator, pattern: &Pattern) -> Result<Vec<Column>> {
    let space = ideal.space();
    let names: Vec<&str> = space.mesh.plan.obstacles.iter().map(|obstacle| obstacle.name.as_str()).collect();
    let wanted: Vec<(usize, Change)> = (0..names.len()).flat_map(|k| Change::ALL.map(|change| (k, change))).collect();
    let column = |&(k, change): &(usize, Change)| -> Result<Column> {
        let departure = departure_of(space, operator, pattern, |side| side == Side::Obstacle(k as u32), change)?;
        let shifts = shifts_of(ideal, lines, &departure, pattern.drive.mean_speed);
        Ok(Column { name: key(names[k], change), shifts, prior: None, floor: MOVE_FLOOR })
    };
    wanted.par_iter().map(column).collect()
}

/// The column of both side walls further in by so much; `prior` is how well their place is known, m. Beside obstacles they shift lines too, for
/// the flow between is held together more.
///
/// # Errors
/// As [`departure_of`].
pub fn walls(
    ideal: &Ideal,
    lines: &[Line],
    operator: &Operator,
    pattern: &Pattern,
    prior: Option<f64>,
) -> Result<Column> {
    let is_wall = |side| matches!(side, Side::Wall(_));
    let departure = departure_of(ideal.space(), operator, pattern, is_wall, Change::Growth)?;
    let shifts = shifts_of(ideal, lines, &departure, pattern.drive.mean_speed);
    Ok(Column { name: "side walls".to_owned(), shifts, prior, floor: MOVE_FLOOR })
}

/// The column of a gap that grows along the cell by the whole of itself, once the lines are as far as that: an amplitude of 0.05 is a taper of 5 % from
/// inlet to outlet. `∫ K ∇p1.∇t = -∫ 3 s K ∇p0.∇t` with s the growth, zero in the middle; what the wider gap carries more along the
/// lines turns none.
///
/// # Errors
/// As [`departure_of`].
pub fn taper_column(ideal: &Ideal, lines: &[Line], operator: &Operator, pattern: &Pattern) -> Result<Column> {
    let space = ideal.space();
    let mesh = &space.mesh;
    let length = mesh.points.iter().map(|p| p[0]).fold(f64::MIN_POSITIVE, f64::max);
    let mut loads = vec![0.0; mesh.points.len()];
    for (t, triangle) in mesh.triangles.iter().enumerate() {
        let corners = space.corners(t);
        let slope = gradient(corners, triangle.map(|v| pattern.pressure[v as usize]));
        let growth = corners.iter().map(|p| p[0] / length - 0.5).sum::<f64>() / 3.0;
        let gap = triangle.iter().map(|&v| space.gap[v as usize]).sum::<f64>() / 3.0 / space.reference_gap;
        // sides are gradients times twice the area
        for (&v, side) in triangle.iter().zip(sides(corners)) {
            loads[v as usize] -= 1.5 * growth * gap.powi(3) * dot(side, slope);
        }
    }
    let departure = answered(space, operator, pattern, &loads)?;
    let shifts = shifts_of(ideal, lines, &departure, pattern.drive.mean_speed);
    Ok(Column { name: "taper".to_owned(), shifts, prior: None, floor: TAPER_FLOOR })
}

fn key(name: &str, change: Change) -> String {
    format!("{name}: {}", change.key())
}

/// The obstacles as a fit with those columns has them; without those that it does not hold.
pub fn found_obstacles(space: &Space, fit: &Fit) -> Vec<Found> {
    let of = |obstacle: &crate::geometry::PlanObstacle| -> Option<Found> {
        let value = |change: Change| -> Option<(f64, f64)> {
            let Estimate { value, sigma, .. } = fit.of(&key(&obstacle.name, change))?;
            Some((*value, *sigma))
        };
        let changes = [value(Change::Along)?, value(Change::Up)?, value(Change::Growth)?];
        let far = changes[0].0.hypot(changes[1].0).max(changes[2].0.abs());
        let again = far > FAR * obstacle.height;
        Some(Found { name: obstacle.name.clone(), changes, height: obstacle.height, again })
    };
    space.mesh.plan.obstacles.iter().filter_map(of).collect()
}

impl Found {
    /// The obstacle in a sentence, if it surely stands elsewhere: beyond four standard errors and a tenth of a millimetre.
    pub fn told(&self) -> Option<String> {
        let words = [["further downstream", "further upstream"], ["higher", "lower"]];
        let sure = |(value, sigma): (f64, f64)| value.abs() > SURE * sigma && value.abs() > TOLD;
        let mut parts: Vec<String> = Vec::new();
        for (&change, [more, less]) in self.changes[..2].iter().zip(words) {
            if sure(change) {
                parts.push(format!("{:.1} mm {}", 1e3 * change.0.abs(), if change.0 > 0.0 { more } else { less }));
            }
        }
        let stands = (!parts.is_empty()).then(|| format!("stands {} than drawn", parts.join(" and ")));
        let grown = sure(self.changes[2]).then(|| {
            let growth = self.changes[2].0;
            let word = if growth > 0.0 { "larger" } else { "smaller" };
            format!("is {word} than drawn by {:.1} mm all round", 1e3 * growth.abs())
        });
        let told: Vec<String> = [stands, grown].into_iter().flatten().collect();
        (!told.is_empty()).then(|| format!("\"{}\" {}", self.name, told.join(" and ")))
    }
}
