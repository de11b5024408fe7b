//! Dye in a pattern: the one way to its lines.

use super::field::LayerField;
use super::follow::{Streakline, follow};
use super::range::shown_height;
use super::seeds::{Seed, seeds};
use crate::base::plane;
use crate::input::case::Seeding;
use crate::numerics::fem::Space;
use crate::theory::ideal::Pattern;
use crate::theory::inertia::Inertia;
use rayon::prelude::*;

/// How fluid moves within reach of a solid edge.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NearEdges {
    /// As the outer flow does, which slips along the edge.
    OuterFlow,
    /// With the exact profile of a straight edge, at rest on it.
    Profile,
}

/// Dye that is carried by a pattern.
#[derive(Debug)]
pub struct Dye<'a> {
    pub(super) space: &'a Space,
    pub(super) field: LayerField<'a>,
    pub(super) stream: &'a [f64],
}

impl<'a> Dye<'a> {
    /// In the ideal pattern, or in the pattern with its inertia departure.
    pub fn new(space: &'a Space, pattern: &'a Pattern, inertia: Option<&Inertia>, near_edges: NearEdges) -> Dye<'a> {
        let field = LayerField::new(space, pattern, inertia);
        let field = match near_edges {
            NearEdges::OuterFlow => field,
            NearEdges::Profile => field.with_edge_profile(space),
        };
        Dye { space, field, stream: &pattern.stream_function }
    }

    /// In a flow given by its gap-averaged velocity, m/s, and stream function, m3/s, at the vertices.
    pub fn carried_by(space: &'a Space, velocity: &[[f64; 2]], stream: &'a [f64]) -> Dye<'a> {
        let speed = velocity.iter().map(|&v| plane::length(v)).sum::<f64>() / velocity.len().max(1) as f64;
        let field =
            LayerField { mean: velocity.to_vec(), layers: None, level: Some(stream), speed, edge_distance: None };
        Dye { space, field, stream }
    }

    /// Lines from their starts at a height ζ, in the order of the starts; one at a plate is shown at [`shown_height`].
    pub fn streaklines(&self, seeding: &Seeding, height: f64) -> Vec<Streakline> {
        self.lines_from(&seeds(self.space, self.stream, seeding), height)
    }

    pub(super) fn lines_from(&self, seeds: &[Seed], height: f64) -> Vec<Streakline> {
        let height = shown_height(height);
        seeds.par_iter().map(|seed| follow(self.space, &self.field, seed, height)).collect()
    }
}
