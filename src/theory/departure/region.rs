//! Where departures are measured: the fluid beyond a margin along solid edges, and streaklines of the reference pattern.

use crate::base::Point;
use crate::base::plane;
use crate::input::case::Seeding;
use crate::numerics::fem::Space;
use crate::theory::edge_layer::{Margin, Reach};
use crate::theory::streaklines::{Dye, Streakline};

/// Streaklines of equal flux along which shifts are measured.
const LINES: usize = 48;

/// The observation region of a mesh.
#[derive(Debug, Clone)]
pub struct Region {
    /// How far from solid edges it keeps.
    pub margin: Margin,
    /// Its vertices.
    pub vertices: Vec<usize>,
    /// Share of the area of each of them, m2.
    pub areas: Vec<f64>,
    lines: Vec<Vec<Station>>,
}

/// A place on a line with its triangle and its weights there, and whether it lies in the region.
#[derive(Debug, Clone, Copy)]
struct Station {
    at: Point,
    triangle: u32,
    weights: [f64; 3],
    inside: bool,
}

/// A shift of a streakline at a place.
#[derive(Debug, Clone, Copy)]
pub struct Shift {
    /// Where, m.
    pub at: Point,
    /// Across the line, positive to its left, m.
    pub shift: f64,
    /// Area that the place stands for over the flux between neighbouring lines, `ds/(b |V|)`, s/m.
    pub weight: f64,
}

impl Region {
    /// The fluid beyond a margin; `velocity` and `stream` are those of the reference pattern.
    pub fn new(space: &Space, margin: Margin, velocity: &[[f64; 2]], stream: &[f64]) -> Self {
        let locator = space.locator();
        let lines = Dye::carried_by(space, velocity, stream).streaklines(&Seeding::Count(LINES), 0.0);
        let stations = |line: &Streakline| -> Vec<Station> {
            let mut hint = None;
            let of = line.points.iter().filter_map(|&at| {
                let (triangle, weights) = locator.find(at, hint)?;
                hint = Some(triangle);
                Some(Station { at, triangle, weights, inside: true })
            });
            of.collect()
        };
        let lines = lines.iter().map(stations).collect();
        Region { margin, vertices: Vec::new(), areas: Vec::new(), lines }.with_margin(space, margin)
    }

    /// The same lines with another margin.
    pub fn with_margin(&self, space: &Space, margin: Margin) -> Self {
        let edges = Reach::of(space, margin);
        let vertices: Vec<usize> = edges.beyond().collect();
        let areas = vertices.iter().map(|&v| space.star_area(v) / 3.0).collect();
        let inside = |s: &Station| {
            let corners = space.mesh.triangles[s.triangle as usize];
            Station { inside: !corners.iter().any(|&v| edges.holds(v as usize)), ..*s }
        };
        let lines = self.lines.iter().map(|line| line.iter().map(inside).collect()).collect();
        Region { margin, vertices, areas, lines }
    }

    /// Shifts of the lines under a departure ΔV of the velocity, to first order: the flux `∫ b ΔV·n ds` that crosses a line on its
    /// way from the inlet, over b |V| there. Lines of equal flux stand `Δψ/(b |V|)` apart, so that a step ds stands for an area
    /// `Δψ ds/(b |V|)`.
    pub fn shifts(&self, space: &Space, velocity: &[[f64; 2]], departure: &[[f64; 2]]) -> Vec<Shift> {
        let at = |s: &Station, field: &[[f64; 2]]| -> [f64; 2] {
            let corners = space.mesh.triangles[s.triangle as usize];
            std::array::from_fn(|k| (0..3).map(|i| s.weights[i] * field[corners[i] as usize][k]).sum())
        };
        let gap = |s: &Station| -> f64 {
            let corners = space.mesh.triangles[s.triangle as usize];
            (0..3).map(|i| s.weights[i] * space.gap[corners[i] as usize]).sum()
        };
        let mut shifts = Vec::new();
        for line in &self.lines {
            let mut crossed = 0.0;
            for pair in line.windows(2) {
                let [a, b] = [&pair[0], &pair[1]];
                let step = [b.at[0] - a.at[0], b.at[1] - a.at[1]];
                let (u, v) = (at(a, departure), at(b, departure));
                let across = |w: [f64; 2]| w[1] * step[0] - w[0] * step[1];
                crossed += 0.5 * (gap(a) * across(u) + gap(b) * across(v));
                if b.inside {
                    let w = at(b, velocity);
                    let carried = gap(b) * plane::length(w);
                    if carried > 0.0 {
                        shifts.push(Shift {
                            at: b.at,
                            shift: crossed / carried,
                            weight: plane::length(step) / carried,
                        });
                    }
                }
            }
        }
        shifts
    }
}
