//! The camera's map from a plane of the cell to the picture: a homography, then a lens.
//!
//! With the plane's point (x, y), from the middle of the marks and in units of their extent, h a 3 by 3 matrix with last entry 1, s half the
//! longer side of the picture (so that a picture turned by a right angle has the same lens), c its middle and o the centre of distortion in
//! units of s:
//!
//! `n = H (x, y, 1)` made inhomogeneous, `n' = n - o`, `r2 = |n'|²`,
//! `pixel = c + s (n' (1 + k1 r2 + k2 r2²) + o)`.
//!
//! Eight unknowns of H, k1, k2 and o: twelve. H is free, so that neither the focal length nor where the optical axis meets the picture
//! nor a mirror need be known. The lens is Brown's radial one (Brown 1971, Photogrammetric Engineering 37, 855), without the decentring terms, for
//! which o stands.
//!
//! Range: ordinary lenses of which a picture shows straight lines bent by some per cent; no fish-eyes. Beyond the radius where the
//! polynomial turns back there is no inverse, and none is given.

use super::pixel::Pixel;
use crate::base::Point;
use crate::base::plane::{Vector, cross};

/// Unknowns of the map.
pub const UNKNOWNS: usize = 12;

/// Where k1, k2 and o stand among them.
pub const K1: usize = 8;
/// See [`K1`].
pub const CENTRE: usize = 10;

/// Newton steps of the lens's inverse: it converges within six wherever the lens does not fold.
const ROUNDS: usize = 40;

/// What is fixed of the map: the scales on either side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Frame {
    /// Middle of the picture, pixels.
    pub middle: Pixel,
    /// Half the longer side of the picture, pixels.
    pub half: f64,
    /// Middle of the marks, m.
    pub origin: Point,
    /// Their extent, m.
    pub unit: f64,
}

impl Frame {
    /// Of a picture of some width and height, pixels, and the places of its marks, m.
    pub fn new(size: [usize; 2], places: &[Point]) -> Frame {
        let [width, height] = size.map(|count| 0.5 * count as f64);
        let count = places.len().max(1) as f64;
        let origin = [0, 1].map(|k| places.iter().map(|place| place[k]).sum::<f64>() / count);
        let far = |place: &Point| (place[0] - origin[0]).hypot(place[1] - origin[1]);
        let unit = places.iter().map(far).fold(0.0, f64::max);
        Frame { middle: [width, height], half: width.max(height), origin, unit: if unit > 0.0 { unit } else { 1.0 } }
    }

    /// A point of the plane from the middle of the marks and in units of their extent.
    pub fn reduced(&self, point: Point) -> Point {
        [0, 1].map(|k| (point[k] - self.origin[k]) / self.unit)
    }

    /// The point of the plane again, m.
    pub fn restored(&self, reduced: Point) -> Point {
        [0, 1].map(|k| self.origin[k] + self.unit * reduced[k])
    }

    /// A pixel from the middle of the picture, in units of half the longer side.
    pub fn halves(&self, pixel: Pixel) -> Vector {
        [0, 1].map(|k| (pixel[k] - self.middle[k]) / self.half)
    }
}

/// The map from the plane of the marks to the picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Lens {
    /// Scales.
    pub frame: Frame,
    /// H row by row without its last entry, k1, k2, o.
    pub unknowns: [f64; UNKNOWNS],
}

impl Lens {
    /// A map without distortion.
    pub fn plain(frame: Frame, h: [f64; 8]) -> Lens {
        let mut unknowns = [0.0; UNKNOWNS];
        unknowns[..8].copy_from_slice(&h);
        Lens { frame, unknowns }
    }

    /// The same scales with other unknowns.
    pub fn with(&self, unknowns: &[f64]) -> Lens {
        let mut other = self.clone();
        other.unknowns.iter_mut().zip(unknowns).for_each(|(to, from)| *to = *from);
        other
    }

    /// H, row by row.
    pub fn homography(&self) -> [[f64; 3]; 3] {
        let h = &self.unknowns;
        [[h[0], h[1], h[2]], [h[3], h[4], h[5]], [h[6], h[7], 1.0]]
    }

    /// First and second coefficient of distortion, of half the longer side.
    pub fn distortion(&self) -> [f64; 2] {
        [self.unknowns[K1], self.unknowns[K1 + 1]]
    }

    /// Centre of distortion, pixels.
    pub fn centre(&self) -> Pixel {
        [0, 1].map(|k| self.frame.middle[k] + self.frame.half * self.unknowns[CENTRE + k])
    }

    /// n of a point of the plane, m; none at and beyond the horizon of the picture.
    pub fn undistorted(&self, point: Point) -> Option<Vector> {
        let [x, y] = self.frame.reduced(point);
        let [a, b, w] = self.homography().map(|row| row[0] * x + row[1] * y + row[2]);
        (w > 0.0).then(|| [a / w, b / w])
    }

    /// The pixel of a point of the plane, m; none at and beyond the horizon.
    pub fn pixel(&self, point: Point) -> Option<Pixel> {
        let n = self.undistorted(point)?;
        let [k1, k2] = self.distortion();
        let own = [0, 1].map(|k| n[k] - self.unknowns[CENTRE + k]);
        let r2 = own[0] * own[0] + own[1] * own[1];
        let stretch = 1.0 + r2 * (k1 + k2 * r2);
        let centre = self.centre();
        Some([0, 1].map(|k| centre[k] + self.frame.half * stretch * own[k]))
    }

