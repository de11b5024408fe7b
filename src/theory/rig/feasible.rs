//! The inverse question: at which speeds and gaps do all departures stay within their tolerances?
//!
//! Every contribution scales by known powers of speed over viscosity and of the gap (see [`crate::theory::departure`]), so one solve serves
//! the whole plane of gaps and speeds. The observation region keeps its three gaps from solid edges: it shrinks with a thicker gap unless
//! the case states an edge band. More limits are part of the map: where first order ends (the local inertia number reaches one
//! in the region), where the flow may no longer be laminar, and where dye lines run into one another because it is too slow.

use super::slowest_for_lines;
use crate::base::bisect::bisected;
use crate::input::case::Tolerance;
use crate::numerics::fem::Space;
use crate::theory::departure::{Contribution, Growth, Measure, Orders, Part, Reference, Region, Scale};
use crate::theory::edge_layer::Margin;
use crate::theory::inertia::LIMIT;
use rayon::prelude::*;

/// Gap Reynolds number up to which flow between plates is taken as laminar for sure; disturbances grow from about 1300 on (Patel & Head
/// 1969, J. Fluid Mech. 38, 181, from memory).
pub const LAMINAR: f64 = 1000.0;

/// Part of themselves to which limits are found.
const PRECISION: f64 = 1e-4;

/// Thinnest gap that is searched, over that of the case.
pub const NARROWEST: f64 = 0.125;
/// Widest gap that is searched, over that of the case.
pub const WIDEST: f64 = 8.0;

/// What may bind.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Limit {
    /// The speed tolerance.
    Speed,
    /// The direction tolerance.
    Direction,
    /// The shift tolerance.
    Shift,
    /// The end of first order in Re*.
    FirstOrder,
    /// The flow may no longer be laminar: gap Reynolds number above [`LAMINAR`].
    Laminar,
    /// Dye lines run into one another.
    Dye,
}

impl Limit {
    /// Its key.
    pub fn key(self) -> &'static str {
        match self {
            Limit::Speed => "speed",
            Limit::Direction => "direction",
            Limit::Shift => "shift",
            Limit::FirstOrder => "first_order",
            Limit::Laminar => "laminar",
            Limit::Dye => "dye",
        }
    }

    /// Its name for reading.
    pub fn name(self) -> &'static str {
        match self {
            Limit::Speed => "speed tolerance",
            Limit::Direction => "direction tolerance",
            Limit::Shift => "shift tolerance",
            Limit::FirstOrder => "end of first order in Re*",
            Limit::Laminar => "end of laminar flow",
            Limit::Dye => "dye lines merge",
        }
    }
}

/// Which measure is held against the tolerances.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Judge {
    /// What no more of the area exceeds than the share the tolerances allow, as the verdict does.
    Share,
    /// The root mean square.
    MeanSquare,
}

/// Departures over their limits at one state; below one is within.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ratios {
    /// Speed, direction, shift, first order, laminar, dye.
    pub all: [(Limit, f64); 6],
}

impl Ratios {
    /// The ratio of one limit.
    pub fn of(&self, limit: Limit) -> f64 {
        self.all.iter().find(|(one, _)| *one == limit).map_or(0.0, |(_, ratio)| *ratio)
    }

    /// The limit that binds, and its ratio.
    pub fn binding(&self) -> (Limit, f64) {
        self.all.iter().fold(self.all[0], |most, &one| if one.1 > most.1 { one } else { most })
    }

    /// The largest ratio of those that grow with speed or gap: all but that of the dye.
    fn departure(&self) -> f64 {
        self.all[..5].iter().map(|(_, ratio)| *ratio).fold(0.0, f64::max)
    }

    /// The limit with the largest ratio among all but that of the dye.
    pub fn binding_departure(&self) -> Limit {
        let five = &self.all[..5];
        five.iter().fold(five[0], |most, &one| if one.1 > most.1 { one } else { most }).0
    }
}

