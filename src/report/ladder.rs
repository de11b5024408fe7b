//! A convergence study as text, table, JSON and files.

use super::{FigureSettings, write_figures};
use crate::base::Result;
use crate::base::row::Detail;
use crate::base::units::significant;
use crate::report::Folder;
use crate::report::figure::Style;
use crate::report::report::Report;
use crate::report::text::{paragraph, summary, table, wide_table};
use crate::study::{Ladder, Quantity};
use serde_json::{Map, Value, json};
use std::fmt::Write;

/// The guaranteed bounds of the finest mesh beside what extrapolation says of the shape factor.
#[derive(Debug, Clone, PartialEq)]
pub struct Bracket {
    /// Richardson value of the shape factor.
    pub richardson: f64,
    /// Lower and upper bound on the finest mesh.
    pub bounds: [f64; 2],
    /// What chords in place of curves can add, to first order, units of the shape factor.
    pub allowance: f64,
    /// Half the distance of the bounds over the value.
    pub half_width: f64,
    /// Order with which the bounds close from the finest but one to the finest mesh; none where they are closed to rounding.
    pub closing_order: Option<f64>,
    /// GCI of the shape factor, if it has one.
    pub gci: Option<f64>,
    /// Whether the Richardson value lies within the bounds, widened by the allowance.
    pub inside: bool,
    /// Which of the two estimates is the safer, in words.
    pub text: String,
}

impl Ladder {
    /// Compares bounds and extrapolation of the shape factor; none if the ladder is empty.
    pub fn bracket(&self) -> Option<Bracket> {
        let (rung, shape) = (self.rungs.last()?, self.quantities.first()?);
        let [lower, upper] = rung.bounds;
        let judgement = &shape.judgement;
        let (richardson, gci, allowance) = (judgement.extrapolated, judgement.gci, rung.allowance);
        let value = 0.5 * (lower + upper);
        // on the empty cell both bounds are the value itself, to rounding
        let slack = allowance + 1e-12 * value.abs();
        let inside = lower - slack <= richardson && richardson <= upper + slack;
        let half_width = 0.5 * (upper - lower) / value;
        let closing_order = self.closing_order();
        let mut text = compare(inside, half_width, allowance / value, gci);
        if let Some(order) = closing_order {
            text += &format!(" The bounds close with order {order:.2} where {:.2} is expected.", shape.expected);
        }
        Some(Bracket { closing_order, richardson, bounds: [lower, upper], allowance, half_width, gci, inside, text })
    }

    /// The limit of the distance of the bounds is known to be zero, so two meshes show its order.
    fn closing_order(&self) -> Option<f64> {
        let [.., coarse, fine] = self.rungs.as_slice() else { return None };
        let width = |bounds: [f64; 2]| bounds[1] - bounds[0];
        let rounding = 1e-11 * fine.bounds[1].abs();
        let order = (width(coarse.bounds) / width(fine.bounds)).ln() / (coarse.size / fine.size).ln();
        (width(fine.bounds) > rounding && order.is_finite()).then_some(order)
    }

    /// The key `convergence` of the report, and `convergence_bounds`.
    pub fn keys(&self) -> Map<String, Value> {
        let rows = (0..self.quantities.len()).map(|k| self.row(k));
        let mut map = Map::new();
        map.insert("convergence".into(), Value::Array(rows.collect()));
        if let Some(b) = self.bracket() {
            let mut bounds = json!({
                "richardson": b.richardson, "lower": b.bounds[0], "upper": b.bounds[1], "outline_allowance": b.allowance,
                "relative_half_width": b.half_width, "inside": b.inside, "text": b.text,
                "nested": self.nested, "graded": self.graded, "notes": self.notes,
            });
            if let (Some(order), Some(inner)) = (b.closing_order, bounds.as_object_mut()) {
                inner.insert("closing_order".into(), json!(order));
            }
            if let (Some(corner), Some(inner)) = (&self.sharpest, bounds.as_object_mut()) {
                inner.insert("sharpest_corner_at_m".into(), json!(corner.at));
                inner.insert("sharpest_fluid_angle_deg".into(), json!(corner.fluid_angle.to_degrees()));
                inner.insert("sharpest_at_held_end".into(), json!(corner.at_held_end));
            }
            map.insert("convergence_bounds".into(), bounds);
        }
        map
    }

