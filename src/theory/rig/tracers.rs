//! Tracer particles, bubbles and the camera.

use super::dye::slope_drift;
use super::{Kind, Row, Section, State};
use crate::base::units::GRAVITY;
use crate::base::units::{Dimension, significant};

/// Part of the gap a tracer may take, common practice.
const LARGEST_TRACER: f64 = 0.1;
/// Pixels a shift must cover to be read off with confidence, common practice.
const READABLE: f64 = 2.0;

impl State {
    /// Longer side of the picture at which the shift tolerance covers two pixels, m.
    fn resolved_field(&self) -> f64 {
        self.tolerance.shift / READABLE * self.rig.camera_pixels.value as f64
    }

    pub(super) fn tracers_section(&self) -> Section {
        let rig = &self.rig;
        let size = rig.tracer_diameter.value;
        let ratio = size / self.gap;
        let sinking = rig.tracer_density_difference.value * GRAVITY * size * size / (18.0 * self.fluid.viscosity);
        let bubble = slope_drift(self.fluid.density, rig.tilt.value, self.mobility());
        let side = self.plates.extent();
        let pixel = side / rig.camera_pixels.value as f64;
        let streak = rig.streak_length.value / (1.5 * self.speed);
        let length = Kind::Of(Dimension::Length);
        let (speed, time) = (Kind::Of(Dimension::Speed), Kind::Of(Dimension::Time));
        let mut rows = vec![
            Row::new("tracer_over_gap", "tracer over gap", ratio, Kind::Percent).means(
                "d/b; below a tenth a tracer tells one height, larger ones average over the gap",
                "common practice",
                "round tracers",
            ),
            Row::new("tracer_lag", "tracer slower at mid-gap by", ratio * ratio / 3.0, Kind::Percent).means(
                "(d/b)^2/3 of the mid-gap speed 1.5 U; a track tells its height only through its speed",
                "Faxen 1922, from memory",
                "d/b below some 0.3, away from plates",
            ),
            Row::new("tracer_sinking_m_per_s", "sinking of tracers", sinking, speed).means(
                "d_rho g d^2/(18 mu)",
                "Stokes 1851",
                "slow, far from plates",
            ),
            Row::new("tracer_sinking_time_s", "time to sink half the gap", 0.5 * self.gap / sinking.abs(), time).means(
                "b/2 over that speed; later they roll on a plate",
                "Stokes 1851",
                "compare with the transit time",
            ),
            Row::new("bubble_rise_m_per_s", "rise of a bubble uphill", bubble, speed).means(
                "rho g sin(tilt) b^2/(12 mu) in liquid at rest, with no films: on top of twice the flow",
                "Taylor & Saffman 1959 (Q. J. Mech. Appl. Math. 12, 265), with no stream",
                "free bubble wider than three gaps; one pinned at the plates stays, see filling",
            ),
            Row::new("exposure_time_s", "exposure for a streak", streak, time).means(
                format!("{} over the mid-gap speed 1.5 U", Dimension::Length.show(rig.streak_length.value)),
                "definition of U",
                "undisturbed flow; at a round post's shoulder half as long",
            ),
            Row::new("pixel_size_m", "pixel on the cell", pixel, length).means(
                format!("longer side {} over {} pixels", Dimension::Length.show(side), rig.camera_pixels.value),
                "geometry",
                "the whole cell in the picture",
            ),
            Row::new("shift_tolerance_px", "shift tolerance", self.tolerance.shift / pixel, Kind::Pixels).means(
                "tolerance.shift in pixels; wanted: two or more",
                "common practice",
                "sharp lens, no distortion",
            ),
            Row::new("expected_shift_px", "largest expected shift", self.shift / pixel, Kind::Pixels).means(
                "of streaklines by the cell alone, outside the edge band, in pixels",
                "departure, first order",
                "first order in Re* and b/L",
            ),
            Row::new("field_for_tolerance_m", "field that resolves it", self.resolved_field(), length).means(
                "longer side of the picture at which the shift tolerance covers two pixels",
                "common practice",
                "move the camera nearer if it is less than the cell",
            ),
        ];
        rows.extend(self.bubble_tracer_rows());
        let mut section = Section::finite("", "Tracers, bubbles and camera", rows).with(vec![self.bubble_sizes()]);
        if ratio > LARGEST_TRACER {
            section.notes.push(format!(
                "Tracers of {} are larger than a tenth of the gap: they average over the gap and may jam; take smaller ones.",
                Dimension::Length.show(size)
            ));
        }
        if 0.5 * self.gap / sinking.abs() < self.transit() {
            section.notes.push(format!(
                "Tracers sink to a plate before they reach the outlet: match the density (to {} kg/m3) or take smaller ones.",
                significant((rig.tracer_density_difference.value * 0.5 * self.gap / (sinking * self.transit())).abs(), 2)
            ));
        }
        if self.tolerance.shift < READABLE * pixel {
            section
                .notes
                .push("The camera does not resolve the shift tolerance: more pixels or a smaller field.".into());
        } else {
            section.notes.push(if self.shift < 0.5 * pixel {
                "The expected shift is below half a pixel: this camera sees the ideal pattern.".into()
            } else {
                "The camera resolves the shift tolerance.".into()
            });
        }
        section.cautions.push(
            "Tracer powders are dust: handle them wet. Laser sheets and strong lamps harm eyes; lasers above class 2 need trained staff and \
             the rules of your house.",
        );
        section
    }
}

#[cfg(test)]
mod tests {
    use super::super::state::tests::example;

    #[test]
    fn tracers_sink_and_streak_as_stokes_says() {
        let section =
            example("tracer_diameter = \"20 um\"\nstreak_length = \"3 mm\"\ncamera_pixels = 4000").tracers_section();
        // 50 * 9.80665 * 4e-10/(18 * 1.0016e-3) = 1.0879e-5 m/s
        let sinking = section.number("tracer_sinking_m_per_s").unwrap();
        assert!((sinking / 1.0879e-5 - 1.0).abs() < 1e-4, "{sinking}");
        assert!((section.number("tracer_sinking_time_s").unwrap() * sinking / 0.5e-3 - 1.0).abs() < 1e-12);
        assert!((section.number("exposure_time_s").unwrap() - 2.0).abs() < 1e-12);
        assert!((section.number("pixel_size_m").unwrap() - 1e-4).abs() < 1e-15);
        assert!((section.number("shift_tolerance_px").unwrap() - 5.0).abs() < 1e-9);
        // Faxen: u + (a^2/6) u'' with u = 1.5 U (1 - (2z/b)^2) at z = 0: 1 - 8 a^2/(6 b^2), a = d/2
        let lag = section.number("tracer_lag").unwrap();
        assert!((lag - 8.0 * 1e-10 / (6.0 * 1e-6)).abs() < 1e-15, "{lag}");
    }
}
