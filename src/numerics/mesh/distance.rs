//! Distance of vertices from the solids.

use super::Mesh;
use crate::base::Point;
use crate::geometry::Side;
use crate::geometry::tree::{BoxTree, Rect};
use rayon::prelude::*;

/// Vertices one task works through; neighbours in this order are near each other.
const TASK: usize = 4096;

impl Mesh {
    /// Distance of every vertex from the nearest boundary edge of a wall or an obstacle, m; infinite from `limit` on.
    pub fn wall_distance(&self, limit: f64) -> Vec<f64> {
        let segments: Vec<[Point; 2]> = self
            .boundary
            .iter()
            .filter(|edge| matches!(self.side(edge), Side::Wall(_) | Side::Obstacle(_)))
            .map(|edge| edge.vertices.map(|v| self.points[v as usize]))
            .collect();
        let tree = BoxTree::new(segments.iter().map(|&ends| Rect::of(ends)).collect());
        let mut distances = vec![f64::INFINITY; self.points.len()];
        distances.par_chunks_mut(TASK).zip(self.points.par_chunks(TASK)).for_each(|(distances, points)| {
            // The vertex before bounds the search: no point is further off than that one's edge.
            let mut before: Option<usize> = None;
            for (distance, &p) in distances.iter_mut().zip(points) {
                let known = before.map(|k| segment_distance(segments[k][0], segments[k][1], p));
                let bound = known.map_or(limit, |d| limit.min(d * (1.0 + 1e-12) + f64::MIN_POSITIVE));
                let found = tree.nearest(p, bound, |k| Some(segment_distance(segments[k][0], segments[k][1], p)));
                if let Some((k, d)) = found {
                    *distance = d;
                    before = Some(k);
                }
            }
        });
        distances
    }
}

/// The point of the segment from a to b nearest to p, as a fraction of the way.
pub(super) fn foot(a: Point, b: Point, p: Point) -> f64 {
    let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
    let s = ((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / (dx * dx + dy * dy);
    if s.is_nan() { 0.0 } else { s.clamp(0.0, 1.0) }
}

/// Distance of p from the segment from a to b.
pub(super) fn segment_distance(a: Point, b: Point, p: Point) -> f64 {
    let s = foot(a, b, p);
    (a[0] + s * (b[0] - a[0]) - p[0]).hypot(a[1] + s * (b[1] - a[1]) - p[1])
}
