//! twinplate: how far is the flow between two close plates from the ideal pattern it shows?
//!
//! The modules stand in the order data flows; each imports only modules above it.

pub mod case;
pub mod circulation;
pub mod cli;
pub mod confinement;
pub mod departure;
pub mod edge_layer;
pub mod edge_profile;
pub mod error;
pub mod fem;
pub mod ideal;
pub mod inertia;
pub mod mesh;
pub mod outline;
pub mod output;
pub mod streaklines;
pub mod study;
pub mod units;

pub use error::{Error, Result};

/// A place in the plane of the cell, in metres: x along the flow from the inlet, y from the lower side wall.
pub type Point = [f64; 2];
