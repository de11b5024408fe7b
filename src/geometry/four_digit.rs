//! Sections of the four-digit family.

use crate::base::Point;
use crate::base::plane::{Vector, stepped};
use std::f64::consts::SQRT_2;

/// A surface of a section.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Surface {
    /// Above the mean line.
    Upper,
    /// Below it.
    Lower,
}

/// A part of a chord.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ChordPart {
    /// In front of the place of largest camber.
    Fore,
    /// Behind it.
    Aft,
}

/// One surface of a four-digit section, in front of or behind the place of largest camber (NACA Report 460).
///
/// With x the fraction of the chord, half the thickness is
/// y_t = 5 t (0.2969 sqrt x - 0.1260 x - 0.3516 x² + 0.2843 x³ - 0.1015 x⁴), the last coefficient -0.1036 for a closed
/// tail, and it is laid off perpendicular to the mean line y_c = m/p² (2 p x - x²) in front of p,
/// m/(1-p)² (1 - 2 p + 2 p x - x²) behind. The parameter s = sqrt x makes the nose a regular point.
/// The mean line's curvature jumps at p, where the surfaces therefore have a corner of some 1e-4 rad.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FourDigitSurface {
    /// Largest camber m, fraction of the chord.
    pub camber: f64,
    /// Its place p, fraction of the chord.
    pub camber_place: f64,
    /// Largest thickness t, fraction of the chord.
    pub thickness: f64,
    /// Whether the tail is closed to an edge.
    pub closed_tail: bool,
    /// Which of the two surfaces.
    pub surface: Surface,
    /// On which side of the place of largest camber.
    pub part: ChordPart,
    /// The nose, m.
    pub nose: Point,
    /// Chord times cosine and sine of the incidence, m.
    pub chord: [f64; 2],
}

impl FourDigitSurface {
    /// The point and its first two derivatives with respect to s = sqrt x.
    pub fn at(&self, s: f64) -> [Vector; 3] {
        let x = [s * s, 2.0 * s, 2.0];
        let a = [0.2969, -0.1260, -0.3516, 0.2843, if self.closed_tail { -0.1036 } else { -0.1015 }];
        let k = if self.surface == Surface::Upper { 5.0 * self.thickness } else { -5.0 * self.thickness };
        let q = x[0];
        let y = [
            k * s * (a[0] + s * (a[1] + q * (a[2] + q * (a[3] + q * a[4])))),
            k * (a[0] + s * (2.0 * a[1] + q * (4.0 * a[2] + q * (6.0 * a[3] + q * 8.0 * a[4])))),
            k * (2.0 * a[1] + q * (12.0 * a[2] + q * (30.0 * a[3] + q * 56.0 * a[4]))),
        ];
        let mean = self.mean_line(x[0]);
        // Slope angle of the mean line and its derivatives with respect to s.
        let g = 1.0 / (1.0 + mean[1] * mean[1]);
        let (rate, acceleration) = (mean[2] * x[1], mean[2] * x[2]);
        let turn = [rate * g, acceleration * g - 2.0 * mean[1] * rate * rate * g * g];
        let c = g.sqrt();
        let sin = mean[1] * c;
        let cos = [c, -sin * turn[0], -sin * turn[1] - c * turn[0] * turn[0]];
        let sin = [sin, c * turn[0], c * turn[1] - sin * turn[0] * turn[0]];
        let product = |u: [f64; 3], v: [f64; 3]| {
            [u[0] * v[0], u[1] * v[0] + u[0] * v[1], u[2] * v[0] + 2.0 * u[1] * v[1] + u[0] * v[2]]
        };
        let mean = [mean[0], mean[1] * x[1], rate * x[1] + mean[1] * x[2]];
        let (across, up) = (product(y, sin), product(y, cos));
        let mut result = [0, 1, 2].map(|i| self.placed([x[i] - across[i], mean[i] + up[i]]));
        result[0] = stepped(self.nose, 1.0, result[0]);
        result
    }

