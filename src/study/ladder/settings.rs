//! Which meshes a ladder has and what is studied on them.

/// Fewest meshes of a ladder.
pub const LEAST_MESHES: usize = 3;

/// Which meshes.
#[derive(Debug, Clone, PartialEq)]
pub enum Meshes {
    /// Nested meshes, each with half the size of the one before; five if none are asked for, four if the finest would be large.
    Halving {
        /// Number of meshes.
        levels: Option<usize>,
    },
    /// One graded mesh of about each number of triangles, as [`crate::theory::ideal::Goal::Triangles`] makes them.
    Sizes(Vec<usize>),
    /// Adaptive meshes, each for a quarter of the half-width of the bracket before.
    Adaptive {
        /// Number of meshes.
        levels: Option<usize>,
    },
}

/// What to study.
#[derive(Debug, Clone, PartialEq)]
pub struct LadderSettings {
    /// The meshes.
    pub meshes: Meshes,
    /// Whether to study the inertia departure.
    pub inertia: bool,
    /// Whether to study the edge layer.
    pub edge_layer: bool,
    /// Whether to study the measures of the departure budget; it includes the corrections.
    pub departure: bool,
    /// Further scalars of the report, by their keys joined by dots, entries of lists by name: `drive.head_m`,
    /// `probes.shoulder.angle_deg`.
    pub also: Vec<String>,
}
