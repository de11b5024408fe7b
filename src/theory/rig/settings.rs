//! What the rig is taken to be, each setting with the word whether the case gave it.

use super::{Given, State};
use crate::base::row::Value;
use crate::base::units::Dimension;
use crate::input::case::{PlateEdges, Setting};

/// The settings of a rig for reading and for scripts.
pub fn settings(state: &State, lines_given: bool) -> Vec<Given> {
    let rig = &state.rig;
    let text =
        |key, value: &str, defaulted| Given { key, shown: value.to_owned(), value: value.to_owned().into(), defaulted };
    let of = |key, setting: Setting<f64>, dimension: Dimension| Given {
        key,
        shown: dimension.show(setting.value),
        value: Value::Number(if dimension == Dimension::Angle { setting.value.to_degrees() } else { setting.value }),
        defaulted: setting.defaulted,
    };
    let count = |key, value: usize, unit: &str, defaulted| Given {
        key,
        shown: format!("{value} {unit}").trim_end().to_owned(),
        value: Value::from(value),
        defaulted,
    };
    let edges = match rig.plate_edges.value {
        PlateEdges::Supported => "supported",
        PlateEdges::Clamped => "clamped",
    };
    let change = rig.temperature_tolerance;
    vec![
        text("material", &rig.material.value, rig.material.defaulted),
        of("youngs_modulus", rig.youngs_modulus, Dimension::Pressure),
        of("poisson_ratio", rig.poisson_ratio, Dimension::Fraction),
        of("plate_density", rig.plate_density, Dimension::Density),
        of("plate_thickness", rig.plate_thickness, Dimension::Length),
        text("plate_edges", edges, rig.plate_edges.defaulted),
        of("outlet_level", rig.outlet_level, Dimension::Length),
        of("gap_tolerance", rig.gap_tolerance, Dimension::Length),
        Given {
            key: "temperature_tolerance",
            shown: format!("{} K", Dimension::Fraction.show(change.value)),
            value: change.value.into(),
            defaulted: change.defaulted,
        },
        of("flow_ripple", rig.flow_ripple, Dimension::Fraction),
        count("dye_lines", state.lines, "", !lines_given),
        of("dye_diffusivity", rig.dye_diffusivity, Dimension::Diffusivity),
        of("dye_density_difference", rig.dye_density_difference, Dimension::Density),
        of("tilt", rig.tilt, Dimension::Angle),
        of("tracer_diameter", rig.tracer_diameter, Dimension::Length),
        of("tracer_density_difference", rig.tracer_density_difference, Dimension::Density),
        of("streak_length", rig.streak_length, Dimension::Length),
        count("camera_pixels", rig.camera_pixels.value, "along the longer side", rig.camera_pixels.defaulted),
        of("surface_tension", rig.surface_tension, Dimension::SurfaceTension),
        of("contact_angle", rig.contact_angle, Dimension::Angle),
        of("contact_hysteresis", rig.contact_hysteresis, Dimension::Angle),
    ]
}
