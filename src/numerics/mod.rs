//! Triangulation of the plan and linear elements on it.

pub mod fem;
pub mod mesh;
