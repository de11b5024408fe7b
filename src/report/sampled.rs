//! Values at the places of a table, as columns behind its own.

use crate::input::points::Points;
use crate::study::sample::{IDEAL, Sampled};
use rayon::prelude::*;
use std::fmt::Write;

/// Rows written in one go.
const RUN: usize = 4096;

/// The name of the column that says whether a place lies in the fluid.
pub const INSIDE: &str = "inside";

/// The names of the columns that are added for keys: those of the ideal pattern, [`INSIDE`], those of the corrections.
pub fn added(keys: &[&'static str]) -> Vec<&'static str> {
    let (own, further) = keys.split_at(IDEAL.len().min(keys.len()));
    own.iter().copied().chain([INSIDE]).chain(further.iter().copied()).collect()
}

/// The table with the values: its rows as they are, then values with the digits that give every number back, and 1 in the fluid; no
/// values and 0 in solids and outside the cell.
pub fn sampled_table(points: &Points, sampled: &Sampled) -> Vec<u8> {
    let between = points.between();
    let added = added(&sampled.keys);
    let mut out = Vec::new();
    for (k, row) in points.header().iter().enumerate() {
        // the names stand in the first row of the header, units of the others in those below
        let names = added.iter().map(|name| if k == 0 { *name } else { "" }).collect::<Vec<_>>().join(&between);
        out.extend(format!("{row}{between}{names}\n").bytes());
    }
    let starts: Vec<usize> = (0..points.places.len()).step_by(RUN).collect();
    let runs: Vec<String> = starts
        .into_par_iter()
        .map(|start| {
            let mut text = String::with_capacity(RUN * 32 * added.len());
            for k in start..(start + RUN).min(points.places.len()) {
                text.push_str(&points.row(k));
                let values = sampled.row(k);
                for column in 0..added.len() {
                    text.push_str(&between);
                    // writing to a text does not fail
                    let _ = match (column.cmp(&IDEAL.len()), values) {
                        (std::cmp::Ordering::Equal, _) => write!(text, "{}", u8::from(values.is_some())),
                        (_, None) => Ok(()),
                        (std::cmp::Ordering::Less, Some(values)) => write!(text, "{}", values[column]),
                        (std::cmp::Ordering::Greater, Some(values)) => write!(text, "{}", values[column - 1]),
                    };
                }
                text.push('\n');
            }
            text
        })
        .collect();
    runs.into_iter().for_each(|run| out.extend(run.into_bytes()));
    out
}
