//! Plates bowed apart by the fluid between them.
//!
//! The gauge pressure falls along the cell by the pressure drop dp to that of the outlet, ρ g h with h the level of its free
//! surface above the plates; the mean q = dp/2 + ρ g h is taken as an even load. Both plates bow outwards by w (see [`Plate`]),
//! so the gap is `b(x, y) = at + 2 (w(x, y) − w(middle))`: `at` is the gap at the middle of the cell while it runs, and the edges,
//! where the plates are held, stand at `at − 2 w(middle)`.
//!
//! The plates' own weight drops out: in a cell that lies flat both sag downwards, and as they are alike and alike held, by the
//! same amount; the gap between them does not change to first order. (A lower plate that lies on a table would not sag.)
//!
//! The pressure is the drop between the ends where the case gives it. Where it gives speed or flow, the drop is estimated by that
//! of the empty cell with the gap of the middle, `dp = 12 μ U L_c/b²`: obstacles raise it, the bow itself shifts it by some `2 w/b`.
//!
//! Range: linear in the load, see [`Plate`]; the pressure's own fall along the cell shifts the place of the largest bow towards
//! the inlet, which an even load leaves out.

use super::plate::{Plate, rigidity};
use super::{Drive, DriveQuantity, Fluid, RigSettings};
use crate::base::Point;
use crate::base::plane::{Rect, way};
use crate::base::units::GRAVITY;

/// The gap between plates bowed by an even load.
#[derive(Debug, Clone, PartialEq)]
pub struct Bow {
    at: f64,
    load: f64,
    low: Point,
    plate: Plate,
}

impl Bow {
    /// The gap between two plates over a box with `at` (m) in its middle under the even load q (Pa).
    pub fn new(at: f64, load: f64, plates: Rect, rig: &RigSettings) -> Bow {
        let stiffness = rigidity(rig.youngs_modulus.value, rig.plate_thickness.value, rig.poisson_ratio.value);
        Bow { at, load, low: plates.low, plate: Plate::new(plates.size(), stiffness, rig.plate_edges.value) }
    }

    /// Gap at the middle of the cell, m.
    pub fn middle(&self) -> f64 {
        self.at
    }

    /// Gap at the edges, where the plates are held, m.
    pub fn edge(&self) -> f64 {
        self.at - 2.0 * self.deflection()
    }

    /// The even load q, Pa.
    pub fn load(&self) -> f64 {
        self.load
    }

    /// Deflection of each plate at its middle, m.
    pub fn deflection(&self) -> f64 {
        self.load * self.plate.centre()
    }

    /// The gap at a place, m, and its gradient.
    pub fn gap(&self, place: Point) -> (f64, [f64; 2]) {
        let (w, slope) = self.plate.deflection(way(self.low, place));
        (self.at + 2.0 * self.load * (w - self.plate.centre()), slope.map(|s| 2.0 * self.load * s))
    }
}

/// Pressure drop between the ends, Pa, given or estimated by that of the empty cell, for a cell of the given length, width and gap
/// in its middle. None if the drive is a Reynolds number of an obstacle whose reference length is not known.
pub fn estimated_drop(drive: &Drive, fluid: &Fluid, sides: [f64; 2], gap: f64, reference: Option<f64>) -> Option<f64> {
    let nu = fluid.kinematic_viscosity();
    let speed = match drive.quantity {
        DriveQuantity::PressureDrop(dp) => return Some(dp),
        DriveQuantity::Head(h) => return Some(fluid.density * GRAVITY * h),
        DriveQuantity::MeanSpeed(u) => u,
        DriveQuantity::FlowRate(q) => q / (sides[1] * gap),
        DriveQuantity::GapReynolds(re) => re * nu / gap,
        DriveQuantity::ObstacleReynolds(re) => re * nu / reference?,
        DriveQuantity::ReducedReynolds(re) => re * nu * reference? / (gap * gap),
    };
    Some(12.0 * fluid.viscosity * speed * sides[0] / (gap * gap))
}
