//! The bubbles of a plan: how large they are, where they sit, and what makes them let go.

use super::{behind_post, rise_speed, slip_speed, travel_speed, travel_tilt};
use crate::base::Point;
use crate::base::plane::Rect;
use crate::base::row::{Kind, Row, Section};
use crate::base::units::Dimension;
use crate::geometry::span::Extent;
use crate::geometry::{Plan, Rim, Side};
use crate::input::case::{Case, RigSettings};
use std::f64::consts::{FRAC_PI_2, PI};

/// A bubble that its contact lines hold, and when it lets go.
#[derive(Debug, Clone, PartialEq)]
pub struct Held {
    /// Its name.
    pub name: String,
    /// Its rim.
    pub rim: Rim,
    /// The middle of its extent, m.
    pub middle: Point,
    /// Half its extent across the flow, the whole where it stands on a wall, m: the radius of a round one.
    pub radius: f64,
    /// Mean speed of the flow at it from which its contact lines slip, m/s.
    pub slip_speed: f64,
    /// The same above which it travels, m/s.
    pub travel_speed: f64,
    /// Tilt at which it travels in liquid at rest, rad; none where not even an upright cell is enough.
    pub tilt: Option<f64>,
    /// What it sits behind, and the speed far away above which it travels from there, m/s.
    pub behind: Option<(String, f64)>,
}

/// cos(θ_rec) − cos(θ_adv) of the plates, the contact angle half way between the two, both within 0 and π.
pub fn cosine_difference(rig: &RigSettings) -> f64 {
    let (angle, half) = (rig.contact_angle.value, 0.5 * rig.contact_hysteresis.value);
    (angle - half).max(0.0).cos() - (angle + half).min(PI).cos()
}

/// The bubbles of a case in the order of its obstacles, each as if it were round.
///
/// A bubble sits behind an obstacle that its middle lies behind, not beside, at most its own diameter from the hindmost place; the obstacle
/// is then taken for a round post of the same extent across the flow.
pub fn held(case: &Case, plan: &Plan) -> Vec<Held> {
    let rig = &case.rig;
    let (tension, difference, viscosity) = (rig.surface_tension.value, cosine_difference(rig), case.fluid.viscosity);
    let of = |(k, bubble): (u32, &crate::geometry::PlanObstacle)| -> Option<Held> {
        let rect = extent(plan, k)?;
        let middle = rect.middle();
        let radius = across(plan, k);
        let gap = case.cell.gap.at(middle);
        let travel = travel_speed(tension, difference, gap, viscosity, radius);
        let upright = rise_speed(case.fluid.density, FRAC_PI_2, gap, viscosity);
        let posts = (0..plan.obstacles.len() as u32).filter(|&j| plan.rim(j).is_none());
        let near = posts.filter_map(|j| Some((j, extent(plan, j)?))).find(|(_, post)| {
            let [_, low] = post.low;
            let [back, high] = post.high;
            (low..=high).contains(&middle[1]) && middle[0] > back && middle[0] - back < 2.0 * radius
        });
        Some(Held {
            name: bubble.name.clone(),
            rim: bubble.bubble?,
            middle,
            radius,
            slip_speed: slip_speed(tension, difference, gap, viscosity, radius),
            travel_speed: travel,
            tilt: travel_tilt(0.0, travel, upright),
            behind: near
                .map(|(j, _)| (plan.obstacles[j as usize].name.clone(), travel * behind_post(radius, across(plan, j)))),
        })
    };
    plan.bubbles().filter_map(of).collect()
}

fn extent(plan: &Plan, obstacle: u32) -> Option<Rect> {
    let own = plan.pieces.iter().filter(|piece| piece.side == Side::Obstacle(obstacle));
    Some(Extent::of(own.map(|piece| (&piece.curve, piece.from, piece.to)))?.rect())
}

/// Half the extent across the flow; on a wall, which mirrors it, the whole.
fn across(plan: &Plan, obstacle: u32) -> f64 {
    let obstacle = &plan.obstacles[obstacle as usize];
    if obstacle.on_wall.is_some() { obstacle.height } else { 0.5 * obstacle.height }
}

