//! The design sheet for reading: SI and bench units side by side, what each quantity is, its source and range below.

use super::text::paragraph;
use crate::base::units::significant;
use crate::theory::rig::{Changes, Effect, Section, Sheet};
use comfy_table::presets::UTF8_HORIZONTAL_ONLY;
use comfy_table::{CellAlignment, ColumnConstraint, ContentArrangement, Table, Width};
use std::fmt::Write;

const WIDTH: u16 = 98;

/// The settings of the sheet and its sections.
pub fn sheet(out: &mut String, sheet: &Sheet) {
    settings(out, sheet);
    for part in &sheet.sections {
        section(out, part);
    }
}

fn new_table(header: &[&str], widths: &[u16], right: &[usize]) -> Table {
    let mut table = Table::new();
    table.load_style(UTF8_HORIZONTAL_ONLY).set_content_arrangement(ContentArrangement::Dynamic).set_width(WIDTH);
    table.style_mut().row_separator = comfy_table::LineStyle::none();
    table.set_header(header.iter().copied());
    for (k, column) in table.column_iter_mut().enumerate() {
        if let Some(&width) = widths.get(k) {
            column.set_constraint(ColumnConstraint::Absolute(Width::Fixed(width)));
        }
        if right.contains(&k) {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
    table
}

fn print(out: &mut String, table: &Table) {
    for row in table.lines() {
        let _ = writeln!(out, "  {}", row.trim_end());
    }
}

/// What the rig is taken to be, and what of it the case does not say.
fn settings(out: &mut String, sheet: &Sheet) {
    let _ = writeln!(out, "\nWhat the rig is taken to be ([rig] in the case changes it)");
    for (defaulted, first) in [(false, "  given: "), (true, "  by default: ")] {
        let list: Vec<String> = sheet
            .settings
            .iter()
            .filter(|given| given.defaulted == defaulted)
            .map(|given| format!("{} {}", given.key, given.shown))
            .collect();
        if !list.is_empty() {
            paragraph(out, first, 4, &list.join("; "));
        }
    }
}

fn section(out: &mut String, section: &Section) {
    let _ = writeln!(out, "\n{}", section.title);
    let mut table = new_table(&["quantity", "SI", "on the bench", "what it is"], &[25, 21, 15, 36], &[1, 2]);
    // sources with their ranges, each once, numbered as they come
    let mut sources: Vec<(&str, &str)> = Vec::new();
    for row in &section.rows {
        let source = (&*row.source, &*row.range);
        let number = sources.iter().position(|known| *known == source).unwrap_or(sources.len());
        if number == sources.len() {
            sources.push(source);
        }
        let about = format!("{} [{}]", row.meaning, number + 1);
        table.add_row(vec![row.name.to_string(), row.si(), row.bench(), about]);
    }
    print(out, &table);
    let list = sources.iter().enumerate().map(|(k, (source, range))| format!("[{}] {source}; range: {range}.", k + 1));
    paragraph(out, "  ", 2, &list.collect::<Vec<_>>().join(" "));
    for note in &section.notes {
        paragraph(out, "  - ", 4, note);
    }
    for caution in &section.cautions {
        paragraph(out, "  CAUTION: ", 4, caution);
    }
}

/// Imperfections as shares of the tolerances.
pub fn effects(out: &mut String, effects: &[Effect]) {
    let header = ["imperfection", "size", "changes", "flow", "speed", "direction", "shift", "share"];
    let mut table = new_table(&header, &[20, 11, 9, 10, 10, 12, 12, 9], &[1, 3, 4, 5, 6, 7]);
    let percent = |x: f64| format!("{} %", significant(100.0 * x, 2));
    for effect in effects {
        let pattern = effect.changes == Changes::Pattern;
        let only = |text: String| if pattern { text } else { "none".to_owned() };
        table.add_row(vec![
            effect.name.to_owned(),
            effect.amount.clone(),
            if pattern { "pattern" } else { "flow" }.to_owned(),
            percent(effect.flow),
            percent(effect.speed),
            only(format!("{} deg", significant(effect.direction.to_degrees(), 2))),
            only(format!("{} mm", significant(1e3 * effect.shift, 2))),
            percent(effect.share),
        ]);
    }
    print(out, &table);
    for effect in effects {
        paragraph(out, &format!("  {}: ", effect.name), 4, effect.definition);
    }
}
