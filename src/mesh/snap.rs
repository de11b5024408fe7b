//! Places that keep their position within a triangle on every level of refinement.
//!
//! Splitting a triangle into four leaves its centroid the centroid of the inner child. Around it the finer meshes are regular,
//! and so a value interpolated there has an error of one and the same form on every level: it converges cleanly. At the vertices
//! of the first mesh it would not, for recovered gradients lose an order where triangles of unlike shape meet for good.

use super::smooth::{smooth, widest_cosine};
use super::{Locator, Mesh, Stars};
use crate::Point;

/// Cosine of the least angle, 15 degrees, that moving vertices may bring about.
const NARROW: f64 = 0.965_925_826;

impl Mesh {
    /// Moves inner vertices of a single mesh so that every place becomes the centroid of a triangle, as far as that is possible
    /// without an angle below 15 degrees and without moving a triangle already placed. The second value says which places were met.
    pub fn with_centroids_at(mut self, places: &[Point]) -> (Mesh, Vec<bool>) {
        if !self.coarser.is_empty() {
            return (self, vec![false; places.len()]);
        }
        let stars = Stars::new(self.points.len(), &self.triangles);
        let mut fixed = vec![false; self.points.len()];
        for &v in self.boundary.iter().flat_map(|edge| &edge.vertices) {
            fixed[v as usize] = true;
        }
        let mut met = Vec::with_capacity(places.len());
        for &place in places {
            let triangle = self.move_round(place, &stars, &fixed);
            if let Some(t) = triangle {
                self.triangles[t].iter().for_each(|&v| fixed[v as usize] = true);
            }
            met.push(triangle.is_some());
        }
        (self, met)
    }

    /// Tries the triangle that holds the place and those that share a vertex with it.
    fn move_round(&mut self, place: Point, stars: &Stars, fixed: &[bool]) -> Option<usize> {
        let (holding, _) = Locator::new(self).find(place, None)?;
        let mut near: Vec<u32> =
            self.triangles[holding as usize].iter().flat_map(|&v| stars.of(v as usize)).copied().collect();
        near.sort_unstable();
        near.dedup();
        let mut best: Option<(f64, usize, Vec<(usize, Point)>)> = None;
        for t in near.into_iter().map(|t| t as usize) {
            let Some((widest, moved)) = self.shifted(t, place, stars, fixed) else { continue };
            if best.as_ref().is_none_or(|(least, ..)| widest < *least) {
                best = Some((widest, t, moved));
            }
        }
        let (_, triangle, moved) = best?;
        moved.iter().for_each(|&(w, p)| self.points[w] = p);
        Some(triangle)
    }

    /// The vertices round a triangle after its centroid has moved to a place, and the cosine of their least angle; none if that
    /// is too narrow. The mesh is left as it was.
    fn shifted(&mut self, t: usize, place: Point, stars: &Stars, fixed: &[bool]) -> Option<(f64, Vec<(usize, Point)>)> {
        let corners = self.triangles[t].map(|v| v as usize);
        let free: Vec<usize> = corners.iter().copied().filter(|&v| !fixed[v]).collect();
        if free.is_empty() {
            return None;
        }
        let mut round: Vec<usize> = corners
            .iter()
            .flat_map(|&v| stars.of(v))
            .flat_map(|&s| self.triangles[s as usize])
            .map(|w| w as usize)
            .collect();
        round.sort_unstable();
        round.dedup();
        let before: Vec<(usize, Point)> = round.iter().map(|&w| (w, self.points[w])).collect();
        let share = 3.0 / free.len() as f64;
        for k in 0..2 {
            let centroid = corners.iter().map(|&v| self.points[v][k]).sum::<f64>() / 3.0;
            free.iter().for_each(|&v| self.points[v][k] += share * (place[k] - centroid));
        }
        // the vertices round it give way; all others stay
        let mut held = vec![true; self.points.len()];
        round.iter().filter(|w| !corners.contains(w)).for_each(|&w| held[w] = fixed[w]);
        smooth(&mut self.points, &self.triangles, &held, 4);
        let star = |w: &usize| widest_cosine(&self.points, &self.triangles, stars.of(*w));
        let widest = round.iter().map(star).fold(-1.0, f64::max);
        let after = round.iter().map(|&w| (w, self.points[w])).collect();
        before.iter().for_each(|&(w, p)| self.points[w] = p);
        (widest <= NARROW).then_some((widest, after))
    }
}

#[cfg(test)]
mod tests {
    use super::super::SizeField;
    use super::*;
    use crate::case::Wall::{Lower, Upper};
    use crate::fem::area;
    use crate::outline::{Plan, Side};
    use std::sync::Arc;

    #[test]
    fn places_are_centroids_on_every_level() {
        let sides = [Side::Wall(Lower), Side::Outlet, Side::Wall(Upper), Side::Inlet];
        let plan = Arc::new(Plan::polygon(&[[0.0, 0.0], [2.0, 0.0], [2.0, 1.0], [0.0, 1.0]], &sides, &[]).unwrap());
        let mesh = Mesh::generate(&plan, &SizeField::new(0.1, 0.3, vec![]), 10_000).unwrap();
        let total =
            |mesh: &Mesh| -> f64 { mesh.triangles.iter().map(|t| area(t.map(|v| mesh.points[v as usize]))).sum() };
        let n = mesh.triangles.len();
        let places: Vec<Point> = (0..6).map(|k| [0.2 + 0.3 * f64::from(k), 0.3 + 0.071 * f64::from(k)]).collect();
        let (mesh, met) = mesh.with_centroids_at(&places);
        assert_eq!((mesh.triangles.len(), met), (n, vec![true; places.len()]));
        assert!((total(&mesh) - 2.0).abs() < 1e-12);
        assert!(mesh.quality().least_angle > 15f64.to_radians() - 1e-6);
        let fine = mesh.refined().refined();
        let locator = Locator::new(&fine);
        for &place in &places {
            let (_, weights) = locator.find(place, None).unwrap();
            assert!(weights.iter().all(|w| (w - 1.0 / 3.0).abs() < 1e-9), "{weights:?}");
        }
        // right beside an edge and outside nothing is moved
        assert_eq!(mesh.with_centroids_at(&[[1.0, 1e-6], [3.0, 3.0]]).1, [false, false]);
    }
}
