//! Curves with exact points, tangents and curvature, and the plan of the cell they bound.

mod curve;
mod plan;
pub use curve::Curve;
pub use plan::{Corner, Piece, Plan, PlanObstacle, Side, Solid};
