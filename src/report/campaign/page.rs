//! `report.html` of campaigns, uncertainties and searches.

use super::labels::sentence;
use super::store::Status;
use super::tables::Collected;
use crate::base::Result;
use crate::base::row::{Kind, Row, Section};
use crate::geometry::Plan;
use crate::input::campaign::Campaign;
use crate::input::case::Case;
use crate::report::page::{PlanText, Subject, Told};
use crate::report::page_rows::typeset_numbers;
use crate::report::page_words::{CAMPAIGN_WORDS, SEEK_WORDS, UNCERTAINTY_WORDS, Word};
use crate::report::{FigureSettings, Folder, Report};
use crate::study::campaign::seek::{Ended, Sought};
use crate::study::campaign::uncertainty::Uncertainties;
use crate::study::read_text;
use std::io::Write;

/// Most runs in the table of a page.
const MOST_RUNS: usize = 200;

impl Collected<'_> {
    pub(super) fn write_page(&self, folder: &mut Folder, settings: &FigureSettings) -> Result<()> {
        let whole = self.is_whole();
        let (failed, missing) = (self.count(Status::Failed), self.missing());
        let headline = match (failed, missing) {
            (0, 0) if whole => "All runs are done",
            (0, 0) => "All runs are done, not all as accurately as asked",
            (0, _) => "Not all runs are done yet",
            (_, 0) => "Some runs failed",
            _ => "Some runs failed, and not all are done yet",
        };
        let mut sections = self.sections();
        let missed = self.count(Status::TargetMissed);
        let mut verdict = vec![format!(
            "Of {} runs {} are done, {missed} of them less accurately than asked, {failed} failed, and {missing} are not done yet.",
            self.campaign.runs.count(),
            self.count(Status::Done) + missed
        )];
        verdict.extend(
            sections.iter().find(|section| section.key == "campaign").into_iter().flat_map(|s| s.notes.clone()),
        );
        sections.push(self.listed());
        let figures = self.figures(&settings.for_page())?;
        let head = (whole, headline, verdict);
        of_plan(folder, self.campaign, ("a campaign", sections), &figures, head, &CAMPAIGN_WORDS)
    }

    /// The first runs, with their values and what was measured.
    fn listed(&self) -> Section {
        let campaign = self.campaign;
        let runs = &campaign.runs;
        let entry = |run: usize| {
            let stored = self.known.get(&(run + 1));
            let word = stored.map_or("missing", |stored| stored.status.word()).replace('_', " ");
            let mut rows =
                vec![Row::new("run", "run", run + 1, Kind::Number), Row::new("status", "status", word, Kind::Number)];
            let values = runs.keys.iter().zip(runs.of(run));
            rows.extend(values.enumerate().map(|(k, (key, value))| {
                Row::new(format!("key{k}"), key.typed.clone(), value.shown.clone(), Kind::Number)
            }));
            for (k, name) in campaign.measures.iter().enumerate() {
                let number = stored.and_then(|stored| stored.measures.get(k));
                let Some((number, value)) = number.and_then(|number| Some((number, number.value?))) else { continue };
                let unit = self.path_and_unit(k).1;
                let name = if unit.is_empty() { name.clone() } else { format!("{name}, {unit}") };
                let row = Row::new(format!("measure{k}"), name, value, Kind::Number);
                rows.push(match number.error {
                    Some(error) => row.error(error),
                    None => row,
                });
            }
            rows
        };
        let count = runs.count();
        let table = Section::table("runs", "Runs, with the numerical error", (0..count.min(MOST_RUNS)).map(entry));
        if count <= MOST_RUNS {
            return table;
        }
        table.noted(vec![format!("These are the first {MOST_RUNS} of {count} runs; campaign.csv has all of them.")])
    }
}

impl Sought {
    pub(super) fn write_page(&self, folder: &mut Folder, settings: &FigureSettings) -> Result<()> {
        let mut sections = self.sections();
        let headline = match self.ended {
            Ended::AtValue => "Found: the row has the value there",
            Ended::AtLimit => "Found: a limit stops it there",
            Ended::Turning => "Found: on both sides it is worse",
            Ended::AtEnd => "Found at the end of the range",
        };
        let seek = sections.iter_mut().find(|section| section.key == "seek");
        let verdict = seek.map(|section| std::mem::take(&mut section.notes)).unwrap_or_default();
        let figures = self.figures(&settings.for_page())?;
        let head = (self.ended != Ended::AtEnd, headline, verdict);
        of_plan(folder, &self.seek.campaign, ("a search", sections), &figures, head, &SEEK_WORDS)
    }
}

impl Uncertainties {
    pub(super) fn write_page(&self, folder: &mut Folder, plan: &Plan, settings: &FigureSettings) -> Result<()> {
        let mut sections = self.sections();
        if let Some(rows) = sections.iter_mut().find(|section| section.key == "rows") {
            rows.notes.push("Every other row of the report stands in uncertainty.csv.".to_owned());
        }
        let mut verdict = self.advice();
        let headline = match verdict.is_empty() {
            true => "The tolerances change nothing that matters most",
            false => "Which tolerance to tighten first",
        };
        verdict.iter_mut().for_each(|text| *text = typeset_numbers(text));
        sections.push(folder.run_and_command());
        let subject = Subject {
            title: &self.case.title,
            about: "what its tolerances come to",
            subtitle: subtitle(&self.case),
            case: &self.case,
            plan,
            origin: Vec::new(),
            planned: None,
        };
        let head = (true, headline, verdict);
        let told = Told { head, warned: None, sheet: None, records: Vec::new(), words: &UNCERTAINTY_WORDS };
        let page = subject.page(&Report { sections }, &self.figures(&settings.for_page())?, told)?;
        folder.write("report.html", |out| out.write_all(page.as_bytes()))
    }
}

/// Writes the page of a plan of runs.
fn of_plan(
    folder: &mut Folder,
    campaign: &Campaign,
    (about, mut sections): (&'static str, Vec<Section>),
    figures: &[crate::report::figure::Canvas],
    (good, headline, verdict): (bool, &'static str, Vec<String>),
    words: &[Word],
) -> Result<()> {
    let (case, plan) = read_text(&campaign.base.with([]), &campaign.base.file)?;
    sections.push(folder.run_and_command());
    let subject = Subject {
        title: &campaign.title,
        about,
        subtitle: format!("{} of the case \"{}\". {}", sentence(about), case.title, subtitle(&case)),
        case: &case,
        plan: &plan,
        origin: Vec::new(),
        planned: Some(PlanText { text: &campaign.text, sha256: &campaign.sha256 }),
    };
    let verdict = verdict.iter().map(|text| typeset_numbers(text)).collect();
    let told = Told { head: (good, headline, verdict), warned: None, sheet: None, records: Vec::new(), words };
    let page = subject.page(&Report { sections }, figures, told)?;
    folder.write("report.html", |out| out.write_all(page.as_bytes()))
}

/// The cell as the case states it.
fn subtitle(case: &Case) -> String {
    let millimetres = |x: f64| crate::base::units::significant(1e3 * x, 4);
    let [length, width] = case.cell.size();
    format!("Cell of {} mm by {} mm; {}.", millimetres(length), millimetres(width), case.fluid.name)
}
