//! Sections of rows for reading, in columns of a width.
//!
//! A record is a list of lines, or, where rows say what they are, a table with SI and bench units side by side and the sources below; a
//! table takes one unit for each column, the one its largest value asks for.

use super::wrap::paragraph;
use crate::base::row::{Detail, Kind, Layout, Row, Section, Value};
use crate::base::units::with_error;
use comfy_table::presets::UTF8_HORIZONTAL_ONLY;
use comfy_table::{CellAlignment, ColumnConstraint, ContentArrangement, Table, Width};
use std::fmt::Write;

/// Columns of a text whose reader is not known.
pub const WIDTH: usize = 100;
/// Names and values of a record stand this far apart, where names allow.
const NAME: usize = 32;

/// Sections for reading: what is shown at `detail`, no wider than `width` where names allow.
pub fn text(sections: &[Section], detail: Detail, width: usize) -> String {
    let mut writer = Writer { out: String::new(), detail, width };
    sections.iter().for_each(|section| writer.section(section));
    writer.out
}

/// Columns that a page has room for; a table with more is turned.
const MOST_COLUMNS: usize = 10;
/// Longest word that makes a column of words wider, and the blanks on both sides of a cell.
const LONGEST: usize = 18;
const PADDING: u16 = 2;

struct Writer {
    out: String,
    detail: Detail,
    width: usize,
}

impl Writer {
    fn section(&mut self, section: &Section) {
        let rows = self.visible(&section.rows);
        let is_table = section.layout == Layout::Table;
        let entries: Vec<&Section> =
            section.parts.iter().filter(|part| is_table && part.detail <= self.detail).collect();
        let said = !section.notes.is_empty() || !section.cautions.is_empty() || !section.sketch.is_empty();
        let below = section.layout == Layout::Record && !section.parts.is_empty();
        // a heading with nothing below it, not even hidden, says what there is to say
        let alone = !is_table && section.rows.is_empty() && !section.title.is_empty();
        if section.detail > self.detail || (rows.is_empty() && entries.is_empty() && !said && !below && !alone) {
            return;
        }
        if !section.title.is_empty() {
            self.out.push('\n');
            paragraph(&mut self.out, "", 2, self.width, &section.title);
        }
        if rows.iter().any(|row| !row.source.is_empty()) {
            self.explained(&rows);
        } else {
            rows.iter().for_each(|row| self.line(row));
        }
        if entries.is_empty() {
            section.parts.iter().filter(|_| section.layout == Layout::Record).for_each(|part| self.section(part));
        } else {
            self.table(&entries);
            entries.iter().flat_map(|entry| &entry.parts).for_each(|part| self.section(part));
        }
        section.sketch.iter().for_each(|line| self.out += &format!("  {line}\n"));
        for note in &section.notes {
            paragraph(&mut self.out, "  - ", 4, self.width, note);
        }
        for caution in &section.cautions {
            paragraph(&mut self.out, "  CAUTION: ", 4, self.width, caution);
        }
    }

