//! `report.html`: one page to keep with the lab notes, complete in itself.

use super::page_captions::caption;
use super::page_rows::{facts, provenance, record, tables, typeset, typeset_numbers};
use super::page_sheet::PageSheet;
use super::page_words::{BUDGET_WORDS, WORDS, Word};
use crate::base::row::{Row, Section, row_at};
use crate::base::units::significant;
use crate::base::warning::{Level, Warning, messages};
use crate::base::{Error, Result};
use crate::geometry::{Piece, Plan, Side};
use crate::input::case::Case;
use crate::report::Report;
use crate::report::figure::{Canvas, Edge, FAMILY, Preview, Weight, font_face, page_inks, preview};
use crate::study::{Findings, Study};
use crate::theory::ideal::Goal;
use minijinja::{Environment, Value, context};

const CAUTIONS: [&str; 5] = [
    "These are computed numbers; they do not make a cell safe. Follow the rules of your house and ask qualified staff before you \
     build, fill or show a cell.",
    "Glass and acrylic can crack or burst under sealing pressure, clamps, bolts, a head of water or their own load. Wear eye \
     protection when you clamp, fill or raise the head.",
    "Laser cutting gives off harmful fumes; chlorinated plastics (PVC) must not be laser-cut at all.",
    "Read the safety data of dyes, glycerol and surfactants: they stain, irritate and make floors slippery. Mind where the waste goes.",
    "Pumps and lamps are electric: keep them and their leads apart from water.",
];

const CITE: &str = "Name the program with its version and the SHA-256 of the case and all files it reads, give the mesh, the bounds of the shape factor and the \
                    reduced Reynolds number, and cite what the numbers rest on:";

const SOURCES: [&str; 9] = [
    "The analogy: H. S. Hele-Shaw 1898, Nature 58, 34; no circulation: G. K. Batchelor 1967, An Introduction to Fluid Dynamics, sec. 4.8.",
    "Two-sided bounds: W. Prager & J. L. Synge 1947, Quarterly of Applied Mathematics 5, 241.",
    "Recovered velocities: O. C. Zienkiewicz & J. Z. Zhu 1992, International Journal for Numerical Methods in Engineering 33, 1331.",
    "Inertia of the gap average: C. Ruyer-Quil 2001, C. R. Acad. Sci. Paris IIb 329, 337; P. Gondret & M. Rabaud 1997, Physics of Fluids 9, 3267.",
    "Inertia between close plates: F. Riegels 1938, ZAMM 18, 95; B. W. Thompson 1968, Journal of Fluid Mechanics 31, 379.",
    "Edge layer: B. W. Thompson 1968; J. S. Lee & Y. C. Fung 1969, Journal of Fluid Mechanics 37, 657.",
    "Water: IAPWS R12-08 (viscosity); glycerol-water: N.-S. Cheng 2008, Industrial & Engineering Chemistry Research 47, 3285.",
    "Lines of even spacing: B. Jobard & W. Lefer 1997, Creating evenly-spaced streamlines of arbitrary density.",
    "Lettering of the figures: a subset of a typeface by Lukasz Dziedzic under the SIL Open Font Licence 1.1.",
];

/// What a page tells beside the rows of its report.
pub(super) struct Told<'a> {
    /// Whether all is well, the verdict in a few words, and in sentences.
    pub head: (bool, &'static str, Vec<String>),
    /// Warnings and notes; none where nothing was judged.
    pub warned: Option<Vec<Warning>>,
    /// The design sheet.
    pub sheet: Option<PageSheet<'a>>,
    /// Records that are shown with what their rows mean, their notes and cautions.
    pub records: Vec<Section>,
    /// Words to explain beyond the usual ones.
    pub words: &'a [Word],
}

/// What a page is about.
pub(super) struct Subject<'a> {
    /// Its title.
    pub title: &'a str,
    /// What is told of it, in few words.
    pub about: &'static str,
    /// A line below the title.
    pub subtitle: String,
    /// The case.
    pub case: &'a Case,
    /// What the case is meshed from.
    pub plan: &'a Plan,
    /// Facts about where the numbers come from, beside the usual ones.
    pub origin: Vec<Value>,
    /// The plan of runs that the case is part of.
    pub planned: Option<PlanText<'a>>,
}

/// The plan of runs as it was read.
pub(super) struct PlanText<'a> {
    /// Its text.
    pub text: &'a str,
    /// Hash over it and all it reads.
    pub sha256: &'a str,
}

