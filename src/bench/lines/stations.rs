//! Stations along a traced line, evenly spaced along its arc.
//!
//! Where a line was traced closely, a station is the value of a quadratic fitted to the places around it. A mean of places would cut
//! the corner: over ±1 mm of a line of 30 mm radius by 0.006 mm towards the centre of curvature, and always to the same side, which
//! an amplitude would take for a part of the edge layer. Where a line was traced sparsely its own places are the stations, for
//! between them nothing is known.

use crate::base::Point;
use crate::base::plane::{self, foot, way};
use crate::bench::statistics::System;
use crate::input::measured::Trace;

/// Half the window of a fit, in spacings.
const WINDOW: f64 = 1.5;

/// Fewest places for a fit.
const LEAST: usize = 6;

/// A place of a line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Station {
    /// Length of the line up to it, m.
    pub arc: f64,
    /// Where, m.
    pub at: Point,
    /// How the picture shows it, if a picture does.
    pub seen: Option<Seen>,
}

/// A line as a picture shows it at a place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Seen {
    /// Its centre, pixels.
    pub pixel: Point,
    /// Its full width at half its depth, m.
    pub width: f64,
    /// Its absorbance.
    pub contrast: f64,
}

/// A line with its stations, downstream.
#[derive(Debug, Clone, PartialEq)]
pub struct Course {
    /// Its number.
    pub number: i64,
    /// Level of the stream function of its needle, as a distance across the flow, m, if it is known.
    pub level: Option<f64>,
    /// Its stations.
    pub stations: Vec<Station>,
}

impl Course {
    /// Of a line of a table; one that runs against the flow is turned round.
    pub fn of(trace: &Trace, spacing: f64) -> Course {
        let mut places = trace.places.clone();
        if let (Some(&first), Some(&last)) = (places.first(), places.last())
            && way(first, last)[0] < 0.0
        {
            places.reverse();
        }
        Course { number: trace.number, level: None, stations: stations(&places, spacing) }
    }
}

/// The stations of a line through places in their order.
pub fn stations(places: &[Point], spacing: f64) -> Vec<Station> {
    let places = along(places, spacing);
    let Some(length) = places.last().map(|place| place.arc) else { return Vec::new() };
    let count = (length / spacing).floor() as usize;
    let (mut from, mut to) = (0, 0);
    let mut found: Vec<Station> = Vec::new();
    for k in 0..=count {
        let arc = k as f64 * spacing;
        while from < places.len() && places[from].arc < arc - WINDOW * spacing {
            from += 1;
        }
        while to < places.len() && places[to].arc <= arc + WINDOW * spacing {
            to += 1;
        }
        let window = &places[from..to.max(from)];
        let [before, behind] = [window.iter().any(|p| p.arc <= arc), window.iter().any(|p| p.arc >= arc)];
        if window.len() >= LEAST && before && behind {
            let [x, y] = [0, 1].map(|axis| {
                let pairs: Vec<[f64; 2]> = window.iter().map(|p| [p.arc - arc, p.at[axis]]).collect();
                quadratic(&pairs)
            });
            if let (Some([x, ..]), Some([y, ..])) = (x, y) {
                found.push(Station { arc, at: [x, y], seen: None });
                continue;
            }
        }
        // the place itself that lies nearest, once
        let own = window.iter().filter(|p| (p.arc - arc).abs() <= 0.5 * spacing);
        let nearest = own.min_by(|p, q| (p.arc - arc).abs().total_cmp(&(q.arc - arc).abs()));
        if let Some(&place) = nearest
            && found.last().is_none_or(|last| place.arc > last.arc)
        {
            found.push(place);
        }
    }
    found
}

