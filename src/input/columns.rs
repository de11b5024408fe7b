//! The header of a table: which column holds what, and in which unit.
//!
//! One rule for every table: `x [mm]`, `x (mm)`, `x mm` and `x_mm` say the same, and so do names with a line of units below them (`x, y`, then
//! `mm, mm`, or one `mm` for all). Columns may stand in any order if they are named; without names they stand in the usual one.
//! Places in a picture are in `px`; `u` and `v` say `x` and `y` in pixels.

use crate::base::text::shortened;
use crate::base::units::{self, Dimension};

/// What is wrong with a row, and what to do about it.
pub(super) type Fault = (String, String);

/// Whether a first line that names no column may stand as a title.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Title {
    /// It is passed over; a unit in it counts.
    Allowed,
    /// It is a mistake: numbers could be taken for others.
    Mistake,
    /// It is a mistake, but columns of other names beside those wanted are passed over.
    Others,
}

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Holds {
    /// Lengths.
    Length,
    /// Lengths, or pixels of a picture.
    Place,
    /// Times.
    Time,
    /// Names or numbers without a unit.
    Name,
}

impl Holds {
    fn dimension(self) -> Dimension {
        if self == Holds::Time { Dimension::Time } else { Dimension::Length }
    }

    /// A unit as an example.
    fn example(self) -> &'static str {
        if self == Holds::Time { "ms" } else { "mm" }
    }
}

/// A unit that a header states.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Unit {
    /// Its size in SI.
    Of(f64),
    /// Pixels of a picture.
    Pixels,
}

impl Unit {
    /// Its size in SI; 1 of pixels.
    pub fn size(self) -> f64 {
        match self {
            Unit::Of(size) => size,
            Unit::Pixels => 1.0,
        }
    }
}

/// The columns of a table.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Columns<const N: usize> {
    names: [&'static str; N],
    holds: [Holds; N],
    title: Title,
    /// The field of a row that holds each.
    fields: [usize; N],
    /// The unit of each, where the header states it.
    units: [Option<Unit>; N],
    /// Lines of the header so far.
    lines: usize,
}

/// A field of a header.
struct Label<'t> {
    word: &'t str,
    unit: Option<&'t str>,
}

