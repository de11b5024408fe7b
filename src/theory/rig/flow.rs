//! Flow, pressure and head: what the pump or the reservoir must give.
//!
//! `Q = U W b`; pressure drop of the empty cell `dp = 12 μ U L_c/(b² F)`, F the flow factor of a rectangular duct (White, Viscous
//! Fluid Flow; Shah & London 1978), for wide cells 1 - 0.630 b/W; with obstacles `dp = Q/(K S)`, K = b³/(12 μ), S the solved shape
//! factor with the edge layer to first order in b/L.

use super::{Kind, Row, Section, State};
use crate::base::units::GRAVITY;
use crate::base::units::{Dimension, significant};

/// 192 * (31/32) ζ(5)/π⁵: a wide duct carries 1 - DUCT b/W of the flow without side walls, twice the displacement thickness.
pub const DUCT: f64 = 2.0 * crate::theory::edge_layer::DISPLACEMENT;

/// Flow of a rectangular duct of gap b and width W over that without side walls,
/// `F = 1 − (192/π⁵)(b/W) Σ_{n odd} n⁻⁵ tanh(n π W/(2b))` (White, Viscous Fluid Flow; Shah & London 1978). Exact for slow,
/// developed flow; at any ratio.
///
/// ```
/// assert!((twinplate::theory::rig::duct_factor(1.0) - 0.421731045).abs() < 1e-9);
/// ```
pub fn duct_factor(gap_over_width: f64) -> f64 {
    const TERMS: usize = 64;
    if gap_over_width > 1.0 {
        // the same duct seen from its side
        return duct_factor(1.0 / gap_over_width) / (gap_over_width * gap_over_width);
    }
    let pi = std::f64::consts::PI;
    let term = |n: f64| (n * pi / (2.0 * gap_over_width)).tanh() / n.powi(5);
    // what the terms leave out, by the integral of n^-5 over every second n: below 2e-10
    let rest = 0.125 / (2 * TERMS) as f64 / ((2 * TERMS) as f64).powi(3);
    let sum: f64 = (0..TERMS).map(|k| term((2 * k + 1) as f64)).sum::<f64>() + rest;
    1.0 - 192.0 / pi.powi(5) * gap_over_width * sum
}

const EDGES: &str = "solved shape factor with its bounds; edge layer: Thompson 1968 (J. Fluid Mech. 31, 379)";

impl State {
    /// Pressure drop of the cell without obstacles, with its side walls, Pa.
    pub fn empty_drop(&self) -> f64 {
        let length = self.squares * self.width;
        12.0 * self.fluid.viscosity * self.speed * length / (self.gap.powi(2) * duct_factor(self.gap / self.width))
    }

