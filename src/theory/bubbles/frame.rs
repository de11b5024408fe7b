//! The stream function with a moving patch in the cell, and lines in the patch's own frame.
//!
//! The rim pushes liquid, so that the stream function changes along it by `−∫ b U.n ds`, up to a constant that the flow chooses; walls and other
//! obstacles are as ever. A picture of a patch that moves is unsteady: dye lines photographed while it passes are none of these lines. Seen from
//! the patch, at the moment, `ψ − b (U_x y − U_y x)` is constant along its rim.
//!
//! Range: as [`super::free_patch`]; the frame of the patch for a uniform gap alone.

use crate::base::Result;
use crate::numerics::fem::{SolidEdge, Space};
use crate::theory::ideal::Pair;
use std::collections::BTreeMap;

/// Part of the energy that iteration may leave undone.
const ALGEBRAIC_SHARE: f64 = 1e-12;

/// The stream function, m3/s: 0 on the lower wall, `flow_rate` on the upper. `crossing` is `∫ b U.n ds` over an edge of the rim, m3/s, n into the
/// liquid; it sums to zero over the rim.
pub(super) fn stream_function(
    space: &Space,
    pair: &Pair,
    flow_rate: f64,
    rim: &[SolidEdge],
    crossing: impl Fn(&SolidEdge) -> f64,
) -> Result<Vec<f64>> {
    let along = along_rim(space.mesh.points.len(), rim, crossing);
    let operator = &pair.stream_operator;
    let matrix = operator.matrix();
    let loads: Vec<f64> = (0..along.len()).map(|v| -matrix.row_times(v, &along)).collect();
    let start: Vec<f64> = pair.stream.iter().map(|part| part * flow_rate).collect();
    let largest = along.iter().fold(flow_rate.abs(), |most, value| most.max(value.abs()));
    let mut psi = operator.solve(&start, &loads, ALGEBRAIC_SHARE * largest * largest)?.values;
    psi.iter_mut().zip(&along).for_each(|(psi, along)| *psi += along);
    Ok(psi)
}

/// What has crossed the rim up to each of its vertices, with the sign of the stream function; zero elsewhere.
fn along_rim(vertices: usize, rim: &[SolidEdge], crossing: impl Fn(&SolidEdge) -> f64) -> Vec<f64> {
    let from: BTreeMap<usize, &SolidEdge> = rim.iter().map(|edge| (edge.vertices[0], edge)).collect();
    let mut along = vec![0.0; vertices];
    let Some(first) = rim.first().map(|edge| edge.vertices[0]) else { return along };
    let mut vertex = first;
    for _ in 1..rim.len() {
        let Some(edge) = from.get(&vertex) else { break };
        let next = edge.vertices[1];
        // the liquid is to the left of the rim's edges
        along[next] = along[vertex] - crossing(edge);
        vertex = next;
    }
    along
}

/// The stream function that one who goes with the patch sees, m3/s.
pub(super) fn in_its_frame(space: &Space, psi: &[f64], [u, v]: [f64; 2]) -> Vec<f64> {
    let of = |((psi, p), b): ((&f64, &[f64; 2]), &f64)| psi - b * (u * p[1] - v * p[0]);
    psi.iter().zip(&space.mesh.points).zip(&space.gap).map(of).collect()
}
