//! The schemas of reports and of cases: real ones fulfil them, broken ones do not.

mod case;
mod checker;
mod report;
