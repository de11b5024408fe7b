//! The table `[rig]`.

use super::limits::Limits;
use super::reader::{Reader, Table};
use super::tubing;
use super::{Fluid, MATERIALS, Material, PlateEdges, RigSettings, Setting};
use crate::base::units::{Dimension, fluid::WATER_SURFACE_TENSION};

/// Largest change of temperature taken for one, K.
const LARGEST_CHANGE: f64 = 50.0;

/// The rig's settings, each with its default where the case is silent.
pub(super) fn rig(reader: &mut Reader<'_>, root: &Table<'_>, fluid: Option<&Fluid>) -> RigSettings {
    let allowed = [
        "material",
        "youngs_modulus",
        "poisson_ratio",
        "plate_density",
        "plate_thickness",
        "plate_edges",
        "dye_diffusivity",
        "surface_tension",
        "contact_angle",
        "contact_hysteresis",
        "outlet_level",
        "gap_tolerance",
        "temperature_tolerance",
        "flow_ripple",
        "dye_lines",
        "dye_density_difference",
        "tilt",
        "tracer_diameter",
        "tracer_density_difference",
        "streak_length",
        "camera_pixels",
        "tubing",
        "calibrate",
    ];
    let table = reader.section(root, "rig", &allowed);
    let named: [(&str, Material); 4] = MATERIALS.map(|m| (m.name, m));
    let material = reader.choice(&table, "material", &named);
    let mut given = |key, dimension, limits| reader.optional_quantity(&table, key, dimension, limits);
    let modulus = given("youngs_modulus", Dimension::Pressure, Limits::Positive);
    let ratio = given("poisson_ratio", Dimension::Fraction, Limits::Within(0.0, 0.499));
    let density = given("plate_density", Dimension::Density, Limits::Positive);
    let thickness = given("plate_thickness", Dimension::Length, Limits::Positive);
    let diffusivity = given("dye_diffusivity", Dimension::Diffusivity, Limits::Positive);
    let tension = given("surface_tension", Dimension::SurfaceTension, Limits::Positive);
    let half_turn = std::f64::consts::PI;
    let contact = given("contact_angle", Dimension::Angle, Limits::Within(0.0, half_turn));
    let hysteresis = given("contact_hysteresis", Dimension::Angle, Limits::Within(0.0, half_turn));
    let outlet = given("outlet_level", Dimension::Length, Limits::NotNegative);
    let gap = given("gap_tolerance", Dimension::Length, Limits::NotNegative);
    let ripple = given("flow_ripple", Dimension::Fraction, Limits::Within(0.0, 1.0));
    let heavier = given("dye_density_difference", Dimension::Density, Limits::Any);
    let tilt = given("tilt", Dimension::Angle, Limits::Within(0.0, 0.5 * half_turn));
    let tracer = given("tracer_diameter", Dimension::Length, Limits::Positive);
    let tracer_heavier = given("tracer_density_difference", Dimension::Density, Limits::Any);
    let streak = given("streak_length", Dimension::Length, Limits::Positive);
    let temperature = temperature_tolerance(reader, &table);
    let dye_lines = reader.whole(&table, "dye_lines", 1, 10_000);
    let pixels = reader.whole(&table, "camera_pixels", 16, 1_000_000);
    let kinds = [("supported", PlateEdges::Supported), ("clamped", PlateEdges::Clamped)];
    let edges = reader.choice(&table, "plate_edges", &kinds);
    modulus_or_material(reader, &table);
    let tubing = tubing::tubing(reader, &table);
    let calibration = tubing::calibration(reader, &table, tubing.as_ref(), fluid.map(|fluid| fluid.density));

    let base = material.unwrap_or(MATERIALS[0]);
    let stated = material.map(|m| m.name).or(modulus.map(|_| "given"));
    // A property that comes with a named material counts as given.
    let from_material = |value: Option<f64>, of: f64| Setting::or(value.or(material.map(|_| of)), of);
    let clean = fluid.and_then(Fluid::surface_tension);
    RigSettings {
        material: Setting::or(stated.map(str::to_owned), base.name.to_owned()),
        youngs_modulus: from_material(modulus, base.youngs_modulus),
        poisson_ratio: from_material(ratio, base.poisson_ratio),
        plate_density: from_material(density, base.density),
        plate_thickness: Setting::or(thickness, 10e-3),
        plate_edges: Setting::or(edges, PlateEdges::Supported),
        dye_diffusivity: Setting::or(diffusivity, 5e-10),
        surface_tension: Setting::or(tension, clean.unwrap_or(WATER_SURFACE_TENSION)),
        contact_angle: Setting::or(contact, base.contact_angle),
        contact_hysteresis: Setting::or(hysteresis, 20f64.to_radians()),
        outlet_level: Setting::or(outlet, 0.0),
        gap_tolerance: Setting::or(gap, 20e-6),
        temperature_tolerance: Setting::or(temperature, 1.0),
        flow_ripple: Setting::or(ripple, 0.05),
        dye_lines,
        dye_density_difference: Setting::or(heavier, 0.2),
        tilt: Setting::or(tilt, 0.1f64.to_radians()),
        tracer_diameter: Setting::or(tracer, 20e-6),
        tracer_density_difference: Setting::or(tracer_heavier, 50.0),
        streak_length: Setting::or(streak, 5e-3),
        camera_pixels: Setting::or(pixels, 4000),
        tubing,
        calibration,
    }
}

fn temperature_tolerance(reader: &mut Reader<'_>, table: &Table<'_>) -> Option<f64> {
    let key = "temperature_tolerance";
    let change = reader.optional_quantity(table, key, Dimension::Temperature, Limits::NotNegative)?;
    if change > LARGEST_CHANGE {
        let message = format!("{key} is {change} K; it is a change and must not exceed {LARGEST_CHANGE} K");
        reader.fail(table.get(key).map(|value| value.span()), message, "write a difference in kelvin, such as \"1 K\"");
        return None;
    }
    Some(change)
}

fn modulus_or_material(reader: &mut Reader<'_>, table: &Table<'_>) {
    let has = |key| table.get(key).is_some();
    for key in ["youngs_modulus", "poisson_ratio"] {
        if has("material") && has(key) {
            let message = format!("[rig] has both \"material\" and \"{key}\"");
            reader.fail(table.key_span(key), message, "give either a material, or youngs_modulus and poisson_ratio");
        }
    }
    for (key, other) in [("youngs_modulus", "poisson_ratio"), ("poisson_ratio", "youngs_modulus")] {
        if has(key) && !has(other) && !has("material") {
            let message = format!("[rig] has \"{key}\" without \"{other}\"");
            reader.fail(table.key_span(key), message, format!("add {other}, or write a material in place of both"));
        }
    }
}
