//! What the bubbles in a cell do to its pattern: with them less without them, for both kinds of rim.

use super::Study;
use crate::base::Result;
use crate::base::plane;
use crate::base::row::{Kind, Row, Section};
use crate::base::units::{Dimension, significant};
use crate::input::case::Tolerance;
use crate::theory::bubbles::{Held, Without, held};
use crate::theory::departure::{
    Contribution, Degree, Effect, Measure, Measures, Reference, Way, correction_error, still_part,
};
use crate::theory::ideal::{Stage, multiplied_vectors};

/// What the bubbles in a cell do.
#[derive(Debug)]
pub struct BubblesFound {
    /// The pattern without them.
    pub without: Without,
    /// Their change of the pattern where all of their rims are free of shear.
    pub free: Measures,
    /// The same where all hold the fluid back like a solid, to first order.
    pub solid: Measures,
    /// What the edge layer of their rims alone changes: by what the two differ.
    pub band: Measures,
    /// The bubbles, each with the speed that the flow without them has at its middle, over the mean speed; none if that lies outside the
    /// fluid.
    pub places: Vec<(Held, Option<f64>)>,
}

impl Study {
    /// The pattern without the bubbles, if there are any.
    ///
    /// # Errors
    /// As [`Without::solve`].
    pub fn without_bubbles(&self, watch: &(dyn Fn(Stage) + Sync)) -> Result<Option<Without>> {
        let speed = self.pattern.drive.mean_speed;
        Ok(self.unit.bubbles(watch)?.as_ref().as_ref().map(|unit| unit.without.scaled(&self.case, speed)))
    }

    /// Adds what the bubbles change, if there are any; `relative` is the relative numerical error of the pattern that departures are measured from.
    pub(super) fn add_bubbles(
        &self,
        reference: &Reference,
        relative: f64,
        watch: &(dyn Fn(Stage) + Sync),
        list: &mut Vec<Contribution>,
    ) -> Result<Option<BubblesFound>> {
        let unit = self.unit.bubbles(watch)?;
        let Some(unit) = unit.as_ref() else { return Ok(None) };
        let speed = self.pattern.drive.mean_speed;
        let without = unit.without.scaled(&self.case, speed);
        let change = plane::differences(reference.velocity, &multiplied_vectors(&unit.alone, speed));
        let by_rims = unit.rims.scaled(speed, &self.case.fluid).change_at_speed(&self.pattern);
        let back = |departure: &[[f64; 2]]| reference.measure_way(departure, Way::Back);
        let there = |at| without.velocity_at(at).map(|v| plane::length(v) / speed.abs());
        let places = held(&self.case, &self.plan).into_iter().map(|bubble| {
            let there = there(bubble.middle);
            (bubble, there)
        });
        let free = back(&change);
        let rms = free.speed.rms;
        let found = BubblesFound {
            free,
            solid: back(&plane::sums(&change, &by_rims)),
            band: reference.measure(&by_rims),
            places: places.collect(),
            without,
        };
        list.push(Contribution {
            effect: Effect::Bubble,
            parts: vec![still_part(change, 0)],
            numerical_error: correction_error(Degree::Linear, relative, rms),
            neglected: None,
        });
        Ok(Some(found))
    }
}

/// Below this part of the mean speed the flow at a bubble is none that could push it.
const STILL: f64 = 1e-3;

impl BubblesFound {
    /// What the bubbles change with either rim, and from which mean speed of the cell they travel.
    pub fn section(&self, tolerance: &Tolerance) -> Section {
        let length = Kind::Of(Dimension::Length);
        let of = |name: &'static str, words: &str, measures: &Measures| {
            let Measures { speed, direction, shift, .. } = measures;
            let row = |key, name, value, kind| Row::new(key, name, value, kind).digits(3);
            vec![
                Row::new("rim", "rim", name, Kind::Number),
                row("speed_rms", "speed rms of U", speed.rms, Kind::Percent),
                row("speed_q99", "speed, 99 %, of U", speed.q99, Kind::Percent),
                row("direction_q99_deg", "direction, 99 %", direction.q99.to_degrees(), Kind::Degrees),
                row("shift_q99_m", "shift, 99 %", shift.q99, length),
                Row::new("means", "is", words.to_owned(), Kind::Number).full(),
            ]
        };
        let rims = [
            of("free", "a clean rim that slips", &self.free),
            of(
                "solid",
                "a rim stiff with surfactant or dirt, to first order in b/L and without its inertia",
                &self.solid,
            ),
            of("difference", "by what the two differ", &self.band),
        ];
        let place = |(bubble, there): &(Held, Option<f64>)| {
            let mut rows = vec![Row::new("name", "bubble", bubble.name.clone(), Kind::Number)];
            rows.extend(there.map(|there| {
                Row::new("speed_there", "speed at its place without it, of U", there, Kind::Percent).digits(3).means(
                    "ideal speed at the middle of the bubble in the pattern without bubbles, over U",
                    "a round bubble feels the pressure gradient at its middle",
                    "flow that changes little over the bubble",
                )
            }));
            rows.extend(there.filter(|there| *there > STILL).map(|there| {
                Row::new(
                    "mean_speed_to_travel_m_per_s",
                    "travels above U",
                    bubble.travel_speed / there,
                    Kind::Of(Dimension::Speed),
                )
                .digits(3)
                .means(
                    "V2 over that: mean speed of the cell above which the bubble travels from where it sits",
                    "derived, as V2",
                    "level cell",
                )
            }));
            rows
        };
        let show = |measure: Measure, of: &Measures| measure.show(of.of(measure).judged);
        let text = format!(
            "Over {} % of the observed area the bubbles change the speed by at most {} and shift streaklines by at most {} where their rims slip, \
             by {} and {} where surfactant or dirt makes them stiff. Which it is cannot be known beforehand: the two are the ends of a band.",
            significant(100.0 * (1.0 - tolerance.share), 3),
            show(Measure::Speed, &self.free),
            show(Measure::Shift, &self.free),
            show(Measure::Speed, &self.solid),
            show(Measure::Shift, &self.solid),
        );
        Section::new("bubble", "Bubbles", vec![Row::new("text", "", text, Kind::Number)]).with(vec![
            Section::table("rims", "The pattern with the bubbles less that without them, by their rims", rims),
            Section::table("places", "Where they sit", self.places.iter().map(place)),
        ])
    }
}
