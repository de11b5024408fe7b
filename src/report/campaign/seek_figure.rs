//! `figures/seek.*`: the runs of a search and the place that it found.

use super::labels::{labelled, reading, sentence, words};
use crate::base::Result;
use crate::input::campaign::{Aim, Range};
use crate::report::figure::{Canvas, Found, Search, Stop, sought, sought_of_two};
use crate::report::{FigureSettings, Origin};
use crate::study::campaign::seek::Sought;

impl Sought {
    /// The figure.
    ///
    /// # Errors
    /// [`crate::base::Error::Failed`] if it cannot be drawn.
    pub fn figures(&self, settings: &FigureSettings) -> Result<Vec<Canvas>> {
        let figure = match self.seek.ranges.as_slice() {
            [_] => self.search::<1, _>(|of| sought(settings.style, of))?,
            [_, _] => self.search::<2, _>(|of| sought_of_two(settings.style, of))?,
            _ => None,
        };
        let origin = Origin::under(&self.seek.campaign.sha256, "campaign");
        Ok(figure.map(|figure| figure.stamped(&origin)).into_iter().collect())
    }

    /// The search as a figure over so many keys; none if the run that was found has no row.
    fn search<const N: usize, F>(&self, draw: F) -> Result<Option<Canvas>>
    where
        F: FnOnce(&Search<N>) -> Result<Canvas>,
    {
        let ranges = &self.seek.ranges;
        let Some(row) = self.found.row else { return Ok(None) };
        let wanted = match self.seek.aim {
            Aim::Value(to) => Some(to),
            Aim::Smallest | Aim::Largest => None,
        };
        let rows = self.tried.iter().filter_map(|tried| tried.row).chain(wanted);
        let (unit, size) = reading(self.found.unit, rows.map(f64::abs).fold(0.0, f64::max));
        let numbers = |place: &[f64]| -> [f64; N] { std::array::from_fn(|k| ranges[k].number(place[k])) };
        let stops: Vec<Stop<N>> = self
            .tried
            .iter()
            .map(|tried| Stop { at: numbers(&tried.place), row: tried.row.map(|x| x / size), beyond: tried.beyond })
            .collect();
        let found = Found {
            at: numbers(&self.found.place),
            off: std::array::from_fn(|k| self.off[k].map(|off| ranges[k].reach(self.found.place[k], off))),
            row: row / size,
            error: self.found.error.map(|error| error / size),
        };
        let labels: [String; N] = std::array::from_fn(|k| label(&ranges[k]));
        let row_words = words(&self.seek.row);
        let over: Vec<String> = ranges.iter().map(|range| words(&range.key.typed)).collect();
        let title = sentence(&format!("{row_words} over {} in a search", over.join(" and ")));
        let of = Search {
            name: "seek",
            title: &title,
            keys: std::array::from_fn(|k| labels[k].as_str()),
            ranges: std::array::from_fn(|k| (ranges[k].ends, ranges[k].is_by_ratio())),
            row: &labelled(&row_words, &unit),
            wanted: wanted.map(|to| to / size),
            stops: &stops,
            found,
        };
        draw(&of).map(Some)
    }
}

fn label(range: &Range) -> String {
    let name = words(&range.key.typed);
    match crate::input::campaign::numbers(&range.key, &[&range.literal(range.ends[0])]) {
        Some((_, unit)) if !unit.is_empty() => labelled(&name, &unit),
        _ => name,
    }
}
