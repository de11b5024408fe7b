//! A campaign: its runs as they come, and the tables of all of them.

mod kept;
mod part;
mod script;
mod seek;
mod store;
mod tables;
mod uncertain;

pub use part::{Progressed, Way, run_part};
pub use script::{MOST_PARTS, Scheduler, Task, script};
pub use store::{Number, RUNS, Status, Store, Stored, Wanted};
pub use tables::{Collected, nothing_known};
