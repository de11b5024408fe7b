//! The closure beside the series, over the observation region.

use super::Departure;
use crate::base::plane::{self, differences, sums};
use crate::base::units::significant;
use crate::base::{Point, plane::length};
use crate::input::case::Tolerance;
use crate::theory::departure::Reference;
use crate::theory::edge_layer::Band;
use crate::theory::inertia::second::EDGE_LIMIT;

/// Gaps round a corner within which what is switched off there is to blame for a difference.
const NEAR_CORNER: f64 = 10.0;

/// Part of the closure's inertia by which that of the series is worth a sentence of its own.
const WORTH_TELLING: f64 = 0.25;

/// What is compared.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// What no slip along edges changes.
    EdgeLayer,
    /// What inertia changes.
    Inertia,
    /// Both together.
    Both,
}

impl Part {
    /// Its key in files.
    pub fn key(self) -> &'static str {
        match self {
            Part::EdgeLayer => "edge_layer",
            Part::Inertia => "inertia",
            Part::Both => "both",
        }
    }
}

/// Departures of the gap mean by the closure and by the series: root mean squares of their size over the region, fractions of U.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Compared {
    /// What is compared.
    pub part: Part,
    /// By the closure.
    pub closure: f64,
    /// By the series.
    pub series: f64,
    /// Of one less the other.
    pub difference: f64,
    /// The largest of that.
    pub largest: f64,
    /// Where it is, m.
    pub largest_at: Point,
    /// What the extrapolation from two meshes changed of the closure's.
    pub error: f64,
}

/// How the two stand to each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// They differ by no more than the closure's own numerical error.
    Same,
    /// They differ by less than is tolerated of the speed.
    Tolerable,
    /// They differ by more.
    Apart,
}

/// Why two differ by more than is tolerated.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cause {
    /// A corner near which loads of the series are switched off.
    Corner,
    /// The edge number is beyond what the series decides.
    Steep,
    /// Neither.
    Unknown,
}

/// The closure beside the series.
#[derive(Debug, Clone, PartialEq)]
pub struct Comparison {
    /// Edge layer, inertia, both.
    pub parts: [Compared; 3],
    /// How they stand to each other.
    pub standing: Standing,
    /// Why they differ, if by more than is tolerated.
    pub cause: Cause,
    /// Corners near which loads of the series are switched off.
    pub corners: usize,
}

/// What the series says, and how far it goes.
#[derive(Debug, Clone, Copy)]
pub struct BySeries<'a> {
    /// What the edge layer changes of the gap mean at the vertices, m/s.
    pub edge_layer: &'a [[f64; 2]],
    /// What inertia does.
    pub inertia: &'a [[f64; 2]],
    /// Corners near which its loads are switched off.
    pub bands: &'a [Band],
    /// Its edge number.
    pub edge_number: f64,
}

impl Comparison {
    /// Compares the departure by the closure, at the vertices of the reference's region in their order, with the series at all vertices.
    pub fn new(reference: &Reference, closure: &Departure, series: &BySeries) -> Comparison {
        let region = reference.region;
        let observed = |field: &[[f64; 2]]| -> Vec<[f64; 2]> { region.vertices.iter().map(|&v| field[v]).collect() };
        let (edge, inertia) = (observed(series.edge_layer), observed(series.inertia));
        let area: f64 = region.areas.iter().sum();
        let rms = |field: &[[f64; 2]]| {
            let sum: f64 = field.iter().zip(&region.areas).map(|(d, a)| a * plane::square(*d)).sum();
            if area > 0.0 { (sum / area).sqrt() / reference.speed } else { 0.0 }
        };
        let one = |part, closure: &[[f64; 2]], series: &[[f64; 2]], correction: &[[f64; 2]]| {
            let apart = differences(closure, series);
            let worst = (0..apart.len()).max_by(|&a, &b| length(apart[a]).total_cmp(&length(apart[b])));
            Compared {
                part,
                closure: rms(closure),
                series: rms(series),
                difference: rms(&apart),
                largest: worst.map_or(0.0, |k| length(apart[k]) / reference.speed),
                largest_at: worst.map_or([0.0; 2], |k| reference.space.mesh.points[region.vertices[k]]),
                error: rms(correction),
            }
        };
        let [of_edge, of_inertia] = &closure.corrections;
        let both = [sums(&closure.edge_layer, &closure.inertia), sums(&edge, &inertia), sums(of_edge, of_inertia)];
        let parts = [
            one(Part::EdgeLayer, &closure.edge_layer, &edge, of_edge),
            one(Part::Inertia, &closure.inertia, &inertia, of_inertia),
            one(Part::Both, &both[0], &both[1], &both[2]),
        ];
        let standing = Standing::of(&parts[2], reference.tolerance);
        let cause = Cause::of(parts[2].largest_at, series.bands, reference.space.reference_gap, series.edge_number);
        Comparison { parts, standing, cause, corners: series.bands.len() }
    }

    /// What a reader is to take from it.
    pub fn text(&self) -> String {
        self.together() + &self.of_inertia().unwrap_or_default()
    }

    /// Inertia by itself, where the two see it differently; it may be small beside the edge layer.
    fn of_inertia(&self) -> Option<String> {
        let Compared { closure, series, difference, error, .. } = self.parts[1];
        let worth = difference > WORTH_TELLING * closure && difference > error;
        worth.then(|| {
            format!(
                " Inertia alone changes the gap mean by {} of U by the closure and by {} by the series{}.",
                percent(closure),
                percent(series),
                if self.corners > 0 { ", which leaves out what is near sharp corners" } else { "" }
            )
        })
    }

