//! When a front that is known as lines comes to the vertices of a mesh.

use crate::base::Point;
use crate::base::plane::{self, Segment, distance, distance_to_segment, inside, orientation};
use crate::geometry::Side;
use crate::numerics::fem::Space;
use crate::theory::meniscus::Front;
use rayon::prelude::*;

/// Fronts are drawn longer at their ends by this part of their last edge, so that no way leads past them along a wall.
const LONGER: f64 = 0.75;

/// Time of arrival at each vertex, s; not a number in air that stays. Wet is what can be reached from the inlet along sides of triangles
/// that the front of a moment does not cross; between two moments the time goes by the distances from both fronts. What is
/// dry at the last moment is reached from its front at `speed`, m/s.
pub(super) fn arrivals(space: &Space, front: &Front, speed: f64) -> Vec<f64> {
    let mesh = &space.mesh;
    let points = &mesh.points;
    let stiffness = space.stiffness();
    let held: Vec<bool> =
        points.iter().map(|&p| front.pockets.iter().any(|pocket| inside(&pocket.polygon, p))).collect();
    let mut arrival = vec![f64::NAN; points.len()];
    let inlet: Vec<usize> = space
        .vertices_where(|side| side == Side::Inlet)
        .into_iter()
        .map(|v| v as usize)
        .filter(|&v| !held[v])
        .collect();
    inlet.iter().for_each(|&v| arrival[v] = 0.0);
    let mut before: Option<(f64, Line)> = None;
    for moment in &front.moments {
        let line = Line::new(moment.fronts.iter().flat_map(|line| longer(line)).collect());
        // anew from the inlet: where fronts have just met the line may draw back elsewhere
        let mut wet = held.clone();
        inlet.iter().for_each(|&v| wet[v] = true);
        let mut queue = inlet.clone();
        let mut reached = Vec::new();
        while let Some(v) = queue.pop() {
            for &w in stiffness.row(v).0 {
                let w = w as usize;
                if !wet[w] && !line.is_crossed([points[v], points[w]]) {
                    wet[w] = true;
                    queue.push(w);
                    reached.extend(arrival[w].is_nan().then_some(w));
                }
            }
        }
        let start = before.as_ref().map_or(0.0, |(time, _)| *time);
        let times = reached.par_iter().map(|&v| {
            let from = before.as_ref().map_or(points[v][0], |(_, old)| old.distance(points[v]));
            let to = line.distance(points[v]);
            let part = if from + to > 0.0 { from / (from + to) } else { 1.0 };
            start + part * (moment.time - start)
        });
        let times: Vec<f64> = times.collect();
        reached.iter().zip(times).for_each(|(&v, time)| arrival[v] = time);
        before = Some((moment.time, line));
    }
    if let Some((time, last)) = before {
        for v in 0..points.len() {
            if arrival[v].is_nan() && !held[v] {
                let away = last.distance(points[v]);
                // at the rim of held air lines of the front stand so close that no way leads between them: it got wet as the air was closed off
                let closed = closed_beside(front, points[v], away + space.side_at(v));
                arrival[v] = closed.unwrap_or(time + away / speed);
            }
        }
    }
    arrival
}

/// When the air was closed off that comes within a distance of a place, s; of several the nearest.
fn closed_beside(front: &Front, p: Point, within: f64) -> Option<f64> {
    let off = |rim: &[Point]| {
        let sides = (0..rim.len()).map(|k| [rim[k], rim[(k + 1) % rim.len()]]);
        sides.map(|side| distance_to_segment(p, side)).fold(f64::INFINITY, f64::min)
    };
    let all = front.pockets.iter().map(|pocket| (off(&pocket.polygon), pocket.time));
    all.filter(|(off, _)| *off <= within).min_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, time)| time)
}

/// The segments of a front, its ends drawn longer.
fn longer(line: &[Point]) -> Vec<Segment> {
    let mut places = line.to_vec();
    if let [first, second, ..] = *line
        && line.first() != line.last()
        && let [.., last, end] = *line
    {
        places.insert(0, plane::stepped(first, LONGER, plane::way(second, first)));
        places.push(plane::stepped(end, LONGER, plane::way(last, end)));
    }
    places.windows(2).map(|pair| [pair[0], pair[1]]).collect()
}

/// The segments of all fronts of a moment, by the x of their middles.
struct Line {
    segments: Vec<Segment>,
    longest: f64,
}

impl Line {
    fn new(mut segments: Vec<Segment>) -> Line {
        segments.sort_by(|a, b| middle_x(a).total_cmp(&middle_x(b)));
        let longest = segments.iter().map(|&[a, b]| distance(a, b)).fold(0.0, f64::max);
        Line { segments, longest }
    }

