//! Where the camera stood, from the map of the plane.
//!
//! A homography is `H ~ K [r1 r2 t]` with K = diag(f, f, 1) about the optical axis and r1, r2 the first two columns of a rotation. Square pixels
//! give two conditions on f (Zhang 2000, IEEE PAMI 22, 1330, with all but f known), `h1' w h2 = 0` and `h1' w h1 = h2' w h2`, w = diag(1/f², 1/f², 1),
//! which are solved by least squares. They say nothing where the camera looks straight down. The refinement therefore fits f, rotation, place
//! and optical axis to the marks, the lens taken out, with priors: ln f about that of a phone, and the axis about the centre of
//! distortion. Only where the camera stands is used, and only for the step from the plate to the dye.
//!
//! Range: a step of 0.3 mm is wanted to a tenth; f within 10 % does that.

use super::lens::{CENTRE, Lens};
use super::step_down::Stand;
use crate::base::Point;
use crate::base::plane::Vector;
use crate::bench::statistics::{Minimum, least_squares};

/// Usual focal length in half widths, 28 mm on a 36 mm frame, and the standard deviation of its logarithm.
const FOCAL: [f64; 2] = [1.6, 0.5];

/// Standard deviation of the optical axis about the centre of distortion, half widths.
const AXIS: f64 = 0.03;

/// Focal lengths in half widths that the two conditions are believed.
const BELIEVED: [f64; 2] = [0.4, 20.0];

/// Focal length, rotation (3), place (3), axis (2).
const UNKNOWNS: usize = 9;

type Matrix = [[f64; 3]; 3];

/// A camera as a pinhole over the plane of its map.
#[derive(Debug, Clone)]
pub struct Pose {
    /// Where it stands.
    pub stand: Stand,
    /// Focal length, pixels.
    pub focal: f64,
    /// Angle between the optical axis and the normal of the plates, rad.
    pub tilt: f64,
    /// Where it would stand one standard deviation along each mode of the fit, both ways.
    pub modes: Vec<[Stand; 2]>,
}

/// The pose from marks at places of the plane and their pixels, each with its standard deviation in pixels; none where no camera sees them so.
pub fn pose(lens: &Lens, marks: &[(Point, [f64; 2], f64)], factor: f64) -> Option<Pose> {
    let frame = lens.frame;
    let axis = [lens.unknowns[CENTRE], lens.unknowns[CENTRE + 1]];
    let straight: Option<Vec<(Point, Vector, f64)>> = marks
        .iter()
        .map(|(place, pixel, sigma)| Some((frame.reduced(*place), lens.straightened(*pixel)?, sigma / frame.half)))
        .collect();
    let straight = straight?;
    let start = [focal(lens, axis), Some(FOCAL[0])].into_iter().flatten();
    let best = start
        .filter_map(|focal| {
            let (rotation, place) = decomposed(lens, axis, focal);
            let residuals = |x: &[f64]| {
                let camera = Camera::of(&rotation, x);
                let mut list = Vec::with_capacity(2 * straight.len() + 3);
                for (point, n, sigma) in &straight {
                    let seen = camera.seen(*point)?;
                    list.extend([0, 1].map(|k| (seen[k] - n[k]) / sigma));
                }
                list.push((x[0] - FOCAL[0].ln()) / FOCAL[1]);
                list.extend([0, 1].map(|k| (x[7 + k] - axis[k]) / AXIS));
                Some(list)
            };
            let x = vec![focal.ln(), 0.0, 0.0, 0.0, place[0], place[1], place[2], axis[0], axis[1]];
            least_squares(x, residuals).map(|minimum| (rotation, minimum))
        })
        .min_by(|a, b| a.1.chi2.total_cmp(&b.1.chi2))?;
    let (rotation, minimum) = best;
    let stand = |x: &[f64]| Camera::of(&rotation, x).stand(lens);
    let camera = Camera::of(&rotation, &minimum.at);
    let modes = modes(&minimum, factor).iter().map(|[a, b]| [stand(a), stand(b)]).collect();
    let normal = camera.rotation[2][2].abs().min(1.0);
    let found = stand(&minimum.at);
    let is_camera = found.height.is_finite() && found.height > 0.0;
    is_camera.then(|| Pose { stand: found, focal: camera.focal * frame.half, tilt: normal.acos(), modes })
}