impl Study {
    /// The page of a study with its figures inside.
    ///
    /// # Errors
    /// [`Error::Failed`] if the page cannot be put together.
    pub fn page(&self, report: &Report, found: &Findings, figures: &[Canvas]) -> Result<String> {
        let sheet = found.rig.as_ref().map(PageSheet::new).transpose()?;
        let words: &[_] = if found.budget.is_some() { &BUDGET_WORDS } else { &[] };
        self.page_of(
            report,
            figures,
            Told { head: self.headline(found), warned: Some(self.warnings()), sheet, records: Vec::new(), words },
        )
    }

    /// The page of a report with figures and what is told of them.
    pub(super) fn page_of(&self, report: &Report, figures: &[Canvas], told: Told) -> Result<String> {
        let subject = Subject {
            title: &self.case.title,
            about: "how far from ideal",
            subtitle: self.subtitle(),
            case: &self.case,
            plan: &self.plan,
            origin: self.goal_and_tolerances().into(),
            planned: None,
        };
        subject.page(report, figures, told)
    }

    /// What was asked for, and with what the departures are compared.
    fn goal_and_tolerances(&self) -> [Value; 2] {
        let goal = match self.goal {
            Goal::Error { relative, most_triangles } => {
                format!("half-width {} %, at most {most_triangles} triangles", significant(100.0 * relative, 3))
            }
            Goal::Triangles(n) => format!("one mesh of about {n} triangles"),
        };
        let tolerance = &self.case.tolerance;
        let tolerances = format!(
            "{} % of U, {} degrees, {} mm",
            significant(100.0 * tolerance.speed, 3),
            significant(tolerance.direction.to_degrees(), 3),
            significant(1e3 * tolerance.shift, 3)
        );
        let reached = if self.reached() { "reached" } else { "NOT reached" };
        [
            context! { name => "goal", value => goal, meaning => reached },
            context! { name => "tolerances", value => tolerances, meaning => "speed, direction, shift of streaklines" },
        ]
    }

    fn subtitle(&self) -> String {
        let millimetres = |x: f64| significant(1e3 * x, 4);
        let [length, width] = self.case.cell.size();
        let height = match self.case.streaklines.height {
            0.0 => "dye at mid-gap".to_owned(),
            z => format!("dye at height {z} of half the gap"),
        };
        format!(
            "Cell of {} mm by {} mm, gap {} mm; {}; {height}.",
            millimetres(length),
            millimetres(width),
            millimetres(self.solved.space.reference_gap),
            self.case.fluid.name
        )
    }

    /// Whether all is well, the verdict in a few words, and in sentences.
    fn headline(&self, found: &Findings) -> (bool, &'static str, Vec<String>) {
        let shape = &self.pattern.shape_factor;
        let accuracy = format!(
            "The shape factor is {}, guaranteed between {} and {} (half-width {} %).",
            significant(shape.value, 7),
            significant(shape.lower, 7),
            significant(shape.upper, 7),
            significant(100.0 * shape.relative_half_width, 2)
        );
        let mut sentences = Vec::new();
        let (good, words) = match &found.budget {
            Some(budget) => {
                sentences.push(typeset(&budget.verdict.text));
                sentences.extend(budget.answer(&self.case.tolerance, &self.reynolds).iter().map(|text| typeset(text)));
                match (budget.verdict.decided, budget.verdict.within_tolerance) {
                    (false, _) => (false, "Not decided on this mesh"),
                    (true, true) => (true, "Within your tolerances"),
                    (true, false) => (false, "Beyond your tolerances"),
                }
            }
            None => {
                sentences
                    .push("How far the picture is from ideal was not asked; twinplate departure adds that.".to_owned());
                match self.reached() {
                    true => (true, "The ideal pattern, as accurate as asked"),
                    false => (false, "The ideal pattern, less accurate than asked"),
                }
            }
        };
        let comparison = found.closure.as_ref().and_then(|closure| closure.comparison.as_ref());
        sentences.extend(comparison.map(|comparison| typeset(&comparison.text())));
        if !self.reached() {
            sentences.push("The wanted accuracy was NOT reached; see the warnings.".to_owned());
        }
        sentences.push(accuracy);
        (good && self.reached(), words, sentences)
    }
}

