//! What a case says of the dye: where it enters, how broad, at which height, and when it is looked at.

use crate::base::Point;
use crate::base::error::Problems;
use std::ops::Range;
use std::path::{Path, PathBuf};

/// Streakline settings.
#[derive(Debug, Clone, PartialEq)]
pub struct StreaklineSettings {
    /// How the start points are chosen.
    pub seeding: Seeding,
    /// Dye height ζ in [-1, 1]; 0 is mid-gap.
    pub height: f64,
    /// The needles that let the dye in; none where lines have no width.
    pub needle: Option<Needle>,
    /// When the dye is looked at that was let in all at once; none without time lines.
    pub times: Option<Times>,
}

/// How streakline starts are chosen.
#[derive(Debug, Clone, PartialEq)]
pub enum Seeding {
    /// So many lines with equal flux between neighbours.
    Count(usize),
    /// So far apart along the inlet, m.
    Spacing(f64),
    /// At needles.
    At(Starts),
}

impl Seeding {
    /// The needles, if there are any.
    pub fn starts(&self) -> Option<&Starts> {
        match self {
            Seeding::At(starts) => Some(starts),
            Seeding::Count(_) | Seeding::Spacing(_) => None,
        }
    }

    /// Places of the needles, m; empty where lines start evenly.
    pub fn needles(&self) -> &[Point] {
        self.starts().map_or(&[], |starts| &starts.places)
    }
}

/// Where needles stand: of the streaklines that are computed and of those that a photograph shows.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Starts {
    /// Their places, m, in the order given.
    pub places: Vec<Point>,
    /// Where each stands in its file.
    pub spans: Vec<Range<usize>>,
    /// The file of coordinates they come from, with its text; none for the case itself.
    pub file: Option<(PathBuf, String)>,
}

impl Starts {
    /// Needles at places, m, that no file names.
    pub fn at(places: Vec<Point>) -> Starts {
        let spans = vec![0..0; places.len()];
        Starts { places, spans, file: None }
    }

    /// Adds a mistake of a needle, counted from 0, at its place in the case or in its own file.
    pub fn blame(&self, needle: usize, case: &Path, problems: &mut Problems, message: String, remedy: &str) {
        let file = match &self.file {
            None => case,
            Some((file, text)) => {
                problems.add_text(file, text);
                file
            }
        };
        problems.add(file, self.spans.get(needle).cloned(), message, remedy);
    }
}

/// A needle between the plates.
#[derive(Debug, Clone, PartialEq)]
pub struct Needle {
    /// Diameter of its mouth, m.
    pub diameter: f64,
    /// Where it stands in the case file.
    pub place: Range<usize>,
}

/// When time lines are shown.
#[derive(Debug, Clone, PartialEq)]
pub enum Times {
    /// Every so many seconds, until the dye has left the cell.
    Every(f64),
    /// At these times since the release, s, in ascending order.
    At(Vec<f64>),
}
