//! Fluids, plates and sections: closed formulas of the library, whose only error is rounding.

use super::Figure;
use twinplate::base::units::fluid::{glycerol_water, water, water_surface_tension, water_viscosity};
use twinplate::geometry::{ChordPart, FourDigitSurface, Surface};
use twinplate::input::case::PlateEdges;
use twinplate::input::case::plate::Plate;

/// Rounding of a few hundred operations.
const ROUNDING: f64 = 1e-13;

/// Named properties in the units of the reference tables.
pub fn figure(what: &str, with: &[f64]) -> Result<Option<Figure>, String> {
    let kelvin = |celsius: f64| 273.15 + celsius;
    let value = match (what, with) {
        ("water_viscosity", &[temperature, density]) => 1e6 * water_viscosity(temperature, density),
        ("water_density_at", &[t]) => water(kelvin(t)).map_err(|e| e.to_string())?.density,
        ("water_viscosity_at", &[t]) => 1e6 * water(kelvin(t)).map_err(|e| e.to_string())?.viscosity,
        ("surface_tension_at", &[t]) => 1e3 * water_surface_tension(kelvin(t)).map_err(|e| e.to_string())?,
        ("glycerol_water", &[c, t]) => 1e3 * glycerol_water(c, kelvin(t)).map_err(|e| e.to_string())?.viscosity,
        // the series of the supported plate is cut below 1e-11
        ("supported_plate", &[aspect]) => {
            let value = Plate::new([aspect, 1.0], 1.0, PlateEdges::Supported).coefficient();
            return Ok(Some(Figure { value, error: 1e-11 }));
        }
        // Ritz's values rise towards the exact one as the sixth power or so of the number of functions
        ("clamped_plate", &[aspect]) => {
            let value = Plate::new([aspect, 1.0], 1.0, PlateEdges::Clamped).coefficient();
            return Ok(Some(Figure { value, error: 1e-8 }));
        }
        ("four_digit", &[thickness, x]) => 100.0 * section(thickness).at(f64::sqrt(x / 100.0))[0][1],
        ("nose_radius", &[thickness]) => 100.0 * section(thickness).nose_radius(),
        _ => return Ok(None),
    };
    Ok(Some(Figure { value, error: ROUNDING * value.abs() }))
}

/// A symmetric section of unit chord with the open tail of the reports.
fn section(thickness: f64) -> FourDigitSurface {
    FourDigitSurface {
        camber: 0.0,
        camber_place: 0.4,
        thickness,
        closed_tail: false,
        surface: Surface::Upper,
        part: ChordPart::Fore,
        nose: [0.0, 0.0],
        chord: [1.0, 0.0],
    }
}
