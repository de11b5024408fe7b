//! From a half-tone line to straight sides and smooth curves.

use super::contour::Contour;
use super::corner::{Corner, Line, STEP, Search, corners, resampled};
use super::smooth::{End, fit};
use crate::base::Point;
use crate::base::plane::distance;
use crate::geometry::Curve;

/// Largest deviation of the outline from the half-tone line, pixels, where the user gives none.
const USUAL: f64 = 0.1;

/// The same for pictures without intermediate tones, whose line is known to half a pixel.
const ABRUPT: f64 = 0.6;

/// A smooth outline.
pub(super) struct Fitted {
    pub curves: Vec<Curve>,
    /// Largest distance of the half-tone line from it, away from corners, pixels.
    pub deviation: f64,
    /// Corners, and how far the farthest lies beyond the half-tone line, pixels.
    pub corners: usize,
    pub cut: f64,
    /// Whether the picture had no intermediate tones.
    pub abrupt: bool,
}

/// Fits the outline, straight where it can be and smooth between corners, to within a deviation if that is given.
pub(super) fn fitted(contour: &Contour, deviation: Option<f64>) -> Fitted {
    let samples = resampled(&contour.points, STEP);
    let abrupt = contour.abrupt > 0.9;
    let limit = deviation.unwrap_or(if abrupt { ABRUPT } else { USUAL.max(3.0 * jitter(&samples)) });
    let search = if abrupt || limit > 0.4 {
        Search { skip: 3, arm: 16, turn: 0.7 }
    } else {
        Search { skip: 2, arm: 10, turn: 0.45 }
    };
    let mut corners = corners(&samples, search);
    let mut fitted = Fitted { curves: Vec::new(), deviation: 0.0, corners: corners.len(), cut: 0.0, abrupt };
    if corners.is_empty() {
        smooth_round(&samples, limit, &mut fitted);
        return fitted;
    }
    let sides: Vec<Vec<Point>> = sides(&samples, &corners, search.skip);
    let straight: Vec<Option<Line>> = sides.iter().map(|side| straight(side, limit)).collect();
    // Two straight sides know their corner better than their ends do.
    let n = corners.len();
    for k in 0..n {
        let (before, after) = (&straight[(k + n - 1) % n], &straight[k]);
        let meet = before.zip(after.as_ref()).and_then(|(before, after)| before.meets(after));
        if let Some(meet) = meet.filter(|meet| distance(*meet, corners[k].at) < 1.5) {
            corners[k].at = meet;
        }
    }
    for (k, side) in sides.iter().enumerate() {
        let (from, to) = (corners[k].at, corners[(k + 1) % n].at);
        match &straight[k] {
            Some(line) => {
                fitted.curves.push(Curve::Line { from, to });
                let worst = side.iter().map(|p| line.distance(*p)).fold(0.0, f64::max);
                fitted.deviation = fitted.deviation.max(worst);
            }
            None => {
                let points: Vec<Point> = [from].into_iter().chain(side.iter().copied()).chain([to]).collect();
                let worst = fit(&points, [End::Free, End::Free], limit, &mut fitted.curves);
                fitted.deviation = fitted.deviation.max(worst);
            }
        }
        fitted.cut = fitted.cut.max(corners[k].cut);
    }
    fitted
}

/// The samples from each corner to the next, without those that are rounded off.
fn sides(samples: &[Point], corners: &[Corner], skip: usize) -> Vec<Vec<Point>> {
    let n = samples.len();
    let side = |k: usize| {
        let (from, to) = (corners[k].index, corners[(k + 1) % corners.len()].index);
        let count = if to > from { to - from } else { to + n - from };
        (from + skip..(from + count + 1).saturating_sub(skip)).map(|i| samples[i % n]).collect()
    };
    (0..corners.len()).map(side).collect()
}

/// The line of a side that is straight to within a limit.
fn straight(side: &[Point], limit: f64) -> Option<Line> {
    if side.len() < 3 {
        return (!side.is_empty()).then(|| Line::through(side.iter().copied()));
    }
    let line = Line::through(side.iter().copied());
    side.iter().all(|p| line.distance(*p) <= limit).then_some(line)
}

/// A line without corners: four parts with common tangents.
fn smooth_round(samples: &[Point], limit: f64, fitted: &mut Fitted) {
    let n = samples.len();
    let quarters = [0, n / 4, n / 2, 3 * n / 4, n];
    let ends: Vec<(Point, [f64; 2])> = quarters[..4].iter().map(|&k| joint(samples, k)).collect();
    for q in 0..4 {
        let ((start, leave), (stop, arrive)) = (ends[q], ends[(q + 1) % 4]);
        let inner = (quarters[q] + 1..quarters[q + 1]).map(|k| samples[k]);
        let points: Vec<Point> = [start].into_iter().chain(inner).chain([stop]).collect();
        let worst = fit(&points, [End::Along(leave), End::Along(arrive)], limit, &mut fitted.curves);
        fitted.deviation = fitted.deviation.max(worst);
    }
}

/// A place on the line and its direction there: of the parabola through the samples around it by least squares.
fn joint(samples: &[Point], k: usize) -> (Point, [f64; 2]) {
    let n = samples.len();
    let reach = 6.min((n - 1) / 2);
    let window: Vec<Point> = (0..=2 * reach).map(|j| samples[(k + n + j - reach) % n]).collect();
    let (place, along) = super::smooth::middle_of(&window);
    (place, along)
}

/// Standard deviation of the samples from the parabola through their neighbours, by the median, pixels.
fn jitter(samples: &[Point]) -> f64 {
    let n = samples.len();
    let reach = 6.min((n - 1) / 2);
    let mut apart: Vec<f64> = (0..n)
        .map(|k| {
            let window: Vec<Point> = (0..=2 * reach).map(|j| samples[(k + n + j - reach) % n]).collect();
            let (place, along) = super::smooth::middle_of(&window);
            ((samples[k][0] - place[0]) * along[1] - (samples[k][1] - place[1]) * along[0]).abs()
        })
        .collect();
    apart.sort_by(f64::total_cmp);
    1.48 * apart[n / 2]
}
