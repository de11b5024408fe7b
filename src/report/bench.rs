//! The files of a comparison with the bench: tables, lines, figures, the picture seen from above, the marks.

use super::figure::{CellMap, Enlarged, Left, Overlay, Tiles, Traced, marks, residual_along};
use super::page::Told;
use super::page_rows::typeset;
use super::page_words::COMPARE_WORDS;
use super::results::{Report, Times};
use super::vtk::{Array, Data, Fields, write_vtp};
use super::{FigureSettings, Folder, write_figures};
use crate::base::row::{Row, Section};
use crate::base::{Point, Result, plane};
use crate::bench::lines::Line;
use crate::bench::photo::{Calibration, Sought};
use crate::bench::tracks::Judged;
use crate::input::case::{Mark, PhotoSettings};
use crate::input::measured::Photo;
use crate::report::figure::Canvas;
use crate::study::{Comparison, Found, LinesFound};
use std::io::Write;
use std::time::Instant;

/// Columns of the picture seen from above.
const COLUMNS: usize = 2000;

/// Most rows of it: a cell across the flow is not drawn larger than this.
const MOST_ROWS: usize = 4000;

/// Half the window about a mark, mark sizes and pixels.
const WINDOW: [f64; 2] = [1.5, 12.0];

/// Size of a mark, pixels, where its window is cut before anything is known of it.
const UNKNOWN: f64 = 24.0;

/// Largest shift on the overlay, part of the distance of lines: departures are drawn larger until they reach it.
const REACH: f64 = 0.35;

/// Pixels per inch of marks.png.
const DPI: f64 = 200.0;

impl Comparison {
    /// Writes all files of the comparison but the picture of the marks ([`write_marks`]) and returns the report.
    ///
    /// # Errors
    /// [`crate::base::Error::File`] if a file cannot be written, [`crate::base::Error::Failed`] if a figure cannot be drawn.
    pub fn write(&self, mut folder: Folder, figures: &FigureSettings) -> Result<Report> {
        let clock = Instant::now();
        let origin = folder.origin().clone();
        let stored = Fields { encoding: folder.encoding, origin: Some(&origin), ..Fields::default() };
        let map = self.calibration.as_ref().zip(self.study.case.photo.as_ref()).zip(self.material.photo.as_ref());
        let mut drawn = Vec::new();
        match &self.found {
            Found::Lines(found) => {
                folder.write_table("compare.csv", stations(found))?;
                write_lines(&folder.place("compare.vtp")?, found, &stored)?;
                let above = map.map(|((calibration, _), photo)| self.rectified(photo, calibration));
                if let (Some(above), Some(((_, settings), _))) = (&above, map)
                    && settings.rectify
                {
                    let png = above.png()?;
                    folder.write("rectified.png", |out| out.write_all(&png))?;
                }
                write_figures(self.drawn(found, above.as_ref(), figures)?, &mut folder, figures)?;
                drawn = self.drawn(found, above.as_ref(), &figures.for_page())?;
            }
            Found::Tracks(found) => folder.write_table("tracks.csv", tracks(&found.compared.tracks))?,
        }
        let page = self.page(&folder, &drawn)?;
        folder.write("report.html", |out| out.write_all(page.as_bytes()))?;
        let (write, spent) = (clock.elapsed(), self.study.spent);
        let times = Times { mesh: spent.mesh, solve: spent.solve, write, total: self.material.began.elapsed() };
        Report { sections: self.report() }.close(times, folder)
    }

    /// The page of the comparison, its verdict first.
    fn page(&self, folder: &Folder, drawn: &[Canvas]) -> Result<String> {
        let mut report = Report { sections: self.report() };
        report.sections.push(folder.run_and_command());
        let warned = self.all_warnings();
        let head = match &self.found {
            Found::Lines(found) => {
                let words = if found.verdict.explained { "Explained by theory" } else { "Not all of it is explained" };
                (found.verdict.explained, words, vec![typeset(&found.verdict.text)])
            }
            Found::Tracks(found) => (true, "What the tracks say", vec![typeset(&found.text)]),
        };
        self.study.page_of(
            &report,
            drawn,
            Told { head, warned: Some(warned), sheet: None, records: Vec::new(), words: &COMPARE_WORDS },
        )
    }

