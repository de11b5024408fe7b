//! The ideal pattern against exact solutions: bounds, speeds, orders of convergence.

#[path = "../cells/mod.rs"]
mod cells;
#[path = "../plans/mod.rs"]
mod plans;
#[path = "../../validation/validate/suite/mod.rs"]
mod suite;

mod adaptive;
mod allowance;
mod bounds;
mod orders;
mod patch;
mod speeds;
mod validation;
