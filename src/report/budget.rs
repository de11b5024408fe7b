//! The files of what follows from a study: the flow through the gap, the sweep.

use super::dye::WrittenLines;
use super::lines::write_wedges;
use crate::base::Result;
use crate::base::row::Section;
use crate::report::Folder;
use crate::report::vtk::{Array, Data, Fields, write_on_mesh, write_pvd};
use crate::study::{Budget, Findings, Study, swept};
use crate::theory::departure::SweepRow;

impl Study {
    /// Writes the flow through the gap and the sweep, where there are any.
    pub(super) fn write_findings(&self, found: &Findings, folder: &mut Folder, stored: &Fields) -> Result<()> {
        if let Some(layers) = &found.layers {
            write_wedges(&folder.place("layers.vtu")?, &layers.grid, stored)?;
            let lines = WrittenLines::of(&layers.lines, &self.case.cell.gap, self.needle_diameter());
            lines.write_vtp(&folder.place("layer_streaklines.vtp")?, stored)?;
        }
        let (Some(sweep), Some(budget)) = (&self.case.sweep, &found.budget) else { return Ok(()) };
        // the Reynolds number has a column of its own
        let key = if swept(sweep.quantity) == "reduced_reynolds" { "value" } else { swept(sweep.quantity) };
        folder.write_table("departure.csv", Section::table("", "", budget.sweep.iter().map(|row| row.flat(key))))?;
        let mut series = Vec::new();
        for (k, row) in budget.sweep.iter().enumerate() {
            let name = format!("departure_{k:04}.vtu");
            self.write_step(budget, row, &folder.place(&name)?, stored)?;
            series.push((row.reduced_reynolds, name));
        }
        let entries: Vec<(f64, &str)> = series.iter().map(|(time, name)| (*time, name.as_str())).collect();
        write_pvd(&folder.place("departure.pvd")?, &entries, stored.origin)
    }

    fn write_step(&self, budget: &Budget, row: &SweepRow, path: &std::path::Path, stored: &Fields) -> Result<()> {
        let departure = budget.departure(row.scale);
        let speed = self.pattern.drive.mean_speed;
        let way = budget.way();
        let observed: Vec<[f64; 2]> = budget.observed(row.scale);
        let change: Vec<f64> =
            departure.iter().zip(&budget.ideal).map(|(d, v)| way.speed_change(*v, *d) / speed).collect();
        let point = [
            Array { name: "velocity", unit: "m/s", data: Data::Plane(&observed) },
            Array { name: "departure", unit: "m/s", data: Data::Plane(&departure) },
            Array { name: "speed_departure", unit: "1", data: Data::Scalar(&change) },
        ];
        let time = Some(row.reduced_reynolds);
        write_on_mesh(path, &self.solved.space.mesh, &Fields { point: &point, time, ..*stored })
    }
}
