//! Fronts that fill a dry cell: closed forms, and a post.

use super::{Effort, Figure};
use crate::cells::{cell, circle};
use std::f64::consts::PI;
use std::sync::Arc;
use twinplate::input::case::Ends::HeldPressure;
use twinplate::input::case::{CutOff, Gap, Snapshots};
use twinplate::numerics::fem::Space;
use twinplate::numerics::mesh::{Mesh, SizeField};
use twinplate::theory::filling::{Drive, FrontPressure, Meniscus, Moment, Port, Setup, Source, fill, laws};
use twinplate::theory::ideal::{Goal, first_size_field};

const GAP: f64 = 1e-3;
const VISCOSITY: f64 = 1e-3;
const DROP: f64 = 100.0;
const MOBILITY: f64 = GAP * GAP / (12.0 * VISCOSITY);
/// Width of the strips with plane fronts.
const WIDTH: f64 = 0.2;
/// Change of the gap per length where it narrows.
const SLOPE: f64 = -0.4e-3;
/// Rise of the cell per length uphill.
const RISE: f64 = 0.008;

/// Named quantities of a filling.
pub fn figure(what: &str, with: &[f64], effort: Effort) -> Option<Figure> {
    let &[x] = with else { return None };
    match what {
        "plane" => refined(effort, |space| {
            let moment = last(&setup(space, Snapshots::Impulses(vec![x])))?;
            Some(moment.wet_volume_m3 / (WIDTH * GAP))
        }),
        "plane_flow" => refined(effort, |space| {
            let case =
                Setup { drive: Drive::Flow(1e-3 * WIDTH * GAP), ..setup(space, Snapshots::Times(vec![x / 1e-3])) };
            Some((2.0 * last(&case)?.impulse_m2).sqrt())
        }),
        "plane_flow_pressure" => {
            let space = strip(effort.triangles, 0.0)?;
            let case =
                Setup { drive: Drive::Flow(1e-3 * WIDTH * GAP), ..setup(&space, Snapshots::Times(vec![x / 1e-3])) };
            let value = last(&case)?.inlet_pressure_pa * MOBILITY / (1e-3 * x);
            // triangles average 0.433 h²
            let side = (WIDTH / (0.433 * space.mesh.triangles.len() as f64)).sqrt();
            Some(Figure { value, error: side / x })
        }
        "port" => port(x, effort),
        "linear_gap" => {
            let time = laws::linear_gap(x, GAP, SLOPE, VISCOSITY, DROP);
            let coarse = strip(effort.triangles, SLOPE)?;
            let fine = Space::new(Arc::new(coarse.mesh.refined()), &narrowing(SLOPE), GAP);
            let [a, b] = [&coarse, &fine].map(|space| Some(place(last(&setup(space, Snapshots::Times(vec![time])))?)));
            Some(Figure { value: b?, error: (b? - a?).abs() })
        }
        "capillary_gap" => {
            let water = Meniscus { tension: 0.0727, angle: 0.0, density: 998.2, slope: [0.0; 2] };
            let time = laws::plane_against(x, GAP, SLOPE, VISCOSITY, |x| DROP + 2.0 * 0.0727 / (GAP + SLOPE * x));
            stepped(effort, SLOPE, water, time)
        }
        "uphill" => {
            let water = Meniscus { tension: 0.0, angle: 0.0, density: 998.2, slope: [-RISE, 0.0] };
            let weight = 998.2 * twinplate::base::units::GRAVITY * RISE;
            stepped(effort, 0.0, water, laws::uphill(x, MOBILITY, DROP, weight))
        }
        "post" => post(x, effort),
        _ => None,
    }
}

fn setup(space: &Space, snapshots: Snapshots) -> Setup<'_> {
    Setup {
        space,
        viscosity: VISCOSITY,
        source: Source::Inlet,
        drive: Drive::Pressure(DROP),
        front: FrontPressure::Uniform(0.0),
        snapshots,
        pockets: CutOff::Pinned,
    }
}

fn last(setup: &Setup) -> Option<Moment> {
    fill(setup, &|_| ()).ok()?.snapshots.pop()
}

fn narrowing(slope: f64) -> Gap {
    match slope {
        0.0 => Gap::Uniform(GAP),
        slope => Gap::Linear { at: GAP, slope: [slope, 0.0], middle: [0.0; 2] },
    }
}

