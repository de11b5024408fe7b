//! The stiffness matrix by rows: the diagonal apart, the other entries as 8-byte values with 4-byte columns.

use super::element::sides;
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
