//! The tables `[cell]`, `[fluid]` and `[drive]`.

use super::cell_shape;
use super::gap::{self, Bowing};
use super::limits::Limits;
use super::reader::{Reader, Table, Value};
use super::{Cell, Drive, DriveQuantity, Ends, Fluid, FluidKind};
use crate::base::units::{self, Dimension, fluid};

const BY_MASS: &str = "glycerol_mass_fraction";
const BY_VOLUME: &str = "glycerol_volume_fraction";

/// The cell, and the kind of ends if those marked on its outline say it; none if one of its measures could not be read. Bowing needs the pressure and the plates, read before.
pub(super) fn cell(reader: &mut Reader<'_>, root: &Table<'_>, read: &Bowing<'_>) -> Option<(Cell, Option<Ends>)> {
    let keys = [&cell_shape::KEYS[..], &["gap"]].concat();
    let table = reader.needed_section(root, "cell", &keys)?;
    let shape = cell_shape::cell_shape(reader, root, &table);
    let value = reader.needed(&table, "gap", "\"0.5 mm\"");
    let (shape, unit, ends) = shape?;
    let gap = value.and_then(|value| gap::gap(reader, value, &shape, read))?;
    Some((Cell { shape, gap, unit }, ends))
}

/// The fluid; none if it could not be read.
pub(super) fn fluid(reader: &mut Reader<'_>, root: &Table<'_>) -> Option<Fluid> {
    let allowed = ["name", "temperature", "glycerol_mass_fraction", "glycerol_volume_fraction", "density", "viscosity"];
    let table = reader.needed_section(root, "fluid", &allowed)?;
    let stated: Vec<&str> = ["density", "viscosity"].into_iter().filter(|key| table.get(key).is_some()).collect();
    let named: Vec<&str> = allowed[..4].iter().copied().filter(|key| table.get(key).is_some()).collect();
    match (named.first(), stated.first()) {
        (Some(first), Some(_)) => {
            for key in stated {
                let message = format!("[fluid] has both \"{first}\" and \"{key}\"");
                let remedy = "give either a name with its temperature, or density and viscosity";
                reader.fail(table.key_span(key), message, remedy);
            }
            None
        }
        (None, Some(_)) => stated_fluid(reader, &table),
        _ => named_fluid(reader, &table),
    }
}

fn stated_fluid(reader: &mut Reader<'_>, table: &Table<'_>) -> Option<Fluid> {
    let density = match table.get("viscosity").filter(|value| is_kinematic(value) && table.get("density").is_none()) {
        Some(value) => {
            let message = "viscosity is a kinematic one, and [fluid] has no density to make it dynamic";
            let remedy = "add density = \"998 kg/m3\", or write a dynamic viscosity such as \"1.0 mPa s\"";
            reader.fail(Some(value.span()), message, remedy);
            None
        }
        None => reader.needed_quantity(table, "density", Dimension::Density, Limits::Positive),
    };
    let viscosity = match table.get("viscosity").filter(|value| is_kinematic(value)) {
        Some(value) => {
            let kinematic = reader.quantity(value, "viscosity", Dimension::Diffusivity, Limits::Positive);
            kinematic.zip(density).map(|(kinematic, density)| kinematic * density)
        }
        None => reader.needed_quantity(table, "viscosity", Dimension::Viscosity, Limits::Positive),
    };
    Some(Fluid { name: "given".into(), density: density?, viscosity: viscosity?, kind: FluidKind::Stated })
}

/// Whether a viscosity stands in units of a kinematic one, such as cSt or mm2/s.
fn is_kinematic(value: &Value<'_>) -> bool {
    value.get_ref().as_str().is_some_and(|text| units::parse(text, Dimension::Diffusivity).is_ok())
}

/// The fraction of glycerol in a mixture as it is given.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Glycerol {
    ByMass(f64),
    ByVolume(f64),
}

/// The fraction of glycerol in a mixture.
fn glycerol(reader: &mut Reader<'_>, table: &Table<'_>) -> Option<Glycerol> {
    let limits = Limits::Within(0.0, 1.0);
    if table.get(BY_VOLUME).is_none() {
        return Some(Glycerol::ByMass(reader.needed_quantity(table, BY_MASS, Dimension::Fraction, limits)?));
    }
    let (key, value) = reader.exactly_one(table, &[BY_MASS, BY_VOLUME])?;
    let fraction = reader.quantity(value, key, Dimension::Fraction, limits)?;
    Some(if key == BY_MASS { Glycerol::ByMass(fraction) } else { Glycerol::ByVolume(fraction) })
}