/// Dye lines that leave the inlet at equal distances and spread on their way through the cell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DyeLines {
    /// Diffusivity of the dye, m²/s.
    pub diffusivity: f64,
    /// Length of the cell, m.
    pub length: f64,
    /// Distance of neighbouring lines, m.
    pub spacing: f64,
}

impl DyeLines {
    /// Lowest mean speed at which they stay apart, m/s.
    pub fn slowest(&self) -> f64 {
        slowest_for_lines(self.diffusivity, self.length, self.spacing)
    }
}

/// What is needed to judge the cell at other speeds and gaps.
#[derive(Debug)]
pub struct Outlook<'a> {
    /// The mesh.
    pub space: &'a Space,
    /// The observation region of the case.
    pub region: Region,
    /// Velocity of the ideal pattern at the vertices, m/s.
    pub velocity: &'a [[f64; 2]],
    /// Local inertia number at the vertices.
    pub number: &'a [f64],
    /// The contributions of the cell itself, without confinement.
    pub contributions: Vec<&'a Contribution>,
    /// Mean speed of the case, m/s.
    pub speed: f64,
    /// Gap of the case at its middle, m.
    pub gap: f64,
    /// The tolerances.
    pub tolerance: &'a Tolerance,
    /// Gap Reynolds number of the case.
    pub gap_reynolds: f64,
    /// The dye lines.
    pub dye: DyeLines,
}

/// All speeds at one gap.
#[derive(Debug)]
pub struct AtGap<'a> {
    outlook: &'a Outlook<'a>,
    region: Region,
    growth: Growth,
    gap: f64,
    largest_number: f64,
}

impl<'a> Outlook<'a> {
    /// The same with another margin along solid edges.
    pub fn with_margin(&self, margin: Margin) -> Outlook<'a> {
        Outlook {
            region: self.region.with_margin(self.space, margin),
            contributions: self.contributions.clone(),
            space: self.space,
            velocity: self.velocity,
            number: self.number,
            speed: self.speed,
            gap: self.gap,
            tolerance: self.tolerance,
            gap_reynolds: self.gap_reynolds,
            dye: self.dye,
        }
    }

    /// The speeds at a gap given over that of the case; none if the edge bands leave nothing to observe.
    pub fn column(&self, gap: f64) -> Option<AtGap<'_>> {
        let region = self.region.with_margin(self.space, self.region.margin.for_gap(gap));
        let largest_number = region.vertices.iter().map(|&v| self.number[v]).fold(0.0, f64::max);
        if region.vertices.is_empty() {
            return None;
        }
        let powers = |part: &Part| (part.inertia_power, gap.powi(part.gap_power));
        let growth = Growth::new(&self.reference(&region), &self.contributions, powers);
        Some(AtGap { outlook: self, region, growth, gap, largest_number })
    }

    fn reference<'b>(&'b self, region: &'b Region) -> Reference<'b> {
        let Outlook { space, velocity, speed, tolerance, .. } = *self;
        Reference { space, region, velocity, speed, tolerance }
    }

    /// Largest speed over that of the case at which all departures stay within their limits, at the case's gap.
    pub fn largest_speed(&self, judge: Judge) -> Option<f64> {
        self.column(1.0)?.largest_speed(judge)
    }

    /// Thickest gap over that of the case at which all departures stay within their limits at the case's speed; searched from an eighth
    /// to eight times.
    pub fn thickest_gap(&self, judge: Judge) -> Option<f64> {
        let within = |gap: f64| self.column(gap).is_some_and(|column| column.ratios(1.0, judge).departure() <= 1.0);
        crossing(within, NARROWEST, WIDEST, 24)
    }

    /// The feasibility map over gaps and speeds given over those of the case.
    pub fn map(&self, judge: Judge, gaps: &[f64], speeds: &[f64]) -> Map {
        let cells = gaps
            .par_iter()
            .map(|&gap| {
                let column = self.column(gap);
                let at = |speed: f64| column.as_ref().map(|column| column.ratios(speed, judge));
                speeds.iter().map(|&speed| at(speed)).collect()
            })
            .collect();
        Map {
            judge,
            gaps: gaps.iter().map(|g| g * self.gap).collect(),
            speeds: speeds.iter().map(|s| s * self.speed).collect(),
            cells,
            slowest_for_dye: self.dye.slowest(),
        }
    }
}

