//! One linear triangle.

use crate::base::Point;
use crate::base::plane::triangle_area;

/// Gradients of the three shape functions times twice the area: (b_i, c_i) = (y_j - y_k, x_k - x_j).
pub fn sides([a, b, c]: [Point; 3]) -> [[f64; 2]; 3] {
    [[b[1] - c[1], c[0] - b[0]], [c[1] - a[1], a[0] - c[0]], [a[1] - b[1], b[0] - a[0]]]
}

/// `c ∫ ∇φ_i·∇φ_j` over a triangle.
pub fn stiffness(places: [Point; 3], c: f64) -> [[f64; 3]; 3] {
    let s = sides(places);
    let weight = c / (4.0 * triangle_area(places));
    [0, 1, 2].map(|i| [0, 1, 2].map(|j| weight * (s[i][0] * s[j][0] + s[i][1] * s[j][1])))
}

/// Gradient of the linear function with the given corner values.
pub fn gradient(corners: [Point; 3], values: [f64; 3]) -> [f64; 2] {
    let s = sides(corners);
    let twice = 2.0 * triangle_area(corners);
    let along = |k: usize| (s[0][k] * values[0] + s[1][k] * values[1] + s[2][k] * values[2]) / twice;
    [along(0), along(1)]
}

/// Gradient of a linear vertex field on every triangle.
pub fn triangle_gradients(points: &[Point], triangles: &[[u32; 3]], values: &[f64]) -> Vec<[f64; 2]> {
    use rayon::prelude::*;
    triangles.par_iter().map(|t| gradient(t.map(|v| points[v as usize]), t.map(|v| values[v as usize]))).collect()
}

/// Exact mean of b³ over a triangle on which b is linear: the sum of all ten cubic monomials of its corner values over ten.
pub fn mean_cube([a, b, c]: [f64; 3]) -> f64 {
    let (s, q) = (a + b + c, a * a + b * b + c * c);
    let cubes = a * a * a + b * b * b + c * c * c;
    // complete homogeneous polynomial h3 from power sums: (s^3 + 3 s q + 2 cubes)/6
    (s * s * s + 3.0 * s * q + 2.0 * cubes) / 60.0
}

/// Exact mean of b^-3 over a triangle on which b is linear: 1/(b1 b2 b3).
pub fn mean_inverse_cube([a, b, c]: [f64; 3]) -> f64 {
    1.0 / (a * b * c)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn means_of_the_cube_and_its_inverse_are_exact() {
        // Midpoint rule on a fine subdivision of the reference triangle; its error is below h^2.
        let b = [1.0, 1.3, 0.8];
        let n = 400;
        let (mut cube, mut inverse) = (0.0, 0.0);
        for i in 0..n {
            for j in 0..n - i {
                let mut add = |u: f64, v: f64| {
                    let w = b[0] + u * (b[1] - b[0]) + v * (b[2] - b[0]);
                    cube += w.powi(3);
                    inverse += w.powi(-3);
                };
                let (u, v) = (i as f64 / n as f64, j as f64 / n as f64);
                let third = 1.0 / (3.0 * n as f64);
                add(u + third, v + third);
                if j + 1 < n - i {
                    add(u + 2.0 * third, v + 2.0 * third);
                }
            }
        }
        let count = (n * n) as f64;
        assert!((cube / count - mean_cube(b)).abs() < 1e-5);
        assert!((inverse / count - mean_inverse_cube(b)).abs() < 1e-5);
    }

    #[test]
    fn gradient_of_a_linear_function_is_exact() {
        let corners = [[0.3, 0.1], [1.2, 0.4], [0.5, 0.9]];
        let g = gradient(corners, corners.map(|p| 2.0 * p[0] - 3.0 * p[1] + 1.0));
        assert!((g[0] - 2.0).abs() < 1e-14 && (g[1] + 3.0).abs() < 1e-14);
    }
}
