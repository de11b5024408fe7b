//! Departures at other speeds, gaps and viscosities, by scaling.

use super::contribution::{Contribution, Effect, View, of_the_plates};
use super::measure::{Measures, Reference};
use super::scale::Scale;
use crate::base::units::fluid::glycerol_water;
use crate::base::{Error, Result};
use crate::input::case::{Sweep, SweepQuantity};
use crate::theory::inertia::LIMIT;
use crate::theory::inertia::second::{EDGE_LIMIT, LIMIT as LARGEST, LOCAL_LIMIT};

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
    /// Inertia by its first order alone, where there is a second.
    pub by_first: Option<Measures>,
    /// How the second order compares with the first, where it was computed.
    pub series: Option<Series>,
}

/// The second order of inertia beside the first at the dye height, and what that tells.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Series {
    /// Root mean square of the second over that of the first.
    pub second_share: f64,
    /// Which order suffices.
    pub suffices: Suffices,
}

/// Which order of inertia suffices.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Suffices {
    /// The first: the second is less than is tolerated of the speed.
    First,
    /// The second.
    Second,
    /// Neither: from Re* = 0.6, a local number of 2 or an edge number of 1.5 on, however small the second.
    Neither,
}

impl Suffices {
    /// The order; 0 where the series no longer decides.
    pub fn number(self) -> usize {
        match self {
            Suffices::First => 1,
            Suffices::Second => 2,
            Suffices::Neither => 0,
        }
    }

    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Suffices::First => "first order suffices",
            Suffices::Second => "second order needed",
            Suffices::Neither => "second order no longer decides",
        }
    }
}

/// Numbers of the case that tell how far the series goes; each goes as Re*.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Numbers {
    /// Re*.
    pub reduced: f64,
    /// The largest local inertia number in the observation region.
    pub local: f64,
    /// The edge number.
    pub edge: f64,
}

impl Numbers {
    /// Those at a scale.
    pub fn at(&self, scale: Scale) -> Numbers {
        let by = scale.reduced();
        Numbers { reduced: self.reduced * by, local: self.local * by, edge: self.edge * by }
    }

    /// Whether the series no longer decides.
    pub fn beyond(&self) -> bool {
        self.reduced >= LARGEST || self.local > LOCAL_LIMIT || self.edge > EDGE_LIMIT
    }
}

/// Measures of the first and the second order of inertia at the dye height, at a scale; none without a second.
fn orders(reference: &Reference, contributions: &[Contribution], scale: Scale) -> Option<[Measures; 2]> {
    Some(of_orders(contributions, scale)?.map(|departure| reference.measure(&departure)))
}

/// What the first and the second order change of the speed there, root mean square, fraction of U.
pub(super) fn sizes_of_orders(reference: &Reference, contributions: &[Contribution], scale: Scale) -> Option<[f64; 2]> {
    Some(of_orders(contributions, scale)?.map(|departure| reference.speed_rms(&departure)))
}

/// The departures of both orders at the dye height, m/s.
fn of_orders(contributions: &[Contribution], scale: Scale) -> Option<[Vec<[f64; 2]>; 2]> {
    let inertia = contributions.iter().find(|c| c.effect == Effect::Inertia)?;
    let has_second = inertia.parts.iter().any(|part| part.inertia_power == 2);
    has_second.then(|| [1, 2].map(|order| inertia.departure_of(order, scale, View::AtHeight)))
}

impl Series {
    /// From the sizes of both orders, fractions of U, at the numbers of a state.
    pub fn judge(first: f64, second: f64, tolerance: f64, at: Numbers) -> Series {
        let suffices = match (at.beyond(), second < tolerance) {
            (true, _) => Suffices::Neither,
            (false, true) => Suffices::First,
            (false, false) => Suffices::Second,
        };
        Series { second_share: if first > 0.0 { second / first } else { 0.0 }, suffices }
    }
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
    /// Measures the effects, alone and together, at a value; `numbers` are those of the case.
    pub fn new(
        reference: &Reference,
        contributions: &[Contribution],
        Swept { value, scale }: Swept,
        numbers: Numbers,
    ) -> Self {
        let at = numbers.at(scale);
        let orders = orders(reference, contributions, scale);
        let sizes = orders.map(|orders| orders.map(|measures| measures.speed.rms));
        let series = sizes.map(|[first, second]| Series::judge(first, second, reference.tolerance.speed, at));
        SweepRow {
            value,
            scale,
            reduced_reynolds: at.reduced,
            effects: contributions
                .iter()
                .map(|c| (c.effect, reference.measure_together([c], scale, View::AtHeight)))
                .collect(),
            cell_alone: reference.measure_together(of_the_plates(contributions), scale, View::AtHeight),
            total: reference.measure_together(contributions, scale, View::AtHeight),
            first_order: at.local <= LIMIT,
            by_first: orders.map(|[first, _]| first),
            series,
        }
    }
}
