//! A campaign: its runs as they come, and the tables of all of them.

mod kept;
mod part;
mod seek;
mod store;
mod tables;
mod uncertain;

pub use part::{Progressed, Way, run_part};
pub use store::{Number, RUNS, Status, Store, Stored};
pub use tables::{Collected, nothing_known};