/// What makes the bubbles let go, one row each.
pub fn held_section(bubbles: &[Held]) -> Section {
    let (length, speed) = (Kind::Of(Dimension::Length), Kind::Of(Dimension::Speed));
    const SOURCE: &str = "derived: pressure round a no-flux circle against contact-angle hysteresis";
    const RANGE: &str = "round bubbles wider than the gap on plates that are not fully wetted";
    let rows = |bubble: &Held| {
        let mut rows = vec![
            Row::new("name", "bubble", bubble.name.clone(), Kind::Number),
            Row::new("edge", "rim", if bubble.rim == Rim::Free { "free" } else { "solid" }, Kind::Number).full(),
            Row::new("radius_m", "radius", bubble.radius, length).digits(4).means(
                "half the extent across the flow; the whole where it stands on a wall",
                "definition",
                "a bubble that is not round is taken for a round one",
            ),
            Row::new("slip_speed_m_per_s", "slips from", bubble.slip_speed, speed).digits(3).means(
                "V1 = gamma b D/(24 mu R): mean speed at the bubble from which its contact lines slip, D = cos(theta_rec) - cos(theta_adv)",
                SOURCE,
                RANGE,
            ),
            Row::new("travel_speed_m_per_s", "travels above", bubble.travel_speed, speed).digits(3).means(
                "V2 = gamma b D/(6 pi mu R): mean speed at the bubble above which it travels",
                SOURCE,
                RANGE,
            ),
        ];
        rows.extend(bubble.tilt.map(|tilt| {
            Row::new("tilt_deg", "or tilted by", tilt.to_degrees(), Kind::Degrees).digits(3).means(
                "arcsin(24 mu V2/(rho g b^2)): tilt at which it rises in liquid at rest; left out where an upright cell is not enough",
                "Taylor & Saffman 1959 (Q. J. Mech. Appl. Math. 12, 265): buoyancy acts as half the speed at which a free bubble rises",
                RANGE,
            )
        }));
        rows.extend(bubble.behind.iter().flat_map(|(post, speed)| {
            [
                Row::new("behind", "sits behind", post.clone(), Kind::Number),
                Row::new("travel_speed_behind_m_per_s", "travels from there above", *speed, Kind::Of(Dimension::Speed))
                    .digits(3)
                    .means(
                        "V2 over the ideal speed on the axis of a round post of the same extent, at the middle of a bubble that touches it",
                        "Lamb, Hydrodynamics, art. 68",
                        "bubble on the axis, the flow even across it",
                    ),
            ]
        }));
        rows
    };
    Section::table(
        "held_bubbles",
        "Bubbles that are held, and the mean speed at which they let go",
        bubbles.iter().map(rows),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(rig: &str, obstacles: &str) -> Vec<Held> {
        let text = format!(
            "[cell]\nlength = 0.4\nwidth = 0.2\ngap = 1e-3\n[fluid]\nname = \"water\"\ntemperature = \"20 degC\"\n[drive]\nmean_speed = 1e-4\n[rig]\n{rig}\n{obstacles}"
        );
        let case = crate::input::case::parse(&text, "case.toml".as_ref()).into_result().unwrap();
        held(&case, &Plan::new(&case, &mut Default::default()).unwrap())
    }

    fn bubble(keys: &str, centre: Point, diameter: f64) -> String {
        format!("[[obstacle]]\nbubble = true\n{keys}\ncircle = {{ centre = {centre:?}, diameter = {diameter} }}\n")
    }

    /// Water, 1 mm, R 5 mm: 0.18 and 0.23 m/s for D = 0.3, that is 70 degrees and 18.4 between advancing and receding, 2 sin 70 sin 9.2 =
    /// 0.3005; with surfactant, 30 mN/m and D = 0.02, 30 degrees and 2.29, 5 and 6.4 mm/s. The tilt makes half the speed of rise V2.
    #[test]
    fn clean_bubbles_stay_and_soaped_ones_go() {
        let one = bubble("", [0.2, 0.1], 0.01);
        let clean = of("contact_angle = 70\ncontact_hysteresis = 18.4", &one).remove(0);
        assert!((clean.slip_speed - 0.182).abs() < 1e-3 && (clean.travel_speed - 0.2315).abs() < 1e-3, "{clean:?}");
        let soaped =
            of("surface_tension = \"30 mN/m\"\ncontact_angle = 30\ncontact_hysteresis = 2.292", &one).remove(0);
        assert!(
            (soaped.slip_speed - 4.99e-3).abs() < 2e-5 && (soaped.travel_speed - 6.36e-3).abs() < 2e-5,
            "{soaped:?}"
        );
        for held in [&clean, &soaped] {
            let rise = rise_speed(998.2072, held.tilt.unwrap(), 1e-3, 1.0016e-3);
            assert!((0.5 * rise / held.travel_speed - 1.0).abs() < 1e-3 && held.behind.is_none(), "{held:?}");
            assert!((held.radius - 5e-3).abs() < 1e-12 && plane_distance(held.middle, [0.2, 0.1]) < 1e-12);
        }
        // no upright cell is steep enough for a bubble on plates that let nothing go
        assert_eq!(of("contact_angle = 90\ncontact_hysteresis = 120", &one)[0].tilt, None);
    }

    fn plane_distance(a: Point, b: Point) -> f64 {
        crate::base::plane::distance(a, b)
    }

    /// Behind a round post 60 mm across: (1 − (a/(a + R))²) of the flow is left. In front, beside and a diameter further on it is not behind.
    #[test]
    fn a_bubble_behind_a_post_needs_more() {
        let post = "[[obstacle]]\nname = \"post\"\ncircle = { centre = [0.15, 0.1], diameter = 0.06 }\n";
        let with = |centre: Point| of("", &format!("{post}{}", bubble("", centre, 0.01))).remove(0);
        let behind = with([0.186, 0.102]);
        let (name, speed) = behind.behind.clone().unwrap();
        let left = 1.0 - (30.0f64 / 35.0).powi(2);
        assert!(name == "post" && (behind.travel_speed / speed / left - 1.0).abs() < 1e-9, "{speed}");
        for centre in [[0.114, 0.1], [0.15, 0.14], [0.186, 0.135], [0.191, 0.1]] {
            assert_eq!(with(centre).behind, None, "{centre:?}");
        }
        // another bubble is no post
        assert_eq!(
            of("", &format!("{}{}", bubble("", [0.15, 0.1], 0.06), bubble("", [0.186, 0.1], 0.01)))[1].behind,
            None
        );
    }

    /// A wall mirrors what stands on it: half a bubble is as large as a whole one.
    #[test]
    fn a_wall_mirrors_a_bubble() {
        let [half, whole] = ["on_wall = \"lower\"", ""].map(|keys| {
            let y = if keys.is_empty() { 0.1 } else { 0.0 };
            of("", &bubble(keys, [0.2, y], 0.02)).remove(0)
        });
        assert!(
            (half.radius - whole.radius).abs() < 1e-12 && (half.travel_speed / whole.travel_speed - 1.0).abs() < 1e-9
        );
    }
}
