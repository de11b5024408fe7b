//! Paths of bubbles as rows of a report, and what to think of them in words.

use super::film::{ROUND, STRETCHED};
use super::{Ended, Path};
use crate::base::row::{Kind, Row, Section};
use crate::base::units::{Dimension, significant};

/// Capillary number above which the film law is no longer that of thin films.
const THIN_FILMS: f64 = 1e-2;

impl Ended {
    /// Its word in files.
    pub fn key(self) -> &'static str {
        match self {
            Ended::Outlet => "outlet",
            Ended::Inlet => "inlet",
            Ended::NearEdge => "near_edge",
            Ended::Rest => "at_rest",
            Ended::Steps => "steps",
        }
    }

    /// What it says of a bubble.
    fn words(self) -> Option<&'static str> {
        match self {
            Ended::Outlet => None,
            Ended::Inlet => Some("leaves through the inlet, against the flow"),
            Ended::NearEdge => Some(
                "comes within half a radius of a side wall or an obstacle, where its path ends: nearer, the wall takes part in its speed",
            ),
            Ended::Rest => Some("comes to rest in the fluid"),
            Ended::Steps => Some("has not left the cell after the steps that are allowed"),
        }
    }
}

/// What a [`super::shape_number`] says of a bubble's shape; nothing where it stays round.
pub fn shape_words(number: f64) -> Option<&'static str> {
    if number > STRETCHED {
        Some("stretches, breeds a tail or splits")
    } else {
        (number > ROUND).then_some("is no longer round by more than a few per cent")
    }
}

impl Path {
    /// Its row in a table of bubbles.
    pub fn rows(&self) -> Vec<Row> {
        let mut rows = vec![
            Row::new("name", "bubble", self.bubble.name.clone(), Kind::Number),
            Row::new("diameter_m", "diameter", self.bubble.diameter, Kind::Of(Dimension::Length)),
            Row::new("speed_m_per_s", "speed", self.speed, Kind::Of(Dimension::Speed)).means(
                "U = x |V + V_g/2|, x by 2 - x = k x^(2/3), where the bubble starts",
                "Taylor & Saffman 1959; Bretherton 1961; derived here",
                "round, wider than three gaps, clean wetted plates",
            ),
            Row::new("angle_deg", "direction", self.angle.to_degrees(), Kind::Degrees),
            Row::new("film_number", "film number", self.film_number, Kind::Number).digits(3),
            Row::new("capillary_shape_number", "shape number", self.capillary_shape_number, Kind::Number).digits(3),
            Row::new("ended", "ends", self.ended.key(), Kind::Number),
        ];
        if self.speed_ratio.is_finite() {
            let ratio = Row::new("speed_ratio", "over the flow", self.speed_ratio, Kind::Number);
            rows.insert(3, ratio.means("U over the mean speed of the liquid at its centre", "", ""));
        }
        if let Some(time) = self.time_to_leave {
            rows.push(Row::new("time_to_leave_s", "leaves after", time, Kind::Of(Dimension::Time)));
        }
        rows
    }

    /// What limits the path, in words.
    pub fn notes(&self) -> Vec<String> {
        let mut notes = Vec::new();
        let mut say = |words: String| notes.push(format!("{}: {words}.", self.bubble.name));
        if let Some(words) = self.ended.words() {
            say(words.to_owned());
        }
        if let Some(words) = shape_words(self.largest_shape_number) {
            say(format!("the bubble {words} (shape number up to {})", significant(self.largest_shape_number, 2)));
        }
        if self.largest_capillary_number > THIN_FILMS {
            say(format!(
                "its films are no longer thin (capillary number up to {}), so that its speed is a sign only",
                significant(self.largest_capillary_number, 2)
            ));
        }
        notes
    }
}

/// A table with an entry for each bubble, and notes.
pub fn section(paths: &[Path]) -> Section {
    let title = "Bubbles: free and round on clean wetted plates";
    let notes = paths.iter().flat_map(Path::notes).collect();
    Section::table("bubbles", title, paths.iter().map(Path::rows)).noted(notes)
}
