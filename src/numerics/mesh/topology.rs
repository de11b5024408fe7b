//! Which triangles adjoin, and which edges they share.

use super::{Mesh, Stars};
use crate::base::plane::distance;
use rayon::prelude::*;

/// Across a boundary edge there is no triangle.
pub const NO_TRIANGLE: u32 = u32::MAX;

impl Mesh {
    /// Whether each vertex lies on the boundary.
    pub fn on_boundary(&self) -> Vec<bool> {
        let mut on_boundary = vec![false; self.points.len()];
        self.boundary.iter().flat_map(|edge| edge.vertices).for_each(|v| on_boundary[v as usize] = true);
        on_boundary
    }

    /// For every triangle, the triangle across the side opposite each of its corners; `NO_TRIANGLE` at the boundary.
    pub fn neighbours(&self) -> Vec<[u32; 3]> {
        let mut list = self.coarsest_neighbours();
        for level in &self.coarser {
            list = neighbours_of_parts(&level.triangles, &list);
        }
        list
    }

    /// As `neighbours`, for the coarsest level.
    pub(super) fn coarsest_neighbours(&self) -> Vec<[u32; 3]> {
        match self.coarser.first() {
            Some(level) => neighbours(level.vertices, &level.triangles),
            None => neighbours(self.points.len(), &self.triangles),
        }
    }

    /// The triangles of a level, 0 the coarsest.
    pub(super) fn level_triangles(&self, level: usize) -> &[[u32; 3]] {
        self.coarser.get(level).map_or(&self.triangles, |level| &level.triangles)
    }

    /// Lengths of the sides opposite the corners of every triangle, m.
    pub fn side_lengths(&self) -> Vec<[f64; 3]> {
        let length = |a: u32, b: u32| distance(self.points[a as usize], self.points[b as usize]);
        self.triangles.iter().map(|&[a, b, c]| [length(b, c), length(c, a), length(a, b)]).collect()
    }
}

/// Neighbours of the four parts of every triangle, from those of the triangles.
fn neighbours_of_parts(triangles: &[[u32; 3]], list: &[[u32; 3]]) -> Vec<[u32; 3]> {
    let of =
        |t: usize| std::array::from_fn(|i| std::array::from_fn(|k| part_neighbour(triangles, t, i, k, list[t][k])));
    (0..triangles.len()).into_par_iter().map(of).collect::<Vec<[[u32; 3]; 4]>>().into_flattened()
}

/// The neighbour of part i of a triangle t opposite the part's corner k, `across` being the neighbour of t opposite its
/// corner k. Part i < 3 keeps corner i of t at its own place i; corner k of the inner part 3 halves the side opposite corner k.
pub(super) fn part_neighbour(triangles: &[[u32; 3]], t: usize, i: usize, k: usize, across: u32) -> u32 {
    if i == 3 {
        return (4 * t + k) as u32;
    }
    if i == k {
        return (4 * t + 3) as u32;
    }
    if across == NO_TRIANGLE {
        return NO_TRIANGLE;
    }
    let corner = triangles[t][i];
    let j = triangles[across as usize].iter().position(|&v| v == corner);
    j.map_or(NO_TRIANGLE, |j| 4 * across + j as u32)
}

/// Neighbours of single triangles.
fn neighbours(vertices: usize, triangles: &[[u32; 3]]) -> Vec<[u32; 3]> {
    let mut list = vec![[NO_TRIANGLE; 3]; triangles.len()];
    let stars = Stars::new(vertices, triangles);
    for (t, triangle) in triangles.iter().enumerate() {
        for k in 0..3 {
            let (a, b) = (triangle[(k + 1) % 3], triangle[(k + 2) % 3]);
            if list[t][k] != NO_TRIANGLE {
                continue;
            }
            // The neighbour walks the side the other way, b -> a.
            let across = stars.of(a as usize).iter().find_map(|&s| {
                let other = triangles[s as usize];
                (0..3).find(|&j| other[(j + 1) % 3] == b && other[(j + 2) % 3] == a).map(|j| (s, j))
            });
            if let Some((s, j)) = across {
                list[t][k] = s;
                list[s as usize][j] = t as u32;
            }
        }
    }
    list
}

/// For every triangle the numbers of the sides opposite its corners, and the ends of every side; sides are numbered in the
/// order the triangles are listed.
pub(super) fn sides(triangles: &[[u32; 3]], neighbours: &[[u32; 3]]) -> (Vec<[u32; 3]>, Vec<[u32; 2]>) {
    let mut ends = Vec::with_capacity(3 * triangles.len() / 2 + 16);
    let mut numbers = vec![[0u32; 3]; triangles.len()];
    for (t, triangle) in triangles.iter().enumerate() {
        for k in 0..3 {
            let s = neighbours[t][k];
            let known = (s < t as u32).then(|| neighbours[s as usize].iter().position(|&n| n == t as u32)).flatten();
            numbers[t][k] = match known {
                Some(j) => numbers[s as usize][j],
                None => {
                    ends.push([triangle[(k + 1) % 3], triangle[(k + 2) % 3]]);
                    ends.len() as u32 - 1
                }
            };
        }
    }
    (numbers, ends)
}
