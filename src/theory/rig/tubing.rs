//! Tubes and cell together: which flow a head drives through both, and where the head goes.
//!
//! A tube of bore d and length l takes `128 μ l q/(π d⁴)` of the pressure (Hagen & Poiseuille; White, Viscous Fluid Flow), and ρ v²/2 times
//! the loss factors of its fittings and of its entrance: the fluid is set in motion, 2 for the parabola, and the profile develops, 0.28
//! (Hornbeck 1964, recalled: 1.28 in excess of an even inflow). What goes into the drain is lost. The sum is a + c Q in Q.
//!
//! Range: Reynolds number of the tube below 2000, no bends tighter than some bores; tubes shorter than the length in which their profile develops,
//! `0.056 Re d` (Durst et al. 2005 for long ones), take less.

use super::{Kind, Row, Section, State};
use crate::base::units::{Dimension, GRAVITY, significant};
use crate::input::case::Tubing;
use std::f64::consts::PI;

/// Loss factor of the entrance from a reservoir, profile included.
pub const ENTRANCE: f64 = 2.28;
/// Reynolds number up to which the flow in a tube is surely laminar.
const LAMINAR_TUBE: f64 = 2000.0;
/// Length over Re d in which the profile develops.
const DEVELOPS: f64 = 0.0567;

/// What resists a flow through equal tubes side by side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Losses {
    /// Pressure over viscosity and flow by friction, 1/m3.
    pub friction: f64,
    /// Pressure over the square of the flow by the entrance, Pa s2/m6.
    pub entrance: f64,
    /// The same by fittings.
    pub fittings: f64,
}

impl Losses {
    /// Those of a rig's tubes with a fluid of this density, kg/m3.
    pub fn of(tubing: &Tubing, density: f64) -> Losses {
        let number = tubing.number as f64;
        let area = 0.25 * PI * tubing.bore * tubing.bore * number;
        let dynamic = 0.5 * density / (area * area);
        Losses {
            friction: 128.0 * tubing.length / (PI * tubing.bore.powi(4) * number),
            entrance: ENTRANCE * dynamic,
            fittings: tubing.losses.iter().sum::<f64>() * dynamic,
        }
    }

    /// What goes with the square of the flow, Pa s2/m6.
    pub fn square(&self) -> f64 {
        self.entrance + self.fittings
    }

    /// The flow, m3/s, that a pressure difference, Pa, drives through these tubes and a cell that takes `cell` Pa s/m3, by a fluid of this
    /// viscosity; backwards for a negative difference.
    ///
    /// ```
    /// use twinplate::theory::rig::Losses;
    /// let bare = Losses { friction: 0.0, entrance: 0.0, fittings: 0.0 };
    /// assert_eq!(bare.flow(10.0, 1e-3, 5.0), 2.0);
    /// ```
    pub fn flow(&self, pressure: f64, viscosity: f64, cell: f64) -> f64 {
        let linear = cell + viscosity * self.friction;
        // the root of square Q² + linear Q = pressure that keeps its digits
        let root = (linear * linear + 4.0 * self.square() * pressure.abs()).sqrt();
        2.0 * pressure / (linear + root)
    }
}

impl State {
    /// Pressure over flow of the cell with the edge layer, Pa s/m3.
    pub fn resistance(&self) -> f64 {
        self.drop / self.flow
    }

    /// Tubes and cell together, if the case has tubes.
    pub(super) fn tubing_section(&self) -> Option<Section> {
        let tubing = self.rig.tubing.as_ref()?;
        let losses = Losses::of(tubing, self.fluid.density);
        let weight = self.fluid.density * GRAVITY;
        let driven = tubing.supply_level.map(|level| level - self.rig.outlet_level.value);
        let flow = driven.map_or(self.flow, |head| losses.flow(weight * head, self.fluid.viscosity, self.resistance()));
        let heads = self.heads(&losses, flow);
        let total: f64 = heads.iter().map(|(.., head)| head).sum();
        let tube = flow.abs() / tubing.number as f64;
        let reynolds = 4.0 * tube * self.fluid.density / (PI * tubing.bore * self.fluid.viscosity);
        let develops = DEVELOPS * reynolds * tubing.bore;
        let length = Kind::Of(Dimension::Length);
        let laminar = "laminar; tubes far longer than their entrance";
        let source = "Hagen-Poiseuille; White, Viscous Fluid Flow";
        let mut rows = vec![
            Row::new("flow_rate_m3_per_s", "flow rate", flow, Kind::Of(Dimension::FlowRate)).means(
                if driven.is_some() {
                    "at which cell and tubes take the head between the free surfaces"
                } else {
                    "that of the case"
                },
                source,
                laminar,
            ),
            Row::new(
                "mean_speed_m_per_s",
                "mean speed in the cell",
                self.speed * flow / self.flow,
                Kind::Of(Dimension::Speed),
            ),
            Row::new("head_m", "head of cell and tubes", total, length).means(
                "distance of the free surfaces of supply and drain",
                source,
                laminar,
            ),
        ];
        rows.extend(heads.iter().map(|(key, name, head)| Row::new(*key, *name, *head, length).digits(3)));
        rows.push(Row::new("reynolds_tube", "Reynolds number of a tube", reynolds, Kind::Number).digits(3));
        rows.push(Row::new("entrance_length_m", "length in which the profile develops", develops, length).digits(3));
        let (limit, name) = limiting(&heads);
        rows.push(Row::new("limited_by", "what limits the flow", limit, Kind::Number));
        let mut notes = vec![format!(
            "{} % of the head is lost in {name}.",
            significant(100.0 * heads.iter().map(|(.., head)| head.abs()).fold(0.0, f64::max) / total.abs(), 3)
        )];
        if reynolds > LAMINAR_TUBE {
            notes.push("The flow in the tubes is not laminar: they take more head than this. Take wider tubes or more of them.".into());
        } else if develops > tubing.length {
            notes.push("The tubes end before their profile has developed: what they take lies below the sum and above its friction.".into());
        }
        if flow < 0.0 {
            notes.push("The drain stands above the supply: the cell runs backwards.".into());
        }
        Some(Section::finite("tubing", "Cell and tubes together", rows).noted(notes))
    }

