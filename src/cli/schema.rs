//! `schema`: what reports and case files hold, for editors and for checking by machine.

use super::exit::Exit;
use super::say::say;
use crate::base::{Error, Result};
use crate::report::schema::{case_schema, report_schema};
use clap::ValueEnum;

/// What a schema is wanted of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum SchemaOf {
    /// report.json and rig.json.
    Report,
    /// The case file, as the JSON that its TOML stands for.
    Case,
}

/// Prints a schema.
pub fn schema(of: SchemaOf) -> Result<Exit> {
    let schema = match of {
        SchemaOf::Report => report_schema(),
        SchemaOf::Case => case_schema(),
    };
    let text = serde_json::to_string_pretty(&schema);
    say(&(text.map_err(|e| Error::failed(format!("the schema cannot be printed: {e}"), "report this as a fault"))?
        + "\n"))
}
