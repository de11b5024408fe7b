//! Curves with exact points, tangents and curvature, the plan of the fluid they bound, and its measures. No file is opened here.

mod boxes;
mod curve;
pub(crate) mod cut;
mod four_digit;
mod joukowski;
pub mod kerf;
pub(crate) mod measure;
pub(crate) mod meet;
mod neck;
pub(crate) mod part;
mod plan;
mod polygon;
pub(crate) mod span;
mod spline;
pub mod survey;
pub(crate) mod tree;

pub use curve::Curve;
pub use four_digit::FourDigitSurface;
pub use joukowski::JoukowskiMap;
pub(crate) use plan::place;
pub use plan::{Corner, Piece, Plan, PlanObstacle, Side, Solid, Wall};
pub use spline::periodic_spline;
