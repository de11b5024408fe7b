//! Vertices at given places, so that a value there needs no interpolation on any level of refinement.

use super::smooth::{smooth, widest_cosine};
use super::{Mesh, Stars};
use crate::base::Point;

/// Cosine of the least angle, 15 degrees, that moving a vertex may bring about.
const NARROW: f64 = 0.965_925_826;

impl Mesh {
    /// Moves inner vertices of a single mesh onto places in the fluid, each the corner of the triangle there that leaves the widest
    /// least angle, and lets the vertices round it follow. Returns the vertex at each place; none where none can be moved there
    /// without an angle below 15 degrees, for instance right beside an outline.
    ///
    /// Refinement keeps vertices, and with them the places, on every finer level.
    pub fn with_vertices_at(mut self, places: &[Point]) -> (Mesh, Vec<Option<u32>>) {
        let stars = Stars::new(self.points.len(), &self.triangles);
        let mut fixed = vec![false; self.points.len()];
        for &v in self.boundary.iter().flat_map(|edge| &edge.vertices) {
            fixed[v as usize] = true;
        }
        if !self.coarser.is_empty() {
            return (self, vec![None; places.len()]);
        }
        let mut at = Vec::with_capacity(places.len());
        for &place in places {
            let vertex = self.move_onto(place, &stars, &fixed);
            if let Some(v) = vertex {
                fixed[v as usize] = true;
            }
            at.push(vertex);
        }
        (self, at)
    }

    fn move_onto(&mut self, place: Point, stars: &Stars, fixed: &[bool]) -> Option<u32> {
        let (holding, _) = super::Locator::new(self).find(place, None)?;
        let corners = self.triangles[holding as usize];
        if let Some(&there) = corners.iter().find(|&&v| self.points[v as usize] == place) {
            return Some(there);
        }
        let mut best: Option<(f64, u32, Vec<_>)> = None;
        for &v in corners.iter().filter(|&&v| !fixed[v as usize]) {
            let round = self.round(v as usize, stars);
            let before: Vec<(usize, Point)> = round.iter().map(|&w| (w, self.points[w])).collect();
            self.points[v as usize] = place;
            // the neighbours give way; all others stay
            let mut held = vec![true; self.points.len()];
            for &w in round.iter().filter(|&&w| w != v as usize) {
                held[w] = fixed[w];
            }
            smooth(&mut self.points, &self.triangles, &held, 4);
            let widest =
                round.iter().map(|&w| widest_cosine(&self.points, &self.triangles, stars.of(w))).fold(-1.0, f64::max);
            let after: Vec<(usize, Point)> = round.iter().map(|&w| (w, self.points[w])).collect();
            before.iter().for_each(|&(w, p)| self.points[w] = p);
            if best.as_ref().is_none_or(|(least, _, _)| widest < *least) {
                best = Some((widest, v, after));
            }
        }
        let (widest, vertex, after) = best?;
        if widest > NARROW {
            return None;
        }
        after.iter().for_each(|&(w, p)| self.points[w] = p);
        Some(vertex)
    }

    /// A vertex and all that share a triangle with it, ascending.
    fn round(&self, v: usize, stars: &Stars) -> Vec<usize> {
        let mut round: Vec<usize> =
            stars.of(v).iter().flat_map(|&t| self.triangles[t as usize]).map(|w| w as usize).collect();
        round.sort_unstable();
        round.dedup();
        round
    }
}

#[cfg(test)]
mod tests {
    use super::super::SizeField;
    use super::*;
    use crate::geometry::Wall::{Lower, Upper};
    use crate::geometry::{Plan, Side};
    use std::sync::Arc;

    #[test]
    fn places_become_vertices_of_every_level() {
        let sides = [Side::Wall(Lower), Side::Outlet, Side::Wall(Upper), Side::Inlet];
        let plan = Arc::new(Plan::polygon(&[[0.0, 0.0], [2.0, 0.0], [2.0, 1.0], [0.0, 1.0]], &sides, &[]).unwrap());
        let mesh = Mesh::generate(&plan, &SizeField::new(0.1, 0.3, vec![]), 10_000).unwrap();
        let area = |mesh: &Mesh| -> f64 { mesh.areas().iter().sum() };
        let (total, n) = (area(&mesh), mesh.triangles.len());
        let places: Vec<Point> = (0..12).map(|k| [0.2 + 0.137 * f64::from(k), 0.3 + 0.031 * f64::from(k)]).collect();
        let (mesh, at) = mesh.with_vertices_at(&places);
        assert_eq!(mesh.triangles.len(), n);
        assert!((area(&mesh) - total).abs() < 1e-12 * total);
        assert!(mesh.quality().least_angle > 15f64.to_radians() - 1e-6);
        let found = at.iter().zip(&places).filter(|(v, p)| v.is_some_and(|v| mesh.points[v as usize] == **p)).count();
        assert_eq!(found, places.len(), "{at:?}");
        // once there, they stay: the second time nothing moves
        let points = mesh.points.clone();
        let (mesh, again) = mesh.with_vertices_at(&places);
        assert_eq!((points, at), (mesh.points.clone(), again));
        // right beside an edge and outside nothing is moved
        assert_eq!(mesh.with_vertices_at(&[[1.0, 1e-6], [3.0, 3.0]]).1, [None, None]);
    }
}
