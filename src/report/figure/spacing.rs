//! Lines of equal spacing (after Jobard & Lefer 1997, "Creating evenly-spaced streamlines of arbitrary density") taken from the
//! iso-lines of the stream function.
//!
//! A line starts where there is room and goes on both ways until it leaves the cell or comes close to its neighbours; so no line
//! ends in the middle of nowhere.

use crate::base::Point;
use crate::base::plane;
use crate::geometry::Side;
use crate::numerics::contour::iso_lines;
use crate::numerics::mesh::{Locator, Mesh};
use std::collections::{BTreeMap, VecDeque};

/// A line ends where its neighbour is nearer than this part of the spacing.
pub const CLOSEST: f64 = 0.4;
/// It goes on past a neighbour nearer than that if it is out of it again within so many spacings, as beside an obstacle,
const PASSING: f64 = 5.0;
/// and nowhere nearer than this part of the spacing.
const NEAREST: f64 = 0.15;
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
    let Some(inlet) = mesh.plan.end(Side::Inlet) else { return lines };
    let mut candidates = VecDeque::from([plane::stepped(inlet.middle(), -1e-6 * spacing, inlet.outwards)]);
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
            let norm = plane::length(d);
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
    let away = |p: &Point| plane::distance(*p, from);
    let chains = iso_lines(mesh, stream, level);
    let lines = chains.iter().filter(|c| !c.closed).map(|c| walked(&c.points(&mesh.points), 0.25 * spacing));
    let line = lines.min_by(|a, b| {
        let least = |line: &[Point]| line.iter().map(away).fold(f64::INFINITY, f64::min);
        least(a).total_cmp(&least(b))
    })?;
    let start = (0..line.len()).min_by(|&i, &j| away(&line[i]).total_cmp(&away(&line[j])))?;
    let last = start + reach(line[start..].iter(), near, spacing);
    let first = start - reach(line[..=start].iter().rev(), near, spacing);
    let line = &line[first..=last];
    let length: f64 = line.windows(2).map(|w| plane::distance(w[0], w[1])).sum();
    (length >= SHORTEST * spacing).then(|| line.to_vec())
}

/// How many places a line may go on from the first of them.
fn reach<'a>(places: impl Iterator<Item = &'a Point>, near: &Near, spacing: f64) -> usize {
    let (mut last, mut before): (usize, Option<&Point>) = (0, None);
    let mut tight: Option<(usize, f64)> = None;
    for (k, p) in places.enumerate() {
        let step = before.map_or(0.0, |q| plane::distance(*p, *q));
        let distance = near.distance(*p);
        tight = (distance < CLOSEST * spacing).then(|| tight.map_or((k, 0.0), |(from, way)| (from, way + step)));
        match tight {
            Some((from, way)) if way > PASSING * spacing || distance < NEAREST * spacing => return from,
            _ => (last, before) = (k, Some(p)),
        }
    }
    last
}

