//! The report of a study as sections of rows, in the order of `report.json`.

use super::budget::BudgetErrors;
use super::{Budget, Study, drift, swept};
use crate::base::row::{Detail, Kind, Row, Section, Value};
use crate::base::units::{Dimension, significant};
use crate::base::warning::sections;
use crate::input::case::{Reynolds, Tolerance};
use crate::numerics::mesh::Mesh;
use crate::theory::bubbles::{held, held_section};
use crate::theory::circulation::left_out;
use crate::theory::departure::{
    Effect, Errors, InStudies, Measure, Measures, Standing, answer, confinement_widening, numerical_error,
    of_the_plates,
};
use crate::theory::ideal::Probes;

/// The program and its version.
pub fn program() -> Section {
    let rows = vec![
        Row::new("name", "program", env!("CARGO_PKG_NAME"), Kind::Number),
        Row::new("version", "version", env!("CARGO_PKG_VERSION"), Kind::Number),
    ];
    Section::new("program", "", rows)
}

impl Study {
    /// Everything the study found.
    pub fn sections(&self) -> Vec<Section> {
        let mut list = self.unwarned();
        list.extend(sections(&self.warnings()));
        list
    }

    /// The same without warnings, for reports that have more of them.
    pub(super) fn unwarned(&self) -> Vec<Section> {
        let (drive, probes) = (&self.pattern.drive, self.probes());
        let mut list = vec![program()];
        list.extend(self.case.sections(self.solved.space.reference_gap));
        list.extend([
            mesh_section(&self.solved.space.mesh),
            self.reynolds.section(),
            drive.section(),
            self.pattern.shape_factor.section(self.goal),
            self.pattern.probe_section(&probes),
        ]);
        list.extend((!self.profiles.is_empty()).then(|| self.line_section()));
        if let Some(inertia) = &self.inertia {
            list.push(inertia.section(&probes, drive, self.case.drive.ends, &self.case.fluid));
        }
        if let Some(layer) = &self.edge_layer {
            let moved = self.moved.as_deref().and_then(|moved| moved.as_ref().ok()).map(|moved| moved.shape_factor);
            list.push(layer.section(&probes, moved));
        }
        list.extend((!self.bubbles.is_empty()).then(|| drift::section(&self.bubbles, &self.patches)));
        let bubbles = held(&self.case, &self.plan);
        if !bubbles.is_empty() {
            list.push(held_section(&bubbles));
        }
        list.push(self.solved.section());
        list
    }

    /// The case's probes on the mesh.
    pub fn probes(&self) -> Probes<'_> {
        let named = self.case.probes.iter().map(|probe| (probe.name.as_str(), probe.at)).collect();
        Probes { space: &self.solved.space, named, places: &self.places }
    }
}

/// Size and quality of the finest mesh.
fn mesh_section(mesh: &Mesh) -> Section {
    let rows = vec![
        Row::new("vertices", "vertices", mesh.points.len(), Kind::Number),
        Row::new("triangles", "triangles", mesh.triangles.len(), Kind::Number),
        Row::new("min_angle_deg", "smallest angle", mesh.least_angle().to_degrees(), Kind::Degrees).digits(3),
        Row::new("levels", "nested levels", mesh.coarser.len() + 1, Kind::Number),
    ];
    Section::new("mesh", "Mesh", rows)
}

impl Budget {
    /// The departure, the circulation that is missing, and the sweep.
    pub fn sections(&self, study: &Study) -> Vec<Section> {
        let mut list = vec![self.departure_section(&study.case.tolerance, &study.reynolds)];
        list.extend(self.circulation.iter().map(|circulation| circulation.section()));
        if !self.without_tail.is_empty() {
            list.push(left_out(&self.without_tail));
        }
        if let Some(sweep) = &study.case.sweep {
            let title = format!("Sweep of {}, against ideal flow in the same cell", swept(sweep.quantity));
            let steps = self.sweep.iter().map(|row| row.section("value")).collect();
            list.push(Section::table("sweep", title, []).with(steps));
        }
        list
    }

    /// Whether a picture can be trusted at this obstacle Reynolds number, in one sentence.
    pub(crate) fn answer(&self, tolerance: &Tolerance, reynolds: &Reynolds) -> Option<String> {
        let k = self.contributions.iter().position(|c| c.effect == Effect::Inertia)?;
        let BudgetErrors { each, cell_alone, .. } = &self.errors;
        Some(answer(&self.at_height[k], &each[k], &self.thresholds, cell_alone, tolerance, reynolds))
    }

