//! What a filling is: the plan, the liquid's numbers, the drive, how finely it is followed.

use crate::base::plane::Vector;
use crate::base::{Error, Result};
use crate::geometry::{Plan, Side};

/// What pushes the liquid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Drive {
    /// A given flow that enters evenly over the inlet, with the speed U.
    Flow,
    /// One pressure over the whole inlet, over 12 μ U/b², m: what stands above the pressure of a straight front at the inlet. U is then
    /// any speed that the other numbers were made with.
    Head(f64),
}

/// A filling to be followed.
#[derive(Debug, Clone, Copy)]
pub struct Setup<'a> {
    /// The fluid's plan: one inlet and one outlet, each in one part.
    pub plan: &'a Plan,
    /// S = c γ b²/(12 μ U), m2; above zero.
    pub tension: f64,
    /// G b²/(12 μ U) with G the slope of the front's pressure, ρ g sin α up the slope and 2 γ cos θ_plate/b² times the slope of the gap.
    pub gradient: Vector,
    /// In-plane angle at the side walls, rad, through the liquid ([`crate::theory::wetting::effective_angle`]).
    pub seal_angle: f64,
    /// In-plane angle at obstacles, rad, through the liquid.
    pub obstacle_angle: f64,
    /// What pushes.
    pub drive: Drive,
    /// U, m/s.
    pub speed: f64,
    /// h, the wanted length of the front's edges, m: a twentieth of the smallest obstacle's half width, a fortieth for figures.
    pub size: f64,
    /// Moments kept, evenly by wet area; the first and the last come on top.
    pub snapshots: usize,
    /// Steps after which it is given up.
    pub most_steps: usize,
}

/// Angles nearer to 0 and π than this are refused: the front would run ahead along the side, rad.
pub const LEAST_ANGLE: f64 = 10.0 * std::f64::consts::PI / 180.0;
/// Tension below which the front is no longer smooth over an edge: S over h times the cell's width.
const LEAST_TENSION: f64 = 1e-6;

impl<'a> Setup<'a> {
    /// A filling with given flow of a level cell, right angles at all sides, h a twentieth of the smallest obstacle's half height, or of the cell's
    /// tenth if that is less.
    pub fn new(plan: &'a Plan, tension: f64, speed: f64) -> Self {
        let width = narrower_end(plan);
        let smallest = plan.obstacles.iter().map(|o| 0.5 * o.height).fold(0.1 * width, f64::min);
        let right = std::f64::consts::FRAC_PI_2;
        Setup {
            plan,
            tension,
            gradient: [0.0; 2],
            seal_angle: right,
            obstacle_angle: right,
            drive: Drive::Flow,
            speed,
            size: 0.05 * smallest,
            snapshots: 20,
            most_steps: 100_000,
        }
    }

    /// Whether the numbers make sense.
    ///
    /// # Errors
    /// [`Error::Usage`] with the number and its range.
    pub fn check(&self) -> Result<()> {
        let width = narrower_end(self.plan);
        let refuse = |what: String, remedy: &str| Err(Error::argument(what, remedy));
        let positive = |value: f64| value.is_finite() && value > 0.0;
        if !positive(self.size) || self.size > 0.1 * width {
            return refuse(
                format!("edges of {} m on the front of a cell {width} m wide", self.size),
                "they need a tenth of the width or less",
            );
        }
        if !positive(self.tension) || self.tension < LEAST_TENSION * self.size * width {
            return refuse(
                format!("a tension c γ b²/(12 μ U) of {} m2", self.tension),
                "without tension a front is not smooth: use the filling without it",
            );
        }
        for (angle, name) in [(self.seal_angle, "side walls"), (self.obstacle_angle, "obstacles")] {
            let range = LEAST_ANGLE..=std::f64::consts::PI - LEAST_ANGLE;
            if !range.contains(&angle) {
                return refuse(
                    format!("an angle of {:.1} degrees at the {name}", angle.to_degrees()),
                    "between 10 and 170 degrees a front keeps its ends; beyond, liquid runs ahead along the side",
                );
            }
        }
        if !positive(self.speed) || !self.gradient.iter().all(|g| g.is_finite()) {
            return refuse(
                format!("a mean speed of {} m/s and a slope of {:?}", self.speed, self.gradient),
                "give a speed above zero and finite slopes",
            );
        }
        match self.drive {
            Drive::Head(head) if !positive(head) => {
                refuse(format!("a head of {head} m times 12 μ U/b²"), "it must be above zero to push")
            }
            _ => Ok(()),
        }
    }
}

/// Width of the narrower end of a cell, m.
pub(super) fn narrower_end(plan: &Plan) -> f64 {
    [Side::Inlet, Side::Outlet].map(|side| plan.length_of(side)).into_iter().fold(f64::INFINITY, f64::min)
}
