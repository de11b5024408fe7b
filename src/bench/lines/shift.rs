//! Shifts of traced lines from those of the ideal pattern, their direction, and the speed between neighbours.
//!
//! At a station of line j the shift is `s = (psi(x) − psi_j)/|grad psi|`, positive to the left of the flow. The level psi_j is that of
//! the needle that lets the dye in, or else the one that makes the sum of s² least. The angle by which the line leaves the ideal direction is
//! `d psi/ds/|grad psi|`, from the slope of a quadratic over nine stations. Between neighbours whose levels are known flows what the
//! levels say, so that a distance other than the ideal one means another speed:
//! `|V| = |V|_ideal · Δpsi_j/(Δpsi_j + Δr)` with r = psi(x) − psi_j.

use super::ideal::{Ideal, IdealAt};
use super::stations::{Course, Seen, Station, quadratic};
use crate::base::Point;
use crate::base::plane::{self, foot, length};
use crate::input::case::STATION;
use crate::theory::edge_layer::{Margin, Reach};
use rayon::prelude::*;

/// Stations of the quadratic that gives a direction, and the longest stretch of a line that they may stand for, m: over more a line is no
/// quadratic.
const NINE: usize = 9;
const STRETCH: f64 = 1.5 * NINE as f64 * STATION;

/// Below this part of the mean speed lines have no direction worth a number, and shifts no meaning.
pub const SLOW: f64 = 0.1;

/// A traced line with its stations.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// Its number.
    pub number: i64,
    /// Level of the stream function where it starts, as a distance across the flow, m.
    pub level: f64,
    /// Whether that was given, not fitted.
    pub level_known: bool,
    /// Its stations beyond the margin, downstream.
    pub stations: Vec<Observed>,
    /// All its places, also those near solid edges, without a break that leads through a solid, m.
    pub path: Vec<Point>,
}

/// A station of a traced line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Observed {
    /// Length of the line up to it, m.
    pub arc: f64,
    /// Where, m.
    pub at: Point,
    /// Stream function of the ideal pattern there, m.
    pub psi: f64,
    /// |V|/U of the ideal pattern there.
    pub speed: f64,
    /// Shift to the left, m.
    pub shift: f64,
    /// Which of the places of its line's path it is.
    pub place: usize,
    /// How the picture shows it, if a picture does.
    pub seen: Option<Seen>,
}

/// A change of speed between two lines.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpeedChange {
    /// Numbers of the lines.
    pub lines: [i64; 2],
    /// Which station of the lower line.
    pub station: usize,
    /// Between which places, m.
    pub at: Point,
    /// |V|_ideal/U.
    pub ideal: f64,
    /// (|V| − |V|_ideal)/U.
    pub change: f64,
    /// Distance of the lines, m.
    pub apart: f64,
}

/// Lines on the ideal pattern, in their order, each with at least nine stations beyond the margin. A line that was not traced where it passes an obstacle, so that the straight way on leads through the
/// solid, comes in two parts, each with a level of its own: what an effect does on the way round is unknown.
pub fn observe(ideal: &Ideal, courses: &[Course], margin: Margin) -> Vec<Line> {
    let edges = Reach::of(ideal.space(), margin);
    let seen = |course: &Course| -> Vec<Line> {
        let found = located(ideal, &course.stations);
        let parts = found.chunk_by(|(a, _), (b, _)| is_free(ideal, a.at, b.at));
        let line = |part: &[(Station, IdealAt)]| {
            let observed = |(place, (station, pattern)): (usize, &(Station, IdealAt))| {
                let corners = ideal.space().mesh.triangles[pattern.triangle as usize];
                let speed = length(pattern.slope);
                let beyond = !corners.iter().any(|&v| edges.holds(v as usize));
                let Station { arc, at, seen } = *station;
                let psi = pattern.psi;
                (beyond && speed > SLOW).then_some(Observed { arc, at, psi, speed, shift: 0.0, place, seen })
            };
            let stations: Vec<Observed> = part.iter().enumerate().filter_map(observed).collect();
            let path = part.iter().map(|(station, _)| station.at).collect();
            let mut line =
                Line { number: course.number, level: 0.0, level_known: course.level.is_some(), stations, path };
            let raw: Vec<f64> = line.stations.iter().map(|station| station.psi / station.speed).collect();
            line.level = course.level.unwrap_or(level_of(&line, &raw));
            for station in &mut line.stations {
                station.shift = (station.psi - line.level) / station.speed;
            }
            line
        };
        parts.map(line).filter(|line| line.stations.len() >= NINE).collect()
    };
    courses.par_iter().map(seen).collect::<Vec<_>>().concat()
}

/// Stations in the fluid with the ideal pattern there.
fn located(ideal: &Ideal, stations: &[Station]) -> Vec<(Station, IdealAt)> {
    let mut hint = None;
    let of = stations.iter().filter_map(|&station| {
        let found = ideal.at(station.at, hint)?;
        hint = Some(found.triangle);
        Some((station, found))
    });
    of.collect()
}

