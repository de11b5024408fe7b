//! Vertex fields on a finer mesh, to be drawn: round each vertex a quadratic is fitted by least squares to the vertices within two sides
//! of it, and its value and gradient are carried on to the middles of halved sides as by a cubic along the side.
//!
//! Between the values of linear elements lie the facets of their triangles and the noise of recovered gradients; both are of the order of the
//! field's error, and both would show in isolines. The fit moves a value by no more than that order: fields that are quadratic are met
//! exactly, others to third order in the size of the triangles. No value leaves the range of those it was fitted to. Nothing that is
//! printed or stored passes through here.

use super::recovery::{cholesky, substitute};
use crate::base::plane::{dot, length, square, stepped, way};
use crate::numerics::mesh::{Mesh, Stars};
use rayon::prelude::*;
use std::sync::Arc;

/// Terms of a quadratic.
const TERMS: usize = 6;

/// A mesh with its long sides halved, and what it takes to bring fields onto it.
#[derive(Debug)]
pub struct Finer {
    /// The finer mesh; its first vertices are those of the mesh it comes from.
    pub mesh: Mesh,
    from: Arc<Mesh>,
    stars: Stars,
    halved: Vec<[u32; 2]>,
    on_boundary: Vec<bool>,
    /// Vertices amid triangles too small for their facets to be seen.
    dense: Vec<bool>,
}

/// Part of the longest side that is drawn below which facets are not seen.
const UNSEEN: f64 = 0.25;

/// Value, gradient and range of a field at a vertex.
#[derive(Debug, Clone, Copy)]
struct Fit {
    value: f64,
    gradient: [f64; 2],
    range: [f64; 2],
}

impl Finer {
    /// The mesh with every side longer than `longest`, m, halved until none is.
    pub fn new(from: Arc<Mesh>, longest: f64) -> Finer {
        let (mesh, halved) = from.split_longer(longest);
        let stars = Stars::new(from.points.len(), &from.triangles);
        let on_boundary = mesh.on_boundary();
        let mut dense = vec![true; from.points.len()];
        for (corners, sides) in from.triangles.iter().zip(from.side_lengths()) {
            if sides.into_iter().any(|side| side > UNSEEN * longest) {
                corners.iter().for_each(|&v| dense[v as usize] = false);
            }
        }
        Finer { mesh, from, stars, halved, on_boundary, dense }
    }

    /// A vertex field of the mesh it comes from: the fitted values, and those between them. Where its triangles are smaller than a quarter
    /// of the longest side, its values stay.
    pub fn fitted(&self, values: &[f64]) -> Vec<f64> {
        self.carried(self.fits(values))
    }

    /// The same with the values of the vertices as they are: for fields whose values on an edge are exact. Where both ends of a side of the
    /// boundary have one value, so has its middle.
    pub fn interpolated(&self, values: &[f64]) -> Vec<f64> {
        let kept = |(fit, &value): (Fit, &f64)| Fit { value, ..fit };
        self.carried(self.fits(values).into_iter().zip(values).map(kept).collect())
    }

    fn fits(&self, values: &[f64]) -> Vec<Fit> {
        (0..self.from.points.len()).into_par_iter().map_init(Vec::new, |patch, v| self.fit(v, values, patch)).collect()
    }

    /// Carries values and gradients on to the middles of halved sides, each after its ends.
    fn carried(&self, mut fits: Vec<Fit>) -> Vec<f64> {
        for (k, &[a, b]) in self.halved.iter().enumerate() {
            let v = self.from.points.len() + k;
            let [p, q] = [a, b].map(|end| self.mesh.points[end as usize]);
            let side = way(p, q);
            let (one, other) = (fits[a as usize], fits[b as usize]);
            let rise = other.value - one.value;
            let mean = [0, 1].map(|i| 0.5 * (one.gradient[i] + other.gradient[i]));
            // of the cubic along the side: its slope in the middle, over that of the mean gradient
            let steeper = 1.5 * (rise - dot(mean, side)) / square(side);
            let gradient = stepped(mean, steeper, side);
            let bend = [0, 1].map(|i| one.gradient[i] - other.gradient[i]);
            let range = [one.range[0].min(other.range[0]), one.range[1].max(other.range[1])];
            let value = if self.on_boundary[v] && rise == 0.0 {
                one.value
            } else {
                let off = way(stepped(p, 0.5, side), self.mesh.points[v]);
                one.value + 0.5 * rise + 0.125 * dot(bend, side) + dot(gradient, off)
            };
            fits.push(Fit { value: value.clamp(range[0], range[1]), gradient, range });
        }
        fits.into_iter().map(|fit| fit.value).collect()
    }

