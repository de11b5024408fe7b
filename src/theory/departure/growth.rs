//! How departures grow with speed or gap: at every place a polynomial of the factor, whose fields are put together once.

use super::contribution::{Contribution, Part};
use super::measure::{Measure, Reference, SLOW, Sized, exceeded_by};
use super::together::Way;
use crate::base::plane;

/// Contributions together as powers of one factor, over the observation region of a reference.
#[derive(Debug)]
pub struct Growth {
    terms: Vec<Term>,
    /// Speed of the reference pattern at the vertices of the region, m/s.
    speeds: Vec<f64>,
    /// Area that the places of shifts stand for.
    weights: Vec<f64>,
}

/// What goes with one power of the factor.
#[derive(Debug)]
struct Term {
    power: i32,
    /// Whether it belongs to the second order of inertia.
    second: bool,
    /// At the vertices of the region, m/s.
    departure: Vec<[f64; 2]>,
    /// Of the streaklines, m.
    shifts: Vec<f64>,
}

/// Which orders of inertia count.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Orders {
    /// All there are.
    All,
    /// The first alone.
    First,
}

impl Growth {
    /// `power_of` tells with which power of the factor a part goes, and what it is multiplied by besides.
    pub fn new(
        reference: &Reference,
        contributions: &[&Contribution],
        power_of: impl Fn(&Part) -> (i32, f64),
    ) -> Growth {
        let sign = match Way::of(contributions.iter().copied()) {
            Way::Forth => 1.0,
            Way::Back => -1.0,
        };
        let Reference { space, region, velocity, .. } = *reference;
        let mut sums: Vec<(i32, bool, Vec<[f64; 2]>)> = Vec::new();
        for part in contributions.iter().flat_map(|contribution| &contribution.parts) {
            let ((power, by), second) = (power_of(part), part.inertia_power > 1);
            let known = sums.iter().position(|sum| (sum.0, sum.1) == (power, second)).unwrap_or(sums.len());
            if known == sums.len() {
                sums.push((power, second, vec![[0.0; 2]; velocity.len()]));
            }
            let sum = sums[known].2.iter_mut().zip(&part.at_height);
            sum.for_each(|(sum, d)| *sum = plane::stepped(*sum, sign * by, *d));
        }
        let mut weights = Vec::new();
        let mut terms = Vec::with_capacity(sums.len());
        for (power, second, sum) in sums {
            let shifts = region.shifts(space, velocity, &sum);
            weights = shifts.iter().map(|shift| shift.weight).collect();
            let departure = region.vertices.iter().map(|&v| sum[v]).collect();
            terms.push(Term { power, second, departure, shifts: shifts.iter().map(|shift| shift.shift).collect() });
        }
        let speeds = region.vertices.iter().map(|&v| plane::square(velocity[v]).sqrt()).collect();
        Growth { terms, speeds, weights }
    }

    /// The size that is judged at a factor.
    pub fn judged(&self, reference: &Reference, measure: Measure, factor: f64, orders: Orders) -> f64 {
        let mut sizes: Vec<Sized> = Vec::with_capacity(self.speeds.len().max(self.weights.len()));
        self.each(reference, measure, factor, orders, |size, area| sizes.push(Sized::new(size, area)));
        let area: f64 = sizes.iter().map(|s| s.area).sum();
        if area > 0.0 { exceeded_by(&mut sizes, reference.tolerance.share * area) } else { 0.0 }
    }

    /// The root mean square at a factor.
    pub fn mean_square(&self, reference: &Reference, measure: Measure, factor: f64) -> f64 {
        let (mut square, mut all) = (0.0, 0.0);
        self.each(reference, measure, factor, Orders::All, |size, area| {
            square += area * size * size;
            all += area;
        });
        if all > 0.0 { f64::sqrt(square / all) } else { 0.0 }
    }

