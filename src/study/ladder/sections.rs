//! A convergence study as sections of rows.

use super::{Ladder, Quantity, Rung};
use crate::base::row::{Detail, Kind, Row, Section, Value};
use crate::base::units::{Dimension, significant, with_error};
use crate::theory::convergence::Grading;

const LENGTH: Kind = Kind::Of(Dimension::Length);

impl Ladder {
    /// Bounds on the meshes, the verdict on every quantity, and what bounds and extrapolation say of the shape factor.
    pub fn sections(&self) -> Vec<Section> {
        let mut list = vec![self.mesh_section()];
        let entries = (0..self.quantities.len()).map(|k| self.rows_of(k));
        let quantities = Section::table("convergence", "Convergence by quantity", entries);
        list.push(quantities.noted(self.reasons()));
        list.extend(self.bracket_section());
        list
    }

    /// Every verdict with its reason once, behind the quantities it holds for; their orders stand in the table.
    fn reasons(&self) -> Vec<String> {
        let mut groups: Vec<(String, Vec<&str>)> = Vec::new();
        for Quantity { name, judgement, .. } in &self.quantities {
            let reason = format!("{}. {}", judgement.standing.name(), judgement.reason);
            match groups.iter_mut().find(|(known, _)| *known == reason) {
                Some((_, names)) => names.push(name),
                None => groups.push((reason, vec![name])),
            }
        }
        groups.into_iter().map(|(reason, names)| format!("{}: {reason}", names.join(", "))).collect()
    }

    /// One entry for each mesh with the value of every quantity: the table for plotting.
    pub fn values_section(&self) -> Section {
        let entry = |rung: &Rung| {
            let mut rows = vec![
                Row::new("triangles", "triangles", rung.triangles, Kind::Number),
                Row::new("size_m", "size", rung.size, LENGTH),
            ];
            let values = self.quantities.iter().zip(&rung.values);
            rows.extend(values.map(|(q, &value)| Row::new(q.name.clone(), q.name.clone(), value, Kind::Number)));
            rows
        };
        Section::table("", "", self.rungs.iter().map(entry))
    }

    fn mesh_section(&self) -> Section {
        let entry = |rung: &Rung| {
            let [lower, upper] = rung.bounds;
            vec![
                Row::new("triangles", "triangles", rung.triangles, Kind::Number),
                Row::new("size_m", "size", rung.size, LENGTH),
                Row::new("lower", "shape factor above", lower, Kind::Number).digits(8),
                Row::new("upper", "below", upper, Kind::Number).digits(8),
                Row::new("relative_half_width", "half-width", (upper - lower) / (upper + lower), Kind::Percent)
                    .digits(3),
            ]
        };
        let mut notes = vec![self.about()];
        notes.extend(self.notes.iter().map(|note| format!("note: {note}")));
        Section::table("ladder", "Convergence", self.rungs.iter().map(entry)).noted(notes)
    }

    fn rows_of(&self, k: usize) -> Vec<Row> {
        let Quantity { name, unit, expected, judgement: j, .. } = &self.quantities[k];
        let over = |of: &dyn Fn(&Rung) -> Value| Value::List(self.rungs.iter().map(of).collect());
        let mut rows = vec![
            Row::new("quantity", "quantity", name.clone(), Kind::Number),
            Row::new("unit", "unit", unit.clone(), Kind::Number),
            Row::script("sizes_m", Value::numbers(self.sizes())),
            Row::script("triangles", over(&|rung| rung.triangles.into())),
            Row::script("values", Value::numbers(self.values(k))),
        ];
        if k == 0 {
            rows.push(Row::script("lower", over(&|rung| rung.bounds[0].into())));
            rows.push(Row::script("upper", over(&|rung| rung.bounds[1].into())));
        }
        if let Some(order) = j.observed_order {
            rows.push(Row::new("observed_order", "order", order, Kind::Number).digits(3));
        }
        rows.push(Row::new("expected_order", "expected", *expected, Kind::Number).digits(3));
        rows.push(Row::script("order_used", j.order_used));
        rows.push(Row::new("extrapolated", "Richardson", j.extrapolated, Kind::Number).digits(7));
        if let Some(gci) = j.gci {
            rows.push(Row::new("gci_fine", "GCI", gci, Kind::Percent).digits(2));
        }
        if j.uncertainty.is_finite() {
            rows.push(Row::new("uncertainty", "uncertainty", j.uncertainty, Kind::Number).digits(2).full());
        }
        rows.push(Row::new("quote", "quote", self.quote(k), Kind::Number));
        rows.push(Row::script("safety_factor", j.factor));
        rows.push(Row::new("verdict", "verdict", j.standing.name(), Kind::Number));
        rows.push(Row::script("why", j.why()));
        rows
    }

