//! Figures of the lines of a case.

use super::figures::Drawn;
use crate::base::plane::length;
use crate::base::units::Dimension;
use crate::base::{Result, plane};
use crate::input::case::Course;
use crate::numerics::mesh::{Locator, Place};
use crate::report::figure::{Along, Canvas, Style, profile};
use crate::study::{Budget, Profile, Study};
use crate::theory::departure::{Effect, Scale, View};

/// Names of the curves: those of the pattern, then the effects.
const CURVES: [&str; 5] = ["ideal", "with the corrections", "unconfined", "edge layer", "inertia"];
/// Which of them those are.
const IDEAL: usize = 0;
const CORRECTED: usize = 1;
const UNCONFINED: usize = 2;
const EDGE_LAYER: usize = 3;
const INERTIA: usize = 4;

/// A velocity along a line: the number of its curve, and the vectors; none in no fluid.
type Curve = (usize, Vec<Option<[f64; 2]>>);

impl Study {
    /// The charts of each line: speed, direction, pressure coefficient and pressure; with corrections or a budget also what they give, and
    /// what each effect changes of the speed, all averaged over the gap.
    pub(super) fn line_figures(&self, drawn: &Drawn, budget: Option<&Budget>, style: Style) -> Result<Vec<Canvas>> {
        if self.profiles.is_empty() {
            return Ok(Vec::new());
        }
        let part = |field: &[[f64; 2]], k: usize| drawn.smooth(&field.iter().map(|v| v[k]).collect::<Vec<_>>());
        let smooth = |(k, field): (usize, Vec<[f64; 2]>)| {
            let [u, v] = [0, 1].map(|axis| part(&field, axis));
            (k, u.into_iter().zip(v).map(|(u, v)| [u, v]).collect())
        };
        let fields: Vec<_> = self.drawn_velocities(budget).into_iter().map(smooth).collect();
        let locator = Locator::new(drawn.mesh());
        let figure = |line: &Profile| {
            let mut hint = None;
            let places = line.points.iter().zip(&line.sampled.places).map(|(at, place)| {
                place.map(|_| {
                    let place = locator.place(*at, hint);
                    hint = Some(place.0);
                    place
                })
            });
            let places: Vec<Option<Place>> = places.collect();
            let along = |(k, field): &(usize, Vec<[f64; 2]>)| {
                (*k, places.iter().map(|place| place.map(|place| drawn.mesh().vector_at(place, field))).collect())
            };
            self.line_figure(line, &fields.iter().map(along).collect::<Vec<Curve>>(), style)
        };
        self.profiles.iter().map(figure).collect()
    }

    /// The velocities that are drawn, at the vertices, m/s.
    fn drawn_velocities(&self, budget: Option<&Budget>) -> Vec<(usize, Vec<[f64; 2]>)> {
        let ideal = &self.pattern.velocity;
        let by_layer = self.edge_layer.as_ref().map(|layer| layer.change_at_speed(&self.pattern));
        let by_inertia = self.inertia.as_ref().map(|inertia| plane::differences(&inertia.mean_velocity(), ideal));
        let with = |change: &Vec<[f64; 2]>| plane::sums(ideal, change);
        let mut fields = vec![(IDEAL, ideal.clone())];
        let corrected = [&by_layer, &by_inertia].into_iter().flatten().fold(None, |sum: Option<Vec<_>>, change| {
            Some(sum.map_or_else(|| with(change), |sum| plane::sums(&sum, change)))
        });
        fields.extend(corrected.map(|field| (CORRECTED, field)));
        let free = budget.and_then(|budget| {
            let confinement = budget.contributions.iter().find(|c| c.effect == Effect::Confinement)?;
            Some(plane::differences(&budget.ideal, &confinement.departure(Scale::ONE, View::GapMean)))
        });
        fields.extend(free.map(|field| (UNCONFINED, field)));
        fields.extend(by_layer.as_ref().map(|change| (EDGE_LAYER, with(change))));
        fields.extend(by_inertia.as_ref().map(|change| (INERTIA, with(change))));
        fields
    }

