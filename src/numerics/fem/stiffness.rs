//! The stiffness matrix by rows: the diagonal apart, the other entries as 8-byte values with 4-byte columns.

use super::element::{sides, stiffness};
use super::{mean_cube, mean_inverse_cube};
use crate::base::Point;
use crate::base::plane::triangle_area;
use crate::numerics::mesh::{Mesh, Stars};
use rayon::prelude::*;
use std::sync::Arc;

/// Rows assembled at a time by one thread: a fixed partition, so that results do not depend on the number of threads.
const CHUNK: usize = 4096;

/// Which vertices share an edge with which.
#[derive(Debug)]
struct Pattern {
    offsets: Vec<u32>,
    columns: Vec<u32>,
}

impl Pattern {
    fn new(stars: &Stars, triangles: &[[u32; 3]]) -> Self {
        let chunks: Vec<(Vec<u32>, Vec<u32>)> = (0..stars.len().div_ceil(CHUNK))
            .into_par_iter()
            .map(|chunk| {
                let rows = chunk * CHUNK..((chunk + 1) * CHUNK).min(stars.len());
                let mut counts = Vec::with_capacity(rows.len());
                let mut columns = Vec::with_capacity(7 * rows.len());
                let mut row: Vec<u32> = Vec::with_capacity(16);
                for v in rows {
                    row.clear();
                    for &t in stars.of(v) {
                        row.extend(triangles[t as usize].iter().filter(|&&w| w as usize != v));
                    }
                    row.sort_unstable();
                    row.dedup();
                    counts.push(row.len() as u32);
                    columns.extend_from_slice(&row);
                }
                (counts, columns)
            })
            .collect();
        let mut offsets = Vec::with_capacity(stars.len() + 1);
        let mut columns = Vec::with_capacity(chunks.iter().map(|c| c.1.len()).sum());
        let mut end = 0;
        offsets.push(end);
        for (counts, part) in chunks {
            for count in counts {
                end += count;
                offsets.push(end);
            }
            columns.extend_from_slice(&part);
        }
        Pattern { offsets, columns }
    }

    fn row(&self, v: usize) -> std::ops::Range<usize> {
        self.offsets[v] as usize..self.offsets[v + 1] as usize
    }
}

/// The stiffness matrix of all vertices, before any condition.
#[derive(Debug, Clone)]
pub struct Stiffness {
    pattern: Arc<Pattern>,
    off_diagonal: Vec<f64>,
    /// Diagonal entries.
    pub diagonal: Vec<f64>,
}

impl Stiffness {
    fn assemble(
        pattern: &Arc<Pattern>,
        stars: &Stars,
        points: &[Point],
        triangles: &[[u32; 3]],
        coefficient: impl Fn(&[u32; 3]) -> f64 + Sync,
    ) -> Self {
        let mut off_diagonal = vec![0.0; pattern.columns.len()];
        let mut diagonal = vec![0.0; stars.len()];
        let mut pieces = Vec::new();
        let (mut off_rest, mut diagonal_rest) = (off_diagonal.as_mut_slice(), diagonal.as_mut_slice());
        for start in (0..stars.len()).step_by(CHUNK) {
            let end = (start + CHUNK).min(stars.len());
            let entries = (pattern.offsets[end] - pattern.offsets[start]) as usize;
            let (off, rest) = off_rest.split_at_mut(entries);
            let (diag, diag_rest) = diagonal_rest.split_at_mut(end - start);
            (off_rest, diagonal_rest) = (rest, diag_rest);
            pieces.push((start, off, diag));
        }
        pieces.into_par_iter().for_each(|(start, off, diag)| {
            let first = pattern.offsets[start] as usize;
            for (k, d) in diag.iter_mut().enumerate() {
                let v = start + k;
                let row = pattern.row(v);
                let columns = &pattern.columns[row.clone()];
                let values = &mut off[row.start - first..row.end - first];
                for &t in stars.of(v) {
                    let corners = triangles[t as usize];
                    let places = corners.map(|w| points[w as usize]);
                    let s = sides(places);
                    let weight = coefficient(&corners) / (4.0 * triangle_area(places));
                    let i = corners.iter().position(|&w| w as usize == v).unwrap_or(0);
                    for j in 0..3 {
                        let entry = weight * (s[i][0] * s[j][0] + s[i][1] * s[j][1]);
                        if j == i {
                            *d += entry;
                        } else if let Ok(at) = columns.binary_search(&corners[j]) {
                            values[at] += entry;
                        }
                    }
                }
            }
        });
        Stiffness { pattern: pattern.clone(), off_diagonal, diagonal }
    }

    /// Number of vertices.
    pub fn vertices(&self) -> usize {
        self.diagonal.len()
    }

    /// Off-diagonal entries of a row: columns and values.
    pub fn row(&self, v: usize) -> (&[u32], &[f64]) {
        let row = self.pattern.row(v);
        (&self.pattern.columns[row.clone()], &self.off_diagonal[row])
    }

    /// Row v times x.
    #[inline]
    pub fn row_times(&self, v: usize, x: &[f64]) -> f64 {
        let (columns, values) = self.row(v);
        columns.iter().zip(values).fold(self.diagonal[v] * x[v], |sum, (&c, a)| sum + a * x[c as usize])
    }

