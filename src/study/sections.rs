//! The report of a study as sections of rows, in the order of `report.json`.

use super::{Budget, Study, swept};
use crate::base::row::{Detail, Kind, Row, Section, Value};
use crate::base::units::Dimension;
use crate::base::warning::sections;
use crate::numerics::mesh::Mesh;
use crate::theory::departure::InStudies;
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
        if let Some(inertia) = &self.inertia {
            list.push(inertia.section(&probes, drive, self.case.drive.ends));
        }
        if let Some(layer) = &self.edge_layer {
            let moved = self.moved.as_ref().and_then(|moved| moved.as_ref().ok()).map(|moved| moved.shape_factor);
            list.push(layer.section(&probes, moved));
        }
        list.push(self.solved.section());
        list.extend(sections(&self.warnings()));
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
        let mut list = vec![self.departure_section()];
        list.extend(self.circulation.iter().map(|circulation| circulation.section()));
        if let Some(sweep) = &study.case.sweep {
            let title = format!("Sweep of {}, all effects together", swept(sweep.quantity));
            list.push(Section::table("sweep", title, self.sweep.iter().map(|row| row.rows("value"))));
        }
        list
    }

    fn departure_section(&self) -> Section {
        let [everything, alone] = self.numerical_error;
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
        let own = self.contributions.iter().zip(&self.at_height).map(|(c, m)| c.rows(m, InStudies::Followed));
        let together = [
            self.cell_alone.rows("all_but_confinement", alone, InStudies::OnDemand),
            self.total[0].rows("total", everything, InStudies::Followed),
        ];
        let contributions = Section::table("contributions", "By effect, at the dye height", own.chain(together));
        let mean = self.contributions.iter().zip(&self.gap_mean).map(|(c, m)| c.rows(m, InStudies::OnDemand));
        let mean = mean.chain([self.total[1].rows("total", everything, InStudies::OnDemand)]);
        let parts = vec![
            contributions,
            Section::table("gap_mean", "By effect, averaged over the gap", mean).at(Detail::Full),
            Section::new("cell_alone", "", self.cell_alone.rows("cell_alone", alone, InStudies::OnDemand))
                .at(Detail::Script),
            self.verdict.section(),
        ];
        let title = "Departure from the ideal pattern, at the same mean speed U";
        Section::new("departure", title, rows).with(parts).noted(self.notes.clone())
    }
}