    pub(super) fn flow_section(&self) -> Section {
        let head = |dp: f64| dp / (self.fluid.density * GRAVITY);
        let length = Kind::Of(Dimension::Length);
        let slow = "laminar, steady; Re* below one";
        let drop_range = format!("known to {} %; first order in b/L", significant(100.0 * self.known_to, 2));
        let conductivity = Kind::Unit("m3/(Pa s)", 1e-6 / 60.0, "mL/min per Pa");
        let rows = vec![
            Row::new("sheet_conductivity_m3_per_pa_s", "sheet conductivity K", self.conductivity(), conductivity)
                .means(
                    "b^3/(12 mu), flow per width for a pressure gradient, b at the middle of the cell",
                    "Lamb 1932, art. 330",
                    "developed laminar flow",
                ),
            Row::new("mean_speed_m_per_s", "mean speed U", self.speed, Kind::Of(Dimension::Speed)).means(
                "averaged over gap and inlet; mid-gap fluid moves at 1.5 U",
                "given, or by the solved shape factor",
                slow,
            ),
            Row::new("flow_rate_m3_per_s", "flow rate Q", self.flow, Kind::Of(Dimension::FlowRate)).means(
                "Q = U W b",
                "conservation of volume",
                slow,
            ),
            Row::new("pressure_drop_pa", "pressure drop dp", self.drop, Kind::Pressure).means(
                "Q/(K S) between the ends, with obstacles and edge layer",
                EDGES,
                drop_range,
            ),
            Row::new("head_m", "head", head(self.drop), length).means(
                "dp/(rho g) of the fluid itself: distance of the two free surfaces",
                EDGES,
                "tubes and fittings come on top",
            ),
            Row::new("head_ideal_m", "the same, ideal pattern", head(self.ideal_drop), length).means(
                "Q/(K S rho g) without the edge layer, as `solve` reports it",
                "solved shape factor",
                "b/L to zero",
            ),
            Row::new("head_without_obstacle_m", "head of the empty cell", head(self.empty_drop()), length).means(
                match self.is_rectangle {
                    true => "12 mu U L_c/(b^2 F rho g), F = 1 - 0.630 b/W for a wide duct",
                    false => "the same for a channel of the inlet's width W with as many squares, the integral of ds/width along the cell",
                },
                "White, Viscous Fluid Flow; Shah & London 1978",
                "uniform gap",
            ),
            Row::new(
                "flow_per_head_m2_per_s",
                "flow per head",
                self.flow / head(self.drop),
                Kind::Unit("m2/s", 1e-3 / 60.0, "mL/min per mm"),
            )
            .means("Q/head, to go back from a head to the flow", EDGES, slow),
            Row::new("flow_error_per_gap_error", "flow error per gap error", 3.0, Kind::Number).means(
                "dQ/Q = 3 db/b at a given head",
                "cube law, Lamb 1932, art. 330",
                "small, uniform db",
            ),
            Row::new("fluid_volume_m3", "fluid between the plates", self.volume, Kind::Volume).means(
                "area of the fluid times its gap",
                "conservation of volume",
                "tubes and reservoirs come on top",
            ),
        ];
        let mut section = Section::finite("", "Flow and head", rows);
        if head(self.drop) < 1e-3 {
            section.notes.push(
                "The head is below one millimetre: no reservoir can be set so finely by eye. Use a syringe pump, a long thin outlet tube \
                 as an added resistance, or a longer or thinner cell."
                    .into(),
            );
        }
        section.notes.push(if self.drop_given {
            "The case gives the head or the pressure: speed and flow follow, reduced by the edge layer.".into()
        } else {
            "The case gives the speed or the flow: head and pressure follow, raised by the edge layer.".into()
        });
        section.cautions.push(
            "Water on floors is slippery, and pumps and lamps are electric: keep them apart, use a residual-current device and drip trays, \
             follow the rules of your house.",
        );
        section
    }
}

#[cfg(test)]
mod tests {
    use super::super::state::tests::example;
    use super::*;

    /// Digits of the series (White; Shah & London 1978), nine of them.
    #[test]
    fn ducts_carry_the_exact_flow() {
        for (ratio, exact) in [
            (1.0, 0.421_731_045),
            (0.5, 0.686_045_031),
            (0.25, 0.842_438_875),
            (0.1, 0.936_975_112),
            (0.05, 0.968_487_556),
            (0.01, 0.993_697_511),
        ] {
            assert!((duct_factor(ratio) - exact).abs() < 6e-10, "{ratio}: {}", duct_factor(ratio));
        }
        // W b^3 F(b/W) = b W^3 F(W/b)
        assert!((0.5f64.powi(3) * duct_factor(0.5) - 0.5 * duct_factor(2.0)).abs() < 1e-9);
        assert!((DUCT - 0.630_248_88).abs() < 1e-8);
    }

    /// 12 μ U L_c/b² with μ = 1.001596 mPa s (IAPWS R12-08) is 4.8077 Pa, a head of 0.4911 mm in water of 998.2072 kg/m3.
    #[test]
    fn the_empty_cell_needs_the_textbook_head() {
        let section = example("").flow_section();
        let factor = 1.0 - 0.630_248_88 / 200.0;
        let head = 12.0 * 1.001596e-3 * 1e-3 * 0.4 / 1e-6 / (998.2072 * 9.80665) / factor;
        let found = section.number("head_without_obstacle_m").unwrap();
        assert!((found / head - 1.0).abs() < 1e-6, "{found} {head}");
        assert!(
            (section.number("sheet_conductivity_m3_per_pa_s").unwrap() / (1e-9 / (12.0 * 1.001596e-3)) - 1.0).abs()
                < 1e-6
        );
    }
}
