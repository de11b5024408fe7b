//! The start of the calibration from bare points, and what must be wrong with them if there is none.
//!
//! A plane seen by a camera is a homography of it, which four marks fix if no three stand in a line. It is found by the normalised direct
//! linear transformation (Hartley 1997, IEEE PAMI 19, 580): both sets of points are moved to their middle and scaled to a mean distance of
//! sqrt(2), and the null vector of `A'A` is taken. What clicks leave of it tells whether two of them were swapped.

use super::lens::{Frame, Lens};
use super::pixel::Pixel;
use crate::base::plane::{cross, distance, way};
use crate::base::{Error, Point, Result};
use crate::bench::statistics::Eigen;

/// Fewest marks that fix a homography.
pub const FEWEST: usize = 4;

/// Three marks whose triangle is lower than this share of the extent of all count as standing in a line.
const FLAT: f64 = 0.05;

/// Largest distance of a click from the homography of all, as a share of the picture's longer side.
const CROSSED: f64 = 0.05;

/// The homography of at least four pairs; none if they fix none or if it sees some of them behind the camera.
pub fn homography(frame: Frame, places: &[Point], pixels: &[Pixel]) -> Option<Lens> {
    let from: Vec<Point> = places.iter().map(|place| frame.reduced(*place)).collect();
    let to: Vec<Point> = pixels.iter().map(|pixel| frame.halves(*pixel)).collect();
    let (a, b) = (Scaling::of(&from)?, Scaling::of(&to)?);
    let mut normal = vec![vec![0.0; 9]; 9];
    for (p, q) in from.iter().zip(&to) {
        let ([x, y], [u, v]) = (a.scaled(*p), b.scaled(*q));
        let rows = [[x, y, 1.0, 0.0, 0.0, 0.0, -u * x, -u * y, -u], [0.0, 0.0, 0.0, x, y, 1.0, -v * x, -v * y, -v]];
        for row in rows {
            for (i, line) in normal.iter_mut().enumerate() {
                line.iter_mut().zip(row).for_each(|(entry, other)| *entry += row[i] * other);
            }
        }
    }
    let eigen = Eigen::of(&normal);
    let g = eigen.vectors.first()?;
    // H = B^-1 G A, with A and B the two scalings
    let g: [[f64; 3]; 3] = [[g[0], g[1], g[2]], [g[3], g[4], g[5]], [g[6], g[7], g[8]]];
    let right = g.map(|row| {
        let moved = row[2] - a.factor * (row[0] * a.middle[0] + row[1] * a.middle[1]);
        [a.factor * row[0], a.factor * row[1], moved]
    });
    let h = [0, 1, 2].map(|k| match k {
        2 => right[2],
        _ => [0, 1, 2].map(|j| right[k][j] / b.factor + b.middle[k] * right[2][j]),
    });
    let last = h[2][2];
    let flat = [h[0], h[1], h[2]].concat();
    let mut entries = [0.0; 8];
    entries.iter_mut().zip(flat).for_each(|(entry, value)| *entry = value / last);
    let lens = Lens::plain(frame, entries);
    let is_seen = entries.iter().all(|entry| entry.is_finite()) && places.iter().all(|p| lens.pixel(*p).is_some());
    is_seen.then_some(lens)
}

/// A shift and a scale that bring points to their middle and a mean distance of sqrt(2).
struct Scaling {
    middle: Point,
    factor: f64,
}

impl Scaling {
    fn of(points: &[Point]) -> Option<Scaling> {
        let count = points.len() as f64;
        let middle = [0, 1].map(|k| points.iter().map(|point| point[k]).sum::<f64>() / count);
        let mean = points.iter().map(|point| distance(*point, middle)).sum::<f64>() / count;
        (mean > 0.0).then(|| Scaling { middle, factor: 2f64.sqrt() / mean })
    }

    fn scaled(&self, point: Point) -> Point {
        [0, 1].map(|k| self.factor * (point[k] - self.middle[k]))
    }
}

/// Whether some four of the marks have no three in a line; the error names three that stand in one.
pub fn check_spread(names: &[String], places: &[Point]) -> Result<()> {
    let n = places.len();
    let extent = (0..n).flat_map(|i| (0..i).map(move |j| distance(places[i], places[j]))).fold(0.0, f64::max);
    let height = |i: usize, j: usize, k: usize| {
        let [a, b, c] = [i, j, k].map(|k| places[k]);
        let longest = distance(a, b).max(distance(b, c)).max(distance(c, a));
        cross(way(a, b), way(a, c)).abs() / longest.max(f64::MIN_POSITIVE)
    };
    let is_flat = |i: usize, j: usize, k: usize| height(i, j, k) <= FLAT * extent;
    let mut flattest = (f64::INFINITY, [0, 0, 0]);
    for i in 0..n {
        for j in 0..i {
            for k in 0..j {
                let low = height(i, j, k);
                if low < flattest.0 {
                    flattest = (low, [k, j, i]);
                }
                if is_flat(i, j, k) {
                    continue;
                }
                let fourth = |l: usize| !is_flat(i, j, l) && !is_flat(j, k, l) && !is_flat(i, k, l);
                if (0..k).any(fourth) {
                    return Ok(());
                }
            }
        }
    }
    let (low, [i, j, k]) = flattest;
    Err(Error::failed(
        format!(
            "marks {}, {} and {} stand in a line within {:.1} mm, and no four marks are without such three; \
             four are needed of which any three span a triangle higher than {:.1} mm",
            names[i],
            names[j],
            names[k],
            1e3 * low,
            1e3 * FLAT * extent
        ),
        "put a mark into each corner of the cell",
    ))
}