    fn departure_section(&self, tolerance: &Tolerance, reynolds: &Reynolds) -> Section {
        let mut rows = vec![
            Row::new("edge_band_m", "observed further from solid edges than", self.band, Kind::Of(Dimension::Length)),
            Row::new("height", "dye height zeta", self.height, Kind::Number),
        ];
        if let Some(limit) = self.first_order_limit {
            let name = "first order in inertia holds up to Re*";
            rows.push(Row::new("first_order_up_to_reduced_reynolds", name, limit, Kind::Number).digits(3).means(
                "where the local inertia number reaches one in the region",
                "",
                "",
            ));
        }
        rows.push(Row::script("notes", Value::texts(self.notes.iter().cloned())));
        let BudgetErrors { each, total, cell_alone } = &self.errors;
        let everything = numerical_error(&self.contributions);
        let alone = numerical_error(of_the_plates(&self.contributions));
        let of = |key, measures: &Measures, errors: &Errors, error, study| {
            let standing = Standing::of_all(measures, errors, tolerance);
            measures.rows(key, error, errors, standing, study)
        };
        let one = |measures: &[Measures], study: InStudies| -> Vec<Vec<Row>> {
            let all = self.contributions.iter().zip(measures).zip(each);
            let rows = all.map(|((c, m), errors)| c.rows(m, errors, Standing::of_all(m, errors, tolerance), study));
            rows.collect()
        };
        let together = [
            of("all_but_confinement", &self.cell_alone, cell_alone, alone, InStudies::OnDemand),
            of("total", &self.total[0], total, everything, InStudies::Followed),
        ];
        let own = one(&self.at_height, InStudies::Followed).into_iter();
        let contributions = Section::table("contributions", "By effect, at the dye height", own.chain(together));
        let mean = one(&self.gap_mean, InStudies::OnDemand).into_iter();
        let mean = mean.chain([of("total", &self.total[1], total, everything, InStudies::OnDemand)]);
        let mut verdict = self.verdict.section(&self.thresholds, cell_alone, tolerance);
        if let Some(text) = self.answer(tolerance, reynolds) {
            verdict.rows.insert(1, Row::new("answer", "", text, Kind::Number));
        }
        let mut parts = vec![
            verdict,
            contributions,
            Section::table("gap_mean", "By effect, averaged over the gap", mean).at(Detail::Full),
            Section::new("cell_alone", "", of("cell_alone", &self.cell_alone, cell_alone, alone, InStudies::OnDemand))
                .at(Detail::Script),
        ];
        parts.extend(self.bubbles.as_ref().map(|bubbles| bubbles.section(tolerance)));
        let confinement = self.contributions.iter().position(|c| c.effect == Effect::Confinement);
        parts.extend(confinement.map(|k| confinement_section(&self.at_height[k], &each[k], tolerance)));
        let title = "Departure from the ideal pattern, at the same mean speed U";
        let unmeasured = (0..self.contributions.len()).filter_map(|k| {
            let word = match self.speed_standing(k, tolerance) {
                Standing::Measured => return None,
                Standing::BelowError => "is below its numerical error",
                Standing::Negligible => "is below a hundredth of the tolerance",
            };
            Some(format!(
                "the change of speed by {} {word}: no map of it is drawn",
                self.contributions[k].effect.name()
            ))
        });
        let notes = self.notes.iter().cloned().chain(unmeasured).collect();
        Section::new("departure", title, rows).with(parts).noted(notes)
    }
}

/// What an unbounded stream would show instead, and the cell that would hold that within the tolerances.
fn confinement_section(measures: &Measures, errors: &Errors, tolerance: &Tolerance) -> Section {
    let shown = |measure: Measure| measure.show_with(measures.of(measure).judged, errors.of(measure));
    let widening = confinement_widening(measures, tolerance);
    let wider = if widening > 1.0 {
        let times = significant(widening, 2);
        format!("a cell {times} times as wide and as long would hold that within the tolerances")
    } else {
        "that is within the tolerances".to_owned()
    };
    let text = format!(
        "Confinement is no fault of the analogy: the cell shows ideal flow between its walls. In an unbounded stream the speed would \
         differ by {}, the direction by {}, streaklines by {}; {wider}.",
        shown(Measure::Speed),
        shown(Measure::Direction),
        shown(Measure::Shift)
    );
    let standing = Standing::of_all(measures, errors, tolerance);
    let mut rows = vec![
        Row::new("text", "", text, Kind::Number),
        Row::new("cell_times", "times as wide and as long", widening, Kind::Number).digits(2).full(),
    ];
    rows.extend(
        measures.rows("confinement", errors.speed, errors, standing, InStudies::OnDemand).into_iter().map(Row::full),
    );
    Section::new("confinement", "Against an unbounded stream", rows)
}
