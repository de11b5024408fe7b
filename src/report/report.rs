//! `report.json`: every number with its unit at the end of its key, in a fixed order.
//!
//! All values are SI; keys without a unit hold a fraction, a count or a text. A number that does not exist (say the
//! obstacle Reynolds number of an empty cell) is left out, never null.

use super::json::Entries;
use crate::base::warning::{Warning, section};
use crate::base::{Error, Result};
use serde::{Serialize, Serializer};
use serde_json::{Map, Value};

/// The results of a run.
#[derive(Debug, Clone, Serialize)]
pub struct Report {
    /// What computed them.
    pub program: Program,
    /// What was asked.
    pub case: CaseId,
    /// The cell between the plates.
    pub cell: CellSize,
    /// The fluid.
    pub fluid: FluidProperties,
    /// The mesh.
    pub mesh: MeshFacts,
    /// The three Reynolds numbers.
    pub reynolds: Reynolds,
    /// Speed, flow, pressure drop and head.
    pub drive: DriveFacts,
    /// The conduction shape factor and its bounds.
    pub shape_factor: ShapeFactor,
    /// The ideal pattern at the probes.
    pub probes: Vec<ProbeValues>,
    /// First-order inertia, if asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub inertia: Option<Inertia>,
    /// The edge layer, if asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub edge_layer: Option<EdgeLayer>,
    /// How the equations were solved.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub solver: Option<Solver>,
    /// What the reader must know before using the numbers, with reasons.
    #[serde(serialize_with = "records")]
    pub warnings: Vec<Warning>,
    /// Wall-clock times.
    pub timings_s: Timings,
    /// Files written into the output folder, this report among them.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub files: Vec<String>,
    /// Sizes of the first of them, as far as written before this report, bytes.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub file_sizes_bytes: Vec<u64>,
    /// Further results under their own top-level keys: convergence, departure, circulation, sweep, rig.
    #[serde(flatten)]
    pub more: Map<String, Value>,
}

/// The program and its version.
#[derive(Debug, Clone, Serialize)]
pub struct Program {
    /// Its name.
    pub name: String,
    /// Its version.
    pub version: String,
}

impl Default for Program {
    fn default() -> Self {
        Program { name: env!("CARGO_PKG_NAME").to_owned(), version: env!("CARGO_PKG_VERSION").to_owned() }
    }
}

/// Which case it was.
#[derive(Debug, Clone, Default, Serialize)]
pub struct CaseId {
    /// Its title.
    pub title: String,
    /// The case file.
    pub file: String,
    /// SHA-256 of its text, in hexadecimal.
    pub sha256: String,
}

/// The size of the cell.
#[derive(Debug, Clone, Default, Serialize)]
pub struct CellSize {
    /// Length along the flow, m.
    pub length_m: f64,
    /// Width across the flow, m.
    pub width_m: f64,
    /// Gap between the plates at the middle of the cell, m.
    pub gap_m: f64,
}

/// The fluid as used.
#[derive(Debug, Clone, Default, Serialize)]
pub struct FluidProperties {
    /// Its name.
    pub name: String,
    /// Density, kg/m3.
    pub density_kg_per_m3: f64,
    /// Dynamic viscosity, Pa s.
    pub viscosity_pa_s: f64,
}

/// The finest mesh.
#[derive(Debug, Clone, Default, Serialize)]
pub struct MeshFacts {
    /// Number of vertices.
    pub vertices: usize,
    /// Number of triangles.
    pub triangles: usize,
    /// Smallest angle, degrees.
    pub min_angle_deg: f64,
    /// Number of nested levels.
    pub levels: usize,
}

/// The three Reynolds numbers; those on the reference length are left out where no such length exists.
#[derive(Debug, Clone, Default, Serialize)]
pub struct Reynolds {
    /// Re_L = U L / nu.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub obstacle: Option<f64>,
    /// Re_b = U b / nu.
    pub gap: f64,
    /// Re* = Re_b b / L = U b^2 / (nu L).
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reduced: Option<f64>,
    /// L, m.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reference_length_m: Option<f64>,
}

/// What drives the flow, each quantity in terms of the given one.
#[derive(Debug, Clone, Default, Serialize)]
pub struct DriveFacts {
    /// U, mean over the inlet, m/s.
    pub mean_speed_m_per_s: f64,
    /// Q, m3/s.
    pub flow_rate_m3_per_s: f64,
    /// Pressure drop from inlet to outlet, Pa.
    pub pressure_drop_pa: f64,
    /// Pressure drop / (rho g), m of the fluid in the cell.
    pub head_m: f64,
}

/// The conduction shape factor Q/(K dp), K = b^3/(12 mu) at the middle of the cell; W/L for the empty cell.
#[derive(Debug, Clone, Serialize)]
pub struct ShapeFactor {
    /// Best value.
    pub value: f64,
    /// Not above the exact value on the polygonal domain.
    pub lower: f64,
    /// Not below the exact value on the polygonal domain.
    pub upper: f64,
    /// (upper - lower)/(2 value).
    pub relative_half_width: f64,
    /// What replacing curves by chords can add, to first order, in units of the shape factor.
    pub outline_allowance: f64,
    /// The relative half-width asked for, if any.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub target_relative_half_width: Option<f64>,
    /// What the value is.
    pub definition: String,
}

impl Default for ShapeFactor {
    fn default() -> Self {
        ShapeFactor {
            value: 0.0,
            lower: 0.0,
            upper: 0.0,
            relative_half_width: 0.0,
            outline_allowance: 0.0,
            target_relative_half_width: None,
            definition: "Q/(K dp) with K = b^3/(12 mu) at the middle of the cell; width/length for the empty cell"
                .into(),
        }
    }
}

