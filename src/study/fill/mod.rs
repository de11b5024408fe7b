//! How the dry cell of a case fills: the front by the picture that applies, and the verdict of surface tension beside it.

mod advice;
mod arrival;
mod capillary;
mod kept;
mod record;
mod sections;
mod viscous;

pub use record::{Course, Kept, LastPlace, Moment, Picture};

use super::{Settings, Study};
use crate::base::error::Problems;
use crate::base::row::Section;
use crate::base::units::{Dimension, GRAVITY, significant};
use crate::base::warning::Warning;
use crate::base::{Error, Result};
use crate::geometry::Plan;
use crate::input::case::{Case, DriveQuantity, FillDrive, FillFrom, FillModel};
use crate::numerics::fem::Space;
use crate::numerics::mesh::Mesh;
use crate::theory::filling::Port;
use crate::theory::ideal::{Goal, Stage, first_size_field};
use crate::theory::wetting::{self, Conditions};
use std::sync::Arc;
use std::time::{Duration, Instant};

/// Triangles of the mesh where neither case nor command line asks for another.
const TRIANGLES: usize = 40_000;

/// A filled cell.
#[derive(Debug)]
pub struct Filled {
    /// The full cell.
    pub study: Study,
    /// What it is filled with and how.
    pub conditions: Conditions,
    /// What is held while it fills.
    pub drive: FillDrive,
    /// The front.
    pub course: Course,
    /// The other picture of it, where both apply.
    pub other: Option<Course>,
    /// Why the picture that applies was not computed.
    pub refused: Option<String>,
    /// The verdict of surface tension for every obstacle, and what helps.
    pub wetting: Section,
    /// Time it took beyond that of the study.
    pub spent: Duration,
    /// The mesh that resolves a port, and the gap on it.
    own: Option<Space>,
}

/// Solves a case and fills its dry cell.
///
/// # Errors
/// As [`Study::solve`]; [`crate::base::Error::Input`] for a fluid that cannot enter, or drains.
pub fn fill_cell(case: Case, plan: Arc<Plan>, goal: Option<Goal>, watch: &(dyn Fn(Stage) + Sync)) -> Result<Filled> {
    let goal = goal.unwrap_or(Goal::Triangles(TRIANGLES));
    let study = Study::solve(case, plan, Settings { goal: Some(goal), ..Settings::default() }, watch)?;
    let clock = Instant::now();
    let conditions = conditions(&study)?;
    let drive = study.case.filling.drive.unwrap_or(match study.case.drive.quantity {
        DriveQuantity::PressureDrop(_) | DriveQuantity::Head(_) => FillDrive::Head,
        _ => FillDrive::Flow,
    });
    refuse_draining(&study, &conditions, drive)?;
    let own = match study.case.filling.from {
        FillFrom::Inlet => None,
        FillFrom::Port { at, diameter, .. } => Some(with_port(&study, Port { at, diameter })?),
    };
    let space = own.as_ref().unwrap_or(&study.solved.space);
    let by_viscous = || viscous::fill(&study, space, &conditions, drive, watch);
    let by_capillary = || capillary::fill(&study, space, &conditions, drive, watch);
    let applies = wetting::Picture::of(conditions.radius_number(study.case.cell.inlet_width()));
    let (course, other, refused) = match (study.case.filling.model, applies) {
        (FillModel::Viscous, _) | (FillModel::Auto, wetting::Picture::Viscous) => (by_viscous()?, None, None),
        (FillModel::Capillary, _) => (by_capillary()?, None, None),
        (FillModel::Auto, applies) => match by_capillary() {
            Ok(course) if applies == wetting::Picture::Both => (course, Some(by_viscous()?), None),
            Ok(course) => (course, None, None),
            Err(error @ (Error::Mesh { .. } | Error::Failed { .. } | Error::Usage(_))) => {
                let why = error.to_string().lines().next().unwrap_or_default().to_owned();
                (by_viscous()?, None, Some(why))
            }
            Err(error) => return Err(error),
        },
    };
    let wetting = wetting::sections(&study.plan, &conditions)?;
    Ok(Filled { study, conditions, drive, course, other, refused, wetting, spent: clock.elapsed(), own })
}

