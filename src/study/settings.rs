//! What to compute of a case.

use crate::input::case::Case;
use crate::theory::ideal::{BYTES_FOR_EDGE_LAYER, BYTES_FOR_INERTIA, Goal};

/// What to compute.
#[derive(Debug, Clone, Copy, Default)]
pub struct Settings {
    /// When the ideal pattern is good enough; the case's own goal if none.
    pub goal: Option<Goal>,
    /// Whether to add the inertia departure, as far as the case's `[inertia]` says.
    pub inertia: bool,
    /// Whether to add the first-order edge layer, and its variant with moved edges.
    pub edge_layer: bool,
}

impl Settings {
    /// When the ideal pattern of a case is good enough.
    pub(super) fn goal_of(&self, case: &Case) -> Goal {
        self.goal.unwrap_or(Goal::Error { relative: case.mesh.error, most_triangles: case.mesh.max_triangles })
    }

    /// Bytes that the corrections asked for take for each triangle.
    pub(super) fn bytes_for_corrections(&self) -> f64 {
        match (self.edge_layer, self.inertia) {
            (true, _) => BYTES_FOR_EDGE_LAYER,
            (false, true) => BYTES_FOR_INERTIA,
            (false, false) => 0.0,
        }
    }
}
