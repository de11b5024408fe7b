//! The effects that part the observed pattern from the ideal one, each a sum of parts that scale by known powers.

use super::scale::Scale;
use crate::base::plane::differences;
use crate::theory::inertia::{Inertia, layers};

/// What parts the observed pattern from the ideal one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Effect {
    /// No slip along solid edges, of order b/L.
    EdgeLayer,
    /// Inertia in the gap, of orders Re* and Re* b/L.
    Inertia,
    /// A gap that differs over the cell.
    Gap,
    /// Bubbles that are held between the plates.
    Bubble,
    /// Side walls and ends, against the same obstacles in an unbounded stream.
    Confinement,
}

impl Effect {
    /// All of them, in the order of the budget.
    pub const ALL: [Effect; 5] = [Effect::EdgeLayer, Effect::Inertia, Effect::Gap, Effect::Bubble, Effect::Confinement];

    /// Its key in files.
    pub fn key(self) -> &'static str {
        match self {
            Effect::EdgeLayer => "edge_layer",
            Effect::Inertia => "inertia",
            Effect::Gap => "gap",
            Effect::Bubble => "bubble",
            Effect::Confinement => "confinement",
        }
    }

    /// Its name for reading.
    pub fn name(self) -> &'static str {
        match self {
            Effect::EdgeLayer => "edge layer",
            Effect::Inertia => "inertia",
            Effect::Gap => "uneven gap",
            Effect::Bubble => "bubble",
            Effect::Confinement => "confinement",
        }
    }

    /// What it is and how large, as a sentence has it.
    pub fn described(self) -> &'static str {
        match self {
            Effect::EdgeLayer => "edge layer, of order gap over length",
            Effect::Inertia => "inertia in the gap, of order Re*",
            Effect::Gap => "change of the gap over the cell",
            Effect::Bubble => "bubble between the plates, which the flow goes round",
            Effect::Confinement => "confinement by the side walls and ends, which is no fault of the analogy",
        }
    }

    /// Whether what is between the plates is its cause, the flow or a bubble; confinement is one of ideal flow as well.
    pub fn is_of_the_plates(self) -> bool {
        self != Effect::Confinement
    }
}

/// Where across the gap a departure is looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum View {
    /// At the height of the dye, over the parabola there.
    AtHeight,
    /// The mean over the gap.
    GapMean,
}

/// A departure of the velocity that scales by powers.
#[derive(Debug, Clone)]
pub struct Part {
    /// Departure at the dye height, over the parabola (3/2)(1 − ζ²), m/s.
    pub at_height: Vec<[f64; 2]>,
    /// Departure of the gap mean, m/s.
    pub gap_mean: Vec<[f64; 2]>,
    /// Power of speed over viscosity: the departure over U goes as (U/ν) to this power.
    pub inertia_power: i32,
    /// Power of the gap.
    pub gap_power: i32,
}

impl Part {
    /// What it is multiplied by at a scale: `s^m g^n`, s the ratio of U/ν, g that of the gap, m and n its powers.
    fn factor(&self, scale: Scale) -> f64 {
        scale.inertia.powi(self.inertia_power) * scale.gap.powi(self.gap_power)
    }
}

/// One effect with its size and how well that is known.
#[derive(Debug, Clone)]
pub struct Contribution {
    /// The effect.
    pub effect: Effect,
    /// Its parts.
    pub parts: Vec<Part>,
    /// Estimated numerical error of the speed departure, root mean square, fraction of U.
    pub numerical_error: f64,
    /// Estimated size of what first order neglects in the speed departure, root mean square, fraction of U; none if unknown.
    pub neglected: Option<f64>,
}

impl Contribution {
    /// The departure at a scale, m/s for the case's own U.
    pub fn departure(&self, scale: Scale, view: View) -> Vec<[f64; 2]> {
        self.sum(scale, view, |_| true)
    }

    /// Only what goes with one power of speed over viscosity.
    pub fn departure_of(&self, inertia_power: i32, scale: Scale, view: View) -> Vec<[f64; 2]> {
        self.sum(scale, view, |part| part.inertia_power == inertia_power)
    }

    fn sum(&self, scale: Scale, view: View, counts: impl Fn(&Part) -> bool) -> Vec<[f64; 2]> {
        let count = self.parts.first().map_or(0, |part| part.gap_mean.len());
        let mut sum = vec![[0.0; 2]; count];
        for part in self.parts.iter().filter(|part| counts(part)) {
            let factor = part.factor(scale);
            let field = match view {
                View::AtHeight => &part.at_height,
                View::GapMean => &part.gap_mean,
            };
            for (s, d) in sum.iter_mut().zip(field) {
                *s = [s[0] + factor * d[0], s[1] + factor * d[1]];
            }
        }
        sum
    }
}

/// The contributions of what is between the plates: all but confinement.
pub fn of_the_plates(contributions: &[Contribution]) -> impl Iterator<Item = &Contribution> {
    contributions.iter().filter(|contribution| contribution.effect.is_of_the_plates())
}

