//! The mesh of the wet region, made anew each step: fine at fronts, coarser along sides away from them.

use super::sides::{Outline, Sides};
use super::state::{Bare, Part, State};
use crate::base::{Point, Result};
use crate::numerics::fem::{Entry, element_stiffness};
use crate::numerics::mesh::region::{Region, fill};

/// Growth of edges away from ends of fronts, over the way.
const GROWTH: f64 = 0.25;
/// Largest triangle, over the square of the longest edge on sides.
const LARGEST: f64 = 2.0;
/// Most points inside.
const MOST: usize = 200_000;

/// The wet region.
#[derive(Debug)]
pub(super) struct Wet {
    /// Its mesh.
    pub region: Region,
    /// The vertex of every point of every front.
    pub vertices: Vec<Vec<u32>>,
    /// Edges of the inlet.
    pub inlet: Vec<[u32; 2]>,
    /// Stiffness of linear elements, by vertices.
    pub stiffness: Vec<Entry>,
}

impl Wet {
    /// Meshes the liquid of a state; h is the length of the fronts' edges.
    ///
    /// # Errors
    /// [`crate::base::Error::Mesh`] where outlines cross; as [`State::ways`].
    pub fn new(state: &State, sides: &Sides, h: f64) -> Result<Self> {
        let mut loops: Vec<Vec<Point>> = Vec::new();
        let mut vertices: Vec<Vec<u32>> = state.lines.iter().map(|_| Vec::new()).collect();
        let mut inlet = Vec::new();
        let mut count = 0;
        for parts in state.ways(sides, true)? {
            let mut corners: Vec<Point> = Vec::new();
            let start = count as u32;
            let here = |corners: &[Point]| start + corners.len() as u32;
            for part in &parts {
                match *part {
                    Part::Line(line) => {
                        let nodes = &state.lines[line].nodes;
                        vertices[line] = (0..nodes.len() as u32).map(|k| here(&corners) + k).collect();
                        corners.extend(nodes);
                    }
                    Part::Side { on, from, to } => {
                        let outline = &sides.outlines[on];
                        for at in samples(outline, from, to, h) {
                            // the edge that ends at this place
                            if on == 0 && is_in_inlet(sides, at) {
                                inlet.push([here(&corners) - 1, here(&corners)]);
                            }
                            corners.push(outline.point(at));
                        }
                    }
                }
            }
            count += corners.len();
            loops.push(corners);
        }
        for (k, bare) in state.bare(sides) {
            if bare == Bare::Wet {
                let outline = &sides.outlines[k];
                loops.push(all_round(outline).into_iter().map(|at| outline.point(at)).collect());
            }
        }
        let longest = sides.outlines[0].chords.iter().map(|chord| chord.longest).fold(2.0 * h, f64::max);
        let region = fill(&loops, LARGEST * longest * longest, MOST)?;
        let stiffness = stiffness(&region);
        Ok(Wet { region, vertices, inlet, stiffness })
    }
}

/// Whether an edge that ends at a place lies on the inlet, whose corners are always among the places.
fn is_in_inlet(sides: &Sides, at: f64) -> bool {
    let way = sides.outlines[0].way(sides.inlet[0], at);
    way > 0.0 && way <= sides.inlet_length() * (1.0 + 1e-12)
}

/// Places of mesh points between two places on an outline, both excluded: all sharp corners, h apart at both ends and more away from them.
fn samples(outline: &Outline, from: f64, to: f64, h: f64) -> Vec<f64> {
    let whole = outline.way(from, to);
    let mut stops: Vec<f64> = outline.passed(from, to).filter(|&k| outline.sharp[k]).map(|k| outline.at[k]).collect();
    stops.push(to);
    let mut found = Vec::new();
    let mut start = from;
    for stop in stops {
        let length = outline.way(start, stop);
        let before = outline.way(from, start);
        let wanted = |x: f64| {
            let near = (before + x).min(whole - before - x).max(0.0);
            let longest = outline.chords[outline.chord(outline.wrapped(start + x), true)].longest;
            (h + GROWTH * near).min(longest)
        };
        found.extend(steps(length, wanted).into_iter().map(|x| outline.wrapped(start + x)));
        if stop != to {
            found.push(stop);
        }
        start = stop;
    }
    found
}

/// Places all round an outline that no front ends on.
fn all_round(outline: &Outline) -> Vec<f64> {
    let mut stops: Vec<f64> = (0..outline.points.len()).filter(|&k| outline.sharp[k]).map(|k| outline.at[k]).collect();
    if stops.is_empty() {
        stops.push(0.0);
    }
    let mut found = Vec::new();
    for (k, &start) in stops.iter().enumerate() {
        let stop = stops[(k + 1) % stops.len()];
        let length = if stops.len() == 1 { outline.whole() } else { outline.way(start, stop) };
        let least = if stops.len() < 3 { length / 4.0 } else { length };
        let wanted = |x: f64| outline.chords[outline.chord(outline.wrapped(start + x), true)].longest.min(least);
        found.push(start);
        found.extend(steps(length, wanted).into_iter().map(|x| outline.wrapped(start + x)));
    }
    found
}

/// Places within a length, ends excluded, at wanted distances.
fn steps(length: f64, wanted: impl Fn(f64) -> f64) -> Vec<f64> {
    let mut places = vec![];
    let mut x = 0.0;
    while x < length {
        let step = wanted((x + 0.5 * wanted(x)).min(length));
        x += step.max(1e-6 * length);
        places.push(x);
    }
    // the last place comes onto the end: that at or after it, or the one before if that is nearer
    if places.len() > 1 && x - length > length - places[places.len() - 2] {
        places.pop();
    }
    let reached = places.pop().unwrap_or(length);
    places.iter().map(|place| place * length / reached).collect()
}

/// `∫ ∇φ_i·∇φ_j`.
fn stiffness(region: &Region) -> Vec<Entry> {
    let mut entries = Vec::with_capacity(9 * region.triangles.len());
    for triangle in &region.triangles {
        let places = triangle.map(|v| region.points[v as usize]);
        let of = element_stiffness(places, 1.0);
        for (i, row) in of.iter().enumerate() {
            entries.extend(row.iter().zip(triangle).map(|(&entry, &w)| (triangle[i], w, entry)));
        }
    }
    entries
}
