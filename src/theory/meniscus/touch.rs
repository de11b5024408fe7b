//! Fronts that touch: a dry side, each other, or with their ends on one side; and the air that this closes in.
//!
//! A point of a front that is nearer than 0.05 h to what stands ahead touches it. Where it meets a side, the front is cut there and both
//! parts end on that side; where fronts meet, their parts are joined crosswise; ends that meet on a side join their fronts. Then the ways
//! round air are walked again: one that does not pass the outlet is a pocket.

use super::ahead::{Gap, Of, gaps};
use super::line::Line;
use super::sides::{Place, Sides};
use super::state::{Bare, Part, State};
use crate::base::plane::{distance, distance_to_segment, dot, inside, left, polygon_area};
use crate::base::{Error, Point, Result};
use crate::geometry::Side;

/// Gap at which a front touches, over h.
pub(super) const TOUCH: f64 = 0.05;
/// Way between ends on a side at which they meet, over h.
pub(super) const MEET: f64 = 0.1;
/// Half of what becomes wet of a side that is touched, over h.
const LANDING: f64 = 0.25;
/// Width to which the cleft between fronts that have joined is filled at once, over h.
const CLEFT: f64 = 0.5;
/// Pockets need this thickness (twice the area over the length round) over h and this area over h².
pub(super) const LEAST: [f64; 2] = [0.25, 0.3];

/// Air that was closed in.
#[derive(Debug, Clone)]
pub(super) struct Closed {
    /// Its outline.
    pub polygon: Vec<Point>,
    /// Its area without what stands in it.
    pub area: f64,
    /// Where it was closed.
    pub at: Point,
    /// Obstacles it touches.
    pub obstacles: Vec<u32>,
    /// Whether it touches a side wall.
    pub on_wall: bool,
}

/// What touching brought.
#[derive(Debug, Clone, Default)]
pub(super) struct Touched {
    /// Pockets.
    pub pockets: Vec<Closed>,
    /// Area of air too small for a pocket.
    pub lost: f64,
    /// How many touches there were.
    pub count: usize,
}

/// Lets touch all that does.
///
/// # Errors
/// [`Error::Failed`] if the ends of fronts get into an order that no filling has.
pub(super) fn settle(state: &mut State, sides: &Sides, h: f64) -> Result<Touched> {
    let mut touched = Touched::default();
    let most = 100 + 4 * state.lines.iter().map(|line| line.nodes.len()).sum::<usize>();
    for _ in 0..most {
        let kinks;
        let at;
        if let Some((first, second)) = meeting(state, sides, h)? {
            at = state.lines[first].nodes[0];
            kinks = join(state, sides, first, second);
        } else if let Some((line, node, gap)) = touching(state, sides, h)? {
            at = state.lines[line].nodes[node];
            kinks = match gap.of {
                Of::Side { on, from, length } => {
                    land(state, sides, [line, node], Place { on, at: from + gap.fraction * length }, h)?;
                    vec![]
                }
                Of::Line { line: other, node: start } => cross(state, sides, [line, node], [other, start]),
            };
        } else {
            return Ok(touched);
        }
        touched.count += 1;
        close(state, sides, h, at, &mut touched)?;
        for point in kinks {
            fill_cleft(state, sides, point, h);
        }
    }
    Err(Error::failed(format!("fronts touch more than {most} times at once"), "try another size of the front's edges"))
}

/// Two fronts whose ends meet on one dry side: the first starts there and the second ends there.
fn meeting(state: &State, sides: &Sides, h: f64) -> Result<Option<(usize, usize)>> {
    for parts in state.ways(sides, false)? {
        for (k, part) in parts.iter().enumerate() {
            if let (&Part::Line(first), Part::Side { on, from, to }) =
                (&parts[(k + parts.len() - 1) % parts.len()], *part)
                && let Part::Line(second) = parts[(k + 1) % parts.len()]
                && first != second
                && !state.lines[first].frozen
                && sides.outlines[on].way(from, to) < MEET * h
            {
                return Ok(Some((first, second)));
            }
        }
    }
    Ok(None)
}

/// The point that is nearest to what it touches.
fn touching(state: &State, sides: &Sides, h: f64) -> Result<Option<(usize, usize, Gap)>> {
    let mut found: Option<(usize, usize, Gap)> = None;
    for (line, gaps) in gaps(state, sides, 0.6 * h)?.iter().enumerate() {
        for (node, gap) in gaps.iter().enumerate() {
            if let Some(gap) = gap
                && gap.distance < TOUCH * h
                && found.is_none_or(|(_, _, least)| gap.distance < least.distance)
            {
                found = Some((line, node, *gap));
            }
        }
    }
    Ok(found)
}

