//! Departures as rows of a report.

use super::{Contribution, Effect, Measures, SweepRow, Threshold, Verdict};
use crate::base::row::{Kind, Order, Row, Section};
use crate::base::units::Dimension;

/// Whether convergence studies follow measures without being asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum InStudies {
    /// They do.
    Followed,
    /// Only those that are named.
    OnDemand,
}

/// Measures over the observed region follow its rim.
fn row(key: &'static str, name: &'static str, value: f64, kind: Kind) -> Row {
    Row::new(key, name, value, kind).digits(3).order(Order::Region)
}

impl Measures {
    /// The measures of one effect; `error` is the estimated numerical error of the speed departure, fraction of U. A convergence study
    /// follows them as `study` says.
    pub fn rows(&self, effect: &'static str, error: f64, study: InStudies) -> Vec<Row> {
        let length = Kind::Of(Dimension::Length);
        let follow = |row: Row| {
            let name = format!("departure.{effect}.{}", row.key);
            match study {
                InStudies::Followed => row.followed(name, None),
                InStudies::OnDemand => row,
            }
        };
        vec![
            Row::new("name", "effect", effect, Kind::Number),
            follow(row("speed_rms", "speed rms of U", self.speed_rms, Kind::Percent)).error(error),
            follow(row("speed_max", "largest", self.speed_max, Kind::Percent)),
            Row::new("speed_max_at_m", "at", self.speed_max_at, length).full(),
            row("direction_rms_deg", "direction rms", self.direction_rms.to_degrees(), Kind::Degrees),
            follow(row("direction_max_deg", "largest", self.direction_max.to_degrees(), Kind::Degrees)),
            row("shift_rms_m", "shift rms", self.shift_rms, length),
            follow(row("shift_max_m", "largest", self.shift_max, length)),
            row("pressure_coefficient_rms", "pressure coefficient rms", self.coefficient_rms, Kind::Number).full(),
            follow(row("pressure_coefficient_max", "largest", self.coefficient_max, Kind::Number)).full(),
            row("numerical_error_speed", "error of U", error, Kind::Percent).digits(2),
            Row::new("resolved", "resolved", self.speed_rms > error, Kind::Number).full(),
        ]
    }
}

impl Contribution {
    /// Its measures, and what first order neglects in it.
    pub fn rows(&self, measures: &Measures, study: InStudies) -> Vec<Row> {
        let mut rows = measures.rows(self.effect.key(), self.numerical_error, study);
        if let Some(neglected) = self.neglected {
            rows.push(row("neglected_speed_rms", "neglected of U", neglected, Kind::Percent).digits(2).full());
        }
        rows
    }
}

impl Verdict {
    /// The verdict, and where tolerances are first exceeded.
    pub fn section(&self) -> Section {
        let rows = vec![
            Row::new("text", "", self.text.clone(), Kind::Number),
            Row::new("within_tolerance", "within the tolerances", self.within_tolerance, Kind::Number),
            Row::new("dominant", "largest effect", self.dominant.map_or("none", Effect::key), Kind::Number),
        ];
        let entry = |threshold: &Threshold| {
            let mut rows = vec![Row::new("tolerance", "tolerance", threshold.measure.key(), Kind::Number)];
            if let Some(reduced) = threshold.reduced_reynolds {
                rows.push(row("reduced_reynolds", "first exceeded at Re* (speed raised)", reduced, Kind::Number));
            }
            if let Some(ratio) = threshold.gap_over_length {
                rows.push(row("gap_over_length", "at b/L (gap widened, same speed)", ratio, Kind::Number));
            }
            rows
        };
        let title = "Where tolerances are first exceeded, confinement aside";
        let exceeded = Section::table("first_exceeded", title, self.thresholds.iter().map(entry));
        Section::new("verdict", "Verdict", rows).with(vec![exceeded])
    }
}

impl SweepRow {
    /// One step of a sweep; the swept value stands under `key`.
    pub fn rows(&self, key: &'static str) -> Vec<Row> {
        vec![
            row(key, "value", self.value, Kind::Number).digits(4),
            row("reduced_reynolds", "Re*", self.reduced_reynolds, Kind::Number).digits(4),
            row("speed_rms", "speed rms of U", self.speed_rms, Kind::Percent),
            row("speed_max", "largest", self.speed_max, Kind::Percent),
            row("direction_max_deg", "largest turn", self.direction_max.to_degrees(), Kind::Degrees),
            row("shift_max_m", "largest shift", self.shift_max, Kind::Of(Dimension::Length)),
            Row::new("first_order", "first order holds", self.first_order, Kind::Number),
        ]
    }
}
