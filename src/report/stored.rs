//! The fields of an output folder, read back to be sampled.

use super::record::{Record, Run};
use super::verify;
use crate::base::error::Problems;
use crate::base::{Error, Result};
use crate::input::fields::StoredFields;
use crate::numerics::mesh::{Locator, Mesh};
use crate::study::sample::{Drive, Further, InertiaFields, Sampler, edge_layer_columns};
use serde_json::Value;
use std::borrow::Cow;
use std::path::{Path, PathBuf};

/// The file of the fields, and that of the numbers they are held against.
const FIELDS: &str = "fields.vtu";
const REPORT: &str = "report.json";

/// The arrays of inertia: pressure, then velocities.
const INERTIA: [&str; 4] = ["inertia_pressure", "velocity_gap_mean", "velocity_midplane", "velocity_near_plate"];
/// Components of these.
const COMPONENTS: [usize; 4] = [1, 3, 3, 3];
const EDGE_LAYER: &str = "edge_layer_velocity";

/// The corrections that are wanted of a folder.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Corrections {
    /// Those of inertia.
    pub inertia: bool,
    /// Those of the edge layer.
    pub edge_layer: bool,
}

/// The fields of an output folder.
#[derive(Debug)]
pub struct StoredResult {
    /// The hash over the case and its files that they were made from.
    pub combined_sha256: String,
    /// The command that wrote them.
    pub command: String,
    /// Whether the layers at mid-gap and near the plates are slowed within the edge layer.
    pub is_slowed: bool,
    mesh: Mesh,
    fields: StoredFields,
    drive: Drive,
    edge_layer_speed: f64,
    wanted: Corrections,
}

impl StoredResult {
    /// Reads the fields of a folder whose files are those of its record.
    ///
    /// # Errors
    /// As [`verify()`]; [`Error::Input`] if the folder holds no fields, or not those of a correction that is wanted.
    pub fn open(dir: &Path, wanted: Corrections) -> Result<StoredResult> {
        verify(dir)?;
        let record = Record::of(dir)?.unwrap_or_default();
        let combined_sha256 = record.combined_sha256.clone();
        let holds = |run: &Run, name: &str| run.files.iter().any(|file| file.name == name);
        let again = "solve the case again into this folder, or name the case";
        let refused = |file: PathBuf, what: String, remedy: &str| Err(Error::Input(Problems::one(&file, what, remedy)));
        let Some(run) = record.runs().find(|run| holds(run, FIELDS)) else {
            return refused(
                dir.to_owned(),
                format!("the folder holds no {FIELDS}: no command that solves wrote into it"),
                again,
            );
        };
        if !holds(&run, REPORT) {
            let what = format!("{REPORT} is that of a later command than `{}`, which wrote {FIELDS}", run.command);
            return refused(dir.to_owned(), what, again);
        }
        let report = dir.join(REPORT);
        let text =
            std::fs::read(&report).map_err(|source| Error::File { action: "read", path: report.clone(), source })?;
        let told: Value = serde_json::from_slice(&text).unwrap_or_default();
        let number = |path: &str| told.pointer(path).and_then(Value::as_f64);
        let (Some(mean_speed), Some(pressure_drop)) =
            (number("/drive/mean_speed_m_per_s"), number("/drive/pressure_drop_pa"))
        else {
            return refused(report, "the report tells neither mean speed nor pressure drop".into(), again);
        };
        let mut arrays = vec![("pressure", 1), ("velocity", 3), (EDGE_LAYER, 3)];
        arrays.extend(INERTIA.into_iter().zip(COMPONENTS).filter(|_| wanted.inertia));
        let file = dir.join(FIELDS);
        let mut fields = StoredFields::read(&file, &arrays)?;
        let missing = |names: &[&'static str]| names.iter().copied().find(|name| fields.numbers(name).is_none());
        let speed = number("/edge_layer/mean_speed_m_per_s");
        let lacks = missing(&["pressure", "velocity"])
            .map(|name| (name, again))
            .or_else(|| {
                missing(&INERTIA).filter(|_| wanted.inertia).map(|name| (name, "solve the case again, with inertia"))
            })
            .or_else(|| {
                let is_there = missing(&[EDGE_LAYER]).is_none() && speed.is_some();
                (wanted.edge_layer && !is_there).then_some((EDGE_LAYER, "solve the case again, with the edge layer"))
            });
        if let Some((name, remedy)) = lacks {
            return refused(file, format!("the fields do not hold {name}"), remedy);
        }
        let is_slowed = wanted.inertia && fields.numbers(EDGE_LAYER).is_some();
        let mesh = Mesh::bare(std::mem::take(&mut fields.points), std::mem::take(&mut fields.triangles));
        let (drive, edge_layer_speed) = (Drive { mean_speed, pressure_drop }, speed.unwrap_or(mean_speed));
        Ok(StoredResult {
            combined_sha256,
            command: run.command,
            is_slowed,
            mesh,
            fields,
            drive,
            edge_layer_speed,
            wanted,
        })
    }

    /// The fields, to be read at places. Edges are those of the triangles.
    pub fn sampler(&self) -> Sampler<'_> {
        let vectors = |name: &str| self.fields.vectors(name).unwrap_or_default();
        let numbers = |name: &str| Cow::from(self.fields.numbers(name).unwrap_or_default());
        let mut further: Vec<Further<'_>> = Vec::new();
        if self.wanted.inertia {
            let [pressure, mean, midplane, near_plate] = INERTIA;
            let fields = InertiaFields {
                pressure: numbers(pressure),
                mean: vectors(mean).into(),
                midplane: vectors(midplane).into(),
                near_plate: vectors(near_plate).into(),
            };
            further.extend(fields.columns(self.drive.mean_speed));
        }
        if self.wanted.edge_layer {
            further.extend(edge_layer_columns(vectors(EDGE_LAYER).into(), self.edge_layer_speed));
        }
        Sampler::new(
            &self.mesh,
            Locator::new(&self.mesh),
            0.0,
            self.drive,
            numbers("pressure"),
            vectors("velocity"),
            further,
        )
    }
}
