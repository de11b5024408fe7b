//! Departures at other speeds, gaps and viscosities, by scaling.

use super::{Contribution, Part, Reference};
use crate::base::units::fluid::glycerol_water;
use crate::input::case::{Sweep, SweepQuantity};

/// Ratios of a state to the case's own.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scale {
    /// (U/nu) over that of the case.
    pub inertia: f64,
    /// Gap over that of the case.
    pub gap: f64,
}

impl Scale {
    /// The case itself.
    pub const ONE: Scale = Scale { inertia: 1.0, gap: 1.0 };

    /// What a part is multiplied by.
    pub fn factor(&self, part: &Part) -> f64 {
        self.inertia.powi(part.inertia_power) * self.gap.powi(part.gap_power)
    }

    /// Reduced Reynolds number over that of the case: U b^2/nu at the same length.
    pub fn reduced(&self) -> f64 {
        self.inertia * self.gap * self.gap
    }
}

/// One row of a sweep.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SweepRow {
    /// The value swept.
    pub value: f64,
    /// Its scale.
    pub scale: Scale,
    /// Reduced Reynolds number.
    pub reduced_reynolds: f64,
    /// Speed departure of all effects together, root mean square, fraction of U.
    pub speed_rms: f64,
    /// The same, largest.
    pub speed_max: f64,
    /// Direction departure, largest, rad.
    pub direction_max: f64,
    /// Streakline shift, largest, m.
    pub shift_max: f64,
    /// Whether first order is quantitative: the local inertia number stays below one in the observation region.
    pub first_order: bool,
}

/// The scale of each value of a sweep. `reduced`, `speed`, `gap`, `viscosity` and `density` are those of the case; `temperature` is the one at
/// which glycerol-water is mixed, K.
///
/// # Errors
/// [`crate::base::Error::Failed`] if glycerol-water is out of its range.
pub fn scale_of(
    sweep: &Sweep,
    reduced: f64,
    speed: f64,
    gap: f64,
    nu: f64,
    temperature: f64,
) -> crate::base::Result<Vec<(f64, Scale)>> {
    let scales = sweep.values.iter().map(|&value| {
        let scale = match sweep.quantity {
            SweepQuantity::ReducedReynolds => Scale { inertia: value / reduced, gap: 1.0 },
            SweepQuantity::MeanSpeed => Scale { inertia: value / speed, gap: 1.0 },
            SweepQuantity::Gap => Scale { inertia: 1.0, gap: value / gap },
            SweepQuantity::GlycerolMassFraction => {
                let mixture = glycerol_water(value, temperature).map_err(|e| {
                    crate::base::Error::failed(
                        format!("sweep of glycerol at {value}: {e}"),
                        "keep fraction and temperature in range",
                    )
                })?;
                Scale { inertia: nu * mixture.density / mixture.viscosity, gap: 1.0 }
            }
        };
        Ok((value, scale))
    });
    scales.collect()
}

/// Contributions together at a scale, at the dye height or of the gap mean, at so many vertices, m/s for the case's own U.
pub fn total<'a>(
    contributions: impl IntoIterator<Item = &'a Contribution>,
    vertices: usize,
    scale: Scale,
    gap_mean: bool,
) -> Vec<[f64; 2]> {
    let mut sum = vec![[0.0; 2]; vertices];
    for contribution in contributions {
        let one = contribution.departure(scale, gap_mean);
        sum.iter_mut().zip(one).for_each(|(s, d)| *s = [s[0] + d[0], s[1] + d[1]]);
    }
    sum
}

impl SweepRow {
    /// Measures everything together at a scale. `largest_number` is the largest local inertia number in the region at the case.
    pub fn new(
        reference: &Reference,
        contributions: &[Contribution],
        (value, scale): (f64, Scale),
        reduced: f64,
        largest_number: f64,
    ) -> Self {
        let measures = reference.measure(&total(contributions, reference.velocity.len(), scale, false));
        SweepRow {
            value,
            scale,
            reduced_reynolds: reduced * scale.reduced(),
            speed_rms: measures.speed_rms,
            speed_max: measures.speed_max,
            direction_max: measures.direction_max,
            shift_max: measures.shift_max,
            first_order: largest_number * scale.reduced() <= crate::theory::inertia::LIMIT,
        }
    }
}
