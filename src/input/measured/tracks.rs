//! Tracks from a table: a row for each particle in each frame, the rows of a track in order of time, tracks one after the other or
//! mixed frame by frame.

use crate::base::Point;
use crate::base::error::Problems;
use crate::base::text::shortened;
use crate::input::columns::{Columns, Fault, Holds, Title, Unit};
use crate::input::rows::{Row, rows};
use std::collections::HashMap;
use std::ops::Range;
use std::path::Path;

/// Fewest points of a track: a quadratic in time through so many gives place and velocity.
pub const LEAST_POINTS: usize = 7;

/// Bad rows reported before giving up.
const MOST_REPORTED: usize = 10;

/// One particle followed through several frames.
#[derive(Debug, Clone, PartialEq)]
pub struct Track {
    /// Its name in the table.
    pub name: String,
    /// Times of the frames, s, increasing.
    pub times: Vec<f64>,
    /// Where it was seen, m, or pixels before the map is applied.
    pub points: Vec<Point>,
}

/// The tracks of a table, in order of their first rows.
#[derive(Debug, Clone, PartialEq)]
pub struct Tracks {
    /// The tracks.
    pub list: Vec<Track>,
    /// Whether places are in pixels of the picture.
    pub in_pixels: bool,
}

/// The columns of a table of tracks; others are passed over.
pub(super) const COLUMNS: [(&str, Holds); 4] =
    [("track", Holds::Name), ("t", Holds::Time), ("x", Holds::Place), ("y", Holds::Place)];

/// Reads the text of a table; all mistakes are reported together, each with its line.
///
/// # Errors
/// A header without the columns or with mixed units, rows that are no numbers, times that do not increase within a track, and tracks
/// of fewer than [`LEAST_POINTS`] points.
pub(super) fn read(file: &Path, text: &str) -> Result<Tracks, Problems> {
    let mut reader = Reader::new();
    let mut problems = Problems::default();
    for row in rows(text) {
        if let Err((message, remedy)) = reader.take(&row) {
            problems.add(file, Some(row.place.clone()), message, remedy);
        }
        // behind a header that misleads every row would be a mistake
        if row.is_header && !problems.is_empty() || problems.list.len() >= MOST_REPORTED {
            break;
        }
    }
    if reader.list.is_empty() && problems.is_empty() {
        problems.add(file, None, "the table of tracks is empty", "give it the columns track, t, x and y");
    }
    if problems.is_empty() {
        let short = reader.list.iter().zip(&reader.first).filter(|(track, _)| track.points.len() < LEAST_POINTS);
        for (track, place) in short.take(MOST_REPORTED) {
            let (name, count) = (shortened(&track.name), track.points.len());
            let message = format!("track {name} has {count} points, but {LEAST_POINTS} are needed");
            problems.add(file, Some(place.clone()), message, "follow it for longer, or remove its rows");
        }
    }
    if problems.is_empty() {
        return Ok(Tracks { list: reader.list, in_pixels: reader.unit == Unit::Pixels });
    }
    problems.add_text(file, text);
    Err(problems)
}

struct Reader {
    columns: Columns<4>,
    unit: Unit,
    list: Vec<Track>,
    /// Where the first row of each track stands.
    first: Vec<Range<usize>>,
    index: HashMap<String, usize>,
}

impl Reader {
    fn new() -> Reader {
        let columns = Columns::of(COLUMNS, Title::Others);
        Reader { columns, unit: Unit::Of(1.0), list: Vec::new(), first: Vec::new(), index: HashMap::new() }
    }

    fn take(&mut self, row: &Row<'_>) -> Result<(), Fault> {
        if row.is_header {
            self.columns.header(&row.fields)?;
            self.unit = self.columns.place_unit()?;
            return Ok(());
        }
        let fields = self.columns.row(&row.fields)?;
        let [t, x, y] = [1, 2, 3].map(|which| self.columns.number(&fields, which));
        let time = t? * self.columns.units()[1].unwrap_or(1.0);
        let point = [x?, y?].map(|x| self.unit.size() * x);
        let name = fields[0];
        let next = self.list.len();
        let k = *self.index.entry(name.to_owned()).or_insert(next);
        if k == next {
            self.list.push(Track { name: name.to_owned(), times: Vec::new(), points: Vec::new() });
            self.first.push(row.place.clone());
        }
        let track = &mut self.list[k];
        if let Some(before) = track.times.last().filter(|before| time <= **before) {
            let message = format!("t of track {} does not increase: {time} s after {before} s", shortened(name));
            let remedy = "sort the rows of each track by t, and give each particle a track of its own";
            return Err((message, remedy.into()));
        }
        track.times.push(time);
        track.points.push(point);
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn table(head: &str, tracks: &[(&str, usize)]) -> String {
        let rows =
            tracks.iter().flat_map(|(name, count)| (0..*count).map(move |k| format!("{name},{k},{},2.5\n", 2 * k)));
        std::iter::once(format!("{head}\n")).chain(rows).collect()
    }

    fn mistakes(text: &str) -> Vec<(usize, String)> {
        let problems = read(Path::new("tracks.csv"), text).unwrap_err();
        let line = |problem| problems.line_and_column(problem).map_or(0, |(line, _)| line);
        assert!(problems.list.iter().all(|problem| !problem.remedy.is_empty()));
        problems.list.iter().map(|problem| (line(problem), problem.message.clone())).collect()
    }

    #[test]
    fn a_table_is_read_in_its_units() {
        let read = |text: &str| read(Path::new("tracks.csv"), text).unwrap();
        let tracks = read(&table("track, t [ms], x [mm], y [mm]", &[("a", 7), ("7", 8)]));
        assert_eq!(
            tracks.list.iter().map(|t| (t.name.as_str(), t.points.len())).collect::<Vec<_>>(),
            [("a", 7), ("7", 8)]
        );
        assert!((tracks.list[0].times[6] - 6e-3).abs() < 1e-15 && (tracks.list[0].points[6][0] - 12e-3).abs() < 1e-15);
        assert!(!tracks.in_pixels && read(&table("track,t,x_px,y_px", &[("a", 7)])).in_pixels);
        // frame by frame
        let mixed: String = (0..7).flat_map(|k| ["a", "b"].map(|name| format!("{name};{k};{k};0\n"))).collect();
        assert_eq!(read(&format!("track;t;x;y\n{mixed}")).list[1].times, [0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0]);
    }

    #[test]
    fn mistakes_come_with_their_lines() {
        let good = table("track,t,x,y", &[("a", 7)]);
        let found = |text: &str, line: usize, part: &str| {
            let list = mistakes(text);
            assert!(list.iter().any(|(at, message)| *at == line && message.contains(part)), "{list:?}");
        };
        found(&format!("{good}a,6,1,1\n"), 9, "does not increase: 6 s after 6 s");
        found(&format!("{good}b,6,1,1\n"), 9, "track b has 1 points, but 7 are needed");
        found(&format!("{good}a,7,one,1\na,8,1\n"), 9, "x is `one`");
        found(&format!("{good}a,7,one,1\na,8,1\n"), 10, "no entry for y");
        found(&good.replace("x,y", "x_mm,y_cm"), 1, "mixed units");
        assert_eq!(mistakes(&good.replace("track", "trek")).len(), 1);
        found(&good.replace("track,t", "track,t_mm"), 1, "t: ");
        assert_eq!(mistakes("# nothing\n").len(), 1);
    }
}