/// The ideal pattern at a probe.
#[derive(Debug, Clone, Default, Serialize)]
pub struct ProbeValues {
    /// Its name.
    pub name: String,
    /// Where, m.
    pub x_m: f64,
    /// Where, m.
    pub y_m: f64,
    /// Pressure above the outlet, Pa.
    pub pressure_pa: f64,
    /// (p - p_outlet)/(p_inlet - p_outlet).
    pub pressure_fraction: f64,
    /// Gap-averaged speed, m/s.
    pub speed_m_per_s: f64,
    /// The same over U.
    pub speed_ratio: f64,
    /// Direction from +x, counter-clockwise positive, degrees.
    pub angle_deg: f64,
}

/// First-order inertia.
#[derive(Debug, Clone, Default, Serialize)]
pub struct Inertia {
    /// 27/35, of rho |V0|^2 in p1.
    pub pressure_coefficient: f64,
    /// C1 of the edge layer's inertia.
    pub edge_coefficient: f64,
    /// Change of the flow through the inlet by inertia at the same drop of pressure, fraction of the flow; zero with given
    /// inflow.
    pub flow_change: f64,
    /// At the probes.
    pub probes: Vec<InertiaProbe>,
}

/// First-order inertia at a probe.
#[derive(Debug, Clone, Default, Serialize)]
pub struct InertiaProbe {
    /// Its name.
    pub name: String,
    /// p1 alone, Pa.
    pub pressure_pa: f64,
    /// Gap-averaged |V0 + V1| over U.
    pub mean_speed_ratio: f64,
    /// Its direction, degrees.
    pub mean_angle_deg: f64,
    /// Mid-gap speed over 3U/2.
    pub midplane_speed_ratio: f64,
    /// Its direction, degrees.
    pub midplane_angle_deg: f64,
    /// Limit at the plates of the layer speed over (3/2)(1 - zeta^2) U.
    pub near_plate_speed_ratio: f64,
    /// Its direction, degrees.
    pub near_plate_angle_deg: f64,
}

/// The first-order edge layer.
#[derive(Debug, Clone, Default, Serialize)]
pub struct EdgeLayer {
    /// delta*, m.
    pub displacement_thickness_m: f64,
    /// The shape factor with the edge layer.
    pub shape_factor: f64,
    /// Shape factor with every solid edge moved into the fluid by the displacement thickness, if there is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub moved_edges_shape_factor: Option<f64>,
    /// What is neglected goes as this power of b/L.
    pub neglected_order: f64,
    /// At the probes.
    pub probes: Vec<EdgeLayerProbe>,
}

/// The pattern with the edge layer at a probe.
#[derive(Debug, Clone, Default, Serialize)]
pub struct EdgeLayerProbe {
    /// Its name.
    pub name: String,
    /// Corrected speed over the corrected mean inlet speed.
    pub speed_ratio: f64,
    /// Its direction, degrees.
    pub angle_deg: f64,
}

/// How the equations were solved.
#[derive(Debug, Clone, Default, Serialize)]
pub struct Solver {
    /// Conjugate-gradient iterations on the finest level for the pressure; 0 where the system was factorised.
    pub iterations_pressure: usize,
    /// The same for the stream function.
    pub iterations_stream_function: usize,
    /// The adaptive cycles, coarsest mesh first.
    pub cycles: Vec<Cycle>,
}

/// One adaptive cycle.
#[derive(Debug, Clone, Default, Serialize)]
pub struct Cycle {
    /// Number of triangles.
    pub triangles: usize,
    /// Relative half-width of the conductance bracket.
    pub relative_half_width: f64,
}

/// Wall-clock times, s.
#[derive(Debug, Clone, Default, Serialize)]
pub struct Timings {
    /// Making meshes.
    pub mesh: f64,
    /// Solving.
    pub solve: f64,
    /// Writing fields and lines.
    pub write: f64,
    /// From start to the writing of this report.
    pub total: f64,
}

impl Report {
    /// The report as indented JSON with a line break at the end; each number has the digits that give it back exactly.
    ///
    /// # Errors
    /// [`Error::Failed`] naming the key if a number is not finite.
    pub fn to_json_string(&self) -> Result<String> {
        let value = serde_json::to_value(self).map_err(|e| unfit(e.to_string()))?;
        pretty(&value)
    }
}

/// Warnings as records of their rows.
pub(super) fn records<S: Serializer>(warnings: &[Warning], serializer: S) -> std::result::Result<S::Ok, S::Error> {
    Entries(&section(warnings).parts).serialize(serializer)
}

fn unfit(why: String) -> Error {
    Error::failed(format!("the report cannot be written: {why}"), "report this as a fault")
}

/// Indented JSON with a line break at the end; each number has the digits that give it back exactly.
///
/// # Errors
/// [`Error::Failed`] naming the key if a number is not finite.
pub fn pretty(value: &Value) -> Result<String> {
    if let Some(key) = null_key(value) {
        return Err(Error::failed(
            format!("the report cannot be written: {key} is not a finite number"),
            "check the case for extreme lengths, speeds or viscosities; twinplate check prints them in SI",
        ));
    }
    serde_json::to_string_pretty(value).map(|text| text + "\n").map_err(|e| unfit(e.to_string()))
}

/// The first key that holds null, which is what a number that is not finite becomes.
fn null_key(value: &Value) -> Option<String> {
    let below = |key: String, value| {
        null_key(value).map(|rest| if rest.is_empty() { key.clone() } else { format!("{key}.{rest}") })
    };
    match value {
        Value::Null => Some(String::new()),
        Value::Array(list) => list.iter().enumerate().find_map(|(i, v)| below(i.to_string(), v)),
        Value::Object(map) => map.iter().find_map(|(key, v)| below(key.clone(), v)),
        _ => None,
    }
}
