//! The plan without its bubbles, and what holds fluid back in it.

use crate::base::plane;
use crate::geometry::{Plan, Side, Wall};
use std::f64::consts::PI;

fn plan(keys: [&str; 3]) -> Plan {
    let text = format!(
        "[cell]\nlength = 0.4\nwidth = 0.2\ngap = 1e-3\n[fluid]\ndensity = 1000\nviscosity = 1e-3\n[drive]\nmean_speed = 1e-4\n\
         [[obstacle]]\n{}\ncircle = {{ centre = [0.1, 0.1], diameter = 0.04 }}\n\
         [[obstacle]]\n{}\non_wall = \"lower\"\ncircle = {{ centre = [0.2, 0.0], diameter = 0.06 }}\n\
         [[obstacle]]\n{}\npolygon = {{ sides = 6, centre = [0.3, 0.1], width = 0.05 }}\n",
        keys[0], keys[1], keys[2]
    );
    let case = crate::input::case::parse(&text, "case.toml".as_ref()).into_result().unwrap();
    Plan::new(&case, &mut Default::default()).unwrap()
}

/// Areas of a disc of 40 mm, half a disc of 60 mm and a hexagon of 25 mm sides.
#[test]
fn without_its_bubbles_a_plan_has_their_areas_more() {
    let (disc, half, hexagon) = (PI * 0.02 * 0.02, 0.5 * PI * 0.03 * 0.03, 1.5 * 3f64.sqrt() * 0.025 * 0.025);
    let bubble = "bubble = true";
    for (keys, left) in [
        (["", "", ""], disc + half + hexagon),
        ([bubble, "", ""], half + hexagon),
        (["", bubble, ""], disc + hexagon),
        ([bubble, bubble, "bubble = true\nedge = \"solid\""], 0.0),
    ] {
        let whole = plan(keys);
        assert!((whole.area() - (0.08 - disc - half - hexagon)).abs() < 1e-12);
        let without = whole.without_bubbles();
        assert!((without.area() - (0.08 - left)).abs() < 1e-12, "{keys:?} {}", without.area());
        assert!(without.bubbles().next().is_none());
        for range in &without.loops {
            let own = &without.pieces[range.clone()];
            for (a, b) in own.iter().zip(own.iter().skip(1).chain(own.first())) {
                assert!(plane::distance(a.end(), b.start()) < 1e-12, "{keys:?}");
            }
        }
        // sides keep to their obstacles
        let hexagon =
            without.pieces.iter().find(|piece| piece.start()[0] > 0.27 && matches!(piece.side, Side::Obstacle(_)));
        assert!(hexagon.is_none_or(|piece| without.name_of(piece.side) == "\"obstacle 3\""));
    }
    assert_eq!(plan(["", "", ""]).without_bubbles(), plan(["", "", ""]));
}

#[test]
fn what_holds_fluid_back_is_no_end_and_no_free_rim() {
    let plan = plan(["bubble = true", "bubble = true\nedge = \"solid\"", ""]);
    let holds: Vec<bool> = (0..3).map(|k| plan.holds_back(Side::Obstacle(k))).collect();
    assert_eq!(holds, [false, true, true]);
    assert!(plan.holds_back(Side::Wall(Wall::Upper)) && !plan.holds_back(Side::Inlet));
    assert_eq!(plan.bubbles().map(|(k, _)| k).collect::<Vec<_>>(), [0, 1]);
    // the half disc is the widest thing that is no bubble only where it is none
    assert!((plan.reference_length().unwrap() - 0.025 * 3f64.sqrt()).abs() < 1e-12);
}
