//! Interpolation of values at scattered places: cubic pieces on the Delaunay triangles, each split at its centroid (Clough & Tocher
//! 1965, Proc. Conf. Matrix Methods in Structural Mechanics, 515; the control points as in Farin 1985, Computer Aided Geometric
//! Design 2, 19).
//!
//! Continuous with its gradient, exact at the places and for quadratics: the gradient at a place is that of the quadratic fitted by
//! least squares to its neighbours in the triangulation and theirs, or of a plane where they leave a quadratic undetermined.

use crate::base::Point;
use crate::base::plane::{
    Vector, barycentric, centroid, distance, dot, left, length, square, stepped, triangle_area, way,
};
use rayon::prelude::*;
use spade::handles::FixedVertexHandle;
use spade::{
    DelaunayTriangulation, HasPosition, HierarchyHintGenerator, Point2, PositionInTriangulation, Triangulation,
};

/// Places outside the hull by less than this, relative to its size, count as on it.
pub(super) const OUTSIDE: f64 = 1e-9;

/// A pivot smaller than this, relative to the largest, leaves a fit undetermined.
const SINGULAR: f64 = 1e-10;

type Mesh = DelaunayTriangulation<Node, (), (), (), HierarchyHintGenerator<f64>>;

#[derive(Debug, Clone, Copy)]
struct Node {
    at: Point,
    index: usize,
}

impl HasPosition for Node {
    type Scalar = f64;
    fn position(&self) -> Point2<f64> {
        Point2::new(self.at[0], self.at[1])
    }
}

/// Values at scattered places, in units of their extent from their lower left corner.
#[derive(Debug, Clone)]
pub(super) struct Scatter {
    mesh: Mesh,
    centre: Point,
    values: Vec<f64>,
    slopes: Vec<[f64; 2]>,
}

impl Scatter {
    /// Triangulates the places; x and y from 0 to 1. None if they have no three off a line.
    pub fn of(points: &[[f64; 3]]) -> Option<Scatter> {
        let tiny = |x: f64| if x.abs() < 1e-100 { 0.0 } else { x };
        let nodes: Vec<Node> =
            points.iter().enumerate().map(|(index, p)| Node { at: [tiny(p[0]), tiny(p[1])], index }).collect();
        let mesh: Mesh = Triangulation::bulk_load(nodes).ok()?;
        if mesh.num_inner_faces() == 0 {
            return None;
        }
        let values: Vec<f64> = points.iter().map(|p| p[2]).collect();
        let hull: Vec<Point> = mesh.convex_hull().map(|edge| edge.from().data().at).collect();
        let centre = [0, 1].map(|k| hull.iter().map(|p| p[k]).sum::<f64>() / hull.len() as f64);
        let handles: Vec<FixedVertexHandle> = mesh.fixed_vertices().collect();
        let fitted: Vec<(usize, [f64; 2])> = handles
            .into_par_iter()
            .map(|handle| (mesh.vertex(handle).data().index, fitted_slope(&mesh, handle, points)))
            .collect();
        let mut slopes = vec![[0.0; 2]; points.len()];
        fitted.into_iter().for_each(|(index, slope)| slopes[index] = slope);
        Some(Scatter { mesh, centre, values, slopes })
    }

    /// Value and gradient; none outside the convex hull of the places.
    pub fn value(&self, at: Point) -> Option<(f64, [f64; 2])> {
        if !(at[0].is_finite() && at[1].is_finite()) {
            return None;
        }
        // a place outside by rounding, or in a sliver between places that lie on a line but for rounding, is moved inwards
        let to_centre = way(at, self.centre);
        let inwards = stepped(at, 4.0 * OUTSIDE / length(to_centre).max(OUTSIDE), to_centre);
        let corners = match self.triangle(at) {
            Some(corners) if thickness(&corners) > OUTSIDE => corners,
            found => self.triangle(inwards).or(found)?,
        };
        let places = corners.map(|(_, p)| p);
        let values = corners.map(|(index, _)| self.values[index]);
        let slopes = corners.map(|(index, _)| self.slopes[index]);
        if thickness(&corners) > OUTSIDE {
            return Some(clough_tocher(places, values, slopes, at));
        }
        let far = |k: usize| distance(at, places[k]);
        let k = (0..3).fold(0, |best, k| if far(k) < far(best) { k } else { best });
        Some((values[k] + dot(slopes[k], way(places[k], at)), slopes[k]))
    }

