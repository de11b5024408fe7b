//! Reading of a table of gaps.

use super::table_file::{self, Format, MOST_REPORTED, TableFile};
use crate::base::error::Problems;
use crate::base::units::{Dimension, likely_unit};
use crate::input::columns::{Fault, Title};
use std::path::Path;

/// Most rows a table of gaps may have.
pub const MOST_ROWS: usize = 1_000_000;

const TABLE: Format<3> = Format {
    what: "the table of gaps",
    columns: ["x", "y", "gap"],
    title: Title::Mistake,
    most_rows: MOST_ROWS,
    // room for the largest table
    largest: 256 << 20,
    thin_out: "thin it out",
};

/// Places beyond this multiple of the cell's sides tell of a forgotten unit.
const FAR: f64 = 10.0;

/// The rows of a table, in metres, and the SHA-256 of its bytes. Beside the sides of its cell, m, numbers without a unit that cannot
/// be metres, but would fit in a smaller unit, are a mistake.
pub(super) fn read(file: &Path, sides: Option<[f64; 2]>) -> Result<(Vec<[f64; 3]>, String), Problems> {
    let table = table_file::read(file, &TABLE)?;
    let mut problems = Problems::default();
    for (row, place) in table.rows.iter().filter(|(row, _)| row[2] <= 0.0).take(MOST_REPORTED) {
        let message = format!("the gap is {} and must be above zero", Dimension::Length.show(row[2]));
        problems.add(file, Some(place.clone()), message, "correct or remove the row");
    }
    let values: Vec<[f64; 3]> = table.rows.iter().map(|row| row.0).collect();
    if let (Some(sides), true) = (sides, problems.is_empty()) {
        for (message, remedy) in forgotten(&table, sides) {
            problems.add(file, table.rows.first().map(|row| row.1.clone()), message, remedy);
        }
    }
    report_repeated(file, &table, &mut problems);
    if !problems.is_empty() {
        problems.add_text(file, &table.text);
        return Err(problems);
    }
    Ok((values, table.sha256))
}

/// Columns without a unit whose numbers cannot be metres in a cell of these sides.
fn forgotten(table: &TableFile<3>, sides: [f64; 2]) -> Vec<Fault> {
    let show = |value| Dimension::Length.show(value);
    // a table may go beyond its cell, but hardly three times as far
    let mut faults: Vec<Fault> = table.forgotten(&TABLE, sides, FAR, 3.0).into_iter().collect();
    let least = table.rows.iter().map(|(row, _)| row[2]).fold(f64::INFINITY, f64::min);
    let most = 0.2 * sides[0].min(sides[1]);
    if table.units[2].is_none() && least.is_finite() && least > most {
        let message = format!(
            "the gap has no unit and is read in metres: its least value is {}, more than a fifth of the cell's smaller side, {}",
            show(least),
            show(5.0 * most)
        );
        if let Some(unit) = likely_unit(&["mm", "um"], least, most) {
            faults.push((message, format!("if {unit} are meant, name the column gap_{unit} in the header")));
        }
    }
    faults
}

/// Notes rows that give a place of an earlier row another gap.
fn report_repeated(file: &Path, table: &TableFile<3>, problems: &mut Problems) {
    let row = |k: usize| table.rows[k].0;
    let mut order: Vec<usize> = (0..table.rows.len()).collect();
    // -0 and 0 are the same place
    let key = |k: usize| [row(k)[0] + 0.0, row(k)[1] + 0.0];
    order.sort_by(|&a, &b| {
        let (p, q) = (key(a), key(b));
        p[0].total_cmp(&q[0]).then(p[1].total_cmp(&q[1])).then(a.cmp(&b))
    });
    let mut first = 0;
    for k in 1..order.len() {
        let (a, b) = (order[first], order[k]);
        if key(a) != key(b) {
            first = k;
        } else if row(a)[2] != row(b)[2] && problems.list.len() < MOST_REPORTED {
            let line = 1 + table.text[..table.rows[a].1.start].matches('\n').count();
            let [x, y, gap] = row(b);
            let message = format!("the gap at ({x}, {y}) m is {gap} m here and {} m in line {line}", row(a)[2]);
            problems.add(file, Some(table.rows[b].1.clone()), message, "keep one of the two rows");
        }
    }
}
