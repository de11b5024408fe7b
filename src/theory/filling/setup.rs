//! What is to be filled, and how it is driven.

use super::Port;
use crate::base::{Error, Result};
use crate::input::case::{CutOff, Snapshots};
use crate::numerics::fem::Space;

/// A dry cell and what drives the fluid into it. Pressures are above that of the air, Pa; on a tilted cell they are reduced by the weight of
/// the fluid, `p − ρ g·x` (see [`super::Meniscus`]).
#[derive(Debug, Clone)]
pub struct Setup<'a> {
    /// The mesh with its gap.
    pub space: &'a Space,
    /// Viscosity of the fluid, Pa s.
    pub viscosity: f64,
    /// Where it enters.
    pub source: Source,
    /// What drives it.
    pub drive: Drive,
    /// Pressure on the liquid side of the front.
    pub front: FrontPressure,
    /// When the front is recorded: so many moments at even steps of the square root of the impulse up to where the liquid that fits has come in,
    /// then more until nothing is dry; at times; at impulses, with a uniform front pressure only.
    pub snapshots: Snapshots,
    /// What becomes of air that is cut off: pinned, its rim takes no flux; vented, it keeps the pressure of the front.
    pub pockets: CutOff,
}

/// Where the fluid enters.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Source {
    /// The whole inlet side, at one pressure.
    Inlet,
    /// A hole in a plate, at one pressure, filled from the start.
    Port(Port),
}

/// What drives the fluid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Drive {
    /// A held pressure at the source, Pa above the air.
    Pressure(f64),
    /// A given flow, m3/s.
    Flow(f64),
}

/// Pressure on the liquid side of the front, Pa relative to the air.
#[derive(Debug, Clone, PartialEq)]
pub enum FrontPressure {
    /// The same everywhere: uniform gap, level cell. The shapes are then exact in time.
    Uniform(f64),
    /// At every vertex, as the gap and the height have it. Steps then matter: the error goes as their length.
    Varying {
        /// Reduced pressure at the front, Pa, vertex by vertex.
        front: Vec<f64>,
        /// Reduced pressure of the air at the outlet once the liquid has reached it, Pa, vertex by vertex.
        vent: Vec<f64>,
        /// Steps from one snapshot to the next.
        steps: usize,
    },
}

/// How far the filling has come.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Progress {
    /// Snapshots taken.
    pub taken: usize,
    /// Part of the volume that is wet.
    pub wet: f64,
}

impl Setup<'_> {
    /// Refuses what makes no sense.
    pub(super) fn check(&self) -> Result<()> {
        let n = self.space.mesh.points.len();
        let positive = |x: f64| x.is_finite() && x > 0.0;
        if !positive(self.viscosity) {
            return Err(Error::argument(
                format!("a viscosity of {} Pa s", self.viscosity),
                "give a viscosity above zero",
            ));
        }
        match (&self.drive, &self.front) {
            (Drive::Flow(q), _) if !positive(*q) => {
                return Err(Error::argument(
                    format!("a flow of {q} m3/s fills nothing"),
                    "give a flow above zero; draining, with air pushing the liquid, is unstable and not computed",
                ));
            }
            (Drive::Pressure(p), FrontPressure::Uniform(front))
                if !(p.is_finite() && front.is_finite() && p > front) =>
            {
                return Err(Error::argument(
                    format!(
                        "a pressure of {p} Pa at the source does not exceed the {front} Pa of the front: nothing enters"
                    ),
                    format!(
                        "give a pressure above {front} Pa; draining, with air pushing the liquid, is unstable and not computed"
                    ),
                ));
            }
            _ => {}
        }
        if let FrontPressure::Varying { front, vent, steps } = &self.front {
            let finite = |list: &[f64]| list.len() == n && list.iter().all(|p| p.is_finite());
            if !finite(front) || !finite(vent) || *steps == 0 {
                return Err(Error::argument(
                    "front pressures that do not fit the mesh",
                    format!("give {n} finite values for front and vent, and at least one step"),
                ));
            }
            if matches!(self.snapshots, Snapshots::Impulses(_)) {
                return Err(Error::argument(
                    "impulses with a front pressure that varies: the shapes depend on more than the impulse",
                    "give times or a count",
                ));
            }
        }
        let ascending = |list: &[f64]| {
            !list.is_empty()
                && positive(list[0])
                && list.windows(2).all(|pair| pair[1].is_finite() && pair[1] > pair[0])
        };
        let sound = match &self.snapshots {
            Snapshots::Count(n) => *n > 0,
            Snapshots::Times(list) | Snapshots::Impulses(list) => ascending(list),
        };
        if !sound {
            return Err(Error::argument(
                "snapshots that are none, not positive or not ascending",
                "give at least one, each later than the one before",
            ));
        }
        Ok(())
    }
}
