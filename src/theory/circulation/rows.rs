//! The circulation that sections would have, as rows of a report.

use super::{Circulation, NoTail, NoTailReason, Section as Obstacle};
use crate::base::row::{Kind, Row, Section, Value};
use crate::base::units::{Dimension, significant};

/// Unit of circulations.
const CIRCULATION: Kind = Kind::Unit("m2/s", 1e-6, "mm2/s");

impl Circulation {
    /// One entry for each obstacle with a sharp tail.
    pub fn section(&self) -> Section {
        let title = "Circulation and lift that the cell never shows, whatever streaklines suggest";
        let sharp = self.sections.iter().filter(|obstacle| obstacle.tail.sharp_nose);
        let notes = sharp.map(|obstacle| {
            format!(
                "{}: its nose is sharp as well; a real stream parts from it unless it runs straight at it, so that this lift is the one of \
                 the inviscid model only.",
                obstacle.name
            )
        });
        let notes = notes.collect();
        Section::table("circulation", title, self.sections.iter().map(Obstacle::rows)).noted(notes)
    }
}

impl Obstacle {
    fn rows(&self) -> Vec<Row> {
        let mut rows = vec![
            Row::new("obstacle", "obstacle", self.name.clone(), Kind::Number),
            Row::new("kutta_circulation_m2_per_s", "circulation, clockwise", self.kutta_circulation, CIRCULATION)
                .error(self.circulation_spread),
            Row::new("kutta_circulation_spread_m2_per_s", "known to", self.circulation_spread, CIRCULATION)
                .digits(1)
                .full(),
            Row::new("tail_m", "tail at", self.tail.at, Kind::Of(Dimension::Length)),
            Row::new("sharp_nose", "sharp nose", self.tail.sharp_nose, Kind::Number),
            Row::new("lift_per_span_n_per_m", "lift per span", self.lift_per_span, Kind::Unit("N/m", 1e-3, "mN/m")),
            Row::new("lift_coefficient", "lift coefficient", self.lift_coefficient, Kind::Number)
                .error(self.lift_coefficient_error),
            Row::new("lift_coefficient_error", "error", self.lift_coefficient_error, Kind::Number).digits(2).full(),
        ];
        if let Some(angle) = self.tail_angle_difference {
            rows.push(Row::new(
                "tail_angle_difference_deg",
                "turn of the tail streamline",
                angle.to_degrees(),
                Kind::Degrees,
            ));
        }
        for (key, place) in [
            ("front_stagnation_m", self.front_stagnation),
            ("front_stagnation_with_circulation_m", self.front_stagnation_with_circulation),
        ] {
            if let Some(place) = place {
                rows.push(Row::script(key, place));
            }
        }
        rows
    }
}

/// Obstacles with sharp corners whose circulation is left out, with the corners and what to do.
pub fn left_out(obstacles: &[NoTail]) -> Section {
    let rows = |one: &NoTail| {
        vec![
            Row::new("obstacle", "obstacle", one.name.clone(), Kind::Number),
            Row::new("reason", "reason", one.reason.words(), Kind::Number).full(),
            Row::new(
                "corners_m",
                "sharp corners",
                Value::List(one.corners.iter().map(|&p| p.into()).collect()),
                Kind::Of(Dimension::Length),
            )
            .full(),
        ]
    };
    let note = |one: &NoTail| {
        let places = one.corners.iter().map(|p| p.map(|x| significant(1e3 * x, 5))).map(|[x, y]| format!("({x}, {y})"));
        let corners = format!("its sharp corners are at {} mm", places.collect::<Vec<_>>().join(", "));
        let remedy = match one.reason {
            NoTailReason::Given => String::new(),
            _ => "; tail = [x, y] in its obstacle names the corner that shall be its tail, tail = false says that it has none".to_owned(),
        };
        format!("{}: no circulation is given: {}; {corners}{remedy}.", one.name, one.reason.words())
    };
    let notes = obstacles.iter().map(note).collect();
    Section::table("circulation_left_out", "", obstacles.iter().map(rows)).noted(notes)
}
