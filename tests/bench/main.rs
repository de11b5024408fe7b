//! What was measured against theory: traced lines and tracks of a flow of its own.

#[path = "../../validation/compare/draw/mod.rs"]
mod draw;
#[path = "../../validation/compare/draw/tests.rs"]
mod drawn;
mod films;
mod lines;
mod photographs;
mod synthetic;
mod tracing;
mod tracks;
