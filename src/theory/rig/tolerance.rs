//! What a tolerance does: every imperfection as a share of the departure tolerances, ranked.
//!
//! A gap that is not even over the cell changes the PATTERN, and no calibration removes it: taper and bow are solved for, and their
//! speed, direction and shift compared with the tolerances. A gap wrong all over, another temperature and a rippling pump scale all
//! speeds alike: the streamlines stay, and only the FLOW (and with it times and streak lengths) is wrong; their share compares the
//! change of speed with the speed tolerance and drops out where speeds are taken relative to the measured mean.

use super::State;
use crate::input::case::Tolerance;
use crate::theory::departure::Measures;

/// What an imperfection changes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Changes {
    /// The streamlines.
    Pattern,
    /// All speeds alike.
    Flow,
}

/// One imperfection.
#[derive(Debug, Clone, PartialEq)]
pub struct Effect {
    /// Its key.
    pub key: &'static str,
    /// Its name.
    pub name: &'static str,
    /// Its size for reading.
    pub amount: String,
    /// What it changes.
    pub changes: Changes,
    /// Relative change of the flow at a given head (of a pump: of its flow).
    pub flow: f64,
    /// Speed departure, largest, fraction of U; of effects on the flow the relative change of all speeds.
    pub speed: f64,
    /// Direction departure, largest, rad.
    pub direction: f64,
    /// Streakline shift, largest, m.
    pub shift: f64,
    /// The largest of the three over its tolerance.
    pub share: f64,
    /// Formula, source and range.
    pub definition: &'static str,
}

/// Measured departure of a pattern in an uneven gap, scaled to the size it has.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PatternEffect {
    /// Change of the gap, fraction: between the side walls, or between edge and middle.
    pub gap_change: f64,
    /// The departure it causes.
    pub measures: Measures,
}

impl Effect {
    fn new(key: &'static str, name: &'static str, amount: String, definition: &'static str) -> Effect {
        let changes = Changes::Flow;
        Effect { key, name, amount, changes, flow: 0.0, speed: 0.0, direction: 0.0, shift: 0.0, share: 0.0, definition }
    }

    fn of_flow(self, flow: f64, speed: f64) -> Effect {
        Effect { flow, speed, ..self }
    }

    fn of_pattern(self, measures: &Measures, flow: f64) -> Effect {
        let Measures { speed_max: speed, direction_max: direction, shift_max: shift, .. } = *measures;
        Effect { changes: Changes::Pattern, flow, speed, direction, shift, ..self }
    }

    fn judged(self, tolerance: &Tolerance) -> Effect {
        let share = self.speed / tolerance.speed;
        let share = share.max(self.direction / tolerance.direction).max(self.shift / tolerance.shift);
        Effect { share, ..self }
    }
}

/// All imperfections, the largest share of the tolerances first.
pub fn effects(state: &State, taper: Option<&PatternEffect>, bow: Option<&PatternEffect>) -> Vec<Effect> {
    let rig = &state.rig;
    let micrometres = |length: f64| format!("{} um", crate::base::units::significant(1e6 * length, 3));
    let percent = |x: f64| format!("{} %", crate::base::units::significant(100.0 * x, 3));
    let gap = rig.gap_tolerance.value / state.gap;
    let mut list = vec![
        Effect::new(
            "gap",
            "gap wrong all over",
            micrometres(rig.gap_tolerance.value),
            "at a given head dQ/Q = 3 db/b and speed 2 db/b, at a given flow head -3 db/b and speed -db/b (cube law, Lamb 1932, art. 330); small db",
        )
        .of_flow(3.0 * gap, 2.0 * gap),
        Effect::new(
            "ripple",
            "pump ripple",
            percent(rig.flow_ripple.value),
            "all speeds follow the flow while its period is long against the settling time; streaklines stay",
        )
        .of_flow(rig.flow_ripple.value, rig.flow_ripple.value),
    ];
    if let Some(slope) = state.viscosity_slope() {
        let change = (slope * rig.temperature_tolerance.value).abs();
        list.push(
            Effect::new(
                "temperature",
                "temperature",
                format!("{} K", rig.temperature_tolerance.value),
                "d(ln mu)/dT from IAPWS R12-08 (water) or Cheng 2008 (glycerol-water); flow at a given head; at a given flow only the head",
            )
            .of_flow(change, change),
        );
    }
    if let Some(effect) = taper {
        list.push(
            Effect::new(
                "taper",
                "gap differs across",
                micrometres(effect.gap_change * state.gap),
                "gap at one side wall less that at the other; solved for, div(b^3 grad p) = 0 at the same mean speed; linear in the taper",
            )
            // the odd part of the taper drops out of the flow: <(1 + e y)^3> = 1 + e^2/4, y from -1/2 to 1/2
            .of_pattern(&effect.measures, 0.25 * effect.gap_change.powi(2)),
        );
    }
    if let Some(effect) = bow {
        list.push(
            Effect::new(
                "bow",
                "plates bow",
                micrometres(effect.gap_change * state.gap),
                "under the mean gauge pressure; solved for with the deflection of plates (Timoshenko & Woinowsky-Krieger); linear in the bow, a sign only above a tenth of the gap; flow: cube law, at most",
            )
            .of_pattern(&effect.measures, 3.0 * effect.gap_change),
        );
    }
    let mut list: Vec<Effect> = list.into_iter().map(|effect| effect.judged(&state.tolerance)).collect();
    list.sort_by(|a, b| b.share.total_cmp(&a.share));
    list
}

#[cfg(test)]
mod tests {
    use super::super::state::tests::example;
    use super::*;

    #[test]
    fn flow_effects_have_their_textbook_size() {
        let state = example("gap_tolerance = \"10 um\"\ntemperature_tolerance = \"2 K\"\nflow_ripple = 0.03");
        let list = effects(&state, None, None);
        let of = |key: &str| list.iter().find(|e| e.key == key).unwrap();
        assert!((of("gap").flow - 0.03).abs() < 1e-15 && (of("gap").speed - 0.02).abs() < 1e-15);
        // water at 20 degC loses 2.4 % of its viscosity per kelvin (IAPWS R12-08: 1137.568, 890.022 uPa s at 15, 25 degC: 2.45 %)
        assert!((of("temperature").flow - 0.0491).abs() < 0.0008, "{}", of("temperature").flow);
        assert!((of("ripple").share - 0.03 / 0.02).abs() < 1e-12);
        assert!(list.windows(2).all(|pair| pair[0].share >= pair[1].share));
        assert!(list.iter().all(|effect| effect.changes == Changes::Flow));
    }
}
