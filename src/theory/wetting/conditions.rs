//! What a cell is filled with and how, and the numbers that decide which picture of the front applies.

use super::law::{Effective, capillary_number, capillary_pressure, effective_angle, tension_factor};
use crate::base::plane::Vector;
use crate::base::units::GRAVITY;
use crate::base::{Error, Result};
use std::f64::consts::{FRAC_PI_2, PI};

/// N_r from which on the front follows the viscous flow alone.
pub const VISCOUS: f64 = 100.0;
/// N_r below which the front is an arc under its own tension, but for the pressure that drives it.
pub const CAPILLARY: f64 = 10.0;
/// Weight of the Bond number beside N in the law of speed and tilt; chosen on runs with Bo = 0.1 and 1.
const TILT_WEIGHT: f64 = 2.5;
/// Logarithm of gap over slip length in Voinov's law; about 12 for water in gaps of a millimetre (recalled).
const VOINOV_LOGARITHM: f64 = 12.0;

/// A filling: fluid, gap, speed, angles and tilt. Flow along +x.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Conditions {
    /// Dynamic viscosity μ, Pa s.
    pub viscosity: f64,
    /// Density ρ, kg/m3.
    pub density: f64,
    /// Mean speed U of the liquid far from obstacles, m/s.
    pub speed: f64,
    /// Gap b in the middle, m.
    pub gap: f64,
    /// Gradient of the gap, m/m.
    pub gap_gradient: Vector,
    /// Surface tension γ, N/m.
    pub tension: f64,
    /// Advancing contact angle of the plates, rad.
    pub plate_angle: f64,
    /// Advancing contact angle of the sides of obstacles, rad.
    pub side_angle: f64,
    /// Advancing contact angle of the seals along both side walls, rad.
    pub seal_angle: f64,
    /// Rise of the cell per length along x and along y: (sin α, 0) where the flow climbs at α.
    pub tilt: Vector,
}

impl Conditions {
    /// The same after all values have been looked at.
    ///
    /// # Errors
    /// [`Error::Usage`] for values that are not finite, a viscosity, density, speed, gap or tension that is not above zero, angles outside 0
    /// and π, and a tilt steeper than upright.
    pub fn checked(self) -> Result<Conditions> {
        let positive = [
            ("viscosity", self.viscosity),
            ("density", self.density),
            ("speed", self.speed),
            ("gap", self.gap),
            ("surface tension", self.tension),
        ];
        for (name, value) in positive {
            if !(value > 0.0 && value.is_finite()) {
                return Err(Error::argument(format!("the {name} is {value}"), "give a finite number above zero"));
            }
        }
        let angles = [("plates", self.plate_angle), ("sides", self.side_angle), ("seals", self.seal_angle)];
        for (name, angle) in angles {
            if !(0.0..=PI).contains(&angle) {
                let what = format!("the contact angle of the {name} is {} deg", angle.to_degrees());
                return Err(Error::argument(what, "give an angle from 0 to 180 deg"));
            }
        }
        let steep = self.tilt[0].hypot(self.tilt[1]);
        if !steep.is_finite() || steep > 1.0 + 1e-12 {
            let what = format!("the cell rises by {steep} per length");
            return Err(Error::argument(what, "give the sine of its slope, at most 1"));
        }
        if !self.gap_gradient.iter().all(|slope| slope.is_finite()) {
            return Err(Error::argument("the gradient of the gap is not finite", "give finite numbers"));
        }
        Ok(self)
    }

    /// Tension of the front in the plane over the gap, c γ, N/m ([`tension_factor`]).
    pub fn front_tension(&self) -> f64 {
        tension_factor(self.plate_angle) * self.tension
    }

    /// How the front meets the sides of obstacles.
    pub fn side(&self) -> Effective {
        effective_angle(self.side_angle, self.plate_angle)
    }

    /// How the front meets the seals.
    pub fn seal(&self) -> Effective {
        effective_angle(self.seal_angle, self.plate_angle)
    }

    /// Viscous gradient of the pressure 12 μ U/b², Pa/m (Darcy's law between plates).
    pub fn viscous_gradient(&self) -> f64 {
        12.0 * self.viscosity * self.speed / (self.gap * self.gap)
    }

    /// Gradient of the pressure at which the front stands, `G = ρ g s + (2 γ cos θ_plate/b²) grad b`, Pa/m, s the rise of the cell: tilt and
    /// taper are one thing. Where it points downstream, uphill or into a gap that widens between wetting plates, it levels the front.
    pub fn gradient(&self) -> Vector {
        let weight = self.density * GRAVITY;
        let taper = 2.0 * self.tension * self.plate_angle.cos() / (self.gap * self.gap);
        [0, 1].map(|k| weight * self.tilt[k] + taper * self.gap_gradient[k])
    }

