//! The bench card: the design sheet on one page, for the table beside the cell.

use super::figure::{Anchor, Canvas, Edge, Ink, LETTER, Lettering, Pen, Style, outlines};
use super::page_rows::typeset;
use crate::base::row::{Row, Section, row_at};
use crate::base::{Point, Result};
use crate::geometry::{Plan, Side};

/// A sheet of A4 upright, mm (ISO 216).
const PAPER: [f64; 2] = [210.0, 297.0];
const MARGIN: f64 = 15.0;
/// Most of the height that the cell takes, mm.
const CELL_HEIGHT: f64 = 62.0;
const LINE: f64 = 1.45 * LETTER;

/// What is set, and what is to be expected then: headings and rows by their paths.
const COLUMNS: [(&str, &[&str]); 2] = [
    (
        "To set",
        &[
            "cell.gap_m",
            "fluid.name",
            "fluid.density_kg_per_m3",
            "fluid.viscosity_pa_s",
            "rig.flow_rate_m3_per_s",
            "rig.head_m",
            "rig.mean_speed_m_per_s",
            "rig.limits.largest_speed_m_per_s",
            "rig.limits.thickest_gap_m",
        ],
    ),
    (
        "To expect",
        &[
            "reynolds.obstacle",
            "reynolds.gap",
            "reynolds.reduced",
            "rig.transit_time_s",
            "rig.fill_time_s",
            "rig.settling_time_s",
            "rig.limits.binding",
            "rig.air_stays_behind",
        ],
    ),
];

/// What is written down by hand.
const MEASURED: [&str; 8] = [
    "date, time, by whom",
    "gap at inlet, middle, outlet",
    "temperature of the fluid",
    "flow: volume, in what time",
    "head, zeroed without flow",
    "level of the plates checked",
    "air left behind, where",
    "dye, camera, pictures",
];

/// The card of a case from the sections of its design sheet.
///
/// # Errors
/// [`crate::base::Error::Failed`] if the font lacks a character of the program's own words.
pub(super) fn card(title: &str, plan: &Plan, sections: &[Section], suggestions: &[String]) -> Result<Canvas> {
    let mut canvas = Canvas::new("bench_card", &format!("Bench card: {title}"), PAPER[1], Style::default());
    canvas.width = PAPER[0];
    let mut page = Page { canvas, y: MARGIN + 4.0 };
    let heading = Lettering { size: 1.7 * LETTER, ..Lettering::label(Anchor::Start).bold() };
    page.one(heading, &format!("Bench card: {title}"))?;
    page.y += 2.0;
    page.cell(plan, sections)?;
    page.columns(sections)?;
    if !suggestions.is_empty() {
        page.heading("What to change, the easiest first")?;
        for suggestion in suggestions.iter().take(2) {
            page.paragraph(suggestion, Lettering::label(Anchor::Start))?;
        }
    }
    page.heading("Measured at the bench")?;
    page.blanks()?;
    page.heading("Cautions: local codes and the rules of your workshop come first")?;
    let mut cautions = Vec::new();
    collect(sections, &mut cautions);
    for caution in cautions {
        page.paragraph(&format!("– {caution}"), Lettering::small(Anchor::Start).ink(Ink::Text))?;
    }
    page.foot(sections)?;
    Ok(page.canvas)
}

/// Every caution once, in order.
fn collect(sections: &[Section], found: &mut Vec<&'static str>) {
    for section in sections {
        for caution in &section.cautions {
            if !found.contains(caution) {
                found.push(caution);
            }
        }
        collect(&section.parts, found);
    }
}

/// The paper, filled from above.
struct Page {
    canvas: Canvas,
    y: f64,
}

impl Page {
    /// One line, cut where the paper ends; characters the font lacks are question marks.
    fn one(&mut self, lettering: Lettering, text: &str) -> Result<()> {
        let text = fitting(text, PAPER[0] - 2.0 * MARGIN, lettering);
        self.canvas.text([MARGIN, self.y], &text, lettering)?;
        self.y += 1.45 * lettering.size;
        Ok(())
    }

    fn heading(&mut self, text: &str) -> Result<()> {
        self.y += 3.0;
        self.one(Lettering::label(Anchor::Start).bold(), text)?;
        self.canvas.line(&[[MARGIN, self.y - 2.6], [PAPER[0] - MARGIN, self.y - 2.6]], Pen::new(0.25, Ink::Text));
        self.y += 1.4;
        Ok(())
    }

