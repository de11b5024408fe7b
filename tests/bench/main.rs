//! What was measured against theory: traced lines and tracks of a flow of its own.

mod flow;
mod lines;
mod synthetic;
mod tracks;
