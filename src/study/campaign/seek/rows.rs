//! The rows of a search, and its path.

use super::{Aim, Ended, Sought, Tried};
use crate::base::row::{Kind, Row, Section};
use crate::base::units::significant;
use crate::study::program;

impl Sought {
    /// What was found, in a sentence for each key.
    fn said(&self) -> Vec<String> {
        let why = match self.ended {
            Ended::AtValue => format!("there {} has the value that was asked for", self.seek.row),
            Ended::AtLimit => format!("further on {} would be passed", self.found.limit),
            Ended::Turning => format!("on both sides {} is worse", self.seek.row),
            Ended::AtEnd => "there the range ends: a wider one may hold a better place".to_owned(),
        };
        let mut notes: Vec<String> = self
            .seek
            .ranges
            .iter()
            .zip(&self.found.place)
            .zip(&self.off)
            .map(|((range, place), off)| {
                let value = range.number(*place);
                let off = off.map(|off| range.reach(*place, off));
                let off = off.map_or(String::new(), |off| format!(" +- {}", significant(off, 2)));
                format!("{} = {}{off} {}", range.key.typed, significant(value, 6), range.unit).trim_end().to_owned()
                    + ": "
                    + &why
                    + "."
            })
            .collect();
        for [a, b] in &self.others {
            if let Some(range) = self.seek.ranges.first() {
                let ends = [range.number(*a), range.number(*b)].map(|x| significant(x, 4));
                notes.push(
                    format!("It has that value also between {} and {} {}.", ends[0], ends[1], range.unit)
                        .replace(" .", "."),
                );
            }
        }
        notes
    }

    /// What is printed and written.
    pub fn sections(&self) -> Vec<Section> {
        let (wanted, to) = match self.seek.aim {
            Aim::Value(to) => ("value", Some(to)),
            Aim::Smallest => ("smallest", None),
            Aim::Largest => ("largest", None),
        };
        let number = |key: &'static str, name: &'static str, x: f64| Row::new(key, name, x, Kind::Number).digits(6);
        let mut rows = vec![
            Row::new("title", "search", self.seek.campaign.title.clone(), Kind::Number),
            Row::new("case", "case", self.seek.campaign.base.file.display().to_string(), Kind::Number),
            Row::script("campaign_sha256", self.seek.campaign.sha256.clone()),
            Row::new("row", "row", self.seek.row.clone(), Kind::Number),
            Row::new("wanted", "wanted", wanted, Kind::Number),
        ];
        rows.extend(to.map(|to| number("to", "its value", to)));
        rows.push(Row::new("ended", "found", self.ended.word(), Kind::Number));
        rows.extend(self.found.row.map(|row| number("value", "the row there", row)));
        rows.extend(self.found.error.map(|error| number("error", "its numerical error", error).digits(2)));
        rows.push(Row::new(
            "unit",
            "unit",
            if self.found.unit.is_empty() { "1" } else { self.found.unit },
            Kind::Number,
        ));
        rows.push(Row::new("runs", "runs", self.tried.len(), Kind::Number));
        let keys = self.seek.ranges.iter().zip(&self.found.place).zip(&self.off).map(|((range, place), off)| {
            let mut rows = vec![
                Row::new("key", "key", range.key.typed.clone(), Kind::Number),
                number("value", "value", range.number(*place)),
                Row::new(
                    "unit",
                    "unit",
                    if range.unit.is_empty() { "as in the case".to_owned() } else { range.unit.clone() },
                    Kind::Number,
                ),
            ];
            rows.extend(off.map(|off| number("error", "+-", range.reach(*place, off)).digits(2)));
            rows
        });
        vec![
            program(),
            Section::new("seek", "Search", rows).noted(self.said()),
            Section::table("keys", "Found", keys),
            self.path(),
        ]
    }

    /// All runs of the search, in the order of their values.
    pub fn path(&self) -> Section {
        let entry = |(k, tried): (usize, &Tried)| {
            let mut rows = vec![Row::new("step", "step", k + 1, Kind::Number)];
            rows.extend(self.seek.ranges.iter().zip(&tried.place).map(|(range, t)| {
                let name = if range.unit.is_empty() {
                    range.key.typed.clone()
                } else {
                    format!("{} [{}]", range.key.typed, range.unit)
                };
                Row::new(name.clone(), name, range.number(*t), Kind::Number).digits(6)
            }));
            rows.extend(tried.row.map(|row| Row::new("row", "row", row, Kind::Number).digits(6)));
            rows.extend(tried.error.map(|error| Row::new("error", "error", error, Kind::Number).digits(2)));
            rows.extend(tried.beyond.map(|beyond| Row::new("beyond", "beyond limits", beyond, Kind::Number).digits(3)));
            if !tried.message.is_empty() {
                rows.push(Row::new("message", "message", tried.message.clone(), Kind::Number));
            }
            rows
        };
        Section::table("path", "All runs", self.tried.iter().enumerate().map(entry))
    }
}
