//! How far the observed pattern departs from the ideal one: every effect by itself and together.
//!
//! To first order the contributions add (orders: edge layer b/L; inertia Re* and Re* b/L; gap db/b; confinement by blockage):
//! `observed = ideal + edge layer + inertia + gap + confinement`. All patterns are compared at the same mean speed U. Each
//! contribution is a sum of [`Part`]s that scale by known powers of speed, gap and viscosity, so that a sweep needs no further
//! solve.

mod measure;
mod region;
mod rows;
mod sweep;
mod verdict;

pub use measure::{Measures, Reference};
pub use region::Region;
pub use sweep::{Scale, SweepRow, scale_of, total};
pub use verdict::{Threshold, Verdict, verdict};

use crate::numerics::fem::Space;
use crate::theory::inertia::{Inertia, layers};

/// A departure of the velocity that scales by powers.
#[derive(Debug, Clone)]
pub struct Part {
    /// Departure at the dye height, over the parabola (3/2)(1 - zeta^2), m/s.
    pub at_height: Vec<[f64; 2]>,
    /// Departure of the gap mean, m/s.
    pub gap_mean: Vec<[f64; 2]>,
    /// Power of speed over viscosity: the departure over U goes as (U/nu) to this power.
    pub inertia_power: i32,
    /// Power of the gap.
    pub gap_power: i32,
}

/// One effect.
#[derive(Debug, Clone)]
pub struct Contribution {
    /// `edge_layer`, `inertia`, `gap` or `confinement`.
    pub name: &'static str,
    /// Its parts.
    pub parts: Vec<Part>,
    /// Estimated numerical error of the speed departure, root mean square, fraction of U.
    pub numerical_error: f64,
    /// Estimated size of what first order neglects in the speed departure, root mean square, fraction of U; none if unknown.
    pub neglected: Option<f64>,
}

impl Contribution {
    /// The departure at a scale, at the dye height or of the gap mean, m/s for the case's own U.
    pub fn departure(&self, scale: Scale, gap_mean: bool) -> Vec<[f64; 2]> {
        let count = self.parts.first().map_or(0, |part| part.gap_mean.len());
        let mut sum = vec![[0.0; 2]; count];
        for part in &self.parts {
            let factor = scale.factor(part);
            let field = if gap_mean { &part.gap_mean } else { &part.at_height };
            for (s, d) in sum.iter_mut().zip(field) {
                *s = [s[0] + factor * d[0], s[1] + factor * d[1]];
            }
        }
        sum
    }
}

/// The inertia contribution at a height: V1 of the ends, V1 of the edge term, and the layers.
pub fn inertia_parts(inertia: &Inertia, height: f64) -> Vec<Part> {
    let difference = |v: usize, k: usize| inertia.correction[v][k] - inertia.edge_part[v][k];
    let by_ends: Vec<[f64; 2]> = (0..inertia.correction.len()).map(|v| [difference(v, 0), difference(v, 1)]).collect();
    let ratio = layers::over_parabola(height);
    let layer: Vec<[f64; 2]> = inertia.layer_vector().into_iter().map(|n| n.map(|x| ratio * x)).collect();
    let still = vec![[0.0; 2]; layer.len()];
    vec![
        Part { at_height: by_ends.clone(), gap_mean: by_ends, inertia_power: 1, gap_power: 2 },
        Part {
            at_height: inertia.edge_part.clone(),
            gap_mean: inertia.edge_part.clone(),
            inertia_power: 1,
            gap_power: 3,
        },
        Part { at_height: layer, gap_mean: still, inertia_power: 1, gap_power: 2 },
    ]
}

/// A departure that is the same at every height and does not depend on speed.
pub fn still_part(departure: Vec<[f64; 2]>, gap_power: i32) -> Part {
    Part { at_height: departure.clone(), gap_mean: departure, inertia_power: 0, gap_power }
}

/// Estimated error of the velocity, root mean square over the region, as a fraction of the mean speed: the mean of the
/// velocities from pressure and stream function is off by half their difference (Prager & Synge 1947), which the shares of
/// the bracket measure. The bound holds over the whole fluid; by parts it is an estimate.
pub fn velocity_error(space: &Space, shares: &[f64], shape_factor: f64, region: &Region, width: f64) -> f64 {
    let mut within = vec![false; space.mesh.points.len()];
    region.vertices.iter().for_each(|&v| within[v] = true);
    let (mut sum, mut area) = (0.0, 0.0);
    for (t, corners) in space.mesh.triangles.iter().enumerate() {
        if corners.iter().all(|&v| within[v as usize]) {
            sum += shares[t].max(0.0);
            area += space.area(t);
        }
    }
    if area > 0.0 { 0.5 * width / shape_factor * (sum / area).sqrt() } else { 0.0 }
}
