//! Distance of vertices from the solids.

use super::Mesh;
use crate::base::plane::{Rect, Segment, distance_to_segment};
use crate::geometry::Side;
use crate::geometry::boxes::Boxes;
use rayon::prelude::*;

/// Vertices one task works through; neighbours in this order are near each other.
const TASK: usize = 4096;

impl Mesh {
    /// Distance of every vertex from the nearest boundary edge of a wall or an obstacle, m; infinite from `limit` on.
    pub fn wall_distance(&self, limit: f64) -> Vec<f64> {
        self.distance_from(limit, |side| matches!(side, Side::Wall(_) | Side::Obstacle(_)))
    }

    /// The same from edges that hold back the fluid along them: the free rims of bubbles are passed over.
    pub fn holding_distance(&self, limit: f64) -> Vec<f64> {
        self.distance_from(limit, |side| self.plan.holds_back(side))
    }

    fn distance_from(&self, limit: f64, counts: impl Fn(Side) -> bool) -> Vec<f64> {
        let segments: Vec<Segment> = self
            .boundary
            .iter()
            .filter(|edge| counts(self.side(edge)))
            .map(|edge| edge.vertices.map(|v| self.points[v as usize]))
            .collect();
        let tree = Boxes::new(segments.iter().map(|&ends| Rect::of(ends)));
        let mut distances = vec![f64::INFINITY; self.points.len()];
        distances.par_chunks_mut(TASK).zip(self.points.par_chunks(TASK)).for_each(|(distances, points)| {
            // The vertex before bounds the search: no point is further off than that one's edge.
            let mut before: Option<usize> = None;
            for (distance, &p) in distances.iter_mut().zip(points) {
                let known = before.map(|k| distance_to_segment(p, segments[k]));
                let bound = known.map_or(limit, |d| limit.min(d * (1.0 + 1e-12) + f64::MIN_POSITIVE));
                let found = tree.nearest(p, bound, |k| Some(distance_to_segment(p, segments[k])));
                if let Some((k, d)) = found {
                    *distance = d;
                    before = Some(k);
                }
            }
        });
        distances
    }
}
