//! Times and the three Reynolds numbers.

use super::{Kind, Row, Section, State};
use crate::base::units::Dimension;
use crate::input::case::Reynolds;
use crate::theory::edge_layer::THICK;
use std::f64::consts::PI;

/// Volumes of the cell to flush it with, common practice.
const FLUSH: f64 = 3.0;

/// Settling time of the parabolic profile, s: `b²/(π² ν)`, the slowest mode of the velocity between plates (Batchelor 1967,
/// sec. 4.3). Laminar flow; `gap` in m, `nu` in m2/s.
pub fn settling_time(gap: f64, nu: f64) -> f64 {
    gap * gap / (PI * PI * nu)
}

/// Length behind the inlet after which the mid-gap speed has reached 99 % of its final value, m:
/// `b [0.631^1.6 + (0.0442 Re_b)^1.6]^(1/1.6)` (Durst et al. 2005, J. Fluids Eng. 127, 1154), uniform inflow between plates, laminar.
///
/// ```
/// // slow flow develops within 0.63 gaps, fast flow within 0.0442 Re_b gaps
/// assert!((twinplate::theory::rig::development_length(1e-3, 0.0) - 0.631e-3).abs() < 1e-15);
/// ```
pub fn development_length(gap: f64, gap_reynolds: f64) -> f64 {
    gap * (0.631f64.powf(1.6) + (0.0442 * gap_reynolds).powf(1.6)).powf(1.0 / 1.6)
}

impl State {
    /// The three Reynolds numbers at the speed of the sheet.
    pub fn reynolds(&self) -> Reynolds {
        Reynolds::new(self.speed, self.obstacle, self.gap, &self.fluid)
    }

    pub(super) fn times_section(&self) -> Section {
        let re = self.reynolds();
        let time = Kind::Of(Dimension::Time);
        let residence = self.volume / self.flow;
        let rows = vec![
            Row::new("obstacle_reynolds", "obstacle Reynolds number", re.obstacle, Kind::Number).means(
                "Re_L = U L/nu, what the obstacle would see in an open stream",
                "Batchelor 1967, sec. 4.8",
                "sets no limit between plates",
            ),
            Row::new("gap_reynolds", "gap Reynolds number", re.gap, Kind::Number).means(
                "Re_b = U b/nu, how soon the profile forms",
                "Batchelor 1967, sec. 4.8",
                "laminar far below a thousand",
            ),
            Row::new("reduced_reynolds", "reduced Reynolds number", re.reduced, Kind::Number).means(
                "Re* = Re_b b/L, inertia against friction: the one the textbook condition \"below one\" refers to",
                "Batchelor 1967, sec. 4.8",
                "first order quantitative up to some 0.3",
            ),
            Row::new("lambda", "Lambda of the round-post literature", 0.75 * re.reduced, Kind::Number).means(
                "(U_c a/nu)(b/2a)^2 = (3/4) Re*, U_c = 1.5 U, a = L/2",
                "Thompson 1968 (J. Fluid Mech. 31, 379)",
                "round posts",
            ),
            Row::new(
                "development_length_m",
                "development length",
                development_length(self.gap, re.gap),
                Kind::Of(Dimension::Length),
            )
            .means(
                "b [0.631^1.6 + (0.0442 Re_b)^1.6]^(1/1.6), to 99 %; keep obstacles and dye further from the inlet",
                "Durst et al. 2005 (J. Fluids Eng. 127, 1154)",
                "even inflow, laminar",
            ),
            Row::new("settling_time_s", "settling time", settling_time(self.gap, self.nu()), time).means(
                "b^2/(pi^2 nu), after a change of the flow",
                "Batchelor 1967, sec. 4.3",
                "stiff plates, no air in the tubes",
            ),
            Row::new("transit_time_s", "transit time", self.transit(), time).means(
                "L_c/U; mid-gap fluid takes two thirds of it",
                "definition of U",
                "steady flow",
            ),
            Row::new("fill_time_s", "filling time", residence, time).means(
                "fluid volume over Q, at the flow of the case",
                "conservation of volume",
                "fill more slowly where air is kept",
            ),
            Row::new("flush_time_s", "flushing time", FLUSH * residence, time).means(
                "three cell volumes over Q, to clear old dye",
                "common practice",
                "hollows of the outline take longer",
            ),
        ];
        let mut section = Section::finite("", "Reynolds numbers and times", rows);
        if self.gap > THICK * self.obstacle {
            section.notes.push("The gap is more than a tenth of the reference length: the edge layer changes the pattern by about as much.".into());
        }
        if self.transit() > 1800.0 {
            section.notes.push(
                "One transit takes more than half an hour: room temperature, evaporation and diffusion of the dye have time to act.".into(),
            );
        }
        section
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Durst et al. 2005: L/b = 0.631 at Re -> 0, 0.0442 Re at large Re; at Re = 0.631/0.0442 both terms are equal, 2^(1/1.6) 0.631.
    #[test]
    fn the_profile_develops_as_published() {
        assert!((development_length(2e-3, 0.0) - 1.262e-3).abs() < 1e-15);
        let equal = development_length(1.0, 0.631 / 0.0442);
        assert!((equal - 0.631 * 2f64.powf(0.625)).abs() < 1e-12);
        // the other term is (0.631/44.2)^1.6/1.6 = 7e-4 of it
        assert!((development_length(1.0, 1000.0) / 44.2 - 1.0).abs() < 8e-4);
    }

    /// The slowest mode cos(π z/b) of u_t = ν u_zz decays at the rate ν π²/b².
    #[test]
    fn the_profile_settles_with_its_slowest_mode() {
        let (b, nu) = (1e-3, 1.003e-6);
        assert!((settling_time(b, nu) * nu * (PI / b).powi(2) - 1.0).abs() < 1e-14);
    }
}
