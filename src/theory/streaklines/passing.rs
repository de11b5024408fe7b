//! On which side of each obstacle dye passes, and from when on.
//!
//! Pressure falls along every line of the ideal pattern, and along the outline of an obstacle from its front stagnation point to its rear one.
//! So a line has come as far as the front of an obstacle once its pressure is that of the front, and it is past it at that of the rear; on
//! which side it passes the stream function says, which is constant on the obstacle.

use super::dye::Dye;
use super::follow::Streakline;
use crate::geometry::Solid;
use crate::numerics::mesh::Locator;
use crate::theory::ideal::interpolate;

/// An obstacle that stands free in the flow.
#[derive(Debug, Clone, Copy)]
pub(super) struct Divider {
    /// Stream function on it, m3/s, and how much more or less cannot be told from it.
    level: f64,
    doubt: f64,
    /// Pressure at its front and at its rear stagnation point, Pa.
    front: f64,
    rear: f64,
}

/// The obstacles at which the flow divides.
pub(super) fn dividers(dye: &Dye, pressure: &[f64], tolerance: f64) -> Vec<Divider> {
    let Dye { space, ref field, stream } = *dye;
    let doubt = 0.5 * tolerance * field.speed * space.reference_gap;
    let free = space.mesh.plan.obstacles.iter().enumerate().filter(|(_, obstacle)| obstacle.on_wall.is_none());
    let divider = |(k, _)| {
        let outline = space.vertices_on(Solid::Obstacle(k as u32));
        let level = stream[*outline.first()? as usize];
        let pressures = || outline.iter().map(|&v| pressure[v as usize]);
        let (front, rear) = (pressures().fold(f64::NEG_INFINITY, f64::max), pressures().fold(f64::INFINITY, f64::min));
        Some(Divider { level, doubt, front, rear })
    };
    free.filter_map(divider).collect()
}

/// A line with what the ideal pattern has at its points.
#[derive(Debug)]
pub(super) struct Course {
    pub line: Streakline,
    /// Pressure, Pa, nowhere higher than before.
    pressures: Vec<f64>,
    /// Stream function, m3/s.
    levels: Vec<f64>,
    /// Size of the triangle, m.
    sizes: Vec<f64>,
}

impl Course {
    pub fn of(dye: &Dye, locator: &Locator, pressure: &[f64], line: Streakline) -> Course {
        let (mut pressures, mut levels, mut sizes) = (Vec::new(), Vec::new(), Vec::new());
        let (mut hint, mut lowest) = (None, f64::INFINITY);
        for &at in &line.points {
            let (triangle, weights) = locator.place(at, hint);
            hint = Some(triangle);
            lowest = interpolate(dye.space, triangle, weights, pressure).min(lowest);
            pressures.push(lowest);
            levels.push(interpolate(dye.space, triangle, weights, dye.stream));
            sizes.push(dye.space.area(triangle as usize).sqrt());
        }
        Course { line, pressures, levels, sizes }
    }

    /// How finely the flow is known where the dye is that was let in this long ago, m.
    pub fn size(&self, time: f64) -> f64 {
        let k = self.line.times.partition_point(|t| *t <= time);
        self.sizes.get(k.saturating_sub(1)).copied().unwrap_or(0.0)
    }

    /// The value that goes with the points where the pressure has fallen so far, linear between them; none if it never does.
    fn at_pressure(&self, pressure: f64, values: &[f64]) -> Option<f64> {
        let k = self.pressures.partition_point(|p| *p > pressure);
        let after = *values.get(k)?;
        let Some(before) = k.checked_sub(1) else { return Some(after) };
        let (high, low) = (self.pressures[before], self.pressures[k]);
        Some(values[before] + (high - pressure) / (high - low) * (after - values[before]))
    }

    /// From when on the line is beside an obstacle, s, and on which side, 1 to the left of it, -1 to the right, 0 where that cannot be told;
    /// none if it never is.
    fn passes(&self, by: &Divider) -> Option<(f64, i8)> {
        if *self.pressures.first()? <= by.rear {
            return None;
        }
        let time = self.at_pressure(by.front, &self.line.times)?;
        // at the widest place of the obstacle there is no doubt
        let beside = self.at_pressure(0.5 * (by.front + by.rear), &self.levels).or(self.levels.last().copied())?;
        let off = beside - by.level;
        Some((time, if off.abs() < by.doubt { 0 } else { off.signum() as i8 }))
    }

    /// When an obstacle has come between two lines, s; never is infinite.
    pub fn parted(&self, other: &Course, dividers: &[Divider]) -> f64 {
        let by = |divider: &Divider| {
            let ((s, own), (t, its)) = (self.passes(divider)?, other.passes(divider)?);
            (own * its != 1).then_some(s.min(t))
        };
        dividers.iter().filter_map(by).fold(f64::INFINITY, f64::min)
    }
}