    /// Where the head goes at a flow, m: keys, names, heads.
    fn heads(&self, losses: &Losses, flow: f64) -> [(&'static str, &'static str, f64); 4] {
        let weight = self.fluid.density * GRAVITY;
        let square = flow * flow.abs() / weight;
        [
            ("head_cell_m", "the cell", self.resistance() * flow / weight),
            ("head_friction_m", "friction in the tubes", self.fluid.viscosity * losses.friction * flow / weight),
            ("head_entrance_m", "the entrance of the tubes", losses.entrance * square),
            ("head_fittings_m", "fittings", losses.fittings * square),
        ]
    }
}

/// What takes most of the head: its word in files and its name.
fn limiting(heads: &[(&'static str, &'static str, f64); 4]) -> (&'static str, &'static str) {
    let words = ["cell", "friction", "entrance", "fittings"];
    let of = |k: usize| heads[k].2.abs();
    let k = (1..4).fold(0, |most, k| if of(k) > of(most) { k } else { most });
    (words[k], heads[k].1)
}

#[cfg(test)]
mod tests {
    use super::super::state::tests::example;
    use super::*;
    use crate::base::row::Value;

    fn tubing() -> Tubing {
        Tubing { length: 1.0, bore: 4e-3, number: 1, losses: Vec::new(), supply_level: None }
    }

    /// 100 mL/min of water of 1.0016 mPa s through 1 m of 4 mm: 128 μ l q/(π d⁴) = 265.6827 Pa; v = 0.132629 m/s, ρ v²/2 = 8.77941 Pa.
    #[test]
    fn a_tube_takes_the_textbook_pressure() {
        let flow = 100e-6 / 60.0;
        let losses = Losses::of(&Tubing { losses: vec![0.5, 1.0], ..tubing() }, 998.2);
        assert!((1.0016e-3 * losses.friction * flow / 265.6827 - 1.0).abs() < 1e-6);
        assert!((losses.entrance * flow * flow / (2.28 * 8.77941) - 1.0).abs() < 1e-6);
        assert!((losses.fittings * flow * flow / (1.5 * 8.77941) - 1.0).abs() < 1e-6);
        // two side by side take each half the flow
        let two = Losses::of(&Tubing { number: 2, ..tubing() }, 998.2);
        assert!((two.friction / losses.friction - 0.5).abs() < 1e-12);
        assert!((two.entrance / losses.entrance - 0.25).abs() < 1e-12);
    }

    /// The flow that a head drives takes that head, forwards and backwards, and for a small one the friction alone counts.
    #[test]
    fn the_flow_takes_the_head_it_is_given() {
        let losses = Losses::of(&Tubing { losses: vec![3.0], ..tubing() }, 1e3);
        for pressure in [1e-6, 3.0, 5e3, -700.0] {
            let flow = losses.flow(pressure, 1e-3, 2e7);
            let taken = (2e7 + 1e-3 * losses.friction) * flow + losses.square() * flow * flow.abs();
            assert!((taken / pressure - 1.0).abs() < 1e-12, "{pressure} {taken}");
        }
        let small = losses.flow(1e-9, 1e-3, 0.0) * 1e-3 * losses.friction;
        assert!((small / 1e-9 - 1.0).abs() < 1e-6);
    }

    #[test]
    fn the_section_says_where_the_head_goes() {
        let mut state = example("");
        assert!(state.tubing_section().is_none());
        // a tube of a twentieth of a millimetre takes more than the cell, one of a centimetre next to nothing
        for (bore, limit) in [(5e-5, "friction"), (1e-2, "cell")] {
            state.rig.tubing = Some(Tubing { bore, ..tubing() });
            let section = state.tubing_section().unwrap();
            let limited = section.rows.iter().find(|row| row.key == "limited_by").unwrap();
            assert_eq!(limited.value, Value::from(limit), "{bore}");
            let parts = ["head_cell_m", "head_friction_m", "head_entrance_m", "head_fittings_m"];
            let sum: f64 = parts.iter().map(|key| section.number(key).unwrap()).sum();
            assert!((sum / section.number("head_m").unwrap() - 1.0).abs() < 1e-12);
            assert!((section.number("flow_rate_m3_per_s").unwrap() / state.flow - 1.0).abs() < 1e-12);
        }
        // reservoirs 100 mm apart through a wide tube: fast, and said not to be laminar
        state.rig.tubing = Some(Tubing { bore: 1e-2, supply_level: Some(0.1), ..tubing() });
        let section = state.tubing_section().unwrap();
        assert!((section.number("head_m").unwrap() / 0.1 - 1.0).abs() < 1e-9);
        assert!(section.number("reynolds_tube").unwrap() > 0.0);
        state.rig.tubing = Some(Tubing { bore: 1e-2, supply_level: Some(-0.1), ..tubing() });
        assert!(state.tubing_section().unwrap().notes.iter().any(|note| note.contains("backwards")));
    }
}
