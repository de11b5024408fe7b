//! The departure budget as JSON, text, table and VTK files.

use super::lines::{write_streaklines, write_wedges};
use crate::base::Result;
use crate::base::units::significant;
use crate::report::Folder;
use crate::report::vtk::{Array, Cells, Data, Encoding, Fields, Grid, Places, write_pvd, write_vtu};
use crate::study::{Budget, Study, swept};
use crate::theory::circulation::Section;
use crate::theory::departure::{Measures, SweepRow};
use crate::theory::inertia::layers::NEUTRAL_HEIGHT;
use crate::theory::streaklines::streaklines_at_heights;
use crate::theory::wedges::{Corrections, LayerGrid};
use serde_json::{Map, Value, json};
use std::fmt::Write;

/// Heights of the streaklines in `layer_streaklines.vtp`: mid-gap, where the drift to the plates is largest, and towards a plate.
const HEIGHTS: [f64; 4] = [0.0, NEUTRAL_HEIGHT, 0.7, 0.95];
/// Layers of wedges in `layers.vtu`.
const LAYERS: usize = 12;

impl Study {
    /// Writes the files of the budget and returns the keys it adds to the report.
    ///
    /// # Errors
    /// [`crate::base::Error::File`] if a file cannot be written.
    pub fn write_budget(&self, budget: &Budget, folder: &mut Folder) -> Result<Map<String, Value>> {
        let space = &self.solved.space;
        let encoding = folder.encoding;
        let with = Corrections { inertia: self.inertia.as_ref(), edge_layer: self.edge_layer.as_ref() };
        let wedges = LayerGrid::new(space, &self.pattern, with, LAYERS)?;
        write_wedges(&folder.place("layers.vtu")?, &wedges, encoding)?;
        let settings = &self.case.streaklines;
        let inertia = self.inertia.as_ref();
        let lines = streaklines_at_heights(space, &self.pattern, inertia, settings, &HEIGHTS);
        let path = folder.place("layer_streaklines.vtp")?;
        write_streaklines(&path, &self.case.cell.gap, &lines, encoding)?;
        if let Some(sweep) = &self.case.sweep {
            let table = csv_of(swept(sweep.quantity), &budget.sweep);
            folder.write("departure.csv", |out| std::io::Write::write_all(out, table.as_bytes()))?;
            let mut series = Vec::new();
            for (k, row) in budget.sweep.iter().enumerate() {
                let name = format!("departure_{k:04}.vtu");
                self.write_step(budget, row, &folder.place(&name)?, encoding)?;
                series.push((row.reduced_reynolds, name));
            }
            let entries: Vec<(f64, &str)> = series.iter().map(|(time, name)| (*time, name.as_str())).collect();
            write_pvd(&folder.place("departure.pvd")?, &entries)?;
        }
        Ok(budget.keys(self))
    }

    fn write_step(&self, budget: &Budget, row: &SweepRow, path: &std::path::Path, encoding: Encoding) -> Result<()> {
        let mesh = &self.solved.space.mesh;
        let departure = budget.departure(row.scale);
        let speed = self.pattern.drive.mean_speed;
        let observed: Vec<[f64; 2]> =
            departure.iter().zip(&budget.ideal).map(|(d, v)| [d[0] + v[0], d[1] + v[1]]).collect();
        let change: Vec<f64> =
            observed.iter().zip(&budget.ideal).map(|(a, b)| (a[0].hypot(a[1]) - b[0].hypot(b[1])) / speed).collect();
        let point = [
            Array { name: "velocity", unit: "m/s", data: Data::Plane(&observed) },
            Array { name: "departure", unit: "m/s", data: Data::Plane(&departure) },
            Array { name: "speed_departure", unit: "1", data: Data::Scalar(&change) },
        ];
        let grid = Grid { points: Places::Plane(&mesh.points), cells: Cells::Triangles(&mesh.triangles) };
        let time = Some(row.reduced_reynolds);
        write_vtu(path, &grid, &Fields { point: &point, time, encoding, ..Fields::default() })
    }
}

