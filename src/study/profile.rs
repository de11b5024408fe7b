//! What is known along a line of the case.

use super::sample::Sampled;
use crate::base::Point;
use crate::base::row::{Kind, Row, Section};
use crate::base::units::Dimension;
use crate::input::case::Line;

/// What is known along a line.
#[derive(Debug, Clone, PartialEq)]
pub struct Profile {
    /// The line.
    pub line: Line,
    /// Places along it, m: the way from the start of a straight line, the arc of the outline from its front.
    pub s: Vec<f64>,
    /// Its points, m.
    pub points: Vec<Point>,
    /// The values there; none in solids and outside the cell.
    pub sampled: Sampled,
    /// The flow through it; none along an outline.
    pub flow: Option<LineFlow>,
}

/// The ideal flow through a straight line from its left to its right, seen from its start: the difference of the stream function between
/// its ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LineFlow {
    /// The flow, m3/s.
    pub value: f64,
    /// How well it is known.
    pub known: Known,
}

/// How well a flow is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Known {
    /// Between two bounds, m3/s: the line runs from side wall to side wall, so that it is the flow through the cell. Both are the value itself
    /// where the case gives the flow.
    Within([f64; 2]),
    /// To an estimate, m3/s: how far the sum of the recovered velocity across the line is from the difference of the stream function, and the
    /// half-width of the bracket times Q.
    About(f64),
}

impl Profile {
    /// Its points as a table: place along the line and in the cell, values; empty where there is no fluid.
    pub fn table(&self) -> Section {
        let wanted = |key: &str| !["pressure_fraction", "speed_m_per_s"].contains(&key);
        let row = |k: usize| {
            let [x, y] = self.points[k];
            let mut rows = vec![Row::script("s_m", self.s[k]), Row::script("x_m", x), Row::script("y_m", y)];
            let values = self.sampled.row(k);
            for (column, key) in self.sampled.keys.iter().enumerate().filter(|(_, key)| wanted(key)) {
                rows.push(match values {
                    Some(values) => Row::script(*key, values[column]),
                    None => Row::script(*key, ""),
                });
            }
            rows
        };
        Section::table("", "", (0..self.s.len()).map(row))
    }

    /// Extremes and flow as rows; `flow_rate` is Q, m3/s.
    pub(super) fn rows(&self, flow_rate: f64) -> Vec<Row> {
        let length = |key: &'static str, name: &'static str, x: f64| {
            Row::new(key, name, x, Kind::Of(Dimension::Length)).digits(5)
        };
        let Profile { line, s, sampled, .. } = self;
        let mut rows = vec![
            Row::new("name", "line", line.name.clone(), Kind::Number),
            length("length_m", "length", s.last().copied().unwrap_or(0.0)),
            Row::new("points", "points", s.len(), Kind::Number).full(),
            Row::new("points_in_fluid", "in the fluid", s.len() - sampled.outside(), Kind::Number).full(),
        ];
        for (quantity, keys) in [("speed_ratio", SPEED), ("pressure_coefficient", COEFFICIENT)] {
            let values = sampled.column(quantity).unwrap_or_default();
            for (sign, [value, at, along, name]) in [(1.0, keys[0]), (-1.0, keys[1])] {
                let known = values.iter().enumerate().filter(|(_, x)| x.is_finite());
                // of several the first
                let Some((k, &x)) = known.min_by(|a, b| (-sign * a.1).total_cmp(&(-sign * b.1))) else { continue };
                rows.push(Row::new(value, name, x, Kind::Number).digits(5));
                rows.push(Row::new(at, "at", self.points[k], Kind::Of(Dimension::Length)).digits(5).full());
                rows.push(length(along, "s", s[k]).full());
            }
        }
        if let Some(LineFlow { value, known }) = self.flow {
            let flow = |key: &'static str, name: &'static str, x: f64| {
                Row::new(key, name, x, Kind::Of(Dimension::FlowRate)).digits(6)
            };
            rows.push(flow("flow_m3_per_s", "flow to its right", value));
            rows.push(Row::new("flow_share", "of Q", value / flow_rate, Kind::Number).digits(6));
            let word = match known {
                Known::Within([lower, upper]) => {
                    rows.push(flow("flow_lower_m3_per_s", "not below", lower).full());
                    rows.push(flow("flow_upper_m3_per_s", "not above", upper).full());
                    WALL_TO_WALL
                }
                Known::About(error) => {
                    rows.push(flow("flow_error_m3_per_s", "estimated error", error).digits(2));
                    ESTIMATED
                }
            };
            rows.push(Row::new("flow_known", "known by", word, Kind::Number));
        }
        rows
    }
}

/// Keys of value, place and arc, and name, of the largest and the smallest speed.
const SPEED: [[&str; 4]; 2] = [
    ["speed_ratio_max", "speed_ratio_max_at_m", "speed_ratio_max_s_m", "largest speed over U"],
    ["speed_ratio_min", "speed_ratio_min_at_m", "speed_ratio_min_s_m", "smallest speed over U"],
];
/// The same of the pressure coefficient.
const COEFFICIENT: [[&str; 4]; 2] = [
    [
        "pressure_coefficient_max",
        "pressure_coefficient_max_at_m",
        "pressure_coefficient_max_s_m",
        "largest pressure coefficient",
    ],
    [
        "pressure_coefficient_min",
        "pressure_coefficient_min_at_m",
        "pressure_coefficient_min_s_m",
        "smallest pressure coefficient",
    ],
];

const WALL_TO_WALL: &str = "bounds: the flow through the cell";
const ESTIMATED: &str = "estimate: stream function against velocity";
