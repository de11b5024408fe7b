//! What the case says of lines along which numbers are wanted.

use crate::base::Point;
use std::ops::Range;

/// Most letters of a name that go into that of its file.
const MOST_LETTERS: usize = 60;

/// A line along which the user wants numbers.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// Its name.
    pub name: String,
    /// Where it runs.
    pub course: Course,
    /// Points on it, both ends among them.
    pub points: usize,
    /// Where it stands in the case file.
    pub place: Range<usize>,
}

/// Where a line runs.
#[derive(Debug, Clone, PartialEq)]
pub enum Course {
    /// Straight.
    Straight {
        /// Its start, m.
        from: Point,
        /// Its end, m.
        to: Point,
    },
    /// Beside the outline of an obstacle.
    Along {
        /// The name of the obstacle.
        obstacle: String,
        /// How far off it, square to it into the fluid, m.
        distance: f64,
    },
}

impl Line {
    /// The name as part of the name of a file: what is neither letter nor digit is an underscore.
    pub fn stem(&self) -> String {
        let plain = |c: char| if c.is_alphanumeric() || c == '-' { c } else { '_' };
        self.name.chars().take(MOST_LETTERS).map(plain).collect()
    }
}
