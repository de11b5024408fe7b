//! Number of triangles a size field asks for.

use super::sample::parts;
use super::work::Work;
use super::{Mesh, SizeField};
use crate::base::error::MeshFault;
use crate::base::plane::{centroid, distance, distance_squared, middle, triangle_area};
use crate::base::{Error, Point, Result};
use crate::geometry::Plan;
use rayon::prelude::*;
use std::sync::Arc;

/// Most vertices on the outlines when triangles are only to be estimated.
const MOST_SAMPLES: usize = 10_000_000;

/// Triangles between the outlines that are counted one by one; of more, a sample of so many.
const SAMPLE: usize = 4_000;

/// Most sizes asked for in counting, some 20 million triangles: what is left then is counted by the size in its middle.
const MOST_SIZES: usize = 5_000_000;

/// Sizes are good to one part in a hundred.
const NEARLY: f64 = 0.99;

/// A triangle between the outlines, with the wanted size at its corners.
struct Gap {
    corners: [Point; 3],
    sizes: [f64; 3],
}

/// The triangles between the sampled outlines, before any inner vertex is added.
fn outline_triangles(plan: &Plan, size: &SizeField) -> Result<Vec<Gap>> {
    // An outline of very many points is divided finely enough by itself.
    let many = parts(plan) == 1;
    let work = Work::start(plan, size, MOST_SAMPLES, many)?;
    let gap = |corners: [u32; 3]| Gap {
        corners: corners.map(|v| work.place(v as usize)),
        sizes: corners.map(|v| work.wanted[v as usize]),
    };
    Ok(work.inside_triangles().into_iter().map(gap).collect())
}

impl Gap {
    /// Roughly the number of triangles in it, and one for itself: a sliver from sides of the size h on one outline to a corner of
    /// the size H far away, between which the size grows evenly, has the integral 2 A/(h H) of dA/h^2.
    fn weight(&self) -> f64 {
        let mut h = self.sizes;
        h.sort_by(f64::total_cmp);
        let weight = 1.0 + triangle_area(self.corners) / (h[1] * h[2]);
        if weight.is_finite() { weight.max(1.0) } else { 1.0 }
    }
}

impl SizeField {
    /// About the number of triangles a mesh of this field has: the integral of dA / (sqrt(3)/4 h^2), within some 10 %.
    ///
    /// With more than 4000 triangles between the outlines a fixed sample stands for all, which adds some 2 % (standard deviation).
    pub fn estimate_triangles(&self, plan: &Plan) -> Result<f64> {
        Ok(self.count(&outline_triangles(plan, self)?, SAMPLE))
    }

    /// The number of triangles in the gaps, from about `sample` of them.
    ///
    /// Equal strides through the sums of the weights w take a gap with the probability p = w/stride, and those with w above the stride
    /// always; the count c of each is divided by p (Horvitz & Thompson 1952, J. Am. Stat. Assoc. 47, 663). The relative standard
    /// deviation is at most that of c/w among gaps, weighted by w, over the root of `sample`.
    fn count(&self, gaps: &[Gap], sample: usize) -> f64 {
        let mut room = MOST_SIZES;
        if gaps.len() <= sample {
            return gaps.iter().map(|gap| self.count_one(gap, &mut room)).sum();
        }
        let stride = gaps.iter().map(Gap::weight).sum::<f64>() / sample.max(1) as f64;
        let (mut count, mut passed) = (0.0, 0.5 * stride);
        for gap in gaps {
            let weight = gap.weight();
            if weight >= stride {
                count += self.count_one(gap, &mut room);
                continue;
            }
            passed += weight;
            if passed >= stride {
                passed -= stride;
                count += self.count_one(gap, &mut room) * stride / weight;
            }
        }
        count
    }

    /// The same integral by the corners and the centroid of each triangle of a mesh.
    fn count_on(&self, mesh: &Mesh) -> f64 {
        let density = |p: Point| self.at(p).powi(-2) / (0.25 * 3f64.sqrt());
        let at_vertices: Vec<f64> = mesh.points.par_iter().map(|&p| density(p)).collect();
        let areas = mesh.areas();
        let counts: Vec<f64> = mesh
            .triangles
            .par_iter()
            .zip(&areas)
            .map(|(t, area)| {
                let middle = centroid(t.map(|v| mesh.points[v as usize]));
                let corners: f64 = t.iter().map(|&v| at_vertices[v as usize]).sum();
                area * (9.0 * density(middle) + corners) / 12.0
            })
            .collect();
        counts.iter().sum()
    }