/// Takes out fronts and puts others in their place; returns nothing, for indices change.
fn replace(state: &mut State, mut out: Vec<usize>, new: Vec<Line>) {
    out.sort_unstable();
    out.dedup();
    for k in out.into_iter().rev() {
        state.lines.remove(k);
    }
    state.lines.extend(new);
}

/// Joins a front that starts where another ends.
fn join(state: &mut State, sides: &Sides, first: usize, second: usize) -> Vec<Point> {
    let (f, g) = (state.lines[first].clone(), state.lines[second].clone());
    let (Some(of_f), Some(of_g)) = (f.ends, g.ends) else { return vec![] };
    let mut nodes = g.nodes[..g.nodes.len() - 1].to_vec();
    let kink = nodes[nodes.len() - 1];
    nodes.extend(&f.nodes[1..]);
    replace(state, vec![first, second], vec![Line::between(sides, nodes, [of_g[0], of_f[1]])]);
    let outline = of_f[0].on;
    if !state.lines.iter().filter_map(|line| line.ends).flatten().any(|place| place.on == outline) {
        state.bare[outline] = Bare::Wet;
    }
    vec![kink]
}

/// Cuts a front at a point and ends both parts on the side it has touched.
fn land(state: &mut State, sides: &Sides, [line, node]: [usize; 2], place: Place, h: f64) -> Result<()> {
    let front = state.lines[line].clone();
    let outline = &sides.outlines[place.on];
    let at = outline.wrapped(place.at);
    let normal = front.normal(node);
    // room on the dry side, so that no end is passed
    let mut room = [outline.whole() / 3.0; 2];
    for other in state.lines.iter().filter_map(|line| line.ends).flatten().filter(|other| other.on == place.on) {
        room[0] = room[0].min(0.4 * outline.way(other.at, at));
        room[1] = room[1].min(0.4 * outline.way(at, other.at));
    }
    let corner = (0..outline.points.len())
        .find(|&k| outline.sharp[k] && outline.way(at, outline.at[k]).min(outline.way(outline.at[k], at)) < 1e-6 * h);
    let step = |k: usize, factor: f64| (factor * LANDING * h).min(room[k]);
    let (low, high) = match corner {
        Some(k) => {
            let at = outline.at[k];
            let facing = |forward: bool| dot(left(outline.tangent(at, forward, 0.0)), normal);
            if facing(true) < facing(false) {
                (at, outline.moved(at, step(1, 2.0), true))
            } else {
                (outline.moved(at, step(0, 2.0), false), at)
            }
        }
        None => (outline.moved(at, step(0, 1.0), false), outline.moved(at, step(1, 1.0), true)),
    };
    let Some(ends) = front.ends else { return Err(lost_end()) };
    let put = |at: f64| Place { at, ..place };
    let mut before = front.nodes[..node].to_vec();
    before.push(front.nodes[node]);
    let after = front.nodes[node..].to_vec();
    let new =
        vec![Line::between(sides, before, [ends[0], put(low)]), Line::between(sides, after, [put(high), ends[1]])];
    replace(state, vec![line], new);
    Ok(())
}

/// Joins two parts of fronts that face each other crosswise.
fn cross(state: &mut State, sides: &Sides, [line, node]: [usize; 2], [other, start]: [usize; 2]) -> Vec<Point> {
    let f = state.lines[line].clone();
    let Some(of_f) = f.ends else { return vec![] };
    let mut kinks = Vec::new();
    let mut new = Vec::new();
    let mut bridge = |left: &[Point], right: &[Point], ends: Option<[Place; 2]>| {
        let mut nodes = left.to_vec();
        nodes.extend(right);
        kinks.extend(left.last());
        match ends {
            Some(ends) => new.push(Line::between(sides, nodes, ends)),
            None => new.push(Line { nodes, ends: None, frozen: false }),
        }
    };
    if line != other {
        let g = state.lines[other].clone();
        let Some(of_g) = g.ends else { return vec![] };
        bridge(&f.nodes[..node], &g.nodes[start + 1..], Some([of_f[0], of_g[1]]));
        bridge(&g.nodes[..=start], &f.nodes[node + 1..], Some([of_g[0], of_f[1]]));
    } else if start > node {
        bridge(&f.nodes[..node], &f.nodes[start + 1..], Some(of_f));
        bridge(&f.nodes[node + 1..=start], &[], None);
    } else {
        bridge(&f.nodes[..=start], &f.nodes[node + 1..], Some(of_f));
        bridge(&f.nodes[start + 1..node], &[], None);
    }
    replace(state, vec![line, other], new);
    kinks
}

