//! The front as lines. Near it `w = (d b0/b)²/2`, d the distance from it, so `s = (b/b0) √(2 w)` goes to zero in a straight line: a quadratic
//! fitted to s a little behind the front gives its place to 1e-4 to 1e-3 of the cell where fills of vertices would be off by half a triangle.

use super::cell::Cell;
use crate::base::Point;
use crate::base::plane::{between, distance};
use crate::numerics::fem::Stiffness;
use rayon::prelude::*;
use std::collections::HashMap;

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
        // a star of six equilateral triangles has the area 2.6 h²
        let h = (space.star_area(v) / 2.598).sqrt();
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

/// Lines on which a linear vertex field is zero, over the triangles that are asked for; closed ones end where they start.
pub(super) fn contour(cell: &Cell, values: &[f64], wanted: impl Fn(&[u32; 3]) -> bool) -> Vec<Vec<Point>> {
    let mesh = &cell.space.mesh;
    let inside = |v: u32| values[v as usize] > 0.0;
    let mut number: HashMap<(u32, u32), usize> = HashMap::new();
    let mut places: Vec<Point> = Vec::new();
    let mut links: Vec<[Option<usize>; 2]> = Vec::new();
    for t in mesh.triangles.iter().filter(|t| wanted(t)) {
        let ends: Vec<usize> = (0..3)
            .map(|k| (t[k].min(t[(k + 1) % 3]), t[k].max(t[(k + 1) % 3])))
            .filter(|&(a, b)| inside(a) != inside(b))
            .map(|(a, b)| {
                *number.entry((a, b)).or_insert_with(|| {
                    let (at, to) = (values[a as usize], values[b as usize]);
                    places.push(between(mesh.points[a as usize], mesh.points[b as usize], at / (at - to)));
                    links.push([None; 2]);
                    places.len() - 1
                })
            })
            .collect();
        if let [a, b] = ends[..] {
            for (from, to) in [(a, b), (b, a)] {
                let slot = usize::from(links[from][0].is_some());
                links[from][slot] = Some(to);
            }
        }
    }
    let mut used = vec![false; places.len()];
    let mut lines = Vec::new();
    // open lines from their ends first, then closed ones
    let ends = (0..places.len()).filter(|&k| links[k][1].is_none());
    for start in ends.chain(0..places.len()) {
        if used[start] {
            continue;
        }
        let (mut line, mut at) = (Vec::new(), Some(start));
        while let Some(k) = at {
            used[k] = true;
            line.push(places[k]);
            at = links[k].iter().flatten().copied().find(|&next| !used[next]);
            if at.is_none() && line.len() > 2 && links[k].contains(&Some(start)) && links[start][1].is_some() {
                line.push(places[start]);
            }
        }
        lines.push(line);
    }
    lines
}
