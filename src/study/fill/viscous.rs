//! The viscous front of a case, as a course.

use super::record::off_solids;
use super::{Course, Kept, LastPlace, Moment, Picture};
use crate::base::plane::{self, distance};
use crate::base::{Point, Result};
use crate::geometry::Side;
use crate::input::case::{CutOff, FillDrive, FillFrom, Snapshots};
use crate::numerics::fem::Space;
use crate::study::Study;
use crate::theory::bubbles::{behind_post, travel_speed};
use crate::theory::filling::{
    self, Drive, Filling, FrontPressure, Meniscus, PocketRule, Port, Setup, Snapshots as Wanted, Source,
};
use crate::theory::ideal::Stage;
use crate::theory::wetting::Conditions;
use std::f64::consts::PI;

/// Steps from one moment to the next where the pressure of the front varies.
const STEPS: usize = 4;
/// Part of the whole time after which a place counts as filled late.
const LATE: f64 = 0.6;
/// Air nearer to a solid than this part of its own size is held by it.
const TOUCHES: f64 = 0.1;

/// Fills the cell by the viscous front.
pub(super) fn fill(
    study: &Study,
    space: &Space,
    conditions: &Conditions,
    drive: FillDrive,
    watch: &(dyn Fn(Stage) + Sync),
) -> Result<Course> {
    let case = &study.case;
    let settings = &case.filling;
    let front = if space.uniform_gap() && conditions.tilt == [0.0; 2] {
        FrontPressure::Uniform(-conditions.capillary_pressure())
    } else {
        let meniscus = Meniscus {
            tension: conditions.tension,
            angle: conditions.plate_angle,
            density: conditions.density,
            slope: conditions.tilt.map(|rise| -rise),
        };
        FrontPressure::Varying { front: meniscus.front(space), vent: meniscus.vent(space), steps: STEPS }
    };
    let setup = Setup {
        space,
        viscosity: conditions.viscosity,
        source: match settings.from {
            FillFrom::Inlet => Source::Inlet,
            FillFrom::Port { at, diameter, .. } => Source::Port(Port { at, diameter }),
        },
        drive: match drive {
            FillDrive::Flow => Drive::Flow(study.pattern.drive.flow_rate),
            FillDrive::Head => Drive::Pressure(study.pattern.drive.pressure_drop),
        },
        front,
        snapshots: match &settings.snapshots {
            Snapshots::Count(n) => Wanted::Count(*n),
            Snapshots::Times(times) => Wanted::Times(times.clone()),
            Snapshots::Impulses(impulses) => Wanted::Impulses(impulses.clone()),
        },
        pockets: match settings.pockets {
            CutOff::Pinned => PocketRule::Pinned,
            CutOff::Vented => PocketRule::Vented,
        },
    };
    let found = filling::fill(&setup, &|progress| watch(Stage::Filling(progress.wet)))?;
    Ok(course(study, space, conditions, found))
}

fn course(study: &Study, space: &Space, conditions: &Conditions, found: Filling) -> Course {
    let Filling { snapshots, arrival, pockets, latest, welds, mass_residual, moment_residual, work, .. } = found;
    let end = snapshots.last().map_or(0.0, |moment| moment.time_s);
    let kept = pockets.into_iter().map(|pocket| {
        let obstacle = owner(space, &pocket.rim);
        Kept {
            leaves_above: leaves_above(study, conditions, pocket.area_m2, obstacle.as_ref().map(|(_, half)| *half)),
            obstacle: obstacle.map(|(name, _)| name),
            at: pocket.place,
            area: pocket.area_m2,
            volume: pocket.volume_m3,
            time: pocket.time_s,
            outlines: pocket.rim.iter().flat_map(|rim| off_solids(rim, conditions.gap)).collect(),
        }
    });
    let kept: Vec<Kept> = kept.collect();
    // air that is cut off never fills; what fills long before the end needs no vent
    let air = kept.iter().map(|air| LastPlace { at: air.at, time: air.time });
    let late =
        latest.iter().map(|late| LastPlace { at: late.at, time: late.time_s }).filter(|late| late.time > LATE * end);
    let last = air.chain(late).take(3);
    Course {
        picture: Picture::Viscous,
        end,
        last: last.collect(),
        welds,
        moments: snapshots
            .into_iter()
            .map(|moment| Moment {
                time: moment.time_s,
                impulse: moment.impulse_m2,
                wet_area: moment.wet_area_m2,
                conductance: moment.conductance,
                inlet_pressure: Some(moment.inlet_pressure_pa),
                fill: Some(moment.fill),
                pressure: Some(moment.pressure),
                front: moment.front,
            })
            .collect(),
        kept,
        arrival,
        mass_residual,
        moment_residual,
        solves: work.solves,
    }
}

/// The obstacle or wall that air touches, by name, and half its extent across the flow, m.
pub(super) fn owner(space: &Space, rims: &[Vec<Point>]) -> Option<(String, f64)> {
    let size = rims.iter().map(|rim| plane::polygon_area(rim).abs()).sum::<f64>().sqrt();
    let plan = &space.mesh.plan;
    let nearest = space
        .solid_edges()
        .map(|edge| {
            let off = rims.iter().flatten().map(|&p| distance(p, edge.middle)).fold(f64::INFINITY, f64::min);
            (off - 0.5 * edge.length, edge.side)
        })
        .min_by(|a, b| a.0.total_cmp(&b.0))?;
    let (off, side) = nearest;
    let half = match side {
        Side::Obstacle(k) => 0.5 * plan.obstacles.get(k as usize)?.height,
        _ => 0.0,
    };
    let name = match side {
        Side::Obstacle(k) => plan.obstacles.get(k as usize)?.name.clone(),
        other => plan.name_of(other),
    };
    (off <= TOUCHES * size).then_some((name, half))
}

/// Mean speed over the inlet above which the flow takes held air along, m/s: that of a round bubble of its area, larger in the lee of an
/// obstacle of half extent `half`.
pub(super) fn leaves_above(study: &Study, conditions: &Conditions, area: f64, half: Option<f64>) -> f64 {
    let filling = &study.case.filling;
    let radius = (area / PI).sqrt();
    let difference = filling.receding_angle.cos() - filling.advancing_angle.cos();
    let free = travel_speed(conditions.tension, difference, conditions.gap, conditions.viscosity, radius);
    free * half.filter(|half| *half > 0.0).map_or(1.0, |half| behind_post(radius, half))
}