    fn visible<'a>(&self, rows: &'a [Row]) -> Vec<&'a Row> {
        rows.iter().filter(|row| row.detail <= self.detail).collect()
    }

    /// Name, value in SI, the same on the bench.
    fn line(&mut self, row: &Row) {
        let bench = match row.bench() {
            bench if bench.is_empty() || bench == row.si() => String::new(),
            bench => bench,
        };
        // the unit that fits says it all; beside a pressure stands what a manometer shows
        let value = match (row.kind, bench.is_empty()) {
            _ if matches!(row.value, Value::List(_)) => {
                let (unit, size) = row.kind.reading(largest(&row.value));
                format!("{} {unit}", row.shown_over(size)).trim_end().to_owned()
            }
            (Kind::Percent | Kind::Of(_) | Kind::Unit(..) | Kind::Volume, false) => bench,
            (_, true) => row.si(),
            (_, false) => format!("{} = {bench}", row.si()),
        };
        if row.name.is_empty() {
            return paragraph(&mut self.out, "  ", 2, self.width, &value);
        }
        let first = format!("  {:<NAME$} ", row.name);
        paragraph(&mut self.out, &first, NAME + 3, self.width.max(NAME + 20), &value);
        if !row.meaning.is_empty() {
            paragraph(&mut self.out, "    ", 4, self.width, &row.meaning);
        }
    }

    /// Quantity, SI, bench, what it is; sources with their ranges below, each once.
    fn explained(&mut self, rows: &[&Row]) {
        let mut table = self.new_table();
        table.set_header(["quantity", "SI", "on the bench", "what it is"]);
        let mut sources: Vec<(&str, &str)> = Vec::new();
        for row in rows {
            let source = (&*row.source, &*row.range);
            let mut what = row.meaning.to_string();
            if source != ("", "") {
                let number = sources.iter().position(|known| *known == source).unwrap_or(sources.len());
                if number == sources.len() {
                    sources.push(source);
                }
                what += &format!(" [{}]", number + 1);
            }
            table.add_row([row.name.to_string(), row.si(), row.bench(), what]);
        }
        self.print(table, &[1, 2]);
        let told = |(source, range): &(&str, &str)| match (source.is_empty(), range.is_empty()) {
            (false, false) => format!("{source}; range: {range}."),
            (false, true) => format!("{source}."),
            (true, _) => format!("range: {range}."),
        };
        let list = sources.iter().enumerate().map(|(k, source)| format!("[{}] {}", k + 1, told(source)));
        paragraph(&mut self.out, "  ", 2, self.width, &list.collect::<Vec<_>>().join(" "));
    }

    fn table(&mut self, entries: &[&Section]) {
        let columns = columns(entries, self.detail);
        if columns.is_empty() {
            return;
        }
        if columns.len() > MOST_COLUMNS {
            return self.turned(&columns, entries);
        }
        let mut table = self.new_table();
        table.set_header(columns.iter().map(Column::head));
        for entry in entries {
            table.add_row(columns.iter().map(|column| column.cell(entry)));
        }
        for (column, shown) in columns.iter().zip(table.column_iter_mut()) {
            // a name of one long word in a narrow column is still better broken than the numbers beside it
            let longest = entries.iter().map(|entry| longest_word(&column.cell(entry))).max().unwrap_or(0).min(LONGEST);
            if !column.numbers && longest > 0 {
                shown.set_constraint(ColumnConstraint::LowerBoundary(Width::Fixed(longest as u16 + PADDING)));
            }
        }
        let right: Vec<usize> = (0..columns.len()).filter(|&k| columns[k].numbers).collect();
        self.print(table, &right);
    }

    /// A table with more columns than a page has room for, an entry a column.
    fn turned(&mut self, columns: &[Column], entries: &[&Section]) {
        let mut table = self.new_table();
        let row = |column: &Column| -> Vec<String> {
            std::iter::once(column.head()).chain(entries.iter().map(|entry| column.cell(entry))).collect()
        };
        table.set_header(row(&columns[0]));
        columns[1..].iter().for_each(|column| _ = table.add_row(row(column)));
        self.print(table, &(1..=entries.len()).collect::<Vec<_>>());
    }

    fn new_table(&self) -> Table {
        let mut table = Table::new();
        let width = u16::try_from(self.width.saturating_sub(2)).unwrap_or(u16::MAX);
        table.load_style(UTF8_HORIZONTAL_ONLY).set_content_arrangement(ContentArrangement::Dynamic).set_width(width);
        table.style_mut().row_separator = comfy_table::LineStyle::none();
        table
    }

    fn print(&mut self, mut table: Table, right: &[usize]) {
        for (k, column) in table.column_iter_mut().enumerate() {
            if right.contains(&k) {
                column.set_cell_alignment(CellAlignment::Right);
            }
        }
        for row in table.lines() {
            let _ = writeln!(self.out, "  {}", row.trim_end());
        }
    }
}

