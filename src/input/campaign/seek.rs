//! The table `[seek]` of a plan: keys to vary until a row of the report is where it is wanted.

use super::base::Base;
use super::key::Key;
use super::values::{Literal, end};
use super::whole::Campaign;
use crate::base::units::Dimension;
use crate::input::case::{Limits, Reader, Table};

/// Most keys that are varied at once.
const MOST_KEYS: usize = 2;
/// Accuracy of the keys, over their ranges, where the plan does not say.
const USUAL_ACCURACY: f64 = 1e-3;

/// Where a row is wanted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Aim {
    /// At a value, in the unit of the row.
    Value(f64),
    /// As small as can be.
    Smallest,
    /// As large as can be.
    Largest,
}

/// A key that is varied, with the ends of its range.
#[derive(Debug, Clone, PartialEq)]
pub struct Range {
    /// The key.
    pub key: Key,
    /// The ends, in the unit.
    pub ends: [f64; 2],
    /// Their unit; empty for plain numbers.
    pub unit: String,
}

impl Range {
    /// A value as the case has it.
    pub fn literal(&self, value: f64) -> Literal {
        if self.unit.is_empty() { Literal::number(value) } else { Literal::text(&format!("{value} {}", self.unit)) }
    }
}

/// A limit that a row keeps.
#[derive(Debug, Clone, PartialEq)]
pub struct Bound {
    /// The row, as it was typed.
    pub row: String,
    /// Its least and largest value, in its unit.
    pub least: Option<f64>,
    /// The largest.
    pub most: Option<f64>,
}

/// A search.
#[derive(Debug, Clone)]
pub struct Seek {
    /// Case, what is done with it and how; it has no runs of its own.
    pub campaign: Campaign,
    /// The row, as it was typed.
    pub row: String,
    /// Where it is wanted.
    pub aim: Aim,
    /// Keys to vary, one or two.
    pub ranges: Vec<Range>,
    /// Limits that other rows keep.
    pub bounds: Vec<Bound>,
    /// Whether every measure of the departure keeps its tolerance.
    pub within_tolerance: bool,
    /// Accuracy of the keys, over their ranges.
    pub accuracy: f64,
}

/// What a search asks beside its case.
pub(super) struct Sought {
    pub row: String,
    pub aim: Aim,
    pub ranges: Vec<Range>,
    pub bounds: Vec<Bound>,
    pub within_tolerance: bool,
    pub accuracy: f64,
}

impl Sought {
    /// The search of a campaign.
    pub fn with(self, campaign: Campaign) -> Seek {
        let Sought { row, aim, ranges, bounds, within_tolerance, accuracy } = self;
        Seek { campaign, row, aim, ranges, bounds, within_tolerance, accuracy }
    }
}

/// The search of a plan; none if it has mistakes.
pub(super) fn seek(reader: &mut Reader<'_>, root: &Table<'_>, base: &Base) -> Option<Sought> {
    const KEYS: [&str; 7] = ["row", "to", "goal", "limits", "within_tolerance", "accuracy", "vary"];
    let table = reader.needed_section(root, "seek", &KEYS)?;
    let row = reader.needed(&table, "row", "\"drive.head\"");
    let row = row.and_then(|value| reader.text(value, "row")).map(str::to_owned);
    let aim = match reader.exactly_one(&table, &["to", "goal"]) {
        Some(("to", value)) => {
            let to = reader.quantity(value, "to", Dimension::Fraction, Limits::Any);
            to.map(Aim::Value)
        }
        Some(_) => reader.choice(&table, "goal", &[("smallest", Aim::Smallest), ("largest", Aim::Largest)]),
        None => None,
    };
    let within_tolerance = reader.switch(&table, "within_tolerance").unwrap_or(false);
    let between = Limits::Between(0.0, 0.5);
    let accuracy = reader.optional_quantity(&table, "accuracy", Dimension::Fraction, between);
    let bounds = bounds(reader, &table);
    let ranges = ranges(reader, &table, base);
    if let (Some(Aim::Value(_)), Some(place)) = (aim, table.key_span("within_tolerance").or(table.key_span("limits"))) {
        reader.fail(
            Some(place),
            "a row that is brought to a value keeps no limits",
            "leave this out, or seek the largest or smallest",
        );
    }
    Some(Sought {
        row: row?,
        aim: aim?,
        ranges: ranges?,
        bounds: bounds?,
        within_tolerance,
        accuracy: accuracy.unwrap_or(USUAL_ACCURACY),
    })
}

fn ranges(reader: &mut Reader<'_>, table: &Table<'_>, base: &Base) -> Option<Vec<Range>> {
    let vary = reader.needed(table, "vary", "{ \"drive.mean_speed\" = { from = \"0.1 mm/s\", to = \"2 mm/s\" } }")?;
    let entries = vary.get_ref().as_table().filter(|entries| (1..=MOST_KEYS).contains(&entries.len()));
    let Some(entries) = entries else {
        let remedy = "write [seek.vary], then \"drive.mean_speed\" = { from = \"0.1 mm/s\", to = \"2 mm/s\" }";
        reader.wrong_type(vary, "vary", "a table of one key or two", remedy);
        return None;
    };
    let mut entries: Vec<_> = entries.iter().collect();
    entries.sort_by_key(|(key, _)| key.span().start);
    let mut ranges = Vec::new();
    for (typed, value) in entries {
        let key = match Key::find(&base.document, typed.get_ref()) {
            Ok(key) => key,
            Err(lost) => {
                reader.fail(Some(typed.span()), lost.message, lost.remedy);
                continue;
            }
        };
        let Some(range) = reader.table(value, typed.get_ref(), &["from", "to"]) else { continue };
        let ends = (end(reader, &range, "from"), end(reader, &range, "to"));
        let (Some((from, unit)), Some((to, unit_to))) = ends else { continue };
        if unit != unit_to || from >= to {
            let message = format!("the range of {} goes from {from} {unit} to {to} {unit_to}", key.typed);
            reader.fail(Some(value.span()), message, "give both ends in the same unit, the lower first");
            continue;
        }
        ranges.push(Range { key, ends: [from, to], unit: unit.to_owned() });
    }
    (!ranges.is_empty()).then_some(ranges)
}

/// `[seek.limits]`: `"drive.head" = { least = 0.01, most = 0.1 }`.
fn bounds(reader: &mut Reader<'_>, table: &Table<'_>) -> Option<Vec<Bound>> {
    let Some(value) = table.get("limits") else { return Some(Vec::new()) };
    let Some(entries) = value.get_ref().as_table() else {
        reader.wrong_type(
            value,
            "limits",
            "a table of rows",
            "write [seek.limits], then \"drive.head\" = { most = 0.1 }",
        );
        return None;
    };
    let mut bounds = Vec::new();
    for (row, value) in entries.iter() {
        let limits = reader.table(value, row.get_ref(), &["least", "most"])?;
        let mut limit = |key: &str| reader.optional_quantity(&limits, key, Dimension::Fraction, Limits::Any);
        let (least, most) = (limit("least"), limit("most"));
        if least.is_none() && most.is_none() {
            reader.fail(
                Some(value.span()),
                format!("the limit of \"{}\" is empty", row.get_ref()),
                "write { most = 0.1 }",
            );
        }
        bounds.push(Bound { row: row.get_ref().to_string(), least, most });
    }
    Some(bounds)
}
