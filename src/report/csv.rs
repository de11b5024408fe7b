//! A table of rows as comma-separated values: keys at the head, the digits that give every number back.

use crate::base::row::{Section, Value};
use crate::base::{Error, Result};

/// The entries of a table, one a line; keys that an entry lacks stay empty.
///
/// # Errors
/// [`Error::Failed`] if memory gives out.
pub fn csv(table: &Section) -> Result<Vec<u8>> {
    let mut keys: Vec<&str> = Vec::new();
    for row in table.parts.iter().flat_map(|entry| &entry.rows) {
        if !keys.contains(&&*row.key) {
            keys.push(&row.key);
        }
    }
    let failed = |e: ::csv::Error| Error::failed(format!("a table cannot be written: {e}"), "free some memory");
    let mut out = ::csv::Writer::from_writer(Vec::new());
    out.write_record(&keys).map_err(failed)?;
    for entry in &table.parts {
        let field =
            |key: &&str| entry.rows.iter().find(|row| row.key == *key).map_or(String::new(), |row| plain(&row.value));
        out.write_record(keys.iter().map(field)).map_err(failed)?;
    }
    out.into_inner().map_err(|e| failed(e.into_error().into()))
}

fn plain(value: &Value) -> String {
    match value {
        Value::Number(x) => x.to_string(),
        Value::Count(n) => n.to_string(),
        Value::Flag(flag) => flag.to_string(),
        Value::Text(text) => text.to_string(),
        Value::Word(word) => (*word).to_owned(),
        Value::List(list) => list.iter().map(plain).collect::<Vec<_>>().join(" "),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::row::Row;

    #[test]
    fn numbers_keep_every_bit_and_names_are_quoted() {
        let entry = |x: f64| vec![Row::script("probe.a, \"b\"", x), Row::script("ok", x > 0.0)];
        let table = Section::table("", "", [entry(0.1 + 0.2), entry(-1.0)]);
        let text = String::from_utf8(csv(&table).unwrap()).unwrap();
        assert_eq!(text, "\"probe.a, \"\"b\"\"\",ok\n0.30000000000000004,true\n-1,false\n");
    }
}
