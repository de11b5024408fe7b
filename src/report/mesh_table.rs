//! What a mesh by itself prints and writes.

use super::Folder;
use super::vtk::{Array, Data, Fields, write_on_mesh};
use crate::base::Result;
use crate::base::row::{Detail, Kind, Row, Section};
use crate::base::units::Dimension;
use crate::numerics::mesh::HISTOGRAM_STEP;
use crate::study::{Meshed, program};
use std::path::PathBuf;

/// Columns of the longest bar of the histogram.
const LONGEST_BAR: usize = 40;

impl Meshed {
    /// Writes `mesh.vtu` and returns its path.
    ///
    /// # Errors
    /// [`crate::base::Error::File`] if it cannot be written.
    pub fn write(&self, mut folder: Folder) -> Result<PathBuf> {
        let angles: Vec<f64> = self.mesh.least_angles().iter().map(|a| a.to_degrees()).collect();
        let areas = self.mesh.areas();
        let cell = [
            Array { name: "area", unit: "m2", data: Data::Scalar(&areas) },
            Array { name: "least_angle", unit: "deg", data: Data::Scalar(&angles) },
        ];
        let (encoding, origin) = (folder.encoding, folder.origin().clone());
        let file = folder.place("mesh.vtu")?;
        write_on_mesh(
            &file,
            &self.mesh,
            &Fields { cell: &cell, encoding, origin: Some(&origin), ..Fields::default() },
        )?;
        let (dir, _) = folder.finish()?;
        Ok(dir.join("mesh.vtu"))
    }

    /// Program, case and the measures of the mesh.
    pub fn sections(&self) -> Vec<Section> {
        let q = &self.quality;
        let middle = self.case.cell.middle();
        let length =
            |key: &'static str, name: &'static str, x: f64| Row::new(key, name, x, Kind::Of(Dimension::Length));
        let area =
            |key: &'static str, name: &'static str, x: f64| Row::new(key, name, x, Kind::Unit("m2", 1e-6, "mm2"));
        let place = |key: &'static str, at: crate::base::Point| Row::new(key, "at", at, Kind::Of(Dimension::Length));
        let count = |key: &'static str, name: &'static str, n: usize| Row::new(key, name, n, Kind::Number);
        let growth = Row::new("largest_growth", "largest growth", q.growth, Kind::Number).means(
            "ratio of the areas of two triangles that share a side",
            "",
            "",
        );
        let rows = vec![
            count("vertices", "vertices", q.vertices),
            count("triangles", "triangles", q.triangles),
            count("boundary_edges", "boundary edges", q.boundary_edges),
            count("levels", "nested levels", self.mesh.coarser.len() + 1),
            Row::new("min_angle_deg", "smallest angle", q.least_angle.to_degrees(), Kind::Degrees),
            place("min_angle_at_m", q.least_angle_at),
            Row::new("max_angle_deg", "largest angle", q.largest_angle.to_degrees(), Kind::Degrees),
            place("max_angle_at_m", q.largest_angle_at),
            area("smallest_area_m2", "smallest area", q.least_area),
            area("largest_area_m2", "largest area", q.largest_area),
            area("total_area_m2", "area in all", q.total_area).digits(6),
            growth.digits(3),
            shortest(q.shortest_side, self.case.cell.gap.at(middle)),
            length("longest_side_m", "longest side", q.longest_side),
        ];
        let entry = |(k, &triangles): (usize, &usize)| {
            let angle = |key, k: usize| Row::new(key, "", HISTOGRAM_STEP * k as f64, Kind::Degrees);
            vec![
                angle("from_deg", k),
                angle("to_deg", k + 1),
                Row::new("triangles", "triangles", triangles, Kind::Number),
            ]
        };
        let histogram = Section::table("by_smallest_angle", "", q.histogram.iter().enumerate().map(entry));
        let bars = Section {
            sketch: bars(&q.histogram),
            ..Section::new("", "Triangles by smallest angle, degrees", Vec::new())
        };
        let mut sections = vec![program()];
        sections.extend(self.case.sections(self.case.cell.gap.at(middle)));
        sections.extend([Section::new("mesh", "Mesh", rows).with(vec![histogram.at(Detail::Script)]), bars]);
        sections
    }
}

/// Sides below this part of the gap call for a word.
const TINY: f64 = 1e-3;

/// The shortest side, with the reason where it is far below the gap.
fn shortest(side: f64, gap: f64) -> Row {
    let row = Row::new("shortest_side_m", "shortest side", side, Kind::Of(Dimension::Length));
    if side >= TINY * gap {
        return row;
    }
    row.means(
        "less than a thousandth of the gap: such sides stand where the outline or the case has details as small, or at corners, where the \
         bounds of the ideal pattern need them; the real flow is smooth there over a gap",
        "",
        "",
    )
}

/// The triangles by their smallest angle as bars.
fn bars(histogram: &[usize]) -> Vec<String> {
    let most = histogram.iter().copied().max().unwrap_or(1).max(1);
    let bar = |(k, count): (usize, &usize)| {
        let from = k as f64 * HISTOGRAM_STEP;
        let bar = "#".repeat((LONGEST_BAR * count).div_ceil(most));
        format!("{from:>6.0} to {:>2.0} {count:>10}  {bar}", from + HISTOGRAM_STEP)
    };
    histogram.iter().enumerate().filter(|(_, count)| **count > 0).map(bar).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sides_far_below_the_gap_are_explained() {
        assert!(shortest(0.99e-6, 1e-3).meaning.contains("thousandth of the gap"));
        assert!(shortest(1.01e-6, 1e-3).meaning.is_empty());
    }
}
