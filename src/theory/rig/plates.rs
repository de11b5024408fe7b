//! What the plates bear: deflection, change of the gap, force, stress.
//!
//! Thin plates of rigidity D = E t³/(12(1 - ν²)) under an even load, see [`crate::input::case::plate`].

use super::{Kind, Row, Section, State};
use crate::base::units::Dimension;
use crate::base::units::GRAVITY;
use crate::input::case::MATERIALS;
use crate::input::case::plate::{Plate, rigidity};

/// Bending stress that plates should not carry for long, Pa, common practice.
const LASTING: f64 = 5e6;

const PLATE: &str = "Timoshenko & Woinowsky-Krieger, arts. 30 and 44";

impl State {
    /// Deflection per load at the middle of a plate over the cell, m/Pa.
    pub fn deflection_per_load(&self) -> f64 {
        let rig = &self.rig;
        let stiffness = rigidity(rig.youngs_modulus.value, rig.plate_thickness.value, rig.poisson_ratio.value);
        Plate::new(self.plates.size(), stiffness, rig.plate_edges.value).centre()
    }

    /// Weight of a plate per area, Pa.
    pub fn plate_weight(&self) -> f64 {
        self.rig.plate_density.value * GRAVITY * self.rig.plate_thickness.value
    }

    pub(super) fn plates_section(&self) -> Section {
        let per_load = self.deflection_per_load();
        let (q, weight) = (self.load(), self.plate_weight());
        let thickness = self.rig.plate_thickness.value;
        let [length, width] = self.plates.size();
        let short = length.min(width);
        // a strip of the short span bends more than the plate: q a^2/8 supported, q a^2/12 at clamped edges, stress 6 M/t^2
        let moment = (q + weight) * short * short / if self.clamped() { 12.0 } else { 8.0 };
        let largest = (q + weight) * per_load;
        let length = Kind::Of(Dimension::Length);
        let small = "deflection below half the thickness; span: the cell's length and width";
        let rows = vec![
            Row::new("mean_gauge_pressure_pa", "mean gauge pressure q", q, Kind::Pressure).means(
                "dp/2 + rho g times the outlet's level above the plates",
                "statics",
                "a raised or closed outlet adds its whole head",
            ),
            Row::new("plate_weight_pa", "weight per area", weight, Kind::Pressure).means(
                "rho_p g t of one plate",
                "statics",
                "plates lying flat",
            ),
            Row::new("plate_deflection_m", "largest deflection of a plate", largest, length).means(
                "c (q + rho_p g t) a^4/D: the lower plate, under pressure and its own weight",
                PLATE,
                small,
            ),
            Row::new("gap_change_m", "gap opens in the middle by", 2.0 * q * per_load, length).means(
                "2 c q a^4/D; the sag by weight is the same for both plates and drops out",
                PLATE,
                small,
            ),
            Row::new("gap_change_fraction", "the same over the gap", 2.0 * q * per_load / self.gap, Kind::Percent).means(
                "db/b in the middle; share of the tolerances below",
                PLATE,
                small,
            ),
            Row::new("gap_closing_on_table_m", "gap closes on a flat table by", (weight - q) * per_load, length).means(
                "c (rho_p g t - q) a^4/D, if the lower plate rests all over and the upper one sags into the gap (negative: it opens)",
                PLATE,
                small,
            ),
            Row::new("plate_force_n", "force that opens the cell", q * self.area, Kind::Force).means(
                "q times the area; clamps and seals must hold it, and their own pressure on top",
                "statics",
                "steady flow; a closed outlet or a pinched tube lets a pump build up far more",
            ),
            Row::new("plate_stress_pa", "bending stress, at most", 6.0 * moment / (thickness * thickness), Kind::Unit("Pa", 1e6, "MPa")).means(
                format!("6 M/t^2 of a strip across the short span, M = (q + rho_p g t) a^2/{}", if self.clamped() { 12 } else { 8 }),
                PLATE,
                "even load only: clamp points and holes add several times as much",
            ),
        ];
        let mut section = Section::finite("", "Plates", rows);
        if !self.is_rectangle {
            section.notes.push(
                "Deflection and stress are those of plates over the box round the cell, under pressure all over it: the spacer beside the cell \
                 holds real ones better."
                    .into(),
            );
        }
        if largest > 0.5 * thickness {
            section.notes.push(
                "The deflection exceeds half the thickness: thin-plate theory overestimates it; use thicker plates."
                    .into(),
            );
        }
        if 6.0 * moment / (thickness * thickness) > LASTING {
            section.notes.push(
                "The bending stress exceeds 5 MPa: under lasting load acrylic crazes and glass may break (common practice). Use thicker \
                 plates, a lower pressure or supports."
                    .into(),
            );
        }
        if self.is_rectangle && (1e-3..0.5).contains(&(2.0 * q * per_load / self.gap)) {
            section.notes.push(format!(
                "To compute with the bowed gap write gap = {{ at = \"{}\", bowed = true }} in [cell].",
                Dimension::Length.show(self.gap)
            ));
        }
        section.notes.push(materials());
        section.cautions.extend([
            "Glass and acrylic can crack or burst under load, and a pump against a closed outlet builds up far more than this pressure. Limit \
             the pressure (open overflow instead of a closed pump line), pad the clamps, tighten evenly, wear eye protection. This sheet is \
             no strength proof: follow the rules of your house and ask qualified staff before filling or showing a cell.",
            "Sealing pressure adds to the load: tighten a gasket only until it stops leaking, never metal on glass.",
        ]);
        section
    }
}

