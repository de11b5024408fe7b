//! The rows a convergence study follows, found again on every mesh by their path.

use super::settings::LadderSettings;
use crate::base::error::Usage;
use crate::base::row::{Followed, Order, Row, Section, row_at, walk};
use crate::base::{Error, Result};
use crate::theory::convergence::{Judgement, judge};

/// One mesh of a ladder.
#[derive(Debug, Clone, PartialEq)]
pub struct Rung {
    /// Triangles.
    pub triangles: usize,
    /// Size sqrt(area/N), m.
    pub size: f64,
    /// Lower and upper bound of the shape factor.
    pub bounds: [f64; 2],
    /// What chords in place of curves can add to the shape factor, to first order.
    pub allowance: f64,
    /// Values of the quantities, in their order.
    pub values: Vec<f64>,
}

/// One quantity over the ladder.
#[derive(Debug, Clone, PartialEq)]
pub struct Quantity {
    /// Its name: `shape_factor`, `probe.NAME.pressure`, `departure.edge_layer.speed_rms`, or a path in the report.
    pub name: String,
    /// Its unit, `1` for numbers.
    pub unit: String,
    /// Expected order.
    pub expected: f64,
    /// The verdict on it.
    pub judgement: Judgement,
    /// Its path in the report.
    pub path: String,
    /// How its error falls with the size of the mesh.
    pub order: Order,
    /// Differences that iteration and rounding can make; none for 1e-8 of the value.
    noise: Option<f64>,
}

impl Quantity {
    fn new(name: String, path: String, row: &Row, noise: Option<f64>) -> Quantity {
        let unit = match row.kind.unit() {
            "" => "1",
            unit => unit,
        };
        let judgement = judge(&[], &[], 2.0, 0.0);
        Quantity { name, unit: unit.to_owned(), expected: 2.0, judgement, path, order: row.order, noise }
    }

    /// Differences of its values that say nothing.
    pub(super) fn noise_among(&self, values: &[f64]) -> f64 {
        self.noise.unwrap_or_else(|| 1e-8 * values.iter().fold(0.0, |a: f64, v| a.max(v.abs())))
    }

    /// Its value in a report.
    pub(super) fn value(&self, report: &[Section]) -> Result<f64> {
        row_at(report, &self.path).and_then(|row| row.value.number()).ok_or_else(|| {
            let what = format!("{} exists on some meshes of the ladder only", self.name);
            Error::failed(what, "start the ladder with a finer mesh")
        })
    }
}

/// The quantities of a report that are studied: the rows that ask for it, and those the user names.
///
/// # Errors
/// [`Error::Usage`] for a path under which the report has no number.
pub(super) fn quantities(report: &[Section], wish: &LadderSettings) -> Result<Vec<Quantity>> {
    let mut list = Vec::new();
    walk(report, &mut |path, row| {
        if let (Some(Followed { name, noise }), Some(_)) = (&row.followed, row.value.number()) {
            list.push(Quantity::new(name.clone(), path.to_owned(), row, *noise));
        }
    });
    for path in &wish.also {
        let Some(row) = row_at(report, path).filter(|row| row.value.number().is_some()) else {
            return Err(Usage::UnknownKey { key: path.clone() }.into());
        };
        list.push(Quantity::new(path.clone(), path.clone(), row, None));
    }
    Ok(list)
}
