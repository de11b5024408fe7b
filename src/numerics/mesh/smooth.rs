//! Moves inner vertices where that widens the least angle round them.

use super::Stars;
use crate::base::Point;
use crate::base::plane::{cross, square, way};

/// Moves every vertex that is not fixed towards the mean of its neighbours, if the least angle of its star grows.
pub(super) fn smooth(points: &mut [Point], triangles: &[[u32; 3]], fixed: &[bool], passes: usize) {
    let stars = Stars::new(points.len(), triangles);
    let mut sharpness: Vec<f64> =
        triangles.iter().map(|triangle| sharpness_of(triangle.map(|v| points[v as usize]))).collect();
    let mut moved: Vec<f64> = vec![];
    for _ in 0..passes {
        for v in (0..points.len()).filter(|&v| !fixed[v]) {
            let star = stars.of(v);
            if star.is_empty() {
                continue;
            }
            let mut mean = [0.0; 2];
            for &t in star {
                for &w in triangles[t as usize].iter().filter(|&&w| w as usize != v) {
                    mean[0] += points[w as usize][0];
                    mean[1] += points[w as usize][1];
                }
            }
            let count = 2.0 * star.len() as f64;
            let old = points[v];
            let before = star.iter().fold(-1.0, |sharpest: f64, &t| sharpest.max(sharpness[t as usize]));
            points[v] = [mean[0] / count, mean[1] / count];
            let after = star.iter().map(|&t| sharpness_of(triangles[t as usize].map(|v| points[v as usize])));
            moved.clear();
            moved.extend(after.take_while(|&sharpness| sharpness < before));
            if moved.len() < star.len() {
                points[v] = old;
            } else {
                star.iter().zip(&moved).for_each(|(&t, &after)| sharpness[t as usize] = after);
            }
        }
    }
}

/// Cosine of the least angle of some triangles; 2 if one is inverted.
pub(super) fn widest_cosine(points: &[Point], triangles: &[[u32; 3]], star: &[u32]) -> f64 {
    star.iter()
        .fold(-1.0, |widest: f64, &t| widest.max(least_angle_cosine(triangles[t as usize].map(|v| points[v as usize]))))
}

/// Cosine of the least angle of a triangle; 2 if it is inverted or degenerate.
pub(super) fn least_angle_cosine(p: [Point; 3]) -> f64 {
    sharpness_of(p).sqrt()
}

/// Squared cosine of the least angle of a triangle; 4 if it is inverted or degenerate.
fn sharpness_of(p: [Point; 3]) -> f64 {
    let (u, v, w) = (way(p[0], p[1]), way(p[1], p[2]), way(p[0], p[2]));
    let twice_area = cross(u, w);
    if twice_area <= 0.0 || twice_area.is_nan() {
        return 4.0;
    }
    let (a, b, c) = (square(u), square(v), square(w));
    // The least angle lies opposite the shortest side.
    let (short, x, y) = if a <= b && a <= c {
        (a, b, c)
    } else if b <= c {
        (b, a, c)
    } else {
        (c, a, b)
    };
    let sum = x + y - short;
    0.25 * sum * sum / (x * y)
}