/// A strip 1 long of about so many triangles.
fn strip(triangles: usize, slope: f64) -> Option<Space> {
    let (_, plan) = cell(1.0, WIDTH, HeldPressure, "");
    let mesh = Mesh::generate_with_count(&plan, &SizeField::new(0.1, 0.3, vec![]), triangles).ok()?;
    Some(Space::new(Arc::new(mesh), &narrowing(slope), GAP))
}

/// Place of the front that holds a volume where the gap is b0 + a x.
fn place(moment: Moment) -> f64 {
    let v = moment.wet_volume_m3 / WIDTH;
    2.0 * v / (GAP + (GAP * GAP + 2.0 * SLOPE * v).sqrt())
}

/// A quantity of a strip on two nested meshes.
fn refined(effort: Effort, of: impl Fn(&Space) -> Option<f64>) -> Option<Figure> {
    let coarse = strip(effort.triangles, 0.0)?;
    let fine = Space::new(Arc::new(coarse.mesh.refined()), &Gap::Uniform(GAP), GAP);
    let (a, b) = (of(&coarse)?, of(&fine)?);
    // one dimension: |x²/2 − I| ≤ h²/8 of the finer mesh, in case both are off alike
    let side = (WIDTH / (0.433 * fine.mesh.triangles.len() as f64)).sqrt();
    Some(Figure { value: b, error: (b - a).abs() + side * side / 8.0 / b })
}

/// Place of a front whose pressure varies, with 100 and 200 steps.
fn stepped(effort: Effort, slope: f64, meniscus: Meniscus, time: f64) -> Option<Figure> {
    let space = strip(effort.triangles / 2, slope)?;
    let of = |steps: usize| {
        let front = FrontPressure::Varying { front: meniscus.front(&space), vent: meniscus.vent(&space), steps };
        let moment = last(&Setup { front, ..setup(&space, Snapshots::Times(vec![time])) })?;
        Some(if slope == 0.0 { moment.wet_volume_m3 / (WIDTH * GAP) } else { place(moment) })
    };
    let (a, b) = (of(100)?, of(200)?);
    let side = (WIDTH / (0.433 * space.mesh.triangles.len() as f64)).sqrt();
    Some(Figure { value: b, error: 2.0 * (b - a).abs() + side * side / b })
}

/// Radius of the front round a port in the middle of a square of side 1.
fn port(r: f64, effort: Effort) -> Option<Figure> {
    let r0 = 0.05;
    let port = Port { at: [0.5, 0.5], diameter: 2.0 * r0 };
    let (_, plan) = cell(1.0, 1.0, HeldPressure, "");
    let field = SizeField::new((2.3 / effort.triangles as f64).sqrt(), 0.2, port.sizes());
    let coarse = port.resolved(&Mesh::generate(&plan, &field, 1_000_000).ok()?);
    let fine = port.resolved(&coarse.refined());
    let [a, b] = [coarse, fine].map(|mesh| {
        let space = Space::new(Arc::new(mesh), &Gap::Uniform(GAP), GAP);
        let snapshots = Snapshots::Impulses(vec![laws::port(r, r0)]);
        let moment = last(&Setup { source: Source::Port(port), ..setup(&space, snapshots) })?;
        Some((moment.wet_area_m2 / PI).sqrt())
    });
    let chords = 1.4e-3 * r / (2.0 * (r / r0).ln());
    Some(Figure { value: b?, error: (b? - a?).abs() + chords })
}

/// Wet area of a channel with a post at an impulse.
fn post(impulse: f64, effort: Effort) -> Option<Figure> {
    let (case, plan) = cell(2.0, 1.0, HeldPressure, &circle([0.8, 0.5], 0.4));
    let field = first_size_field(&plan, &case, Goal::Triangles(effort.triangles)).ok()?;
    let coarse = Mesh::generate_with_count(&plan, &field, effort.triangles).ok()?;
    let fine = coarse.refined();
    let [a, b] = [coarse, fine].map(|mesh| {
        let space = Space::new(Arc::new(mesh), &Gap::Uniform(GAP), GAP);
        Some(last(&setup(&space, Snapshots::Impulses(vec![impulse])))?.wet_area_m2)
    });
    Some(Figure { value: b?, error: (b? - a?).abs() + 1e-4 })
}