    /// `a` times this matrix and `c` times masses on the diagonal.
    pub fn scaled_with_mass(&self, a: f64, c: f64, mass: &[f64]) -> Stiffness {
        Stiffness {
            pattern: self.pattern.clone(),
            off_diagonal: self.off_diagonal.iter().map(|x| a * x).collect(),
            diagonal: self.diagonal.iter().zip(mass).map(|(x, m)| a * x + c * m).collect(),
        }
    }

    /// This matrix without the shares of some triangles, each with its mean coefficient.
    pub fn without(&self, points: &[Point], struck: impl IntoIterator<Item = ([u32; 3], f64)>) -> Stiffness {
        let mut rest = self.clone();
        for (corners, coefficient) in struck {
            let entries = stiffness(corners.map(|w| points[w as usize]), coefficient);
            for (i, &v) in corners.iter().enumerate() {
                let row = self.pattern.row(v as usize);
                for (j, w) in corners.iter().enumerate() {
                    let entry = entries[i][j];
                    if i == j {
                        rest.diagonal[v as usize] -= entry;
                    } else if let Ok(at) = self.pattern.columns[row.clone()].binary_search(w) {
                        rest.off_diagonal[row.start + at] -= entry;
                    }
                }
            }
        }
        rest
    }

    /// This matrix without the exchange along some edges, each named once.
    pub fn parted(&self, edges: impl IntoIterator<Item = [u32; 2]>) -> Stiffness {
        let mut rest = self.clone();
        for [a, b] in edges {
            for (v, w) in [(a, b), (b, a)] {
                let row = self.pattern.row(v as usize);
                if let Ok(at) = self.pattern.columns[row.clone()].binary_search(&w) {
                    rest.diagonal[v as usize] += rest.off_diagonal[row.start + at];
                    rest.off_diagonal[row.start + at] = 0.0;
                }
            }
        }
        rest
    }

    /// The energy x . A x.
    pub fn energy(&self, x: &[f64]) -> f64 {
        (0..self.vertices()).map(|v| x[v] * self.row_times(v, x)).sum()
    }
}

/// Stiffness matrices of all nested levels, coarsest first, for the pressure (coefficient b³) and the stream function
/// (coefficient b^-3), both relative to the gap at the middle of the cell. With a uniform gap they are the same matrices.
#[derive(Debug, Clone)]
pub struct Levels {
    /// For the pressure.
    pub pressure: Arc<Vec<Stiffness>>,
    /// For the stream function.
    pub stream: Arc<Vec<Stiffness>>,
}

impl Levels {
    /// Assembles all levels of a mesh; `gap_ratio` is b over the gap at the cell's middle, vertex by vertex, none if uniform.
    pub fn assemble(mesh: &Mesh, stars: &Stars, gap_ratio: Option<&[f64]>) -> Self {
        let (mut pressure, mut stream) = (Vec::new(), Vec::new());
        let coarse = mesh.coarser.iter().map(|level| (level.vertices, level.triangles.as_slice()));
        let finest = std::iter::once((mesh.points.len(), mesh.triangles.as_slice()));
        for (vertices, triangles) in coarse.chain(finest) {
            let own;
            let stars = if vertices == mesh.points.len() {
                stars
            } else {
                own = Stars::new(vertices, triangles);
                &own
            };
            let pattern = Arc::new(Pattern::new(stars, triangles));
            let points = &mesh.points[..vertices];
            match gap_ratio {
                None => pressure.push(Stiffness::assemble(&pattern, stars, points, triangles, |_| 1.0)),
                Some(b) => {
                    let of = |t: &[u32; 3]| t.map(|v| b[v as usize]);
                    pressure.push(Stiffness::assemble(&pattern, stars, points, triangles, |t| mean_cube(of(t))));
                    stream.push(Stiffness::assemble(&pattern, stars, points, triangles, |t| mean_inverse_cube(of(t))));
                }
            }
        }
        let pressure = Arc::new(pressure);
        let stream = if gap_ratio.is_none() { pressure.clone() } else { Arc::new(stream) };
        Levels { pressure, stream }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two triangles of a unit square, by hand: halves along the sides, nothing across.
    #[test]
    fn triangles_and_edges_are_taken_out() {
        let points = [[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]];
        let triangles = [[0, 1, 2], [0, 2, 3]];
        let stars = Stars::new(4, &triangles);
        let pattern = Arc::new(Pattern::new(&stars, &triangles));
        let whole = Stiffness::assemble(&pattern, &stars, &points, &triangles, |_| 3.0);
        let entry = |a: &Stiffness, v: usize, w: u32| {
            let (columns, values) = a.row(v);
            columns.iter().position(|&c| c == w).map(|k| values[k])
        };
        assert_eq!((whole.diagonal[0], entry(&whole, 0, 1), entry(&whole, 0, 2)), (3.0, Some(-1.5), Some(0.0)));
        let one = whole.without(&points, [(triangles[1], 3.0)]);
        assert_eq!((one.diagonal.as_slice(), entry(&one, 0, 3)), ([1.5, 3.0, 1.5, 0.0].as_slice(), Some(0.0)));
        assert_eq!(one.energy(&[0.0, 1.0, 1.0, 7.0]), 1.5, "half of the square at a slope of one, times three");
        let parted = whole.parted([[0, 1]]);
        assert_eq!((parted.diagonal[0], parted.diagonal[1], entry(&parted, 1, 0)), (1.5, 1.5, Some(0.0)));
        assert!((0..4).all(|v| parted.row_times(v, &[1.0; 4]) == 0.0));
    }
}