    fn paragraph(&mut self, text: &str, lettering: Lettering) -> Result<()> {
        for line in wrapped(text, PAPER[0] - 2.0 * MARGIN, lettering) {
            self.canvas.text([MARGIN, self.y], &line, lettering)?;
            self.y += 1.35 * lettering.size;
        }
        self.y += 0.4;
        Ok(())
    }

    /// The cell in true proportions with the way of the flow and its sides.
    fn cell(&mut self, plan: &Plan, sections: &[Section]) -> Result<()> {
        let Some([low, high]) = plan.bounds() else { return Ok(()) };
        let size = [high[0] - low[0], high[1] - low[1]];
        let arrow = 12.0;
        let scale = ((PAPER[0] - 2.0 * (MARGIN + arrow)) / size[0]).min(CELL_HEIGHT / size[1]);
        let left = 0.5 * (PAPER[0] - scale * size[0]);
        let top = self.y;
        let at = |[x, y]: Point| [left + scale * (x - low[0]), top + scale * (high[1] - y)];
        let canvas = &mut self.canvas;
        let edge = Edge::of(plan);
        let drawn = |line: &Vec<Point>| line.iter().map(|&p| at(p)).collect::<Vec<_>>();
        edge.walls.iter().for_each(|wall| canvas.line(&drawn(wall), Pen::new(0.6, Ink::Text)));
        edge.ends.iter().for_each(|end| canvas.line(&drawn(end), Pen::new(0.2, Ink::Soft).dashed(1.0, 1.0)));
        // what is built: a bubble is not
        for outline in outlines(&plan.without_bubbles()) {
            let placed: Vec<Point> = outline.into_iter().map(at).collect();
            canvas.area([&placed[..]], Ink::Solid, Some(Pen::new(0.25, Ink::Text)));
        }
        if let Some(end) = plan.end(Side::Inlet) {
            let [u, v] = [-end.outwards[0], end.outwards[1]];
            let [x, y] = at(end.middle());
            let back = |s: f64| [x - s * u, y - s * v];
            canvas.line(&[back(arrow - 1.5), back(1.5)], Pen::new(0.5, Ink::Text));
            canvas.arrow_head(back(1.5), [u, v], 3.0, Ink::Text);
        }
        self.y = top + scale * size[1] + 1.3 * LINE;
        let side = |path: &str| row_at(sections, path).map(said).unwrap_or_default();
        let text = format!(
            "{} long, {} wide, {} between the plates; flow along the arrow",
            side("cell.length_m"),
            side("cell.width_m"),
            side("cell.gap_m")
        );
        self.canvas.text([0.5 * PAPER[0], self.y], &text, Lettering::label(Anchor::Middle))?;
        self.y += LINE;
        Ok(())
    }

    /// Names and values in two columns.
    fn columns(&mut self, sections: &[Section]) -> Result<()> {
        let width = 0.5 * (PAPER[0] - 2.0 * MARGIN) - 4.0;
        let (top, mut bottom) = (self.y + 3.0, self.y);
        for (k, (heading, paths)) in COLUMNS.into_iter().enumerate() {
            let left = MARGIN + k as f64 * (width + 8.0);
            let mut y = top;
            self.canvas.text([left, y], heading, Lettering::label(Anchor::Start).bold())?;
            self.canvas.line(&[[left, y + 1.3], [left + width, y + 1.3]], Pen::new(0.25, Ink::Text));
            y += LINE + 1.4;
            for row in paths.iter().filter_map(|path| row_at(sections, path)) {
                let value = said(row);
                let right = Lettering::label(Anchor::End).bold();
                let room = width - right.width(&value)? - 2.0;
                let name = fitting(&row.name, room, Lettering::label(Anchor::Start));
                self.canvas.text([left, y], &name, Lettering::label(Anchor::Start))?;
                self.canvas.text([left + width, y], &value, right)?;
                y += LINE;
            }
            bottom = bottom.max(y);
        }
        self.y = bottom;
        Ok(())
    }

    /// Lines to write on, in two columns.
    fn blanks(&mut self) -> Result<()> {
        let width = 0.5 * (PAPER[0] - 2.0 * MARGIN) - 4.0;
        self.y += 1.5;
        for pair in MEASURED.chunks(2) {
            for (k, name) in pair.iter().enumerate() {
                let left = MARGIN + k as f64 * (width + 8.0);
                let label = Lettering::label(Anchor::Start);
                self.canvas.text([left, self.y], name, label)?;
                let from = left + label.width(name)? + 2.0;
                self.canvas.line(&[[from, self.y + 0.4], [left + width, self.y + 0.4]], Pen::new(0.15, Ink::Soft));
            }
            self.y += 7.0;
        }
        self.y -= 2.0;
        Ok(())
    }