impl<const N: usize> Columns<N> {
    /// Columns of lengths in the usual order, without units.
    pub fn new(names: [&'static str; N], title: Title) -> Self {
        Columns::of(names.map(|name| (name, Holds::Length)), title)
    }

    /// Columns in the usual order, without units.
    pub fn of(columns: [(&'static str, Holds); N], title: Title) -> Self {
        Columns {
            names: columns.map(|column| column.0),
            holds: columns.map(|column| column.1),
            title,
            fields: std::array::from_fn(|k| k),
            units: [None; N],
            lines: 0,
        }
    }

    /// Takes a line of the header in: names, units or both.
    ///
    /// # Errors
    /// Names that are missing, twice or unknown, and units that are none of length or contradict one another.
    pub fn header(&mut self, fields: &[&str]) -> Result<(), Fault> {
        self.lines += 1;
        let labels = self.labels(fields);
        if labels.iter().all(|label| label.word.is_empty()) {
            return self.units_below(&labels);
        }
        let known: Vec<Option<usize>> = labels.iter().map(|label| self.named(label.word)).collect();
        if known.iter().all(Option::is_none) && self.title == Title::Allowed && self.lines == 1 {
            return match labels.iter().find_map(|label| label.unit) {
                None => Ok(()),
                Some(unit) if labels.len() == N => {
                    let units = labels.iter().map(|label| label.unit.unwrap_or(unit));
                    units.enumerate().try_for_each(|(k, unit)| self.state(k, unit))
                }
                Some(unit) => (0..N).try_for_each(|k| self.state(k, unit)),
            };
        }
        let mut places = [None; N];
        for (k, (label, which)) in labels.iter().zip(known).enumerate() {
            let Some(which) = which else {
                if self.title == Title::Others {
                    continue;
                }
                return Err((format!("column {} is called \"{}\"", k + 1, shortened(label.word)), self.remedy()));
            };
            if places[which].replace(k).is_some() {
                return Err((format!("two columns are called \"{}\"", self.names[which]), self.remedy()));
            }
            if let Some(unit) = label.unit {
                self.state(which, unit)?;
            } else if ["u", "v"].contains(&label.word) && self.holds[which] == Holds::Place {
                self.state(which, "px")?;
            }
        }
        for (which, place) in places.into_iter().enumerate() {
            let missing = || (format!("no column is called \"{}\"", self.names[which]), self.remedy());
            self.fields[which] = place.ok_or_else(missing)?;
        }
        Ok(())
    }

    /// The fields of a row in the order of the names.
    ///
    /// # Errors
    /// Too few or too many.
    pub fn row<'t>(&self, fields: &[&'t str]) -> Result<[&'t str; N], Fault> {
        if self.title == Title::Others {
            let missing = |which: usize| {
                let message = format!("the row has no entry for {}", self.names[which]);
                (message, format!("write it in column {}, as in the other rows", self.fields[which] + 1))
            };
            let mut row = [""; N];
            for (which, entry) in row.iter_mut().enumerate() {
                let field = fields.get(self.fields[which]).filter(|field| !field.is_empty());
                *entry = field.ok_or_else(|| missing(which))?;
            }
            return Ok(row);
        }
        if fields.len() != N {
            let count = ["no", "one", "two", "three"].get(N).map_or(N.to_string(), |word| (*word).to_owned());
            let entries = if fields.len() == 1 { "entry" } else { "entries" };
            let message = format!("expected {count} numbers, found {} {entries}", fields.len());
            return Err((message, format!("write {}, separated by commas or spaces", listed(&self.names))));
        }
        Ok(self.fields.map(|field| fields[field]))
    }

    /// The numbers of a row in the order of the names, in the file's units.
    ///
    /// # Errors
    /// As [`Columns::row`], and a field that is no finite number.
    pub fn numbers(&self, fields: &[&str]) -> Result<[f64; N], Fault> {
        let row = self.row(fields)?;
        let mut numbers = [0.0; N];
        for (which, number) in numbers.iter_mut().enumerate() {
            *number = self.number(&row, which)?;
        }
        Ok(numbers)
    }

    /// A field of a row as a number, in the file's unit.
    ///
    /// # Errors
    /// One that is no finite number.
    pub fn number(&self, row: &[&str; N], which: usize) -> Result<f64, Fault> {
        let (field, name) = (row[which], self.names[which]);
        match field.parse::<f64>() {
            Ok(value) if value.is_finite() => Ok(value),
            Ok(_) => {
                let message = format!("{name} is `{}`, which is not a finite number", shortened(field));
                Err((message, "write a finite number or remove the row".into()))
            }
            Err(_) => {
                let message = format!("{name} is `{}`, which is not a number", shortened(field));
                let remedy = "write a plain number such as 12.5 or 1.25e1; units belong in the header";
                Err((message, remedy.into()))
            }
        }
    }

    /// Metres per unit of each column, where the header states it.
    pub fn units(&self) -> [Option<f64>; N] {
        self.units.map(|unit| unit.map(Unit::size))
    }

    /// The unit of places; metres if none is stated.
    ///
    /// # Errors
    /// Columns of places in two units.
    pub fn place_unit(&self) -> Result<Unit, Fault> {
        let places: Vec<usize> = (0..N).filter(|&which| self.holds[which] == Holds::Place).collect();
        let Some(&first) = places.first() else { return Ok(Unit::Of(1.0)) };
        if let Some(&other) = places.iter().find(|&&which| self.units[which] != self.units[first]) {
            let [a, b] = [first, other].map(|which| self.names[which]);
            let message = format!("{a} and {b} have mixed units");
            return Err((message, format!("give both in one unit, such as {a}_mm, {b}_mm or {a}_px, {b}_px")));
        }
        Ok(self.units[first].unwrap_or(Unit::Of(1.0)))
    }

    fn named(&self, word: &str) -> Option<usize> {
        let is_place = |which: &usize| self.holds[*which] == Holds::Place;
        let in_pixels = match word {
            "u" => Some("x"),
            "v" => Some("y"),
            _ => None,
        };
        let named = |name: &str| self.names.iter().position(|own| name.eq_ignore_ascii_case(own));
        named(word).or_else(|| in_pixels.and_then(named).filter(is_place))
    }

    fn remedy(&self) -> String {
        let example = self.names.iter().zip(self.holds).map(|(name, holds)| match holds {
            Holds::Name => (*name).to_owned(),
            _ => format!("{name} [{}]", holds.example()),
        });
        let example: Vec<String> = example.collect();
        format!("name the columns {}, each with its unit, such as {}", listed(&self.names), example.join(", "))
    }

    /// Fields as words with their units; a unit that stands alone belongs to the word before it, in a line of units to none.
    fn labels<'t>(&self, fields: &[&'t str]) -> Vec<Label<'t>> {
        let mut labels: Vec<Label<'t>> = Vec::new();
        for field in fields {
            let label = self.label(field);
            match labels.last_mut() {
                Some(last) if label.word.is_empty() && !last.word.is_empty() && last.unit.is_none() => {
                    last.unit = label.unit;
                }
                _ => labels.push(label),
            }
        }
        labels
    }

    fn label<'t>(&self, field: &'t str) -> Label<'t> {
        if let Some((word, rest)) = field.split_once(['[', '(']) {
            let unit = rest.split([']', ')']).next().unwrap_or("").trim();
            return Label { word: word.trim(), unit: Some(unit) };
        }
        let is_unit = self.holds.iter().any(|&holds| self.unit(holds, field).is_ok());
        if self.named(field).is_none() && is_unit {
            return Label { word: "", unit: Some(field) };
        }
        match field.split_once(['_', ' ']) {
            Some((word, unit)) if self.named(word).is_some() => Label { word, unit: Some(unit.trim()) },
            _ => Label { word: field, unit: None },
        }
    }

    /// A line of units below the names.
    fn units_below(&mut self, labels: &[Label<'_>]) -> Result<(), Fault> {
        let units: Vec<&str> = labels.iter().filter_map(|label| label.unit).collect();
        if units.len() != N && units.len() != 1 {
            let message = format!("the line of units has {} entries for {N} columns", units.len());
            return Err((message, "write one unit for each column, or one for all".into()));
        }
        let with_unit = (0..N).filter(|&which| self.holds[which] != Holds::Name).collect::<Vec<_>>();
        with_unit
            .into_iter()
            .try_for_each(|which| self.state(which, units.get(self.fields[which]).unwrap_or(&units[0])))
    }

    fn unit(&self, holds: Holds, unit: &str) -> Result<Unit, String> {
        if holds == Holds::Place && ["px", "pixel", "pixels"].contains(&unit) {
            return Ok(Unit::Pixels);
        }
        // a number would make a multiple of a unit
        let is_word = unit.chars().next().is_some_and(char::is_alphabetic);
        if !is_word || holds == Holds::Name {
            let kind = holds.dimension().name();
            return Err(format!("`{}` is no unit of {}", shortened(unit), kind.trim_start_matches("a ")));
        }
        units::parse(&format!("1 {unit}"), holds.dimension()).map(Unit::Of).map_err(|error| error.to_string())
    }

    fn state(&mut self, which: usize, unit: &str) -> Result<(), Fault> {
        let (name, holds) = (self.names[which], self.holds[which]);
        let stated = self.unit(holds, unit).map_err(|error| {
            let kind = holds.dimension().name();
            let remedy =
                format!("write a unit of {}, such as {name} [{}]", kind.trim_start_matches("a "), holds.example());
            (format!("the header's unit of {name}: {error}"), remedy)
        })?;
        match self.units[which].replace(stated) {
            Some(before) if before != stated => {
                let show = |unit| match unit {
                    Unit::Of(size) => holds.dimension().show(size),
                    Unit::Pixels => "pixels".to_owned(),
                };
                let [before, now] = [before, stated].map(show);
                let message = format!("the header states two units for {name}, {before} and {now}");
                Err((message, "state the unit once".into()))
            }
            _ => Ok(()),
        }
    }
}

