//! The files of a study.

use super::dye::{WrittenLines, write_time_lines};
use super::lines::write_bubble_paths;
#[cfg(feature = "figures")]
use super::{FigureSettings, write_figures};
#[cfg(feature = "figures")]
use crate::base::Result;
use crate::geometry::Side;
use crate::report::Folder;
use crate::report::results::{Report, Times};
use crate::report::vtk::{Array, Data, Fields, write_fields, write_vtp};
use crate::study::{ByClosure, Findings, Spent, Study};
#[cfg(feature = "figures")]
use std::io::Write;
use std::time::{Duration, Instant};

impl Study {
    /// Writes the files of the pattern and its corrections and returns the report.
    ///
    /// # Errors
    /// [`crate::base::Error::File`] if a file cannot be written; files written before stay whole.
    pub fn write(&self, folder: Folder) -> Result<Report> {
        self.write_found(&Findings::default(), folder)
    }

    /// Writes all files of the study and of what was found but its figures, and returns the report. Nothing is solved here.
    ///
    /// # Errors
    /// As [`Study::write`].
    pub fn write_found(&self, found: &Findings, mut folder: Folder) -> Result<Report> {
        let clock = Instant::now();
        self.write_data(found, &mut folder)?;
        self.close(found, folder, clock)
    }

    /// The same with its figures and the page `report.html`.
    ///
    /// # Errors
    /// As [`Study::write`]; [`crate::base::Error::Failed`] if a figure cannot be drawn.
    #[cfg(feature = "figures")]
    pub fn write_drawn(&self, found: &Findings, mut folder: Folder, figures: &FigureSettings) -> Result<Report> {
        let clock = Instant::now();
        self.write_data(found, &mut folder)?;
        write_figures(self.figures(found, figures)?, &mut folder, figures)?;
        let mut report = Report { sections: self.report(found) };
        report.sections.push(folder.run_and_command());
        let page = self.page(&report, found, &self.figures(found, &figures.for_page())?)?;
        folder.write("report.html", |out| out.write_all(page.as_bytes()))?;
        self.close(found, folder, clock)
    }

    /// Writes the streaklines alone.
    ///
    /// # Errors
    /// As [`Study::write`].
    pub fn write_lines(&self, mut folder: Folder) -> Result<()> {
        self.write_streaklines(&mut folder)?;
        folder.finish().map(drop)
    }

    fn write_streaklines(&self, folder: &mut Folder) -> Result<()> {
        let origin = folder.origin().clone();
        let stored = Fields { encoding: folder.encoding, origin: Some(&origin), ..Fields::default() };
        let lines = WrittenLines::of(&self.lines, &self.case.cell.gap, self.needle_diameter());
        lines.write_vtp(&folder.place("streaklines.vtp")?, &stored)?;
        lines.write_csv(folder, "streaklines.csv")
    }

    fn write_data(&self, found: &Findings, folder: &mut Folder) -> Result<()> {
        let origin = folder.origin().clone();
        let stored = Fields { encoding: folder.encoding, origin: Some(&origin), ..Fields::default() };
        self.write_own_fields(found, &folder.place("fields.vtu")?, &stored)?;
        let gap = &self.case.cell.gap;
        self.write_streaklines(folder)?;
        if self.case.streaklines.times.is_some() {
            write_time_lines(folder, gap, &self.time_lines, &stored)?;
        }
        if !self.bubbles.is_empty() {
            write_bubble_paths(&folder.place("bubble_paths.vtp")?, &self.bubbles, &stored)?;
        }
        for found in &self.patches {
            let place = folder.place(&format!("bubble_{}.vtu", found.bubble + 1))?;
            write_fields(&place, &found.solved.space.mesh, &found.fields(), vec![], &stored)?;
        }
        for profile in &self.profiles {
            folder.write_table(&format!("profile_{}.csv", profile.line.stem()), profile.table())?;
        }
        self.write_outlines(&folder.place("obstacles.vtp")?, &stored)?;
        if let Some(ByClosure { closure, .. }) = &found.closure {
            write_fields(&folder.place("closure.vtu")?, &closure.space.mesh, &closure.fields(), vec![], &stored)?;
        }
        self.write_findings(found, folder, &stored)
    }

    fn close(&self, found: &Findings, folder: Folder, clock: Instant) -> Result<Report> {
        let report = Report { sections: self.report(found) };
        let write = clock.elapsed();
        let Spent { mesh, solve, total } = self.spent;
        let closure = found.closure.as_ref().map_or(Duration::ZERO, |closure| closure.spent);
        report.close(Times { mesh, solve: solve + closure, write, total: total + closure + write }, folder)
    }

    fn write_own_fields(&self, found: &Findings, path: &std::path::Path, stored: &Fields) -> Result<()> {
        let validity = self.validity();
        let validity = Array { name: "validity", unit: "1", data: Data::UInt8(&validity) };
        write_fields(path, &self.solved.space.mesh, &self.fields(found), vec![validity], stored)
    }

    fn write_outlines(&self, path: &std::path::Path, stored: &Fields) -> Result<()> {
        let mesh = &self.solved.space.mesh;
        let mut lines: Vec<Vec<[f64; 3]>> = Vec::new();
        let mut owners: Vec<i32> = Vec::new();
        let mut last = None;
        let mut edges: Vec<_> = mesh
            .boundary
            .iter()
            .filter_map(|edge| match mesh.side(edge) {
                Side::Obstacle(k) => Some((k, edge)),
                _ => None,
            })
            .collect();
        edges.sort_by_key(|(k, edge)| (*k, edge.piece));
        // along a piece in the direction the fluid is on the left
        edges.sort_by(|(i, a), (j, b)| {
            let piece = &mesh.plan.pieces[a.piece as usize];
            let forward = if piece.from <= piece.to { 1.0 } else { -1.0 };
            (i, a.piece).cmp(&(j, b.piece)).then((forward * a.parameters[0]).total_cmp(&(forward * b.parameters[0])))
        });
        for (k, edge) in edges {
            let [a, b] = edge.vertices.map(|v| mesh.points[v as usize]);
            if last != Some((k, edge.vertices[0])) {
                lines.push(vec![[a[0], a[1], 0.0]]);
                owners.push(k as i32);
            }
            if let Some(line) = lines.last_mut() {
                line.push([b[0], b[1], 0.0]);
            }
            last = Some((k, edge.vertices[1]));
        }
        let cell = [Array { name: "obstacle", unit: "1", data: Data::Int32(&owners) }];
        write_vtp(path, &lines, &Fields { cell: &cell, ..*stored })
    }
}