    fn fit(&self, v: usize, values: &[f64], patch: &mut Vec<u32>) -> Fit {
        if self.dense[v] {
            return Fit { value: values[v], gradient: [0.0; 2], range: [values[v]; 2] };
        }
        patch.clear();
        patch.push(v as u32);
        self.widen(patch);
        self.widen(patch);
        if patch.len() < 2 * TERMS {
            self.widen(patch);
        }
        let within = patch.iter().map(|&w| values[w as usize]);
        let range = within.fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], x| [low.min(x), high.max(x)]);
        let as_it_is = Fit { value: values[v], gradient: [0.0; 2], range };
        let points = &self.from.points;
        let offset = |w: u32| way(points[v], points[w as usize]);
        let reach = patch.iter().map(|&w| length(offset(w))).fold(0.0, f64::max);
        let mut normal = [[0.0; TERMS]; TERMS];
        let mut rhs = [0.0; TERMS];
        for &w in patch.iter() {
            let [x, y] = offset(w).map(|d| d / reach);
            let weight = (1.0 - 0.9 * length([x, y])).powi(2);
            let terms = [1.0, x, y, 0.5 * x * x, x * y, 0.5 * y * y];
            for i in 0..TERMS {
                for j in i..TERMS {
                    normal[i][j] += weight * terms[i] * terms[j];
                }
                rhs[i] += weight * terms[i] * (values[w as usize] - values[v]);
            }
        }
        let Some(factor) = cholesky(normal) else { return as_it_is };
        let found = substitute(&factor, rhs);
        let value = (values[v] + found[0]).clamp(range[0], range[1]);
        Fit { value, gradient: [found[1] / reach, found[2] / reach], range }
    }

    /// Adds the vertices one side further off.
    fn widen(&self, patch: &mut Vec<u32>) {
        for k in 0..patch.len() {
            for &t in self.stars.of(patch[k] as usize) {
                patch.extend_from_slice(&self.from.triangles[t as usize]);
            }
        }
        patch.sort_unstable();
        patch.dedup();
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::Point;
    use crate::geometry::{Plan, Side, Wall};
    use crate::numerics::mesh::SizeField;

    /// A cell of 1 by 1 with a square hole, its sides some 0.08 long, halved to 0.02.
    fn finer() -> Finer {
        let sides = [Side::Wall(Wall::Lower), Side::Outlet, Side::Wall(Wall::Upper), Side::Inlet];
        let hole = vec![[0.4, 0.4], [0.6, 0.4], [0.6, 0.6], [0.4, 0.6]];
        let plan = Plan::polygon(&[[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]], &sides, &[hole]).unwrap();
        let mesh = Mesh::generate(&Arc::new(plan), &SizeField::new(0.08, 0.3, vec![]), 10_000).unwrap();
        Finer::new(Arc::new(mesh), 0.02)
    }

    fn largest_error(finer: &Finer, found: &[f64], exact: impl Fn(Point) -> f64) -> f64 {
        let off = finer.mesh.points.iter().zip(found).map(|(&p, f)| (f - exact(p)).abs());
        off.fold(0.0, f64::max)
    }

    /// A quadratic that has no largest or least value inside comes back exactly but for rounding, magnified by the fit, save in the few triangles
    /// where its corners would have to leave the range of the vertices, which they do not.
    #[test]
    fn quadratics_are_met_exactly() {
        let finer = finer();
        let exact = |[x, y]: Point| 3.0 * x * y + x * x - y * y + x;
        let values: Vec<f64> = finer.from.points.iter().map(|&p| exact(p)).collect();
        assert!(finer.mesh.points.len() > 10 * values.len());
        for found in [finer.fitted(&values), finer.interpolated(&values)] {
            assert!(largest_error(&finer, &found, exact) < 1e-10);
        }
    }

    /// Of sin 5x sin 4y the quadratic leaves third derivatives: at most 5³ ρ³/6 with ρ = 2h the reach of the fit and h = 0.08, less than
    /// 0.09, where it is cut off at the boundary; over all it must be less than half of what straight facets leave. Of noise that changes from
    /// vertex to vertex six terms fitted to n vertices keep sqrt(6/n) on the whole, 0.56 for two rings of 19, more where few see it.
    #[test]
    fn what_is_drawn_is_smoother_than_what_was_solved_and_as_near() {
        let finer = finer();
        let exact = |[x, y]: Point| (5.0 * x).sin() * (4.0 * y).sin();
        let values: Vec<f64> = finer.from.points.iter().map(|&p| exact(p)).collect();
        let found = finer.fitted(&values);
        assert!(largest_error(&finer, &found, exact) < 0.09, "{}", largest_error(&finer, &found, exact));
        let size = |list: &[f64]| (list.iter().map(|x| x * x).sum::<f64>() / list.len() as f64).sqrt();
        let off: Vec<f64> = finer.mesh.points.iter().zip(&found).map(|(&p, f)| f - exact(p)).collect();
        let mut straight = values.clone();
        for &[a, b] in &finer.halved {
            straight.push(0.5 * (straight[a as usize] + straight[b as usize]));
        }
        let facets: Vec<f64> = finer.mesh.points.iter().zip(&straight).map(|(&p, f)| f - exact(p)).collect();
        assert!(size(&off) < 0.5 * size(&facets), "{} {}", size(&off), size(&facets));
        let noise: Vec<f64> =
            (0..values.len()).map(|k| 0.01 * if (k * 7919) % 1000 < 500 { 1.0 } else { -1.0 }).collect();
        let noisy: Vec<f64> = values.iter().zip(&noise).map(|(f, n)| f + n).collect();
        let left: Vec<f64> = finer.fitted(&noisy).iter().zip(&found).map(|(a, b)| a - b).collect();
        assert!(size(&left) < 0.75 * size(&noise), "{}", size(&left));
    }

    /// Where the mesh is already as fine as facets are seen nothing is fitted: a field of any roughness stays as it is.
    #[test]
    fn a_mesh_that_is_fine_enough_is_drawn_as_it_is() {
        let finer = finer();
        let coarse = Finer::new(finer.from.clone(), 1.0);
        let rough: Vec<f64> = (0..finer.from.points.len()).map(|k| f64::from((k * 7919 % 1000) as u32)).collect();
        assert_eq!(coarse.fitted(&rough), rough);
        assert!(finer.fitted(&rough)[..rough.len()] != rough[..]);
    }

    /// One value all along the hole, as a stream function has it, stays that value at every vertex added on it.
    #[test]
    fn a_value_that_holds_along_an_edge_holds_between_its_vertices() {
        let finer = finer();
        let on = |[x, y]: Point| (0.4 - 1e-9..=0.6 + 1e-9).contains(&x) && (0.4 - 1e-9..=0.6 + 1e-9).contains(&y);
        let values: Vec<f64> =
            finer.from.points.iter().map(|&p| if on(p) { 2.0 } else { (9.0 * p[0]).sin() + p[1] }).collect();
        let found = finer.interpolated(&values);
        let added = (values.len()..found.len()).filter(|&v| on(finer.mesh.points[v]));
        assert!(added.clone().count() > 20 && added.clone().all(|v| found[v] == 2.0));
    }
}
