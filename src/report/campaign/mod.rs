//! A campaign: its runs as they come, the tables, figures and page of all of them; uncertainties and searches.

mod figures;
mod kept;
mod labels;
mod layout;
mod page;
mod part;
mod seek;
mod seek_figure;
mod store;
mod tables;
mod uncertain;
mod uncertain_figure;

pub use part::{Progressed, Way, run_part};
pub use store::{Number, RUNS, Status, Store, Stored, Wanted};
pub use tables::{Collected, nothing_known};
