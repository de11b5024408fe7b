//! Properties of water and of glycerol in water.
//!
//! All temperatures in K, all results in SI, pressure 0.101325 MPa, range 0 to 100 degC.

use super::Dimension;
use super::iapws95;

/// Standard atmosphere, Pa.
const ATMOSPHERE: f64 = 101325.0;

/// A property asked for outside the range of its formula.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{what} is {value}; the properties are known from {lowest} to {highest}")]
pub struct OutOfRange {
    /// What is outside.
    pub what: &'static str,
    /// Its value.
    pub value: String,
    /// The lower limit.
    pub lowest: &'static str,
    /// The upper limit.
    pub highest: &'static str,
}

/// Density and dynamic viscosity.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Properties {
    /// Density, kg/m3.
    pub density: f64,
    /// Dynamic viscosity, Pa s.
    pub viscosity: f64,
}

fn celsius(temperature: f64) -> Result<f64, OutOfRange> {
    let t = temperature - 273.15;
    // A thousandth of a degree on either side lets limits given in other units through.
    if (-1e-3..=100.001).contains(&t) {
        Ok(t)
    } else {
        let value = format!("{} ({temperature} K)", Dimension::Temperature.show(temperature));
        Err(OutOfRange { what: "the temperature", value, lowest: "0 degC", highest: "100 degC" })
    }
}

/// Density (IAPWS R6-95(2018)) and viscosity (IAPWS R12-08) of liquid water at a temperature in K.
///
/// # Errors
/// [`OutOfRange`] outside 0 to 100 degC.
///
/// ```
/// let water = twinplate::base::units::fluid::water(293.15)?;
/// assert!((water.density - 998.207).abs() < 1e-3);
/// assert!((water.viscosity - 1.0016e-3).abs() < 1e-7);
/// # Ok::<(), twinplate::base::units::fluid::OutOfRange>(())
/// ```
pub fn water(temperature: f64) -> Result<Properties, OutOfRange> {
    celsius(temperature)?;
    let density = iapws95::liquid_density(ATMOSPHERE, temperature);
    Ok(Properties { density, viscosity: water_viscosity(temperature, density) })
}

/// Viscosity of water, Pa s, at a temperature in K and a density in kg/m3: IAPWS R12-08, mu_0 mu_1 without the critical
/// enhancement, which the release leaves out away from the critical point.
pub fn water_viscosity(temperature: f64, density: f64) -> f64 {
    const H: [f64; 4] = [1.67752, 2.20462, 0.6366564, -0.241605];
    const H_IJ: [(i32, i32, f64); 21] = [
        (0, 0, 5.20094e-1),
        (1, 0, 8.50895e-2),
        (2, 0, -1.08374),
        (3, 0, -2.89555e-1),
        (0, 1, 2.22531e-1),
        (1, 1, 9.99115e-1),
        (2, 1, 1.88797),
        (3, 1, 1.26613),
        (5, 1, 1.20573e-1),
        (0, 2, -2.81378e-1),
        (1, 2, -9.06851e-1),
        (2, 2, -7.72479e-1),
        (3, 2, -4.89837e-1),
        (4, 2, -2.57040e-1),
        (0, 3, 1.61913e-1),
        (1, 3, 2.57399e-1),
        (0, 4, -3.25372e-2),
        (3, 4, 6.98452e-2),
        (4, 5, 8.72102e-3),
        (3, 6, -4.35673e-3),
        (5, 6, -5.93264e-4),
    ];
    let (t, rho) = (temperature / 647.096, density / 322.0);
    let mu_0 = 100.0 * t.sqrt() / H.iter().rev().fold(0.0, |sum, h| sum / t + h);
    let sum: f64 = H_IJ.iter().map(|&(i, j, h)| (1.0 / t - 1.0).powi(i) * h * (rho - 1.0).powi(j)).sum();
    let mu_1 = (rho * sum).exp();
    mu_0 * mu_1 * 1e-6
}

/// Surface tension of water against its vapour or air, N/m, at a temperature in K: IAPWS R1-76(2014),
/// 235.8 mN/m tau^1.256 (1 - 0.625 tau), tau = 1 - T/647.096 K.
///
/// # Errors
/// [`OutOfRange`] outside 0 to 100 degC.
pub fn water_surface_tension(temperature: f64) -> Result<f64, OutOfRange> {
    celsius(temperature)?;
    let tau = 1.0 - temperature / 647.096;
    Ok(235.8e-3 * tau.powf(1.256) * (1.0 - 0.625 * tau))
}