    /// Viscous against in-plane capillary pressure over a length a, `N = 12 μ U a²/(c γ b²)`.
    pub fn number(&self, length: f64) -> f64 {
        self.viscous_gradient() * length * length / self.front_tension()
    }

    /// Bond number of the front over a length a, `Bo = G a²/(c γ)`, G the part of [`Conditions::gradient`] along the flow.
    pub fn bond(&self, length: f64) -> f64 {
        self.gradient()[0] * length * length / self.front_tension()
    }

    /// What levels the front over its radius r, `(N + 2.5 max(Bo, 0)) (r/a)²`, the number of the law of speed and tilt. Level: N_r.
    pub fn levelling(&self, radius: f64) -> f64 {
        self.number(radius) + TILT_WEIGHT * self.bond(radius).max(0.0)
    }

    /// Capillary pressure between the plates 2 γ cos θ/b, Pa (Young and Laplace); positive: they draw the liquid in.
    pub fn capillary_pressure(&self) -> f64 {
        capillary_pressure(self.tension, self.plate_angle, self.gap)
    }

    /// Pressure over the air's at the inlet while the front stands at x, Pa: `12 μ U x/b² − 2 γ cos θ/b + ρ g x s`, s the rise along x. Uniform
    /// gap; negative where the liquid must be held back.
    pub fn inlet_pressure(&self, x: f64) -> f64 {
        (self.viscous_gradient() + self.density * GRAVITY * self.tilt[0]) * x - self.capillary_pressure()
    }

    /// Height of liquid that must stand before the gap for any to enter, `2 γ |cos θ|/(ρ g b)`, m; none between wetting plates.
    pub fn entry_head(&self) -> Option<f64> {
        (self.plate_angle > FRAC_PI_2).then(|| -self.capillary_pressure() / (self.density * GRAVITY))
    }

    /// How far wetting plates fill a level cell by themselves in a time, s, `sqrt(γ b cos θ t/(3 μ))`, m (Washburn 1921, Phys. Rev. 17, 273,
    /// for a slit); none between plates that repel. After the time ρ b²/(12 μ) of early inertia.
    pub fn washburn_length(&self, time: f64) -> Option<f64> {
        let square = self.tension * self.gap * self.plate_angle.cos() * time / (3.0 * self.viscosity);
        (self.plate_angle < FRAC_PI_2 && square >= 0.0).then(|| square.sqrt())
    }

    /// N_r of a cell of a width, m: viscous over capillary pressure across the radius that the channel gives the front.
    pub fn radius_number(&self, width: f64) -> f64 {
        self.number(arc_radius(0.5 * width, self.seal()))
    }

    /// Capillary number μ U/γ.
    pub fn capillary_number(&self) -> f64 {
        capillary_number(self.viscosity, self.speed, self.tension)
    }

    /// Contact angle of the plates at this speed, rad, `θ_d³ = θ³ + 9 Ca ln(b/2λ)`, logarithm 12 (Voinov 1976; Cox 1986, J. Fluid Mech. 168, 169;
    /// both recalled). Range: Ca below some 0.1, angles below some 135 degrees; the model itself keeps the angle at rest.
    pub fn moving_angle(&self) -> f64 {
        let cube = self.plate_angle.powi(3) + 9.0 * self.capillary_number() * VOINOV_LOGARITHM;
        cube.cbrt().min(PI)
    }

    /// Width beyond which a front that runs downhill, or into a gap that narrows between wetting plates, breaks into fingers:
    /// `π sqrt(c γ/(−G − 12 μ U/b²))`, m; none while it is stable.
    ///
    /// Derived: a ripple exp(i k y) of the front grows as `k (b²/12 μ)(−G − 12 μ U/b² − c γ k²)`, and the longest that fits between side
    /// walls has k = π/width (Saffman & Taylor 1958, Proc. R. Soc. A 245, 312, with the weight in it).
    pub fn unstable_width(&self) -> Option<f64> {
        let excess = -self.gradient()[0] - self.viscous_gradient();
        (excess > 0.0).then(|| PI * (self.front_tension() / excess).sqrt())
    }
}

/// Radius of the arcs that close behind an obstacle, `r = H/(1 − cos θ_wall)`, m: of a front that touches the axis of a symmetric cell of
/// half-width H, and meets its wall at θ_wall. Infinite where the wall wets wholly. Derived.
pub fn arc_radius(half_width: f64, wall: Effective) -> f64 {
    half_width / (1.0 - wall.cosine())
}