    fn line_figure(&self, line: &Profile, curves: &[Curve], style: Style) -> Result<Canvas> {
        let speed = self.pattern.drive.mean_speed;
        let (unit, size) = Dimension::Length.unit_for(line.s.last().copied().unwrap_or(0.0));
        let chart = |name: &str, curves: Vec<(usize, Vec<f64>)>| Along {
            name: name.to_owned(),
            curves: curves
                .into_iter()
                .map(|(k, values)| (k, line.s.iter().zip(values).map(|(s, y)| [s / size, y]).collect()))
                .collect(),
        };
        let each = |wanted: &[usize], of: &dyn Fn([f64; 2]) -> f64| -> Vec<(usize, Vec<f64>)> {
            let own = curves.iter().filter(|(k, _)| wanted.contains(k));
            own.map(|(k, v)| (*k, v.iter().map(|v| v.map_or(f64::NAN, of)).collect())).collect()
        };
        let patterns = [IDEAL, CORRECTED, UNCONFINED];
        let directions = each(&patterns, &|v| v[1].atan2(v[0]).to_degrees());
        let directions = directions.into_iter().map(|(k, values)| (k, unwound(values))).collect();
        let pressure = line.sampled.column("pressure_pa").unwrap_or_default();
        let largest = pressure.iter().filter(|p| p.is_finite()).fold(0.0, |a: f64, p| a.max(p.abs()));
        let (pressure_unit, pascal) = Dimension::Pressure.unit_for(largest);
        let mut charts = vec![
            chart("speed over U (1)", each(&patterns, &|v| length(v) / speed)),
            chart("pressure coefficient (1)", each(&patterns, &|v| 1.0 - (length(v) / speed).powi(2))),
            chart("direction, degrees", directions),
            chart(&format!("pressure, {pressure_unit}"), vec![(IDEAL, pressure.iter().map(|p| p / pascal).collect())]),
        ];
        let ideal = &curves[0].1;
        let changes: Vec<(usize, Vec<f64>)> = curves
            .iter()
            .filter(|(k, _)| [EDGE_LAYER, INERTIA].contains(k))
            .map(|(k, values)| {
                let change = |(v, v0): (&Option<[f64; 2]>, &Option<[f64; 2]>)| match (v, v0) {
                    (Some(v), Some(v0)) => 100.0 * (length(*v) - length(*v0)) / speed,
                    _ => f64::NAN,
                };
                (*k, values.iter().zip(ideal).map(change).collect())
            })
            .collect();
        if !changes.is_empty() {
            charts.push(chart("change of speed, % of U", changes));
        }
        // the legend has what is drawn, in its order
        let drawn: Vec<usize> = curves.iter().map(|(k, _)| *k).collect();
        let names: Vec<&str> = drawn.iter().map(|k| CURVES[*k]).collect();
        for (k, _) in charts.iter_mut().flat_map(|chart| &mut chart.curves) {
            *k = drawn.iter().position(|own| own == k).unwrap_or(*k);
        }
        let own = &line.line;
        let title = match &own.course {
            Course::Straight { .. } => format!("Along the line {}", own.name),
            Course::Along { obstacle, distance: 0.0 } => format!("Along the outline of {obstacle}"),
            Course::Along { obstacle, distance } => {
                format!("Beside the outline of {obstacle}, {} off it", Dimension::Length.show_to(*distance, 4))
            }
        };
        let way = if matches!(own.course, Course::Straight { .. }) { "line" } else { "outline" };
        let x_name = format!("s along the {way}, {unit}");
        profile(style, &format!("profile_{}", own.stem()), &title, &x_name, &names, &charts)
    }
}

/// Angles without jumps by a whole turn.
fn unwound(mut angles: Vec<f64>) -> Vec<f64> {
    let mut last: Option<f64> = None;
    for angle in &mut angles {
        if let Some(last) = last {
            *angle -= 360.0 * ((*angle - last) / 360.0).round();
        }
        last = angle.is_finite().then_some(*angle);
    }
    angles
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A direction that turns by more than half a circle goes on, and starts anew behind a solid.
    #[test]
    fn directions_go_on_beyond_half_a_circle() {
        let found = unwound(vec![170.0, 179.0, -179.0, -170.0, f64::NAN, 190.0, -180.0]);
        assert_eq!(found[..4], [170.0, 179.0, 181.0, 190.0]);
        assert!(found[4].is_nan() && found[5..] == [190.0, 180.0]);
    }
}