    /// The picture as seen from straight above, over the whole cell.
    fn rectified(&self, photo: &Photo, map: &Calibration) -> Tiles {
        use rayon::prelude::*;
        let [length, width] = self.study.case.cell.size();
        let rows = ((COLUMNS as f64 * width / length).round() as usize).clamp(1, MOST_ROWS);
        let columns = ((rows as f64 * length / width).round() as usize).clamp(1, COLUMNS);
        let place = |k: usize, count: usize, side: f64| (k as f64 + 0.5) / count as f64 * side;
        let pixels = |row: usize| -> Vec<u8> {
            let y = width - place(row, rows, width);
            let of = |column: usize| {
                let at = map.pixel([place(column, columns, length), y]);
                at.and_then(|at| photo.between(at)).unwrap_or([255; 3])
            };
            (0..columns).flat_map(of).collect()
        };
        let rgb: Vec<Vec<u8>> = (0..rows).into_par_iter().map(pixels).collect();
        Tiles { size: [columns as u32, rows as u32], rgb: rgb.concat() }
    }

    fn drawn(&self, found: &LinesFound, above: Option<&Tiles>, figures: &FigureSettings) -> Result<Vec<Canvas>> {
        let study = &self.study;
        let mesh = &study.solved.space.mesh;
        let map = CellMap::new(mesh, figures.style, None);
        let lines: Vec<Vec<Traced>> = found.lines.iter().map(traced).collect();
        let mut levels: Vec<f64> = found.lines.iter().map(|line| line.level).collect();
        levels.sort_by(f64::total_cmp);
        let apart = levels.windows(2).map(|pair| pair[1] - pair[0]).filter(|d| *d > 1e-4).fold(f64::INFINITY, f64::min);
        let largest = found.against.first().map_or(0.0, |ideal| ideal.against.shift.p95);
        let magnified = magnification(REACH * apart / largest.max(f64::MIN_POSITIVE));
        let overlay = Overlay { picture: above, stream: &found.stream, levels: &levels, lines: &lines, magnified };
        let left = |theory: &str, name: &str| -> Option<Left> {
            let one = found.against.iter().find(|one| one.against.theory == theory)?;
            let of = |(line, shifts): (&Line, &Vec<f64>)| {
                line.stations.iter().zip(shifts).map(|(station, shift)| [station.at[0], *shift]).collect()
            };
            let lines = found.lines.iter().zip(&one.against.left).map(of).collect();
            Some(Left { name: name.to_owned(), lines })
        };
        let charts: Vec<Left> =
            [left("ideal", "the ideal pattern"), left("all", "all effects")].into_iter().flatten().collect();
        let mut drawn = if self.overlay { vec![map.overlay(&overlay)?] } else { Vec::new() };
        drawn.extend([map.shift_map(&lines)?, residual_along(figures.style, &charts, found.fit.noise)?]);
        Ok(drawn)
    }
}

/// The largest of 1, 2, 5, 10 and so on below a number.
fn magnification(most: f64) -> f64 {
    let steps = [1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0];
    steps.into_iter().rev().find(|step| *step <= most).unwrap_or(1.0)
}

fn traced(line: &Line) -> Vec<Traced> {
    let stations = &line.stations;
    let along = |k: usize| {
        let [a, b] = [k.saturating_sub(1), (k + 1).min(stations.len() - 1)].map(|k| stations[k].at);
        plane::unit(plane::way(a, b)).unwrap_or([1.0, 0.0])
    };
    stations.iter().enumerate().map(|(k, s)| Traced { at: s.at, shift: s.shift, along: along(k) }).collect()
}

/// A row for each station.
fn stations(found: &LinesFound) -> Section {
    let mut rows = Vec::new();
    for (k, line) in found.lines.iter().enumerate() {
        let shifts = line.shifts();
        let turns = line.directions(&shifts);
        for (i, station) in line.stations.iter().enumerate() {
            let number = |key: &'static str, value: f64| Row::script(key, value);
            let mut row = vec![
                Row::script("line", line.number.to_string()),
                number("s_m", station.arc),
                number("x_m", station.at[0]),
                number("y_m", station.at[1]),
            ];
            if let Some(seen) = station.seen {
                row.extend([
                    number("u_px", seen.pixel[0]),
                    number("v_px", seen.pixel[1]),
                    number("width_m", seen.width),
                    number("contrast", seen.contrast),
                ]);
            }
            row.push(number("shift_m", station.shift));
            row.push(number("shift_sigma_m", found.fit.noise.hypot(found.map_sigma[k][i])));
            row.extend(turns[i].map(|turn| number("direction_deg", turn.to_degrees())));
            let speed = found.speeds.iter().find(|change| change.lines[0] == line.number && change.station == i);
            if let Some(change) = speed {
                row.push(number("speed_ratio", change.ideal + change.change));
                let coefficient =
                    found.pressures.coefficients.iter().find(|c| c.lines == change.lines && c.at == change.at);
                if let Some(coefficient) = coefficient {
                    row.push(number("pressure_coefficient", coefficient.value));
                    row.push(number("pressure_coefficient_sigma", coefficient.sigma));
                }
            }
            row.push(number("pressure_along_pa", found.pressures.along[k][i]));
            for prediction in &found.predictions {
                row.push(Row::script(format!("{}_m", prediction.key()), prediction.shifts[k][i]));
            }
            rows.push(row);
        }
    }
    Section::table("", "", rows)
}