impl Subject<'_> {
    /// The page of a report with figures and what is told of them.
    ///
    /// # Errors
    /// [`Error::Failed`] if it cannot be put together.
    pub(super) fn page(&self, report: &Report, figures: &[Canvas], told: Told) -> Result<String> {
        let mut environment = Environment::new();
        let failed =
            |e: minijinja::Error| Error::failed(format!("report.html cannot be made: {e}"), "report this as a fault");
        environment.add_template("page.html", include_str!("page.html")).map_err(failed)?;
        let template = environment.get_template("page.html").map_err(failed)?;
        let Told { head: (good, headline, verdict), warned, sheet, records, words } = told;
        let said = |warned: &[Warning], level| {
            messages(warned, level).iter().map(|text| typeset_numbers(text)).collect::<Vec<_>>()
        };
        let [light, dark] = page_inks();
        let drawings = figures.iter().enumerate().map(|(k, figure)| {
            let caption = format!("Figure {}. {}", k + 1, caption(figure));
            context! { name => figure.name(), drawing => figure.for_page(), caption => caption }
        });
        // the map of the sheet, if there is one, then the outline
        let further = [figures.len() + 1, figures.len() + 1 + usize::from(sheet.is_some())];
        let word = |&(name, meaning): &Word| context! { name => name, meaning => meaning };
        let mut origin = provenance(&report.sections);
        origin.extend(self.origin.iter().cloned());
        let page = context! {
            title => self.title,
            about => self.about,
            subtitle => self.subtitle.as_str(),
            family => FAMILY,
            faces => [Weight::Regular, Weight::Bold].map(font_face).concat(),
            light => light,
            dark => dark,
            good => good,
            headline => headline,
            verdict => verdict,
            warnings => warned.as_ref().map(|warned| said(warned, Level::Warning)),
            notes => warned.as_ref().map(|warned| said(warned, Level::Note)),
            facts => facts(&report.sections),
            figures => drawings.collect::<Vec<Value>>(),
            tables => tables(&report.sections),
            records => records.iter().map(record).collect::<Vec<Value>>(),
            sheet => sheet.map(|sheet| sheet.value(further[0])),
            definitions => WORDS.iter().chain(words).map(word).collect::<Vec<Value>>(),
            cautions => CAUTIONS.to_vec(),
            provenance => origin,
            sha256 => self.case.sha256.as_str(),
            combined_sha256 => self.case.combined_sha256(),
            planned => self.planned.as_ref().map(|plan| context! { text => plan.text, sha256 => plan.sha256 }),
            settings_sha256 => row_at(&report.sections, "run.settings_sha256").map(Row::si),
            command => row_at(&report.sections, "run.command").map(Row::si),
            outline => context! { drawing => self.outline()?.for_page(), number => further[1] },
            case => self.case.text.as_str(),
            cite => CITE,
            sources => SOURCES.to_vec(),
            program => concat!(env!("CARGO_PKG_NAME"), " ", env!("CARGO_PKG_VERSION")),
        };
        template.render(page).map_err(failed)
    }

    /// The cell with its obstacles, from the curves that were meshed.
    fn outline(&self) -> Result<Canvas> {
        let Plan { pieces, loops, .. } = self.plan;
        let owner = |piece: &Piece| match piece.side {
            Side::Obstacle(k) => Some(k),
            _ => None,
        };
        let stretches = loops.iter().flat_map(|range| pieces[range.clone()].chunk_by(|a, b| owner(a) == owner(b)));
        let stretches: Vec<&[Piece]> = stretches.filter(|stretch| owner(&stretch[0]).is_some()).collect();
        let count: usize = stretches.iter().map(|stretch| stretch.len()).sum();
        let steps = (4000 / count.max(1)).clamp(1, 64);
        let name = |piece: &Piece| {
            let obstacle = owner(piece).and_then(|k| self.plan.obstacles.get(k as usize));
            obstacle.map_or_else(String::new, |obstacle| obstacle.name.clone())
        };
        let places = |piece: &Piece| (0..=steps).map(|k| piece.point(k as f64 / steps as f64)).collect::<Vec<_>>();
        preview(&Preview {
            title: &self.case.title,
            area: [self.case.cell.bounds().low, self.case.cell.bounds().high],
            cell: Some(Edge::of(self.plan)),
            outlines: stretches.iter().map(|stretch| stretch.iter().flat_map(places).collect()).collect(),
            names: stretches.iter().map(|stretch| name(&stretch[0])).collect(),
            probes: self.case.probes.iter().map(|probe| (probe.name.clone(), probe.at)).collect(),
            surveys: &[],
            passages: Vec::new(),
            unit: "mm",
            scale: 1e3,
        })
    }
}
