//! JSON schemas (draft 2020-12) of what scripts read and users write, for editors and for checking by machine.
//!
//! That of the case file is made from what its reader asks of a case ([`crate::input::case::questions`]), that of the report from the rows
//! of real reports ([`of_sections`]), joined and kept in a file.

mod case;
mod report;
mod words;

pub use case::case_schema;
pub use report::{joined, of_sections, report_schema};
pub use words::{MEANINGS, meaning};

use serde_json::{Value, json};

/// The dialect of both.
const DIALECT: &str = "https://json-schema.org/draft/2020-12/schema";

/// A schema with its head.
fn headed(title: &str, schema: Value) -> Value {
    let mut head = json!({"$schema": DIALECT, "title": title});
    if let (Value::Object(head), Value::Object(schema)) = (&mut head, schema) {
        head.extend(schema);
    }
    head
}