impl AtGap<'_> {
    /// The ratios at a speed over that of the case: departures over their tolerances; the local inertia number `n s g²` over one;
    /// the gap Reynolds number `Re_b s g` over [`LAMINAR`]; four spreads of the dye over the distance of its lines, `√(U_least/(s U))`.
    /// s and g are speed and gap over those of the case.
    pub fn ratios(&self, speed: f64, judge: Judge) -> Ratios {
        let o = self.outlook;
        let scale = Scale { inertia: speed, gap: self.gap };
        let reference = o.reference(&self.region);
        let over = |measure: Measure| {
            let size = match judge {
                Judge::Share => self.growth.judged(&reference, measure, speed, Orders::All),
                Judge::MeanSquare => self.growth.mean_square(&reference, measure, speed),
            };
            size / measure.tolerance(o.tolerance)
        };
        Ratios {
            all: [
                (Limit::Speed, over(Measure::Speed)),
                (Limit::Direction, over(Measure::Direction)),
                (Limit::Shift, over(Measure::Shift)),
                (Limit::FirstOrder, self.largest_number * scale.reduced() / LIMIT),
                (Limit::Laminar, o.gap_reynolds * speed * self.gap / LAMINAR),
                // the spread goes as the square root of the time
                (Limit::Dye, (o.dye.slowest() / (speed * o.speed)).sqrt()),
            ],
        }
    }

    /// Largest speed over that of the case within all limits; none if even the slowest flow departs too far.
    pub fn largest_speed(&self, judge: Judge) -> Option<f64> {
        // there the local inertia number is one, or the flow no longer laminar
        let first_order = LIMIT / (self.largest_number * self.gap * self.gap);
        let end = first_order.min(LAMINAR / (self.outlook.gap_reynolds * self.gap));
        let within = |speed: f64| self.ratios(speed, judge).departure() <= 1.0 + 1e-12;
        crossing(within, 1e-6 * end, end, 12)
    }
}

/// The largest value up to which a condition holds from `low` on, found by so many steps of equal ratio and bisection of the logarithm; none if it does not
/// hold at `low`.
fn crossing(within: impl Fn(f64) -> bool, low: f64, high: f64, steps: i32) -> Option<f64> {
    if !within(low) {
        return None;
    }
    let ratio = (high / low).powf(1.0 / f64::from(steps));
    let at = |k: i32| if k == steps { high } else { low * ratio.powi(k) };
    let Some(beyond) = (1..=steps).find(|&k| !within(at(k))) else { return Some(high) };
    let ends = [at(beyond - 1).ln(), at(beyond).ln()];
    let halvings = (ratio.ln() / PRECISION).log2().ceil().max(0.0);
    Some(bisected(ends, halvings as usize, |x| within(x.exp()))[0].exp())
}

/// Which limit binds where.
#[derive(Debug, Clone, PartialEq)]
pub struct Map {
    /// Which measure is held against the tolerances.
    pub judge: Judge,
    /// Gaps, m, increasing.
    pub gaps: Vec<f64>,
    /// Mean speeds, m/s, increasing.
    pub speeds: Vec<f64>,
    /// For each gap, for each speed the departures over their limits; none where the edge bands leave nothing to observe.
    pub cells: Vec<Vec<Option<Ratios>>>,
    /// Speed below which dye lines merge, m/s.
    pub slowest_for_dye: f64,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn crossings_are_found_from_below() {
        // holds up to 2, and again beyond 5: the first end counts
        let found = crossing(|x| !(2.0..=5.0).contains(&x), 0.1, 10.0, 24).unwrap();
        assert!(found < 2.0 && found > 2.0 / 1.0001, "{found}");
        assert_eq!(crossing(|_| false, 0.1, 10.0, 24), None);
        assert_eq!(crossing(|_| true, 0.1, 10.0, 24), Some(10.0));
    }
}
