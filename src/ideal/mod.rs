//! The ideal pattern: the complementary pair of pressure and stream function, guaranteed bounds, the computable error.

mod allowance;
mod pair;
mod pattern;

pub use pair::{Pair, solve_pair};
pub(crate) use pattern::remove_normal_part;
pub use pattern::{
    DriveState, GRAVITY, Pattern, ProbeValue, ShapeFactor, WallTangent, drive_state, interpolate, wall_tangents,
};
