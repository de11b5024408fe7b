//! What tracing found, and how good it is.

use super::along::{Mile, at_arc};
use super::places::{Making, Place};
use super::scale::HALF_HEIGHT;
use super::view::View;
use crate::bench::lines::{Course, Seen, Station, deviation};
use crate::bench::statistics::median;
use crate::input::measured::{Photo, SATURATED};

/// Second differences of neighbouring stations over the noise of one: by the overlap of their windows, the quadratic's
/// weights being `h(u) = (3/8)(3 - 5 u²)` with a correlation R over two and four thirds, `√((6 R(0) - 8 R(2/3) + 2
/// R(4/3))/R(0))`.
const SECOND: f64 = 1.878_329;

/// Share of the stations of a third below which the third is hidden.
const HIDDEN: f64 = 0.1;

/// A line of the picture.
#[derive(Debug, Clone, PartialEq)]
pub struct TracedLine {
    /// Its number, from the lower wall upwards.
    pub number: i64,
    /// The level that it was linked to, m of psi.
    pub level: f64,
    /// Its needle, by its place in the list; none if the level is that of the picture.
    pub needle: Option<usize>,
    /// Its stations, downstream.
    pub places: Vec<Place>,
    /// Share of the stations that the picture could show: in its frame and beyond the margin.
    pub covered: f64,
    /// Thirds of what the picture could show, downstream, of which it shows less than a tenth; all three of a line that
    /// is not there.
    pub hidden: [bool; 3],
    /// Third moment of its profile over the 3/2 power of the second, positive if the left of the flow has the longer
    /// tail.
    pub lean: Option<f64>,
}

/// The lines of a picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Tracing {
    /// Lines from the lower wall upwards, those of needles without stations among them.
    pub lines: Vec<TracedLine>,
    /// Noise of a station across its line, one standard deviation, pixels; none where too few follow each other.
    pub noise_px: Option<f64>,
    /// Pixels for a metre, in the middle of what was looked at.
    pub pixels_per_m: f64,
    /// Standard deviation of the profile of lines, pixels.
    pub line_sigma_px: f64,
    /// That of the Gaussian of the ridges, pixels.
    pub ridge_sigma_px: f64,
    /// Weights of red, green and blue.
    pub weights: [f64; 3],
    /// Share of the fluid that is saturated.
    pub saturated: f64,
}

impl Tracing {
    /// The lines as courses: those with stations.
    pub fn courses(&self) -> Vec<Course> {
        let long = self.lines.iter().filter(|line| !line.places.is_empty());
        let of = |line: &TracedLine| {
            let seen = |place: &Place| Seen {
                pixel: place.pixel,
                width: place.width / self.pixels_per_m,
                contrast: place.contrast,
            };
            let station = |place: &Place| Station { arc: place.arc, at: place.at, seen: Some(seen(place)) };
            let level = line.needle.map(|_| line.level);
            Course { number: line.number, level, stations: line.places.iter().map(station).collect() }
        };
        long.map(of).collect()
    }

    /// Stations of all lines.
    pub fn stations(&self) -> usize {
        self.lines.iter().map(|line| line.places.len()).sum()
    }

    /// Share of the stations that the picture could show, of all lines.
    pub fn covered(&self) -> f64 {
        self.lines.iter().map(|line| line.covered).sum::<f64>() / self.lines.len().max(1) as f64
    }

    /// Full width of lines at half their depth, pixels.
    pub fn line_width_px(&self) -> f64 {
        HALF_HEIGHT * self.line_sigma_px
    }

    /// Noise of a station across its line, m.
    pub fn noise_m(&self) -> Option<f64> {
        self.noise_px.map(|noise| noise / self.pixels_per_m)
    }
}

/// A line with what of it is covered.
pub fn line(
    k: usize,
    level: f64,
    needle: Option<usize>,
    places: Vec<Place>,
    lean: Option<f64>,
    course: &[Mile],
    making: &Making,
) -> TracedLine {
    let length = course.last().map_or(0.0, |mile| mile.arc);
    let is_shown = |k: &usize| {
        let at = at_arc(course, *k as f64 * making.spacing);
        at.is_some_and(|(place, triangle)| making.view.shows(place, Some(triangle)))
    };
    let shown: Vec<usize> = (0..=(length / making.spacing) as usize).filter(is_shown).collect();
    let found: Vec<usize> = places.iter().map(|place| (place.arc / making.spacing).round() as usize).collect();
    let share = |slots: &[usize]| {
        let seen = slots.iter().filter(|slot| found.binary_search(slot).is_ok()).count();
        seen as f64 / slots.len().max(1) as f64
    };
    let cut = |third: usize| third * shown.len() / 3;
    let hidden = [0, 1, 2].map(|third| share(&shown[cut(third)..cut(third + 1)]) < HIDDEN);
    TracedLine { number: k as i64 + 1, level, needle, covered: share(&shown), hidden, places, lean }
}

/// Pixels for a metre in the middle of the open fluid.
pub fn pixels_per_m(view: &View) -> Option<f64> {
    let scales: Vec<f64> = view
        .open_nodes()
        .filter_map(|(_, node, _)| view.calibration.scale(node.place))
        .filter(|s| s.is_finite())
        .collect();
    median(&scales).filter(|scale| *scale > 0.0)
}

/// Share of the open fluid that is saturated.
pub fn saturated(photo: &Photo, view: &View) -> f64 {
    let (mut all, mut count) = (0.0, 0.0);
    for (pixel, ..) in view.open_nodes() {
        let [column, row] = pixel.map(|value| value as isize);
        all += 1.0;
        count += f64::from(u8::from(photo.at(column, row).iter().all(|&channel| channel > SATURATED)));
    }
    if all > 0.0 { count / all } else { 0.0 }
}

/// Noise of stations, pixels; shifts from the ideal line vary slowly, noise does not.
pub fn noise(lines: &[TracedLine], view: &View, spacing: f64) -> Option<f64> {
    let of_line = |line: &TracedLine| -> Vec<f64> {
        let follow = |three: &&[Place]| (three[2].arc - three[0].arc) < 2.5 * spacing;
        let difference = |three: &[Place]| {
            let second = three[0].shift - 2.0 * three[1].shift + three[2].shift;
            Some(second * view.calibration.scale(three[1].at)?)
        };
        line.places.windows(3).filter(follow).filter_map(difference).collect()
    };
    let differences: Vec<f64> = lines.iter().flat_map(of_line).collect();
    (differences.len() >= 9).then(|| deviation(&differences) / SECOND)
}
