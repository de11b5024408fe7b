//! Integrals along curves: lengths and areas.

use super::Curve;
use crate::base::plane::{cross, distance, way};

/// Gauss's rule with five points on [0, 1]: (place, weight).
fn gauss() -> [(f64, f64); 5] {
    let root = (10.0 / 7.0f64).sqrt();
    let (a, b) = ((5.0 - 2.0 * root).sqrt() / 6.0, (5.0 + 2.0 * root).sqrt() / 6.0);
    let (u, v) = ((322.0 + 13.0 * 70f64.sqrt()) / 1800.0, (322.0 - 13.0 * 70f64.sqrt()) / 1800.0);
    [(0.5 - b, v), (0.5 - a, u), (0.5, 64.0 / 225.0), (0.5 + a, u), (0.5 + b, v)]
}

/// The integral of a smooth function, halving until it changes by less than `tolerance`.
pub(crate) fn integral(f: &impl Fn(f64) -> f64, a: f64, b: f64, tolerance: f64) -> f64 {
    let rule = gauss();
    let once = |a: f64, b: f64| (b - a) * rule.iter().map(|(x, w)| w * f(a + x * (b - a))).sum::<f64>();
    fn halved(once: &impl Fn(f64, f64) -> f64, a: f64, b: f64, whole: f64, tolerance: f64, depth: u32) -> f64 {
        let middle = 0.5 * (a + b);
        let (left, right) = (once(a, middle), once(middle, b));
        if depth == 0 || (left + right - whole).abs() <= tolerance {
            return left + right;
        }
        halved(once, a, middle, left, tolerance, depth - 1) + halved(once, middle, b, right, tolerance, depth - 1)
    }
    halved(&once, a, b, once(a, b), tolerance, 12)
}

/// Area to the left of a closed chain of parts of curves, (curve, from, to): half the integral of x dy - y dx.
pub(crate) fn area_of<'a>(parts: impl IntoIterator<Item = (&'a Curve, f64, f64)>) -> f64 {
    let mut origin = None;
    let mut sum = 0.0;
    for (curve, from, to) in parts {
        // About a point of the chain itself, so that little cancels.
        let o = *origin.get_or_insert_with(|| curve.point(from));
        let (p, q) = (curve.point(from), curve.point(to));
        sum += if curve.is_straight() {
            cross(way(o, p), way(o, q))
        } else {
            let size = distance(p, q) + distance(p, o);
            let moment = |t: f64| cross(way(o, curve.point(t)), curve.derivative(t));
            integral(&moment, from, to, 1e-14 * size * size)
        };
    }
    0.5 * sum
}

/// Area to the left of a closed chain of whole curves.
pub(crate) fn enclosed(curves: &[Curve]) -> f64 {
    area_of(curves.iter().map(|curve| (curve, 0.0, 1.0)))
}
