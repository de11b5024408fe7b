//! Sections from the Joukowski map.

use crate::base::Point;
use crate::base::bisect::bisected;
use crate::base::plane::{Vector, cross, dot, square, stepped, way};
use std::f64::consts::PI;

/// The circle through ζ = 1 about `centre`, mapped by z = ζ + 1/ζ and placed by a similarity:
/// point = tail + factor (z - 2), products of complex numbers (Milne-Thomson, Theoretical Aerodynamics).
///
/// The section has a cusp at its tail. Its chord is the distance from the tail to the nose, the point farthest from the
/// tail; thickness is the largest distance between both surfaces measured perpendicular to the chord, camber the largest
/// height of the points midway between them over the chord.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct JoukowskiMap {
    /// Centre of the circle, in the plane of ζ.
    pub centre: [f64; 2],
    /// Scale and turn from the plane of z, m.
    pub factor: [f64; 2],
    /// Where the tail stands, m.
    pub tail: Point,
}

fn times(a: Vector, b: Vector) -> Vector {
    [a[0] * b[0] - a[1] * b[1], a[0] * b[1] + a[1] * b[0]]
}

fn over(a: Vector, b: Vector) -> Vector {
    [dot(a, b) / square(b), cross(b, a) / square(b)]
}

impl JoukowskiMap {
    /// The section of the given chord (m), thickness and camber (fractions of the chord), with its nose at a place and an
    /// incidence (rad, nose-up positive); none if thickness and camber are out of reach of the map.
    pub fn section(chord: f64, thickness: f64, camber: f64, nose: Point, angle: f64) -> Option<Self> {
        let (sin, cos) = angle.sin_cos();
        let along = [chord * cos, -chord * sin];
        let tail = stepped(nose, 1.0, along);
        // Thin sections: thickness (3 sqrt 3/4) e, camber k/2 for the centre -e + i (1 + e) k.
        let (mut e, mut k) = (4.0 * thickness / 27f64.sqrt(), 2.0 * camber);
        for _ in 0..200 {
            let map = JoukowskiMap { centre: [-e, (1.0 + e) * k], factor: [1.0, 0.0], tail: [2.0, 0.0] };
            let measured = map.measure();
            let map = JoukowskiMap { factor: over(along, measured.chord), tail, ..map };
            let reached = |value: f64, wanted: f64| (value - wanted).abs() <= 1e-14 + 1e-13 * wanted.abs();
            if reached(measured.thickness, thickness) && reached(measured.camber, camber) {
                return Some(map);
            }
            e *= thickness / measured.thickness;
            if camber != 0.0 {
                k *= camber / measured.camber;
            }
            if !(e.is_finite() && k.is_finite() && e < 1e3 && k.abs() < 1e3) {
                return None;
            }
        }
        None
    }

    /// The point and its first two derivatives with respect to the angle s about the centre, s = 0 at the tail.
    pub fn at(&self, s: f64) -> [Vector; 3] {
        let radius = [1.0 - self.centre[0], -self.centre[1]];
        let (sin, cos) = s.sin_cos();
        let (half_sin, half_cos) = (0.5 * s).sin_cos();
        // zeta - 1 without cancellation near the tail.
        let from_tail = times(radius, [-2.0 * half_sin * half_sin, 2.0 * half_sin * half_cos]);
        let zeta = [1.0 + from_tail[0], from_tail[1]];
        let first = times(radius, [-sin, cos]);
        let second = times(radius, [-cos, -sin]);
        let zeta_squared = times(zeta, zeta);
        let z = over(times(from_tail, from_tail), zeta);
        // 1 - 1/zeta^2
        let slope = over(times(from_tail, [zeta[0] + 1.0, zeta[1]]), zeta_squared);
        let bend = over(times(first, first).map(|v| 2.0 * v), times(zeta_squared, zeta));
        let steep = times(slope, second);
        [
            stepped(self.tail, 1.0, times(self.factor, z)),
            times(self.factor, times(slope, first)),
            times(self.factor, [bend[0] + steep[0], bend[1] + steep[1]]),
        ]
    }

    /// The angle s of the nose, the point farthest from the tail.
    pub fn nose(&self) -> f64 {
        let receding = |s: f64| {
            let [p, d, _] = self.at(s);
            dot(way(self.tail, p), d) > 0.0
        };
        last_true(receding, 0.5 * PI, 1.5 * PI)
    }

    fn measure(&self) -> Measured {
        let nose = self.nose();
        let at_nose = self.at(nose)[0];
        let chord = way(at_nose, self.tail);
        let local = |s: f64| over(way(at_nose, self.at(s)[0]), chord);
        let heights = |s: f64| {
            let upper = local(s);
            let lower = local(last_true(|r| local(r)[0] < upper[0], nose, 2.0 * PI));
            [upper[1], lower[1]]
        };
        let thickness = largest(|s| heights(s)[0] - heights(s)[1], 0.0, nose);
        let sign = if self.centre[1] < 0.0 { -1.0 } else { 1.0 };
        let camber = match self.centre[1] {
            0.0 => 0.0,
            _ => sign * largest(|s| 0.5 * sign * (heights(s)[0] + heights(s)[1]), 0.0, nose),
        };
        Measured { chord, thickness, camber }
    }
}

struct Measured {
    chord: [f64; 2],
    thickness: f64,
    camber: f64,
}

