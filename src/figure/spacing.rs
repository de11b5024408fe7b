//! Lines of equal spacing (after Jobard & Lefer 1997, "Creating evenly-spaced streamlines of arbitrary density") taken from the
//! iso-lines of the stream function.
//!
//! A line starts where there is room and goes on both ways until it leaves the cell or comes close to its neighbours; so no line
//! ends in the middle of nowhere.

use super::contour::iso_lines;
use crate::Point;
use crate::mesh::{Locator, Mesh};
use std::collections::{BTreeMap, VecDeque};

/// A line ends where its neighbour is nearer than this part of the spacing.
pub const CLOSEST: f64 = 0.5;
/// Lines shorter than so many spacings are left out.
const SHORTEST: f64 = 6.0;
/// Most lines.
const MOST: usize = 2000;

/// Streamlines about `spacing` apart, each along the flow, m. `stream` is the stream function at the vertices.
pub fn evenly_spaced(mesh: &Mesh, locator: &Locator, stream: &[f64], spacing: f64) -> Vec<Vec<Point>> {
    let mut lines: Vec<Vec<Point>> = Vec::new();
    let mut near = Near { cell: spacing, places: BTreeMap::new() };
    let [low, high] = stream.iter().fold([f64::INFINITY, f64::NEG_INFINITY], |[a, b], &x| [a.min(x), b.max(x)]);
    if !(spacing > 0.0 && high > low) {
        return lines;
    }
    let free = mesh.wall_distance(4.0 * spacing);
    let middle = mesh.points.iter().fold([f64::INFINITY, f64::NEG_INFINITY], |[a, b], p| [a.min(p[1]), b.max(p[1])]);
    let mut candidates = VecDeque::from([[1e-6 * spacing, 0.5 * (middle[0] + middle[1])]]);
    while let (Some(candidate), true) = (candidates.pop_front(), lines.len() < MOST) {
        let Some((t, w)) = locator.find(candidate, None) else { continue };
        if near.distance(candidate) < spacing * (1.0 - 1e-6) {
            continue;
        }
        let corners = mesh.triangles[t as usize];
        let off_solids = (0..3).map(|i| w[i] * free[corners[i] as usize].min(4.0 * spacing)).sum::<f64>();
        if off_solids < CLOSEST * spacing {
            continue;
        }
        let level = (0..3).map(|i| w[i] * stream[corners[i] as usize]).sum::<f64>();
        let Some(line) = line_through(mesh, stream, level, candidate, &near, spacing) else { continue };
        let places = walked(&line, 0.25 * spacing);
        for pair in places.windows(2) {
            let [d, p] = [[pair[1][0] - pair[0][0], pair[1][1] - pair[0][1]], pair[0]];
            let norm = d[0].hypot(d[1]);
            if norm > 0.0 {
                let n = [-d[1] / norm * spacing, d[0] / norm * spacing];
                candidates.extend([[p[0] + n[0], p[1] + n[1]], [p[0] - n[0], p[1] - n[1]]]);
            }
        }
        places.into_iter().for_each(|p| near.add(p));
        lines.push(line);
    }
    lines
}

/// The part of an iso-line through a place that keeps away from the lines there are; none if it would be short.
fn line_through(mesh: &Mesh, stream: &[f64], level: f64, from: Point, near: &Near, spacing: f64) -> Option<Vec<Point>> {
    let away = |p: &Point| (p[0] - from[0]).hypot(p[1] - from[1]);
    let chains = iso_lines(mesh, stream, level);
    let lines = chains.iter().filter(|c| !c.closed).map(|c| walked(&c.points(&mesh.points), 0.25 * spacing));
    let line = lines.min_by(|a, b| {
        let least = |line: &[Point]| line.iter().map(away).fold(f64::INFINITY, f64::min);
        least(a).total_cmp(&least(b))
    })?;
    let start = (0..line.len()).min_by(|&i, &j| away(&line[i]).total_cmp(&away(&line[j])))?;
    let free = |k: &usize| near.distance(line[*k]) >= CLOSEST * spacing;
    let last = (start..line.len()).find(|k| !free(k)).unwrap_or(line.len() - 1);
    let first = (0..=start).rev().find(|k| !free(k)).unwrap_or(0);
    let line = &line[first..=last];
    let length: f64 = line.windows(2).map(|w| (w[1][0] - w[0][0]).hypot(w[1][1] - w[0][1])).sum();
    (length >= SHORTEST * spacing).then(|| line.to_vec())
}

/// A line with places at most so far apart added.
fn walked(line: &[Point], apart: f64) -> Vec<Point> {
    let mut places = Vec::new();
    for pair in line.windows(2) {
        let d = [pair[1][0] - pair[0][0], pair[1][1] - pair[0][1]];
        let parts = (d[0].hypot(d[1]) / apart).ceil().clamp(1.0, 1e4) as usize;
        places.extend((0..parts).map(|k| {
            let s = k as f64 / parts as f64;
            [pair[0][0] + s * d[0], pair[0][1] + s * d[1]]
        }));
    }
    places.extend(line.last());
    places
}

/// Places by the squares of a grid.
struct Near {
    cell: f64,
    places: BTreeMap<[i64; 2], Vec<Point>>,
}

impl Near {
    fn key(&self, p: Point) -> [i64; 2] {
        p.map(|x| (x / self.cell).floor() as i64)
    }

    fn add(&mut self, p: Point) {
        self.places.entry(self.key(p)).or_default().push(p);
    }

    /// Distance to the nearest place, as far as one square; infinite beyond.
    fn distance(&self, p: Point) -> f64 {
        let [i, j] = self.key(p);
        let squares = (-1..=1).flat_map(|a| (-1..=1).map(move |b| [i + a, j + b]));
        let places = squares.filter_map(|key| self.places.get(&key)).flatten();
        places.map(|q| (p[0] - q[0]).hypot(p[1] - q[1])).fold(f64::INFINITY, f64::min)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every line ends at an end of the cell or within half a spacing (and the distance of its own places, a quarter) of another.
    #[test]
    fn no_line_ends_in_the_middle_of_nowhere() {
        let (case, plan) = crate::study::read("meshes/two_piers.toml".as_ref()).unwrap();
        let goal = Some(crate::ideal::Goal::Triangles(6000));
        let settings = crate::study::Settings { goal, ..Default::default() };
        let study = crate::study::Study::solve(case, plan, settings, &|_| {}).unwrap();
        let (mesh, length) = (&study.solved.space.mesh, study.case.cell.length);
        let spacing = 0.03 * study.case.cell.width;
        let lines = evenly_spaced(mesh, &Locator::new(mesh), &study.pattern.stream_function, spacing);
        assert!(lines.len() > 25, "{}", lines.len());
        for (k, line) in lines.iter().enumerate() {
            for end in [line[0], line[line.len() - 1]] {
                let others = lines.iter().enumerate().filter(|(j, _)| *j != k).flat_map(|(_, l)| l);
                let gap = others.map(|q| (q[0] - end[0]).hypot(q[1] - end[1])).fold(f64::INFINITY, f64::min);
                let leaves = end[0] < 1e-9 || end[0] > length - 1e-9;
                assert!(leaves || gap < 0.75 * spacing, "line {k} ends at {end:?}, {gap} from the next");
            }
            assert!(line[0][0] < line[line.len() - 1][0], "lines run along the flow");
        }
    }
}