impl Filled {
    /// The mesh that arrival and moments are on.
    pub fn mesh(&self) -> &Mesh {
        &self.space().mesh
    }

    /// The mesh with its gap.
    pub fn space(&self) -> &Space {
        self.own.as_ref().unwrap_or(&self.study.solved.space)
    }

    /// Warnings of the study and of the filling.
    pub fn all_warnings(&self) -> Vec<Warning> {
        let mut all = self.study.warnings();
        all.extend(self.judged());
        all
    }
}

/// What the cell is filled with: the fluid at the mean speed of the full cell, angles and tilt of `[filling]`.
fn conditions(study: &Study) -> Result<Conditions> {
    let case = &study.case;
    let filling = &case.filling;
    let middle = case.cell.middle();
    Conditions {
        viscosity: case.fluid.viscosity,
        density: case.fluid.density,
        speed: study.pattern.drive.mean_speed,
        gap: study.solved.space.reference_gap,
        gap_gradient: case.cell.gap.gradient(middle),
        tension: filling.surface_tension,
        plate_angle: filling.advancing_angle,
        side_angle: filling.side_angle,
        seal_angle: filling.seal_angle,
        tilt: filling.uphill.map(|part| part * filling.tilt.sin()),
    }
    .checked()
}

/// Refuses a fluid that cannot enter under the head, and one that runs down the slope by itself faster than it is fed: air then pushes into
/// the liquid, and its front breaks into fingers (Saffman & Taylor 1958, Proc. R. Soc. A 245, 312), which no front here follows.
fn refuse_draining(study: &Study, conditions: &Conditions, drive: FillDrive) -> Result<()> {
    let case = &study.case;
    let refuse = |message: String, remedy: String| {
        let mut problems = Problems::default();
        problems.add_text(&case.file, &case.text);
        problems.add(&case.file, Some(case.filling.place.clone()), message, remedy);
        Err(Error::Input(problems))
    };
    let weight = conditions.density * GRAVITY;
    let head = |pressure: f64| Dimension::Length.show_to(pressure / weight, 3);
    if drive == FillDrive::Head {
        let entry = -conditions.capillary_pressure();
        let given = study.pattern.drive.pressure_drop;
        if given <= entry {
            let angle = significant(conditions.plate_angle.to_degrees(), 3);
            let message = format!(
                "the fluid cannot enter: plates with a contact angle of {angle} deg push back with {} of head, and the case has {}",
                head(entry),
                head(given)
            );
            return refuse(message, format!("give a head above {}, wider gap, or wet the plates", head(entry)));
        }
    }
    let running = viscous::meniscus(conditions).running_speed(conditions.gap, conditions.viscosity, [1.0, 0.0]);
    if drive == FillDrive::Flow && running > conditions.speed {
        let speed = |x: f64| Dimension::Speed.show_to(x, 3);
        let message = format!(
            "the fluid drains by itself: down this slope it runs at {}, faster than it is fed ({}), and draws air in as fingers",
            speed(running),
            speed(conditions.speed)
        );
        return refuse(message, "raise the outlet, not the inlet, or tilt less".to_owned());
    }
    Ok(())
}

/// A mesh as fine as that of the study which also resolves a port.
fn with_port(study: &Study, port: Port) -> Result<Space> {
    let triangles = study.solved.space.mesh.triangles.len();
    let size = first_size_field(&study.plan, &study.case, Goal::Triangles(triangles))?.with_sources(port.sizes());
    let mesh = Mesh::generate_with_count(&study.plan, &size, triangles)?;
    Ok(Space::new(Arc::new(port.resolved(&mesh)), &study.case.cell.gap, study.solved.space.reference_gap))
}
