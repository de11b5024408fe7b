//! Air that is cut off: dry vertices that no path of dry ones joins to the outlet.

use super::cell::Cell;
use super::march::{Stage, State};
use crate::base::Point;
use crate::numerics::contour::region;
use crate::numerics::fem::Stiffness;

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

/// Outlines of a pocket, each closed without repeating its first place, the air on their left: the front, and what of solids the air touches.
/// `heights` are positive behind the front, `vertices` those of the pocket; no other air comes next to it.
pub(super) fn outlines(cell: &Cell, heights: &[f64], vertices: &[u32]) -> Vec<Vec<Point>> {
    let mesh = &cell.space.mesh;
    let mut depth: Vec<f64> = heights.iter().map(|height| -height.abs().max(f64::MIN_POSITIVE)).collect();
    let about = vertices.iter().flat_map(|&v| cell.space.stiffness().row(v as usize).0);
    about.for_each(|&v| depth[v as usize] = -heights[v as usize]);
    let outlines = region(mesh, &depth, 0.0).into_iter().map(|chain| chain.points(&mesh.points));
    outlines.filter(|outline| outline.len() > 2).collect()
}
