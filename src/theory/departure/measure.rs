//! What a departure of the velocity means to a reader of the picture.

use super::region::Region;
use crate::base::Point;
use crate::base::plane;
use crate::base::units::{significant, with_error};
use crate::input::case::Tolerance;
use crate::numerics::fem::Space;

/// Below this part of the mean speed a direction has no meaning.
pub(super) const SLOW: f64 = 0.02;
/// Part of the area that has more than the 99 % quantile.
const RARE: f64 = 0.01;

/// How large a quantity is over the observation region; everything is of its size, by area.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Spread {
    /// Root mean square.
    pub rms: f64,
    /// 99 % of the area have less.
    pub q99: f64,
    /// No more of the area has more than the share that the tolerances allow ([`Tolerance::share`]): what is held against a tolerance. A
    /// maximum would creep towards the rim of the region as the mesh is refined and never settle.
    pub judged: f64,
    /// Largest.
    pub largest: f64,
    /// Where that is, m.
    pub largest_at: Point,
    /// Share of the area beyond the tolerance; zero for what has none.
    pub beyond: f64,
}

/// Measures of one departure over the observation region.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Measures {
    /// (|V + ΔV| − |V|)/U.
    pub speed: Spread,
    /// Angle between V + ΔV and V where |V| exceeds 2 % of U, rad.
    pub direction: Spread,
    /// Shift of streaklines released at the same places, to first order, m.
    pub shift: Spread,
    /// Change of the pressure coefficient 1 − (|V|/U)² read from the picture.
    pub coefficient: Spread,
}

impl Measures {
    /// Of one measure.
    pub fn of(&self, measure: Measure) -> &Spread {
        match measure {
            Measure::Speed => &self.speed,
            Measure::Direction => &self.direction,
            Measure::Shift => &self.shift,
        }
    }

    /// Share of the observed area beyond a tolerance: the largest over speed, direction and shift.
    pub fn beyond_area(&self) -> f64 {
        Measure::ALL.iter().map(|&measure| self.of(measure).beyond).fold(0.0, f64::max)
    }
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

    /// What the user can live with.
    pub fn tolerance(self, tolerance: &Tolerance) -> f64 {
        match self {
            Measure::Speed => tolerance.speed,
            Measure::Direction => tolerance.direction,
            Measure::Shift => tolerance.shift,
        }
    }

    /// Whether that is the program's usual tolerance, not one of the case.
    pub fn is_usual(self, tolerance: &Tolerance) -> bool {
        match self {
            Measure::Speed => tolerance.usual.speed,
            Measure::Direction => tolerance.usual.direction,
            Measure::Shift => tolerance.usual.shift,
        }
    }

    /// A value in the unit it is shown in, and that unit.
    fn shown(self, value: f64) -> (f64, &'static str) {
        match self {
            Measure::Speed => (100.0 * value, "% of the mean speed"),
            Measure::Direction => (value.to_degrees(), "deg"),
            Measure::Shift => (1e3 * value, "mm"),
        }
    }

    /// A value with its error in words, to the digits that the error leaves.
    pub fn show_with(self, value: f64, error: f64) -> String {
        let ((value, unit), (error, _)) = (self.shown(value), self.shown(error));
        format!("{} {unit}", with_error(value, error))
    }

    /// A value of it in words.
    pub fn show(self, value: f64) -> String {
        let (value, unit) = self.shown(value);
        format!("{} {unit}", significant(value, 3))
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
    /// What departures are held against.
    pub tolerance: &'a Tolerance,
}

impl Reference<'_> {
    /// Measures a departure given at the vertices, m/s.
    pub fn measure(&self, departure: &[[f64; 2]]) -> Measures {
        let count = self.region.vertices.len();
        let [mut speed, mut direction, mut coefficient] = std::array::from_fn(|_| Vec::with_capacity(count));
        for (&v, &area) in self.region.vertices.iter().zip(&self.region.areas) {
            let (a, d) = (self.velocity[v], departure[v]);
            let b = [a[0] + d[0], a[1] + d[1]];
            let [before, after] = [a, b].map(|v| plane::square(v).sqrt() / self.speed);
            let at = self.space.mesh.points[v];
            speed.push(Sized { size: (after - before).abs(), area, at });
            coefficient.push(Sized { size: (before * before - after * after).abs(), area, at });
            if before > SLOW {
                direction.push(Sized { size: plane::turn(a, b).abs(), area, at });
            }
        }
        let shift = self.region.shifts(self.space, self.velocity, departure);
        let shift = shift.iter().map(|s| Sized { size: s.shift.abs(), area: s.weight, at: s.at }).collect();
        let t = self.tolerance;
        Measures {
            speed: spread(speed, t.speed, t.share),
            direction: spread(direction, t.direction, t.share),
            shift: spread(shift, t.shift, t.share),
            coefficient: spread(coefficient, f64::INFINITY, t.share),
        }
    }
}

impl Reference<'_> {
    /// The change of the speed alone, root mean square, fraction of U.
    pub fn speed_rms(&self, departure: &[[f64; 2]]) -> f64 {
        let (mut square, mut area) = (0.0, 0.0);
        for (&v, &own) in self.region.vertices.iter().zip(&self.region.areas) {
            let (a, d) = (self.velocity[v], departure[v]);
            let [before, after] = [a, [a[0] + d[0], a[1] + d[1]]].map(|v| plane::square(v).sqrt());
            square += own * ((after - before) / self.speed).powi(2);
            area += own;
        }
        if area > 0.0 { (square / area).sqrt() } else { 0.0 }
    }
}

/// A size with the area it stands for and its place.
#[derive(Debug, Clone, Copy)]
pub(super) struct Sized {
    size: f64,
    pub(super) area: f64,
    at: Point,
}

impl Sized {
    /// At no place in particular.
    pub(super) fn new(size: f64, area: f64) -> Sized {
        Sized { size, area, at: [0.0; 2] }
    }
}

fn spread(mut sizes: Vec<Sized>, tolerance: f64, share: f64) -> Spread {
    let area: f64 = sizes.iter().map(|s| s.area).sum();
    if area <= 0.0 {
        return Spread::default();
    }
    let square: f64 = sizes.iter().map(|s| s.area * s.size * s.size).sum();
    let beyond: f64 = sizes.iter().filter(|s| s.size > tolerance).map(|s| s.area).sum();
    let most = sizes.iter().fold(sizes[0], |most, s| if s.size > most.size { *s } else { most });
    let q99 = exceeded_by(&mut sizes, RARE * area);
    Spread {
        rms: (square / area).sqrt(),
        q99,
        judged: if share == RARE { q99 } else { exceeded_by(&mut sizes, share * area) },
        largest: most.size,
        largest_at: most.at,
        beyond: beyond / area,
    }
}

/// The smallest of the sizes that no more than so much area exceeds, by halving about the median of those still in question.
pub(super) fn exceeded_by(mut sizes: &mut [Sized], mut area: f64) -> f64 {
    while sizes.len() > 1 {
        let middle = sizes.len() / 2;
        sizes.select_nth_unstable_by(middle, |a, b| a.size.total_cmp(&b.size));
        let above: f64 = sizes[middle..].iter().map(|s| s.area).sum();
        let (low, high) = sizes.split_at_mut(middle);
        if above > area {
            sizes = high;
        } else {
            area -= above;
            sizes = low;
        }
    }
    sizes[0].size
}
