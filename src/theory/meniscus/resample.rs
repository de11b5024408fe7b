//! Points of a front placed anew, evenly.

use crate::base::Point;
use crate::base::plane::{between, distance};

/// The points of a front at even distances of about h, its first and last kept: on a cubic spline over the length, or, beside kinks, on the
/// straight edges. At least two edges.
pub(super) fn resample(nodes: &[Point], h: f64, smooth: bool) -> Vec<Point> {
    let mut at = vec![0.0];
    let mut own: Vec<Point> = vec![nodes[0]];
    for &p in &nodes[1..] {
        let step = distance(own[own.len() - 1], p);
        if step > 0.0 {
            at.push(at[at.len() - 1] + step);
            own.push(p);
        }
    }
    let count = own.len();
    if count < 2 {
        return nodes.to_vec();
    }
    let whole = at[count - 1];
    let edges = ((whole / h).round() as usize).max(2);
    let bends = if smooth && count > 3 { bends(&at, &own) } else { vec![[0.0; 2]; count] };
    let mut k = 0;
    let mut placed = vec![own[0]];
    for edge in 1..edges {
        let x = whole * edge as f64 / edges as f64;
        while k + 2 < count && at[k + 1] < x {
            k += 1;
        }
        let step = at[k + 1] - at[k];
        let b = (x - at[k]) / step;
        let a = 1.0 - b;
        let straight = between(own[k], own[k + 1], b);
        let bend = |c: usize| ((a * a * a - a) * bends[k][c] + (b * b * b - b) * bends[k + 1][c]) * step * step / 6.0;
        placed.push([straight[0] + bend(0), straight[1] + bend(1)]);
    }
    placed.push(own[count - 1]);
    placed
}

/// Second derivatives of the spline, even over the first and the last edge.
fn bends(at: &[f64], points: &[Point]) -> Vec<[f64; 2]> {
    let last = points.len() - 1;
    let mut bends = vec![[0.0; 2]; last + 1];
    for c in 0..2 {
        // tridiagonal: h0 m0 + 2 (h0 + h1) m1 + h1 m2 = 6 (slope1 - slope0), m0 = m1 at the ends
        let (mut diagonal, mut right) = (vec![0.0; last + 1], vec![0.0; last + 1]);
        let step = |k: usize| at[k + 1] - at[k];
        let slope = |k: usize| (points[k + 1][c] - points[k][c]) / step(k);
        for k in 1..last {
            diagonal[k] = 2.0 * (step(k - 1) + step(k));
            right[k] = 6.0 * (slope(k) - slope(k - 1));
        }
        diagonal[1] += step(0);
        diagonal[last - 1] += step(last - 1);
        for k in 2..last {
            let factor = step(k - 1) / diagonal[k - 1];
            diagonal[k] -= factor * step(k - 1);
            right[k] -= factor * right[k - 1];
        }
        for k in (1..last).rev() {
            let after = if k + 1 < last { step(k) * bends[k + 1][c] } else { 0.0 };
            bends[k][c] = (right[k] - after) / diagonal[k];
        }
        bends[0][c] = bends[1][c];
        bends[last][c] = bends[last - 1][c];
    }
    bends
}

/// Whether edges are so uneven or so far from h that points are to be placed anew.
pub(super) fn is_uneven(edges: impl Iterator<Item = f64>, h: f64) -> bool {
    let (mut low, mut high, mut sum, mut count) = (f64::INFINITY, 0.0, 0.0, 0);
    for edge in edges {
        low = f64::min(low, edge);
        high = f64::max(high, edge);
        sum += edge;
        count += 1;
    }
    if count <= 2 {
        // no fewer than two
        return count < 2 || high > 2.0 * h || sum > 2.5 * h || low < 0.4 * high;
    }
    let mean = sum / f64::from(count);
    !(0.75 * h..=1.25 * h).contains(&mean) || low < 0.4 * h || high > 2.0 * h
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A quarter circle by 16 uneven edges: a cubic spline is off by about step^4 times the fourth derivative over 384, here 2.5e-6 of the radius at
    /// edges of 0.15; its ends, with an even second derivative over an edge, by about step^3/12 of the third, here 1e-4.
    #[test]
    fn circles_stay_round() {
        let angle = |k: usize| 0.5 * std::f64::consts::PI * ((k as f64) + 0.2 * (k as f64).sin()) / 16.0;
        let mut points: Vec<Point> = (0..=16).map(|k| [angle(k).cos(), angle(k).sin()]).collect();
        points[16] = [0.0, 1.0];
        let placed = resample(&points, 0.08, true);
        assert_eq!(placed.len(), 21);
        let (first, last) = (placed[0], placed[20]);
        assert_eq!((first, last), (points[0], points[16]));
        let off = |p: &Point| (p[0].hypot(p[1]) - 1.0).abs();
        assert!(placed.iter().map(off).fold(0.0, f64::max) < 3e-4);
        assert!(placed[4..17].iter().map(off).fold(0.0, f64::max) < 1e-5);
        // straight edges lie within: the arrow of 0.1 is 1.2e-3
        let straight = resample(&points, 0.08, false);
        assert!(straight.iter().map(off).fold(0.0, f64::max) > 3e-4);
    }

    #[test]
    fn uneven_edges_are_seen_on_both_sides() {
        assert!(!is_uneven([1.0; 5].into_iter(), 1.0));
        assert!(is_uneven([0.74; 5].into_iter(), 1.0) && !is_uneven([0.76; 5].into_iter(), 1.0));
        assert!(is_uneven([1.26; 5].into_iter(), 1.0) && !is_uneven([1.24; 5].into_iter(), 1.0));
        assert!(
            is_uneven([1.1, 0.39, 1.0, 1.0].into_iter(), 1.0) && !is_uneven([1.1, 0.41, 1.0, 1.0].into_iter(), 1.0)
        );
        assert!(is_uneven([0.9, 0.9, 0.9, 2.01, 0.9].into_iter(), 1.0));
        assert!(!is_uneven([0.5; 2].into_iter(), 1.0) && is_uneven([0.5].into_iter(), 1.0));
    }
}
