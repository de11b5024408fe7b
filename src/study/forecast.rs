//! What solving a case will take, before solving it.
//!
//! The number of triangles for a bracket goes as `S^2/(2 s e)` with S the integral of the roots of the error density. For the
//! flow past an obstacle |grad V| falls off over its own size, so S grows in proportion to the size of each obstacle, to its speed in
//! the narrowed channel, and by a constant that hardly depends on its shape; the constant was measured once on round,
//! slender and cornered obstacles. It is an estimate, good to a factor of two.

use crate::base::Result;
use crate::geometry::Plan;
use crate::input::case::Case;
use crate::theory::ideal::{
    BYTES_AT_LEAST, BYTES_FOR_EDGE_LAYER, BYTES_PER_TRIANGLE, Goal, LARGEST_BASE, first_size_field,
};

/// What a solve is expected to take.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Forecast {
    /// Triangles of the last mesh.
    pub triangles: usize,
    /// Memory at the peak, bytes.
    pub memory: f64,
    /// The same with both first-order corrections.
    pub memory_with_corrections: f64,
    /// Time, s, on two cores of a machine of the 2020s, meshing, solving and writing.
    pub seconds: f64,
    /// The same with both first-order corrections.
    pub seconds_with_corrections: f64,
}

/// Measured S over the sum of (extent across the flow)/(width of the cell) times the speed beside, for unit drop and W/L = 1:
/// 3.4 for round posts, 4.0 for a square, 4.3 for a silhouette, 5.6 for a slender keel.
const ROOT_SUM: f64 = 4.2;
/// Largest product of triangles and relative half-width found, with posts that nearly block the channel.
const LARGEST_PRODUCT: f64 = 2.5;
/// Measured seconds of the smallest run.
const SECONDS: f64 = 0.03;
/// Measured seconds for one triangle of the meshes that are triangulated and factorised.
const SECONDS_PER_BASE_TRIANGLE: f64 = 6e-6;
/// Measured seconds for one triangle, refining, solving and writing.
const SECONDS_PER_TRIANGLE: f64 = 1.6e-6;
/// Measured seconds more for one triangle with both corrections.
const SECONDS_FOR_CORRECTIONS: f64 = 4e-6;

/// Estimates what reaching a goal takes.
///
/// # Errors
/// [`crate::base::Error::Mesh`] if the plan asks for more triangles than can be counted.
pub fn forecast(plan: &Plan, case: &Case, goal: Goal) -> Result<Forecast> {
    let least = first_size_field(plan, case, goal)?.estimate_triangles(plan)?;
    let wanted = match goal {
        Goal::Triangles(n) => n as f64,
        Goal::Error { relative, most_triangles } => {
            let slenderness = case.cell.shape.squares().recip();
            let blocked = |k: usize| plan.obstacles[k].height / case.cell.inlet_width();
            let sum: f64 = (0..plan.obstacles.len()).map(|k| blocked(k) / (1.0 - blocked(k)).max(0.05)).sum();
            let root = ROOT_SUM * slenderness * sum;
            let product = (root * root / (2.0 * slenderness)).min(LARGEST_PRODUCT);
            (product / relative).max(least).min(most_triangles as f64)
        }
    };
    // the first mesh is triangulated as far as the plan asks, or to a quarter
    let base = wanted.min(LARGEST_BASE.max(0.25 * least));
    let seconds = SECONDS + SECONDS_PER_BASE_TRIANGLE * base + SECONDS_PER_TRIANGLE * wanted;
    Ok(Forecast {
        triangles: wanted as usize,
        memory: BYTES_AT_LEAST + BYTES_PER_TRIANGLE * wanted,
        memory_with_corrections: BYTES_AT_LEAST + (BYTES_PER_TRIANGLE + BYTES_FOR_EDGE_LAYER) * wanted,
        seconds,
        seconds_with_corrections: seconds + SECONDS_FOR_CORRECTIONS * wanted,
    })
}
