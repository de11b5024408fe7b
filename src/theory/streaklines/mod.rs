//! Streaklines: dye let in at the inlet or at needles, followed through the layer field at its own height; and time lines, where dye is that was
//! let in all at once.
//!
//! In steady flow streaklines, pathlines and streamlines are one. A line obeys dx/dt = u(x, ζ), d ζ/dt = 2 w/b with
//! `u = (3/2)(1 − ζ²)(V0 + V1) + (b²/(4 ν)) g(ζ) N`; without inertia u = (3/2)(1 - ζ²) V0 and ζ stays. Fields are
//! linear on each triangle between their nodal values. Without inertia each step is put back on its value of the stream
//! function, so that lines of equal flux stay so and cannot enter a solid, on which the stream function is constant.
//!
//! Range: within about three gaps of a solid edge the layer field is not valid; there the part of it across the edge is taken
//! out, so that lines pass along the edge. Above a reduced Reynolds number of [`FIRST_ORDER`] lines are those of the ideal pattern.

mod dye;
mod field;
mod follow;
mod front;
mod passing;
mod range;
mod seeds;
mod thin;
mod time_lines;
mod width;

pub use dye::{Dye, NearEdges};
pub use field::{LayerField, Layers};
pub use follow::{Ending, HIGHEST, Streakline, TOLERANCE, follow};
pub use range::{FIRST_ORDER, followed, is_beyond_first_order, shown_height};
pub use seeds::{Seed, seeds};
pub use thin::PART;
pub use time_lines::{MOST_TIMES, Piece, TimeLine, TimeLines, time_lines};
pub use width::{Band, dye_bands};
