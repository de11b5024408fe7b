//! Imperfections, limits and maps of the rig as rows of a report.

use super::{Changes, Imperfection, Judge, Limit, Map, Ratios};
use crate::base::row::{Kind, Row, Section, Value};
use crate::base::units::Dimension;

const LENGTH: Kind = Kind::Of(Dimension::Length);
const SPEED: Kind = Kind::Of(Dimension::Speed);

impl Changes {
    /// Its key.
    pub fn key(self) -> &'static str {
        match self {
            Changes::Pattern => "pattern",
            Changes::Flow => "flow",
        }
    }
}

impl Imperfection {
    /// The imperfection with what it changes and its share of the tolerances.
    pub fn rows(&self) -> Vec<Row> {
        vec![
            Row::new("name", "imperfection", self.cause.key(), Kind::Number),
            Row::new("amount", "size", self.amount.clone(), Kind::Number),
            Row::new("changes", "changes", self.cause.changes().key(), Kind::Number),
            Row::new("flow_change", "flow", self.flow, Kind::Percent).digits(2),
            Row::new("speed_change", "speed", self.speed, Kind::Percent).digits(2),
            Row::new("direction_deg", "direction", self.direction.to_degrees(), Kind::Degrees).digits(2),
            Row::new("shift_m", "shift", self.shift, LENGTH).digits(2),
            Row::new("share_of_tolerance", "share", self.share, Kind::Percent).digits(2),
            Row::script("definition", self.cause.definition()),
        ]
    }
}

impl Judge {
    /// What keys of its values end with.
    pub fn suffix(self) -> &'static str {
        match self {
            Judge::Share => "",
            Judge::MeanSquare => "_by_rms",
        }
    }

    /// Its name for reading.
    pub fn name(self) -> &'static str {
        match self {
            Judge::Share => "departures as judged",
            Judge::MeanSquare => "root mean square departures",
        }
    }
}

impl Ratios {
    /// Departures over their limits, by limit.
    pub fn section(&self, judge: Judge) -> Section {
        let rows = self.all.iter().map(|(limit, x)| Row::new(limit.key(), limit.name(), *x, Kind::Number).digits(2));
        let title = format!("This cell over its limits, {}", judge.name());
        Section::new(format!("over_limits{}", judge.suffix()), title, rows.collect())
    }

    /// The letter of what binds on a map; a capital beyond first order, where the numbers are a sign only.
    fn letter(&self) -> char {
        let (limit, ratio) = self.binding();
        let letter = match limit {
            _ if ratio <= 1.0 => '+',
            Limit::Speed => 's',
            Limit::Direction => 'a',
            Limit::Shift => 'm',
            Limit::FirstOrder => 'r',
            Limit::Laminar => 't',
            Limit::Dye => 'd',
        };
        if self.of(Limit::FirstOrder) > 1.0 { letter.to_ascii_uppercase() } else { letter }
    }
}

impl Map {
    /// The map by gap and by speed for scripts; in letters, every second speed, for reading.
    pub fn section(&self) -> Section {
        let cells = |of: &dyn Fn(&Ratios) -> Value| -> Value {
            let column = |column: &Vec<Option<Ratios>>| {
                Value::List(column.iter().map(|cell| cell.as_ref().map_or("none".into(), of)).collect())
            };
            Value::List(self.cells.iter().map(column).collect())
        };
        let rows = vec![
            Row::script("gaps_m", Value::numbers(self.gaps.iter().copied())),
            Row::script("mean_speeds_m_per_s", Value::numbers(self.speeds.iter().copied())),
            Row::script("binding", cells(&|ratios| ratios.binding().0.key().into())),
            Row::script("first_order", cells(&|ratios| (ratios.of(Limit::FirstOrder) <= 1.0).into())),
            Row::script("over_limit", cells(&|ratios| ratios.binding().1.into())),
            Row::script("slowest_for_dye_m_per_s", self.slowest_for_dye),
        ];
        let key = format!("feasibility{}", self.judge.suffix());
        let title =
            format!("Which limit binds where, by {} (gap across, mean speed up; + all within)", self.judge.name());
        let legend = "s speed, a direction (angle), m shift of lines, d dye lines merge, t not laminar; capitals: beyond first order in Re*, \
                      a sign only";
        Section { sketch: self.sketch(), ..Section::new(key, title, rows).noted(vec![legend.to_owned()]) }
    }

    fn sketch(&self) -> Vec<String> {
        let short = |kind: Kind, x: f64| Row::new("", "", x, kind).digits(3).bench();
        let line = |(k, speed): (usize, &f64)| {
            let letter =
                |column: &Vec<Option<Ratios>>| column.get(k).and_then(Option::as_ref).map_or(' ', Ratios::letter);
            let row: String = self.cells.iter().map(|column| format!("{} ", letter(column))).collect();
            format!("{:>14} {}", short(SPEED, *speed), row.trim_end())
        };
        let mut lines: Vec<String> = self.speeds.iter().enumerate().rev().step_by(2).map(line).collect();
        let ends = [self.gaps.first(), self.gaps.last()].map(|gap| gap.map_or(String::new(), |g| short(LENGTH, *g)));
        lines.push(format!("{:>14} {:<42}{:>6}", "gap:", ends[0], ends[1]));
        lines
    }
}