    /// n of a pixel, to rounding; none beyond the radius where the lens folds.
    pub fn straightened(&self, pixel: Pixel) -> Option<Vector> {
        let [k1, k2] = self.distortion();
        let centre = self.centre();
        let seen = [0, 1].map(|k| (pixel[k] - centre[k]) / self.frame.half);
        let goal = seen[0].hypot(seen[1]);
        let mut r = goal;
        for _ in 0..ROUNDS {
            let r2 = r * r;
            let slope = 1.0 + r2 * (3.0 * k1 + 5.0 * k2 * r2);
            if slope <= 0.0 {
                return None;
            }
            let step = (r * (1.0 + r2 * (k1 + k2 * r2)) - goal) / slope;
            r = (r - step).max(0.0);
            if step.abs() <= 4.0 * f64::EPSILON * r {
                break;
            }
        }
        let r2 = r * r;
        let back = r * (1.0 + r2 * (k1 + k2 * r2));
        let is_there = (back - goal).abs() <= 1e-12 * (1.0 + goal) && 1.0 + r2 * (3.0 * k1 + 5.0 * k2 * r2) > 0.0;
        let shrink = if goal > 0.0 { r / goal } else { 1.0 };
        is_there.then(|| [0, 1].map(|k| seen[k] * shrink + self.unknowns[CENTRE + k]))
    }

    /// The point of the plane, m, that a pixel shows; none beyond the horizon or where the lens folds.
    pub fn point(&self, pixel: Pixel) -> Option<Point> {
        let [u, v] = self.straightened(pixel)?;
        let [a, b, c] = self.homography();
        // (a - u c).(x, y, 1) = 0 and (b - v c).(x, y, 1) = 0
        let [p, q] = [[0, 1, 2].map(|k| a[k] - u * c[k]), [0, 1, 2].map(|k| b[k] - v * c[k])];
        let determinant = cross([p[0], p[1]], [q[0], q[1]]);
        let x = (p[1] * q[2] - p[2] * q[1]) / determinant;
        let y = (p[2] * q[0] - p[0] * q[2]) / determinant;
        let is_ahead = c[0] * x + c[1] * y + c[2] > 0.0;
        (is_ahead && x.is_finite() && y.is_finite()).then(|| self.frame.restored([x, y]))
    }

    /// Pixels for a metre along x and along y at a point, as vectors.
    pub fn stretch(&self, point: Point) -> Option<[Vector; 2]> {
        let step = 1e-5 * self.frame.unit;
        let along = |k: usize| {
            let moved = |by: f64| {
                let mut other = point;
                other[k] += by;
                self.pixel(other)
            };
            let (before, after) = (moved(-step)?, moved(step)?);
            Some([0, 1].map(|k| (after[k] - before[k]) / (2.0 * step)))
        };
        Some([along(0)?, along(1)?])
    }

    /// Pixels for a metre at a point: the root of the ratio of areas.
    pub fn scale(&self, point: Point) -> Option<f64> {
        self.stretch(point).map(|[x, y]| cross(x, y).abs().sqrt())
    }

    /// Whether the picture shows the cell mirrored: pixels run downwards and y upwards, so that a plain view turns the sense round once.
    pub fn is_mirrored(&self) -> bool {
        self.stretch(self.frame.origin).is_some_and(|[x, y]| cross(x, y) > 0.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lens() -> Lens {
        let frame = Frame { middle: [1000.0, 750.0], half: 1000.0, origin: [0.15, 0.1], unit: 0.18 };
        let unknowns = [0.8, 0.05, 0.02, -0.04, -0.75, 0.03, 0.1, -0.15, -0.06, 0.01, 0.02, -0.01];
        Lens { frame, unknowns }
    }

    #[test]
    fn pixels_come_back_and_the_formula_is_that_of_the_docs() {
        let lens = lens();
        for k in 0..40 {
            let point = [0.008 * f64::from(k), 0.2 - 0.005 * f64::from(k)];
            let back = lens.point(lens.pixel(point).unwrap()).unwrap();
            assert!((back[0] - point[0]).abs() + (back[1] - point[1]).abs() < 1e-13, "{point:?} {back:?}");
        }
        // by hand at the middle of the marks: n = (0.02, 0.03), n' = (0, 0.04), r2 = 0.0016
        let stretch = 1.0 - 0.06 * 0.0016 + 0.01 * 0.0016 * 0.0016;
        let [u, v] = lens.pixel([0.15, 0.1]).unwrap();
        assert!((u - 1020.0).abs() < 1e-9 && (v - (750.0 - 10.0 + 40.0 * stretch)).abs() < 1e-9, "{u} {v}");
    }

    #[test]
    fn there_is_no_point_beyond_the_fold_or_the_horizon() {
        let mut lens = lens();
        lens.unknowns[K1] = -0.4;
        lens.unknowns[K1 + 1] = 0.0;
        // the polynomial turns back at r = sqrt(1/1.2) = 0.913, where it reaches 0.61
        assert!(lens.point([1000.0 + 1000.0 * 0.64, 740.0]).is_none());
        assert!(lens.point([1000.0 + 1000.0 * 0.60, 740.0]).is_some());
        // w = 1 + 0.1 x - 0.15 y vanishes at y = 6.67 units
        assert!(lens.pixel([0.15, 0.1 + 6.7 * 0.18]).is_none());
        assert!(lens.pixel([0.15, 0.1 + 6.6 * 0.18]).is_some());
    }

    #[test]
    fn a_mirror_is_seen() {
        let lens = lens();
        assert!(!lens.is_mirrored());
        let mut other = lens.unknowns;
        other[..3].iter_mut().for_each(|entry| *entry = -*entry);
        assert!(lens.with(&other).is_mirrored());
    }
}
