//! The pairs of group code and value a DXF file consists of.

use crate::base::Point;
use crate::base::text::shortened;
use std::ops::Range;

/// A group code with its value.
#[derive(Debug, Clone, Copy)]
pub(super) struct Pair<'t> {
    pub code: i32,
    pub value: &'t str,
    /// Byte position of the value.
    pub at: usize,
}

impl Pair<'_> {
    pub fn place(&self) -> Range<usize> {
        self.at..self.at + self.value.len()
    }
}

/// What is wrong, and where.
pub(super) type Fault = (String, Range<usize>);

/// Splits a text into its pairs, one code and one value on lines of their own.
///
/// # Errors
/// A code that is no number, or one without a value.
pub(super) fn pairs(text: &str) -> Result<Vec<Pair<'_>>, Fault> {
    let mut found = Vec::new();
    let mut lines = text.split_inclusive('\n').scan(0, |start, line| {
        let at = *start;
        *start += line.len();
        Some((at, line))
    });
    while let Some((at, line)) = lines.next() {
        let code = line.trim_start_matches('\u{feff}').trim();
        let place = at..at + line.trim_end().len();
        let Ok(number) = code.parse::<i32>() else {
            // Blank lines may stand at the very end.
            if code.is_empty() && lines.all(|(_, line)| line.trim().is_empty()) {
                break;
            }
            return Err((format!("`{}` is no group code", shortened(code)), place));
        };
        let Some((at, line)) = lines.next() else {
            if number == 0 {
                break;
            }
            return Err((format!("the file ends after the group code {number}, without its value"), place));
        };
        let value = line.trim();
        let at = at + (line.len() - line.trim_start().len());
        // Comments.
        if number != 999 {
            found.push(Pair { code: number, value, at });
        }
        if number == 0 && value == "EOF" {
            break;
        }
    }
    Ok(found)
}

/// An entity: its kind with the pairs that follow, up to the next code 0.
#[derive(Debug, Clone, Copy)]
pub(super) struct Entity<'t, 'p> {
    pub kind: &'t str,
    pub at: usize,
    pub pairs: &'p [Pair<'t>],
}

/// Breaks pairs at every code 0.
pub(super) fn entities<'t, 'p>(pairs: &'p [Pair<'t>]) -> Vec<Entity<'t, 'p>> {
    let starts: Vec<usize> = (0..pairs.len()).filter(|k| pairs[*k].code == 0).collect();
    let ends = starts.iter().skip(1).copied().chain([pairs.len()]);
    let entity = |(start, end): (&usize, usize)| {
        let Pair { value: kind, at, .. } = pairs[*start];
        Entity { kind, at, pairs: &pairs[start + 1..end] }
    };
    starts.iter().zip(ends).map(entity).collect()
}

impl<'t> Entity<'t, '_> {
    pub fn place(&self) -> Range<usize> {
        self.at..self.at + self.kind.len()
    }

    /// Bytes of the file it takes.
    pub fn bytes(&self) -> usize {
        self.pairs.last().map_or(self.kind.len(), |last| last.at + last.value.len() - self.at)
    }

    /// The first value of a code.
    pub fn text(&self, code: i32) -> Option<&'t str> {
        self.pairs.iter().find(|pair| pair.code == code).map(|pair| pair.value)
    }

    /// The first number of a code, or what it is when left out.
    pub fn number(&self, code: i32, default: f64) -> Result<f64, Fault> {
        self.pairs.iter().find(|pair| pair.code == code).map_or(Ok(default), number)
    }

    pub fn whole(&self, code: i32) -> Result<i64, Fault> {
        let Some(pair) = self.pairs.iter().find(|pair| pair.code == code) else { return Ok(0) };
        pair.value.parse().map_err(|_| {
            let value = shortened(pair.value);
            (format!("`{value}` of group code {code} is not a whole number"), pair.place())
        })
    }

    /// The point with x at a code and y ten above it.
    pub fn point(&self, code: i32) -> Result<Point, Fault> {
        Ok([self.number(code, 0.0)?, self.number(code + 10, 0.0)?])
    }

    /// All numbers of a code, in order.
    pub fn numbers(&self, code: i32) -> Result<Vec<f64>, Fault> {
        self.pairs.iter().filter(|pair| pair.code == code).map(number).collect()
    }

    /// All points with x at a code and y ten above it, in order.
    pub fn points(&self, code: i32) -> Result<Vec<Point>, Fault> {
        let (x, y) = (self.numbers(code)?, self.numbers(code + 10)?);
        if x.len() != y.len() {
            let message = format!("{} has {} x and {} y coordinates", self.kind, x.len(), y.len());
            return Err((message, self.place()));
        }
        Ok(x.into_iter().zip(y).map(|(x, y)| [x, y]).collect())
    }
}

/// The value of a pair as a finite number.
pub(super) fn number(pair: &Pair<'_>) -> Result<f64, Fault> {
    match pair.value.parse::<f64>() {
        Ok(value) if value.is_finite() => Ok(value),
        _ => {
            let message = format!("`{}` of group code {} is not a finite number", shortened(pair.value), pair.code);
            Err((message, pair.place()))
        }
    }
}
