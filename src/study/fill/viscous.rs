//! The viscous front of a case, as a course.

use super::kept::{leaves_above, off_solids, owner};
use super::{Course, Kept, LastPlace, Moment, Picture};
use crate::base::Result;
use crate::input::case::{FillDrive, FillFrom};
use crate::numerics::fem::Space;
use crate::study::Study;
use crate::theory::filling::{self, Drive, Filling, FrontPressure, Meniscus, Port, Setup, Source};
use crate::theory::ideal::Stage;
use crate::theory::wetting::Conditions;

/// Steps from one moment to the next where the pressure of the front varies.
const STEPS: usize = 4;
/// Part of the whole time after which a place counts as filled late.
const LATE: f64 = 0.6;

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
        let meniscus = meniscus(conditions);
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
        snapshots: settings.snapshots.clone(),
        pockets: settings.pockets,
    };
    let found = filling::fill(&setup, &|progress| watch(Stage::Filling(progress.wet)))?;
    Ok(course(study, space, conditions, found))
}

/// What the plates and the slope do to the front's pressure.
pub(super) fn meniscus(conditions: &Conditions) -> Meniscus {
    Meniscus {
        tension: conditions.tension,
        angle: conditions.plate_angle,
        density: conditions.density,
        slope: conditions.tilt.map(|rise| -rise),
    }
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
                inlet_pressure: moment.inlet_pressure_pa,
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
