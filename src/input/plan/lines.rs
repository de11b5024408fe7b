//! Lines of the case in the plan: where their points stand, and which of them meet no fluid.

use super::discs::Mistake;
use crate::base::Point;
use crate::base::plane::{between, distance, stepped};
use crate::base::units::Dimension;
use crate::geometry::Plan;
use crate::input::case::{Case, Course, Line, nearest};

/// Names listed in a message.
const MOST_LISTED: usize = 6;

impl Line {
    /// Its points in order, each with its place on the line s, m; none if it runs along an obstacle that is not there.
    ///
    /// Points are equally far apart. s runs from the start of a straight line, and along an outline itself from its front
    /// ([`crate::geometry::Way`]): points stand off the outline by the distance of the line, square to it, so that they are further apart than
    /// the steps of s where it bulges and nearer where it is hollow.
    pub fn places(&self, plan: &Plan) -> Option<Vec<(f64, Point)>> {
        let parts = (0..self.points).map(|k| k as f64 / (self.points - 1) as f64);
        Some(match &self.course {
            Course::Straight { from, to } => {
                let length = distance(*from, *to);
                parts.map(|part| (part * length, between(*from, *to, part))).collect()
            }
            Course::Along { obstacle, distance } => {
                let number = plan.obstacles.iter().position(|own| own.name == *obstacle)?;
                let way = plan.way_along(number as u32)?;
                let at = |part: f64| {
                    let s = part * way.length();
                    let (at, into) = way.at(s);
                    (s, stepped(at, *distance, into))
                };
                parts.map(at).collect()
            }
        })
    }
}

/// Mistakes of lines in a plan: one along an obstacle that is not there, one that meets no fluid.
pub(super) fn mistakes(case: &Case, plan: &Plan) -> Vec<Mistake> {
    let mut found: Vec<Mistake> = Vec::new();
    for line in &case.lines {
        let name = &line.name;
        let Some(places) = line.places(plan) else {
            found.push(unknown(line, plan));
            continue;
        };
        if places.iter().any(|(_, at)| plan.holds(*at, case.cell.edge())) {
            continue;
        }
        let (message, remedy) = match &line.course {
            Course::Straight { from, to } => {
                let [from, to] = [from, to].map(|at| case.cell.unit.place(*at));
                let message = format!("the line \"{name}\" from {from} to {to} has no point in the fluid");
                (message, "move it into the fluid; x goes from the inlet along the flow, y from the lower side wall")
            }
            Course::Along { obstacle, distance } => {
                let off = Dimension::Length.show(*distance);
                let message = format!("the line \"{name}\", {off} off \"{obstacle}\", has no point in the fluid");
                (message, "make its distance smaller")
            }
        };
        found.push((line.place.clone(), message, remedy.into()));
    }
    found
}

