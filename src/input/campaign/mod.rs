//! The plan of a campaign: a case, keys of it that are varied, what is measured of every run and what is kept.

mod base;
mod key;
mod numbers;
mod plan;
mod runs;
mod seek;
mod uncertain;
mod values;
mod whole;

pub use base::Base;
pub use key::Key;
pub use numbers::numbers;
pub use plan::{Planned, read_plan};
pub use runs::{Combine, MOST_RUNS, Runs};
pub use seek::{Aim, Bound, Range, Seek};
pub use uncertain::{Uncertain, check_uncertainty, shown, uncertain};
pub use values::{Literal, MOST_VALUES};
pub use whole::{Campaign, Keep, MeshWish, Work};