    fn triangle(&self, at: Point) -> Option<[(usize, Point); 3]> {
        let mesh = &self.mesh;
        let face = match mesh.locate(Point2::new(at[0], at[1])) {
            PositionInTriangulation::OnFace(face) => Some(mesh.face(face)),
            PositionInTriangulation::OnEdge(edge) => {
                let edge = mesh.directed_edge(edge);
                edge.face().as_inner().or_else(|| edge.rev().face().as_inner())
            }
            PositionInTriangulation::OnVertex(vertex) => {
                mesh.vertex(vertex).out_edges().find_map(|edge| edge.face().as_inner())
            }
            PositionInTriangulation::OutsideOfConvexHull(_) | PositionInTriangulation::NoTriangulation => None,
        };
        face.map(|face| face.vertices().map(|v| (v.data().index, v.data().at)))
    }
}

/// Least height of a triangle.
fn thickness(corners: &[(usize, Point); 3]) -> f64 {
    let [a, b, c] = corners.map(|(_, p)| p);
    2.0 * triangle_area([a, b, c]) / distance(a, b).max(distance(b, c)).max(distance(c, a))
}

/// Gradient at a place from its neighbours and theirs.
fn fitted_slope(mesh: &Mesh, handle: FixedVertexHandle, points: &[[f64; 3]]) -> [f64; 2] {
    let vertex = mesh.vertex(handle);
    let mut around: Vec<usize> = vertex
        .out_edges()
        .flat_map(|edge| {
            let near = edge.to();
            near.out_edges().map(|next| next.to().data().index).chain([near.data().index]).collect::<Vec<_>>()
        })
        .collect();
    around.sort_unstable();
    around.dedup();
    let own = vertex.data().index;
    let [x, y, value] = points[own];
    let steps: Vec<[f64; 3]> = around
        .into_iter()
        .filter(|&k| k != own)
        .map(|k| [points[k][0] - x, points[k][1] - y, points[k][2] - value])
        .collect();
    let size = steps.iter().map(|s| length([s[0], s[1]])).fold(0.0, f64::max);
    if size == 0.0 {
        return [0.0; 2];
    }
    let rows: Vec<([f64; 5], f64, f64)> = steps
        .iter()
        .map(|s| {
            let (u, v) = (s[0] / size, s[1] / size);
            // near neighbours count more: their misfit of third order is smaller
            ([u, v, u * u, u * v, v * v], s[2], 1.0 / (u * u + v * v))
        })
        .collect();
    let slope = least_squares::<5>(&rows).map(|c| [c[0], c[1]]);
    slope.or_else(|| least_squares::<2>(&rows)).unwrap_or([0.0; 2]).map(|c| c / size)
}

