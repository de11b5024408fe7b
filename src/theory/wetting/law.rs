//! The two angles of a filling front: at the plates, where they give the front its tension, and at the sides, where it ends.

use std::f64::consts::{FRAC_PI_2, PI};

/// In-plane tension of a meniscus between two plates over that of a flat surface across the gap: with θ the contact angle of the plates,
///
/// `c(θ) = ((π/2 − θ)/cos θ + sin θ)/2`, `c(0) = π/4`, `c(π/2) = 1`, `c(π − θ) = c(θ)`.
///
/// The front of mean curvature κ in the plane has the pressure `p = p_air − 2 γ cos θ/b + c γ κ`, κ > 0 where liquid bulges into air,
/// and costs `c γ b` of energy per length. Derived: surface of a circular arc less the plates it wets, at a given volume, is
/// `γ b ∫ sqrt(1 − u² cos² θ) du` over u from 0 to 1. c(0) = π/4 is of Park & Homsy 1984 (J. Fluid Mech. 139, 291; recalled). Range:
/// radii in the plane far above the gap; exact axisymmetric menisci agree to 2e-6 (computed). Angles, rad, are kept within 0 and π.
///
/// ```
/// use twinplate::theory::wetting::tension_factor;
/// assert!((tension_factor(0.0) - std::f64::consts::FRAC_PI_4).abs() < 1e-15);
/// assert_eq!(tension_factor(std::f64::consts::FRAC_PI_2), 1.0);
/// ```
pub fn tension_factor(plate: f64) -> f64 {
    // from the right angle, where nothing cancels
    let rest = FRAC_PI_2 - plate.clamp(0.0, PI);
    let ratio = if rest == 0.0 { 1.0 } else { rest / rest.sin() };
    0.5 * (ratio + rest.cos())
}

/// Capillary pressure of the meniscus between the plates, Pa: 2 γ cos(θ)/b (Young and Laplace; Lucas 1918, Washburn 1921).
/// Positive: the plates draw the fluid in. `tension` in N/m, `angle` in rad, `gap` in m.
///
/// ```
/// let water_on_glass = twinplate::theory::wetting::capillary_pressure(0.0727, 0.0, 1e-3);
/// assert!((water_on_glass - 145.4).abs() < 1e-9);
/// ```
pub fn capillary_pressure(tension: f64, angle: f64, gap: f64) -> f64 {
    2.0 * tension * angle.cos() / gap
}

/// Capillary number μ U/gamma: viscous stress against surface tension.
pub fn capillary_number(viscosity: f64, speed: f64, tension: f64) -> f64 {
    viscosity * speed / tension
}

/// How the front meets an upright side, seen in the plane.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Effective {
    /// At this angle through the liquid, rad.
    Angle(f64),
    /// The side wets wholly: the liquid runs along it.
    Wets,
    /// The side repels wholly: a film of air would stay along it.
    Repels,
}

impl Effective {
    /// Cosine of the angle, 1 where the side wets and -1 where it repels.
    pub fn cosine(self) -> f64 {
        match self {
            Effective::Angle(angle) => angle.cos(),
            Effective::Wets => 1.0,
            Effective::Repels => -1.0,
        }
    }

    /// The angle, rad: 0 where the side wets and π where it repels.
    pub fn angle(self) -> f64 {
        match self {
            Effective::Angle(angle) => angle,
            Effective::Wets => 0.0,
            Effective::Repels => PI,
        }
    }
}

/// The angle at which the front meets an upright side in the plane, `cos θ_e = cos θ_side/c(θ_plate)`.
///
/// Derived: along the side the liquid gains `b γ cos θ_side` per length, and the front costs `c γ b` per length ([`tension_factor`]);
/// their balance is Young's law in the plane. Angles in rad, advancing, kept within 0 and π. Range: radii far above the gap.
///
/// ```
/// use twinplate::theory::wetting::{Effective, effective_angle};
/// let Effective::Angle(angle) = effective_angle(110f64.to_radians(), 20f64.to_radians()) else { panic!() };
/// assert!((angle.to_degrees() - 114.6).abs() < 0.05);
/// ```
pub fn effective_angle(side: f64, plate: f64) -> Effective {
    let side = side.clamp(0.0, PI);
    // exactly upright at a right angle, whatever the plates
    let cosine = (FRAC_PI_2 - side).sin() / tension_factor(plate);
    if cosine >= 1.0 {
        Effective::Wets
    } else if cosine <= -1.0 {
        Effective::Repels
    } else {
        Effective::Angle(cosine.acos())
    }
}