    /// Whether the size that is judged is below the tolerance: no more of the area than the share allowed reaches it.
    pub(super) fn is_within(&self, reference: &Reference, measure: Measure, factor: f64, orders: Orders) -> bool {
        let limit = measure.tolerance(reference.tolerance);
        let (mut beyond, mut all) = (0.0, 0.0);
        let mut count = |reaches: bool, area: f64| {
            all += area;
            beyond += if reaches { area } else { 0.0 };
        };
        if measure == Measure::Direction {
            let (sin, cos) = limit.sin_cos();
            // sin(turn - limit), times both speeds
            self.each_pair(reference, factor, orders, |k, a, b, area| {
                if self.speeds[k] > SLOW * reference.speed {
                    count(plane::cross(a, b).abs() * cos >= plane::dot(a, b) * sin, area);
                }
            });
        } else {
            self.each(reference, measure, factor, orders, |size, area| count(size >= limit, area));
        }
        beyond <= reference.tolerance.share * all
    }

    /// Hands out the sizes with the areas they stand for.
    fn each(
        &self,
        reference: &Reference,
        measure: Measure,
        factor: f64,
        orders: Orders,
        mut take: impl FnMut(f64, f64),
    ) {
        let speed = reference.speed;
        match measure {
            Measure::Shift => {
                let at = self.at(factor, orders);
                self.weights.iter().enumerate().for_each(|(k, &area)| take(at.shift(k).abs(), area));
            }
            Measure::Speed => self.each_pair(reference, factor, orders, |k, _, b, area| {
                take((plane::square(b).sqrt() - self.speeds[k]).abs() / speed, area);
            }),
            Measure::Direction => self.each_pair(reference, factor, orders, |k, a, b, area| {
                if self.speeds[k] > SLOW * speed {
                    take(plane::turn(a, b).abs(), area);
                }
            }),
        }
    }

    /// Hands out number, velocity before and after, and area of the vertices.
    fn each_pair(
        &self,
        reference: &Reference,
        factor: f64,
        orders: Orders,
        mut take: impl FnMut(usize, [f64; 2], [f64; 2], f64),
    ) {
        let (at, region) = (self.at(factor, orders), reference.region);
        for (k, (&v, &area)) in region.vertices.iter().zip(&region.areas).enumerate() {
            let (a, d) = (reference.velocity[v], at.departure(k));
            take(k, a, [a[0] + d[0], a[1] + d[1]], area);
        }
    }

    fn at(&self, factor: f64, orders: Orders) -> At<'_> {
        let counted = self.terms.iter().filter(|term| orders == Orders::All || !term.second);
        At(counted.map(|term| (factor.powi(term.power), term)).collect())
    }
}

/// The terms at a factor.
struct At<'a>(Vec<(f64, &'a Term)>);

