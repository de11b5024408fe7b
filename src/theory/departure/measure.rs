//! What a departure of the velocity means to a reader of the picture.

use super::region::Region;
use crate::base::Point;
use crate::base::plane;
use crate::base::units::significant;
use crate::input::case::Tolerance;
use crate::numerics::fem::Space;

/// Below this part of the mean speed a direction has no meaning.
const SLOW: f64 = 0.02;

/// Measures of one departure over the observation region. Root mean squares are by area.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measures {
    /// (|V + ΔV| − |V|)/U, root mean square.
    pub speed_rms: f64,
    /// The same, largest size.
    pub speed_max: f64,
    /// Where that is, m.
    pub speed_max_at: Point,
    /// Angle between V + ΔV and V where |V| exceeds 2 % of U, root mean square, rad.
    pub direction_rms: f64,
    /// The same, largest, rad.
    pub direction_max: f64,
    /// Shift of streaklines released at the same places, to first order, root mean square, m.
    pub shift_rms: f64,
    /// The same, largest, m.
    pub shift_max: f64,
    /// Change of the pressure coefficient 1 − (|V|/U)² read from the picture, root mean square.
    pub coefficient_rms: f64,
    /// The same, largest.
    pub coefficient_max: f64,
}

/// A measure that is held against a tolerance.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Measure {
    /// The change of the speed, fraction of U.
    Speed,
    /// The turn of the direction, rad.
    Direction,
    /// The shift of streaklines, m.
    Shift,
}

impl Measure {
    /// All of them.
    pub const ALL: [Measure; 3] = [Measure::Speed, Measure::Direction, Measure::Shift];

    /// Its key in files.
    pub fn key(self) -> &'static str {
        match self {
            Measure::Speed => "speed",
            Measure::Direction => "direction",
            Measure::Shift => "shift",
        }
    }

    /// The largest over the region.
    pub fn largest(self, measures: &Measures) -> f64 {
        match self {
            Measure::Speed => measures.speed_max,
            Measure::Direction => measures.direction_max,
            Measure::Shift => measures.shift_max,
        }
    }

    /// The root mean square over the region.
    pub fn mean_square(self, measures: &Measures) -> f64 {
        match self {
            Measure::Speed => measures.speed_rms,
            Measure::Direction => measures.direction_rms,
            Measure::Shift => measures.shift_rms,
        }
    }

    /// What the user can live with.
    pub fn tolerance(self, tolerance: &Tolerance) -> f64 {
        match self {
            Measure::Speed => tolerance.speed,
            Measure::Direction => tolerance.direction,
            Measure::Shift => tolerance.shift,
        }
    }

    /// A value of it in words.
    pub fn show(self, value: f64) -> String {
        match self {
            Measure::Speed => format!("{} % of the mean speed", significant(100.0 * value, 3)),
            Measure::Direction => format!("{} deg", significant(value.to_degrees(), 3)),
            Measure::Shift => format!("{} mm", significant(1e3 * value, 3)),
        }
    }
}

/// A pattern that departures are measured from.
#[derive(Debug, Clone, Copy)]
pub struct Reference<'a> {
    /// The mesh.
    pub space: &'a Space,
    /// Where to measure.
    pub region: &'a Region,
    /// Velocity at the vertices, m/s.
    pub velocity: &'a [[f64; 2]],
    /// Mean speed U, m/s.
    pub speed: f64,
}

impl Reference<'_> {
    /// Measures a departure given at the vertices, m/s.
    pub fn measure(&self, departure: &[[f64; 2]]) -> Measures {
        let mut sums = [0.0; 3];
        let (mut total, mut directed) = (0.0, 0.0);
        let mut measures = Measures {
            speed_rms: 0.0,
            speed_max: 0.0,
            speed_max_at: [0.0, 0.0],
            direction_rms: 0.0,
            direction_max: 0.0,
            shift_rms: 0.0,
            shift_max: 0.0,
            coefficient_rms: 0.0,
            coefficient_max: 0.0,
        };
        for (&v, &area) in self.region.vertices.iter().zip(&self.region.areas) {
            let (a, d) = (self.velocity[v], departure[v]);
            let b = [a[0] + d[0], a[1] + d[1]];
            let (before, after) = (plane::length(a) / self.speed, plane::length(b) / self.speed);
            let change = after - before;
            total += area;
            sums[0] += area * change * change;
            if change.abs() > measures.speed_max {
                (measures.speed_max, measures.speed_max_at) = (change.abs(), self.space.mesh.points[v]);
            }
            let coefficient = before * before - after * after;
            sums[2] += area * coefficient * coefficient;
            measures.coefficient_max = measures.coefficient_max.max(coefficient.abs());
            if before > SLOW {
                let turn = plane::turn(a, b);
                directed += area;
                sums[1] += area * turn * turn;
                measures.direction_max = measures.direction_max.max(turn.abs());
            }
        }
        let root = |sum: f64, over: f64| if over > 0.0 { (sum / over).sqrt() } else { 0.0 };
        measures.speed_rms = root(sums[0], total);
        measures.direction_rms = root(sums[1], directed);
        measures.coefficient_rms = root(sums[2], total);
        let (mut square, mut weight) = (0.0, 0.0);
        for shift in self.region.shifts(self.space, self.velocity, departure) {
            square += shift.weight * shift.shift * shift.shift;
            weight += shift.weight;
            measures.shift_max = measures.shift_max.max(shift.shift.abs());
        }
        measures.shift_rms = root(square, weight);
        measures
    }
}
