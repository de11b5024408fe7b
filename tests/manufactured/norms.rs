//! Quadrature, and errors in three norms.

use crate::cells::orders;
use twinplate::Point;
use twinplate::numerics::fem::{Space, gradient};

/// Barycentric places and weights that integrate polynomials of degree 5 exactly (Radon 1948).
pub fn radon() -> [([f64; 3], f64); 7] {
    let root = 15f64.sqrt();
    let third = 1.0 / 3.0;
    let mut rule = [([third; 3], 9.0 / 40.0); 7];
    for (group, sign) in [(0, 1.0), (1, -1.0)] {
        let a = (6.0 + sign * root) / 21.0;
        let weight = (155.0 + sign * root) / 1200.0;
        for k in 0..3 {
            let mut place = [a; 3];
            place[k] = 1.0 - 2.0 * a;
            rule[1 + 3 * group + k] = (place, weight);
        }
    }
    rule
}

/// A solution: value and gradient at a place.
pub type Exact<'a> = &'a dyn Fn(Point) -> (f64, [f64; 2]);

pub fn place(space: &Space, triangle: usize, weights: [f64; 3]) -> Point {
    let corners = space.corners(triangle);
    [0, 1].map(|k| (0..3).map(|i| weights[i] * corners[i][k]).sum())
}

/// Errors of a linear field: root of the integral of its square, root of the integral of the squared gradient's error, largest at
/// the vertices. A constant between the two, which given inflow leaves open, is taken out if `up_to_constant`.
pub fn errors(space: &Space, values: &[f64], exact: Exact, up_to_constant: bool) -> [f64; 3] {
    let over = |of: &dyn Fn(usize, [f64; 3]) -> f64| -> f64 {
        let triangle = |t: usize| space.area(t) * radon().iter().map(|&(w, weight)| weight * of(t, w)).sum::<f64>();
        (0..space.mesh.triangles.len()).map(triangle).sum()
    };
    let at =
        |t: usize, w: [f64; 3]| -> f64 { (0..3).map(|i| w[i] * values[space.mesh.triangles[t][i] as usize]).sum() };
    let area = over(&|_, _| 1.0);
    let shift = if up_to_constant { over(&|t, w| at(t, w) - exact(place(space, t, w)).0) / area } else { 0.0 };
    let square = over(&|t, w| (at(t, w) - shift - exact(place(space, t, w)).0).powi(2));
    let energy = over(&|t, w| {
        let g = gradient(space.corners(t), space.mesh.triangles[t].map(|v| values[v as usize]));
        let e = exact(place(space, t, w)).1;
        (g[0] - e[0]).powi(2) + (g[1] - e[1]).powi(2)
    });
    let vertices = space.mesh.points.iter().zip(values);
    let largest = vertices.map(|(&p, v)| (v - shift - exact(p).0).abs()).fold(0.0, f64::max);
    [square.sqrt(), energy.sqrt(), largest]
}

/// The last observed orders must lie within 0.1 of theory: 2 in the mean square, 1 in energy. At the vertices the error is at most
/// h^2 |ln h| (Scott 1976, Math. Comp. 30, 681), which between h and h/2 shows the order 2 - log2(1 + ln 2/|ln h|); whether the
/// logarithm shows depends on the solution, so any order from there to 2 is right. h is 0.15/8 on the finest mesh but one.
pub fn has_orders(name: &str, errors: &[[f64; 3]]) {
    let with_logarithm = 2.0 - (1.0 + 2f64.ln() / (8.0f64 / 0.15).ln()).log2();
    let ranges = [("mean square", 2.0, 2.0), ("energy", 1.0, 1.0), ("largest", with_logarithm, 2.0)];
    for (k, (norm, least, most)) in ranges.into_iter().enumerate() {
        let list: Vec<f64> = errors.iter().map(|e| e[k]).collect();
        let observed = orders(&list);
        println!("{name}, {norm}: {list:.2?} orders {observed:.3?}");
        let last = observed[observed.len() - 1];
        assert!(last > least - 0.1 && last < most + 0.1, "{name}, {norm}: {observed:?}, not {least} to {most}");
    }
}
