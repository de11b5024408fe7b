//! Settings of the sweep and of the rig.

use super::{Calibration, Tubing};

/// A setting, and whether the case left it to its default.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Setting<T> {
    /// The value.
    pub value: T,
    /// Whether it is the default.
    pub defaulted: bool,
}

impl<T> Setting<T> {
    /// A value the case gives, or the default.
    pub fn or(given: Option<T>, default: T) -> Self {
        match given {
            Some(value) => Setting { value, defaulted: false },
            None => Setting { value: default, defaulted: true },
        }
    }
}

/// What the rig is made of and filled with.
///
/// Defaults: acrylic plates 10 mm thick, supported; dye 5e-10 m2/s (small dye molecules in water, common practice); the
/// surface tension of clean water at the fluid's temperature (glycerol lowers it by up to an eighth, from memory), else at 20 degC; the
/// contact angle by [`Material`]. The others are common practice: outlet level with the plates, spacers good to 20 um, a room steady
/// to 1 K, a pump steady to 5 %, as many dye lines as streaklines, dye heavier by 0.2 kg/m3, a cell level to 0.1 deg, tracers of 20 um
/// heavier by 50 kg/m3, streaks of 5 mm, a camera of 4000 pixels, advancing and receding contact angles 20 deg apart.
#[derive(Debug, Clone, PartialEq)]
pub struct RigSettings {
    /// Material of the plates; "given" if the case states its modulus instead.
    pub material: Setting<String>,
    /// Young's modulus of the plates, Pa.
    pub youngs_modulus: Setting<f64>,
    /// Poisson's ratio of the plates.
    pub poisson_ratio: Setting<f64>,
    /// Density of the plates, kg/m3.
    pub plate_density: Setting<f64>,
    /// Thickness of each plate, m.
    pub plate_thickness: Setting<f64>,
    /// How the plates are held at their edges.
    pub plate_edges: Setting<PlateEdges>,
    /// Diffusivity of the dye, m2/s.
    pub dye_diffusivity: Setting<f64>,
    /// Surface tension of the fluid against air, N/m.
    pub surface_tension: Setting<f64>,
    /// Contact angle of the fluid on the plates, rad.
    pub contact_angle: Setting<f64>,
    /// Advancing minus receding contact angle, rad.
    pub contact_hysteresis: Setting<f64>,
    /// Height of the outlet's free surface above the plates, m.
    pub outlet_level: Setting<f64>,
    /// What the gap may be wrong by, all over or between the side walls, m.
    pub gap_tolerance: Setting<f64>,
    /// What the temperature may change by, K.
    pub temperature_tolerance: Setting<f64>,
    /// What the flow of the pump may vary by, fraction.
    pub flow_ripple: Setting<f64>,
    /// Number of dye lines; none: as many as streaklines.
    pub dye_lines: Option<usize>,
    /// Density of the dye less that of the fluid, kg/m3.
    pub dye_density_difference: Setting<f64>,
    /// Slope of the cell, rad.
    pub tilt: Setting<f64>,
    /// Diameter of tracer particles, m.
    pub tracer_diameter: Setting<f64>,
    /// Density of the tracers less that of the fluid, kg/m3.
    pub tracer_density_difference: Setting<f64>,
    /// Length of the streak a tracer shall leave in one exposure, m.
    pub streak_length: Setting<f64>,
    /// Pixels of the camera along the longer side of the cell.
    pub camera_pixels: Setting<usize>,
    /// The tubes that join the cell to its reservoirs.
    pub tubing: Option<Tubing>,
    /// A measured flow and drop.
    pub calibration: Option<Calibration>,
}

/// How plates are held at their edges.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PlateEdges {
    /// Free to turn.
    Supported,
    /// Held against turning.
    Clamped,
}

/// A plate material with typical values, common practice: they vary by some ten per cent between makers.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Material {
    /// Its name in a case.
    pub name: &'static str,
    /// Young's modulus, Pa.
    pub youngs_modulus: f64,
    /// Poisson's ratio.
    pub poisson_ratio: f64,
    /// Density, kg/m3.
    pub density: f64,
    /// Contact angle of water, rad.
    pub contact_angle: f64,
}

/// The plate materials a case may name; the first is the default.
pub const MATERIALS: [Material; 4] = [
    material("acrylic", 3.2e9, 0.37, 1190.0, 70.0),
    material("glass", 70e9, 0.22, 2500.0, 30.0),
    material("polycarbonate", 2.3e9, 0.37, 1200.0, 80.0),
    material("aluminium", 70e9, 0.33, 2700.0, 70.0),
];

const fn material(name: &'static str, youngs_modulus: f64, poisson_ratio: f64, density: f64, degrees: f64) -> Material {
    let contact_angle = degrees * std::f64::consts::PI / 180.0;
    Material { name, youngs_modulus, poisson_ratio, density, contact_angle }
}

/// Values of one quantity to run through.
#[derive(Debug, Clone, PartialEq)]
pub struct Sweep {
    /// The quantity.
    pub quantity: SweepQuantity,
    /// Its values, increasing: SI or dimensionless.
    pub values: Vec<f64>,
}

/// The quantity a sweep varies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SweepQuantity {
    /// Reduced Reynolds number U b²/(ν L).
    ReducedReynolds,
    /// Mean speed over the inlet, m/s.
    MeanSpeed,
    /// Gap at the cell's middle, m.
    Gap,
    /// Mass fraction of glycerol in water.
    GlycerolMassFraction,
}
