//! Streaklines and time lines as files.

use super::Folder;
use super::vtk::{Array, Data, Fields, write_vtp};
use crate::base::Result;
use crate::input::case::Gap;
use crate::theory::streaklines::{PART, Piece, Streakline, TimeLines};
use std::path::Path;

/// Streaklines as they are written: points within their tolerance are left out.
#[derive(Debug)]
pub struct WrittenLines<'a> {
    gap: &'a Gap,
    lines: Vec<Streakline>,
    widths: Option<Vec<Vec<f64>>>,
}

impl<'a> WrittenLines<'a> {
    /// Of lines in a gap; with the diameter of the needles, m, each has its width.
    pub fn of(lines: &[Streakline], gap: &'a Gap, diameter: Option<f64>) -> WrittenLines<'a> {
        let lines: Vec<Streakline> = lines.iter().map(Streakline::thinned).collect();
        let widths = diameter.map(|diameter| lines.iter().map(|line| line.widths(gap, diameter)).collect());
        WrittenLines { gap, lines, widths }
    }

    /// Writes them as polylines in space, z = zeta b/2, with `time`, `speed`, `height` and, of needles with a diameter, `width` at the
    /// points and `stream_function` and `start_height` of each line, encoded and stamped as `stored`.
    ///
    /// # Errors
    /// As [`write_vtp`].
    pub fn write_vtp(&self, path: &Path, stored: &Fields) -> Result<()> {
        let lines = &self.lines;
        let mut meaning = vec![format!(
            "points: those left out stand off the polylines by no more than {:.1e} m; height, time and speed there are off by no more than {PART} of their largest values on the line",
            lines.iter().map(|line| line.tolerance).fold(0.0, f64::max)
        )];
        let places: Vec<Vec<[f64; 3]>> =
            lines.iter().map(|line| in_space(&line.points, &line.heights, self.gap)).collect();
        let joined = |of: fn(&Streakline) -> &Vec<f64>| -> Vec<f64> {
            lines.iter().flat_map(|line| of(line).iter().copied()).collect()
        };
        let (time, speed, height) = (joined(|l| &l.times), joined(|l| &l.speeds), joined(|l| &l.heights));
        let width = self.widths.as_ref().map(|widths| widths.concat());
        let share: Vec<f64> = lines.iter().map(|line| line.stream_function).collect();
        let start: Vec<f64> = lines.iter().map(|line| line.heights.first().copied().unwrap_or(0.0)).collect();
        let mut point = vec![
            Array { name: "time", unit: "s", data: Data::Scalar(&time) },
            Array { name: "speed", unit: "m/s", data: Data::Scalar(&speed) },
            Array { name: "height", unit: "1", data: Data::Scalar(&height) },
        ];
        if let Some(width) = &width {
            point.push(Array { name: "width", unit: "m", data: Data::Scalar(width) });
            meaning.push(
                "width: of the dye that a needle lets in, its flow past the needle over that beside the line"
                    .to_owned(),
            );
        }
        let cell = [
            Array { name: "stream_function", unit: "m3/s", data: Data::Scalar(&share) },
            Array { name: "start_height", unit: "1", data: Data::Scalar(&start) },
        ];
        let meaning: Vec<&str> = meaning.iter().map(String::as_str).collect();
        write_vtp(path, &places, &Fields { point: &point, cell: &cell, meaning: &meaning, ..*stored })
    }

    /// Writes them as a table, a row for each point, lines and points counted from 1.
    ///
    /// # Errors
    /// As [`Folder::write_numbers`].
    pub fn write_csv(&self, folder: &mut Folder, name: &str) -> Result<()> {
        let keys = ["line", "point", "x_m", "y_m", "time_s", "speed_m_per_s", "height", "width_m"];
        let widths = self.widths.as_ref();
        let rows = self.lines.iter().enumerate().flat_map(|(k, line)| {
            line.points.iter().enumerate().map(move |(j, [x, y])| {
                let mut row =
                    vec![(k + 1) as f64, (j + 1) as f64, *x, *y, line.times[j], line.speeds[j], line.heights[j]];
                row.extend(widths.map(|widths| widths[k][j]));
                row
            })
        });
        folder.write_numbers(name, &keys[..keys.len() - usize::from(widths.is_none())], rows)
    }
}

/// Writes time lines as `timelines.vtp`, polylines in space with `height` at the points, `time` and `piece` of each, and as
/// `timelines.csv`, a row for each point, pieces and points counted from 1 at each time.
///
/// # Errors
/// As [`write_vtp`] and [`Folder::write_numbers`].
pub fn write_time_lines(folder: &mut Folder, gap: &Gap, lines: &TimeLines, stored: &Fields) -> Result<()> {
    let pieces = || {
        let numbered = |(k, piece)| (k as i32 + 1, piece);
        lines
            .list
            .iter()
            .flat_map(move |line| line.pieces.iter().enumerate().map(numbered).map(|(k, p)| (line.time, k, p)))
    };
    let places: Vec<Vec<[f64; 3]>> =
        pieces().map(|(_, _, Piece { points, heights })| in_space(points, heights, gap)).collect();
    let height: Vec<f64> = pieces().flat_map(|(_, _, piece)| piece.heights.iter().copied()).collect();
    let (time, number): (Vec<f64>, Vec<i32>) = pieces().map(|(time, number, _)| (time, number)).unzip();
    let point = [Array { name: "height", unit: "1", data: Data::Scalar(&height) }];
    let cell = [
        Array { name: "time", unit: "s", data: Data::Scalar(&time) },
        Array { name: "piece", unit: "1", data: Data::Int32(&number) },
    ];
    let meaning = [
        "time: since all dye was let in at once; piece: counted from 1 at each time, for behind an obstacle the parts that passed it on both sides are not joined",
    ];
    let path = folder.place("timelines.vtp")?;
    write_vtp(&path, &places, &Fields { point: &point, cell: &cell, meaning: &meaning, ..*stored })?;
    let rows = pieces().flat_map(|(time, number, piece)| {
        piece.points.iter().enumerate().map(move |(j, [x, y])| vec![time, f64::from(number), (j + 1) as f64, *x, *y])
    });
    folder.write_numbers("timelines.csv", &["time_s", "line", "point", "x_m", "y_m"], rows)
}

fn in_space(points: &[[f64; 2]], heights: &[f64], gap: &Gap) -> Vec<[f64; 3]> {
    points.iter().zip(heights).map(|(p, z)| [p[0], p[1], 0.5 * z * gap.at(*p)]).collect()
}
