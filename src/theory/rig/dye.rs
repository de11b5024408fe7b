//! Dye: how many lines, how far they spread, how they run ahead and sink.

use super::{Kind, Row, Section, State};
use crate::base::units::GRAVITY;
use crate::base::units::{Dimension, significant};

/// Standard deviation of a thin dye line after a time, m: sqrt(2 D t) (Fick; Crank, The Mathematics of Diffusion). Across the flow; D in
/// m2/s, t in s.
pub fn dye_spread(diffusivity: f64, time: f64) -> f64 {
    (2.0 * diffusivity * time).sqrt()
}

/// Effective diffusivity along the flow between plates, m2/s: `D (1 + (2/105)(U b/(2 D))²)`, which is D (1 + Pe²/210) with Pe = U b/D
/// (Taylor 1953, Proc. R. Soc. A 219, 186; Aris 1956, ibid. 235, 67; the plates' 2/105: Wooding 1960, J. Fluid Mech. 7, 501). Holds after
/// times well above b²/(4 π² D); before, the front runs ahead at 1.5 U.
pub fn taylor_dispersion(diffusivity: f64, speed: f64, gap: f64) -> f64 {
    diffusivity * (1.0 + 2.0 / 105.0 * (0.5 * speed * gap / diffusivity).powi(2))
}

/// Speed of a long streak along the slope of a tilted cell, m/s: `d_rho g sin(tilt) b²/(12 μ)`; a round blob of equal viscosity moves at
/// half of it. `mobility` is b²/(12 μ); tilt in rad; positive downhill. Darcy's law with the weight of the dye.
pub fn slope_drift(density_difference: f64, tilt: f64, mobility: f64) -> f64 {
    density_difference * GRAVITY * tilt.sin() * mobility
}

/// Lowest mean speed at which dye lines stay apart, m/s: four standard deviations at the outlet fill their spacing,
/// `4 √(2 D L_c/U) = spacing`.
pub fn slowest_for_lines(diffusivity: f64, length: f64, spacing: f64) -> f64 {
    32.0 * diffusivity * length / (spacing * spacing)
}

impl State {
    pub(super) fn dye_section(&self) -> Section {
        let d = self.rig.dye_diffusivity.value;
        let spacing = self.line_spacing();
        let transit = self.transit();
        let spread = dye_spread(d, transit);
        let mixing = self.gap * self.gap / (4.0 * std::f64::consts::PI.powi(2) * d);
        let drift = slope_drift(self.rig.dye_density_difference.value, self.rig.tilt.value, self.mobility());
        let per_density = 0.5 * slope_drift(1.0, self.rig.tilt.value, self.mobility()) * transit;
        let length = Kind::Of(Dimension::Length);
        let speed = Kind::Of(Dimension::Speed);
        let rows = vec![
            Row::new("line_spacing_m", "distance of dye needles", spacing, length).means(
                format!("W/N for {} lines with equal flow between neighbours, half of it at the walls", self.lines),
                "stream function",
                "even inflow; in the undisturbed stretch behind the inlet",
            ),
            Row::new(
                "dye_flow_per_line_m3_per_s",
                "dye flow of one needle",
                0.1 * self.flow / self.lines as f64,
                Kind::Of(Dimension::FlowRate),
            )
            .means(
                "Q/(10 N): a line a tenth of its spacing wide, leaving at the speed of the stream",
                "stream function",
                "more flow pushes the lines apart",
            ),
            Row::new("dye_spread_m", "spread at the outlet", spread, length).means(
                "sqrt(2 D L_c/U), standard deviation across the line",
                "Crank, The Mathematics of Diffusion",
                "thin line, steady flow",
            ),
            Row::new(
                "slowest_speed_for_lines_m_per_s",
                "lowest speed for lines apart",
                slowest_for_lines(d, self.length, spacing),
                speed,
            )
            .means(
                "32 D L_c/spacing^2: below it four spreads at the outlet fill the spacing",
                "Crank, The Mathematics of Diffusion",
                "thin lines",
            ),
            Row::new(
                "taylor_dispersion_m2_per_s",
                "dispersion along the flow",
                taylor_dispersion(d, self.speed, self.gap),
                Kind::Unit("m2/s", 1e-6, "mm2/s"),
            )
            .means(
                "D (1 + (2/105)(U b/2D)^2) = D (1 + Pe^2/210)",
                "Taylor 1953 (Proc. R. Soc. A 219, 186); Aris 1956",
                "after times well above the mixing time below",
            ),
            Row::new("gap_mixing_time_s", "mixing time across the gap", mixing, Kind::Of(Dimension::Time)).means(
                "b^2/(4 pi^2 D); before it the front runs ahead at 1.5 U",
                "slowest even mode of diffusion",
                "dye over the whole height",
            ),
            Row::new("dye_drift_m_per_s", "drift of heavy dye downhill", drift, speed).means(
                "d_rho g sin(tilt) b^2/(12 mu) along the slope; a round blob half of it",
                "Darcy's law; Saffman & Taylor 1958 (Proc. R. Soc. A 245, 312)",
                "equal viscosity; a straight line across the slope does not drift as a whole",
            ),
            Row::new("dye_drift_shift_m", "sideways, blob, one transit", 0.5 * drift.abs() * transit, length).means(
                "half the drift times L_c/U, slope across the flow",
                "Darcy's law; Saffman & Taylor 1958 (Proc. R. Soc. A 245, 312)",
                "upper estimate for lines",
            ),
            Row::new(
                "largest_dye_density_difference_kg_per_m3",
                "density difference allowed",
                self.tolerance.shift / per_density,
                Kind::Of(Dimension::Density),
            )
            .means(
                "the one whose blob drifts by the shift tolerance in one transit at this tilt",
                "Darcy's law; Saffman & Taylor 1958 (Proc. R. Soc. A 245, 312)",
                "no tilt: no limit",
            ),
        ];
        let mut section = Section::finite("", "Dye", rows);
        section.notes.push(if 4.0 * spread > spacing {
            format!(
                "The lines run into one another before the outlet (four spreads {} mm, spacing {} mm): raise the speed, take fewer lines or a \
                 shorter cell.",
                significant(4e3 * spread, 3),
                significant(1e3 * spacing, 3)
            )
        } else {
            "The lines stay apart over the whole cell.".into()
        });
        section.notes.push(if transit > 10.0 * mixing {
            "Dye mixes over the gap on its way: Taylor dispersion holds in the second half of the cell.".into()
        } else {
            "Dye does not mix well over the gap on its way: a front started over the whole height arrives at mid-gap after two thirds of the \
             transit time, with a long tail at the plates, and each height draws its own line."
                .into()
        });
        section.cautions.push(
            "Dyes stain and some harm: read the safety data, wear gloves, keep them from drains where that is forbidden and from visitors' \
             hands; ask those responsible for chemicals in your house.",
        );
        section
    }
}

