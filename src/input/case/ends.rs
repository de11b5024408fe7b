//! The tables `[[end]]`: what of a drawn outline is open.

use super::limits::Limits;
use super::obstacle::unique;
use super::reader::{Reader, Table, Value};
use super::{EndMark, EndRole, Ends};
use crate::base::Point;
use crate::base::text::shortened;
use crate::base::units::{Dimension, LengthUnit};
use std::collections::BTreeSet;

/// What an end is.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Kind {
    Open(Ends),
    Closed,
}

/// The ends of a drawn cell.
pub(super) struct Marked {
    pub list: Vec<EndMark>,
    /// The kind of the open ends, if one says it.
    pub kind: Option<Ends>,
    /// The unit of the first place.
    pub unit: Option<LengthUnit>,
}

/// All ends of the file; in a cell that has no outline none may stand.
pub(super) fn ends(reader: &mut Reader<'_>, root: &Table<'_>, is_drawn: bool) -> Marked {
    let (mut list, mut kind, mut unit) = (Vec::new(), None, None);
    let mut names = BTreeSet::new();
    let stated = stated(root);
    for (k, value) in reader.list(root, "end").into_iter().enumerate() {
        if !is_drawn {
            let message = "ends are marked on the outline of a cell, and this cell has none";
            let remedy =
                "remove it: rectangles, contractions and bends have their inlet on the left; or give [cell] an outline";
            reader.fail(Some(value.span()), message, remedy);
        }
        let Some((end, own)) = end(reader, value, k, &mut names) else { continue };
        unit = unit.or_else(|| unit_of(value));
        if let Some(Kind::Open(own)) = own {
            let other = kind.or(stated);
            if other.is_some_and(|other| other != own) {
                let message = format!("the end \"{}\" is of another kind than the rest of the case has it", end.name);
                let remedy = "give both open ends, and [drive] if it says ends, the same kind: \"held-pressure\" or \"given-inflow\"";
                reader.fail(Some(end.place.clone()), message, remedy);
            }
            kind = Some(own);
        }
        list.push(end);
    }
    Marked { list, kind, unit }
}

/// What `[drive]` says of the ends.
fn stated(root: &Table<'_>) -> Option<Ends> {
    match root.get("drive")?.get_ref().as_table()?.get("ends")?.get_ref().as_str()? {
        "held-pressure" => Some(Ends::HeldPressure),
        "given-inflow" => Some(Ends::GivenInflow),
        _ => None,
    }
}

fn end(
    reader: &mut Reader<'_>,
    value: &Value<'_>,
    index: usize,
    names: &mut BTreeSet<String>,
) -> Option<(EndMark, Option<Kind>)> {
    let table = reader.table(value, "[[end]]", &["name", "role", "kind", "from", "to"])?;
    let kinds = [
        ("held-pressure", Kind::Open(Ends::HeldPressure)),
        ("given-inflow", Kind::Open(Ends::GivenInflow)),
        ("closed", Kind::Closed),
    ];
    let kind = reader.choice(&table, "kind", &kinds);
    let role = reader.choice(&table, "role", &[("inlet", EndRole::Inlet), ("outlet", EndRole::Outlet)]);
    let usual = match role {
        Some(EndRole::Inlet) => "inlet".to_owned(),
        Some(EndRole::Outlet) => "outlet".to_owned(),
        None => format!("end {}", index + 1),
    };
    let name = reader.name(&table, "name").unwrap_or(usual);
    unique(reader, &table, "end", &name, names);
    match (kind, role, table.get("role")) {
        (Some(Kind::Closed), Some(_), Some(role)) => {
            let message = format!("the end \"{}\" is closed and has a role", shortened(&name));
            reader.fail(Some(role.span()), message, "remove role: what is closed is wall");
        }
        (Some(Kind::Closed), ..) | (_, Some(_), _) | (_, None, Some(_)) => {}
        (_, None, None) => {
            let message = format!("the end \"{}\" has no role", shortened(&name));
            reader.fail(Some(value.span()), message, "add role = \"inlet\" or \"outlet\", or kind = \"closed\"");
        }
    }
    let mut place = |key: &str| -> Option<Point> {
        let value = reader.needed(&table, key, "[\"0 mm\", \"20 mm\"], a place on the outline")?;
        reader.pair(value, key, Dimension::Length, Limits::Any)
    };
    let (from, to) = (place("from"), place("to"));
    let role = role.filter(|_| kind != Some(Kind::Closed));
    Some((EndMark { name, role, from: from?, to: to?, place: value.span() }, kind))
}

/// The unit of the first coordinate of an end.
fn unit_of(value: &Value<'_>) -> Option<LengthUnit> {
    let first = value.get_ref().as_table()?.get("from")?.get_ref().as_array()?.first()?;
    LengthUnit::of(first.get_ref().as_str()?)
}