    /// Where it comes from, at the lower edge.
    fn foot(&mut self, sections: &[Section]) -> Result<()> {
        let text = |path: &str| row_at(sections, path).map(Row::shown).unwrap_or_default();
        self.y = PAPER[1] - MARGIN;
        let hash: String = text("case.combined_sha256").chars().take(16).collect();
        let from = format!(
            "{} {}, case {}, SHA-256 with its files {hash}..",
            env!("CARGO_PKG_NAME"),
            env!("CARGO_PKG_VERSION"),
            text("case.file")
        );
        self.one(Lettering::small(Anchor::Start), &from)
    }
}

/// A value in the unit of the bench, else as in files.
fn said(row: &Row) -> String {
    let bench = row.bench();
    typeset(&if bench.is_empty() { row.si() } else { bench })
}

/// Lines no wider than a width.
fn wrapped(text: &str, width: f64, lettering: Lettering) -> Vec<String> {
    let fits = |line: &str| lettering.width(line).is_ok_and(|own| own <= width);
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        let word = lettering.known(word);
        match lines.last_mut() {
            Some(line) if fits(&format!("{line} {word}")) => *line += &format!(" {word}"),
            _ => lines.push(word),
        }
    }
    lines
}

/// The text, cut where it is wider than it may be.
fn fitting(text: &str, width: f64, lettering: Lettering) -> String {
    let mut text = lettering.known(text);
    while lettering.width(&text).is_ok_and(|own| own > width) && text.pop().is_some() {}
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::study::{Settings, solve_decided};
    use crate::theory::ideal::Goal;
    use std::sync::Arc;

    fn of(file: &str) -> Canvas {
        let (case, plan) = crate::study::read(file.as_ref()).unwrap();
        let settings = Settings { goal: Some(Goal::Triangles(1500)), inertia: true, edge_layer: true };
        let plan = Arc::clone(&plan);
        let (study, budget) = solve_decided(&case, &plan, settings, &|_| {}).unwrap();
        let rig = study.rig(&budget).unwrap();
        card(&case.title, &study.plan, &study.rig_sections(&rig), &rig.suggestions).unwrap()
    }

    /// Nothing overlaps and nothing leaves the page; what is set, what it does and every caution are on it.
    #[test]
    fn the_card_holds_the_sheet_on_one_page() {
        for file in ["meshes/two_piers.toml", "meshes/keel_section.toml", "meshes/tapered_gap.toml"] {
            let card = of(file);
            assert_eq!(card.crowded(), [""; 0], "{file}");
            assert_eq!([card.width, card.height], PAPER);
            let all: Vec<&str> = card.texts().iter().map(|placed| placed.text.as_str()).collect();
            for word in
                ["flow rate Q", "reduced Reynolds number", "To set", "temperature of the fluid", "what binds here"]
            {
                assert!(all.contains(&word), "{word} in {file}: {all:?}");
            }
            let joined = all.join(" ");
            for danger in ["glass", "chlorinated", "laser", "dye"] {
                assert!(joined.to_lowercase().contains(danger), "{danger} in {file}: {joined}");
            }
            // within the page with its foot clear
            let foot = card.texts().last().unwrap().area;
            let above = card.texts().iter().rev().skip(1).map(|placed| placed.area[3]).fold(0.0, f64::max);
            assert!(above < foot[1] && foot[2] <= PAPER[0] - MARGIN + 1e-9, "{file}: {above} {foot:?}");
        }
    }

    #[test]
    fn long_and_foreign_words_stay_on_the_paper() {
        let label = Lettering::label(Anchor::Start);
        let cut = fitting(&"pier ".repeat(100), 50.0, label);
        assert!(label.width(&cut).unwrap() <= 50.0 && cut.starts_with("pier pier"));
        assert_eq!(label.known("se\u{7}al \u{1F9AD}"), "se?al ?");
        let lines = wrapped(&"seal caisson ".repeat(20), 60.0, label);
        assert!(lines.len() > 3 && lines.iter().all(|line| label.width(line).unwrap() <= 60.0));
        assert_eq!(lines.join(" ").split_whitespace().count(), 40);
    }
}