impl Budget {
    /// The keys `departure`, `circulation` and `sweep` of the report.
    pub(crate) fn keys(&self, study: &Study) -> Map<String, Value> {
        let list = |measures: &[Measures], total: &Measures| -> Vec<Value> {
            let mut rows: Vec<Value> = self
                .contributions
                .iter()
                .zip(measures)
                .map(|(c, m)| {
                    let mut row = entry(c.name, m, c.numerical_error);
                    if let (Some(neglected), Some(map)) = (c.neglected, row.as_object_mut()) {
                        map.insert("neglected_speed_rms".into(), json!(neglected));
                    }
                    row
                })
                .collect();
            rows.push(entry("total", total, self.numerical_error[0]));
            rows
        };
        let thresholds: Vec<Value> = self
            .verdict
            .thresholds
            .iter()
            .map(|t| {
                let mut row = Map::new();
                row.insert("tolerance".into(), json!(t.tolerance));
                if let Some(re) = t.reduced_reynolds {
                    row.insert("reduced_reynolds".into(), json!(re));
                }
                if let Some(ratio) = t.gap_over_length {
                    row.insert("gap_over_length".into(), json!(ratio));
                }
                Value::Object(row)
            })
            .collect();
        let mut departure = json!({
            "edge_band_m": self.band,
            "height": self.height,
            "contributions": list(&self.at_height, &self.total[0]),
            "gap_mean": list(&self.gap_mean, &self.total[1]),
            "cell_alone": entry("cell_alone", &self.cell_alone, self.numerical_error[1]),
            "verdict": {
                "within_tolerance": self.verdict.within_tolerance,
                "dominant": self.verdict.dominant,
                "text": self.verdict.text,
                "first_exceeded": thresholds,
            },
            "notes": self.notes,
        });
        if let (Some(limit), Some(map)) = (self.first_order_limit, departure.as_object_mut()) {
            map.insert("first_order_up_to_reduced_reynolds".into(), json!(limit));
        }
        let mut map = Map::new();
        map.insert("departure".into(), departure);
        if let Some(circulation) = &self.circulation {
            let sections = circulation.sections.iter().map(|s| {
                let mut row = Map::new();
                row.insert("obstacle".into(), json!(s.name));
                row.insert("kutta_circulation_m2_per_s".into(), json!(s.kutta_circulation));
                row.insert("kutta_circulation_spread_m2_per_s".into(), json!(s.circulation_spread));
                row.insert("sharp_nose".into(), json!(s.tail.sharp_nose));
                row.insert("lift_per_span_n_per_m".into(), json!(s.lift_per_span));
                row.insert("lift_coefficient".into(), json!(s.lift_coefficient));
                if let Some(angle) = s.tail_angle_difference {
                    row.insert("tail_angle_difference_deg".into(), json!(angle.to_degrees()));
                }
                for (key, place) in [
                    ("front_stagnation_m", s.front_stagnation[0]),
                    ("front_stagnation_with_circulation_m", s.front_stagnation[1]),
                ] {
                    if let Some(place) = place {
                        row.insert(key.into(), json!(place));
                    }
                }
                Value::Object(row)
            });
            map.insert("circulation".into(), Value::Array(sections.collect()));
        }
        if study.case.sweep.is_some() {
            let rows = self.sweep.iter().map(|row| {
                json!({
                    "value": row.value,
                    "reduced_reynolds": row.reduced_reynolds,
                    "speed_rms": row.speed_rms,
                    "speed_max": row.speed_max,
                    "direction_max_deg": row.direction_max.to_degrees(),
                    "shift_max_m": row.shift_max,
                    "first_order": row.first_order,
                })
            });
            map.insert("sweep".into(), Value::Array(rows.collect()));
        }
        map
    }

