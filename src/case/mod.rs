//! The case file: what the user asks, in SI, after every check that needs no geometry and no mesh.

mod cell;
mod load;
mod obstacle;
mod reader;
mod reynolds;
mod rig;
mod settings;
mod shape;
mod starter;
mod study;
mod sweep;
mod types;
mod value;

pub use load::{LARGEST_FILE, Loaded, load, parse};
pub use reynolds::Reynolds;
pub use settings::{MATERIALS, Material, PlateEdges, RigSettings, Setting, Sweep, SweepQuantity};
pub use starter::starter;
pub use types::*;
