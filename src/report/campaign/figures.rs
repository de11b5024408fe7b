//! `figures/campaign_NAME.*`: each measure over what was varied.

use super::labels::{labelled, reading, sentence, shown, words};
use super::layout::Layout;
use super::store::Status;
use super::tables::Collected;
use crate::base::Result;
use crate::report::figure::{Canvas, Mosaic, Reading, Style, Trend, Trends, mosaic, trends};
use crate::report::{FigureSettings, Origin};
use std::collections::BTreeSet;

/// Most letters of the name of a file that are taken from a measure.
const MOST_LETTERS: usize = 60;

impl Collected<'_> {
    /// A figure for each measure that some run has.
    ///
    /// # Errors
    /// [`crate::base::Error::Failed`] if one cannot be drawn.
    pub fn figures(&self, settings: &FigureSettings) -> Result<Vec<Canvas>> {
        let Some(layout) = Layout::new(&self.campaign.runs) else { return Ok(Vec::new()) };
        let origin = Origin::under(&self.campaign.sha256, "campaign");
        let names = names(&self.campaign.measures);
        let mut figures = Vec::new();
        for (measure, name) in names.iter().enumerate() {
            let drawn = self.figure(&layout, measure, name, settings.style)?;
            figures.extend(drawn.map(|figure| figure.stamped(&origin)));
        }
        Ok(figures)
    }

    fn figure(&self, layout: &Layout, measure: usize, name: &str, style: Style) -> Result<Option<Canvas>> {
        let of = |run: &Option<usize>| {
            let number = self.known.get(&(run.as_ref()? + 1))?.measures.get(measure)?;
            Some(Reading { value: number.value.filter(|x| x.is_finite())?, error: number.error })
        };
        let found: Vec<Vec<Option<Reading>>> = layout.runs.iter().map(|row| row.iter().map(of).collect()).collect();
        let known = || found.iter().flatten().flatten();
        if known().next().is_none() {
            return Ok(None);
        }
        let (path, unit) = self.path_and_unit(measure);
        let largest = known().map(|reading| reading.value.abs()).fold(0.0, f64::max);
        let (unit, size) = reading(unit, largest);
        let row = words(path);
        let label = labelled(&row, &unit);
        let title = self.said(layout, &row, &found);
        let scaled = |r: &Reading| Reading { value: r.value / size, error: r.error.map(|error| error / size) };
        if let (Some(across), false) = (&layout.across, layout.has_curves()) {
            let values: Vec<Vec<Option<f64>>> =
                found.iter().map(|row| row.iter().map(|r| r.as_ref().map(|r| r.value / size)).collect()).collect();
            let of = Mosaic {
                name,
                title: &title,
                x: (&layout.along.label, &layout.along.bare()),
                y: (&across.label, &across.bare()),
                bar: &label,
                values: &values,
            };
            return mosaic(style, &of).map(Some);
        }
        let curves: Vec<Trend> = found
            .iter()
            .enumerate()
            .map(|(k, row)| Trend {
                name: layout.across.as_ref().map_or(String::new(), |across| across.values[k].clone()),
                readings: row.iter().map(|r| r.as_ref().map(scaled)).collect(),
            })
            .collect();
        let by = layout.across.as_ref().map_or("", |across| &across.name);
        let of = Trends {
            name,
            title: &title,
            x_name: &layout.along.label,
            y_name: &label,
            steps: &layout.along.steps,
            by,
            curves: &curves,
        };
        trends(style, &of).map(Some)
    }

    /// What a figure shows: the row, over what, what holds for all of it, and how many runs are gaps.
    fn said(&self, layout: &Layout, row: &str, found: &[Vec<Option<Reading>>]) -> String {
        let over = match (&layout.across, layout.has_curves()) {
            (None, _) => format!("over {}", layout.along.name),
            (Some(across), true) => format!("over {}, curves by {}", layout.along.name, across.name),
            (Some(across), false) => format!("over {} and {}", layout.along.name, across.name),
        };
        let mut said = vec![format!("{row} {over}")];
        said.extend(layout.said.iter().map(|text| shown(text)));
        let [mut failed, mut missing, mut without] = [0; 3];
        for (run, reading) in layout.runs.iter().flatten().zip(found.iter().flatten()) {
            match (run, run.and_then(|run| self.known.get(&(run + 1)))) {
                (None, _) => {}
                (Some(_), None) => missing += 1,
                (_, Some(stored)) if stored.status == Status::Failed => failed += 1,
                (_, Some(_)) if reading.is_none() => without += 1,
                _ => {}
            }
        }
        let of = layout.runs.iter().flatten().flatten().count();
        let gaps = [(failed, "failed"), (missing, "not done yet"), (without, "without this row")];
        let gaps: Vec<String> =
            gaps.into_iter().filter(|(n, _)| *n > 0).map(|(n, what)| format!("{n} {what}")).collect();
        if !gaps.is_empty() {
            said.push(format!("of {of} runs {} are gaps", gaps.join(", ")));
        }
        let coloured = layout.across.is_some() && !layout.has_curves();
        let error = found.iter().flatten().flatten().filter_map(|r| Some(r.error? / r.value.abs()));
        let error = error.filter(|part| part.is_finite()).fold(0.0, f64::max);
        if coloured && error > 0.0 {
            let percent = crate::base::units::significant(100.0 * error, 2);
            said.push(format!("the numerical error is at most {percent} % of a value"));
        }
        sentence(&said.join("; "))
    }
}

/// Names of files: the words of measures, each once.
fn names(measures: &[String]) -> Vec<String> {
    let mut taken = BTreeSet::new();
    let plain = |c: char| if c.is_alphanumeric() || c == '-' { c.to_ascii_lowercase() } else { '_' };
    let mut names = Vec::new();
    for measure in measures {
        let words: String = measure.chars().take(MOST_LETTERS).map(plain).collect();
        let mut name = format!("campaign_{words}");
        let mut k = 2;
        while !taken.insert(name.to_lowercase()) {
            name = format!("campaign_{words}_{k}");
            k += 1;
        }
        names.push(name);
    }
    names
}

#[cfg(test)]
mod tests;