/// The materials a case may name, with the values taken.
fn materials() -> String {
    let list = MATERIALS.map(|m| {
        format!(
            "{} E = {}, nu = {}, {}",
            m.name,
            Dimension::Pressure.show(m.youngs_modulus),
            m.poisson_ratio,
            Dimension::Density.show(m.density)
        )
    });
    format!("Materials to name: {} (common practice, makers' data differ by some ten per cent).", list.join("; "))
}

#[cfg(test)]
mod tests {
    use super::super::state::tests::example;

    /// Timoshenko & Woinowsky-Krieger, table 8: c = 0.01013 (0.010128663 by the series) for sides 2:1, supported.
    #[test]
    fn the_deflection_is_that_of_the_table() {
        let state = example("material = \"glass\"\nplate_thickness = \"5 mm\"\noutlet_level = \"100 mm\"");
        let d = 70e9 * 0.005f64.powi(3) / (12.0 * (1.0 - 0.22 * 0.22));
        let q = 0.5 * state.drop + 998.2072 * 9.80665 * 0.1;
        let w = |load: f64| 0.010_128_663 * load * 0.2f64.powi(4) / d;
        let section = state.plates_section();
        let found = section.number("plate_deflection_m").unwrap();
        let weight = 2500.0 * 9.80665 * 0.005;
        assert!((found / w(q + weight) - 1.0).abs() < 1e-6, "{found}");
        assert!((section.number("gap_change_m").unwrap() / (2.0 * w(q)) - 1.0).abs() < 1e-6);
        // 6 (q a^2/8)/t^2
        let stress = 0.75 * (q + weight) * (0.2f64 / 0.005).powi(2);
        assert!((section.number("plate_stress_pa").unwrap() / stress - 1.0).abs() < 1e-6);
    }

    /// Clamped at both ends, a strip bends by q a²/12 at its ends (Timoshenko & Woinowsky-Krieger, chapter 1), two thirds of q a²/8; the plate of
    /// sides 2:1 sinks by 0.00254 q a⁴/D (table 35), a quarter of the supported one, to the digits given.
    #[test]
    fn clamped_plates_bend_less() {
        let of = |edges: &str| {
            let state =
                example(&format!("plate_edges = \"{edges}\"\nmaterial = \"glass\"\nplate_thickness = \"5 mm\""));
            let section = state.plates_section();
            ["plate_stress_pa", "plate_deflection_m"].map(|key| section.number(key).unwrap())
        };
        let ([stress, deflection], supported) = (of("clamped"), of("supported"));
        let state = example("");
        let load = 0.5 * state.drop + 2500.0 * 9.80665 * 0.005;
        assert!((stress / (6.0 * load * 0.2f64.powi(2) / 12.0 / 0.005f64.powi(2)) - 1.0).abs() < 1e-6, "{stress}");
        assert!((stress / supported[0] - 2.0 / 3.0).abs() < 1e-9);
        assert!((deflection / supported[1] - 0.00254 / 0.01013).abs() < 0.003, "{deflection} {supported:?}");
    }
}