    /// The number of triangles in a gap, which is halved, the long way first, until the size hardly varies in it.
    fn count_one(&self, gap: &Gap, room: &mut usize) -> f64 {
        let mut corners = gap.corners;
        let side = |k: &usize| distance_squared(gap.corners[*k], gap.corners[(*k + 1) % 3]);
        corners.rotate_left((0..3).min_by(|i, j| side(i).total_cmp(&side(j))).unwrap_or(0));
        let [a, b, c] = corners;
        let mut count = 0.0;
        // Quadrangles, with the size at the centroid of the one they are a half of, which bounds theirs. In the first the corner across
        // the shortest side stands twice.
        let mut stack: Vec<([Point; 4], (Point, f64))> = vec![([a, b, c, c], (centre([a, b, c, c]), f64::INFINITY))];
        while let Some((q, (before, h_before))) = stack.pop() {
            let here = centre(q);
            let h = self.search(here, h_before + self.growth() * distance(before, here), NEARLY);
            *room = room.saturating_sub(1);
            let [a, b, c, d] = q;
            let square = [[a, c], [b, d], [a, b], [c, d]].map(|[p, q]| distance_squared(p, q));
            if square.into_iter().fold(0.0, f64::max) <= 9.0 * h * h || *room == 0 {
                count += area(q) / (0.25 * 3f64.sqrt() * h * h);
                continue;
            }
            let [ab, bc, cd, da] = [[a, b], [b, c], [c, d], [d, a]].map(|[p, q]| middle(p, q));
            let halves = if distance_squared(ab, cd) >= distance_squared(bc, da) {
                [[a, b, bc, da], [da, bc, c, d]]
            } else {
                [[a, ab, cd, d], [ab, b, c, cd]]
            };
            stack.extend(halves.map(|half| (half, (here, h))));
        }
        count
    }
}

fn area([a, b, c, d]: [Point; 4]) -> f64 {
    triangle_area([a, b, c]) + triangle_area([a, c, d])
}

fn centre([a, b, c, d]: [Point; 4]) -> Point {
    let (first, second) = (triangle_area([a, b, c]), triangle_area([a, c, d]));
    let all = first + second;
    let w = if all > 0.0 { [first + second, first, first + second, second].map(|w| w / all) } else { [0.75; 4] };
    [0, 1].map(|k| (w[0] * a[k] + w[1] * b[k] + w[2] * c[k] + w[3] * d[k]) / 3.0)
}

impl Mesh {
    /// A mesh of about `triangles` triangles, graded as the field asks: all sizes are scaled until the number is met within
    /// 10 %, or as nearly as the outlines allow (a curve keeps edges of at most 0.4 rad turning).
    pub fn generate_with_count(plan: &Arc<Plan>, size: &SizeField, triangles: usize) -> Result<Mesh> {
        Mesh::with_count(plan, size, triangles, &|field| field.estimate_triangles(plan))
    }

    /// The same where a mesh of the plan, at most some times coarser, is at hand to count on: much faster.
    pub(crate) fn regenerate_with_count(&self, size: &SizeField, triangles: usize) -> Result<Mesh> {
        Mesh::with_count(&self.plan, size, triangles, &|field| Ok(field.count_on(self)))
    }

