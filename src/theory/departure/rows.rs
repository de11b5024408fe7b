//! Departures as rows of a report.

use super::{
    Contribution, Effect, Errors, Judged, Measure, Measures, Passed, Series, Standing, SweepRow, Threshold, Verdict,
};
use crate::base::row::{Detail, Kind, Order, Row, Section};
use crate::base::units::{Dimension, significant};
use crate::input::case::Tolerance;

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
    /// The measures of one effect with the errors of what is judged; `velocity_error` is the estimated numerical error of the speed
    /// departure, root mean square, fraction of U. A convergence study follows them as `study` says.
    pub fn rows(
        &self,
        effect: &'static str,
        velocity_error: f64,
        errors: &Errors,
        standing: Standing,
        study: InStudies,
    ) -> Vec<Row> {
        let length = Kind::Of(Dimension::Length);
        let follow = |row: Row| {
            let name = format!("departure.{effect}.{}", row.key);
            match study {
                InStudies::Followed => row.followed(name, None),
                InStudies::OnDemand => row,
            }
        };
        let degrees = |x: f64| x.to_degrees();
        let Measures { speed, direction, shift, coefficient } = self;
        vec![
            Row::new("name", "effect", effect, Kind::Number),
            follow(row("speed_rms", "speed rms of U", speed.rms, Kind::Percent)).error(velocity_error).full(),
            follow(row("speed_q99", "speed, 99 %, of U", speed.q99, Kind::Percent)).error(errors.speed),
            follow(row("speed_max", "largest", speed.largest, Kind::Percent)).full(),
            Row::new("speed_max_at_m", "at", speed.largest_at, length).full(),
            row("speed_error", "error", errors.speed, Kind::Percent).digits(2).full(),
            row("direction_rms_deg", "direction rms", degrees(direction.rms), Kind::Degrees).full(),
            follow(row("direction_q99_deg", "direction, 99 %", degrees(direction.q99), Kind::Degrees))
                .error(degrees(errors.direction)),
            follow(row("direction_max_deg", "largest", degrees(direction.largest), Kind::Degrees)).full(),
            Row::new("direction_max_at_m", "at", direction.largest_at, length).full(),
            row("direction_error_deg", "error", degrees(errors.direction), Kind::Degrees).digits(2).full(),
            row("shift_rms_m", "shift rms", shift.rms, length).full(),
            follow(row("shift_q99_m", "shift, 99 %", shift.q99, length)).error(errors.shift),
            follow(row("shift_max_m", "largest", shift.largest, length)).full(),
            Row::new("shift_max_at_m", "at", shift.largest_at, length).full(),
            row("shift_error_m", "error", errors.shift, length).digits(2).full(),
            row("pressure_coefficient_rms", "pressure coefficient rms", coefficient.rms, Kind::Number).full(),
            follow(row("pressure_coefficient_max", "largest", coefficient.largest, Kind::Number)).full(),
            row("beyond_area", "area beyond", self.beyond_area(), Kind::Percent).digits(2).full(),
            row("numerical_error_speed", "error of rms", velocity_error, Kind::Percent).digits(2).full(),
            Row::new("resolved", "resolved", standing == Standing::Measured, Kind::Number).full(),
            Row::new("standing", "is", standing.word(), Kind::Number),
        ]
    }
}

impl Contribution {
    /// Its measures, and what first order neglects in it.
    pub fn rows(&self, measures: &Measures, errors: &Errors, standing: Standing, study: InStudies) -> Vec<Row> {
        let mut rows = measures.rows(self.effect.key(), self.numerical_error, errors, standing, study);
        if let Some(neglected) = self.neglected {
            rows.push(row("neglected_speed_rms", "neglected of U", neglected, Kind::Percent).digits(2).full());
        }
        rows
    }
}

/// For a narrow column.
fn short(words: String) -> String {
    words.replace("the mean speed", "U")
}

impl Judged {
    /// What is judged, in words, and in numbers of the unit of its key.
    fn rows(&self, tolerance: &Tolerance) -> Vec<Row> {
        let Judged { measure, size, error, tolerance: limit, outcome, largest: (largest, at) } = *self;
        let unit = |x: f64| if measure == Measure::Direction { x.to_degrees() } else { x };
        let keys = match measure {
            Measure::Speed => ["value", "error", "limit", "largest"],
            Measure::Direction => ["value_deg", "error_deg", "limit_deg", "largest_deg"],
            Measure::Shift => ["value_m", "error_m", "limit_m", "largest_m"],
        };
        let usual = if measure.is_usual(tolerance) { " (default)" } else { "" };
        let mut rows = vec![
            Row::new("measure", "measure", measure.key(), Kind::Number),
            Row::new("departure", "departs by", short(measure.show_with(size, error)), Kind::Number),
            Row::new("tolerance", "tolerance", format!("{}{usual}", short(measure.show(limit))), Kind::Number),
            Row::new("within", "within", outcome.word(), Kind::Number),
            Row::new("default_tolerance", "default", measure.is_usual(tolerance), Kind::Number).full(),
            Row::new("largest_at_m", "largest at", at, Kind::Of(Dimension::Length)).full(),
        ];
        rows.extend(keys.into_iter().zip([size, error, limit, largest]).map(|(key, x)| Row::script(key, unit(x))));
        rows
    }
}

