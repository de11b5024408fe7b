//! Numerical errors of measures, and what they leave decided.

use super::measure::{Measure, Measures};

/// What coarser meshes tell is taken at this order in the mesh size, the least that measures over a region show.
const ORDER: f64 = 1.0;
/// Least error, over that of the velocity alone: a difference of two meshes may vanish by chance. With a quarter three of 120 measures of
/// eight cells were off by more than stated.
const LEAST: f64 = 0.5;
/// Below this part of a tolerance a departure is none that anybody sees.
pub const NEGLIGIBLE: f64 = 0.01;

/// Estimated numerical errors of what is held against the tolerances.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Errors {
    /// Of the speed, fraction of U.
    pub speed: f64,
    /// Of the direction, rad.
    pub direction: f64,
    /// Of the shift, m.
    pub shift: f64,
}

impl Errors {
    /// Of one measure.
    pub fn of(&self, measure: Measure) -> f64 {
        match measure {
            Measure::Speed => self.speed,
            Measure::Direction => self.direction,
            Measure::Shift => self.shift,
        }
    }

    /// From the error e of the speed departure, root mean square: e for the speed, e radians for the direction, and e times the length
    /// of the cell for the shift.
    pub fn of_velocity(error: f64, length: f64) -> Errors {
        Errors { speed: error, direction: error, shift: error * length }
    }

    /// From the same measures on a coarser mesh of `ratio` times the size: `|q − q'|/(r^p − 1)` with p = 1, but at least half of what the
    /// error of the velocity alone would bring.
    pub fn from_two_meshes(fine: &Measures, coarse: &Measures, ratio: f64, velocity: &Errors) -> Errors {
        let of = |measure: Measure| {
            let change = (fine.of(measure).judged - coarse.of(measure).judged).abs();
            (change / (ratio.powf(ORDER) - 1.0)).max(LEAST * velocity.of(measure))
        };
        let [speed, direction, shift] = Measure::ALL.map(of);
        Errors { speed, direction, shift }
    }
}

/// What a size with its error says about a limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// It is within.
    Within,
    /// It is beyond.
    Beyond,
    /// The error reaches across the limit.
    Undecided,
}

impl Outcome {
    /// Of a size known to an error, against a limit.
    pub fn of(size: f64, error: f64, limit: f64) -> Outcome {
        if size + error <= limit {
            Outcome::Within
        } else if size - error > limit {
            Outcome::Beyond
        } else {
            Outcome::Undecided
        }
    }

    /// In a table.
    pub fn word(self) -> &'static str {
        match self {
            Outcome::Within => "yes",
            Outcome::Beyond => "NO",
            Outcome::Undecided => "not decided",
        }
    }
}

/// How much there is of a departure.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// It can be told from the error.
    Measured,
    /// It is below its error.
    BelowError,
    /// It is below a hundredth of its tolerance.
    Negligible,
}

impl Standing {
    /// Of a size known to an error, with its tolerance.
    pub fn of(size: f64, error: f64, tolerance: f64) -> Standing {
        if size < NEGLIGIBLE * tolerance {
            Standing::Negligible
        } else if size < error {
            Standing::BelowError
        } else {
            Standing::Measured
        }
    }

    /// The best of all three measures: what is measured in one of them is there.
    pub fn of_all(measures: &Measures, errors: &Errors, tolerance: &crate::input::case::Tolerance) -> Standing {
        let each = Measure::ALL.map(|m| Standing::of(measures.of(m).judged, errors.of(m), m.tolerance(tolerance)));
        let has = |standing: Standing| each.contains(&standing);
        match (has(Standing::Measured), has(Standing::BelowError)) {
            (true, _) => Standing::Measured,
            (false, true) => Standing::BelowError,
            (false, false) => Standing::Negligible,
        }
    }

    /// In a table.
    pub fn word(self) -> &'static str {
        match self {
            Standing::Measured => "measured",
            Standing::BelowError => "below error",
            Standing::Negligible => "negligible",
        }
    }
}
