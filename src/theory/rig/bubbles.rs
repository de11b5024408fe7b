//! Bubbles that were not wanted: what frees them and how long they stay; and those that are: which sizes show the flow.

use super::{Kind, Row, Section, State, pinning_pressure};
use crate::base::units::{Dimension, GRAVITY};
use crate::theory::bubbles::{
    DISC, UNBOUNDED, behind_post, film_number, keeping_pace, pressure_factor, rise_speed, shape_number, shape_words,
    slip_speed, speed_ratio, speed_ratio_between, travel_speed, travel_tilt,
};
use crate::theory::wetting::{SURFACTANT, WETTED_PLATES, capillary_number};
use std::f64::consts::FRAC_PI_2;

/// Diameter of the bubble that flushing shall free, m.
const BUBBLE: f64 = 5e-3;
/// Diameters in the table of tracers over the gap: spheres up to one, discs from three on.
const SIZES: [f64; 8] = [0.05, 0.2, 0.5, 4.0, 10.0, 20.0, 40.0, 80.0];
/// Part of the width of the cell that a bubble of the table takes at most.
const WIDEST: f64 = 0.5;
/// Difference from the speed of the flow up to which a bubble counts as keeping pace.
const PACE: f64 = 0.1;

/// Tension, and difference of the cosines of the receding and the advancing angle.
#[derive(Debug, Clone, Copy)]
struct Surface {
    tension: f64,
    cosines: f64,
}

/// What a speed over that of the flow says of a bubble as a tracer.
fn pace_words(ratio: f64) -> &'static str {
    if (ratio - 1.0).abs() <= PACE {
        "keeps pace with the flow"
    } else if ratio < 1.0 {
        "lags: shows directions, not speeds"
    } else {
        "runs ahead: shows directions, not speeds"
    }
}

impl State {
    /// As the case has it, and with surfactant.
    fn surfaces(&self) -> [Surface; 2] {
        let h = self.rig.contact_hysteresis.value;
        [(self.rig.surface_tension.value, self.rig.contact_angle.value), (SURFACTANT, WETTED_PLATES)].map(
            |(tension, angle)| {
                let cosines = pinning_pressure(tension, angle, h, self.gap) * self.gap / (2.0 * tension);
                Surface { tension, cosines }
            },
        )
    }

    fn film_number(&self, surface: Surface, diameter: f64) -> f64 {
        film_number(self.gap, 0.5 * diameter, capillary_number(self.fluid.viscosity, self.speed, surface.tension))
    }