/// Whether liquid runs ahead along the corner of an upright side and a plate: `θ_side + θ_plate < π/2` (Concus & Finn 1969, Proc. Natl.
/// Acad. Sci. 63, 292; recalled; for two materials the sum of both angles stands for twice the one). Sharp right-angled corners; a fillet of
/// glue or a rounded edge holds it back. Angles in rad. A front that wicks is outside the model of this folder.
pub fn wicks(side: f64, plate: f64) -> bool {
    side + plate < FRAC_PI_2
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Arc length less the wetted plates at a given volume, per tension and gap, from the slope of the meniscus: with sin ψ = 2 z cos θ at
    /// the height z in gaps, `2 ∫ (1/cos ψ − 2 cos θ z tan ψ) dz` from 0 to 1/2, the second term half the volume that the meniscus
    /// holds beyond its contact lines. Simpson's rule in t, 2 z = sin t, which takes the end of θ = 0 out; the least smooth
    /// place is that end at small angles, where 2000 steps are 4e-13 off.
    fn energy(theta: f64) -> f64 {
        let n = 2000;
        let at = |k: usize| {
            let (u, du) = (FRAC_PI_2 * k as f64 / n as f64).sin_cos();
            let sin = u * theta.cos();
            let cos = (1.0 - sin * sin).sqrt();
            // the last place at θ = 0: both parts grow without bound, their difference times du goes to zero
            if cos < 1e-12 { 0.0 } else { (1.0 / cos - theta.cos() * u * sin / cos) * du }
        };
        let inner: f64 = (1..n).map(|k| at(k) * if k % 2 == 1 { 4.0 } else { 2.0 }).sum();
        (at(0) + inner + at(n)) * FRAC_PI_2 / (3.0 * n as f64)
    }

    #[test]
    fn the_tension_of_the_front_is_the_energy_of_its_meniscus() {
        for degrees in [0.0, 1.0, 10.0, 30.0, 45.0, 60.0, 80.0, 89.9, 90.0, 100.0, 135.0, 150.0, 180.0] {
            let theta = f64::to_radians(degrees);
            assert!((tension_factor(theta) - energy(theta)).abs() < 1e-12, "{degrees}: {}", tension_factor(theta));
        }
        // to the digits of the closed form's published and computed values
        for (degrees, value) in
            [(10.0, 0.795726), (30.0, 0.854600), (60.0, 0.956611), (80.0, 0.994951), (150.0, 0.854600)]
        {
            assert!((tension_factor(f64::to_radians(degrees)) - value).abs() < 1e-6, "{degrees}");
        }
    }

    /// Near a right angle c = 1 - d²/6 + ..., d the distance from it: (1 + d²/6 + 1 - d²/2)/2. Beyond 0 and π the nearest of them counts.
    #[test]
    fn it_is_smooth_at_a_right_angle_and_even_about_it() {
        for d in [1e-3, 1e-6, 1e-9, 0.0] {
            assert!((tension_factor(FRAC_PI_2 + d) - (1.0 - d * d / 6.0)).abs() < 1e-13, "{d}");
        }
        for theta in [0.1, 0.7, 1.2] {
            assert!((tension_factor(PI - theta) - tension_factor(theta)).abs() < 1e-15);
        }
        assert_eq!((tension_factor(-0.1), tension_factor(4.0)), (tension_factor(0.0), tension_factor(PI)));
        assert!(tension_factor(f64::NAN).is_nan());
    }

    /// Computed once by the closed form in another language and rounded to 0.1 degrees.
    #[test]
    fn effective_angles_are_those_of_the_table() {
        let sides = [45.0, 60.0, 75.0, 90.0, 105.0, 110.0, 120.0];
        let table = [
            (20.0, [30.5, 52.5, 71.6, 90.0, 108.4, 114.6, 127.5]),
            (45.0, [38.9, 56.6, 73.5, 90.0, 106.5, 112.1, 123.4]),
            (60.0, [42.3, 58.5, 74.3, 90.0, 105.7, 110.9, 121.5]),
            (75.0, [44.3, 59.6, 74.8, 90.0, 105.2, 110.2, 120.4]),
        ];
        for (plate, row) in table {
            for (side, expected) in sides.iter().zip(row) {
                let effective = effective_angle(f64::to_radians(*side), f64::to_radians(plate));
                let Effective::Angle(angle) = effective else { panic!("{plate} {side}: {effective:?}") };
                assert!((angle.to_degrees() - expected).abs() < 0.0501, "{plate} {side}: {}", angle.to_degrees());
                assert!((effective.cosine() - angle.cos()).abs() < 1e-15 && effective.angle() == angle);
            }
        }
    }

    /// On plates of angle 0, c = π/4 and the limits are acos(±π/4) = 38.24 and 141.76 degrees.
    #[test]
    fn sides_wet_or_repel_wholly_on_either_side_of_their_limits() {
        let limit = (0.25 * PI).acos();
        assert_eq!(effective_angle(limit - 1e-9, 0.0), Effective::Wets);
        assert!(matches!(effective_angle(limit + 1e-9, 0.0), Effective::Angle(angle) if angle < 1e-3));
        assert_eq!(effective_angle(PI - limit + 1e-9, 0.0), Effective::Repels);
        assert!(matches!(effective_angle(PI - limit - 1e-9, 0.0), Effective::Angle(angle) if angle > PI - 1e-3));
        assert_eq!([Effective::Wets, Effective::Repels].map(|e| (e.cosine(), e.angle())), [(1.0, 0.0), (-1.0, PI)]);
    }

    /// Both sides of the limit; and whatever wets wholly between wetting plates wicks as well, for c(θ) >= sin θ.
    #[test]
    fn corners_wick_below_a_right_angle_in_sum() {
        let degrees = f64::to_radians;
        assert!(wicks(degrees(29.99), degrees(60.0)) && !wicks(degrees(30.01), degrees(60.0)));
        for plate in 0..=90 {
            for side in 0..=180 {
                let (side, plate) = (degrees(f64::from(side)), degrees(f64::from(plate)));
                assert!(tension_factor(plate) >= plate.sin() - 1e-14);
                if effective_angle(side, plate) == Effective::Wets {
                    assert!(side + plate < FRAC_PI_2 + 1e-9, "{side} {plate}");
                }
            }
        }
    }
}
