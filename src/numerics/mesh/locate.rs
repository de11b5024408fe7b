//! Which triangle a point lies in.

use super::Mesh;
use super::topology::{NO_TRIANGLE, part_neighbour};
use crate::base::Point;
use crate::base::plane::{Rect, Segment, barycentric, distance_to_segment, foot};
use crate::geometry::boxes::Boxes;
use rayon::prelude::*;
use std::sync::Arc;

/// Points outside by less than this, relative to the extent of the mesh, count as on the boundary.
const OUTSIDE: f64 = 1e-9;
/// Barycentric coordinates above minus this count as inside.
const INSIDE: f64 = 1e-12;
/// Triangles a walk passes at most before the search starts afresh.
const STEPS: usize = 64;

/// Consecutive triangles in one box of the hierarchy.
const GROUP: usize = 16;

/// What the search in a mesh is prepared with, to be kept beside the mesh.
///
/// It is little: neighbours of the coarsest level, from which those of the finer ones follow, and a box for each group of
/// triangles.
#[derive(Debug)]
pub struct Index {
    coarsest: Vec<[u32; 3]>,
    tree: Boxes,
    tolerance: f64,
}

impl Index {
    /// Prepares the search in a mesh.
    pub fn new(mesh: &Mesh) -> Index {
        let boxed = |group: &[[u32; 3]]| Rect::of(group.as_flattened().iter().map(|&v| mesh.points[v as usize]));
        let tree = Boxes::new(mesh.triangles.par_chunks(GROUP).map(boxed).collect::<Vec<_>>());
        let diagonal = tree.all().diagonal();
        let tolerance = if diagonal.is_finite() { OUTSIDE * diagonal } else { 0.0 };
        Index { coarsest: mesh.coarsest_neighbours(), tree, tolerance }
    }
}

/// Finds triangles of a mesh by walking from a known one, or through a hierarchy of boxes.
#[derive(Debug, Clone)]
pub struct Locator<'a> {
    mesh: &'a Mesh,
    index: Arc<Index>,
}

impl<'a> Locator<'a> {
    /// Prepares the search, for once; a [`crate::numerics::fem::Space`] keeps what it takes.
    pub fn new(mesh: &'a Mesh) -> Locator<'a> {
        Locator::with(mesh, Arc::new(Index::new(mesh)))
    }

    /// The search in a mesh with what was prepared for that mesh.
    pub fn with(mesh: &'a Mesh, index: Arc<Index>) -> Locator<'a> {
        Locator { mesh, index }
    }

    /// A triangle that holds the point, with the point's barycentric coordinates (none negative, sum 1); none outside the mesh.
    ///
    /// `hint` is a triangle near the point. A point outside by less than 1e-9 of the extent of the mesh is given to the
    /// nearest boundary triangle. On shared sides and vertices any of the triangles may be answered.
    pub fn find(&self, p: Point, hint: Option<u32>) -> Option<(u32, [f64; 3])> {
        if !(p[0].is_finite() && p[1].is_finite()) {
            return None;
        }
        let known = hint.filter(|&t| (t as usize) < self.mesh.triangles.len());
        known.and_then(|t| self.walk(p, t)).or_else(|| self.search(p))
    }

    /// The triangle of a place in the fluid, which may lie between a curved outline and its chord: then the nearest. The first corner of the
    /// first triangle for a place that is not finite.
    pub fn place(&self, p: Point, hint: Option<u32>) -> (u32, [f64; 3]) {
        self.find(p, hint).or_else(|| self.nearest(p)).unwrap_or((0, [1.0, 0.0, 0.0]))
    }

    /// The triangle nearest to a point, and the barycentric coordinates of its nearest place; none for an empty mesh.
    pub fn nearest(&self, p: Point) -> Option<(u32, [f64; 3])> {
        self.search_within(p, f64::INFINITY)
    }

    /// The same for a point no farther away than a distance, m; none for others.
    pub(super) fn nearest_within(&self, p: Point, distance: f64) -> Option<(u32, [f64; 3])> {
        self.search_within(p, distance)
    }

    /// The mesh that is searched.
    pub(super) fn mesh(&self) -> &'a Mesh {
        self.mesh
    }

    /// The triangle of a level across the side opposite corner k of another one.
    fn neighbour(&self, level: usize, t: usize, k: usize) -> u32 {
        if level == 0 {
            return self.index.coarsest[t][k];
        }
        let (parent, part) = (t / 4, t % 4);
        let across = if part == 3 || part == k { NO_TRIANGLE } else { self.neighbour(level - 1, parent, k) };
        part_neighbour(self.mesh.level_triangles(level - 1), parent, part, k, across)
    }

    fn walk(&self, p: Point, mut t: u32) -> Option<(u32, [f64; 3])> {
        for _ in 0..STEPS {
            let weights = self.weights(t as usize, p);
            let k = (0..3).min_by(|&i, &j| weights[i].total_cmp(&weights[j]))?;
            if weights[k] >= -INSIDE {
                return Some((t, clamped(weights)));
            }
            t = self.neighbour(self.mesh.coarser.len(), t as usize, k);
            if t == NO_TRIANGLE {
                return None;
            }
        }
        None
    }

    fn search(&self, p: Point) -> Option<(u32, [f64; 3])> {
        self.search_within(p, self.index.tolerance.max(f64::MIN_POSITIVE))
    }

    fn search_within(&self, p: Point, tolerance: f64) -> Option<(u32, [f64; 3])> {
        let holds = |t: &usize| self.weights(*t, p).iter().all(|&weight| weight >= -INSIDE);
        let distance = |t: usize| (0..3).map(|k| distance_to_segment(p, self.side(t, k))).fold(f64::INFINITY, f64::min);
        let nearest_of = |group: usize| {
            let mut members = GROUP * group..(GROUP * group + GROUP).min(self.mesh.triangles.len());
            // distances are dear, and most points lie in a triangle
            members
                .clone()
                .find(holds)
                .map(|t| (t, 0.0))
                .or_else(|| members.by_ref().map(|t| (t, distance(t))).min_by(|a, b| a.1.total_cmp(&b.1)))
        };
        let (group, _) = self.index.tree.nearest(p, tolerance, |group| nearest_of(group).map(|(_, d)| d))?;
        let (t, _) = nearest_of(group)?;
        let weights = self.weights(t, p);
        if weights.iter().all(|&weight| weight >= -INSIDE) {
            return Some((t as u32, clamped(weights)));
        }
        // Outside by rounding: the nearest point of the nearest side.
        let away = |k: usize| distance_to_segment(p, self.side(t, k));
        let k = (0..3).min_by(|&i, &j| away(i).total_cmp(&away(j)))?;
        let s = foot(p, self.side(t, k));
        let mut weights = [0.0; 3];
        weights[(k + 1) % 3] = 1.0 - s;
        weights[(k + 2) % 3] = s;
        Some((t as u32, weights))
    }

    fn corners(&self, t: usize) -> [Point; 3] {
        self.mesh.triangles[t].map(|v| self.mesh.points[v as usize])
    }

    /// The side opposite corner k.
    fn side(&self, t: usize, k: usize) -> Segment {
        let corners = self.corners(t);
        [corners[(k + 1) % 3], corners[(k + 2) % 3]]
    }

    fn weights(&self, t: usize, p: Point) -> [f64; 3] {
        barycentric(p, self.corners(t))
    }
}

fn clamped(weights: [f64; 3]) -> [f64; 3] {
    let weights = weights.map(|weight| weight.max(0.0));
    let sum: f64 = weights.iter().sum();
    weights.map(|weight| weight / sum)
}