impl Verdict {
    /// The verdict, and where tolerances are first exceeded.
    pub fn section(&self, thresholds: &[Threshold], errors: &Errors, tolerance: &Tolerance) -> Section {
        let rows = vec![
            Row::new("text", "", self.text.clone(), Kind::Number).full(),
            Row::script("against", "same_channel"),
            Row::new("decided", "decided on this mesh", self.decided, Kind::Number).full(),
            Row::new("within_tolerance", "within the tolerances", self.within_tolerance, Kind::Number),
            Row::new("dominant", "largest effect", self.dominant.map_or("none", Effect::key), Kind::Number),
            Row::new("share", "share of the area that may be beyond", tolerance.share, Kind::Percent).digits(3).full(),
        ];
        let most = significant(100.0 * (1.0 - tolerance.share), 3);
        let title = format!("Against ideal flow in the same cell, over {most} % of the observed area");
        let measures = Section::table("measures", title, self.judged.iter().map(|judged| judged.rows(tolerance)));
        let title = "Where tolerances are first exceeded, confinement aside";
        let exceeded =
            Section::table("first_exceeded", title, thresholds.iter().map(|threshold| threshold.rows(errors)))
                .at(Detail::Full);
        Section::new("verdict", "Verdict", rows).with(vec![measures, exceeded])
    }
}

impl Threshold {
    /// Re*, Re_L and b/L with their errors; `errors` are those of what is judged.
    fn rows(&self, errors: &Errors) -> Vec<Row> {
        let mut rows = vec![Row::new("tolerance", "tolerance", self.measure.key(), Kind::Number)];
        let known = |key, name, passed: &Passed, unit: f64| {
            row(key, name, unit * passed.value, Kind::Number).error(unit * passed.error(self.measure, errors))
        };
        if let Some(passed) = &self.reduced_reynolds {
            rows.push(known("reduced_reynolds", "first exceeded at Re* (speed raised)", passed, 1.0));
            rows.push(known("obstacle_reynolds", "Re_L", passed, self.obstacle_per_reduced));
            rows.extend(passed.by_first.map(|first| row("by_first_order", "Re* by first order", first, Kind::Number)));
            rows.push(Row::new("series_decides", "series decides", passed.decides, Kind::Number));
        }
        if let Some(passed) = &self.gap_over_length {
            rows.push(known("gap_over_length", "at b/L (gap widened, same speed)", passed, 1.0));
        }
        rows
    }
}

/// Measures of one effect along a sweep.
fn swept(key: &'static str, measures: &Measures) -> Section {
    let rows = vec![
        row("speed_rms", "speed rms of U", measures.speed.rms, Kind::Percent),
        row("speed_max", "largest", measures.speed.largest, Kind::Percent),
        row("speed_q99", "speed, 99 %, of U", measures.speed.q99, Kind::Percent),
        row("direction_max_deg", "largest turn", measures.direction.largest.to_degrees(), Kind::Degrees),
        row("direction_q99_deg", "turn, 99 %", measures.direction.q99.to_degrees(), Kind::Degrees),
        row("shift_max_m", "largest shift", measures.shift.largest, Kind::Of(Dimension::Length)),
        row("shift_q99_m", "shift, 99 %", measures.shift.q99, Kind::Of(Dimension::Length)),
    ];
    Section::new(key, "", rows)
}

impl SweepRow {
    /// One step of a sweep against ideal flow in the same cell; the swept value stands under `key`.
    pub fn rows(&self, key: &'static str) -> Vec<Row> {
        let Measures { speed, direction, shift, .. } = &self.cell_alone;
        let mut rows = vec![
            row(key, "value", self.value, Kind::Number).digits(4),
            row("reduced_reynolds", "Re*", self.reduced_reynolds, Kind::Number).digits(4),
            row("speed_rms", "speed rms of U", speed.rms, Kind::Percent),
            row("speed_q99", "99 %", speed.q99, Kind::Percent),
            row("speed_max", "largest", speed.largest, Kind::Percent),
            row("direction_max_deg", "largest turn", direction.largest.to_degrees(), Kind::Degrees),
            row("shift_max_m", "largest shift", shift.largest, Kind::Of(Dimension::Length)),
        ];
        // one column for reading: which order suffices, or whether the first holds
        match self.series {
            Some(Series { second_share, suffices }) => rows.extend([
                Row::script("first_order", self.first_order),
                Row::script("second_share", second_share),
                Row::new("order_suffices", "order", suffices.number(), Kind::Number),
            ]),
            None => rows.push(Row::new("first_order", "first order holds", self.first_order, Kind::Number)),
        }
        rows
    }

    /// The effects of this step, alone and together.
    fn effects(&self) -> Vec<(&'static str, &Measures)> {
        let own = self.effects.iter().map(|(effect, measures)| (effect.key(), measures));
        own.chain([("all_but_confinement", &self.cell_alone), ("total", &self.total)]).collect()
    }

    /// One step with every effect by itself.
    pub fn section(&self, key: &'static str) -> Section {
        let effects = self.effects().into_iter().map(|(key, measures)| swept(key, measures)).collect();
        let effects = Section::new("effects", "", Vec::new()).with(effects).at(Detail::Script);
        Section::new("", "", self.rows(key)).with(vec![effects])
    }

    /// One step in one line of a table: the effects in columns `EFFECT_MEASURE`.
    pub fn flat(&self, key: &'static str) -> Vec<Row> {
        let mut rows = self.rows(key);
        for (effect, measures) in self.effects() {
            let of_effect = swept(effect, measures).rows.into_iter();
            rows.extend(of_effect.map(|row| Row { key: format!("{effect}_{}", row.key).into(), ..row }));
        }
        rows
    }
}
