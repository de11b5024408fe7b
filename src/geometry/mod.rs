//! Curves with exact points, tangents and curvature, the plan of the fluid they bound, and its measures. No file is opened here.

pub(crate) mod boxes;
pub(crate) mod channel;
mod curve;
pub(crate) mod cut;
mod ends;
mod four_digit;
mod joukowski;
pub mod kerf;
pub(crate) mod measure;
pub(crate) mod meet;
mod neck;
pub(crate) mod part;
mod piece;
mod plan;
mod polygon;
mod section;
pub(crate) mod span;
mod spline;
pub mod survey;
pub(crate) mod unite;
mod way;

pub use channel::{Bend, Contraction, Taper, Turn};
pub use curve::{Curve, Passing};
pub use ends::End;
pub use four_digit::{ChordPart, FourDigitSurface, Surface};
pub use joukowski::JoukowskiMap;
pub use piece::{Piece, Side, Wall};
pub use plan::{Corner, Plan, PlanObstacle, Rim, SLIGHT, Solid, TailChoice};
pub use spline::periodic_spline;
pub use way::Way;