fn tracks(judged: &[Judged]) -> Section {
    let row = |track: &Judged| {
        let mut row = vec![Row::script("track", track.name.clone())];
        if let Some(speed) = track.speed {
            row.push(Row::script("s", speed.ratio));
            row.push(Row::script("s_sigma", speed.sigma));
        }
        row.extend(track.height.map(|height| Row::script("height", height)));
        if let Some(direction) = &track.direction {
            row.push(Row::script("direction_deg", direction.angle.to_degrees()));
            row.push(Row::script("direction_sigma_deg", direction.sigma.to_degrees()));
        }
        row.push(Row::script("verdict", track.fault.map_or("used", |reason| reason.key())));
        row
    };
    Section::table("", "", judged.iter().map(row))
}

fn write_lines(path: &std::path::Path, found: &LinesFound, stored: &Fields) -> Result<()> {
    let places: Vec<Vec<[f64; 3]>> =
        found.lines.iter().map(|line| line.stations.iter().map(|s| [s.at[0], s.at[1], 0.0]).collect()).collect();
    let shift: Vec<f64> = found.lines.iter().flat_map(|line| line.shifts()).collect();
    let map = found.map_sigma.concat();
    let predicted: Vec<(String, Vec<f64>)> =
        found.predictions.iter().map(|p| (format!("shift_{}", p.key()), p.shifts.concat())).collect();
    let mut point = vec![
        Array { name: "shift", unit: "m", data: Data::Scalar(&shift) },
        Array { name: "map_sigma", unit: "m", data: Data::Scalar(&map) },
    ];
    point.extend(predicted.iter().map(|(name, values)| Array { name, unit: "m", data: Data::Scalar(values) }));
    let numbers: Vec<i32> = found.lines.iter().map(|line| line.number as i32).collect();
    let levels: Vec<f64> = found.lines.iter().map(|line| line.level).collect();
    let cell = [
        Array { name: "line", unit: "1", data: Data::Int32(&numbers) },
        Array { name: "level", unit: "m", data: Data::Scalar(&levels) },
    ];
    let meaning = ["shift: across the ideal line of the same level, to the left of the flow"];
    write_vtp(path, &places, &Fields { point: &point, cell: &cell, meaning: &meaning, ..*stored })
}

/// Writes marks.png: what the picture shows at each click, and the centres found, if any were sought.
///
/// # Errors
/// [`crate::base::Error::File`] if it cannot be written, [`crate::base::Error::Failed`] if it cannot be drawn.
pub fn write_marks(
    folder: &mut Folder,
    figures: &FigureSettings,
    photo: &Photo,
    settings: &PhotoSettings,
    sought: &[Sought],
) -> Result<()> {
    let of = |mark: &Mark| {
        let own = sought.iter().find(|sought| sought.name == mark.name);
        let size = own.map_or(UNKNOWN, |own| own.size);
        let centre = own.and_then(|own| own.seen.ok()).map(|seen| seen.at);
        let reach = (WINDOW[0] * size + WINDOW[1]).ceil() as isize;
        let [u, v] = centre.unwrap_or(mark.click).map(|x| x.floor() as isize);
        let (left, top) = (u - reach, v - reach);
        let side = 2 * reach + 1;
        let rgb = (top..top + side).flat_map(|row| (left..left + side).flat_map(move |column| photo.at(column, row)));
        let inside = |[u, v]: Point| [u - left as f64, v - top as f64];
        let said = match own.map(|own| own.seen) {
            Some(Ok(seen)) => format!("({:.2}, {:.2}) px", seen.at[0], seen.at[1]),
            Some(Err(unseen)) => format!("not seen: {unseen}"),
            None => "not sought".to_owned(),
        };
        Enlarged {
            words: [format!("{} at ({:.0}, {:.0}) px", mark.name, mark.click[0], mark.click[1]), said],
            tiles: Tiles { size: [side as u32; 2], rgb: rgb.collect() },
            centre: centre.map(inside),
            click: inside(mark.click),
        }
    };
    let enlarged: Vec<Enlarged> = settings.marks.iter().map(of).collect();
    let canvas = marks(figures.style, &enlarged)?.stamped(folder.origin());
    canvas.write_png(&folder.place("marks.png")?, DPI)
}