/// A line with places at most so far apart added.
fn walked(line: &[Point], apart: f64) -> Vec<Point> {
    let mut places = Vec::new();
    for pair in line.windows(2) {
        let d = [pair[1][0] - pair[0][0], pair[1][1] - pair[0][1]];
        let parts = (plane::length(d) / apart).ceil().clamp(1.0, 1e4) as usize;
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
        places.map(|q| plane::distance(p, *q)).fold(f64::INFINITY, f64::min)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::study::{Settings, Study, read};

    /// A solved demo with its lines a part of its width apart.
    fn drawn(name: &str, part: f64) -> (Study, f64, Vec<Vec<Point>>) {
        let (case, plan) = read(format!("meshes/{name}.toml").as_ref()).unwrap();
        let goal = Some(crate::theory::ideal::Goal::Triangles(6000));
        let study = Study::solve(case, plan, Settings { goal, ..Settings::default() }, &|_| {}).unwrap();
        let mesh = &study.solved.space.mesh;
        let spacing = part * study.case.cell.inlet_width();
        let lines = evenly_spaced(mesh, &Locator::new(mesh), &study.pattern.stream_function, spacing);
        (study, spacing, lines)
    }

    fn apart(p: Point, q: Point) -> f64 {
        plane::distance(p, q)
    }

    /// The way on from an end of a line, along its iso-line away from the line; nothing at an end of the iso-line.
    fn way_on(study: &Study, line: &[Point], end: Point, spacing: f64) -> Vec<Point> {
        let mesh = &study.solved.space.mesh;
        let stream = &study.pattern.stream_function;
        let (t, w) = Locator::new(mesh).find(line[line.len() / 2], None).unwrap();
        let level = (0..3).map(|i| w[i] * stream[mesh.triangles[t as usize][i] as usize]).sum::<f64>();
        let inner = line[line.len() / 2];
        let nearest = |chain: &[Point], p: Point| {
            (0..chain.len()).min_by(|&i, &j| apart(chain[i], p).total_cmp(&apart(chain[j], p))).unwrap()
        };
        let chains = iso_lines(mesh, stream, level);
        let chains = chains.iter().filter(|c| !c.closed).map(|c| walked(&c.points(&mesh.points), 0.02 * spacing));
        let chain =
            chains.min_by(|a, b| apart(a[nearest(a, inner)], inner).total_cmp(&apart(b[nearest(b, inner)], inner)));
        let chain = chain.unwrap();
        let (k, middle) = (nearest(&chain, end), nearest(&chain, inner));
        if middle < k { chain[k..].to_vec() } else { chain[..=k].iter().rev().copied().collect() }
    }

    /// Every line is long and ends at an end of the cell, at a solid (a stagnation point), or within [`CLOSEST`] of a spacing of another
    /// line that it would not get clear of: along the way on it comes nearer than [`NEAREST`], or stays within for [`PASSING`] spacings. Places
    /// of lines are a quarter of a spacing apart and the way on is found again on the mesh, in steps of a fiftieth.
    #[test]
    fn no_line_ends_in_the_middle_of_nowhere() {
        for (name, part, least) in
            [("two_piers", 0.03, 30), ("seal", 0.03, 30), ("seal", 0.06, 14), ("wall_pier", 0.05, 18)]
        {
            let (study, spacing, lines) = drawn(name, part);
            let (mesh, length) = (&study.solved.space.mesh, study.case.cell.mean_way());
            let solid: Vec<Point> = mesh
                .boundary
                .iter()
                .filter(|e| matches!(mesh.side(e), crate::geometry::Side::Obstacle(_)))
                .map(|e| mesh.points[e.vertices[0] as usize])
                .collect();
            assert!(lines.len() >= least, "{name}: {}", lines.len());
            for (k, line) in lines.iter().enumerate() {
                let long: f64 = line.windows(2).map(|w| apart(w[0], w[1])).sum();
                assert!(long >= SHORTEST * spacing && line[0][0] < line[line.len() - 1][0], "{name}: line {k}");
                let gap = |p: Point| {
                    let others = lines.iter().enumerate().filter(|(j, _)| *j != k).flat_map(|(_, l)| l);
                    others.map(|q| apart(*q, p)).fold(f64::INFINITY, f64::min) / spacing
                };
                for end in [line[0], line[line.len() - 1]] {
                    let stagnates = solid.iter().any(|q| apart(*q, end) < 0.1 * spacing);
                    if end[0] < 1e-9 || end[0] > length - 1e-9 || stagnates {
                        continue;
                    }
                    assert!(
                        gap(end) < CLOSEST,
                        "{name}: line {k} ends at {end:?}, {} spacings from the next",
                        gap(end)
                    );
                    let mut way = 0.0;
                    let on = way_on(&study, line, end, spacing);
                    let blocked = on.windows(2).find_map(|w| {
                        way += apart(w[0], w[1]) / spacing;
                        match gap(w[1]) {
                            d if d < NEAREST + 0.02 || way > PASSING - 0.5 => Some(true),
                            d if d > CLOSEST + 0.03 => Some(false),
                            _ => None,
                        }
                    });
                    assert_eq!(blocked, Some(true), "{name}: line {k} could go on from {end:?}");
                }
            }
        }
    }

    /// No hole: from any vertex a spacing off the solids the next line is nearer than twice the spacing.
    #[test]
    fn lines_fill_the_fluid() {
        for (name, part) in [("two_piers", 0.04), ("seal", 0.04)] {
            let (study, spacing, lines) = drawn(name, part);
            let mesh = &study.solved.space.mesh;
            let off = mesh.wall_distance(2.0 * spacing);
            for (p, _) in mesh.points.iter().zip(off).filter(|(_, d)| *d > spacing) {
                let gap = lines.iter().flatten().map(|q| apart(*q, *p)).fold(f64::INFINITY, f64::min) / spacing;
                assert!(gap < 2.0, "{name}: {gap} spacings from {p:?}");
            }
        }
    }

    /// A pier of radius 40 mm narrows the flow over less than five spacings of 10 mm: lines pass it and all end at the ends of the cell.
    #[test]
    fn a_short_narrowing_ends_no_line() {
        let (study, _, lines) = drawn("wall_pier", 0.05);
        let length = study.case.cell.mean_way();
        let ends = lines.iter().flat_map(|line| [line[0], line[line.len() - 1]]);
        let inner: Vec<Point> = ends.filter(|end| end[0] > 1e-9 && end[0] < length - 1e-9).collect();
        assert!(inner.is_empty(), "{inner:?}");
    }
}