#[cfg(test)]
mod tests {
    use super::super::state::tests::example;
    use super::*;

    /// Taylor-Aris between plates: 1 + Pe²/210; and the definition D_eff = D + <u' χ> with D χ'' = u' solved on a fine grid over
    /// the half gap. The trapezoid sums are off by (1/n)².
    #[test]
    fn dispersion_is_two_hundred_and_fifth_of_the_peclet_number_squared() {
        let (d, u, b) = (5e-10, 1e-3, 1e-3);
        let pe = u * b / d;
        assert!((taylor_dispersion(d, u, b) / (d * (1.0 + pe * pe / 210.0)) - 1.0).abs() < 1e-12);
        // u' = (1 - 3 zeta^2)/2 in units of U; chi' = (zeta - zeta^3)/2; D_eff/D - 1 = (U b/2D)^2 int_0^1 chi'^2
        let n = 2000;
        let slope = |k: usize| {
            let z = k as f64 / n as f64;
            0.5 * (z - z.powi(3))
        };
        let square: f64 = (0..n).map(|k| 0.5 * (slope(k).powi(2) + slope(k + 1).powi(2)) / n as f64).sum();
        assert!((square - 2.0 / 105.0).abs() < 1e-6, "{square}");
        assert!((taylor_dispersion(1.0, 2.0, 1.0) - 1.0 - square).abs() < 1e-6);
    }

    #[test]
    fn lines_just_stay_apart_at_the_lowest_speed() {
        let (d, length, spacing) = (5e-10, 0.4, 8e-3);
        let slowest = slowest_for_lines(d, length, spacing);
        assert!((4.0 * dye_spread(d, length / slowest) / spacing - 1.0).abs() < 1e-12);
    }

    /// 0.2 kg/m3 at 0.1 deg: 0.2 * 9.80665 * 1.745e-3 * 1e-6/(12 * 1.0016e-3) = 2.848e-7 m/s.
    #[test]
    fn heavy_dye_drifts_downhill() {
        let section = example("").dye_section();
        let drift = section.number("dye_drift_m_per_s").unwrap();
        assert!((drift / 2.848e-7 - 1.0).abs() < 1e-3, "{drift}");
        let allowed = section.number("largest_dye_density_difference_kg_per_m3").unwrap();
        assert!((allowed * 0.5 * drift / 0.2 * 400.0 / 0.5e-3 - 1.0).abs() < 1e-12);
        // a level cell has no limit, and the row is left out
        assert_eq!(example("tilt = 0").dye_section().number("largest_dye_density_difference_kg_per_m3"), None);
    }

    /// Even modes cos(2π n z/b) of diffusion between plates without flux die as exp(-(2π n/b)² D t): the slowest in b²/(4π² D). The explicit scheme
    /// of a mode on 50 points is off by (2π/50)²/12, 0.13 %, and by its step likewise.
    #[test]
    fn dye_mixes_by_the_slowest_even_mode() {
        let state = example("");
        let d = state.rig.dye_diffusivity.value;
        let time = state.dye_section().number("gap_mixing_time_s").unwrap();
        assert!((time / (state.gap.powi(2) / (4.0 * std::f64::consts::PI.powi(2) * d)) - 1.0).abs() < 1e-12);
        let n = 50;
        let h = state.gap / f64::from(n);
        let mut c: Vec<f64> =
            (0..n).map(|k| (std::f64::consts::TAU * (f64::from(k) + 0.5) / f64::from(n)).cos()).collect();
        let start = c[0];
        let steps = (time * d / (0.1 * h * h)).round() as usize;
        for _ in 0..steps {
            let at = |k: i32| c[k.clamp(0, n - 1) as usize];
            c = (0..n)
                .map(|k| at(k) + time / steps as f64 * d / (h * h) * (at(k - 1) - 2.0 * at(k) + at(k + 1)))
                .collect();
        }
        assert!((c[0] / start * std::f64::consts::E - 1.0).abs() < 5e-3, "{}", c[0] / start);
    }
}