    /// What frees a bubble, and how long a free one stays.
    pub(super) fn bubble_rows(&self) -> Vec<Row> {
        let [clean, soaped] = self.surfaces();
        let held = |by: fn(f64, f64, f64, f64, f64) -> f64, surface: Surface| {
            by(surface.tension, surface.cosines, self.gap, self.fluid.viscosity, 0.5 * BUBBLE)
        };
        let upright = rise_speed(self.fluid.density, FRAC_PI_2, self.gap, self.fluid.viscosity);
        let tilt =
            |surface| travel_tilt(self.speed, held(travel_speed, surface), upright).map_or(f64::NAN, f64::to_degrees);
        let disc = BUBBLE >= DISC * self.gap;
        let residence = |surface| {
            let ratio = if disc { speed_ratio(self.film_number(surface, BUBBLE)) } else { f64::NAN };
            self.length / (ratio * self.speed)
        };
        let (speed, time) = (Kind::Of(Dimension::Speed), Kind::Of(Dimension::Time));
        let pinned = "pressure round a disc against contact-angle hysteresis, derived";
        let round = "round bubble wider than three gaps, far from edges; laminar, gap Reynolds number below a thousand";
        let films = "Bretherton 1961 (J. Fluid Mech. 10, 166); balance on a disc, derived";
        let wetted = "free bubble of 5 mm on wetted plates, level cell; surfactant that varies along its surface slows it further";
        let mut rows = vec![
            Row::new("slip_speed_m_per_s", "speed that moves a 5 mm bubble's rim", held(slip_speed, clean), speed)
                .means("gamma b D/(24 mu R), D = cos(theta_rec) - cos(theta_adv)", pinned, round),
            Row::new("slip_speed_surfactant_m_per_s", "the same with surfactant", held(slip_speed, soaped), speed)
                .means("gamma 30 mN/m, theta 20 deg, the same hysteresis", pinned, round),
            Row::new("flushing_speed_m_per_s", "speed that frees a 5 mm bubble", held(travel_speed, clean), speed)
                .means("gamma b D/(6 pi mu R); slower flows leave it until it dissolves", pinned, round),
            Row::new(
                "flushing_speed_surfactant_m_per_s",
                "the same with surfactant",
                held(travel_speed, soaped),
                speed,
            )
            .means("gamma 30 mN/m, theta 20 deg, the same hysteresis", pinned, round),
            Row::new("flushing_tilt_deg", "tilt that frees it at this flow", tilt(clean), Kind::Degrees).means(
                "V + V_g/2 above that speed, V_g = rho g sin(tilt) b^2/(12 mu), uphill",
                pinned,
                "left out where even an upright cell is not enough",
            ),
            Row::new("flushing_tilt_surfactant_deg", "the same with surfactant", tilt(soaped), Kind::Degrees).means(
                "gamma 30 mN/m, theta 20 deg, the same hysteresis",
                pinned,
                "left out where even an upright cell is not enough",
            ),
        ];
        if self.has_obstacles {
            let times = behind_post(0.5 * BUBBLE, 0.5 * self.obstacle);
            rows.push(Row::new("flushing_behind_obstacle", "times more right behind it", times, Kind::Number).means(
                "1/(1 - (a/(a + R))^2), a half the obstacle: the stream slackens there",
                "ideal flow round a circle (Lamb, Hydrodynamics, art. 68)",
                "as if the obstacle were round",
            ));
        }
        rows.extend([
            Row::new(
                "bubble_residence_s",
                "residence of a free bubble, at least",
                self.length / (2.0 * self.speed),
                time,
            )
            .means(
                "L_c/(2 U): no film holds a large bubble; small ones take longer, see below",
                "Taylor & Saffman 1959 (Q. J. Mech. Appl. Math. 12, 265)",
                "level cell, no pinning",
            ),
            Row::new("bubble_residence_films_s", "held by its films", residence(clean), time).means(
                "L_c/(x U), 2 - x = k x^(2/3), k = 0.447 (b/R) Ca^(-1/3)",
                films,
                wetted,
            ),
            Row::new("bubble_residence_films_surfactant_s", "the same with surfactant", residence(soaped), time).means(
                "gamma 30 mN/m",
                films,
                wetted,
            ),
        ]);
        rows
    }

    /// The size that goes with the flow, and what of the gap drives bubbles as much.
    pub(super) fn bubble_tracer_rows(&self) -> Vec<Row> {
        let [clean, soaped] = self.surfaces();
        let capillary = |surface: Surface| capillary_number(self.fluid.viscosity, self.speed, surface.tension);
        let pace = |surface| 2.0 * keeping_pace(self.gap, capillary(surface));
        let length = Kind::Of(Dimension::Length);
        let films = "Bretherton 1961 (J. Fluid Mech. 10, 166); balance on a disc, derived";
        vec![
            Row::new("bubble_pace_diameter_m", "bubble that goes with the flow", pace(clean), length).means(
                "0.894 b Ca^(-1/3): smaller discs lag, larger ones run ahead, up to twice the flow",
                films,
                "free disc on wetted plates, side walls far",
            ),
            Row::new("bubble_pace_diameter_surfactant_m", "the same with surfactant", pace(soaped), length).means(
                "gamma 30 mN/m",
                films,
                "free disc on wetted plates, side walls far",
            ),
            Row::new(
                "bubble_gap_change_m",
                "gap change that drives it as much",
                12.0 * capillary(clean) * self.length,
                length,
            )
            .means(
                "12 Ca L_c along the cell: bubbles go where the gap is wider",
                "Young and Laplace along the rim, derived",
                "free disc on wetted plates",
            ),
        ]
    }

    /// Which bubbles are good tracers, by size.
    pub(super) fn bubble_sizes(&self) -> Section {
        let sizes = SIZES.iter().filter(|&&size| size < DISC || size * self.gap <= WIDEST * self.width);
        let table = Section::table(
            "bubble_sizes",
            "Which bubbles are good tracers: free ones, midway between the side walls",
            sizes.map(|&size| self.bubble_size(size)),
        );
        table.noted(vec![
            "In a level cell of even gap a free disc follows the streamline of its middle, at the ratio given; a sphere shows the height it is \
             at. Between one and three gaps there is no formula. Discs keep the direction only with wetted plates: dry spots hold them below \
             the speed given."
                .into(),
        ])
    }