/// Coefficients of the first N columns by weighted least squares; none if undetermined.
fn least_squares<const N: usize>(rows: &[([f64; 5], f64, f64)]) -> Option<[f64; N]> {
    if rows.len() < N {
        return None;
    }
    let mut normal = [[0.0; N]; N];
    let mut right = [0.0; N];
    for (row, value, weight) in rows {
        for i in 0..N {
            right[i] += weight * row[i] * value;
            for j in 0..N {
                normal[i][j] += weight * row[i] * row[j];
            }
        }
    }
    let scale: [f64; N] = std::array::from_fn(|i| normal[i][i].sqrt());
    if scale.contains(&0.0) {
        return None;
    }
    for i in 0..N {
        right[i] /= scale[i];
        for j in 0..N {
            normal[i][j] /= scale[i] * scale[j];
        }
    }
    // elimination without exchange: the matrix is positive definite with ones on its diagonal
    for k in 0..N {
        if normal[k][k] <= SINGULAR || normal[k][k].is_nan() {
            return None;
        }
        let pivot = normal[k];
        for i in k + 1..N {
            let factor = normal[i][k] / pivot[k];
            normal[i].iter_mut().zip(pivot).for_each(|(entry, above)| *entry -= factor * above);
            right[i] -= factor * right[k];
        }
    }
    for k in (0..N).rev() {
        let known: f64 = (k + 1..N).map(|j| normal[k][j] * right[j]).sum();
        right[k] = (right[k] - known) / normal[k][k];
    }
    Some(std::array::from_fn(|i| right[i] / scale[i]))
}

/// The split cubic on a triangle from values and gradients at its corners: value and gradient at a place.
fn clough_tocher(p: [Point; 3], f: [f64; 3], g: [Vector; 3], at: Point) -> (f64, Vector) {
    let c = centroid(p);
    let weights = barycentric(at, p);
    // control points on the sides, towards the centroid, and beside the middle of each side (opposite corner k)
    let side = |i: usize, j: usize| f[i] + dot(g[i], way(p[i], p[j])) / 3.0;
    let inner: [f64; 3] = std::array::from_fn(|i| f[i] + dot(g[i], way(p[i], c)) / 3.0);
    let cross_side: [f64; 3] = std::array::from_fn(|k| {
        let (i, j) = ((k + 1) % 3, (k + 2) % 3);
        let e = way(p[i], p[j]);
        let m = dot(way(p[i], c), e) / square(e);
        let (a, b) = (side(i, j), side(j, i));
        // makes the derivative across the side linear along it
        (1.0 - m) * a + m * b + 0.5 * (inner[i] + inner[j] - (1.0 - m) * (f[i] + b) - m * (a + f[j]))
    });
    let near: [f64; 3] = std::array::from_fn(|i| (inner[i] + cross_side[(i + 1) % 3] + cross_side[(i + 2) % 3]) / 3.0);
    let middle = (near[0] + near[1] + near[2]) / 3.0;
    // the part of the triangle beside the side opposite corner k
    let k = (0..3).fold(0, |best, k| if weights[k] < weights[best] { k } else { best });
    let (i, j) = ((k + 1) % 3, (k + 2) % 3);
    let (u, v, w) = (weights[i] - weights[k], weights[j] - weights[k], 3.0 * weights[k]);
    // second differences of the control points first, then the value (de Casteljau)
    let (a, b) = (side(i, j), side(j, i));
    let blend = |x: f64, y: f64, z: f64| u * x + v * y + w * z;
    let first = [
        [blend(f[i], a, inner[i]), blend(a, b, cross_side[k]), blend(inner[i], cross_side[k], near[i])],
        [blend(a, b, cross_side[k]), blend(b, f[j], inner[j]), blend(cross_side[k], inner[j], near[j])],
        [
            blend(inner[i], cross_side[k], near[i]),
            blend(cross_side[k], inner[j], near[j]),
            blend(near[i], near[j], middle),
        ],
    ];
    let second = first.map(|row| blend(row[0], row[1], row[2]));
    let value = blend(second[0], second[1], second[2]);
    // gradients of u, v, w: those of the barycentric weights of the small triangle (p_i, p_j, c)
    let small = 2.0 * triangle_area(p) / 3.0;
    let turned = |a: Point, b: Point| left(way(a, b)).map(|x| x / small);
    let (du, dv, dw) = (turned(p[j], c), turned(c, p[i]), turned(p[i], p[j]));
    let slope = std::array::from_fn(|n| 3.0 * (du[n] * second[0] + dv[n] * second[1] + dw[n] * second[2]));
    (value, slope)
}