/// The unknowns a deviation ahead and behind along each mode.
fn modes(minimum: &Minimum, factor: f64) -> Vec<[Vec<f64>; 2]> {
    let moved = |mode: &[f64], sign: f64| minimum.at.iter().zip(mode).map(|(x, step)| x + sign * step).collect();
    minimum.modes(factor).iter().map(|mode| [moved(mode, 1.0), moved(mode, -1.0)]).collect()
}

/// H with the axis moved to the origin.
fn about(lens: &Lens, axis: Vector) -> Matrix {
    let h = lens.homography();
    [0, 1, 2].map(|k| match k {
        2 => h[2],
        _ => [0, 1, 2].map(|j| h[k][j] - axis[k] * h[2][j]),
    })
}

/// The focal length in half widths by the two conditions of square pixels; none where they have none that a camera could have.
fn focal(lens: &Lens, axis: Vector) -> Option<f64> {
    let h = about(lens, axis);
    let a =
        [h[0][0] * h[0][1] + h[1][0] * h[1][1], h[0][0].powi(2) + h[1][0].powi(2) - h[0][1].powi(2) - h[1][1].powi(2)];
    let b = [h[2][0] * h[2][1], h[2][0].powi(2) - h[2][1].powi(2)];
    // a q + b = 0 with q = 1/f²
    let q = -(a[0] * b[0] + a[1] * b[1]) / (a[0] * a[0] + a[1] * a[1]);
    let focal = (1.0 / q).sqrt();
    (BELIEVED[0]..=BELIEVED[1]).contains(&focal).then_some(focal)
}

/// The rotation nearest to the columns of H for a focal length, and the place of the camera's origin.
fn decomposed(lens: &Lens, axis: Vector, focal: f64) -> (Matrix, [f64; 3]) {
    let h = about(lens, axis);
    let column = |k: usize| [h[0][k] / focal, h[1][k] / focal, h[2][k]];
    let [m1, m2, m3] = [column(0), column(1), column(2)];
    let [l1, l2] = [m1, m2].map(|m| dot(m, m).sqrt());
    let scale = 2.0 / (l1 + l2);
    let [u1, u2] = [m1.map(|v| v / l1), m2.map(|v| v / l2)];
    // both turned by the same angle until they are at right angles
    let sum = normal([0, 1, 2].map(|k| u1[k] + u2[k]));
    let apart = normal([0, 1, 2].map(|k| u1[k] - u2[k]));
    let r1 = [0, 1, 2].map(|k| (sum[k] + apart[k]) / 2f64.sqrt());
    let r2 = [0, 1, 2].map(|k| (sum[k] - apart[k]) / 2f64.sqrt());
    let r3 = vector_product(r1, r2);
    ([0, 1, 2].map(|k| [r1[k], r2[k], r3[k]]), m3.map(|v| v * scale))
}

/// A pinhole in the units of the frame.
struct Camera {
    focal: f64,
    rotation: Matrix,
    place: [f64; 3],
    axis: Vector,
}

impl Camera {
    /// Of the unknowns: ln f, a turn after the first rotation, the place, the axis.
    fn of(first: &Matrix, x: &[f64]) -> Camera {
        debug_assert_eq!(x.len(), UNKNOWNS);
        let turn = turned([x[1], x[2], x[3]]);
        let rotation = [0, 1, 2].map(|i| [0, 1, 2].map(|j| (0..3).map(|k| turn[i][k] * first[k][j]).sum()));
        Camera { focal: x[0].exp(), rotation, place: [x[4], x[5], x[6]], axis: [x[7], x[8]] }
    }