/// The homography of the clicks, if each of them lies near its mark's place in it; the error names the two that were swapped.
pub fn check_order(frame: Frame, names: &[String], places: &[Point], clicks: &[Pixel]) -> Result<Lens> {
    let limit = CROSSED * 2.0 * frame.half;
    let own = homography(frame, places, clicks).map(|lens| (off(&lens, places, clicks), lens));
    let largest = match own {
        Some((off, lens)) if off <= limit => return Ok(lens),
        Some((off, _)) => format!("up to {off:.0} px from where the others see their marks, {limit:.0} px at most"),
        None => "such that some marks would stand behind the camera".into(),
    };
    let mut best: Option<(bool, f64, [usize; 2])> = None;
    for i in 0..names.len() {
        for j in i + 1..names.len() {
            let mut swapped = clicks.to_vec();
            swapped.swap(i, j);
            let Some(lens) = homography(frame, places, &swapped) else { continue };
            // four clicks can be mended in two ways, one of which mirrors the cell
            let found = (lens.is_mirrored(), off(&lens, places, &swapped), [i, j]);
            let is_better = best.is_none_or(|best| {
                if (best.1 <= limit) != (found.1 <= limit) {
                    found.1 <= limit
                } else if best.0 != found.0 && found.1 <= limit {
                    best.0
                } else {
                    found.1 < best.1
                }
            });
            if is_better {
                best = Some(found);
            }
        }
    }
    let matter = format!("the clicks do not fit the places of the marks: they are {largest}");
    Err(match best.filter(|best| best.1 <= limit) {
        Some((_, _, [i, j])) => {
            let (a, b) = (&names[i], &names[j]);
            Error::failed(
                format!("{matter}; marks {a} and {b} seem swapped"),
                format!("swap the pixels of marks {a} and {b}"),
            )
        }
        None => Error::failed(
            matter,
            "compare names, places and pixels of the marks with the picture, pixels from its upper left corner as it is shown upright",
        ),
    })
}

/// The largest distance of a pixel from its mark's place in the picture.
fn off(lens: &Lens, places: &[Point], pixels: &[Pixel]) -> f64 {
    let apart = |(place, pixel): (&Point, &Pixel)| lens.pixel(*place).map_or(f64::INFINITY, |at| distance(at, *pixel));
    places.iter().zip(pixels).map(apart).fold(0.0, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;

    const PLACES: [Point; 6] = [[0.0, 0.0], [0.3, 0.01], [0.29, 0.2], [0.01, 0.19], [0.15, 0.0], [0.16, 0.2]];

    fn names() -> Vec<String> {
        ["a", "b", "c", "d", "e", "f"].map(String::from).to_vec()
    }

    fn view(mirrored: bool) -> Lens {
        let frame = Frame::new([2000, 1500], &PLACES);
        let sign = if mirrored { -1.0 } else { 1.0 };
        Lens::plain(frame, [0.7 * sign, 0.1 * sign, 0.05, 0.08, -0.65, 0.02, 0.15, -0.2])
    }

    #[test]
    fn the_homography_comes_back() {
        for mirrored in [false, true] {
            let lens = view(mirrored);
            let pixels = PLACES.map(|place| lens.pixel(place).unwrap());
            for count in [4, 6] {
                let found = homography(lens.frame, &PLACES[..count], &pixels[..count]).unwrap();
                // A'A squares the condition: half of the digits
                let apart = PLACES.iter().map(|p| distance(found.pixel(*p).unwrap(), lens.pixel(*p).unwrap()));
                assert!(apart.fold(0.0, f64::max) < 1e-4);
                assert_eq!(found.is_mirrored(), mirrored);
            }
        }
    }

    #[test]
    fn swapped_clicks_are_named() {
        let lens = view(false);
        let right = PLACES.map(|place| lens.pixel(place).unwrap());
        let names = names();
        for count in 4..=6 {
            for [i, j] in [[0, 1], [1, 2], [2, 3], [0, 3]] {
                let mut clicks = right;
                clicks.swap(i, j);
                let error = check_order(lens.frame, &names[..count], &PLACES[..count], &clicks[..count]).unwrap_err();
                let pair = format!("{} and {}", names[i], names[j]);
                assert!(error.what().contains(&format!("marks {pair} seem swapped")), "{count}: {}", error.what());
                assert!(error.remedy().unwrap().contains(&pair));
            }
            assert!(check_order(lens.frame, &names[..count], &PLACES[..count], &right[..count]).is_ok());
        }
    }

    #[test]
    fn three_in_a_line_are_named_where_no_four_are_free_of_them() {
        let names = names();
        assert!(check_spread(&names[..4], &PLACES[..4]).is_ok());
        let line = [PLACES[0], PLACES[1], PLACES[4], PLACES[3]];
        let error = check_spread(&names[..4], &line).unwrap_err();
        assert!(error.what().starts_with("marks a, b and c stand in a line within"), "{}", error.what());
        // a fifth one that makes four free ones mends it
        let mended = [line[0], line[1], line[2], line[3], PLACES[2]];
        assert!(check_spread(&names[..5], &mended).is_ok());
    }
}