/// Numerical error of contributions together, as if theirs were independent, root mean square of the speed, fraction of U.
pub fn numerical_error<'a>(contributions: impl IntoIterator<Item = &'a Contribution>) -> f64 {
    contributions.into_iter().map(|contribution| contribution.numerical_error.powi(2)).sum::<f64>().sqrt()
}

/// Contributions together at a scale, at so many vertices, m/s for the case's own U.
pub fn total<'a>(
    contributions: impl IntoIterator<Item = &'a Contribution>,
    vertices: usize,
    scale: Scale,
    view: View,
) -> Vec<[f64; 2]> {
    total_of(contributions, vertices, scale, view, |_| true)
}

/// The same of some of their parts.
pub fn total_of<'a>(
    contributions: impl IntoIterator<Item = &'a Contribution>,
    vertices: usize,
    scale: Scale,
    view: View,
    counts: impl Fn(&Part) -> bool,
) -> Vec<[f64; 2]> {
    let mut sum = vec![[0.0; 2]; vertices];
    for contribution in contributions {
        let one = contribution.sum(scale, view, &counts);
        sum.iter_mut().zip(one).for_each(|(s, d)| *s = [s[0] + d[0], s[1] + d[1]]);
    }
    sum
}

/// The inertia contribution at a height ζ: V1 of the ends, of the edge term and of its next one, V2, and the layers, which over the parabola
/// depart by `g(ζ)/((3/2)(1 − ζ²)) · (b²/4ν) N` and at second order by what [`crate::theory::inertia::second`] has, with no gap mean.
pub fn inertia_parts(inertia: &Inertia, height: f64) -> Vec<Part> {
    let everywhere = |field: Vec<[f64; 2]>, inertia_power: i32, gap_power: i32| Part {
        at_height: field.clone(),
        gap_mean: field,
        inertia_power,
        gap_power,
    };
    let layer = |field: Vec<[f64; 2]>, inertia_power: i32, gap_power: i32| Part {
        gap_mean: vec![[0.0; 2]; field.len()],
        at_height: field,
        inertia_power,
        gap_power,
    };
    let mut by_ends = differences(&inertia.correction, &inertia.edge_part);
    if let Some(next) = &inertia.next_part {
        by_ends = differences(&by_ends, next);
    }
    let ratio = layers::over_parabola(height);
    let turned = |field: Vec<[f64; 2]>| field.into_iter().map(|n| n.map(|x| ratio * x)).collect();
    let mut parts = vec![
        everywhere(by_ends, 1, 2),
        everywhere(inertia.edge_part.clone(), 1, 3),
        layer(turned(inertia.layer_vector()), 1, 2),
    ];
    if !inertia.next_acceleration.is_empty() {
        parts.push(layer(turned(inertia.next_layer_vector()), 1, 3));
    }
    parts.extend(inertia.next_part.clone().map(|next| everywhere(next, 1, 4)));
    if let Some(second) = &inertia.second {
        let [bent, stretched] = layers::second_over_parabola(height);
        let fields = second.bending.iter().zip(&second.stretching).zip(&second.turning);
        let sum = fields.map(|((b, s), t)| [0, 1].map(|k| bent * b[k] + stretched * s[k] + ratio * t[k]));
        parts.extend([
            everywhere(differences(&second.correction, &second.edge_part), 2, 4),
            everywhere(second.edge_part.clone(), 2, 5),
            layer(sum.collect(), 2, 4),
        ]);
    }
    parts
}

/// A departure that is the same at every height and does not depend on speed.
pub fn still_part(departure: Vec<[f64; 2]>, gap_power: i32) -> Part {
    Part { at_height: departure.clone(), gap_mean: departure, inertia_power: 0, gap_power }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// g over the parabola is the polynomial -(7 ζ⁴ - 28 ζ² + 5)/140: -1/28 at mid-gap, 4/35 at the plates.
    #[test]
    fn layers_depart_by_g_over_the_parabola() {
        let exact = |z: f64| -(7.0 * z.powi(4) - 28.0 * z * z + 5.0) / 140.0;
        for height in [0.0, 0.3, -0.7, 0.995, 0.999_999_9, 1.0, -1.0] {
            assert!(
                (layers::over_parabola(height) - exact(height)).abs() < 1e-6,
                "{height}: {}",
                layers::over_parabola(height)
            );
        }
        assert!(
            (layers::over_parabola(1.0) - 4.0 / 35.0).abs() < 1e-15
                && (layers::over_parabola(0.0) + 1.0 / 28.0).abs() < 1e-15
        );
    }

    #[test]
    fn effects_have_keys_and_names_of_their_own() {
        let keys = Effect::ALL.map(Effect::key);
        assert_eq!(keys, ["edge_layer", "inertia", "gap", "bubble", "confinement"]);
        assert_eq!(Effect::ALL.map(Effect::name), ["edge layer", "inertia", "uneven gap", "bubble", "confinement"]);
        assert_eq!(Effect::ALL.map(Effect::is_of_the_plates), [true, true, true, true, false]);
    }
}
