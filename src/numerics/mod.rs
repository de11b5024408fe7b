//! Triangulation of the plan, linear elements on it, and contours of their fields.

pub mod contour;
pub mod fem;
pub mod mesh;
