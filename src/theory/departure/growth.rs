//! How departures grow with speed or gap: at every place a polynomial of the factor, whose fields are put together once.

use super::contribution::{Contribution, Part};
use super::measure::{Measure, Reference, Sized, exceeded_by};
use super::together::Way;
use crate::base::plane;
use crate::theory::departure::measure::SLOW;

/// Contributions together as powers of one factor, over the observation region.
pub(super) struct Growth<'a> {
    reference: &'a Reference<'a>,
    terms: Vec<Term>,
    /// Speed of the reference pattern at the vertices of the region, m/s.
    speeds: Vec<f64>,
    /// Area that the places of shifts stand for.
    weights: Vec<f64>,
}

/// What goes with one power of the factor.
struct Term {
    power: i32,
    /// Whether it belongs to the second order of inertia.
    second: bool,
    /// At the vertices of the region, m/s.
    departure: Vec<[f64; 2]>,
    /// Of the streaklines, m.
    shifts: Vec<f64>,
}

impl<'a> Growth<'a> {
    /// `power_of` tells with which power of the factor a part goes.
    pub(super) fn new(
        reference: &'a Reference<'a>,
        contributions: &[&Contribution],
        power_of: impl Fn(&Part) -> i32,
    ) -> Growth<'a> {
        let sign = match Way::of(contributions.iter().copied()) {
            Way::Forth => 1.0,
            Way::Back => -1.0,
        };
        let mut sums: Vec<(i32, bool, Vec<[f64; 2]>)> = Vec::new();
        for part in contributions.iter().flat_map(|contribution| &contribution.parts) {
            let (power, second) = (power_of(part), part.inertia_power > 1);
            match sums.iter_mut().find(|sum| (sum.0, sum.1) == (power, second)) {
                Some((_, _, sum)) => {
                    sum.iter_mut().zip(&part.at_height).for_each(|(s, d)| *s = plane::stepped(*s, sign, *d));
                }
                None => sums.push((power, second, part.at_height.iter().map(|d| d.map(|x| sign * x)).collect())),
            }
        }
        let Reference { space, region, velocity, .. } = *reference;
        let shifts = |departure: &[[f64; 2]]| region.shifts(space, velocity, departure);
        let weights = sums.first().map_or_else(Vec::new, |(_, _, sum)| shifts(sum).iter().map(|s| s.weight).collect());
        let terms = sums.iter().map(|(power, second, sum)| Term {
            power: *power,
            second: *second,
            departure: region.vertices.iter().map(|&v| sum[v]).collect(),
            shifts: shifts(sum).iter().map(|s| s.shift).collect(),
        });
        Growth {
            terms: terms.collect(),
            speeds: region.vertices.iter().map(|&v| plane::length(velocity[v])).collect(),
            weights,
            reference,
        }
    }

    /// The size that is judged at a factor, with the second order of inertia or without.
    pub(super) fn judged(&self, measure: Measure, factor: f64, with_second: bool) -> f64 {
        let Reference { region, velocity, speed, tolerance, .. } = *self.reference;
        let at = self.at(factor, with_second);
        let mut sizes: Vec<Sized> = Vec::with_capacity(self.speeds.len());
        match measure {
            Measure::Shift => {
                sizes.extend(self.weights.iter().enumerate().map(|(k, &area)| Sized::new(at.shift(k).abs(), area)));
            }
            Measure::Speed | Measure::Direction => {
                for (k, (&v, &area)) in region.vertices.iter().zip(&region.areas).enumerate() {
                    let (a, d) = (velocity[v], at.departure(k));
                    let b = [a[0] + d[0], a[1] + d[1]];
                    if measure == Measure::Speed {
                        sizes.push(Sized::new((plane::length(b) - self.speeds[k]).abs() / speed, area));
                    } else if self.speeds[k] > SLOW * speed {
                        sizes.push(Sized::new(plane::turn(a, b).abs(), area));
                    }
                }
            }
        }
        let area: f64 = sizes.iter().map(|s| s.area).sum();
        if area > 0.0 { exceeded_by(&mut sizes, tolerance.share * area) } else { 0.0 }
    }

    /// Whether that size is below the tolerance: no more of the area than the share allowed reaches it.
    pub(super) fn is_within(&self, measure: Measure, factor: f64, with_second: bool) -> bool {
        let Reference { region, velocity, speed, tolerance, .. } = *self.reference;
        let (at, limit) = (self.at(factor, with_second), measure.tolerance(tolerance));
        let (mut beyond, mut all) = (0.0, 0.0);
        let mut count = |reaches: bool, area: f64| {
            all += area;
            beyond += if reaches { area } else { 0.0 };
        };
        let vertices = || region.vertices.iter().zip(&region.areas).enumerate();
        match measure {
            Measure::Shift => {
                self.weights.iter().enumerate().for_each(|(k, &area)| count(at.shift(k).abs() >= limit, area));
            }
            Measure::Speed => vertices().for_each(|(k, (&v, &area))| {
                let (a, d) = (velocity[v], at.departure(k));
                let after = plane::square([a[0] + d[0], a[1] + d[1]]).sqrt();
                count((after - self.speeds[k]).abs() >= limit * speed, area);
            }),
            Measure::Direction => {
                let (sin, cos) = limit.sin_cos();
                for (k, (&v, &area)) in vertices().filter(|(k, _)| self.speeds[*k] > SLOW * speed) {
                    let (a, d) = (velocity[v], at.departure(k));
                    let b = [a[0] + d[0], a[1] + d[1]];
                    // sin(turn - limit), times both speeds
                    count(plane::cross(a, b).abs() * cos >= plane::dot(a, b) * sin, area);
                }
            }
        }
        beyond <= tolerance.share * all
    }

    fn at(&self, factor: f64, with_second: bool) -> At<'_> {
        let counted = self.terms.iter().filter(|term| with_second || !term.second);
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
            let grows: [(Growth, fn(f64) -> Scale); 2] = [
                (Growth::new(&reference, &all, |part| part.inertia_power), |x| Scale { inertia: x, gap: 1.0 }),
                (Growth::new(&reference, &all, |part| part.gap_power), |x| Scale { inertia: 1.0, gap: x }),
            ];
            let (mut within, mut beyond) = (0, 0);
            for (growth, scale) in &grows {
                for (factor, with_second) in (0..16).flat_map(|k| [true, false].map(|both| (0.9 * f64::from(k), both)))
                {
                    let most = if with_second { 2 } else { 1 };
                    let counts = |part: &Part| part.inertia_power <= most;
                    let measures = reference.measure_some(&list, scale(factor), View::AtHeight, counts);
                    for measure in Measure::ALL {
                        let size = measures.of(measure).judged;
                        let found = growth.judged(measure, factor, with_second);
                        assert!((found - size).abs() < 1e-9 * size + 1e-13, "{measure:?} {factor}: {found} {size}");
                        let is_within = growth.is_within(measure, factor, with_second);
                        assert_eq!(is_within, size < measure.tolerance(&tolerance), "{measure:?} {factor}: {size}");
                        *if is_within { &mut within } else { &mut beyond } += 1;
                    }
                }
            }
            assert!(within > 20 && beyond > 20, "{within} {beyond}");
        }
    }
}