fn longest_word(text: &str) -> usize {
    text.split_whitespace().map(|word| word.chars().count()).max().unwrap_or(0)
}

/// A column of a table, with one unit for all its values.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    key: String,
    name: String,
    unit: &'static str,
    size: f64,
    numbers: bool,
}

/// The columns of a table: the rows of its entries by key, in the order they come.
pub fn columns<S: std::borrow::Borrow<Section>>(entries: &[S], detail: Detail) -> Vec<Column> {
    let entries: Vec<&Section> = entries.iter().map(S::borrow).collect();
    let mut list: Vec<Column> = Vec::new();
    for row in entries.iter().flat_map(|entry| &entry.rows).filter(|row| row.detail <= detail) {
        if list.iter().any(|column| column.key == row.key) {
            continue;
        }
        let values = entries.iter().filter_map(|entry| entry.rows.iter().find(|other| other.key == row.key));
        let largest = values.map(|row| largest(&row.value)).fold(0.0, f64::max);
        let (unit, size) = row.kind.reading(largest);
        let numbers = !matches!(row.value, Value::Text(_) | Value::Word(_) | Value::Flag(_));
        list.push(Column { key: row.key.to_string(), name: row.name.to_string(), unit, size, numbers });
    }
    list
}

fn largest(value: &Value) -> f64 {
    match value {
        Value::List(list) => list.iter().map(largest).fold(0.0, f64::max),
        other => other.number().map_or(0.0, f64::abs),
    }
}

impl Column {
    /// Name and unit.
    pub fn head(&self) -> String {
        if self.unit.is_empty() { self.name.clone() } else { format!("{}, {}", self.name, self.unit) }
    }

