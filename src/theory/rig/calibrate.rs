//! The mean gap, or the viscosity, from a measured flow and drop.
//!
//! Cell and tubes take `Δp = μ (R(b) + T) Q + m Q²`, T and m of the tubes where they are in the measured way, R(b) = 12/(S b³), S the shape factor with
//! the edge layer, which loses `1 − E` of itself in proportion to b; empty, S = (W/L) F(b/W). One equation for b or for μ. Each input is
//! moved by what it may be wrong by, both ways; half the changes, added in squares, is the uncertainty: for the gap a third of the
//! flow's and of the drop's (the cube law).
//!
//! Range: laminar, Re* below one; one gap all over, the cube mean (∫ b⁻³)^(−1/3) along the flow where it varies that way.

use super::{Kind, Losses, Row, Section, State, duct_factor};
use crate::base::bisect::{TO_ROUNDING, sign_change};
use crate::base::units::{Dimension, significant};
use crate::input::case::{Calibration, Sought};

/// How many times thinner or thicker than that of the case a gap may come out.
const WIDEST: f64 = 20.0;
/// Deviation from the case, in uncertainties, that is worth a word.
const FAR: f64 = 2.0;

/// What is found, SI, and by how much each input may move it.
#[derive(Debug, Clone, PartialEq)]
pub struct Calibrated {
    /// The gap, m, or the viscosity, Pa s.
    pub value: f64,
    /// By how much each input may move it: name, change.
    pub shares: Vec<(&'static str, f64)>,
}

impl Calibrated {
    /// All of them together.
    pub fn uncertainty(&self) -> f64 {
        self.shares.iter().map(|(_, change)| change * change).sum::<f64>().sqrt()
    }
}

/// The inputs of one evaluation.
#[derive(Clone, Copy)]
struct Inputs {
    flow: f64,
    drop: f64,
    /// The viscosity where the gap is sought, else the gap.
    other: f64,
}

impl State {
    /// What the measured flow and drop of the case say; none if tubes and fittings alone would take more than the drop.
    pub fn calibrated(&self, measured: &Calibration) -> Option<Calibrated> {
        let own = match measured.find {
            Sought::Gap => self.fluid.viscosity,
            Sought::Viscosity => self.gap,
        };
        let given = Inputs { flow: measured.flow_rate, drop: measured.pressure_drop, other: own };
        let value = self.found(measured, given)?;
        let moved = |name, part: f64, by: &dyn Fn(f64) -> Inputs| -> Option<(&'static str, f64)> {
            let [more, less] = [1.0 + part, 1.0 - part].map(|factor| self.found(measured, by(factor)));
            Some((name, 0.5 * (more? - less?).abs()))
        };
        let (name, part) = match measured.find {
            Sought::Gap => {
                let slope = self.viscosity_slope().unwrap_or(0.0);
                ("temperature", slope.abs() * self.rig.temperature_tolerance.value)
            }
            Sought::Viscosity => ("gap", self.rig.gap_tolerance.value / self.gap),
        };
        let shares = [
            moved("flow", measured.flow_error, &|x| Inputs { flow: given.flow * x, ..given }),
            moved("drop", measured.drop_error, &|x| Inputs { drop: given.drop * x, ..given }),
            moved(name, part, &|x| Inputs { other: given.other * x, ..given }),
        ];
        Some(Calibrated { value, shares: shares.into_iter().collect::<Option<_>>()? })
    }

