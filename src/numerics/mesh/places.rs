//! The triangles of many places at once, and which places lie in no fluid.

use super::{Locator, Mesh};
use crate::base::Point;
use crate::base::plane::{Rect, Vector, distance_to_segment, orientation};
use crate::geometry::span::{crossings, is_near, spans};
use rayon::prelude::*;

/// A triangle and the barycentric coordinates of a place in it.
pub type Place = (u32, [f64; 3]);

/// Places that are looked for one after the other, each starting from the triangle of the one before.
const RUN: usize = 1024;
/// Places in one square of the grid by which they are sorted.
const IN_SQUARE: usize = 8;
/// Most squares along either side of that grid.
const MOST_SQUARES: usize = 2048;
/// Halvings of a curve beside a place.
const DEPTH: u32 = 50;

impl Mesh {
    /// A vertex field, linear on the triangles, at a place.
    pub fn number_at(&self, (triangle, weights): Place, field: &[f64]) -> f64 {
        let corners = self.triangles[triangle as usize];
        (0..3).map(|i| weights[i] * field[corners[i] as usize]).sum()
    }

    /// A vertex field of vectors at a place.
    pub fn vector_at(&self, (triangle, weights): Place, field: &[Vector]) -> Vector {
        let corners = self.triangles[triangle as usize];
        [0, 1].map(|k| (0..3).map(|i| weights[i] * field[corners[i] as usize][k]).sum())
    }
}

impl Locator<'_> {
    /// Where each place lies in the mesh; none of those that lie in no fluid, by the outlines of its plan where it has one, else by the
    /// edges of its triangles. A place within a distance `edge` of an outline, m, belongs to the fluid. The results do not depend on the
    /// number of threads.
    pub fn places(&self, points: &[Point], edge: f64) -> Vec<Option<Place>> {
        let bounds = Bounds::new(self, edge);
        let order = along_the_way(points);
        let found: Vec<Option<Place>> = order
            .par_chunks(RUN)
            .flat_map_iter(|run| {
                let mut hint = None;
                run.iter().map(|&k| bounds.place(points[k as usize], &mut hint)).collect::<Vec<_>>()
            })
            .collect();
        let mut places = vec![None; points.len()];
        order.iter().zip(found).for_each(|(&k, place)| places[k as usize] = place);
        places
    }
}

/// The numbers of places in an order in which neighbours are near each other: strip by strip of a grid, to and fro.
fn along_the_way(points: &[Point]) -> Vec<u32> {
    let finite = |p: &&Point| p[0].is_finite() && p[1].is_finite();
    let all = Rect::of(points.iter().filter(finite).copied());
    let count = (points.len() / IN_SQUARE).isqrt().clamp(1, MOST_SQUARES);
    let square = |p: &Point, k: usize| {
        let part = (p[k] - all.low[k]) / (all.high[k] - all.low[k]);
        // what is no number or no place becomes zero
        (part * count as f64).clamp(0.0, (count - 1) as f64) as u64
    };
    let key = |(n, p): (usize, &Point)| {
        let (i, j) = (square(p, 0), square(p, 1));
        let along = if j % 2 == 0 { i } else { count as u64 - 1 - i };
        ((j * count as u64 + along) << 32) | n as u64
    };
    let mut keys: Vec<u64> = points.par_iter().enumerate().map(key).collect();
    keys.par_sort_unstable();
    keys.into_iter().map(|key| key as u32).collect()
}

/// Where the fluid ends beside the edges of a mesh.
struct Bounds<'l, 'a> {
    locator: &'l Locator<'a>,
    mesh: &'a Mesh,
    /// Triangles with an edge whose outline is curved, and the number of that edge; by triangle.
    curved: Vec<(u32, usize)>,
    /// Largest distance of an outline from its chord, m.
    sag: f64,
    edge: f64,
}

impl<'l, 'a> Bounds<'l, 'a> {
    fn new(locator: &'l Locator<'a>, edge: f64) -> Self {
        let mesh = locator.mesh();
        let curve = |k: usize| &mesh.plan.pieces[mesh.boundary[k].piece as usize].curve;
        let mut curved: Vec<(u32, usize)> = (0..mesh.boundary.len())
            .filter(|&k| !curve(k).is_straight())
            .map(|k| (mesh.boundary[k].triangle, k))
            .collect();
        curved.sort_unstable();
        let sag = curved.iter().map(|&(_, k)| {
            let [from, to] = mesh.boundary[k].parameters;
            spans(curve(k), from, to).iter().map(|span| span.sag).fold(0.0, f64::max)
                + distance_to_segment(curve(k).point(0.5 * (from + to)), chord(mesh, k))
        });
        let sag = sag.fold(0.0, f64::max);
        Bounds { locator, mesh, curved, sag, edge }
    }

    fn place(&self, p: Point, hint: &mut Option<u32>) -> Option<Place> {
        if let Some(found) = self.locator.find(p, *hint) {
            *hint = Some(found.0);
            let from = self.curved.partition_point(|(t, _)| *t < found.0);
            let mut own = self.curved[from..].iter().take_while(|(t, _)| *t == found.0);
            return (!own.any(|&(_, k)| self.is_behind(p, k))).then_some(found);
        }
        // between a hollow outline and its chord
        if self.sag == 0.0 {
            return None;
        }
        let near = self.locator.nearest_within(p, self.sag + self.edge)?;
        self.mesh.plan.holds(p, self.edge).then_some(near)
    }

    /// Whether a place lies between a chord and an outline that bulges into the fluid, and not on that outline.
    fn is_behind(&self, p: Point, k: usize) -> bool {
        let edge = &self.mesh.boundary[k];
        let curve = &self.mesh.plan.pieces[edge.piece as usize].curve;
        let [from, to] = edge.parameters;
        let own = spans(curve, from, to);
        // along the outline, and back along the chord
        let there: i32 = own.iter().map(|span| crossings(p, curve, span, DEPTH)).sum();
        let [a, b] = chord(self.mesh, k);
        let back = match (b[1] <= p[1], a[1] <= p[1]) {
            (true, false) if orientation(b, a, p) > 0.0 => 1,
            (false, true) if orientation(b, a, p) < 0.0 => -1,
            _ => 0,
        };
        there + back != 0 && !own.iter().any(|span| is_near(p, curve, span, self.edge, DEPTH))
    }
}

fn chord(mesh: &Mesh, k: usize) -> [Point; 2] {
    mesh.boundary[k].vertices.map(|v| mesh.points[v as usize])
}
