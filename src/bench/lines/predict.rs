//! What each effect of the budget predicts for traced lines.
//!
//! Along a line the departure ΔV of an effect carries the flux `∫ ΔV × dl` across it, so that against the ideal pattern it stands
//! `f = (1/|V|) ∫ ΔV × dl` to the left, the integral taken from its first station. What was before that is a level,
//! which every fit leaves free. What an effect changes of all speeds alike moves no line, `V + ΔV = (1 + c)(V + (ΔV − c V)/(1 + c))`; left in, it
//! would bring c times the line's own shift and noise into its prediction, and so is taken out. The ideal pattern is that of a uniform gap, and so the integral has no factor b; taken along the traced line and not
//! along the ideal one it is exact for the whole departure, not only to first order.

use super::ideal::Ideal;
use super::shift::{Line, Observed};
use crate::base::Point;
use crate::base::plane::{between, cross, dot, length, way};
use crate::theory::departure::{Contribution, Effect, Scale, View, of_the_plates};
use rayon::prelude::*;

/// Parts that a step between stations is cut into.
const PARTS: usize = 4;

/// The shifts that an effect predicts.
#[derive(Debug, Clone, PartialEq)]
pub struct Prediction {
    /// The effect.
    pub effect: Effect,
    /// Its order in the reduced Reynolds number, where only that part is meant.
    pub order: Option<i32>,
    /// Shifts of the stations of each line, m.
    pub shifts: Vec<Vec<f64>>,
}

impl Prediction {
    /// Its key in files: that of the effect, with the order behind it.
    pub fn key(&self) -> String {
        match self.order {
            Some(order) => format!("{}_{order}", self.effect.key()),
            None => self.effect.key().to_owned(),
        }
    }
}

/// Predictions of all effects of the flow between the plates at the height of the dye, which the contributions were made for; `speed` is
/// U, m/s. Where inertia has its second order, each order follows by itself as well.
pub fn predict(ideal: &Ideal, lines: &[Line], contributions: &[Contribution], speed: f64) -> Vec<Prediction> {
    let mut predictions = Vec::new();
    for contribution in of_the_plates(contributions) {
        let effect = contribution.effect;
        let whole = contribution.departure(Scale::ONE, View::AtHeight);
        predictions.push(Prediction { effect, order: None, shifts: whole_shifts_of(ideal, lines, &whole, speed) });
        if contribution.parts.iter().any(|part| part.inertia_power > 1) {
            for order in [1, 2] {
                let part = contribution.departure_of(order, Scale::ONE, View::AtHeight);
                let shifts = shifts_of(ideal, lines, &part, speed);
                predictions.push(Prediction { effect, order: Some(order), shifts });
            }
        }
    }
    predictions
}

/// Shifts of traced lines to first order under a departure of the velocity at the vertices, m/s, where the mean speed is `speed`, m/s.
pub fn shifts_of(ideal: &Ideal, lines: &[Line], departure: &[[f64; 2]], speed: f64) -> Vec<Vec<f64>> {
    let (turning, _) = without_common(ideal, departure);
    lines.par_iter().map(|line| along(ideal, line, &turning, speed)).collect()
}

/// The same of a departure as it stands: over 1 + c.
fn whole_shifts_of(ideal: &Ideal, lines: &[Line], departure: &[[f64; 2]], speed: f64) -> Vec<Vec<f64>> {
    let (turning, common) = without_common(ideal, departure);
    lines.par_iter().map(|line| along(ideal, line, &turning, speed + common)).collect()
}

/// A departure without what it changes of all speeds alike, and that, c U, m/s. Any c would serve: a factor of V turns nothing.
fn without_common(ideal: &Ideal, departure: &[[f64; 2]]) -> (Vec<[f64; 2]>, f64) {
    let own = ideal.velocity();
    let pairs = || departure.iter().zip(&own);
    let (product, square) = pairs().fold((0.0, 0.0), |(p, s), (&d, &v)| (p + dot(d, v), s + dot(v, v)));
    let common = product / square.max(f64::MIN_POSITIVE);
    (pairs().map(|(d, v)| [0, 1].map(|k| d[k] - common * v[k])).collect(), common)
}

fn along(ideal: &Ideal, line: &Line, departure: &[[f64; 2]], speed: f64) -> Vec<f64> {
    let (mut hint, mut before) = (None, None);
    let mut value_at = |place| {
        let (triangle, value) = ideal.vector_at(departure, place, hint);
        hint = Some(triangle);
        value
    };
    // flux from the right of the path to its left, up to each of its places
    let mut crossed = 0.0;
    let mut fluxes = Vec::with_capacity(line.path.len());
    for &place in &line.path {
        let from = before.map_or(place, |(from, _)| from);
        for part in 1..=PARTS {
            let to = between(from, place, part as f64 / PARTS as f64);
            let value = value_at(to);
            if let Some((reached, last)) = before {
                let step = way(reached, to);
                crossed += 0.5 * (cross(step, last) + cross(step, value));
            }
            before = Some((to, value));
        }
        fluxes.push(crossed);
    }
    let shift = |station: &Observed| fluxes.get(station.place).copied().unwrap_or(0.0) / (speed * station.speed);
    line.stations.iter().map(shift).collect()
}

/// Changes of speed that effects together predict at places between lines, over U: those beside what changes where the lines start, for
/// the flux between two lines is counted in that.
pub fn predicted_speeds(
    ideal: &Ideal,
    lines: &[Line],
    places: &[Point],
    contributions: &[Contribution],
    effects: &[Effect],
    speed: f64,
) -> Vec<f64> {
    let wanted = of_the_plates(contributions).filter(|contribution| effects.contains(&contribution.effect));
    let own = ideal.velocity();
    let mut departure = vec![[0.0; 2]; own.len()];
    for contribution in wanted {
        let part = contribution.departure(Scale::ONE, View::AtHeight);
        departure.iter_mut().zip(part).for_each(|(sum, d)| *sum = [sum[0] + d[0] / speed, sum[1] + d[1] / speed]);
    }
    let change = |place: Point| {
        let [v, d] = [&own, &departure].map(|field| ideal.vector_at(field, place, None).1);
        let slow = length(v).max(f64::MIN_POSITIVE);
        (length([v[0] + d[0], v[1] + d[1]]) - slow, slow)
    };
    let starts = lines.iter().filter(|line| line.level_known).filter_map(|line| line.stations.first());
    let changes: Vec<f64> = starts.map(|station| change(station.at)).map(|(change, speed)| change / speed).collect();
    let common = changes.iter().sum::<f64>() / changes.len().max(1) as f64;
    places
        .iter()
        .map(|&place| {
            let (change, speed) = change(place);
            (change - common * speed) / (1.0 + common)
        })
        .collect()
}

/// Several predictions together, m.
pub fn together<'a>(predictions: impl IntoIterator<Item = &'a Vec<Vec<f64>>>, lines: &[Line]) -> Vec<Vec<f64>> {
    let mut sum: Vec<Vec<f64>> = lines.iter().map(|line| vec![0.0; line.stations.len()]).collect();
    for prediction in predictions {
        for (sum, shifts) in sum.iter_mut().zip(prediction) {
            sum.iter_mut().zip(shifts).for_each(|(s, shift)| *s += shift);
        }
    }
    sum
}