    fn found(&self, measured: &Calibration, inputs: Inputs) -> Option<f64> {
        let tubing = self.rig.tubing.as_ref().filter(|_| measured.with_tubes);
        let losses = tubing.map(|tubing| Losses::of(tubing, self.fluid.density));
        let (friction, square) = losses.map_or((0.0, 0.0), |losses| (losses.friction, losses.square()));
        // Δp/Q less what goes with the square of the flow: μ (R + T)
        let linear = inputs.drop / inputs.flow - square * inputs.flow;
        let resistance = |gap: f64| self.resistance_at(gap, measured.empty);
        match measured.find {
            Sought::Viscosity => {
                let viscosity = linear / (resistance(inputs.other) + friction);
                (viscosity > 0.0).then_some(viscosity)
            }
            Sought::Gap => {
                let wanted = linear / inputs.other - friction;
                if wanted.is_nan() || wanted <= 0.0 {
                    return None;
                }
                let ends = [self.gap / WIDEST, self.gap * WIDEST];
                let misses = |gap: f64| (resistance(gap) / wanted).ln();
                if misses(ends[0]) < 0.0 || misses(ends[1]) > 0.0 {
                    return None;
                }
                let [low, high] = sign_change(ends, TO_ROUNDING, 1.0, misses);
                Some(0.5 * (low + high))
            }
        }
    }

    /// Pressure over viscosity and flow of the cell at another gap, 1/m3.
    fn resistance_at(&self, gap: f64, empty: bool) -> f64 {
        if empty {
            return 12.0 * self.squares / (gap.powi(3) * duct_factor(gap / self.width));
        }
        let ideal = self.ideal_drop / (self.fluid.viscosity * self.flow);
        let lost = 1.0 - self.ideal_drop / self.drop;
        // the edge layer takes in proportion to the gap; where that would be most of the flow, as the hyperbola of the same slope
        let edges = 1.0 + lost / (1.0 - lost) * gap / self.gap;
        ideal * edges * (self.gap / gap).powi(3)
    }

    /// The calibration as a section, if the case has one.
    pub(super) fn calibration_section(&self) -> Option<Section> {
        let measured = self.rig.calibration.as_ref()?;
        let title = "What the measured flow and drop say";
        let Some(found) = self.calibrated(measured) else {
            let note = format!(
                "Nothing: no gap within a factor of {WIDEST} of that of the case, and no viscosity above zero, takes the measured drop at the measured \
                 flow. Check units, and whether the drop is that of the cell or of cell and tubes."
            );
            return Some(Section::new("calibration", title, Vec::new()).noted(vec![note]));
        };
        let ([key, error_key], name, dimension, own) = match measured.find {
            Sought::Gap => (["gap_m", "gap_error_m"], "mean gap", Dimension::Length, self.gap),
            Sought::Viscosity => {
                (["viscosity_pa_s", "viscosity_error_pa_s"], "viscosity", Dimension::Viscosity, self.fluid.viscosity)
            }
        };
        let kind = Kind::Of(dimension);
        let sigma = found.uncertainty();
        let mut rows = vec![
            Row::new(key, name, found.value, kind).means(
                "at which cell (and tubes) take the measured drop at the measured flow",
                "cube law with the solved shape factor; duct series for the empty cell",
                "laminar; one gap all over",
            ),
            Row::new(error_key, "its uncertainty", sigma, kind).digits(2).means(
                "changes by what flow, drop and the third input may be wrong by, added in squares",
                "dQ/Q = 3 db/b",
                "small errors that do not depend on one another",
            ),
        ];
        rows.extend(found.shares.iter().map(|(name, change)| {
            Row::new(format!("by_{name}"), format!("of it by the {name}"), change / found.value, Kind::Percent)
                .digits(2)
        }));
        let off = (found.value - own) / sigma;
        let mut notes = Vec::new();
        if off.abs() > FAR {
            notes.push(format!(
                "That is {} uncertainties from the {name} of the case, {}: put the measured one into the case, or look for a leak, air, or a wrong \
                 temperature.",
                significant(off.abs(), 2),
                dimension.show_to(own, 4)
            ));
        }
        Some(Section::finite("calibration", title, rows).noted(notes))
    }
}

#[cfg(test)]
mod tests {
    use super::super::state::tests::example;
    use super::*;
    use crate::input::case::Tubing;

    fn measured(find: Sought, flow_rate: f64, pressure_drop: f64) -> Calibration {
        Calibration {
            find,
            flow_rate,
            pressure_drop,
            flow_error: 0.03,
            drop_error: 0.0,
            empty: true,
            with_tubes: false,
        }
    }

