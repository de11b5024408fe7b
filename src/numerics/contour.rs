//! Contours of a linear vertex field, exactly, triangle by triangle.
//!
//! On a triangle the field is linear, so that its iso-line is a straight segment between two sides; a side is cut at one place only,
//! which both its triangles share. The segments are therefore chained by the sides they end on, without any tolerance. Where a value
//! equals the level, its vertex counts as above.

use crate::base::Point;
use crate::numerics::mesh::Mesh;
use rayon::prelude::*;
use std::collections::HashMap;

/// A place on a side of a triangle, or a vertex.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Crossing {
    /// Vertices of the side, the smaller number first; the same twice for a vertex.
    pub ends: [u32; 2],
    /// Part of the way from the first to the second.
    pub part: f64,
}

impl Crossing {
    fn vertex(v: u32) -> Crossing {
        Crossing { ends: [v, v], part: 0.0 }
    }

    fn side(a: u32, b: u32, values: &[f64], level: f64) -> Crossing {
        let [a, b] = [a.min(b), a.max(b)];
        let (f, g) = (values[a as usize], values[b as usize]);
        let part = (level - f) / (g - f);
        Crossing { ends: [a, b], part: if part.is_finite() { part.clamp(0.0, 1.0) } else { 0.5 } }
    }

    /// Where it is.
    pub fn at(&self, points: &[Point]) -> Point {
        let [p, q] = self.ends.map(|v| points[v as usize]);
        [p[0] + self.part * (q[0] - p[0]), p[1] + self.part * (q[1] - p[1])]
    }

    /// Value there of a field linear on every triangle.
    pub fn value(&self, field: &[f64]) -> f64 {
        let [f, g] = self.ends.map(|v| field[v as usize]);
        f + self.part * (g - f)
    }
}

/// A chain of places; the last is joined to the first if it is closed.
#[derive(Debug, Clone, PartialEq)]
pub struct Chain {
    /// The places.
    pub places: Vec<Crossing>,
    /// Whether it is closed.
    pub closed: bool,
}

impl Chain {
    /// Its places in the plane; a closed one does not repeat its first.
    pub fn points(&self, points: &[Point]) -> Vec<Point> {
        self.places.iter().map(|place| place.at(points)).collect()
    }
}

/// Iso-lines of a vertex field, what is above on their left. They end at the boundary only.
///
/// ```
/// use twinplate::numerics::contour::iso_lines;
/// # fn main() -> twinplate::Result<()> {
/// let (case, plan) = twinplate::study::read("meshes/two_piers.toml".as_ref())?;
/// let goal = twinplate::theory::ideal::Goal::Triangles(2000);
/// let size = twinplate::theory::ideal::first_size_field(&plan, &case, goal)?;
/// let mesh = twinplate::numerics::mesh::Mesh::generate_with_count(&plan, &size, 2000)?;
/// let y: Vec<f64> = mesh.points.iter().map(|p| p[1]).collect();
/// // a line above both piers: one chain from the outlet to the inlet, or the other way
/// assert_eq!(iso_lines(&mesh, &y, 0.95 * case.cell.inlet_width()).len(), 1);
/// # Ok(()) }
/// ```
pub fn iso_lines(mesh: &Mesh, values: &[f64], level: f64) -> Vec<Chain> {
    chained(&cuts(mesh, values, level))
}

/// Outlines of the region in which a vertex field is at least `level`, the region on their left: iso-lines inside the fluid and
/// parts of its boundary. All are closed.
pub fn region(mesh: &Mesh, values: &[f64], level: f64) -> Vec<Chain> {
    let above = |v: u32| values[v as usize] >= level;
    let mut segments = cuts(mesh, values, level);
    for edge in &mesh.boundary {
        let [a, b] = edge.vertices;
        let cut = || Crossing::side(a, b, values, level);
        match (above(a), above(b)) {
            (true, true) => segments.push([Crossing::vertex(a), Crossing::vertex(b)]),
            (true, false) => segments.push([Crossing::vertex(a), cut()]),
            (false, true) => segments.push([cut(), Crossing::vertex(b)]),
            (false, false) => {}
        }
    }
    chained(&segments)
}

/// Regions of several levels, side by side.
pub fn regions(mesh: &Mesh, values: &[f64], levels: &[f64]) -> Vec<Vec<Chain>> {
    levels.par_iter().map(|&level| region(mesh, values, level)).collect()
}

/// The segments of an iso-line in the order of the triangles, what is above on their left.
fn cuts(mesh: &Mesh, values: &[f64], level: f64) -> Vec<[Crossing; 2]> {
    let mut segments = Vec::new();
    for corners in &mesh.triangles {
        let above = corners.map(|v| values[v as usize] >= level);
        if above[0] == above[1] && above[1] == above[2] {
            continue;
        }
        // round the triangle the region is left through one side and entered through another
        let side = |leaving: bool| {
            (0..3)
                .find(|&k| above[k] == leaving && above[(k + 1) % 3] != leaving)
                .map(|k| Crossing::side(corners[k], corners[(k + 1) % 3], values, level))
        };
        if let (Some(leave), Some(enter)) = (side(true), side(false)) {
            segments.push([leave, enter]);
        }
    }
    segments
}

