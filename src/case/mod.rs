//! The case file: what the user asks, in SI, after every check that needs no geometry and no mesh.

mod types;
pub use types::*;
