//! First-order inertia against exact solutions.

#[path = "../cells/mod.rs"]
mod cells;

mod gaps;
mod post;
mod source;
mod square;
