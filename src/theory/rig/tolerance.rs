//! What a tolerance does: every imperfection as a share of the departure tolerances, ranked.
//!
//! A gap that is not even over the cell changes the PATTERN, and no calibration removes it: taper and bow are solved for, and their
//! speed, direction and shift compared with the tolerances. A gap wrong all over, another temperature and a rippling pump scale all
//! speeds alike: the streamlines stay, and only the FLOW (and with it times and streak lengths) is wrong; their share compares the
//! change of speed with the speed tolerance and drops out where speeds are taken relative to the measured mean.

use super::State;
use crate::base::units::significant;
use crate::input::case::Tolerance;
use crate::theory::departure::{Measure, Measures};

/// What an imperfection changes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Changes {
    /// The streamlines.
    Pattern,
    /// All speeds alike.
    Flow,
}

/// What is not as the case says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cause {
    /// The gap, wrong all over.
    Gap,
    /// The flow of the pump, which ripples.
    Ripple,
    /// The temperature, and with it the viscosity.
    Temperature,
    /// The gap, which differs between the side walls.
    Taper,
    /// The plates, which bow under the pressure.
    Bow,
}

impl Cause {
    /// Its key in files.
    pub fn key(self) -> &'static str {
        match self {
            Cause::Gap => "gap",
            Cause::Ripple => "ripple",
            Cause::Temperature => "temperature",
            Cause::Taper => "taper",
            Cause::Bow => "bow",
        }
    }

    /// Its name for reading.
    pub fn name(self) -> &'static str {
        match self {
            Cause::Gap => "gap wrong all over",
            Cause::Ripple => "pump ripple",
            Cause::Temperature => "temperature",
            Cause::Taper => "gap differs across",
            Cause::Bow => "plates bow",
        }
    }

    /// What it changes.
    pub fn changes(self) -> Changes {
        match self {
            Cause::Gap | Cause::Ripple | Cause::Temperature => Changes::Flow,
            Cause::Taper | Cause::Bow => Changes::Pattern,
        }
    }

    /// Formula, source and range.
    pub fn definition(self) -> &'static str {
        match self {
            Cause::Gap => {
                "at a given head dQ/Q = 3 db/b and speed 2 db/b, at a given flow head -3 db/b and speed -db/b (cube law, Lamb 1932, art. 330); small db"
            }
            Cause::Ripple => {
                "all speeds follow the flow while its period is long against the settling time; streaklines stay"
            }
            Cause::Temperature => {
                "d(ln mu)/dT from IAPWS R12-08 (water) or Cheng 2008 (glycerol-water); flow at a given head; at a given flow only the head"
            }
            Cause::Taper => {
                "gap at one side wall less that at the other; solved for, div(b^3 grad p) = 0 at the same mean speed; linear in the taper"
            }
            Cause::Bow => {
                "under the mean gauge pressure; solved for with the deflection of plates (Timoshenko & Woinowsky-Krieger); linear in the bow, a sign only above a tenth of the gap; flow: cube law, at most"
            }
        }
    }
}

/// One imperfection.
#[derive(Debug, Clone, PartialEq)]
pub struct Imperfection {
    /// Its cause.
    pub cause: Cause,
    /// Its size for reading.
    pub amount: String,
    /// Relative change of the flow at a given head (of a pump: of its flow).
    pub flow: f64,
    /// Speed departure as it is judged ([`crate::theory::departure::Spread::judged`]), fraction of U; of effects on the flow the relative change of all speeds.
    pub speed: f64,
    /// Direction departure, as judged, rad.
    pub direction: f64,
    /// Streakline shift, as judged, m.
    pub shift: f64,
    /// The largest of the three over its tolerance.
    pub share: f64,
}

/// Measured departure of a pattern in an uneven gap, scaled to the size it has.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PatternEffect {
    /// Change of the gap, fraction: between the side walls, or between edge and middle.
    pub gap_change: f64,
    /// The departure it causes.
    pub measures: Measures,
}

impl Imperfection {
    /// One that changes all speeds alike.
    fn of_flow(cause: Cause, amount: String, flow: f64, speed: f64) -> Imperfection {
        Imperfection { cause, amount, flow, speed, direction: 0.0, shift: 0.0, share: 0.0 }
    }

    /// One that changes the pattern.
    fn of_pattern(cause: Cause, amount: String, flow: f64, measures: &Measures) -> Imperfection {
        let [speed, direction, shift] = Measure::ALL.map(|measure| measures.of(measure).judged);
        Imperfection { cause, amount, flow, speed, direction, shift, share: 0.0 }
    }

    fn judged(self, tolerance: &Tolerance) -> Imperfection {
        let share = self.speed / tolerance.speed;
        let share = share.max(self.direction / tolerance.direction).max(self.shift / tolerance.shift);
        Imperfection { share, ..self }
    }
}

