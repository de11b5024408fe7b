//! Tracks of tracer particles against theory: how fast the flow between the plates is, how the particles stand in the gap, how the gap
//! tapers, and which tracks are none of the fluid.

mod compare;
mod direction;
mod effects;
mod flow;
mod heights;
mod likelihood;
mod profile;
mod reject;
mod smooth;
mod speed;
mod taper;
mod verdict;

pub use compare::{Compared, FEWEST, Judged, compare};
pub use direction::Direction;
pub use effects::{Amplitude, Effect};
pub use flow::{Flow, Local};
pub use heights::{Checks, Found, Heights};
pub use reject::Reason;
pub use speed::Speed;
pub use taper::Trend;
pub use verdict::verdict;