    fn bubble_size(&self, size: f64) -> Vec<Row> {
        let (length, speed) = (Kind::Of(Dimension::Length), Kind::Of(Dimension::Speed));
        let diameter = size * self.gap;
        let mut rows = vec![
            Row::new("diameter_m", "diameter", diameter, length).digits(3),
            Row::new("diameter_over_gap", "over gap", size, Kind::Number).digits(3),
        ];
        if size < DISC {
            let rise = self.fluid.density * GRAVITY * diameter * diameter / (18.0 * self.fluid.viscosity);
            let rises = (self.gap - diameter) / rise < self.transit();
            let ratio = 1.5 * (1.0 - (1.0 - size) * (1.0 - size));
            let ratio = if rises { ratio } else { 1.5 };
            rows.extend([
                Row::new("speed_ratio", "over flow", ratio, Kind::Number).digits(3),
                Row::new("rises", "rises", rises, Kind::Number),
                Row::new("verdict", "as a tracer", sphere_words(rises), Kind::Number),
            ]);
            return rows;
        }
        let [clean, soaped] = self.surfaces();
        let radius = 0.5 * diameter;
        let m1 = pressure_factor(radius / self.width, 0.5).unwrap_or(UNBOUNDED);
        let ratio = |surface| speed_ratio_between(m1, self.film_number(surface, diameter));
        let shape = shape_number(self.gap, radius, capillary_number(self.fluid.viscosity, self.speed, clean.tension));
        let held = travel_speed(clean.tension, clean.cosines, self.gap, self.fluid.viscosity, radius);
        let pace = pace_words(ratio(clean));
        let verdict = shape_words(shape).map_or(pace.to_owned(), |words| format!("{pace}; {words}"));
        rows.extend([
            Row::new("speed_ratio", "over flow", ratio(clean), Kind::Number).digits(3),
            Row::new("speed_ratio_surfactant", "with surfactant", ratio(soaped), Kind::Number).digits(3),
            Row::new("film_number", "film number", self.film_number(clean, diameter), Kind::Number).digits(3),
            Row::new("capillary_shape_number", "shape number", shape, Kind::Number).digits(2),
            Row::new("held_below_m_per_s", "dry spots hold it below", held, speed).digits(3),
            Row::new("rises", "rises", false, Kind::Number),
            Row::new("verdict", "as a tracer", verdict, Kind::Number),
        ]);
        rows
    }
}

fn sphere_words(rises: bool) -> String {
    if rises {
        "none: slides along the upper plate, at most at this ratio".into()
    } else {
        "shows the speed of its height".into()
    }
}

#[cfg(test)]
mod tests {
    use super::super::state::tests::example;
    use super::*;

    /// Water at 20 degC, 1 mm, acrylic 70 deg with the hysteresis of the case: γ b D/(6 π μ R), R = 2.5 mm.
    #[test]
    fn flushing_takes_the_travel_speed_of_a_5_mm_bubble() {
        let state = example("contact_angle = \"70 deg\"\ncontact_hysteresis = \"20 deg\"");
        let section = state.filling_section();
        let number = |key: &str| section.number(key).unwrap();
        let d = 60f64.to_radians().cos() - 80f64.to_radians().cos();
        let free = 72.736e-3 * 1e-3 * d / (6.0 * std::f64::consts::PI * 1.001596e-3 * 2.5e-3);
        assert!((number("flushing_speed_m_per_s") / free - 1.0).abs() < 1e-4, "{section:?}");
        assert!((number("slip_speed_m_per_s") / free - std::f64::consts::FRAC_PI_4).abs() < 1e-4);
        // sin(tilt) = 2 (V2 − V)/V_90, V_90 = 998.2 · 9.80665 · 1e-6/(12 · 1.0016e-3) = 0.8144 m/s: 0.51 m/s and more is out of reach
        assert!(free > 0.408 && section.number("flushing_tilt_deg").is_none());
        let soaped = 30e-3 * 1e-3 * (10f64.to_radians().cos() - 30f64.to_radians().cos())
            / (6.0 * std::f64::consts::PI * 1.001596e-3 * 2.5e-3);
        assert!((number("flushing_speed_surfactant_m_per_s") / soaped - 1.0).abs() < 1e-4);
        let tilt = (2.0 * (soaped - 1e-3) / 0.81443).asin().to_degrees();
        assert!((number("flushing_tilt_surfactant_deg") / tilt - 1.0).abs() < 1e-3, "{tilt}");
        // a post of 30 mm radius: 1/(1 − (30/32.5)²)
        assert!((number("flushing_behind_obstacle") - 6.76).abs() < 1e-2);
    }

