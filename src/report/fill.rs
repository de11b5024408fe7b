//! The files of a filling: moments, arrival, fronts, air that stays, figures, the page.

use super::figure::{Canvas, CellMap, FillingMap, Marked};
use super::page::Told;
use super::page_words::FILL_WORDS;
use super::results::{Report, Times};
use super::vtk::{Array, Data, Fields, write_fields, write_pvd, write_vtp};
use super::{FigureSettings, Folder, write_figures};
use crate::base::field::{self, Field};
use crate::base::{Point, Result};
use crate::input::case::FillFrom;
use crate::study::{Course, Filled, Moment};
use std::borrow::Cow;
use std::io::Write;
use std::path::Path;
use std::time::Instant;

impl Filled {
    /// Writes all files of the filling and returns the report.
    ///
    /// # Errors
    /// [`crate::base::Error::File`] if a file cannot be written, [`crate::base::Error::Failed`] if a figure cannot be drawn.
    pub fn write(&self, mut folder: Folder, figures: &FigureSettings) -> Result<Report> {
        let clock = Instant::now();
        let origin = folder.origin().clone();
        let stored = Fields { encoding: folder.encoding, origin: Some(&origin), ..Fields::default() };
        let mut series = Vec::new();
        for (k, moment) in self.course.moments.iter().enumerate() {
            let name = format!("fill_{k:03}.vtu");
            self.write_moment(&folder.place(&name)?, moment, &stored)?;
            series.push((moment.time, name));
        }
        let listed: Vec<(f64, &str)> = series.iter().map(|(time, name)| (*time, name.as_str())).collect();
        write_pvd(&folder.place("fill.pvd")?, &listed, Some(&origin))?;
        self.write_arrival(&folder.place("arrival.vtu")?, &stored)?;
        write_fronts(&folder.place("front.vtp")?, &self.course, &stored)?;
        write_kept(&folder.place("trapped.vtp")?, &self.course, &stored)?;
        write_figures(self.figures(figures)?, &mut folder, figures)?;
        let page = self.page(&folder, &self.figures(&figures.for_page())?)?;
        folder.write("report.html", |out| out.write_all(page.as_bytes()))?;
        let (write, study) = (clock.elapsed(), self.study.spent);
        let solve = study.solve + self.spent;
        let times = Times { mesh: study.mesh, solve, write, total: study.total + self.spent + write };
        Report { sections: self.report() }.close(times, folder)
    }

    /// The figures: arrival with fronts, air and vents; six moments.
    ///
    /// # Errors
    /// As [`Filled::write`].
    pub fn figures(&self, settings: &FigureSettings) -> Result<Vec<Canvas>> {
        let course = &self.course;
        let raster = settings.raster.then_some(settings.dpi);
        let case = &self.study.case;
        let probes = || case.probes.iter().map(|probe| (probe.name.clone(), probe.at)).collect();
        let marked = Marked { axes: settings.axes, names: settings.names.then(probes) };
        let map = CellMap::new(self.mesh(), settings.style, raster).marked(marked);
        let vents: Vec<Point> = course.last.iter().map(|last| last.at).collect();
        let port = match case.filling.from {
            FillFrom::Inlet => None,
            FillFrom::Port { at, diameter, .. } => Some((at, diameter)),
        };
        let drawn = FillingMap { arrival: &course.arrival, end: course.end, kept: &course.kept, vents: &vents, port };
        let origin = super::Origin::of(case);
        let figures = [map.arrival(&drawn)?, map.filling_strip(&drawn)?];
        Ok(figures.map(|figure| figure.stamped(&origin)).into())
    }

    fn page(&self, folder: &Folder, drawn: &[Canvas]) -> Result<String> {
        let mut report = Report { sections: self.report() };
        report.sections.push(folder.run_and_command());
        let head = self.headline();
        let told = Told {
            head,
            warned: Some(self.all_warnings()),
            sheet: None,
            records: vec![self.fill_it()],
            words: &FILL_WORDS,
        };
        self.study.page_of(&report, drawn, told)
    }

    fn write_moment(&self, path: &Path, moment: &Moment, stored: &Fields) -> Result<()> {
        let by_arrival = || self.course.arrival.iter().map(|&t| if t <= moment.time { 1.0 } else { 0.0 }).collect();
        let fill = moment.fill.as_deref().map_or_else(|| Cow::Owned(by_arrival()), Cow::Borrowed);
        let mut vertices = vec![Field::scalar("fill", "1", fill)];
        vertices.extend(moment.pressure.as_ref().map(|pressure| Field::scalar("pressure", "Pa", pressure)));
        let meaning = vec!["fill: wet part of the volume of each vertex", "pressure: above that of the air"];
        let fields = field::Fields { vertices, triangles: Vec::new(), meaning };
        write_fields(path, self.mesh(), &fields, Vec::new(), stored)
    }

    fn write_arrival(&self, path: &Path, stored: &Fields) -> Result<()> {
        let vertices = vec![Field::scalar("arrival_time", "s", &self.course.arrival)];
        let meaning = vec!["arrival_time: when the front comes; not a number where it never does"];
        let fields = field::Fields { vertices, triangles: Vec::new(), meaning };
        write_fields(path, self.mesh(), &fields, Vec::new(), stored)
    }
}

fn write_fronts(path: &Path, course: &Course, stored: &Fields) -> Result<()> {
    let pieces = || course.moments.iter().enumerate().flat_map(|(k, m)| m.front.iter().map(move |line| (k, m, line)));
    let lines: Vec<Vec<[f64; 3]>> =
        pieces().map(|(_, _, line)| line.iter().map(|p| [p[0], p[1], 0.0]).collect()).collect();
    let moments: Vec<i32> = pieces().map(|(k, ..)| k as i32).collect();
    let times: Vec<f64> = pieces().map(|(_, moment, _)| moment.time).collect();
    let impulses: Vec<f64> = pieces().map(|(_, moment, _)| moment.impulse).collect();
    let cell = [
        Array { name: "moment", unit: "1", data: Data::Int32(&moments) },
        Array { name: "time", unit: "s", data: Data::Scalar(&times) },
        Array { name: "impulse", unit: "m2", data: Data::Scalar(&impulses) },
    ];
    write_vtp(path, &lines, &Fields { cell: &cell, ..*stored })
}

fn write_kept(path: &Path, course: &Course, stored: &Fields) -> Result<()> {
    let rims = || course.kept.iter().enumerate().flat_map(|(k, air)| air.outlines.iter().map(move |rim| (k, air, rim)));
    let closed =
        |rim: &[Point]| -> Vec<[f64; 3]> { rim.iter().chain(rim.first()).map(|p| [p[0], p[1], 0.0]).collect() };
    let lines: Vec<Vec<[f64; 3]>> = rims().map(|(_, _, rim)| closed(rim)).collect();
    let numbers: Vec<i32> = rims().map(|(k, ..)| k as i32 + 1).collect();
    let areas: Vec<f64> = rims().map(|(_, air, _)| air.area).collect();
    let volumes: Vec<f64> = rims().map(|(_, air, _)| air.volume).collect();
    let times: Vec<f64> = rims().map(|(_, air, _)| air.time).collect();
    let cell = [
        Array { name: "pocket", unit: "1", data: Data::Int32(&numbers) },
        Array { name: "area", unit: "m2", data: Data::Scalar(&areas) },
        Array { name: "volume", unit: "m3", data: Data::Scalar(&volumes) },
        Array { name: "time", unit: "s", data: Data::Scalar(&times) },
    ];
    write_vtp(path, &lines, &Fields { cell: &cell, ..*stored })
}