fn unknown(line: &Line, plan: &Plan) -> Mistake {
    let Course::Along { obstacle, .. } = &line.course else {
        return (line.place.clone(), format!("the line \"{}\" has no points", line.name), "give it two or more".into());
    };
    let names: Vec<&str> = plan.obstacles.iter().map(|own| own.name.as_str()).collect();
    let message = format!("the line \"{}\" runs along \"{obstacle}\", and no obstacle is called so", line.name);
    let listed = names.iter().take(MOST_LISTED).map(|name| format!("\"{name}\"")).collect::<Vec<_>>().join(", ");
    let remedy = match nearest(obstacle, &names) {
        Some(near) => format!("did you mean \"{near}\"?"),
        None if names.is_empty() => "the case has no obstacle: give the line two ends, from and to".into(),
        None => format!("name one of {listed}"),
    };
    (line.place.clone(), message, remedy)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::error::Problems;
    use crate::base::plane::distance;
    use crate::geometry::Way;
    use crate::input::case::parse;
    use std::f64::consts::PI;

    fn read(more: &str) -> Result<(Case, Plan), Problems> {
        let text = format!(
            "[cell]\nlength = 0.4\nwidth = 0.2\ngap = 1e-3\n[fluid]\ndensity = 1000\nviscosity = 1e-3\n[drive]\nmean_speed = 1e-3\n{more}\n"
        );
        let case = parse(&text, "case.toml".as_ref()).into_result().unwrap();
        let mut problems = Problems::default();
        problems.add_text("case.toml".as_ref(), &text);
        Plan::new(&case, &mut problems).map(|plan| (case, plan)).ok_or(problems)
    }

    fn way(obstacle: &str) -> Way {
        let (_, plan) = read(&format!("[[obstacle]]\n{obstacle}")).unwrap();
        plan.way_along(0).unwrap()
    }

    fn assert_near(found: [f64; 2], exact: [f64; 2]) {
        assert!((0..2).all(|k| (found[k] - exact[k]).abs() < 1e-12), "{found:?} {exact:?}");
    }

    /// A circle of radius a, by its angle; clockwise from the front.
    #[test]
    fn a_circle_is_walked_from_its_front_over_its_upper_side() {
        let a = 0.03;
        let way = way("circle = { centre = [0.2, 0.1], diameter = 0.06 }");
        assert!((way.length() - 2.0 * PI * a).abs() < 1e-14);
        for k in 0..=16 {
            let angle = PI - 2.0 * PI * f64::from(k) / 16.0;
            let (at, into) = way.at(f64::from(k) / 16.0 * way.length());
            assert_near(at, [0.2 + a * angle.cos(), 0.1 + a * angle.sin()]);
            assert_near(into, [angle.cos(), angle.sin()]);
        }
    }

    /// An ellipse of 4 to 1: twice as many steps through chords as a check of lengths, in which chords fall short by their square.
    #[test]
    fn places_of_a_curve_are_equally_far_apart() {
        let way = way("ellipse = { centre = [0.2, 0.1], semi_axes = [0.08, 0.02], angle = 20 }");
        let places: Vec<Point> = (0..=4000).map(|k| way.at(f64::from(k) / 4000.0 * way.length()).0).collect();
        let chords: Vec<f64> = places.windows(2).map(|w| distance(w[0], w[1])).collect();
        // a chord of length h under a curvature of at most a/b² = 200/m is short by h³ k²/24, h = 9e-5 m
        let step = way.length() / 4000.0;
        assert!(chords.iter().all(|chord| (0.0..1.3e-9 / 0.8).contains(&(step - chord + 1e-12))), "{step}");
        let front = places.iter().map(|p| p[0]).fold(f64::INFINITY, f64::min);
        assert!(
            (places[0][0] - front).abs() < 1e-12 && places[1000][1] > 0.1 && distance(places[4000], places[0]) < 1e-15
        );
    }

    /// A half post on either side wall, from its upstream foot.
    #[test]
    fn on_a_wall_the_way_goes_downstream() {
        for (wall, y, up) in [("lower", 0.0, 1.0), ("upper", 0.2, -1.0)] {
            let way = way(&format!("on_wall = \"{wall}\"\ncircle = {{ centre = [0.2, {y}], diameter = 0.06 }}"));
            assert!((way.length() - PI * 0.03).abs() < 1e-12);
            assert_near(way.at(0.0).0, [0.17, y]);
            let (top, into) = way.at(0.5 * way.length());
            assert_near(top, [0.2, y + up * 0.03]);
            assert_near(into, [0.0, up]);
            assert_near(way.at(way.length()).0, [0.23, y]);
        }
    }

    /// A square with its front edge across the stream starts at the lower end of that edge.
    #[test]
    fn corners_belong_to_the_side_that_begins_there() {
        let way = way("polygon = { points = [[0.1, 0.08], [0.14, 0.08], [0.14, 0.12], [0.1, 0.12]] }");
        assert!((way.length() - 0.16).abs() < 1e-15);
        for (s, at, into) in [
            (0.0, [0.1, 0.08], [-1.0, 0.0]),
            (0.04, [0.1, 0.12], [0.0, 1.0]),
            (0.1, [0.14, 0.1], [1.0, 0.0]),
            (0.13, [0.13, 0.08], [0.0, -1.0]),
        ] {
            let (found, normal) = way.at(s);
            assert_near(found, at);
            assert_near(normal, into);
        }
    }
}