    fn mean_line(&self, x: f64) -> [f64; 3] {
        let (m, p) = (self.camber, self.camber_place);
        if m == 0.0 {
            return [0.0; 3];
        }
        if self.part == ChordPart::Aft {
            let k = m / ((1.0 - p) * (1.0 - p));
            [k * (1.0 - x) * (1.0 + x - 2.0 * p), 2.0 * k * (p - x), -2.0 * k]
        } else {
            let k = m / (p * p);
            [k * x * (2.0 * p - x), 2.0 * k * (p - x), -2.0 * k]
        }
    }

    /// Incidence is nose-up positive: with the nose on the left the section turns clockwise.
    fn placed(&self, v: [f64; 2]) -> [f64; 2] {
        let [cos, sin] = self.chord;
        [cos * v[0] + sin * v[1], -sin * v[0] + cos * v[1]]
    }

    /// Radius of the nose over the chord, 0.5 (5 * 0.2969 t)².
    pub fn nose_radius(&self) -> f64 {
        let k = 5.0 * 0.2969 * self.thickness / SQRT_2;
        k * k
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn section(camber: f64, thickness: f64, closed_tail: bool) -> FourDigitSurface {
        FourDigitSurface {
            camber,
            camber_place: 0.4,
            thickness,
            closed_tail,
            surface: Surface::Upper,
            part: ChordPart::Fore,
            nose: [0.0, 0.0],
            chord: [1.0, 0.0],
        }
    }

    /// Half-ordinates of section 0012 in NACA Reports 460 and 824, rounded there to 1e-5 of the chord.
    #[test]
    fn half_ordinates_are_the_published_ones() {
        let surface = section(0.0, 0.12, false);
        for (x, y) in [
            (0.0125, 0.01894),
            (0.025, 0.02615),
            (0.05, 0.03555),
            (0.1, 0.04683),
            (0.3, 0.06002),
            (0.5, 0.05294),
            (0.8, 0.02623),
            (1.0, 0.00126),
        ] {
            let [point, ..] = surface.at(f64::sqrt(x));
            approx::assert_abs_diff_eq!(point[0], x, epsilon = 1e-15);
            approx::assert_abs_diff_eq!(point[1], y, epsilon = 0.51e-5);
        }
        // Published nose radius: 1.58 % of the chord for 12 %, formula 1.1019 t^2 in Report 460.
        approx::assert_relative_eq!(surface.nose_radius(), 1.1019 * 0.0144, max_relative = 1e-4);
        let [_, d, e] = surface.at(0.0);
        approx::assert_relative_eq!(d[1] * d[1] / e[0], surface.nose_radius(), max_relative = 1e-14);
    }

    /// Section 2412: both surfaces midway at p stand on the mean line's top, 0.02 at 0.4 (Report 460), by definition.
    #[test]
    fn camber_is_the_digit() {
        for part in [ChordPart::Fore, ChordPart::Aft] {
            let upper = FourDigitSurface { part, ..section(0.02, 0.12, true) };
            let lower = FourDigitSurface { surface: Surface::Lower, ..upper };
            let s = f64::sqrt(0.4);
            let (u, l) = (upper.at(s)[0], lower.at(s)[0]);
            approx::assert_abs_diff_eq!((u[1] + l[1]) / 2.0, 0.02, epsilon = 1e-15);
            approx::assert_abs_diff_eq!(u[0], 0.4, epsilon = 1e-15);
        }
    }

    #[test]
    fn nose_up_lowers_the_tail() {
        let (sin, cos) = f64::to_radians(4.0).sin_cos();
        let surface = FourDigitSurface { chord: [2.0 * cos, 2.0 * sin], ..section(0.0, 0.12, true) };
        let tail = surface.at(1.0)[0];
        approx::assert_abs_diff_eq!(tail[1], -2.0 * sin, epsilon = 1e-15);
    }
}
