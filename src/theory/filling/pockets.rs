//! Air that is cut off: dry vertices that no path of dry ones joins to the outlet.

use super::cell::Cell;
use super::march::{Stage, State};
use crate::base::Point;
use crate::base::plane::between;
use crate::numerics::fem::Stiffness;
use std::collections::BTreeMap;

/// Fewest dry vertices of a pocket; smaller ones are below what the mesh tells.
const LEAST: usize = 7;

/// The pockets, each with its vertices ascending; those without an inner vertex, whose neighbours are all dry, are left out.
pub(super) fn trapped(cell: &Cell, stage: &Stage, matrix: &Stiffness, now: &State) -> Vec<Vec<u32>> {
    let n = now.wet.len();
    let dry = |v: usize| !now.wet[v] && !cell.source[v] && !stage.dead.get(v).is_some_and(|d| *d);
    let mut seen = vec![false; n];
    let mut found = Vec::new();
    for start in 0..n {
        if seen[start] || !dry(start) {
            continue;
        }
        seen[start] = true;
        let (mut component, mut next, mut open) = (vec![start as u32], 0, false);
        while next < component.len() {
            let v = component[next] as usize;
            next += 1;
            open |= cell.outlet[v];
            for &c in matrix.row(v).0 {
                if !seen[c as usize] && dry(c as usize) {
                    seen[c as usize] = true;
                    component.push(c);
                }
            }
        }
        let inner = |&v: &u32| matrix.row(v as usize).0.iter().all(|&c| dry(c as usize));
        if !open && component.len() >= LEAST && component.iter().any(inner) {
            component.sort_unstable();
            found.push(component);
        }
    }
    found
}

/// What is dry of some vertices: area m2, volume over the reference gap m2, centroid.
pub(super) fn dry_part(cell: &Cell, stage: &Stage, now: &State, vertices: &[u32]) -> (f64, f64, Point) {
    let (mut area, mut volume, mut first) = (0.0, 0.0, [0.0, 0.0]);
    for &v in vertices {
        let v = v as usize;
        let left = (stage.capacity[v] - now.content[v]).max(0.0);
        let part = cell.areas[v] * left / cell.finest()[v];
        area += part;
        volume += left;
        (0..2).for_each(|k| first[k] += part * cell.space.mesh.points[v][k]);
    }
    (area, volume, first.map(|x| if area > 0.0 { x / area } else { f64::NAN }))
}

/// A place of an outline: on a vertex, twice the same number, or where the front cuts a side of a triangle, the smaller number first.
type Stop = (u32, u32);

/// Outlines of a pocket, each closed without repeating its first place, the air on their left: the front, and what of solids the air touches.
/// `heights` are positive where wet, `vertices` those of the pocket.
pub(super) fn outlines(cell: &Cell, heights: &[f64], vertices: &[u32]) -> Vec<Vec<Point>> {
    let mesh = &cell.space.mesh;
    let mut own = vec![false; heights.len()];
    vertices.iter().for_each(|&v| own[v as usize] = true);
    let dry = |v: u32| heights[v as usize] <= 0.0;
    let cut = |a: u32, b: u32| (a.min(b), a.max(b));
    let mut next: BTreeMap<Stop, Stop> = BTreeMap::new();
    for t in mesh.triangles.iter().filter(|t| t.iter().any(|&v| own[v as usize])) {
        let side = |leaving: bool| {
            (0..3).map(|k| (t[k], t[(k + 1) % 3])).find(|&(a, b)| dry(a) == leaving && dry(b) != leaving)
        };
        if let (Some((a, b)), Some((c, d))) = (side(true), side(false)) {
            next.insert(cut(a, b), cut(c, d));
        }
    }
    for edge in &mesh.boundary {
        let [a, b] = edge.vertices;
        match (dry(a) && own[a as usize], dry(b) && own[b as usize]) {
            (true, true) => next.insert((a, a), (b, b)),
            (true, false) if !dry(b) => next.insert((a, a), cut(a, b)),
            (false, true) if !dry(a) => next.insert(cut(a, b), (b, b)),
            _ => None,
        };
    }
    let place = |(a, b): Stop| {
        let [p, q] = [a, b].map(|v| mesh.points[v as usize]);
        let [from, to] = [a, b].map(|v| heights[v as usize]);
        if a == b { p } else { between(p, q, from / (from - to)) }
    };
    let mut found = Vec::new();
    while let Some((&start, _)) = next.first_key_value() {
        let (mut outline, mut at) = (vec![place(start)], start);
        while let Some(to) = next.remove(&at) {
            if to == start {
                found.push(outline);
                break;
            }
            outline.push(place(to));
            at = to;
        }
    }
    found.retain(|outline| outline.len() > 2);
    found
}
