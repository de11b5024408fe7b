//! Departures at other speeds, gaps and viscosities, by scaling.

use super::contribution::{Contribution, Effect, View, of_the_plates, total};
use super::measure::{Measures, Reference};
use super::scale::Scale;
use crate::base::units::fluid::glycerol_water;
use crate::base::{Error, Result};
use crate::input::case::{Sweep, SweepQuantity};
use crate::theory::inertia::LIMIT;

/// The case that a sweep starts from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Origin {
    /// Reduced Reynolds number.
    pub reduced_reynolds: f64,
    /// Mean speed U, m/s.
    pub mean_speed: f64,
    /// Gap b, m.
    pub gap: f64,
    /// Kinematic viscosity ν, m²/s.
    pub kinematic_viscosity: f64,
    /// Temperature at which glycerol-water is mixed, K.
    pub temperature: f64,
}

/// A value of a sweep.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Swept {
    /// The value, in the SI unit of what is swept.
    pub value: f64,
    /// Its state over that of the case.
    pub scale: Scale,
}

/// One row of a sweep.
#[derive(Debug, Clone, PartialEq)]
pub struct SweepRow {
    /// The value swept.
    pub value: f64,
    /// Its scale.
    pub scale: Scale,
    /// Reduced Reynolds number.
    pub reduced_reynolds: f64,
    /// Each effect by itself.
    pub effects: Vec<(Effect, Measures)>,
    /// All but confinement: against ideal flow in the same cell.
    pub cell_alone: Measures,
    /// Everything together.
    pub total: Measures,
    /// Whether first order is quantitative: the local inertia number stays below one in the observation region.
    pub first_order: bool,
}

/// The scale of each value of a sweep. U/ν goes as Re*, as U, or as 1/ν = ρ/μ of the mixture; the gap leaves it as it is.
///
/// # Errors
/// [`Error::Failed`] if glycerol-water is out of its range.
pub fn scales(sweep: &Sweep, origin: &Origin) -> Result<Vec<Swept>> {
    let scale = |value: f64| -> Result<Scale> {
        Ok(match sweep.quantity {
            SweepQuantity::ReducedReynolds => Scale { inertia: value / origin.reduced_reynolds, gap: 1.0 },
            SweepQuantity::MeanSpeed => Scale { inertia: value / origin.mean_speed, gap: 1.0 },
            SweepQuantity::Gap => Scale { inertia: 1.0, gap: value / origin.gap },
            SweepQuantity::GlycerolMassFraction => {
                let mixture = glycerol_water(value, origin.temperature).map_err(|e| {
                    Error::failed(
                        format!("sweep of glycerol at {value}: {e}"),
                        "keep fraction and temperature in range",
                    )
                })?;
                Scale { inertia: origin.kinematic_viscosity * mixture.density / mixture.viscosity, gap: 1.0 }
            }
        })
    };
    sweep.values.iter().map(|&value| Ok(Swept { value, scale: scale(value)? })).collect()
}

impl SweepRow {
    /// Measures the effects, alone and together, at a value. `reduced` is the case's Re*, `largest_number` the largest local inertia number in the
    /// region at the case.
    pub fn new(
        reference: &Reference,
        contributions: &[Contribution],
        Swept { value, scale }: Swept,
        reduced: f64,
        largest_number: f64,
    ) -> Self {
        let count = reference.velocity.len();
        let measure = |departure: Vec<[f64; 2]>| reference.measure(&departure);
        SweepRow {
            value,
            scale,
            reduced_reynolds: reduced * scale.reduced(),
            effects: contributions.iter().map(|c| (c.effect, measure(c.departure(scale, View::AtHeight)))).collect(),
            cell_alone: measure(total(of_the_plates(contributions), count, scale, View::AtHeight)),
            total: measure(total(contributions, count, scale, View::AtHeight)),
            first_order: largest_number * scale.reduced() <= LIMIT,
        }
    }
}
