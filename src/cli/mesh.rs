//! `mesh`: triangulate only.

use super::args::Common;
use super::job::{Job, tell_as};
use crate::base::units::significant;
use crate::base::{Error, Result};
use crate::input::case::Case;
use crate::numerics::mesh::{HISTOGRAM_STEP, Quality};
use crate::report::vtk::{Array, Cells, Data, Fields, Grid, Places, write_vtu};
use crate::theory::ideal::first_mesh;
use serde_json::json;
use std::fmt::Write;
use std::path::Path;

/// Makes the mesh that the plan asks for, or one of about so many triangles graded likewise.
pub fn mesh(path: &Path, triangles: Option<usize>, common: &Common) -> Result<u8> {
    let Job { case, plan, mut folder, progress, .. } = Job::begin(path, common)?;
    let mesh = first_mesh(&plan, &case, triangles, &|stage| progress.stage(stage))?;
    progress.show("writing");
    let angles: Vec<f64> = mesh.least_angles().iter().map(|a| a.to_degrees()).collect();
    let areas = mesh.areas();
    let cell = [
        Array { name: "area", unit: "m2", data: Data::Scalar(&areas) },
        Array { name: "least_angle", unit: "deg", data: Data::Scalar(&angles) },
    ];
    let grid = Grid { points: Places::Plane(&mesh.points), cells: Cells::Triangles(&mesh.triangles) };
    let encoding = common.encoding();
    let file = folder.place("mesh.vtu")?;
    write_vtu(&file, &grid, &Fields { cell: &cell, encoding, ..Fields::default() })?;
    folder.finish()?;
    progress.end();
    let quality = mesh.quality();
    let text = || format!("{}\nThe mesh is in {}\n", table(&quality), file.display());
    tell_as(common, || as_json(&case, &quality, mesh.coarser.len() + 1), text)
}

fn as_json(case: &Case, quality: &Quality, levels: usize) -> Result<String> {
    let report = json!({
        "program": {"name": "twinplate", "version": env!("CARGO_PKG_VERSION")},
        "case": {"title": case.title, "file": case.file.display().to_string(), "sha256": case.sha256},
        "mesh": {
            "vertices": quality.vertices, "triangles": quality.triangles, "levels": levels,
            "min_angle_deg": quality.least_angle.to_degrees(), "max_angle_deg": quality.largest_angle.to_degrees(),
            "smallest_area_m2": quality.least_area, "largest_area_m2": quality.largest_area,
            "total_area_m2": quality.total_area, "largest_growth": quality.growth,
            "shortest_side_m": quality.shortest_side, "longest_side_m": quality.longest_side,
        },
    });
    let text = serde_json::to_string_pretty(&report)
        .map_err(|e| Error::failed(format!("the report cannot be written: {e}"), "report this as a fault"))?;
    Ok(text + "\n")
}

/// The quality table.
fn table(q: &Quality) -> String {
    let mut out = String::new();
    let mut line = |name: &str, value: String| {
        let _ = writeln!(out, "  {name:<20}{value}");
    };
    let at = |p: crate::base::Point| format!("at x = {:.4} m, y = {:.4} m", p[0], p[1]);
    line("vertices", q.vertices.to_string());
    line("triangles", q.triangles.to_string());
    line("boundary edges", q.boundary_edges.to_string());
    line("smallest angle", format!("{:.2} deg {}", q.least_angle.to_degrees(), at(q.least_angle_at)));
    line("largest angle", format!("{:.2} deg {}", q.largest_angle.to_degrees(), at(q.largest_angle_at)));
    line(
        "areas",
        format!(
            "{} to {} m2, in all {} m2",
            significant(q.least_area, 4),
            significant(q.largest_area, 4),
            significant(q.total_area, 6)
        ),
    );
    line("sides", format!("{} to {} m", significant(q.shortest_side, 4), significant(q.longest_side, 4)));
    line("largest growth", format!("{:.2} (ratio of the areas of two neighbours)", q.growth));
    let most = q.histogram.iter().copied().max().unwrap_or(1).max(1);
    out += "  triangles by smallest angle, degrees\n";
    for (k, count) in q.histogram.iter().enumerate().filter(|(_, count)| **count > 0) {
        let from = k as f64 * HISTOGRAM_STEP;
        let bar = "#".repeat((40 * count).div_ceil(most));
        let _ = writeln!(out, "  {from:>6.0} to {:>2.0} {count:>10}  {bar}", from + HISTOGRAM_STEP);
    }
    out
}