    /// n of a point of the plane; none behind the camera.
    fn seen(&self, [x, y]: Point) -> Option<Vector> {
        let ahead = [0, 1, 2].map(|k| x * self.rotation[k][0] + y * self.rotation[k][1] + self.place[k]);
        (ahead[2] > 0.0).then(|| [0, 1].map(|k| self.focal * ahead[k] / ahead[2] + self.axis[k]))
    }

    /// Where it stands: -R't, whose third part is the height on either side of the plane.
    fn stand(&self, lens: &Lens) -> Stand {
        let along = |k: usize| -(0..3).map(|j| self.rotation[j][k] * self.place[j]).sum::<f64>();
        Stand { foot: lens.frame.restored([along(0), along(1)]), height: along(2).abs() * lens.frame.unit }
    }
}

/// The rotation by a vector (Rodrigues).
fn turned(w: [f64; 3]) -> Matrix {
    let angle = dot(w, w).sqrt();
    let (s, c) = if angle > 1e-9 { (angle.sin() / angle, (1.0 - angle.cos()) / (angle * angle)) } else { (1.0, 0.5) };
    let across = [[0.0, -w[2], w[1]], [w[2], 0.0, -w[0]], [-w[1], w[0], 0.0]];
    [0, 1, 2].map(|i| {
        [0, 1, 2].map(|j| {
            let square: f64 = (0..3).map(|k| across[i][k] * across[k][j]).sum();
            f64::from(u8::from(i == j)) + s * across[i][j] + c * square
        })
    })
}

fn dot(a: [f64; 3], b: [f64; 3]) -> f64 {
    (0..3).map(|k| a[k] * b[k]).sum()
}

fn normal(a: [f64; 3]) -> [f64; 3] {
    let length = dot(a, a).sqrt();
    a.map(|v| v / length)
}

fn vector_product(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::photo::lens::Frame;

    #[test]
    fn a_pinhole_is_found_again_from_either_side() {
        for (side, tilt) in [(1.0, 0.6), (-1.0, 0.6), (1.0, 0.15)] {
            // the camera turned about x by the tilt, looking at the origin from a distance of 3 units
            let (s, c) = f64::sin_cos(tilt);
            let rotation = [[1.0, 0.0, 0.0], [0.0, -side * c, -s], [0.0, s, -side * c]];
            // x up to a sign keeps it a rotation
            let determinant = rotation[0][0] * (rotation[1][1] * rotation[2][2] - rotation[1][2] * rotation[2][1]);
            let rotation = if determinant < 0.0 { rotation.map(|row| [-row[0], row[1], row[2]]) } else { rotation };
            let camera = Camera { focal: 1.9, rotation, place: [0.05, -0.03, 3.0], axis: [0.0, 0.0] };
            let places: Vec<Point> = (0..9).map(|k| [0.15 * f64::from(k % 3), 0.1 * f64::from(k / 3)]).collect();
            let frame = Frame::new([2000, 1500], &places);
            let h: Vec<f64> = (0..3)
                .flat_map(|k| {
                    let scale = if k == 2 { 1.0 } else { camera.focal } / camera.place[2];
                    [rotation[k][0] * scale, rotation[k][1] * scale, camera.place[k] * scale]
                })
                .collect();
            let mut entries = [0.0; 8];
            entries.copy_from_slice(&h[..8]);
            let lens = Lens::plain(frame, entries);
            let marks: Vec<_> = places.iter().map(|p| (*p, lens.pixel(*p).unwrap(), 0.1)).collect();
            let found = pose(&lens, &marks, 1.0).unwrap();
            // by hand: the place along the third column of the rotation
            let exact = (0.03 * s - 3.0 * side * c).abs() * frame.unit;
            let bound = if tilt > 0.5 { 0.01 } else { 0.15 };
            assert!((found.stand.height / exact - 1.0).abs() < bound, "{found:?} {exact}");
            assert!((found.focal / 1900.0 - 1.0).abs() < bound && (found.tilt - tilt).abs() < 0.02, "{found:?}");
        }
    }
}