/// Surface tension of clean water at 20 degC by [`water_surface_tension`], N/m.
pub const WATER_SURFACE_TENSION: f64 = 72.736e-3;

/// Surface tension of glycerol in water against air, N/m, at a mass fraction in [0, 1] and a temperature in K: that of water and that of
/// glycerol, 63.4 mN/m at 20 degC and 0.06 mN/m less for each kelvin, mixed in proportion to mass.
///
/// The value of glycerol and its slope are those of handbooks, from memory; measured mixtures lie up to 2 mN/m above the straight line.
///
/// # Errors
/// [`OutOfRange`] outside 0 to 100 degC or for a fraction outside [0, 1].
pub fn glycerol_surface_tension(fraction: f64, temperature: f64) -> Result<f64, OutOfRange> {
    let (t, water) = (celsius(temperature)?, water_surface_tension(temperature)?);
    if !(0.0..=1.0).contains(&fraction) {
        let value = fraction.to_string();
        return Err(OutOfRange { what: "the glycerol mass fraction", value, lowest: "0", highest: "1" });
    }
    let glycerol = 63.4e-3 - 0.06e-3 * (t - 20.0);
    Ok(water + fraction * (glycerol - water))
}

/// Density and viscosity of glycerol in water at a mass fraction in [0, 1] and a temperature in K.
///
/// N.-S. Cheng 2008, Ind. Eng. Chem. Res. 47, 3285: mu = mu_w^alpha mu_g^(1-alpha); the density mixes those of water and
/// glycerol in proportion to mass, all from the fits of that paper. At fraction 0 they differ from
/// [`water`] by up to 2 % in viscosity and 0.5 % in density.
///
/// # Errors
/// [`OutOfRange`] outside 0 to 100 degC or for a fraction outside [0, 1].
pub fn glycerol_water(fraction: f64, temperature: f64) -> Result<Properties, OutOfRange> {
    let t = celsius(temperature)?;
    if !(0.0..=1.0).contains(&fraction) {
        let value = fraction.to_string();
        return Err(OutOfRange { what: "the glycerol mass fraction", value, lowest: "0", highest: "1" });
    }
    let c = fraction;
    let mu_w = 1.790e-3 * ((-1230.0 - t) * t / (36100.0 + 360.0 * t)).exp();
    let mu_g = 12100e-3 * ((-1233.0 + t) * t / (9900.0 + 70.0 * t)).exp();
    let a = 0.705 - 0.0017 * t;
    let b = (4.9 + 0.036 * t) * a.powf(2.5);
    let alpha = 1.0 - c + a * b * c * (1.0 - c) / (a * c + b * (1.0 - c));
    let [rho_w, rho_g] = mixed_densities(t);
    Ok(Properties { density: rho_g * c + rho_w * (1.0 - c), viscosity: mu_w.powf(alpha) * mu_g.powf(1.0 - alpha) })
}

/// Mass fraction of glycerol where glycerol and water were measured by volume, each before mixing, at a temperature in K:
/// w = phi rho_g/(phi rho_g + (1 - phi) rho_w) with the densities of the fits of Cheng 2008.
///
/// The volumes add to that of the mixture but for the contraction on mixing, about one per cent at most (from memory), which the volume
/// fraction of the mixture would feel and this one does not.
///
/// # Errors
/// [`OutOfRange`] outside 0 to 100 degC or for a fraction outside [0, 1].
///
/// ```
/// let w = twinplate::base::units::fluid::glycerol_mass_fraction(0.4, 293.15)?;
/// assert!((w - 0.458).abs() < 1e-3);
/// # Ok::<(), twinplate::base::units::fluid::OutOfRange>(())
/// ```
pub fn glycerol_mass_fraction(volume_fraction: f64, temperature: f64) -> Result<f64, OutOfRange> {
    let t = celsius(temperature)?;
    if !(0.0..=1.0).contains(&volume_fraction) {
        let value = volume_fraction.to_string();
        return Err(OutOfRange { what: "the glycerol volume fraction", value, lowest: "0", highest: "1" });
    }
    let [rho_w, rho_g] = mixed_densities(t);
    let glycerol = volume_fraction * rho_g;
    Ok(glycerol / (glycerol + (1.0 - volume_fraction) * rho_w))
}

/// Densities of water and of glycerol at a temperature in degC, kg/m3 (Cheng 2008).
fn mixed_densities(t: f64) -> [f64; 2] {
    [1000.0 * (1.0 - ((t - 4.0) / 622.0).abs().powf(1.7)), 1277.0 - 0.654 * t]
}