fn named_fluid(reader: &mut Reader<'_>, table: &Table<'_>) -> Option<Fluid> {
    let name = reader.needed(table, "name", "\"water\", or density and viscosity in place of a name");
    let temperature = reader.needed_quantity(table, "temperature", Dimension::Temperature, Limits::Positive);
    let mixed = reader.choice(table, "name", &[("water", false), ("glycerol-water", true)]);
    let fraction = match mixed {
        Some(true) => glycerol(reader, table),
        Some(false) => {
            for key in [BY_MASS, BY_VOLUME] {
                if let Some(place) = table.key_span(key) {
                    let message = format!("{key} is given for a fluid without glycerol");
                    reader.fail(Some(place), message, "remove it, or write name = \"glycerol-water\"");
                }
            }
            None
        }
        None => None,
    };
    let (name, mixed, temperature) = (name?.get_ref().as_str()?, mixed?, temperature?);
    let (properties, name, kind) = if mixed {
        let by_mass = match fraction? {
            Glycerol::ByMass(fraction) => fraction,
            // out of the range of temperatures, the properties below say so
            Glycerol::ByVolume(given) => fluid::glycerol_mass_fraction(given, temperature).unwrap_or(given),
        };
        let mut name = format!("{name}, {} % glycerol by mass", show_percent(by_mass));
        if let Some(Glycerol::ByVolume(given)) = fraction {
            name += &format!(" ({} % by volume before mixing)", show_percent(given));
        }
        let kind = FluidKind::GlycerolWater { fraction: by_mass, temperature };
        (fluid::glycerol_water(by_mass, temperature), name, kind)
    } else {
        (fluid::water(temperature), name.to_owned(), FluidKind::Water { temperature })
    };
    match properties {
        Ok(found) => Some(Fluid { name, density: found.density, viscosity: found.viscosity, kind }),
        Err(error) => {
            let place = table.get("temperature").map(|value| value.span());
            let remedy =
                "write a temperature such as \"20 degC\" (a number without a unit is in K), or density and viscosity";
            reader.fail(place, error.to_string(), remedy);
            None
        }
    }
}

fn show_percent(fraction: f64) -> String {
    Dimension::Fraction.show(100.0 * fraction)
}

/// What drives the flow; a stand-in if that could not be read.
pub(super) fn drive(reader: &mut Reader<'_>, root: &Table<'_>) -> Drive {
    const QUANTITIES: [&str; 7] =
        ["mean_speed", "flow_rate", "pressure_drop", "head", "reduced_reynolds", "obstacle_reynolds", "gap_reynolds"];
    let mut drive =
        Drive { quantity: DriveQuantity::MeanSpeed(1e-3), ends: Ends::HeldPressure, reference_length: None };
    let allowed: Vec<&str> = QUANTITIES.into_iter().chain(["ends", "reference_length"]).collect();
    let Some(table) = reader.needed_section(root, "drive", &allowed) else { return drive };
    if let Some((key, value)) = reader.exactly_one(&table, &QUANTITIES) {
        let (dimension, make): (_, fn(f64) -> DriveQuantity) = match key {
            "mean_speed" => (Dimension::Speed, DriveQuantity::MeanSpeed),
            "flow_rate" => (Dimension::FlowRate, DriveQuantity::FlowRate),
            "pressure_drop" => (Dimension::Pressure, DriveQuantity::PressureDrop),
            "head" => (Dimension::Length, DriveQuantity::Head),
            "reduced_reynolds" => (Dimension::Fraction, DriveQuantity::ReducedReynolds),
            "obstacle_reynolds" => (Dimension::Fraction, DriveQuantity::ObstacleReynolds),
            _ => (Dimension::Fraction, DriveQuantity::GapReynolds),
        };
        if let Some(read) = reader.quantity(value, key, dimension, Limits::Positive) {
            drive.quantity = make(read);
        }
    }
    let kinds = [("held-pressure", Ends::HeldPressure), ("given-inflow", Ends::GivenInflow)];
    drive.ends = reader.choice(&table, "ends", &kinds).unwrap_or(drive.ends);
    drive.reference_length = reader.optional_quantity(&table, "reference_length", Dimension::Length, Limits::Positive);
    drive
}