    /// The budget for reading.
    pub fn summary(&self) -> String {
        let mut out = String::from("\nDeparture from the ideal pattern, at the same mean speed U\n");
        let _ = writeln!(
            out,
            "  observed where the fluid is further than {} mm from any solid edge; dye height zeta = {}",
            significant(1e3 * self.band, 4),
            self.height
        );
        let head = ["effect", "speed rms", "largest", "angle rms", "largest", "shift rms", "largest", "error", ""];
        let units = ["", "% of U", "% of U", "deg", "deg", "mm", "mm", "% of U", ""];
        for row in [head, units] {
            let _ = writeln!(out, "  {}", cells(&row.map(str::to_owned)));
        }
        let mut line = |name: &str, m: &Measures, error: f64| {
            let percent = |x: f64| significant(100.0 * x, 3);
            let row = [
                name.replace('_', " "),
                percent(m.speed_rms),
                percent(m.speed_max),
                significant(m.direction_rms.to_degrees(), 3),
                significant(m.direction_max.to_degrees(), 3),
                significant(1e3 * m.shift_rms, 3),
                significant(1e3 * m.shift_max, 3),
                percent(error),
                if m.speed_rms > error { String::new() } else { "unresolved".into() },
            ];
            let _ = writeln!(out, "  {}", cells(&row));
        };
        for (c, m) in self.contributions.iter().zip(&self.at_height) {
            line(c.name, m, c.numerical_error);
        }
        line("all together", &self.total[0], self.numerical_error[0]);
        line("all but confinement", &self.cell_alone, self.numerical_error[1]);
        line("gap mean, together", &self.total[1], self.numerical_error[0]);
        for c in &self.contributions {
            if let Some(neglected) = c.neglected {
                let _ = writeln!(
                    out,
                    "  first order neglects about {} % of U (rms) in the {}",
                    significant(100.0 * neglected, 2),
                    c.name.replace('_', " ")
                );
            }
        }
        for note in &self.notes {
            let _ = writeln!(out, "  note: {note}");
        }
        if let Some(limit) = self.first_order_limit {
            let _ = writeln!(
                out,
                "  first order in inertia is quantitative up to Re* = {}, where the local inertia number reaches one in the region",
                significant(limit, 3)
            );
        }
        for section in self.circulation.iter().flat_map(|c| &c.sections) {
            crate::report::text::paragraph(&mut out, "  ", 2, &told(section));
        }
        out += "\nVerdict\n";
        crate::report::text::paragraph(&mut out, "  ", 2, &self.verdict.text);
        for t in &self.verdict.thresholds {
            let by = |name: &str, value: Option<f64>, how: &str| match value {
                Some(x) => format!("at {name} = {} ({how})", significant(x, 3)),
                None => format!("not by {name} ({how})"),
            };
            let _ = writeln!(
                out,
                "  {} tolerance first exceeded, confinement aside: {}; {}",
                t.tolerance,
                by("Re*", t.reduced_reynolds, "speed raised"),
                by("b/L", t.gap_over_length, "gap widened, same speed")
            );
        }
        if !self.sweep.is_empty() {
            out += "\nSweep (all together)\n      Re*     speed rms   largest   angle max   shift max\n";
            out += "                % of U    % of U         deg          mm\n";
            for row in &self.sweep {
                let _ = writeln!(
                    out,
                    "  {:>9} {:>9} {:>9} {:>11} {:>11}{}",
                    significant(row.reduced_reynolds, 4),
                    significant(100.0 * row.speed_rms, 3),
                    significant(100.0 * row.speed_max, 3),
                    significant(row.direction_max.to_degrees(), 3),
                    significant(1e3 * row.shift_max, 3),
                    if row.first_order { "" } else { "  beyond first order" }
                );
            }
        }
        out
    }
}

/// The circulation a section would have, in words.
fn told(section: &Section) -> String {
    let (gamma, spread) = (section.kutta_circulation, section.circulation_spread);
    let mut text = format!(
        "{}: with the tail left smoothly the inviscid flow would have circulation {} m2/s clockwise, known to {} m2/s on this mesh, lift {} \
         N per m of span (coefficient {}); the cell shows none of it, whatever the deflected streaklines suggest",
        section.name,
        significant(gamma, 4),
        significant(spread, 1),
        significant(section.lift_per_span, 4),
        significant(section.lift_coefficient, 4)
    );
    if section.tail.sharp_nose {
        text += "; its nose is sharp as well: a real stream parts from it unless it runs straight at it, so that this lift is the \
                 one of the inviscid model only";
    }
    text + "."
}

fn cells(row: &[String; 9]) -> String {
    let mut text = format!("{:<20}", row[0]);
    for cell in &row[1..8] {
        let _ = write!(text, "{cell:>10}");
    }
    if row[8].is_empty() { text } else { text + "  " + &row[8] }
}

fn entry(name: &str, m: &Measures, error: f64) -> Value {
    json!({
        "name": name,
        "speed_rms": m.speed_rms,
        "speed_max": m.speed_max,
        "speed_max_at_m": m.speed_max_at,
        "direction_rms_deg": m.direction_rms.to_degrees(),
        "direction_max_deg": m.direction_max.to_degrees(),
        "shift_rms_m": m.shift_rms,
        "shift_max_m": m.shift_max,
        "pressure_coefficient_rms": m.coefficient_rms,
        "pressure_coefficient_max": m.coefficient_max,
        "numerical_error_speed": error,
        "resolved": m.speed_rms > error,
    })
}

fn csv_of(head: &str, rows: &[SweepRow]) -> String {
    let mut table = format!("{head},reduced_reynolds,speed_rms,speed_max,direction_max_deg,shift_max_m,first_order\n");
    if head == "reduced_reynolds" {
        table = table.replacen("reduced_reynolds,reduced_reynolds", "value,reduced_reynolds", 1);
    }
    for r in rows {
        let _ = writeln!(
            table,
            "{},{},{},{},{},{},{}",
            r.value,
            r.reduced_reynolds,
            r.speed_rms,
            r.speed_max,
            r.direction_max.to_degrees(),
            r.shift_max,
            r.first_order
        );
    }
    table
}