    /// Whether it is crossed on the way along a side. A place exactly on the line counts as one on its right, so that no way leads through
    /// its corners.
    fn is_crossed(&self, side: Segment) -> bool {
        let reach = 0.5 * (distance(side[0], side[1]) + self.longest);
        let x = middle_x(&side);
        let first = self.segments.partition_point(|segment| middle_x(segment) < x - reach);
        let near = self.segments[first..].iter().take_while(|segment| middle_x(segment) <= x + reach);
        let parts = |[a, b]: Segment, s: Segment| (orientation(a, b, s[0]) > 0.0) != (orientation(a, b, s[1]) > 0.0);
        near.filter(|&&segment| parts(side, segment) && parts(segment, side)).count() % 2 == 1
    }

    fn distance(&self, p: Point) -> f64 {
        self.segments.iter().map(|&segment| distance_to_segment(p, segment)).fold(f64::INFINITY, f64::min)
    }
}

fn middle_x([a, b]: &Segment) -> f64 {
    0.5 * (a[0] + b[0])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::{Plan, Side, Wall};
    use crate::input::case::Gap;
    use crate::numerics::mesh::{Mesh, SizeField};
    use crate::theory::meniscus::{Books, Ended, Moment, Pocket};
    use std::sync::Arc;

    fn straight(x: f64) -> Vec<Point> {
        // liquid on the left of a front that runs downwards
        (0..=10).map(|k| [x, 1.0 - 0.1 * f64::from(k)]).collect()
    }

    fn channel() -> Space {
        let sides = [Side::Wall(Wall::Lower), Side::Outlet, Side::Wall(Wall::Upper), Side::Inlet];
        // a wall across two thirds of the channel, so thin that places behind it are nearer to fronts before it
        let hole = vec![[0.95, 0.3], [0.96, 0.3], [0.96, 0.95], [0.95, 0.95]];
        let plan = Plan::polygon(&[[0.0, 0.0], [2.0, 0.0], [2.0, 1.0], [0.0, 1.0]], &sides, &[hole]).unwrap();
        let mesh = Mesh::generate(&Arc::new(plan), &SizeField::new(0.05, 0.3, vec![]), 20_000).unwrap();
        Space::new(Arc::new(mesh), &Gap::Uniform(0.01), 0.01)
    }

    fn front(at: &[f64], pockets: Vec<Pocket>) -> Front {
        let moment = |&x: &f64| Moment {
            time: x,
            wet_area: x,
            fronts: vec![straight(x)],
            inlet_pressure: x,
            conductance: 1.0 / x,
            pockets: 0,
        };
        Front {
            moments: at.iter().map(moment).collect(),
            pockets,
            books: Books::default(),
            steps: 0,
            solves: 0,
            ended: Ended::Outlet,
            unseen: [0.0; 2],
        }
    }

    /// Straight fronts that pass x at the time x: so do the times, exactly, for both distances are those along x; beyond the last
    /// front at the speed given.
    #[test]
    fn straight_fronts_arrive_when_they_pass() {
        let space = channel();
        let times = arrivals(&space, &front(&[0.2, 0.5, 0.9, 1.3, 1.8], Vec::new()), 1.0);
        for (p, t) in space.mesh.points.iter().zip(&times) {
            assert!((t - p[0]).abs() < 1e-9, "{p:?} {t}");
        }
    }

    /// No time in air that stays; all round it there is one.
    #[test]
    fn air_that_stays_has_no_time() {
        let square = vec![[1.2, 0.4], [1.5, 0.4], [1.5, 0.6], [1.2, 0.6]];
        let pocket = Pocket {
            polygon: square,
            place: [1.35, 0.5],
            area: 0.06,
            time: 1.4,
            closed_at: [1.5, 0.5],
            obstacles: vec![],
            on_wall: false,
        };
        let space = channel();
        let times = arrivals(&space, &front(&[0.2, 0.5, 0.9, 1.3, 1.8], vec![pocket]), 1.0);
        for (p, t) in space.mesh.points.iter().zip(&times) {
            let held = p[0] > 1.2 && p[0] < 1.5 && p[1] > 0.4 && p[1] < 0.6;
            assert!(!held || t.is_nan(), "{p:?} {t}");
            let clear = p[0] < 1.19 || p[0] > 1.51 || p[1] < 0.39 || p[1] > 0.61;
            assert!(!clear || t.is_finite(), "{p:?} {t}");
        }
    }
}