/// Keeps pockets and takes air that is too small as liquid.
fn close(state: &mut State, sides: &Sides, h: f64, at: Point, touched: &mut Touched) -> Result<()> {
    let mut gone = Vec::new();
    for parts in state.ways(sides, false)? {
        let lines: Vec<usize> =
            parts.iter().filter_map(|part| if let Part::Line(k) = part { Some(*k) } else { None }).collect();
        if state.is_open(sides, &parts) || lines.iter().any(|&k| state.lines[k].frozen) {
            continue;
        }
        let polygon = state.polygon(sides, &parts, false);
        let mut area = polygon_area(&polygon);
        let inner: Vec<usize> = state
            .bare(sides)
            .into_iter()
            .filter(|(k, bare)| *bare == Bare::Dry && inside(&polygon, sides.outlines[*k].points[0]))
            .map(|(k, _)| k)
            .collect();
        area += inner.iter().map(|&k| polygon_area(&sides.outlines[k].points)).sum::<f64>();
        let round: f64 = (0..polygon.len()).map(|k| distance(polygon[k], polygon[(k + 1) % polygon.len()])).sum();
        let [thickness, least] = LEAST;
        if 2.0 * area > thickness * h * round && area > least * h * h {
            lines.iter().for_each(|&k| state.lines[k].frozen = true);
            inner.iter().for_each(|&k| state.bare[k] = Bare::Trapped);
            let (mut obstacles, mut on_wall) = (Vec::new(), false);
            let mut note = |side: Side| match side {
                Side::Obstacle(k) => obstacles.push(k),
                Side::Wall(_) => on_wall = true,
                Side::Inlet | Side::Outlet => {}
            };
            for part in &parts {
                if let Part::Side { on, from, to } = *part {
                    sides.outlines[on].sides(from, to).for_each(&mut note);
                }
            }
            inner.iter().for_each(|&k| note(sides.outlines[k].chords[0].side));
            obstacles.sort_unstable();
            obstacles.dedup();
            touched.pockets.push(Closed { polygon, area, at, obstacles, on_wall });
        } else {
            touched.lost += area;
            inner.iter().for_each(|&k| state.bare[k] = Bare::Wet);
            gone.extend(lines);
        }
    }
    let outlines: Vec<usize> =
        gone.iter().filter_map(|&k| state.lines[k].ends).flatten().map(|place| place.on).collect();
    replace(state, gone, vec![]);
    let bare = state.bare(sides);
    for outline in outlines {
        if bare.iter().any(|&(k, _)| k == outline) {
            state.bare[outline] = Bare::Wet;
        }
    }
    Ok(())
}

/// Fills the cleft behind a point at which two fronts were joined, if the front that has it still moves.
fn fill_cleft(state: &mut State, sides: &Sides, point: Point, h: f64) {
    for line in state.lines.iter_mut().filter(|line| !line.frozen) {
        let Some(k) = line.nodes.iter().position(|&p| p == point) else { continue };
        let (mut before, mut after) = (line.nodes[..=k].to_vec(), line.nodes[k + 1..].to_vec());
        // two points at least stay on each side, which may lie at different distances: of the two at the tip the one further back goes
        while let (&[.., b, a], &[c, d, ..]) = (before.as_slice(), after.as_slice()) {
            let [tip, low, high] = [distance(a, c), distance(b, c), distance(a, d)];
            let width = distance_to_segment(a, [c, d]).min(distance_to_segment(c, [a, b]));
            if width >= CLEFT * h && tip <= low.min(high) {
                break;
            } else if low < high {
                before.pop();
            } else {
                after.remove(0);
            }
        }
        before.extend(after);
        if let Some(ends) = line.ends
            && before.len() > 1
        {
            *line = Line::between(sides, before, ends);
        }
        return;
    }
}

fn lost_end() -> Error {
    Error::failed("a closed front has touched a side", "try another size of the front's edges")
}