fn listed(names: &[&str]) -> String {
    match names {
        [others @ .., last] if !others.is_empty() => format!("{} and {last}", others.join(", ")),
        _ => names.concat(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn units(lines: &[&[&str]]) -> Result<([usize; 2], [Option<f64>; 2]), Fault> {
        let mut columns = Columns::new(["x", "y"], Title::Allowed);
        lines.iter().try_for_each(|fields| columns.header(fields))?;
        Ok((columns.fields, columns.units()))
    }

    #[test]
    fn a_unit_is_read_wherever_a_header_has_it() {
        let mm = Some(1e-3);
        let same: [&[&[&str]]; 12] = [
            &[&["x [mm]", "y [mm]"]],
            &[&["X (mm)", "Y (mm)"]],
            &[&["x_mm", "y_mm"]],
            &[&["x mm", "y mm"]],
            &[&["x", "[mm]", "y", "[mm]"]],
            &[&["x", "y"], &["mm", "mm"]],
            &[&["x", "y"], &["[mm]", "[mm]"]],
            &[&["x", "y"], &["mm"]],
            &[&["mm", "mm"]],
            &[&["mm"], &["x", "y"]],
            &[&["outline of the keel"], &["x", "y"], &["mm"]],
            &[&["across [mm]", "along [mm]"]],
        ];
        for lines in same {
            assert_eq!(units(lines), Ok(([0, 1], [mm; 2])), "{lines:?}");
        }
        assert_eq!(units(&[&["y_cm", "x_mm"]]), Ok(([1, 0], [mm, Some(1e-2)])));
        // units below stand under the names of their columns
        assert_eq!(units(&[&["y", "x"], &["cm", "mm"]]), Ok(([1, 0], [mm, Some(1e-2)])));
        assert_eq!(units(&[&["keel", "of 1911"]]), Ok(([0, 1], [None; 2])));
        // twice the same is no contradiction
        assert_eq!(units(&[&["x_mm", "y"], &["mm", "mm"]]), Ok(([0, 1], [mm; 2])));
    }

    #[test]
    fn a_header_that_misleads_is_refused() {
        let refused: [(&[&[&str]], &str); 7] = [
            (&[&["x_mm", "y"], &["cm", "cm"]], "two units for x"),
            (&[&["x [s]", "y [s]"]], "the header's unit of x"),
            (&[&["x", "x"]], "two columns are called \"x\""),
            (&[&["x", "z"]], "column 2 is called \"z\""),
            (&[&["x"]], "no column is called \"y\""),
            (&[&["x", "y"], &["mm", "mm", "mm"]], "3 entries for 2 columns"),
            (&[&["keel"], &["bow"]], "column 1 is called \"bow\""),
        ];
        for (lines, expected) in refused {
            let (message, remedy) = units(lines).unwrap_err();
            assert!(message.contains(expected) && !remedy.is_empty(), "{lines:?}: {message}");
        }
        let mut strict = Columns::new(["x", "y"], Title::Mistake);
        assert!(strict.header(&["keel", "bow"]).is_err());
    }
}