    fn together(&self) -> String {
        let both = &self.parts[2];
        let apart = format!(
            "The closure's departure of the gap mean is {} of U (rms), that of the series {}; they differ by {} (rms)",
            percent(both.closure),
            percent(both.series),
            percent(both.difference)
        );
        let [x, y] = both.largest_at.map(|x| significant(1e3 * x, 4));
        let worst = format!("by at most {}, at ({x}, {y}) mm", percent(both.largest));
        match (self.standing, self.cause) {
            (Standing::Same, _) => {
                format!("{apart}, no more than the closure's numerical error of {}.", percent(both.error))
            }
            (Standing::Tolerable, _) => format!("{apart}, less than the tolerance of speed, {worst}."),
            (Standing::Apart, Cause::Corner) => {
                format!("{apart}, {worst}: the series is switched off near a corner there, and the closure decides.")
            }
            (Standing::Apart, Cause::Steep) => format!(
                "{apart}, {worst}: the edge number is beyond {EDGE_LIMIT}, where the series no longer decides; for b/L of 1/20 and more \
                 the closure does."
            ),
            (Standing::Apart, Cause::Unknown) => format!(
                "{apart}, {worst}: neither corners nor the edge number explain it, so that neither decides by itself."
            ),
        }
    }
}

/// A fraction with two digits.
fn percent(x: f64) -> String {
    format!("{} %", significant(100.0 * x, 2))
}

impl Standing {
    /// By the root mean square of the difference.
    fn of(both: &Compared, tolerance: &Tolerance) -> Standing {
        if both.difference <= both.error {
            Standing::Same
        } else if both.difference <= tolerance.speed {
            Standing::Tolerable
        } else {
            Standing::Apart
        }
    }
}

impl Cause {
    fn of(largest_at: Point, bands: &[Band], gap: f64, edge_number: f64) -> Cause {
        if bands.iter().any(|band| plane::distance(band.at, largest_at) < NEAR_CORNER * gap) {
            Cause::Corner
        } else if edge_number > EDGE_LIMIT {
            Cause::Steep
        } else {
            Cause::Unknown
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn compared(difference: f64, error: f64) -> Compared {
        let part = Part::Both;
        Compared { part, closure: 0.03, series: 0.02, difference, largest: 0.1, largest_at: [0.1, 0.2], error }
    }

    /// A difference of 1 % beside a tolerance of 2 %, and beside errors on either side of it.
    #[test]
    fn differences_are_held_against_the_error_first_and_the_tolerance_next() {
        let tolerance = Tolerance { speed: 0.02, ..Tolerance::default() };
        for (difference, error, standing) in [
            (0.01, 0.011, Standing::Same),
            (0.01, 0.01, Standing::Same),
            (0.01, 0.009, Standing::Tolerable),
            (0.02, 0.009, Standing::Tolerable),
            (0.021, 0.009, Standing::Apart),
            (0.021, 0.03, Standing::Same),
        ] {
            assert_eq!(Standing::of(&compared(difference, error), &tolerance), standing, "{difference} {error}");
        }
    }

    /// The largest difference is at (0.1, 0.2) m: a corner nearer than ten gaps comes first, then an edge number beyond 1.5.
    #[test]
    fn causes_are_looked_for_in_turn() {
        let at = |x: f64| [Band { at: [x, 0.2], fluid_angle: 5.0, length: 1e-3 }];
        let (near, far) = (at(0.1 + 9.9e-3), at(0.1 + 10.1e-3));
        for (bands, edge_number, cause) in [
            (&near[..], 1.6, Cause::Corner),
            (&near, 1.0, Cause::Corner),
            (&far, 1.6, Cause::Steep),
            (&far, 1.5, Cause::Unknown),
            (&[], 1.51, Cause::Steep),
        ] {
            assert_eq!(Cause::of([0.1, 0.2], bands, 1e-3, edge_number), cause, "{bands:?} {edge_number}");
        }
    }

    #[test]
    fn the_words_follow_standing_and_cause() {
        let said = |standing, cause, part: &str| {
            let parts = [compared(0.01, 0.001); 3];
            let text = Comparison { parts, standing, cause, corners: 0 }.text();
            assert!(
                text.contains(part) && text.starts_with("The closure's departure of the gap mean is 3.0 % of U"),
                "{text}"
            );
            assert!(text.contains("that of the series 2.0 %; they differ by 1.0 %"), "{text}");
        };
        said(Standing::Same, Cause::Corner, "numerical error of 0.10 %");
        said(
            Standing::Tolerable,
            Cause::Steep,
            "less than the tolerance of speed, by at most 10 %, at (100.0, 200.0) mm",
        );
        said(Standing::Apart, Cause::Corner, "near a corner there, and the closure decides");
        said(Standing::Apart, Cause::Steep, "edge number is beyond 1.5");
        said(Standing::Apart, Cause::Unknown, "neither decides by itself");
        let alone = |difference: f64, error: f64| {
            let parts = [compared(0.01, 0.001), compared(difference, error), compared(0.01, 0.001)];
            let of = |corners| Comparison { parts, standing: Standing::Same, cause: Cause::Unknown, corners }.text();
            assert!(!of(0).contains("sharp corners"));
            of(1).contains("by the series, which leaves out what is near sharp corners")
        };
        assert!(!alone(0.0075, 0.001) && alone(0.0076, 0.001) && !alone(0.0076, 0.0077));
    }
}