/// Which picture of the front applies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Picture {
    /// The front of the viscous flow, without its tension.
    Viscous,
    /// Either, but for small pockets.
    Both,
    /// Arcs under tension with contact angles at the sides.
    Capillary,
}

impl Picture {
    /// The picture of N_r over the arcs' radius: viscous above 100, capillary below 10, computed.
    pub fn of(number: f64) -> Picture {
        if number > VISCOUS {
            Picture::Viscous
        } else if number < CAPILLARY {
            Picture::Capillary
        } else {
            Picture::Both
        }
    }

    /// Its name in files.
    pub fn key(self) -> &'static str {
        match self {
            Picture::Viscous => "viscous",
            Picture::Both => "both",
            Picture::Capillary => "capillary",
        }
    }

    /// What follows from it.
    pub fn words(self) -> &'static str {
        match self {
            Picture::Viscous => {
                "The viscous flow shapes the front; its tension does not count. What air stays is that of the front without tension."
            }
            Picture::Both => {
                "Viscous flow and tension both shape the front; the pictures with and without tension agree but for pockets below a \
                 hundredth of the square of the obstacle's half-width."
            }
            Picture::Capillary => {
                "Tension and contact angles shape the front, not the viscous flow; where a front without tension cuts air off does not count."
            }
        }
    }
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;

    /// Water at 1 mm/s in 1 mm, sides of 110 degrees, seals of 90 degrees, plates of 60 degrees, level.
    pub fn water() -> Conditions {
        let degrees = f64::to_radians;
        Conditions {
            viscosity: 1.0e-3,
            density: 998.0,
            speed: 1e-3,
            gap: 1e-3,
            gap_gradient: [0.0; 2],
            tension: 72.7e-3,
            plate_angle: degrees(60.0),
            side_angle: degrees(110.0),
            seal_angle: degrees(90.0),
            tilt: [0.0; 2],
        }
    }

    /// By hand: 12e-3 Pa s m/s / 1e-6 m2 = 12 Pa/m; times (20 mm)² over 0.956611 * 72.7 mN/m = 0.06902. One degree uphill: 998 * 9.80665 *
    /// 0.0174524 = 170.81 Pa/m, Bo = 0.9825. Radius of the arcs in a cell of 200 mm with upright seals: 100 mm.
    #[test]
    fn numbers_are_those_of_water_in_a_millimetre() {
        let level = water();
        let uphill = Conditions { tilt: [1f64.to_radians().sin(), 0.0], ..level };
        assert!((level.viscous_gradient() - 12.0).abs() < 1e-12);
        assert!((level.number(0.02) - 0.06902).abs() < 1e-5, "{}", level.number(0.02));
        assert!((uphill.bond(0.02) - 0.98245).abs() < 1e-4, "{}", uphill.bond(0.02));
        let r = arc_radius(0.1, level.seal());
        assert!((r - 0.1).abs() < 1e-12 && (level.levelling(r) - 25.0 * 0.06902).abs() < 1e-3);
        assert!((uphill.levelling(r) - 25.0 * (0.06902 + 2.5 * 0.98245)).abs() < 5e-3);
        // downhill does not level
        let downhill = Conditions { tilt: [-0.01, 0.0], ..level };
        assert_eq!(downhill.levelling(r), level.levelling(r));
        assert_eq!(arc_radius(1.0, Effective::Repels), 0.5);
        assert!((arc_radius(1.0, Effective::Angle(PI / 3.0)) - 2.0).abs() < 1e-12);
        assert_eq!(arc_radius(1.0, Effective::Wets), f64::INFINITY);
    }

    /// A taper that widens by 1 mm per metre between plates of 60 degrees acts as 2 * 72.7e-3 * 0.5/1e-6 * 1e-3 = 72.7 Pa/m uphill; between
    /// plates that repel as downhill.
    #[test]
    fn taper_is_a_tilt() {
        let widening = Conditions { gap_gradient: [1e-3, -2e-3], ..water() };
        let [along, across] = widening.gradient();
        assert!((along - 72.7).abs() < 1e-9 && (across + 145.4).abs() < 1e-9);
        let repelling = Conditions { plate_angle: 120f64.to_radians(), ..widening };
        assert!((repelling.gradient()[0] + 72.7).abs() < 1e-9);
    }

    /// 110 degrees in 1 mm: 5.1 mm of water to enter; Washburn between plates of angle 0 after 1 s: sqrt(72.7e-3 * 1e-3/(3e-3)) = 155.7 mm.
    #[test]
    fn pressures_of_filling_have_their_textbook_size() {
        let repelling = Conditions { plate_angle: 110f64.to_radians(), ..water() };
        assert!((repelling.entry_head().unwrap() - 5.08e-3).abs() < 1e-5);
        assert_eq!((repelling.washburn_length(1.0), water().entry_head()), (None, None));
        let wetting = Conditions { plate_angle: 0.0, ..water() };
        assert!((wetting.washburn_length(1.0).unwrap() - 0.15567).abs() < 1e-5);
        // at rest at x the front of the same law: 12 mu U x/b² = 2 gamma cos/b at x = 145.4/12 m
        assert!(wetting.inlet_pressure(145.4 / 12.0).abs() < 1e-9);
        let uphill = Conditions { tilt: [0.01, 0.0], ..wetting };
        assert!((uphill.inlet_pressure(0.1) - (1.2 + 998.0 * GRAVITY * 1e-3 - 145.4)).abs() < 1e-9);
    }

    /// 0.1 rad at Ca = 1e-3/108 * ... : 9 * 12 Ca = 1e-3 at Ca = 9.26e-6; less than a degree above 20 degrees at Ca 1.4e-5.
    #[test]
    fn a_line_in_motion_has_a_larger_angle() {
        let slow = Conditions { plate_angle: 0.0, tension: 1e-6 / 9.259_259e-6, ..water() };
        assert!((slow.moving_angle() - 0.1).abs() < 1e-6);
        let wet = Conditions { plate_angle: 20f64.to_radians(), ..water() };
        let more = (wet.moving_angle() - wet.plate_angle).to_degrees();
        assert!(more > 0.0 && more < 1.0, "{more}");
        let fast = Conditions { plate_angle: PI, ..water() };
        assert_eq!(fast.moving_angle(), PI);
    }

    /// Downhill water at 1 mm/s in 1 mm breaks up above sin α = 12/(998 * 9.80665), 0.0703 degrees.
    #[test]
    fn a_front_downhill_breaks_up_from_its_limit_on() {
        let limit = 12.0 / (998.0 * GRAVITY);
        let downhill = |rise: f64| Conditions { tilt: [-rise, 0.0], ..water() };
        assert!((limit.asin().to_degrees() - 0.0703).abs() < 1e-4);
        assert_eq!(downhill(0.999 * limit).unstable_width(), None);
        let width = downhill(2.0 * limit).unstable_width().unwrap();
        // pi sqrt(0.956611 * 72.7e-3/12)
        assert!((width - 0.23917).abs() < 1e-4, "{width}");
        assert!(downhill(1.001 * limit).unstable_width().unwrap() > 5.0 * width);
    }

    #[test]
    fn pictures_change_at_ten_and_a_hundred() {
        let all =
            [(9.99, Picture::Capillary), (10.01, Picture::Both), (99.9, Picture::Both), (100.1, Picture::Viscous)];
        for (number, picture) in all {
            assert_eq!(Picture::of(number), picture, "{number}");
        }
        assert_eq!(Picture::of(f64::INFINITY), Picture::Viscous);
        let words = [Picture::Viscous, Picture::Both, Picture::Capillary].map(|p| (p.key(), p.words()));
        assert!(
            words[0].1.contains("does not count")
                && words[1].1.contains("agree")
                && words[2].1.contains("not the viscous")
        );
        assert_eq!(words.map(|w| w.0), ["viscous", "both", "capillary"]);
    }

    #[test]
    fn senseless_conditions_are_errors() {
        assert!(water().checked().is_ok());
        let wrong: [(Conditions, &str); 8] = [
            (Conditions { viscosity: 0.0, ..water() }, "viscosity"),
            (Conditions { density: f64::NAN, ..water() }, "density"),
            (Conditions { speed: -1e-3, ..water() }, "speed"),
            (Conditions { gap: f64::INFINITY, ..water() }, "gap"),
            (Conditions { plate_angle: -0.1, ..water() }, "plates"),
            (Conditions { side_angle: 3.2, ..water() }, "sides"),
            (Conditions { tilt: [0.9, 0.9], ..water() }, "rises"),
            (Conditions { gap_gradient: [f64::NAN, 0.0], ..water() }, "gradient"),
        ];
        for (conditions, word) in wrong {
            let error = conditions.checked().unwrap_err();
            assert!(error.what().contains(word), "{error}");
        }
    }
}
