//! Moves inner vertices where that widens the least angle round them.

use crate::Point;

/// For every vertex, the triangles that use it.
pub(super) struct Stars {
    first: Vec<u32>,
    triangles: Vec<u32>,
}

impl Stars {
    pub(super) fn new(vertices: usize, triangles: &[[u32; 3]]) -> Stars {
        let mut first = vec![0u32; vertices + 1];
        triangles.iter().flatten().for_each(|&v| first[v as usize + 1] += 1);
        for v in 0..vertices {
            first[v + 1] += first[v];
        }
        let mut place = first.clone();
        let mut list = vec![0u32; 3 * triangles.len()];
        for (index, triangle) in triangles.iter().enumerate() {
            for &v in triangle {
                list[place[v as usize] as usize] = index as u32;
                place[v as usize] += 1;
            }
        }
        Stars { first, triangles: list }
    }

    pub(super) fn of(&self, v: usize) -> &[u32] {
        &self.triangles[self.first[v] as usize..self.first[v + 1] as usize]
    }
}

/// Moves every vertex that is not fixed towards the mean of its neighbours, if the least angle of its star grows.
pub(super) fn smooth(points: &mut [Point], triangles: &[[u32; 3]], fixed: &[bool], passes: usize) {
    let stars = Stars::new(points.len(), triangles);
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
            let before = widest_cosine(points, triangles, star);
            points[v] = [mean[0] / count, mean[1] / count];
            let after = widest_cosine(points, triangles, star);
            if after.is_nan() || after >= before {
                points[v] = old;
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
    let side = |i: usize, j: usize| [p[j][0] - p[i][0], p[j][1] - p[i][1]];
    let (u, v, w) = (side(0, 1), side(1, 2), side(2, 0));
    if u[1] * w[0] - u[0] * w[1] <= 0.0 {
        return 2.0;
    }
    let square = |a: [f64; 2]| a[0] * a[0] + a[1] * a[1];
    let (a, b, c) = (square(u), square(v), square(w));
    // The least angle lies opposite the shortest side.
    let (short, x, y) = if a <= b && a <= c {
        (a, b, c)
    } else if b <= c {
        (b, a, c)
    } else {
        (c, a, b)
    };
    0.5 * (x + y - short) / (x * y).sqrt()
}