    fn with_count(
        plan: &Arc<Plan>,
        size: &SizeField,
        triangles: usize,
        estimate: &dyn Fn(&SizeField) -> Result<f64>,
    ) -> Result<Mesh> {
        if triangles == 0 {
            return Err(Error::argument("a mesh of 0 triangles was asked for", "ask for at least one"));
        }
        let wanted = triangles as f64;
        let most = triangles.saturating_mul(2).saturating_add(20_000);
        let mut scale = 1.0;
        for _ in 0..4 {
            let ratio = estimate(&size.scaled(scale))? / wanted;
            if !(ratio > 0.0 && ratio.is_finite()) {
                break;
            }
            let before = scale;
            scale *= ratio.sqrt();
            // Scaled down, the field keeps its shape, and the number goes as the inverse square.
            if before.max(scale) <= 1.0 || (ratio - 1.0).abs() < 0.1 {
                break;
            }
        }
        let mut best: Option<(f64, Mesh)> = None;
        for _ in 0..4 {
            let mesh = match Mesh::generate(plan, &size.scaled(scale), most) {
                Ok(mesh) => mesh,
                Err(error) if best.is_none() => return Err(error),
                Err(_) => break,
            };
            let ratio = mesh.triangles.len() as f64 / wanted;
            let miss = ratio.ln().abs();
            if best.as_ref().is_none_or(|(least, _)| miss < *least) {
                best = Some((miss, mesh));
            } else {
                break;
            }
            if miss < 0.1 {
                break;
            }
            scale *= ratio.sqrt();
        }
        best.map(|(_, mesh)| mesh)
            .ok_or_else(|| Error::mesh(MeshFault::Broken, "no mesh was made", "ask for more triangles"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A fan from points on a short side to one far away, about which sizes grow from both ends.
    fn fan(n: usize) -> (SizeField, Vec<Gap>) {
        let x = |k: usize| 0.01 * (k as f64 / n as f64).powi(2);
        let sources = (0..=n).map(|k| ([x(k), 0.0], 1e-4 + 0.1 * x(k))).chain([([0.0, 1.0], 0.01)]).collect();
        let field = SizeField::new(0.1, 0.3, sources);
        let gap = |k: usize| {
            let corners = [[x(k), 0.0], [x(k + 1), 0.0], [0.0, 1.0]];
            Gap { corners, sizes: corners.map(|p| field.at(p)) }
        };
        let gaps = (0..n).map(gap).collect();
        (field, gaps)
    }

    /// A wedge of opening w/L whose size grows evenly, h + g s: 4/sqrt(3) times the integral of (w s/L)/(h + g (L - s))^2 ds.
    #[test]
    fn a_sliver_has_its_integral() {
        let (width, length, h, g): (f64, f64, f64, f64) = (1e-4, 1.0, 1e-3, 0.3);
        let field = SizeField::new(1.0, g, (0..=10).map(|k| ([0.0, width * k as f64 / 10.0], h)).collect());
        let corners = [[0.0, 0.0], [length, 0.5 * width], [0.0, width]];
        let found = field.count_one(&Gap { corners, sizes: corners.map(|p| field.at(p)) }, &mut 10_000);
        // with u = h + g d, d the distance from the short side: w/(g^2 L) ((h + g L) (1/h - 1/(h + g L)) - ln(1 + g L/h))
        let end = h + g * length;
        let integral = width / (g * g * length) * (end * (1.0 / h - 1.0 / end) - (end / h).ln());
        let exact = 4.0 / 3f64.sqrt() * integral;
        // the midpoint rule on parts of 1.5 to 3 h, over which h varies by r = 0.45 to 0.9 of its mean: r^2/4 too little at most, a fifth
        assert!(found < exact && found > 0.8 * exact, "{found} {exact}");
    }

    /// Ten times fewer gaps, hence three standard deviations of 1/sqrt(200) times that of c/w, which lies between a third and three.
    #[test]
    fn a_sample_stands_for_all() {
        let (field, gaps) = fan(2000);
        let all = field.count(&gaps, gaps.len());
        let ratios: Vec<f64> = gaps.iter().map(|gap| field.count_one(gap, &mut 10_000) / gap.weight()).collect();
        let weights: f64 = gaps.iter().map(Gap::weight).sum();
        let moment = |power: i32| -> f64 {
            gaps.iter().zip(&ratios).map(|(gap, r)| gap.weight() * r.powi(power)).sum::<f64>() / weights
        };
        let spread = (moment(2) / moment(1).powi(2) - 1.0).sqrt();
        let sampled = field.count(&gaps, 200);
        assert!(spread < 1.0, "{spread}");
        assert!((sampled / all - 1.0).abs() < 3.0 * spread / 200f64.sqrt() + 0.01, "{sampled} {all} {spread}");
    }
}
