//! Filling: the meniscus against the flow, and the air it leaves behind.

use super::{Kind, Row, Section, State};
use crate::base::units::GRAVITY;
use crate::base::units::{Dimension, significant};
use crate::theory::wetting::{SURFACTANT, WETTED_PLATES, capillary_number, capillary_pressure};

/// Pressure that a pinned meniscus holds, Pa: the difference of capillary pressures at the receding and advancing contact angles,
/// `2 γ [cos(θ − h/2) − cos(θ + h/2)]/b = 4 γ sin(θ) sin(h/2)/b`, h the difference of the two angles. Angles kept
/// within 0 and π.
pub fn pinning_pressure(tension: f64, angle: f64, hysteresis: f64, gap: f64) -> f64 {
    let receding = (angle - 0.5 * hysteresis).max(0.0);
    let advancing = (angle + 0.5 * hysteresis).min(std::f64::consts::PI);
    2.0 * tension * (receding.cos() - advancing.cos()) / gap
}

impl State {
    pub(super) fn filling_section(&self) -> Section {
        let rig = &self.rig;
        let (gamma, theta, h) = (rig.surface_tension.value, rig.contact_angle.value, rig.contact_hysteresis.value);
        let weight = self.fluid.density * GRAVITY;
        let capillary = capillary_pressure(gamma, theta, self.gap);
        let pinning = pinning_pressure(gamma, theta, h, self.gap);
        let behind = self.speed / self.mobility() * self.obstacle;
        let with = pinning_pressure(SURFACTANT, WETTED_PLATES, h, self.gap);
        let tilt = (pinning / (weight * self.obstacle)).asin().to_degrees();
        let head = Kind::Of(Dimension::Length);
        let angle_range = "clean plates; dirt and scratches change the angles by tens of degrees";
        let rows = vec![
            Row::new("capillary_pressure_pa", "capillary pressure", capillary, Kind::Pressure).means(
                "2 gamma cos(theta)/b; positive: the plates draw the fluid in",
                "Young and Laplace; Washburn 1921 (Phys. Rev. 17, 273)",
                angle_range,
            ),
            Row::new(
                "capillary_pressure_surfactant_pa",
                "the same with surfactant",
                capillary_pressure(SURFACTANT, WETTED_PLATES, self.gap),
                Kind::Pressure,
            )
            .means(
                "gamma 30 mN/m, theta 20 deg",
                "common practice: 25 to 40 mN/m",
                "above the critical concentration",
            ),
            Row::new(
                "capillary_number",
                "capillary number",
                capillary_number(self.fluid.viscosity, self.speed, gamma),
                Kind::Number,
            )
            .means(
                "mu U/gamma; far below one the meniscus is shaped by surface tension alone",
                "Saffman & Taylor 1958 (Proc. R. Soc. A 245, 312)",
                "at the flow of the case",
            ),
            Row::new(
                "viscous_over_capillary",
                "viscous over capillary pressure",
                self.drop / capillary.abs(),
                Kind::Number,
            )
            .means(
                "pressure drop dp over 2 gamma |cos(theta)|/b",
                "Young and Laplace; solved pressure drop",
                "at the flow of the case",
            ),
            Row::new("pinning_pressure_pa", "pressure a pinned meniscus holds", pinning, Kind::Pressure).means(
                "4 gamma sin(theta) sin(h/2)/b, h advancing less receding angle",
                "Young and Laplace with contact-angle hysteresis",
                angle_range,
            ),
            Row::new("viscous_pressure_behind_pa", "viscous pressure along the obstacle", behind, Kind::Pressure)
                .means("12 mu U L/b^2: what drives the fluid into the wake", "Darcy's law", "at the flow of the case"),
            Row::new("wetting_head_m", "head to wet behind the obstacle", pinning / weight, head).means(
                "pinning pressure over rho g, between the front and the back of the obstacle",
                "hydrostatics",
                "no bubble larger than the obstacle",
            ),
            Row::new("wetting_head_surfactant_m", "the same with surfactant", with / weight, head).means(
                "gamma 30 mN/m, theta 20 deg",
                "common practice",
                "same hysteresis h",
            ),
            Row::new("filling_tilt_deg", "tilt that wets it by weight", tilt, Kind::Degrees).means(
                "arcsin(pinning pressure/(rho g L)), filling from the lower end",
                "hydrostatics",
                "left out where even an upright cell is not enough",
            ),
        ];
        let rows = rows.into_iter().chain(self.bubble_rows()).collect();
        let mut section = Section::finite("", "Filling", rows);
        self.filling_advice(&mut section, behind, pinning, with);
        section.cautions.push(
            "Alcohol, solvents and some surfactants craze acrylic under load: try them on an offcut. Solvent cements give off harmful and \
             flammable vapours. Read the safety data, work ventilated, away from flames; ask qualified staff.",
        );
        section
    }

