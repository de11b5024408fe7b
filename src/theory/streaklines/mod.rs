//! Streaklines: dye released at the inlet, followed through the layer field at its own height.
//!
//! In steady flow streaklines, pathlines and streamlines are one. A line obeys dx/dt = u(x, ζ), d ζ/dt = 2 w/b with
//! `u = (3/2)(1 − ζ²)(V0 + V1) + (b²/(4 ν)) g(ζ) N`; without inertia u = (3/2)(1 - ζ²) V0 and ζ stays. Fields are
//! linear on each triangle between their nodal values. Without inertia each step is put back on its value of the stream
//! function, so that lines of equal flux stay so and cannot enter a solid, on which the stream function is constant.
//!
//! Range: within about three gaps of a solid edge the layer field is not valid; there the part of it across the edge is taken
//! out, so that lines pass along the edge. Above a reduced Reynolds number of [`FIRST_ORDER`] lines are those of the ideal pattern.

mod field;
mod follow;
mod seeds;
mod thin;

pub use field::{LayerField, Layers};
pub use follow::{Ending, HIGHEST, Streakline, TOLERANCE, follow};
pub use seeds::{Seed, seeds};
pub use thin::PART;

use crate::base::plane;
use crate::input::case::{Seeding, StreaklineSettings};
use crate::numerics::fem::Space;
use crate::theory::ideal::Pattern;
use crate::theory::inertia::Inertia;
use rayon::prelude::*;

/// Reduced Reynolds number above which first order no longer tells where lines go, so that those of the ideal pattern are followed.
pub const FIRST_ORDER: f64 = 1.0;

/// Whether a reduced Reynolds number is above [`FIRST_ORDER`], rounding aside.
///
/// ```
/// use twinplate::theory::streaklines::is_beyond_first_order;
/// assert!(!is_beyond_first_order(1.0 + 1e-12) && is_beyond_first_order(1.0 + 1e-6));
/// ```
pub fn is_beyond_first_order(reduced: f64) -> bool {
    reduced.abs() > FIRST_ORDER * (1.0 + 1e-9)
}

/// The inertia departure that lines follow at a reduced Reynolds number: none above [`FIRST_ORDER`].
pub fn followed(inertia: Option<&Inertia>, reduced: f64) -> Option<&Inertia> {
    inertia.filter(|_| !is_beyond_first_order(reduced))
}

/// The height that is followed in place of one that lies at a plate.
pub fn shown_height(height: f64) -> f64 {
    height.clamp(-HIGHEST, HIGHEST)
}

/// How fluid moves within reach of a solid edge.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NearEdges {
    /// As the outer flow does, which slips along the edge.
    OuterFlow,
    /// With the exact profile of a straight edge, at rest on it.
    Profile,
}

/// All streaklines a case asks for, from the lower wall upwards.
pub fn streaklines(
    space: &Space,
    pattern: &Pattern,
    inertia: Option<&Inertia>,
    settings: &StreaklineSettings,
    near_edges: NearEdges,
) -> Vec<Streakline> {
    let height = shown_height(settings.height);
    let mut field = LayerField::new(space, pattern, inertia);
    if near_edges == NearEdges::Profile {
        field = field.with_edge_profile(space);
    }
    let seeds = seeds(space, &pattern.stream_function, &settings.seeding);
    seeds.par_iter().map(|seed| follow(space, &field, seed, height)).collect()
}

/// So many lines of equal flux through a pattern given by its gap-averaged velocity (m/s) and stream function (m3/s), at mid-gap.
pub fn follow_all(space: &Space, velocity: &[[f64; 2]], stream: &[f64], count: usize) -> Vec<Streakline> {
    let speed = velocity.iter().map(|&v| plane::length(v)).sum::<f64>() / velocity.len().max(1) as f64;
    let field = LayerField { mean: velocity.to_vec(), layers: None, level: Some(stream), speed, edge_distance: None };
    let seeds = seeds(space, stream, &Seeding::Count(count));
    seeds.par_iter().map(|seed| follow(space, &field, seed, 0.0)).collect()
}

/// Streaklines from the same places at several heights ζ, all of one height before those of the next.
pub fn streaklines_at_heights(
    space: &Space,
    pattern: &Pattern,
    inertia: Option<&Inertia>,
    settings: &StreaklineSettings,
    heights: &[f64],
) -> Vec<Streakline> {
    let at = |&height: &f64| StreaklineSettings { height, ..settings.clone() };
    heights.iter().flat_map(|height| streaklines(space, pattern, inertia, &at(height), NearEdges::OuterFlow)).collect()
}