/// Whether the straight way between two places stays in the fluid.
fn is_free(ideal: &Ideal, from: Point, to: Point) -> bool {
    const CHECKED: usize = 16;
    (1..CHECKED).all(|k| ideal.at(plane::between(from, to, k as f64 / CHECKED as f64), None).is_some())
}

/// The level c that makes the sum of (s − c/|grad psi|)² over a line least.
pub fn level_of(line: &Line, shifts: &[f64]) -> f64 {
    let terms = line.stations.iter().zip(shifts);
    let (sum, total) = terms.fold((0.0, 0.0), |(sum, total), (station, shift)| {
        (sum + shift / station.speed, total + station.speed.powi(-2))
    });
    if total > 0.0 { sum / total } else { 0.0 }
}

/// Shifts of a line less what its level may be, m.
pub fn levelled(line: &Line, shifts: &[f64]) -> Vec<f64> {
    let level = level_of(line, shifts);
    line.stations.iter().zip(shifts).map(|(station, shift)| shift - level / station.speed).collect()
}

impl Line {
    /// Its shifts, m.
    pub fn shifts(&self) -> Vec<f64> {
        self.stations.iter().map(|station| station.shift).collect()
    }

    /// The angles that go with shifts of its stations, rad, positive to the left; none where stations are missing or stand wide.
    pub fn directions(&self, shifts: &[f64]) -> Vec<Option<f64>> {
        let count = self.stations.len();
        (0..count)
            .map(|i| {
                let from = i.saturating_sub(NINE / 2).min(count.saturating_sub(NINE));
                let window = from..(from + NINE).min(count);
                let first = self.stations.get(window.start)?.arc;
                let last = self.stations.get(window.end.checked_sub(1)?)?.arc;
                if window.len() < NINE || last - first > STRETCH {
                    return None;
                }
                let own = self.stations[i];
                let pairs: Vec<[f64; 2]> =
                    window.map(|k| [self.stations[k].arc - own.arc, shifts[k] * self.stations[k].speed]).collect();
                quadratic(&pairs).map(|[_, slope, _]| slope / own.speed)
            })
            .collect()
    }

    /// Median distance of its stations, m.
    pub fn spacing(&self) -> f64 {
        let mut steps: Vec<f64> = self.stations.windows(2).map(|pair| pair[1].arc - pair[0].arc).collect();
        steps.sort_by(f64::total_cmp);
        steps.get(steps.len() / 2).copied().unwrap_or(0.0)
    }
}

/// Changes of speed between neighbours whose levels are known, at the stations of the lower line; nothing where an obstacle stands
/// between them.
pub fn speed_changes(ideal: &Ideal, lines: &[Line]) -> Vec<SpeedChange> {
    let mut known: Vec<&Line> = lines.iter().filter(|line| line.level_known).collect();
    known.sort_by(|a, b| a.level.total_cmp(&b.level));
    let between = |pair: &[&Line]| -> Vec<SpeedChange> {
        let [lower, upper] = [pair[0], pair[1]];
        let step = upper.level - lower.level;
        let of_station = |(k, station): (usize, &Observed)| {
            let (at, there) = across(station.at, upper)?;
            let middle = plane::middle(station.at, at);
            let speed = length(ideal.at(middle, None)?.slope);
            let ideal_step = step + there - (station.psi - lower.level);
            let free = is_free(ideal, station.at, at) && step > 0.0 && ideal_step > 0.1 * step;
            let lines = [lower.number, upper.number];
            let (change, apart) = (speed * (step / ideal_step - 1.0), plane::distance(station.at, at));
            free.then_some(SpeedChange { lines, station: k, at: middle, ideal: speed, change, apart })
        };
        lower.stations.iter().enumerate().filter_map(of_station).collect()
    };
    known.par_windows(2).map(between).collect::<Vec<_>>().concat()
}

/// The cosine of the angle between lines and the way across, above which that is no way across.
const OBLIQUE: f64 = 0.2;

/// The place of a line straight across from a point, and psi less the line's level there; none beyond its ends, and none beside a gap of it,
/// where the nearest place lies aslant: what flows between is then the speed of somewhere else.
fn across(from: Point, line: &Line) -> Option<(Point, f64)> {
    let spacing = line.spacing();
    let nearest = line
        .stations
        .windows(2)
        .filter(|pair| pair[1].arc - pair[0].arc < 2.5 * spacing)
        .map(|pair| {
            let fraction = foot(from, [pair[0].at, pair[1].at]);
            let at = plane::between(pair[0].at, pair[1].at, fraction);
            let psi = pair[0].psi + fraction * (pair[1].psi - pair[0].psi);
            (plane::way(from, at), plane::way(pair[0].at, pair[1].at), at, psi)
        })
        .min_by(|a, b| length(a.0).total_cmp(&length(b.0)))?;
    let (way, along, at, psi) = nearest;
    let is_across = plane::dot(way, along).abs() < OBLIQUE * length(way) * length(along);
    is_across.then_some((at, psi - line.level))
}