    /// The value of an entry; empty where it has none.
    pub fn cell(&self, entry: &Section) -> String {
        let row = entry.rows.iter().find(|row| row.key == self.key);
        row.map_or(String::new(), |row| match (row.error, row.value.number()) {
            (Some(error), Some(value)) if error > 0.0 => with_error(value / self.size, error / self.size),
            _ => row.shown_over(self.size),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::units::Dimension;

    fn sections() -> Vec<Section> {
        let probe = |name: &'static str, x: f64| {
            vec![
                Row::new("name", "probe", name, Kind::Number),
                Row::new("x_m", "x", x, Kind::Of(Dimension::Length)),
                Row::new("hidden", "hidden", 1.0, Kind::Number).full(),
            ]
        };
        let drop = Row::new("drop_pa", "pressure drop", 24.038_30, Kind::Pressure).digits(6);
        let nothing = Row::new("left_out", "left out", Value::texts([""; 0]), Kind::Number);
        let width = Row::new("half", "half-width", 0.001, Kind::Percent).digits(3);
        let time =
            Row::new("t_s", "transit time", 150.0, Kind::Of(Dimension::Time)).means("L/U", "definition", "steady");
        vec![
            Section::new("drive", "Drive", vec![drop, width, Row::script("secret", 2.0)]),
            Section::table("probes", "Probes", [probe("a", 0.25), probe("b", 0.000_02)]),
            Section::new("times", "Times", vec![time, nothing]).noted(vec!["It is short.".into()]),
            Section::new("none", "Nothing to see", vec![Row::script("n", 1.0)]),
        ]
    }

    /// 24.0383 Pa over 9.80665 Pa, 1 mm of water by convention, is 2.45122.
    #[test]
    fn records_are_lines_and_tables_have_one_unit_a_column() {
        let text = text(&sections(), Detail::Main, WIDTH);
        for part in ["24.0383 Pa = 2.45122 mm of water", "0.100 %", "x, mm", "250.0", "0.02000", "2.500 min", "L/U [1]"]
        {
            assert!(text.contains(part), "{part} in\n{text}");
        }
        assert!(text.contains("[1] definition; range: steady.") && text.contains("  - It is short."), "{text}");
        // what has no source has no number
        assert!(text.contains("none") && !text.contains("[2]"), "{text}");
        for part in ["secret", "hidden", "Nothing"] {
            assert!(!text.contains(part), "{part} in\n{text}");
        }
        assert!(text.lines().all(|line| line.chars().count() <= WIDTH), "{text}");
    }

    /// With eleven columns, each of a word of seven letters, a page of 80 has no room for the words side by side: they stand below one another,
    /// whole, and the entries beside one another.
    #[test]
    fn a_wide_table_is_turned() {
        let keys = ["aa", "bb", "cc", "dd", "ee", "ff", "gg", "hh", "ii", "jj"];
        let entry = |name: &'static str, count: usize| {
            let rows = keys[..count].iter().map(|&key| Row::new(key, format!("measure {key}"), 0.5, Kind::Number));
            std::iter::once(Row::new("name", "effect", name, Kind::Number)).chain(rows).collect::<Vec<_>>()
        };
        let shown = |count: usize| {
            let table = Section::table("t", "Wide", [entry("inertia", count), entry("edge layer", count)]);
            text(&[table], Detail::Main, WIDTH)
        };
        let turned = shown(10);
        assert!(turned.lines().all(|line| line.chars().count() <= WIDTH), "{turned}");
        let has = |text: &str, parts: &[&str]| text.lines().any(|line| parts.iter().all(|part| line.contains(part)));
        assert!(
            has(&turned, &["effect", "inertia", "edge layer"]) && has(&turned, &["measure jj", "0.5000"]),
            "{turned}"
        );
        // ten fit as they are
        assert!(!has(&shown(9), &["inertia", "edge layer"]), "{}", shown(9));
    }

    /// What an entry of a table holds below stands below the table; entries for those who want everything stay away.
    #[test]
    fn parts_of_entries_follow_their_table() {
        let places = Value::List(vec![[0.01, 0.02].into(), [0.0, -0.25].into()]);
        let neck =
            Section::new("neck", "Its neck", vec![Row::new("ends_m", "from, to", places, Kind::Of(Dimension::Length))]);
        let entry = |name: &'static str| Section::new("", "", vec![Row::new("name", "outline", name, Kind::Number)]);
        let entries = vec![entry("seal").with(vec![neck]), entry("buoy").at(Detail::Full)];
        let table = Section::table("outlines", "Outlines", []).with(entries);
        let bare = Section::new("", "", vec![Row::script("between", "a")]);
        let bare = bare.with(vec![Section::new(
            "w",
            "Width",
            vec![Row::new("w_m", "width", 0.5, Kind::Of(Dimension::Length))],
        )]);
        let hidden = Section::table("passages", "Passages", []).with(vec![bare]);
        let text = text(&[table, hidden], Detail::Main, WIDTH);
        let at = |part: &str| text.find(part).unwrap_or_else(|| panic!("{part} in\n{text}"));
        assert!(at("seal") < at("Its neck") && at("Its neck") < at("((10.00, 20.00), (0, -250.0)) mm"), "{text}");
        assert!(at("Passages") < at("Width") && at("Width") < at("500.0 mm") && !text.contains("buoy"), "{text}");
    }

    #[test]
    fn words_are_not_broken_beside_many_numbers() {
        let entry = |name: &'static str| {
            let numbers = (0..9).map(|k| Row::new(format!("k{k}"), format!("measure {k}"), 1.0, Kind::Number));
            std::iter::once(Row::new("name", "effect", name, Kind::Number)).chain(numbers).collect()
        };
        let table = Section::table("list", "List", [entry("confinement"), entry("all_but_confinement")]);
        let text = text(&[table], Detail::Main, 80);
        assert_eq!(text.matches("confinement").count(), 2, "{text}");
    }

    #[test]
    fn everything_is_shown_on_demand() {
        let text = text(&sections(), Detail::Full, WIDTH);
        assert!(text.contains("hidden") && !text.contains("secret"), "{text}");
    }
}
