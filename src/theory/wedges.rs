//! The flow in space: wedges stacked through the gap, with the three components of the layer velocity.
//!
//! At height ζ = 2z/b the fluid moves along the plates with the layer velocity u of first-order inertia, or with
//! `u = (3/2)(1 − ζ²) V` without, and across the gap with
//!
//! `w = dz/dt = (ζ/2) u.∇b + (b/2) d ζ/dt`:
//!
//! fluid stays on its ζ to leading order, so that it rises and sinks with the plates (first term), and drifts by inertia (second
//! term). With div(b V) = 0 the field has no divergence, to the order of the correction.
//!
//! With the edge layer, V is the outer flow that its displacement leaves, V0 + V_e + V1 at the mean speed of the pattern, and within a few
//! gaps of a solid edge the parabola gives way to the exact profile of slow flow along a straight edge ([`crate::theory::edge_layer::profile`]). The
//! flux through any cut across the layer is then the one of the outer flow less δ* V: the same for all cuts, to first order in
//! b/L. Velocities across the edge and inertia are not quantitative in that band.
//!
//! Range: without the edge layer as the layers, not within about three gaps of a solid edge.

use crate::base::{Error, Result};
use crate::numerics::fem::Space;
use crate::theory::edge_layer::EdgeLayer;
use crate::theory::edge_layer::profile;
use crate::theory::ideal::Pattern;
use crate::theory::inertia::Inertia;
use rayon::prelude::*;

/// Most wedges in a file; of nested meshes the finest that keeps within is taken.
pub const MOST_WEDGES: usize = 2_000_000;

/// Most wedges one above the other.
pub const MOST_LAYERS: usize = 256;

/// Wedges through the gap with their fields; point j N + v stands at height j over vertex v of N.
#[derive(Debug, Clone)]
pub struct LayerGrid {
    /// Points, m; z from mid-gap.
    pub points: Vec<[f64; 3]>,
    /// Velocity, m/s.
    pub velocity: Vec<[f64; 3]>,
    /// Pressure of the ideal pattern, Pa.
    pub pressure: Vec<f64>,
    /// Heights ζ, from the lower plate to the upper.
    pub heights: Vec<f64>,
    /// Triangles under the wedges.
    pub triangles: Vec<[u32; 3]>,
    /// What the velocity is, in a sentence.
    pub meaning: &'static str,
}

const OUTER: &str = "velocity: outside the edge layer; not valid within three gaps of a solid edge";
const COMPOSITE: &str = "velocity: with the displacement by the edge layer, and inside it with the exact profile of slow flow along a \
straight edge; inertia and velocities across the edge are not quantitative within three gaps of a solid edge";

/// The corrections a layer velocity takes in.
#[derive(Debug, Clone, Copy, Default)]
pub struct Corrections<'a> {
    /// First-order inertia.
    pub inertia: Option<&'a Inertia>,
    /// The edge layer.
    pub edge_layer: Option<&'a EdgeLayer>,
}

/// Heights zeta_j = -cos(π j/n), j = 0 to n: both plates and n - 1 heights between, finer near the plates.
///
/// They are the nodes of Clenshaw and Curtis's rule: what is written can be integrated through the gap exactly, since the layer
/// profiles are polynomials of degree seven at most.
pub fn layer_heights(layers: usize) -> Vec<f64> {
    let n = layers.max(1);
    // sin gives heights that are exactly opposite, and zero in the middle
    let angle = |j: usize| std::f64::consts::FRAC_PI_2 * (2.0 * j as f64 - n as f64) / n as f64;
    (0..=n).map(|j| angle(j).sin()).collect()
}

impl LayerGrid {
    /// So many layers of wedges over the mesh, or over the finest of its nested levels that keeps within [`MOST_WEDGES`].
    ///
    /// # Errors
    /// [`Error::Usage`] if there are no layers or more than [`MOST_LAYERS`], or if the coarsest level has too many triangles.
    pub fn new(space: &Space, pattern: &Pattern, with: Corrections, layers: usize) -> Result<LayerGrid> {
        if !(1..=MOST_LAYERS).contains(&layers) {
            let remedy = format!("ask for 1 to {MOST_LAYERS}; 12 to 16 show the profile well");
            return Err(Error::argument(format!("{layers} layers through the gap cannot be written"), remedy));
        }
        let mesh = &space.mesh;
        let coarser = mesh.coarser.iter().rev().map(|level| (level.vertices, &level.triangles));
        let mut levels = std::iter::once((mesh.points.len(), &mesh.triangles)).chain(coarser);
        let Some((count, triangles)) = levels.find(|(_, t)| t.len().saturating_mul(layers) <= MOST_WEDGES) else {
            let least = mesh.coarser.first().map_or(mesh.triangles.len(), |level| level.triangles.len());
            let what = format!("{layers} layers over {least} triangles are more than {MOST_WEDGES} wedges");
            return Err(Error::argument(
                what,
                format!("ask for at most {} layers, or for fewer triangles", MOST_WEDGES / least),
            ));
        };
        let heights = layer_heights(layers);
        let distances = with.edge_layer.map(|_| profile::distances(space));
        let velocity: Vec<Vec<[f64; 3]>> = heights
            .par_iter()
            .map(|&zeta| {
                let mut layer = layer_velocity(space, pattern, with, zeta, count);
                for (u, &n) in layer.iter_mut().zip(distances.iter().flatten()) {
                    let slowed = profile::slowing(n, zeta);
                    *u = u.map(|x| slowed * x);
                }
                layer
            })
            .collect();
        let place = |zeta: f64, v: usize| [mesh.points[v][0], mesh.points[v][1], 0.5 * zeta * space.gap[v]];
        Ok(LayerGrid {
            points: heights.iter().flat_map(|&zeta| (0..count).map(move |v| place(zeta, v))).collect(),
            velocity: velocity.concat(),
            pressure: pattern.pressure[..count].repeat(heights.len()),
            heights,
            triangles: triangles.clone(),
            meaning: if with.edge_layer.is_some() { COMPOSITE } else { OUTER },
        })
    }

    /// Number of vertices of the mesh underneath.
    pub fn vertices(&self) -> usize {
        self.points.len() / self.heights.len().max(1)
    }
}

/// Velocity at a height over the first `count` vertices, m/s, with the parabola over the gap.
fn layer_velocity(space: &Space, pattern: &Pattern, with: Corrections, zeta: f64, count: usize) -> Vec<[f64; 3]> {
    let parabola = 1.5 * (1.0 - zeta * zeta);
    let mut along: Vec<[f64; 2]> = match with.inertia {
        Some(inertia) => inertia.layer(zeta),
        None => pattern.velocity.iter().map(|v| v.map(|x| parabola * x)).collect(),
    };
    if let Some(edge) = with.edge_layer {
        let scale = pattern.drive.mean_speed / edge.mean_speed;
        for ((u, corrected), v) in along.iter_mut().zip(&edge.velocity).zip(&pattern.velocity) {
            *u = std::array::from_fn(|k| u[k] + parabola * (scale * corrected[k] - v[k]));
        }
    }
    let drift = with.inertia.map(|inertia| inertia.drift(space, zeta));
    let across = |v: usize| {
        // grad b = b (grad b/b)
        let slope = space.gap_slope.get(v).map_or(0.0, |s| along[v][0] * s[0] + along[v][1] * s[1]);
        0.5 * zeta * space.gap[v] * slope + drift.as_ref().map_or(0.0, |drift| drift[v])
    };
    (0..count).map(|v| [along[v][0], along[v][1], across(v)]).collect()
}
