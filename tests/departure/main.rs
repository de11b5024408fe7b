//! The departure budget: measures of fields given by formulas, verdict and sweep on made-up contributions, and budgets of solved cases.

mod bubbles;
#[path = "../cells/mod.rs"]
mod cells;
mod errors;
mod given;
mod measures;
mod post;
mod solved;
mod sweep;
mod verdict;