/// Joins directed segments at the sides and vertices they share.
fn chained(segments: &[[Crossing; 2]]) -> Vec<Chain> {
    let mut starts: HashMap<[u32; 2], Vec<u32>> = HashMap::with_capacity(segments.len());
    let mut arriving: HashMap<[u32; 2], u32> = HashMap::with_capacity(segments.len());
    for (k, [a, b]) in segments.iter().enumerate() {
        starts.entry(a.ends).or_default().push(k as u32);
        *arriving.entry(b.ends).or_default() += 1;
    }
    // the last in each list is taken first: the order of the segments is kept by turning the lists round
    starts.values_mut().for_each(|list| list.reverse());
    let mut used = vec![false; segments.len()];
    let mut chains = Vec::new();
    let open = (0..segments.len()).filter(|&k| !arriving.contains_key(&segments[k][0].ends));
    for first in open.chain(0..segments.len()) {
        if used[first] {
            continue;
        }
        let mut places = vec![segments[first][0]];
        let mut here = first;
        loop {
            used[here] = true;
            let end = segments[here][1];
            let next = starts.get_mut(&end.ends).and_then(|list| {
                while list.last().is_some_and(|&k| used[k as usize]) {
                    list.pop();
                }
                list.pop()
            });
            match next {
                Some(next) => {
                    places.push(end);
                    here = next as usize;
                }
                None => {
                    let closed = end.ends == places[0].ends;
                    if !closed {
                        places.push(end);
                    }
                    chains.push(Chain { places, closed });
                    break;
                }
            }
        }
    }
    chains
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use crate::geometry::Wall::{Lower, Upper};
    use crate::geometry::{Plan, Side};
    use crate::numerics::mesh::SizeField;
    use std::sync::Arc;

    /// A cell of 2 by 1 with a square hole of side 0.4 in its middle, m.
    pub(crate) fn mesh() -> Mesh {
        let corners = [[0.0, 0.0], [2.0, 0.0], [2.0, 1.0], [0.0, 1.0]];
        let sides = [Side::Wall(Lower), Side::Outlet, Side::Wall(Upper), Side::Inlet];
        let hole = vec![[0.8, 0.3], [1.2, 0.3], [1.2, 0.7], [0.8, 0.7]];
        let plan = Arc::new(Plan::polygon(&corners, &sides, &[hole]).unwrap());
        Mesh::generate_with_count(&plan, &SizeField::new(0.05, 0.3, Vec::new()), 3000).unwrap()
    }

    fn area(chains: &[Chain], points: &[Point]) -> f64 {
        let of = |line: &[Point]| -> f64 {
            (0..line.len())
                .map(|k| {
                    let (p, q) = (line[k], line[(k + 1) % line.len()]);
                    0.5 * (p[0] * q[1] - p[1] * q[0])
                })
                .sum()
        };
        chains.iter().map(|chain| of(&chain.points(points))).sum()
    }

    /// The region of a linear function is a polygon whose area is known: x >= 0.9 leaves 1.1 less 0.3 * 0.4 of the hole. Exact
    /// but for the rounding of some thousand terms.
    #[test]
    fn regions_of_a_linear_function_have_its_area() {
        let mesh = mesh();
        let x: Vec<f64> = mesh.points.iter().map(|p| p[0]).collect();
        for (level, expected) in [(0.9, 1.1 - 0.12), (0.1, 1.9 - 0.16), (-1.0, 2.0 - 0.16), (1.5, 0.5), (3.0, 0.0)] {
            let chains = region(&mesh, &x, level);
            assert!(chains.iter().all(|c| c.closed));
            assert!((area(&chains, &mesh.points) - expected).abs() < 1e-12, "{level}");
        }
        assert_eq!(region(&mesh, &x, -1.0).len(), 2);
    }

    /// Levels that pass through vertices, and a plateau: the chains stay closed and the areas of neighbouring bands add up.
    #[test]
    fn levels_through_vertices_leave_no_loose_ends() {
        let mesh = mesh();
        let f: Vec<f64> = mesh.points.iter().map(|p| ((7.0 * p[0]).sin() * (5.0 * p[1]).cos() * 4.0).round()).collect();
        for level in [-3.0, -1.0, 0.0, 1.0, 2.5] {
            let (above, below) = (region(&mesh, &f, level), {
                let turned: Vec<f64> = f.iter().map(|x| -x).collect();
                region(&mesh, &turned, -level)
            });
            assert!(above.iter().chain(&below).all(|c| c.closed), "{level}");
            // where the field equals the level both count it
            let sum = area(&above, &mesh.points) + area(&below, &mesh.points);
            assert!(sum >= 1.84 - 1e-12);
        }
    }

    /// Iso-lines of y end at the ends of the cell, with what is above on the left, so from the inlet on; in between they are
    /// broken by nothing but the hole.
    #[test]
    fn iso_lines_run_from_boundary_to_boundary() {
        let mesh = mesh();
        let y: Vec<f64> = mesh.points.iter().map(|p| p[1]).collect();
        let ends = |level: f64| -> Vec<[f64; 2]> {
            let lines = iso_lines(&mesh, &y, level);
            lines.iter().map(|c| c.points(&mesh.points)).map(|l| [l[0][0], l[l.len() - 1][0]]).collect()
        };
        assert_eq!(ends(0.9), [[0.0, 2.0]]);
        let mut broken = ends(0.51);
        broken.sort_by(|a, b| a[0].total_cmp(&b[0]));
        assert_eq!(broken.len(), 2);
        assert!((broken[0][1] - 0.8).abs() < 1e-12 && (broken[1][0] - 1.2).abs() < 1e-12);
    }
}