    /// What to quote: of the shape factor the middle of the bounds on the finest mesh with their half-width, which holds whatever the
    /// verdict; of everything else the value on the finest mesh with its uncertainty, or why there is none.
    fn quote(&self, k: usize) -> String {
        let Quantity { unit, judgement, .. } = &self.quantities[k];
        match self.rungs.last() {
            Some(Rung { bounds: [lower, upper], .. }) if k == 0 => {
                format!("{} (bounds)", with_error(0.5 * (lower + upper), 0.5 * (upper - lower)))
            }
            Some(rung) if judgement.uncertainty.is_finite() => {
                let shown = with_error(rung.values[k], judgement.uncertainty);
                if unit.is_empty() || unit == "1" { shown } else { format!("{shown} {unit}") }
            }
            _ => "nothing yet: refine further".to_owned(),
        }
    }

    fn bracket_section(&self) -> Option<Section> {
        let b = self.bracket()?;
        let mut rows = vec![
            Row::new("text", "", b.text, Kind::Number),
            Row::new("richardson", "Richardson value", b.richardson, Kind::Number).digits(9),
            Row::new("lower", "guaranteed not below", b.bounds[0], Kind::Number).digits(9),
            Row::new("upper", "guaranteed not above", b.bounds[1], Kind::Number).digits(9),
            Row::new("outline_allowance", "outline allowance", b.allowance, Kind::Number).digits(3),
            Row::new("relative_half_width", "half-width of the bounds", b.half_width, Kind::Percent).digits(3),
            Row::new("inside", "Richardson value within the bounds", b.inside, Kind::Number),
            Row::script("nested", self.grading == Grading::Even),
            Row::script("graded", self.grading == Grading::IntoCorners),
            Row::script("notes", Value::texts(self.notes.iter().cloned())),
        ];
        if let Some(order) = b.closing_order {
            rows.push(Row::new("closing_order", "order with which the bounds close", order, Kind::Number).digits(3));
        }
        if let Some(corner) = &self.sharpest {
            rows.extend([
                Row::script("sharpest_corner_at_m", corner.at),
                Row::script("sharpest_fluid_angle_deg", corner.fluid_angle.to_degrees()),
                Row::script("sharpest_at_held_end", corner.at_held_end),
            ]);
        }
        let detail = |row: Row| if row.key == "text" || row.detail == Detail::Script { row } else { row.full() };
        let rows = rows.into_iter().map(detail).collect();
        Some(Section::new("convergence_bounds", "Bounds and extrapolation", rows))
    }

    /// What ladder this is and which order it should show.
    fn about(&self) -> String {
        let meshes = if self.grading == Grading::Even {
            "nested, each with half the size of the one before, not graded into corners"
        } else {
            "graded by the computable error, not nested: orders are less clean than on nested ones"
        };
        let order = match &self.sharpest {
            Some(corner) => format!(
                "The corner that counts most is {}, at ({}, {}) mm with a fluid angle of {:.1} deg: on meshes of one size the shape factor \
                 converges as h^{:.2}{}.",
                if corner.at_held_end { "where a wall meets a held end" } else { "between walls" },
                significant(1e3 * corner.at[0], 4),
                significant(1e3 * corner.at[1], 4),
                corner.fluid_angle.to_degrees(),
                2.0 * corner.exponent,
                if self.grading == Grading::IntoCorners { ", on graded ones as h^2" } else { "" }
            ),
            None => "No corner slows convergence below h^2.".to_owned(),
        };
        format!(
            "{} meshes, {meshes}; size h = sqrt(area/N). {order} GCI: factor 1.25 where the order is confirmed, else 3 with the lower \
             order (Celik et al. 2008; Roache 1994).",
            self.rungs.len()
        )
    }
}