    fn row(&self, k: usize) -> Value {
        let Quantity { name, unit, expected, judgement: j, .. } = &self.quantities[k];
        let triangles: Vec<usize> = self.rungs.iter().map(|rung| rung.triangles).collect();
        let mut row = Map::new();
        let mut put = |key: &str, value: Value| row.insert(key.into(), value);
        put("quantity", json!(name));
        put("unit", json!(unit));
        put("sizes_m", json!(self.sizes()));
        put("triangles", json!(triangles));
        put("values", json!(self.values(k)));
        if k == 0 {
            put("lower", json!(self.rungs.iter().map(|rung| rung.bounds[0]).collect::<Vec<_>>()));
            put("upper", json!(self.rungs.iter().map(|rung| rung.bounds[1]).collect::<Vec<_>>()));
        }
        if let Some(order) = j.observed_order {
            put("observed_order", json!(order));
        }
        put("expected_order", json!(expected));
        put("order_used", json!(j.order_used));
        put("extrapolated", json!(j.extrapolated));
        if let Some(gci) = j.gci {
            put("gci_fine", json!(gci));
        }
        if j.uncertainty.is_finite() {
            put("uncertainty", json!(j.uncertainty));
        }
        put("safety_factor", json!(j.factor));
        put("verdict", json!(j.verdict.name()));
        put("why", json!(j.why));
        Value::Object(row)
    }

    /// One row per mesh, one column per quantity.
    pub fn csv(&self) -> String {
        let mut head = String::from("triangles,size_m");
        for q in &self.quantities {
            let _ = write!(head, ",{}", quoted(&q.name));
        }
        let mut out = head + "\n";
        for rung in &self.rungs {
            let _ = write!(out, "{},{}", rung.triangles, rung.size);
            rung.values.iter().for_each(|v| {
                let _ = write!(out, ",{v}");
            });
            out.push('\n');
        }
        out
    }

    /// The study for reading.
    pub fn summary(&self) -> String {
        let mut out = String::from("\nConvergence\n");
        paragraph(&mut out, "  ", 2, &self.about());
        let rows = self.rungs.iter().map(|rung| {
            let [lower, upper] = rung.bounds;
            let half_width = format!("{} %", significant(100.0 * (upper - lower) / (upper + lower), 3));
            let size = significant(1e3 * rung.size, 4);
            vec![rung.triangles.to_string(), size, significant(lower, 8), significant(upper, 8), half_width]
        });
        table(&mut out, &["triangles", "size, mm", "shape factor above", "below", "half-width"], rows);
        let rows = self.quantities.iter().enumerate().map(|(k, q)| {
            let j = &q.judgement;
            let unit = if q.unit == "1" { String::new() } else { format!(", {}", q.unit) };
            let finest = self.rungs.last().map_or(0.0, |rung| rung.values[k]);
            let observed = j.observed_order.map_or("none".to_owned(), |p| format!("{p:.2}"));
            let gci = j.gci.map_or("none".to_owned(), |gci| significant(100.0 * gci, 2));
            let name = format!("{}{unit}", q.name);
            let values = [significant(finest, 7), significant(j.extrapolated, 7)];
            let [finest, richardson] = values;
            vec![name, finest, observed, format!("{:.2}", q.expected), richardson, gci, j.verdict.name().to_owned()]
        });
        wide_table(&mut out, &["quantity", "finest", "order", "expected", "Richardson", "GCI, %", "verdict"], rows);
        if let Some(bracket) = self.bracket() {
            paragraph(&mut out, "  ", 2, &bracket.text);
        }
        out += "\nWhy\n";
        for q in &self.quantities {
            paragraph(&mut out, "  - ", 4, &format!("{}: {}. {}", q.name, q.judgement.verdict.name(), q.judgement.why));
        }
        for note in &self.notes {
            paragraph(&mut out, "  - ", 4, &format!("note: {note}"));
        }
        out
    }

