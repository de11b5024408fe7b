//! The front as lines. Near it `w = (d b0/b)²/2`, d the distance from it, so `s = (b/b0) √(2 w)` goes to zero in a straight line: a quadratic
//! fitted to s a little behind the front gives its place to 1e-4 to 1e-3 of the cell where fills of vertices would be off by half a triangle.

use super::cell::Cell;
use crate::base::Point;
use crate::base::plane::distance;
use crate::numerics::contour::{Chain, iso_lines};
use crate::numerics::fem::Stiffness;
use rayon::prelude::*;

/// Least distance from the front, and reach of a fit, in sides of the triangles there; the larger one where the other holds too few vertices.
const BEHIND: f64 = 1.2;
const REACH: [f64; 2] = [4.0, 6.0];
/// Fewest vertices of a fit.
const FEWEST: usize = 12;

/// Distance behind the front at every vertex, m: negative ahead of it.
pub(super) fn heights(cell: &Cell, matrix: &Stiffness, wet: &[bool], w: &[f64], fill: &[f64]) -> Vec<f64> {
    let space = cell.space;
    let ratio = |v: usize| space.gap[v] / space.reference_gap;
    let behind: Vec<f64> = (0..wet.len()).map(|v| ratio(v) * (2.0 * w[v].max(0.0)).sqrt()).collect();
    let of = |v: usize| {
        let h = space.side_at(v);
        // where the liquid has reached the outlet the front is no more
        if cell.outlet[v] && fill[v] > 1.0 - 1e-9 {
            return h;
        }
        if wet[v] && matrix.row(v).0.iter().any(|&c| cell.outlet[c as usize] && fill[c as usize] > 1.0 - 1e-9) {
            return behind[v].max(h);
        }
        let beside = matrix.row(v).0.iter().any(|&c| wet[c as usize]);
        if !wet[v] && !beside {
            return -h;
        }
        if wet[v] && behind[v] >= BEHIND * h {
            return behind[v];
        }
        let range = if wet[v] { [-0.5 * h, 2.0 * h] } else { [-1.5 * h, 0.5 * h] };
        match REACH.iter().find_map(|reach| fitted(cell, matrix, wet, &behind, v, [h, reach * h])) {
            Some(s) => s.clamp(range[0], range[1]),
            // the front halves a vertex that is half full
            None => behind[v].max((fill[v] - 0.5) * h),
        }
    };
    (0..wet.len()).into_par_iter().map(of).collect()
}

/// The fitted quadratic at a vertex; none where too few vertices tell.
fn fitted(
    cell: &Cell,
    matrix: &Stiffness,
    wet: &[bool],
    behind: &[f64],
    v: usize,
    [h, reach]: [f64; 2],
) -> Option<f64> {
    let points = &cell.space.mesh.points;
    let (mut list, mut next) = (vec![v as u32], 0);
    while next < list.len() {
        let from = list[next] as usize;
        next += 1;
        for &c in matrix.row(from).0 {
            let near = distance(points[c as usize], points[v]) <= reach;
            if near && wet[c as usize] && !list.contains(&c) {
                list.push(c);
            }
        }
    }
    let (mut a, mut b, mut count) = ([[0.0; 6]; 6], [0.0; 6], 0);
    for &c in &list {
        let c = c as usize;
        if !wet[c] || cell.source[c] || behind[c] < BEHIND * h || behind[c] > reach {
            continue;
        }
        count += 1;
        let [x, y] = [0, 1].map(|k| (points[c][k] - points[v][k]) / h);
        let weight = (1.0 + x * x + y * y).powi(-2);
        let basis = [1.0, x, y, x * x, x * y, y * y];
        for i in 0..6 {
            b[i] += weight * basis[i] * behind[c];
            (0..6).for_each(|j| a[i][j] += weight * basis[i] * basis[j]);
        }
    }
    (count >= FEWEST).then(|| first_unknown(a, b)).flatten()
}

/// The first unknown of a symmetric positive system by elimination from the last; none if it is all but singular.
fn first_unknown(mut a: [[f64; 6]; 6], mut b: [f64; 6]) -> Option<f64> {
    let scale: Vec<f64> = (0..6).map(|k| a[k][k]).collect();
    for k in (1..6).rev() {
        if a[k][k] <= 1e-9 * scale[k] || !a[k][k].is_finite() {
            return None;
        }
        for i in 0..k {
            let factor = a[i][k] / a[k][k];
            (0..k).for_each(|j| a[i][j] -= factor * a[k][j]);
            b[i] -= factor * b[k];
        }
    }
    (a[0][0] > 1e-9 * scale[0]).then(|| b[0] / a[0][0])
}

/// The front as lines, the air on their left: where the heights pass zero; closed ones end where they start.
pub(super) fn lines(cell: &Cell, heights: &[f64]) -> Vec<Vec<Point>> {
    let mesh = &cell.space.mesh;
    let ahead: Vec<f64> = heights.iter().map(|height| -height).collect();
    let line = |chain: &Chain| {
        let mut places = chain.points(&mesh.points);
        if chain.closed {
            places.extend(places.first().copied());
        }
        places
    };
    iso_lines(mesh, &ahead, 0.0).iter().map(line).collect()
}
