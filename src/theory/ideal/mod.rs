//! The ideal pattern: the complementary pair of pressure and stream function, guaranteed bounds, the computable error.

mod adapt;
mod allowance;
mod fields;
mod goal;
mod memory;
mod order;
mod pair;
mod pattern;
mod rows;
mod sample;

pub use adapt::{Solved, solve_ideal, solve_ideal_with_room};
pub use goal::{Cycle, Goal, Stage, first_size_field};
pub use memory::{BYTES_AT_LEAST, BYTES_FOR_EDGE_LAYER, BYTES_FOR_INERTIA, BYTES_PER_TRIANGLE, check_memory};
pub(crate) use order::LARGEST_BASE;
pub use order::first_mesh;
pub(crate) use pair::wall_conditions;
pub use pair::{Iterations, Pair, solve_pair, stream_conditions};
pub use pattern::{
    DriveState, KNIFE_EDGE, Pattern, ProbeValue, ShapeFactor, WallTangent, drive_state, inlet_area, interpolate,
    wall_tangents,
};
pub(crate) use pattern::{multiplied, multiplied_vectors, remove_normal_part};
pub use rows::Probes;
pub(crate) use sample::sampler;