/// Places with their arc, in its order: measured along places a spacing apart, for the noise of close ones would lengthen it.
fn along(places: &[Point], spacing: f64) -> Vec<Station> {
    let Some(&first) = places.first() else { return Vec::new() };
    let mut nodes = vec![first];
    let mut node_of = Vec::with_capacity(places.len());
    for &place in places {
        if plane::distance(nodes[nodes.len() - 1], place) >= spacing {
            nodes.push(place);
        }
        node_of.push(nodes.len() - 1);
    }
    let mut arcs = vec![0.0];
    for pair in nodes.windows(2) {
        arcs.push(arcs[arcs.len() - 1] + plane::distance(pair[0], pair[1]));
    }
    let mut found: Vec<Station> = places
        .iter()
        .zip(node_of)
        .map(|(&at, node)| {
            // past the last node the last direction goes on
            let from = if node + 1 < nodes.len() { node } else { node.saturating_sub(1) };
            let Some(&next) = nodes.get(from + 1) else {
                return Station { arc: plane::distance(first, at), at, seen: None };
            };
            let fraction = foot(at, [nodes[from], next]);
            Station { arc: arcs[from] + fraction * (arcs[from + 1] - arcs[from]), at, seen: None }
        })
        .collect();
    found.sort_by(|p, q| p.arc.total_cmp(&q.arc));
    found
}

/// Value, slope and half the second derivative at zero of the quadratic through pairs of argument and value, by least squares; none if
/// they do not determine it.
pub fn quadratic(pairs: &[[f64; 2]]) -> Option<[f64; 3]> {
    let reach = pairs.iter().fold(0.0, |a: f64, p| a.max(p[0].abs()));
    if reach <= 0.0 {
        return None;
    }
    let rows: Vec<([f64; 3], f64)> = pairs
        .iter()
        .map(|[t, value]| {
            let t = t / reach;
            ([1.0, t, t * t], *value)
        })
        .collect();
    let mut normal = vec![vec![0.0; 3]; 3];
    let mut right = vec![0.0; 3];
    for (terms, value) in &rows {
        for i in 0..3 {
            right[i] += terms[i] * value;
            for j in 0..3 {
                normal[i][j] += terms[i] * terms[j];
            }
        }
    }
    let system = System::new(&normal);
    let found = system.is_determined().then(|| system.solve(&right))?;
    Some([found[0], found[1] / reach, found[2] / (reach * reach)])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::input::case::STATION;

    fn circle(radius: f64, step: f64) -> Vec<Point> {
        let count = (radius * 3.0 / step) as usize;
        let place = |k: usize| {
            let angle = k as f64 * step / radius;
            [radius * angle.sin(), radius * angle.cos()]
        };
        (0..count).map(place).collect()
    }

    #[test]
    fn a_line_traced_against_the_flow_is_turned_round() {
        let mut places = circle(1.0, 5e-3);
        places.truncate(20);
        let forward = Course::of(&Trace { number: 3, places: places.clone() }, STATION);
        places.reverse();
        let back = Course::of(&Trace { number: 3, places }, STATION);
        assert!(forward == back && forward.stations[0].at == [0.0, 1.0]);
    }

    /// On a circle of 30 mm a mean over 6 mm would lie (3 mm)²/6/30 mm = 0.05 mm inside; the quadratic leaves the fourth order,
    /// (3 mm)⁴/(30 mm)³ times 1/24 of 3/35: 1e-5 mm. At the ends, where the window is one-sided, the third order stays.
    #[test]
    fn stations_lie_on_the_curve() {
        let radius = 30e-3;
        let found = stations(&circle(radius, 0.5e-3), STATION);
        assert!(found.len() > 40);
        for station in &found[2..found.len() - 2] {
            assert!((plane::length(station.at) - radius).abs() < 2e-8, "{}", plane::length(station.at) - radius);
        }
        for pair in found.windows(2) {
            let step = plane::distance(pair[0].at, pair[1].at);
            assert!((step - STATION).abs() < 0.01 * STATION, "{step}");
        }
    }

    /// A line of places 5 mm apart is its own stations: none is invented between them, where the chord lies 0.1 mm inside.
    #[test]
    fn sparse_places_stay_as_they_are() {
        let places = circle(30e-3, 5e-3);
        let found = stations(&places, STATION);
        assert_eq!(found.len(), places.len());
        assert!(found.iter().zip(&places).all(|(station, place)| station.at == *place));
    }

    #[test]
    fn a_gap_in_a_line_stays_empty() {
        let mut places = circle(1.0, 0.1e-3);
        places.retain(|p| !(p[0] > 0.1 && p[0] < 0.15));
        let found = stations(&places, STATION);
        assert!(found.iter().all(|station| !(station.at[0] > 0.1005 && station.at[0] < 0.1495)));
    }
}