/// All imperfections, the largest share of the tolerances first. Relative changes of flow and speed:
///
/// - a gap wrong by Δb all over, at a given head: `3 Δb/b` and `2 Δb/b` (cube law);
/// - temperature, at a given head: `|d ln μ/dT| ΔT`; ripple: its own;
/// - taper: its odd part drops out of the flow, `⟨(1 + e y)³⟩ = 1 + e²/4` for y from −1/2 to 1/2;
/// - bow: three times the change of the gap, at most.
pub fn imperfections(state: &State, taper: Option<&PatternEffect>, bow: Option<&PatternEffect>) -> Vec<Imperfection> {
    let rig = &state.rig;
    let micrometres = |length: f64| format!("{} um", significant(1e6 * length, 3));
    let percent = |x: f64| format!("{} %", significant(100.0 * x, 3));
    let gap = rig.gap_tolerance.value / state.gap;
    let ripple = rig.flow_ripple.value;
    let mut list = vec![
        Imperfection::of_flow(Cause::Gap, micrometres(rig.gap_tolerance.value), 3.0 * gap, 2.0 * gap),
        Imperfection::of_flow(Cause::Ripple, percent(ripple), ripple, ripple),
    ];
    if let Some(slope) = state.viscosity_slope() {
        let change = (slope * rig.temperature_tolerance.value).abs();
        let amount = format!("{} K", rig.temperature_tolerance.value);
        list.push(Imperfection::of_flow(Cause::Temperature, amount, change, change));
    }
    let uneven = |cause: Cause, effect: &PatternEffect, flow: f64| {
        Imperfection::of_pattern(cause, micrometres(effect.gap_change * state.gap), flow, &effect.measures)
    };
    list.extend(taper.map(|effect| uneven(Cause::Taper, effect, 0.25 * effect.gap_change.powi(2))));
    list.extend(bow.map(|effect| uneven(Cause::Bow, effect, 3.0 * effect.gap_change)));
    let mut list: Vec<Imperfection> = list.into_iter().map(|one| one.judged(&state.tolerance)).collect();
    list.sort_by(|a, b| b.share.total_cmp(&a.share));
    list
}

#[cfg(test)]
mod tests {
    use super::super::state::tests::example;
    use super::*;
    use crate::theory::departure::Spread;

    #[test]
    fn flow_effects_have_their_textbook_size() {
        let state = example("gap_tolerance = \"10 um\"\ntemperature_tolerance = \"2 K\"\nflow_ripple = 0.03");
        let list = imperfections(&state, None, None);
        let of = |cause: Cause| list.iter().find(|one| one.cause == cause).unwrap();
        assert!((of(Cause::Gap).flow - 0.03).abs() < 1e-15 && (of(Cause::Gap).speed - 0.02).abs() < 1e-15);
        // water at 20 degC loses 2.4 % of its viscosity per kelvin (IAPWS R12-08: 1137.568, 890.022 uPa s at 15, 25 degC: 2.45 %)
        assert!((of(Cause::Temperature).flow - 0.0491).abs() < 0.0008, "{}", of(Cause::Temperature).flow);
        assert!((of(Cause::Ripple).share - 0.03 / 0.02).abs() < 1e-12);
        assert!(list.windows(2).all(|pair| pair[0].share >= pair[1].share));
        assert!(list.iter().all(|one| one.cause.changes() == Changes::Flow));
    }

    /// Taper and bow bring what was solved for; the share is the largest of the three over its tolerance. Flow: <(1 + e y)³> over the width is
    /// 1 + e²/4, and a bow by 2 % all over would pass 6 % more.
    #[test]
    fn uneven_gaps_are_shared_out() {
        let state = example("gap_tolerance = \"10 um\"");
        let t = &state.tolerance;
        let measures = |speed: f64, direction: f64, shift: f64| Measures {
            speed: Spread { judged: speed * t.speed, ..Spread::default() },
            direction: Spread { judged: direction * t.direction, ..Spread::default() },
            shift: Spread { judged: shift * t.shift, ..Spread::default() },
            coefficient: Spread::default(),
        };
        for (all, share) in [([3.0, 0.1, 0.2], 3.0), ([0.1, 4.0, 0.2], 4.0), ([0.1, 0.2, 5.0], 5.0)] {
            let taper = PatternEffect { gap_change: 0.01, measures: measures(all[0], all[1], all[2]) };
            let bow = PatternEffect { gap_change: 0.02, measures: measures(0.5, 0.0, 0.0) };
            let list = imperfections(&state, Some(&taper), Some(&bow));
            assert_eq!((list.len(), list[0].cause), (5, Cause::Taper));
            let of = |cause: Cause| list.iter().find(|one| one.cause == cause).unwrap();
            let (one, other) = (of(Cause::Taper), of(Cause::Bow));
            assert!((one.share - share).abs() < 1e-12 && (other.share - 0.5).abs() < 1e-12, "{list:#?}");
            assert!((one.speed - taper.measures.speed.judged).abs() < 1e-15);
            assert!((one.direction - taper.measures.direction.judged).abs() < 1e-15);
            assert!((one.shift - taper.measures.shift.judged).abs() < 1e-15);
            let n = 2000;
            let width = (0..n).map(|k| (f64::from(k) + 0.5) / f64::from(n) - 0.5);
            let flow = width.map(|y| (1.0 + 0.01 * y).powi(3)).sum::<f64>() / f64::from(n) - 1.0;
            assert!((one.flow - flow).abs() < 1e-8 && (other.flow - 0.06).abs() < 1e-12);
            assert_eq!((one.amount.as_str(), other.amount.as_str()), ("10.0 um", "20.0 um"));
            assert!([one, other].iter().all(|x| x.cause.changes() == Changes::Pattern));
        }
        // a gap wrong by a hundredth: 2 % of speed over its tolerance
        let list = imperfections(&state, None, None);
        assert!((list.iter().find(|one| one.cause == Cause::Gap).unwrap().share - 0.02 / t.speed).abs() < 1e-12);
    }

    #[test]
    fn causes_have_keys_of_their_own() {
        let all = [Cause::Gap, Cause::Ripple, Cause::Temperature, Cause::Taper, Cause::Bow];
        assert_eq!(all.map(Cause::key), ["gap", "ripple", "temperature", "taper", "bow"]);
        for of in [Cause::name, Cause::definition] {
            let mut texts = all.map(of);
            texts.sort_unstable();
            assert!(texts.windows(2).all(|pair| pair[0] != pair[1]));
        }
    }
}
