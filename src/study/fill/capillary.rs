//! The front under in-plane tension of a case, as a course.

use super::arrival::arrivals;
use super::kept::{leaves_above, off_solids};
use super::{Course, Kept, LastPlace, Moment, Picture};
use crate::base::{Error, Result};
use crate::input::case::{FillDrive, FillFrom, Snapshots};
use crate::numerics::fem::Space;
use crate::study::Study;
use crate::theory::ideal::Stage;
use crate::theory::meniscus::{Drive, Front, Setup, run};
use crate::theory::wetting::Conditions;

/// Edges of the front along the half width of the smallest obstacle.
const EDGES: f64 = 20.0;
/// Edges of the front across a cell without obstacles.
const ACROSS: f64 = 60.0;
/// Moments that the map of arrival is made from at least.
const LEAST_MOMENTS: usize = 60;

/// Fills the cell by the front under tension.
pub(super) fn fill(
    study: &Study,
    space: &Space,
    conditions: &Conditions,
    drive: FillDrive,
    watch: &(dyn Fn(Stage) + Sync),
) -> Result<Course> {
    let settings = &study.case.filling;
    if let FillFrom::Port { .. } = settings.from {
        return Err(Error::failed(
            "the front under tension is computed from the inlet only, not from a port",
            "write from = \"inlet\", or model = \"viscous\"",
        ));
    }
    let plan = &study.plan;
    let width = study.case.cell.inlet_width().min(study.case.cell.shape.outlet_width());
    let smallest = plan.obstacles.iter().map(|obstacle| 0.5 * obstacle.height / EDGES).fold(width / ACROSS, f64::min);
    let viscous = conditions.viscous_gradient();
    let snapshots = match &settings.snapshots {
        Snapshots::Count(n) => *n,
        Snapshots::Times(list) | Snapshots::Impulses(list) => list.len(),
    };
    // as if the channel went on: air behind the last obstacle is then closed in or set free, whichever it is
    let longer = plan.with_outlet_moved(width);
    let setup = Setup {
        plan: &longer,
        tension: conditions.front_tension() / viscous,
        gradient: conditions.gradient().map(|g| g / viscous),
        seal_angle: conditions.seal().angle(),
        obstacle_angle: conditions.side().angle(),
        drive: match drive {
            FillDrive::Flow => Drive::Flow,
            FillDrive::Head => {
                Drive::Head((study.pattern.drive.pressure_drop + conditions.capillary_pressure()) / viscous)
            }
        },
        speed: conditions.speed,
        size: smallest,
        snapshots: snapshots.max(LEAST_MOMENTS),
        ..Setup::new(&longer, 1.0, conditions.speed)
    };
    let front = run(&setup, &mut |wet| {
        watch(Stage::Filling(wet));
        true
    })?;
    Ok(course(study, space, conditions, front))
}

fn course(study: &Study, space: &Space, conditions: &Conditions, front: Front) -> Course {
    let plan = &study.plan;
    let arrival = arrivals(space, &front, conditions.speed);
    let end = arrival.iter().copied().filter(|time| time.is_finite()).fold(0.0, f64::max);
    let pockets = || front.pockets.iter().filter(|pocket| plan.contains(pocket.place));
    let kept = pockets().map(|pocket| {
        let obstacle = pocket.obstacles.first().and_then(|&k| plan.obstacles.get(k as usize));
        let name = obstacle.map(|obstacle| obstacle.name.clone());
        let half = obstacle.map(|obstacle| 0.5 * obstacle.height);
        Kept {
            obstacle: name.or_else(|| pocket.on_wall.then(|| "side wall".to_owned())),
            at: pocket.place,
            area: pocket.area,
            volume: pocket.area * conditions.gap,
            time: pocket.time,
            outlines: off_solids(&pocket.polygon, conditions.gap),
            leaves_above: leaves_above(study, conditions, pocket.area, half),
        }
    });
    let kept: Vec<Kept> = kept.collect();
    let vents = pockets().rev().map(|pocket| LastPlace { at: pocket.place, time: pocket.time });
    let mut impulse = 0.0;
    let mut before: Option<(f64, f64)> = None;
    let (mass, steps) = ((front.books.drift().abs() + front.books.gap().abs()) / front.books.cell, front.solves);
    let moments = front.moments.iter().filter(|moment| moment.time <= end).map(|moment| {
        let pressure = moment.inlet_pressure;
        if let Some((time, last)) = before {
            impulse += 0.5 * (pressure + last) * conditions.speed * (moment.time - time);
        }
        before = Some((moment.time, pressure));
        Moment {
            time: moment.time,
            impulse,
            wet_area: moment.wet_area,
            conductance: moment.conductance,
            inlet_pressure: pressure * conditions.viscous_gradient() - conditions.capillary_pressure(),
            fill: None,
            pressure: None,
            front: moment.fronts.clone(),
        }
    });
    Course {
        picture: Picture::Capillary,
        moments: moments.collect(),
        end,
        last: vents.take(3).collect(),
        welds: Vec::new(),
        arrival,
        kept,
        mass_residual: mass,
        moment_residual: None,
        solves: steps,
    }
}
