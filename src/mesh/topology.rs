//! Which triangles adjoin, and which edges they share.

use super::Mesh;
use super::smooth::Stars;

/// Across a boundary edge there is no triangle.
pub const NO_TRIANGLE: u32 = u32::MAX;

impl Mesh {
    /// For every triangle, the triangle across the side opposite each of its corners; `NO_TRIANGLE` at the boundary.
    pub fn neighbours(&self) -> Vec<[u32; 3]> {
        neighbours(self.points.len(), &self.triangles)
    }

    /// Lengths of the sides opposite the corners of every triangle, m.
    pub fn side_lengths(&self) -> Vec<[f64; 3]> {
        let length = |a: u32, b: u32| {
            let (a, b) = (self.points[a as usize], self.points[b as usize]);
            (b[0] - a[0]).hypot(b[1] - a[1])
        };
        self.triangles.iter().map(|&[a, b, c]| [length(b, c), length(c, a), length(a, b)]).collect()
    }
}

/// As `Mesh::neighbours`, for the triangles of any level.
pub(super) fn neighbours(vertices: usize, triangles: &[[u32; 3]]) -> Vec<[u32; 3]> {
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
pub(super) fn sides(vertices: usize, triangles: &[[u32; 3]]) -> (Vec<[u32; 3]>, Vec<[u32; 2]>) {
    let neighbours = neighbours(vertices, triangles);
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
