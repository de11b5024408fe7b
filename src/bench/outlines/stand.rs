//! Moves and growth of an edge from its offsets, by least squares.
//!
//! `o_i = n_i·(dx, dy) + growth`; places beyond three deviations, by the median size of residuals, are dropped, twice: dye lines
//! and glare across the edge. Standard errors are those of the least squares and, in squares, the answers of the same least squares to
//! each mode of the map (`n_i·g_m`, see `Calibration::modes`) and to the unknown depth: a step `h = (b/2) tan(theta_f)` outwards from
//! below the camera along e, `h n_i·e`, or the growth `h |n_i·e|`, whichever answer is more.

use super::places::Spot;
use crate::base::plane::{Vector, dot, unit, way};
use crate::bench::lines::deviation;
use crate::bench::photo::Calibration;
use crate::bench::photo::step_down::{Layer, Stand};
use crate::bench::statistics::System;

/// Deviations beyond which a place is dropped, how often, and the least deviation, m.
const BEYOND: f64 = 3.0;
const ROUNDS: usize = 2;
const LEAST: f64 = 5e-6;

/// An edge as it was seen.
#[derive(Clone, Copy)]
pub struct Edge<'a> {
    pub map: &'a Calibration,
    /// The gap, m.
    pub gap: f64,
    pub spots: &'a [Spot],
}

/// What offsets tell: unknowns of a row for each place.
struct Solver {
    rows: Vec<Vec<f64>>,
    system: System,
}

impl Solver {
    /// None where the places do not tell the unknowns apart.
    fn new(spots: &[Spot], row: &dyn Fn(&Spot) -> Vec<f64>) -> Option<Solver> {
        let rows: Vec<Vec<f64>> = spots.iter().map(row).collect();
        let unknowns = rows.first()?.len();
        let product = |i: usize, j: usize| rows.iter().map(|row| row[i] * row[j]).sum::<f64>();
        let matrix: Vec<Vec<f64>> = (0..unknowns).map(|i| (0..unknowns).map(|j| product(i, j)).collect()).collect();
        let system = System::new(&matrix);
        (rows.len() > unknowns && system.is_determined()).then_some(Solver { rows, system })
    }

    fn answer(&self, offsets: &[f64]) -> Vec<f64> {
        let unknowns = 0..self.rows[0].len();
        let product = |i: usize| self.rows.iter().zip(offsets).map(|(row, offset)| row[i] * offset).sum::<f64>();
        self.system.solve(&unknowns.map(product).collect::<Vec<f64>>())
    }
}

impl Edge<'_> {
    /// Standard errors that all places share, for unknowns of a row: those of the map and of the depth.
    pub fn systematic(&self, row: &dyn Fn(&Spot) -> Vec<f64>) -> Option<Vec<f64>> {
        let solver = Solver::new(self.spots, row)?;
        let modes: Vec<Vec<Vector>> = self.spots.iter().map(|spot| self.map.modes(spot.at)).collect::<Option<_>>()?;
        let mut squares = vec![0.0; solver.rows[0].len()];
        for mode in 0..modes[0].len() {
            let offsets: Vec<f64> =
                self.spots.iter().zip(&modes).map(|(spot, modes)| dot(spot.normal, modes[mode])).collect();
            squares.iter_mut().zip(solver.answer(&offsets)).for_each(|(sum, own)| *sum += own * own);
        }
        let one_face: Vec<f64> = self.spots.iter().map(|spot| dot(spot.normal, self.depth(spot))).collect();
        let both_faces: Vec<f64> = one_face.iter().map(|offset| offset.abs()).collect();
        let [one, both] = [one_face, both_faces].map(|offsets| solver.answer(&offsets));
        let sigma = |k: usize| squares[k].sqrt().hypot(one[k].abs().max(both[k].abs()));
        Some((0..squares.len()).map(sigma).collect())
    }

    /// The step from the height of the dye to either inner face, m, as it is seen, taken as half of the whole.
    fn depth(&self, spot: &Spot) -> Vector {
        let stand = self.map.fit.pose.stand;
        let fluid = Layer { thickness: 0.5 * self.gap, ..self.map.layers[1] };
        let step = Stand::outwards(stand.slope(stand.lifted(spot.at, &self.map.layers)), fluid);
        unit(way(stand.foot, spot.at)).map_or([0.0; 2], |outwards| outwards.map(|x| step * x))
    }
}

/// dx, dy and growth with their standard errors, m; none where the places do not tell them apart.
pub fn stand(edge: &Edge) -> Option<[(f64, f64); 3]> {
    let row = |spot: &Spot| vec![spot.normal[0], spot.normal[1], 1.0];
    let mut kept = edge.spots.to_vec();
    let mut found = Vec::new();
    let mut sigmas = [0.0; 3];
    for round in 0..=ROUNDS {
        let solver = Solver::new(&kept, &row)?;
        found = solver.answer(&kept.iter().map(|spot| spot.offset).collect::<Vec<f64>>());
        let off = |spot: &Spot| spot.offset - row(spot).iter().zip(&found).map(|(x, y)| x * y).sum::<f64>();
        if round == ROUNDS {
            let freedom = (kept.len() - found.len()) as f64;
            let variance = kept.iter().map(|spot| off(spot).powi(2)).sum::<f64>() / freedom;
            let inverse = solver.system.inverse();
            sigmas = [0, 1, 2].map(|k| (variance * inverse[k][k]).sqrt());
            break;
        }
        let limit = BEYOND * deviation(&kept.iter().map(off).collect::<Vec<f64>>()).max(LEAST);
        kept = edge.spots.iter().filter(|spot| off(spot).abs() <= limit).copied().collect();
    }
    let systematic = Edge { spots: &kept, ..*edge }.systematic(&row)?;
    Some([0, 1, 2].map(|k| (found[k], sigmas[k].hypot(systematic[k]))))
}