impl At<'_> {
    fn departure(&self, place: usize) -> [f64; 2] {
        self.0.iter().fold([0.0; 2], |sum, (by, term)| plane::stepped(sum, *by, term.departure[place]))
    }

    fn shift(&self, place: usize) -> f64 {
        self.0.iter().map(|(by, term)| by * term.shifts[place]).sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Wall::{Lower, Upper};
    use crate::geometry::{Plan, Side};
    use crate::input::case::{Gap, Tolerance};
    use crate::numerics::fem::Space;
    use crate::numerics::mesh::{Mesh, SizeField};
    use crate::theory::departure::contribution::{Effect, View, still_part};
    use crate::theory::departure::{Region, Scale};
    use crate::theory::edge_layer::Margin;
    use std::sync::Arc;

    /// Parts of several powers, put together once or at every factor anew: the same sizes but for rounding, and within the tolerance where the
    /// size is below it; with a bubble, whose departure is gone back, as well.
    #[test]
    fn growing_parts_are_measured_as_they_are_at_each_factor() {
        let sides = [Side::Wall(Lower), Side::Outlet, Side::Wall(Upper), Side::Inlet];
        let plan = Plan::polygon(&[[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]], &sides, &[]).unwrap();
        let mesh = Mesh::generate(&Arc::new(plan), &SizeField::new(0.05, 0.3, vec![]), 10_000).unwrap();
        let space = Space::new(Arc::new(mesh), &Gap::Uniform(0.01), 0.01);
        let points = space.mesh.points.clone();
        // speeds from 1 % of the mean on, so that some have no direction
        let velocity: Vec<[f64; 2]> = points.iter().map(|p| [2e-3 * (0.005 + p[1]), 0.0]).collect();
        let stream: Vec<f64> = points.iter().map(|p| 2e-5 * (0.005 * p[1] + 0.5 * p[1] * p[1])).collect();
        let region = Region::new(&space, Margin::Length(0.02), &velocity, &stream);
        let tolerance = Tolerance { shift: 0.01, ..Tolerance::default() };
        let reference =
            Reference { space: &space, region: &region, velocity: &velocity, speed: 1e-3, tolerance: &tolerance };
        let part = |size: f64, inertia_power: i32, gap_power: i32, across: f64| {
            let field = |p: &[f64; 2]| [size * (p[0] - across * p[1]), size * across * (p[0] * p[1]).sin()];
            Part { inertia_power, ..still_part(points.iter().map(field).collect(), gap_power) }
        };
        let of =
            |effect: Effect, parts: Vec<Part>| Contribution { effect, parts, numerical_error: 0.0, neglected: None };
        for other in [Effect::Gap, Effect::Bubble] {
            let list = [
                of(Effect::EdgeLayer, vec![part(3e-6, 0, 1, 0.3)]),
                of(Effect::Inertia, vec![part(2e-6, 1, 2, 1.0), part(-1e-6, 1, 3, 0.4), part(4e-7, 2, 4, -0.7)]),
                of(other, vec![part(1e-6, 0, 0, 0.2)]),
            ];
            let all: Vec<&Contribution> = list.iter().collect();
            type ScaleOf = fn(f64) -> Scale;
            let with_speed = |part: &Part| (part.inertia_power, 1.5f64.powi(part.gap_power));
            let grows: [(Growth, ScaleOf); 2] = [
                (Growth::new(&reference, &all, with_speed), |x| Scale { inertia: x, gap: 1.5 }),
                (Growth::new(&reference, &all, |part| (part.gap_power, 1.0)), |x| Scale { inertia: 1.0, gap: x }),
            ];
            let (mut within, mut beyond) = (0, 0);
            for (growth, scale) in &grows {
                for (factor, orders) in
                    (0..16).flat_map(|k| [Orders::All, Orders::First].map(|orders| (0.9 * f64::from(k), orders)))
                {
                    let most = if orders == Orders::All { 2 } else { 1 };
                    let counts = |part: &Part| part.inertia_power <= most;
                    let measures = reference.measure_some(&list, scale(factor), View::AtHeight, counts);
                    for measure in Measure::ALL {
                        let size = measures.of(measure).judged;
                        let found = growth.judged(&reference, measure, factor, orders);
                        assert!((found - size).abs() < 1e-9 * size + 1e-13, "{measure:?} {factor}: {found} {size}");
                        if orders == Orders::All {
                            let (rms, exact) =
                                (growth.mean_square(&reference, measure, factor), measures.of(measure).rms);
                            assert!((rms - exact).abs() < 1e-9 * exact + 1e-13, "{measure:?} {factor}: {rms} {exact}");
                        }
                        let is_within = growth.is_within(&reference, measure, factor, orders);
                        assert_eq!(is_within, size < measure.tolerance(&tolerance), "{measure:?} {factor}: {size}");
                        *if is_within { &mut within } else { &mut beyond } += 1;
                    }
                }
            }
            assert!(within > 20 && beyond > 20, "{within} {beyond}");
        }
    }
}
