//! The ideal pattern against exact solutions: bounds, speeds, orders of convergence.

#[path = "../cells/mod.rs"]
mod cells;

mod bounds;
mod orders;
mod patch;
mod speeds;
