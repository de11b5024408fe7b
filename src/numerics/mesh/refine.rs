//! Uniform refinement into nested levels, new boundary vertices on the true curves.

use super::sample::{clean, middle_parameter};
use super::smooth::least_angle_cosine;
use super::topology::sides;
use super::{BoundaryEdge, Level, Mesh};
use crate::base::Point;
use crate::base::plane::{middle, stepped, way};

/// Cosine of the least angle, 10 degrees, to which moving a vertex onto a curve may narrow a triangle.
const NARROW: f64 = 0.984_807_753;

impl Mesh {
    /// As [`Mesh::refine_uniform`], leaving this mesh as it is.
    pub fn refined(&self) -> Mesh {
        self.clone().refine_uniform().0
    }

    /// Splits every triangle into four by the middles of its sides ("red" refinement).
    ///
    /// Old vertices keep their numbers, new ones follow in the order of the coarse triangles; child triangles 4t to 4t + 3
    /// are those of t, the inner one last. The old triangles become the last of `coarser`. The middle of a boundary edge
    /// moves onto its curve, or part of the way if it would leave a triangle with an angle below 10 degrees (which takes an
    /// edge far too long for its curve); the second value counts the vertices held back so.
    pub fn refine_uniform(mut self) -> (Mesh, usize) {
        let old = self.points.len();
        let (numbers, ends) = sides(&self.triangles, &self.neighbours());
        self.points.reserve(ends.len());
        for &[a, b] in &ends {
            self.points.push(middle(self.points[a as usize], self.points[b as usize]));
        }
        let mut triangles = Vec::with_capacity(4 * self.triangles.len());
        for (&[a, b, c], &number) in self.triangles.iter().zip(&numbers) {
            let [p, q, r] = number.map(|side| old as u32 + side);
            triangles.extend([[a, r, q], [r, b, p], [q, p, c], [p, q, r]]);
        }
        let mut boundary = Vec::with_capacity(2 * self.boundary.len());
        let mut held_back = 0;
        for edge in &self.boundary {
            let t = edge.triangle as usize;
            let corner = |v: u32| self.triangles[t].iter().position(|&w| w == v);
            let (Some(i), Some(j)) = (corner(edge.vertices[0]), corner(edge.vertices[1])) else { continue };
            let middle = old as u32 + numbers[t][3 - i - j];
            let curve = &self.plan.pieces[edge.piece as usize].curve;
            let parameter = middle_parameter(curve, edge.parameters);
            let target = clean(curve.point(parameter));
            held_back += usize::from(!settle(&mut self.points, &triangles[4 * t..4 * t + 4], middle as usize, target));
            let ([a, b], [ta, tb]) = (edge.vertices, edge.parameters);
            boundary.extend([
                BoundaryEdge {
                    vertices: [a, middle],
                    triangle: (4 * t + i) as u32,
                    piece: edge.piece,
                    parameters: [ta, parameter],
                },
                BoundaryEdge {
                    vertices: [middle, b],
                    triangle: (4 * t + j) as u32,
                    piece: edge.piece,
                    parameters: [parameter, tb],
                },
            ]);
        }
        self.coarser.push(Level { vertices: old, triangles: std::mem::replace(&mut self.triangles, triangles) });
        self.boundary = boundary;
        self.parents.extend(ends);
        (self, held_back)
    }
}

/// Moves a vertex to a target as far as the triangles round it allow; whether it got there.
pub(super) fn settle(points: &mut [Point], triangles: &[[u32; 3]], vertex: usize, target: Point) -> bool {
    let start = points[vertex];
    let widest = |points: &[Point]| {
        let cosines = triangles.iter().map(|t| least_angle_cosine(t.map(|v| points[v as usize])));
        cosines.fold(-1.0, f64::max)
    };
    // A triangle that is narrow anyway may not get much narrower.
    let limit = NARROW.max(0.5 * (1.0 + widest(points)));
    for part in [1.0, 0.5, 0.25, 0.125, 0.0] {
        points[vertex] = if part == 1.0 { target } else { stepped(start, part, way(start, target)) };
        if widest(points) <= limit {
            return part == 1.0;
        }
    }
    false
}