    /// U/V = 0.1268 (k = 7.46 for R = 2.5 mm, twice that of R = 5 mm): sixteen times the lower bound L/(2U).
    #[test]
    fn films_keep_a_bubble_longer_than_twice_the_flow_would() {
        let section = example("").filling_section();
        let number = |key: &str| section.number(key).unwrap();
        let k: f64 = 0.44715 * 1e-3 / 2.5e-3 * (1.001596e-3 * 1e-3 / 72.736e-3f64).powf(-1.0 / 3.0);
        let x = 400.0 / number("bubble_residence_films_s");
        assert!((2.0 - x - k * x.powf(2.0 / 3.0)).abs() < 1e-3, "{x} {k}");
        assert!((number("bubble_residence_s") - 200.0).abs() < 1e-9);
        let soaped = number("bubble_residence_films_surfactant_s");
        assert!(soaped < number("bubble_residence_films_s") && soaped > 200.0, "{soaped}");
        // 5 mm are no disc in a gap of 2 mm
        let mut wide = example("");
        wide.gap = 2e-3;
        assert!(wide.filling_section().number("bubble_residence_films_s").is_none());
    }

    #[test]
    fn sizes_are_judged_by_their_pace_on_both_sides() {
        assert_eq!([0.91, 1.09].map(pace_words), [pace_words(1.0); 2]);
        assert!(pace_words(0.89).starts_with("lags") && pace_words(1.11).starts_with("runs ahead"));
        let state = example("");
        let section = state.tracers_section();
        let number = |path: &str| section.number(path);
        // the pace diameter is where the film law gives one
        let pace = number("bubble_pace_diameter_m").unwrap();
        assert!(
            (speed_ratio(film_number(1e-3, 0.5 * pace, 1.001596e-3 * 1e-3 / 72.736e-3)) - 1.0).abs() < 1e-4,
            "{pace}"
        );
        // 12 Ca L = 12 · 1.377e-5 · 0.4 m
        assert!((number("bubble_gap_change_m").unwrap() - 66.1e-6).abs() < 1e-7);
        // spheres: 1.5 (1 − 0.95²) at the upper plate; a table of discs up to half the width of 200 mm
        assert!((number("bubble_sizes.0.speed_ratio").unwrap() - 0.14625).abs() < 1e-12);
        assert!(number("bubble_sizes.0.film_number").is_none());
        let ratios: Vec<f64> = (3..8).map(|k| number(&format!("bubble_sizes.{k}.speed_ratio")).unwrap()).collect();
        assert!(ratios.windows(2).all(|pair| pair[0] < pair[1]) && ratios[0] < 0.2 && ratios[4] > 1.0, "{ratios:?}");
        // walls: less than the film law alone at 80 mm in 200 mm
        let alone = speed_ratio(number("bubble_sizes.7.film_number").unwrap());
        assert!(ratios[4] < alone && ratios[4] > 0.9 * alone, "{ratios:?} {alone}");
        let mut narrow = example("");
        narrow.width = 0.159;
        assert!(narrow.tracers_section().row("bubble_sizes.7.verdict").is_none());
        narrow.width = 0.161;
        assert!(narrow.tracers_section().row("bubble_sizes.7.verdict").is_some());
    }

    /// Of 50 um in water: (950 um)/(1.36 mm/s) = 0.70 s to the upper plate, against a transit of 0.4 m.
    #[test]
    fn small_bubbles_rise_unless_the_flow_is_faster() {
        let of = |speed: f64| {
            let mut state = example("");
            state.speed = speed;
            let section = state.tracers_section();
            (
                section.row("bubble_sizes.0.verdict").unwrap().shown(),
                section.number("bubble_sizes.0.speed_ratio").unwrap(),
            )
        };
        assert!(of(0.56).0.contains("upper plate"), "{:?}", of(0.56));
        assert!(of(0.59).0.contains("height") && of(0.59).1 == 1.5, "{:?}", of(0.59));
    }
}
