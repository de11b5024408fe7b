//! The fluid, and what drives it.

use crate::base::units::fluid::{glycerol_surface_tension, water_surface_tension};

/// The fluid.
#[derive(Debug, Clone)]
pub struct Fluid {
    /// Its name as printed.
    pub name: String,
    /// Density, kg/m3.
    pub density: f64,
    /// Dynamic viscosity, Pa s.
    pub viscosity: f64,
    /// What it is.
    pub kind: FluidKind,
}

/// What a fluid is, as far as the case says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum FluidKind {
    /// Known by its density and viscosity alone.
    Stated,
    /// Water.
    Water {
        /// Temperature, K.
        temperature: f64,
    },
    /// Glycerol in water.
    GlycerolWater {
        /// Glycerol, fraction by mass.
        fraction: f64,
        /// Temperature, K.
        temperature: f64,
    },
}

impl Fluid {
    /// A fluid of 1 kg/m3 and 1 Pa s, in which everything is solved before it is scaled.
    pub fn unit() -> Fluid {
        Fluid { name: "unit".into(), density: 1.0, viscosity: 1.0, kind: FluidKind::Stated }
    }

    /// Kinematic viscosity, m2/s.
    pub fn kinematic_viscosity(&self) -> f64 {
        self.viscosity / self.density
    }

    /// Temperature, K, if the properties were computed from it.
    pub fn temperature(&self) -> Option<f64> {
        match self.kind {
            FluidKind::Stated => None,
            FluidKind::Water { temperature } | FluidKind::GlycerolWater { temperature, .. } => Some(temperature),
        }
    }

    /// Surface tension against air, N/m, where it is known what the fluid is.
    pub fn surface_tension(&self) -> Option<f64> {
        match self.kind {
            FluidKind::Stated => None,
            FluidKind::Water { temperature } => water_surface_tension(temperature).ok(),
            FluidKind::GlycerolWater { fraction, temperature } => glycerol_surface_tension(fraction, temperature).ok(),
        }
    }
}

/// What drives the flow, and the kind of ends.
#[derive(Debug, Clone)]
pub struct Drive {
    /// The given quantity.
    pub quantity: DriveQuantity,
    /// The kind of ends.
    pub ends: Ends,
    /// Reference length for the obstacle and reduced Reynolds numbers, m, if the case states one.
    pub reference_length: Option<f64>,
}

/// The one quantity that sets the speed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum DriveQuantity {
    /// Mean speed over the inlet, m/s.
    MeanSpeed(f64),
    /// Volumetric flow rate, m3/s.
    FlowRate(f64),
    /// Pressure drop between the ends, Pa.
    PressureDrop(f64),
    /// Head between the ends, m.
    Head(f64),
    /// Reduced Reynolds number U b²/(ν L).
    ReducedReynolds(f64),
    /// Obstacle Reynolds number U L/ν.
    ObstacleReynolds(f64),
    /// Gap Reynolds number U b/ν.
    GapReynolds(f64),
}

/// The kind of ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ends {
    /// Pressure held at the inlet and at the outlet.
    HeldPressure,
    /// Uniform flux per width given over the inlet and over the outlet.
    GivenInflow,
}