    /// What ladder this is and which order it should show.
    fn about(&self) -> String {
        let meshes = if self.nested {
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
                if self.graded { ", on graded ones as h^2" } else { "" }
            ),
            None => "No corner slows convergence below h^2.".to_owned(),
        };
        format!(
            "{} meshes, {meshes}; size h = sqrt(area/N). {order} GCI: factor 1.25 where the order is confirmed, else 3 with the lower \
             order (Celik et al. 2008; Roache 1994).",
            self.rungs.len()
        )
    }

    /// Writes the table, the figure `convergence.svg`, and the report of the finest mesh with the study in it; where figures are
    /// wanted also `figures/convergence.*`. Returns the report.
    ///
    /// # Errors
    /// [`crate::base::Error::File`] if a file cannot be written, [`crate::base::Error::Failed`] if a figure cannot be drawn.
    pub fn write(&self, mut folder: Folder, figures: Option<&FigureSettings>) -> Result<Report> {
        let table = self.csv();
        folder.write("convergence.csv", |out| std::io::Write::write_all(out, table.as_bytes()))?;
        self.figure(Style::default())?.write_svg(&folder.place("convergence.svg")?)?;
        if let Some(settings) = figures {
            write_figures(&[self.figure(settings.style)?], &mut folder, settings)?;
        }
        let mut report = self.finest.report();
        report.more = self.keys();
        report.files = folder.written().map(str::to_owned).collect();
        report.files.extend(["report.txt".to_owned(), "report.json".to_owned()]);
        let json = report.to_json_string()?;
        let text = summary(&report, Detail::Full) + &self.summary();
        folder.write("report.txt", |out| std::io::Write::write_all(out, text.as_bytes()))?;
        folder.write("report.json", |out| std::io::Write::write_all(out, json.as_bytes()))?;
        folder.finish()?;
        Ok(report)
    }
}

/// Which estimate is the safer, in words; all relative to the shape factor.
fn compare(inside: bool, half_width: f64, allowance: f64, gci: Option<f64>) -> String {
    let percent = |x: f64| format!("{} %", significant(100.0 * x, 2));
    let place = if inside { "lies within" } else { "lies OUTSIDE" };
    let chords = if allowance > 0.0 {
        format!(", with {} more for chords in place of curves", percent(allowance))
    } else {
        String::new()
    };
    let bounds = format!(
        "The Richardson value of the shape factor {place} the guaranteed bounds of the finest mesh (half-width {}{chords}).",
        percent(half_width)
    );
    if !inside {
        return bounds + " Trust the bounds: extrapolation assumes a steady order, which these meshes do not show.";
    }
    match gci {
        Some(gci) if gci <= half_width + allowance => format!(
            "{bounds} The GCI is {}, narrower, but it rests on the observed order; the bounds are the safer, for they assume nothing.",
            percent(gci)
        ),
        Some(gci) => format!(
            "{bounds} The GCI is {}, wider: here it is the more careful of the two, though the bounds prove that the error is less.",
            percent(gci)
        ),
        None => bounds + " There is no GCI; the bounds are the safer, for they assume nothing.",
    }
}

/// A field of a table of comma-separated values.
fn quoted(text: &str) -> String {
    if text.contains([',', '"', '\n', '\r']) { format!("\"{}\"", text.replace('"', "\"\"")) } else { text.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_follow_the_numbers() {
        assert!(compare(true, 1e-4, 0.0, Some(1e-5)).contains("bounds are the safer"));
        assert!(compare(true, 1e-4, 0.0, Some(1e-3)).contains("more careful"));
        assert!(compare(false, 1e-4, 0.0, Some(1e-5)).contains("Trust the bounds"));
        assert!(compare(true, 1e-4, 2e-5, None).contains("0.0020 % more for chords"));
        assert_eq!(quoted("probe.a, \"b\".pressure"), "\"probe.a, \"\"b\"\".pressure\"");
    }
}