    /// The drop of the exact duct at a gap, back to that gap; 3 % of flow are 1 % of gap (cube law, less the edge layer's b/W, 0.5 % of it).
    #[test]
    fn the_gap_of_an_empty_duct_comes_back() {
        let mut state = example("");
        state.rig.temperature_tolerance.value = 0.0;
        let (gap, flow): (f64, f64) = (0.93e-3, 2e-7);
        let drop = 12.0 * state.fluid.viscosity * state.length * flow
            / (state.width * gap.powi(3) * duct_factor(gap / state.width));
        let found = state.calibrated(&measured(Sought::Gap, flow, drop)).unwrap();
        assert!((found.value / gap - 1.0).abs() < 1e-12, "{found:?}");
        assert!((found.uncertainty() / (0.01 * gap) - 1.0).abs() < 5e-3, "{found:?}");
        // and of a drop that is as wrong, as much
        let both = Calibration { drop_error: 0.03, ..measured(Sought::Gap, flow, drop) };
        let both = state.calibrated(&both).unwrap().uncertainty();
        assert!((both / found.uncertainty() - 2f64.sqrt()).abs() < 2e-3);
    }

    /// The viscosity of a fluid three times as thick, with the gap's error counted three times.
    #[test]
    fn the_viscosity_comes_back() {
        let mut state = example("");
        state.rig.gap_tolerance.value = 0.01 * state.gap;
        let flow = 2e-7;
        let drop =
            36e-3 * state.length * flow / (state.width * state.gap.powi(3) * duct_factor(state.gap / state.width));
        let exact = Calibration { flow_error: 0.0, ..measured(Sought::Viscosity, flow, drop) };
        let found = state.calibrated(&exact).unwrap();
        assert!((found.value / 3e-3 - 1.0).abs() < 1e-12, "{found:?}");
        assert!((found.uncertainty() / (0.03 * found.value) - 1.0).abs() < 5e-3, "{found:?}");
    }

    /// With obstacles and tubes: the state's own flow and drop, and what tubes take beside it, give its own gap and viscosity.
    #[test]
    fn cell_and_tubes_give_their_own_gap_and_viscosity() {
        let mut state = example("");
        state.ideal_drop = 0.98 * state.drop;
        let tubing = Tubing { length: 1.0, bore: 3e-3, number: 2, losses: vec![1.0], supply_level: None };
        let losses = Losses::of(&tubing, state.fluid.density);
        state.rig.tubing = Some(tubing);
        let flow = 5.0 * state.flow;
        let drop = 5.0 * state.drop + state.fluid.viscosity * losses.friction * flow + losses.square() * flow * flow;
        for (find, own) in [(Sought::Gap, state.gap), (Sought::Viscosity, state.fluid.viscosity)] {
            let all = Calibration { empty: false, with_tubes: true, ..measured(find, flow, drop) };
            let found = state.calibrated(&all).unwrap().value;
            assert!((found / own - 1.0).abs() < 1e-12, "{find:?} {found}");
            // tubes that take more than was measured leave nothing
            assert!(state.calibrated(&Calibration { pressure_drop: 1e-9 * drop, ..all }).is_none());
        }
    }

    #[test]
    fn what_is_far_from_the_case_is_told() {
        let mut state = example("");
        let told = |state: &State| state.calibration_section().unwrap().notes.len();
        let drop = |factor: f64| factor * state.empty_drop();
        let (same, other) = (drop(1.0), drop(1.5));
        let flow = state.speed * state.width * state.gap;
        state.rig.calibration = Some(measured(Sought::Gap, flow, same));
        assert_eq!(told(&state), 0);
        state.rig.calibration = Some(measured(Sought::Gap, flow, other));
        assert_eq!(told(&state), 1);
        state.rig.calibration = Some(measured(Sought::Gap, flow, 1e9 * same));
        assert!(state.calibration_section().unwrap().notes[0].starts_with("Nothing"));
    }
}