/// The place in [a, b] where a condition that holds at a ceases to hold, to rounding.
fn last_true(holds: impl Fn(f64) -> bool, a: f64, b: f64) -> f64 {
    let [last, next] = bisected([a, b], 60, holds);
    0.5 * (last + next)
}

/// The largest value of a function with one hump on [a, b], by golden section.
fn largest(f: impl Fn(f64) -> f64, mut a: f64, mut b: f64) -> f64 {
    let ratio = 0.5 * (5f64.sqrt() - 1.0);
    let (mut c, mut d) = (b - ratio * (b - a), a + ratio * (b - a));
    let (mut at_c, mut at_d) = (f(c), f(d));
    for _ in 0..40 {
        if at_c > at_d {
            (b, d, at_d) = (d, c, at_c);
            c = b - ratio * (b - a);
            at_c = f(c);
        } else {
            (a, c, at_c) = (c, d, at_d);
            d = a + ratio * (b - a);
            at_d = f(d);
        }
    }
    at_c.max(at_d)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Uncambered: z from the circle of radius 1 + e about -e; nose at ζ = -1 - 2 e, so the chord in the plane of z is
    /// 3 + 2 e + 1/(1 + 2 e) (exact), and thickness is the largest of 2 Im z.
    #[test]
    fn uncambered_section_is_the_closed_form() {
        let map = JoukowskiMap::section(2.0, 0.12, 0.0, [0.1, 0.2], 0.0).unwrap();
        let e = -map.centre[0];
        let chord = 3.0 + 2.0 * e + 1.0 / (1.0 + 2.0 * e);
        approx::assert_relative_eq!(map.factor[0], 2.0 / chord, max_relative = 1e-14);
        assert_eq!(map.centre[1], 0.0);
        let nose = map.at(PI)[0];
        approx::assert_abs_diff_eq!(nose[0], 0.1, epsilon = 1e-14);
        approx::assert_abs_diff_eq!(nose[1], 0.2, epsilon = 1e-14);
        let n = 20000;
        let top = (0..=n).map(|i| map.at(PI * f64::from(i) / f64::from(n))[0][1] - 0.2).fold(0.0, f64::max);
        // Sampling error of a maximum: half the second derivative times the square of half a step, below 1e-8.
        approx::assert_abs_diff_eq!(2.0 * top / 2.0, 0.12, epsilon = 1e-8);
    }

    /// Small thickness and camber: the circle's centre is -4 t/(3 sqrt 3) + 2 i f to first order (Milne-Thomson, thin
    /// sections).
    #[test]
    fn thin_sections_approach_the_linear_theory() {
        let (t, f) = (1e-3, 1e-3);
        let map = JoukowskiMap::section(1.0, t, f, [0.0, 0.0], 0.0).unwrap();
        approx::assert_relative_eq!(-map.centre[0], 4.0 * t / 27f64.sqrt(), max_relative = 5e-3);
        approx::assert_relative_eq!(map.centre[1], 2.0 * f, max_relative = 5e-3);
    }

    #[test]
    fn cambered_section_has_the_requested_chord_thickness_and_camber() {
        for (t, f, angle) in [(0.12, 0.03, 4f64.to_radians()), (0.3, 0.1, -0.2), (0.05, -0.06, 0.0), (0.5, 0.0, 0.0)] {
            let map = JoukowskiMap::section(0.7, t, f, [0.3, -0.2], angle).unwrap();
            let nose = map.at(map.nose())[0];
            approx::assert_abs_diff_eq!(nose[0], 0.3, epsilon = 1e-13);
            approx::assert_abs_diff_eq!(nose[1], -0.2, epsilon = 1e-13);
            let along = [0.7 * angle.cos(), -0.7 * angle.sin()];
            approx::assert_abs_diff_eq!(map.tail[0], nose[0] + along[0], epsilon = 1e-13);
            approx::assert_abs_diff_eq!(map.tail[1], nose[1] + along[1], epsilon = 1e-13);
            // An independent measurement: dense points of both surfaces, heights by linear interpolation (error below
            // 1e-6 at this density).
            let n = 20000;
            let dense = |from: f64, to: f64| -> Vec<[f64; 2]> {
                let at = |i| map.at(from + (to - from) * f64::from(i) / f64::from(n))[0];
                (0..=n).map(at).map(|p| over([p[0] - nose[0], p[1] - nose[1]], along)).collect()
            };
            let (upper, lower) = (dense(map.nose(), 0.0), dense(map.nose(), 2.0 * PI));
            let mut j = 0;
            let (mut thickness, mut camber) = (0f64, 0f64);
            for u in &upper {
                while j + 2 < lower.len() && lower[j + 1][0] < u[0] {
                    j += 1;
                }
                let (p, q) = (lower[j], lower[j + 1]);
                let w = ((u[0] - p[0]) / (q[0] - p[0])).clamp(0.0, 1.0);
                let l = p[1] + w * (q[1] - p[1]);
                thickness = thickness.max(u[1] - l);
                let mean = 0.5 * (u[1] + l);
                if mean.abs() > camber.abs() {
                    camber = mean;
                }
            }
            approx::assert_abs_diff_eq!(thickness, t, epsilon = 1e-6);
            approx::assert_abs_diff_eq!(camber, f, epsilon = 1e-6);
        }
    }
}
