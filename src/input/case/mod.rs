//! The case file: what the user asks, in SI, after every check that needs no geometry and no mesh.

mod bow;
mod cell;
mod combined;
mod drive;
mod gap;
mod gap_file;
mod gap_table;
mod inputs;
mod lattice;
mod load;
mod obstacle;
pub mod plate;
mod reader;
mod reynolds;
mod rig;
mod rows;
mod scatter;
mod settings;
mod shape;
mod starter;
mod study;
mod sweep;
mod types;
mod value;

pub use bow::{Bow, estimated_drop};
pub use drive::{Drive, DriveQuantity, Ends, Fluid, FluidKind};
pub use gap_file::MOST_ROWS;
pub use gap_table::GapTable;
pub use inputs::InputFile;
pub use load::{LARGEST_FILE, Loaded, load, parse};
pub use reynolds::Reynolds;
pub use settings::{MATERIALS, Material, PlateEdges, RigSettings, Setting, Sweep, SweepQuantity};
pub use starter::starter;
pub use types::*;