    fn filling_advice(&self, section: &mut Section, behind: f64, pinning: f64, with: f64) {
        if self.rig.contact_angle.value > std::f64::consts::FRAC_PI_2 {
            section.notes.push(
                "The plates repel the fluid: it must be pushed in against the capillary pressure, and fills unevenly. Clean the plates or add \
                 surfactant."
                    .into(),
            );
        }
        if !self.has_obstacles {
            return;
        }
        let stays = behind < pinning;
        section.rows.push(Row::new("air_stays_behind", "air stays in the wake", stays, Kind::Number).means(
            "whether the flow pushes less than a pinned meniscus holds",
            "Young and Laplace with contact-angle hysteresis",
            "clean plates",
        ));
        section.notes.push(if stays {
            format!(
                "A wake is likely to keep air behind the obstacle: the flow pushes with {} Pa, a pinned meniscus holds {} Pa ({} Pa with \
                 surfactant).",
                significant(behind, 3),
                significant(pinning, 3),
                significant(with, 3)
            )
        } else {
            "The flow pushes harder than a pinned meniscus holds: the wake should fill.".into()
        });
        section.notes.push(
            "What people do about it (common practice): a drop of washing-up liquid or wetting agent in the water; fill slowly from the lower \
             end with the cell tilted or upright; boiled or degassed water, at room temperature; flush with carbon \
             dioxide first, which dissolves; tap the plates; pull bubbles out with a thread or a thin tube."
                .into(),
        );
        section.notes.push("A filled cell is heavy and slippery: tilt it with two people and a stop at its lower edge (common practice).".into());
    }
}

#[cfg(test)]
mod tests {
    use super::super::state::tests::example;
    use super::*;

    /// IAPWS R1-76: 72.736 mN/m at 20 degC; acrylic 70 deg.
    #[test]
    fn the_meniscus_pulls_with_young_and_laplace() {
        let section = example("").filling_section();
        let pressure = section.number("capillary_pressure_pa").unwrap();
        assert!((pressure - 2.0 * 72.736e-3 * 70f64.to_radians().cos() / 1e-3).abs() < 1e-3, "{pressure}");
        let number = section.number("capillary_number").unwrap();
        assert!((number / (1.001596e-3 * 1e-3 / 72.736e-3) - 1.0).abs() < 1e-5, "{number}");
    }

    #[test]
    fn pinning_is_the_difference_of_two_menisci() {
        let (gamma, theta, h, b) = (0.07, 1.2, 0.3, 1e-3);
        let of = |angle| capillary_pressure(gamma, angle, b);
        let held = pinning_pressure(gamma, theta, h, b);
        assert!((held - (of(theta - 0.15) - of(theta + 0.15))).abs() < 1e-12);
        assert!((held - 4.0 * gamma * theta.sin() * 0.15f64.sin() / b).abs() < 1e-12);
        // an angle cannot recede below zero
        assert!((pinning_pressure(gamma, 0.05, h, b) - (of(0.0) - of(0.2))).abs() < 1e-12);
    }
}
