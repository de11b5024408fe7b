//! Bubbles in the budget: measured as their dipole, the same at every speed, with both rims.

use crate::given::Given;
use std::sync::Arc;
use twinplate::geometry::Plan;
use twinplate::input::case::parse;
use twinplate::study::{Budget, Settings, Study};
use twinplate::theory::departure::{Contribution, Effect, Measures, Scale, View, Way};
use twinplate::theory::edge_layer::DISPLACEMENT;
use twinplate::theory::ideal::Goal;

fn solve(more: &str, triangles: usize) -> (Study, Budget) {
    let text = format!(
        "[cell]\nlength = 2\nwidth = 2\ngap = 0.005\n[fluid]\ndensity = 1000\nviscosity = 1e-3\n[drive]\nmean_speed = 1e-3\n\
         [sweep]\nreduced_reynolds = [1e-4, 1e-2]\n{more}"
    );
    let case = parse(&text, "case.toml".as_ref()).into_result().unwrap_or_else(|e| panic!("{e}"));
    let plan = Arc::new(Plan::new(&case, &mut Default::default()).unwrap());
    let settings = Settings { goal: Some(Goal::Triangles(triangles)), inertia: true, edge_layer: true };
    let study = Study::solve(case, plan, settings, &|_| {}).unwrap();
    let budget = study.budget(&|_| {}).unwrap();
    (study, budget)
}

fn lone(keys: &str) -> String {
    format!("[[obstacle]]\n{keys}\ncircle = {{ centre = [1, 1], diameter = 0.1 }}\n")
}

fn at(budget: &Budget, effect: Effect) -> (&Contribution, &Measures) {
    let k = budget.contributions.iter().position(|c| c.effect == effect).unwrap();
    (&budget.contributions[k], &budget.at_height[k])
}

/// Beside it and before it the whole speed U is changed: from U to 2 U, and to rest. Images at the walls make 0.1 % of that; the rim itself is
/// observed, where the mesh is off by a few per cent. Over the whole region the mean square of the change (the mean of
/// `(|1 − z^-2| − 1)²` over r > a, z = r e^it/a) is summed in rings: 0.5 to order r^-4, a² 0.58 π/A in all.
#[test]
fn a_lone_bubble_is_measured_as_its_dipole() {
    let (study, budget) = solve(&lone("bubble = true"), 30_000);
    let (bubble, measures) = at(&budget, Effect::Bubble);
    assert!((measures.speed.largest - 1.0).abs() < 0.05, "{}", measures.speed.largest);
    let [dx, dy] = [measures.speed.largest_at[0] - 1.0, measures.speed.largest_at[1] - 1.0];
    assert!((dx.hypot(dy) - 0.05).abs() < 0.005, "{dx} {dy}");
    let (rings, turns) = (4000, 720);
    let mut mean = 0.0;
    for i in 0..rings {
        let r = 1.0 + 19.0 * (i as f64 + 0.5) / rings as f64;
        for k in 0..turns {
            let t = std::f64::consts::TAU * (k as f64 + 0.5) / turns as f64;
            let (c, s) = ((2.0 * t).cos() / (r * r), (2.0 * t).sin() / (r * r));
            let change = (1.0 - c).hypot(s) - 1.0;
            mean += change * change * r * (19.0 / rings as f64) * std::f64::consts::TAU / turns as f64;
        }
    }
    // walls leave out a band of three gaps on either side; the far field beyond twenty radii is a thousandth
    let area = 2.0 * (2.0 - 6.0 * 0.005) - std::f64::consts::PI * 0.05 * 0.05;
    let exact = (mean * 0.05 * 0.05 / area).sqrt();
    assert!((measures.speed.rms / exact - 1.0).abs() < 0.03, "{} {exact}", measures.speed.rms);
    assert!(bubble.numerical_error < measures.speed.rms, "{}", bubble.numerical_error);
    // it is no effect of the flow: the same at every speed, and part of both sums
    assert_eq!(budget.way(), Way::Back);
    for row in &budget.sweep {
        let (_, swept) = row.effects.iter().find(|(effect, _)| *effect == Effect::Bubble).unwrap();
        assert_eq!(swept, measures);
        assert!(row.cell_alone.speed.rms > 0.99 * measures.speed.rms && row.total.speed.rms > 0.9 * measures.speed.rms);
    }
    assert_eq!(budget.verdict.dominant, Some(Effect::Bubble));
    // what is observed has the bubble already: beside its rim twice the mean speed, not three times
    let observed = budget.observed(Scale::ONE);
    let fastest = observed.iter().map(|v| v[0].hypot(v[1]) / 1e-3).fold(0.0, f64::max);
    assert!((fastest - 2.0).abs() < 0.1, "{fastest}");
    // without edges of solids but the side walls the edge layer is that of an empty cell: the core is faster by 2 δ*/W far from the bubble
    let (_, layer) = at(&budget, Effect::EdgeLayer);
    let core = 2.0 * DISPLACEMENT * 0.005 / 2.0;
    assert!(layer.speed.largest < 3.0 * core, "{} {core}", layer.speed.largest);
    // near its rim the model holds as anywhere: within three gaps of solid edges are only places along the walls
    let points = &study.solved.space.mesh.points;
    for (mark, corners) in study.validity().iter().zip(&study.solved.space.mesh.triangles) {
        let near_wall = corners.iter().any(|&v| (points[v as usize][1] - 1.0).abs() > 1.0 - 3.0 * 0.005);
        assert_eq!(*mark == 1, near_wall && *mark != 2, "{mark} {corners:?}");
    }
}

/// The two ends of the band do not depend on which of them the case has, and differ by what the edge layer differs by: that of a post, whose
/// dipole is `2 a δ*/r²`, 2 δ*/a at its rim.
#[test]
fn both_rims_are_told() {
    let [(_, free), (_, stiff)] =
        ["free", "solid"].map(|edge| solve(&lone(&format!("bubble = true\nedge = \"{edge}\"")), 8_000));
    let (f, s) = (free.bubbles.as_ref().unwrap(), stiff.bubbles.as_ref().unwrap());
    // a stiff rim has an edge band of its own, so that the regions differ; the fields do not
    let field = |budget: &Budget, effect: Effect| at(budget, effect).0.departure(Scale::ONE, View::GapMean);
    assert_eq!(field(&free, Effect::Bubble), field(&stiff, Effect::Bubble));
    let exact = 2.0 * DISPLACEMENT * 0.005 / 0.05;
    assert!((f.band.speed.largest / exact - 1.0).abs() < 0.1, "{} {exact}", f.band.speed.largest);
    assert!(f.solid.speed.rms > 1.03 * f.free.speed.rms && s.solid.speed.rms > 1.03 * s.free.speed.rms);
    let layers = [&free, &stiff].map(|budget| field(budget, Effect::EdgeLayer));
    let most = layers[0].iter().zip(&layers[1]).map(|(a, b)| (a[0] - b[0]).hypot(a[1] - b[1])).fold(0.0, f64::max);
    assert!((most / 1e-3 / exact - 1.0).abs() < 0.1, "{most}");
    let text = f.section(&Default::default());
    assert!(text.row("text").is_some() && text.number("rims.solid.speed_rms").is_some(), "{text:?}");
}

/// A post is a post: no bubble in its budget, and the numbers are those of before.
#[test]
fn without_bubbles_there_is_no_such_contribution() {
    let (_, budget) = solve(&lone(""), 4_000);
    assert!(budget.bubbles.is_none() && budget.way() == Way::Forth);
    assert!(budget.contributions.iter().all(|c| c.effect != Effect::Bubble));
}

/// From V back by ΔV and forth by it: with V = 2 and ΔV = 1 along x and across it.
#[test]
fn a_bubble_is_measured_back() {
    let given = Given::uniform(0.2, 0.0);
    let [bubble, gap] = [Effect::Bubble, Effect::Gap].map(|effect| given.effect(effect, &[([0.5, 0.3], 0, 0)]));
    let measured = |c: &Contribution| given.reference().measure_together([c], Scale::ONE, View::AtHeight);
    let [back, forth] = [&bubble, &gap].map(|c| measured(c).speed.largest);
    assert!((back - (1.0 - 0.5f64.hypot(0.3))).abs() < 1e-12, "{back}");
    assert!((forth - (1.5f64.hypot(0.3) - 1.0)).abs() < 1e-12, "{forth}");
    let both = given.reference().measure_together([&bubble, &gap], Scale::ONE, View::AtHeight);
    assert!((both.speed.largest - (1.0 - 0.6)).abs() < 1e-12, "{}", both.speed.largest);
    let changes = [Way::Back, Way::Forth].map(|way| way.speed_change([1.0, 0.0], [0.5, 0.3]));
    assert!((changes[0] - back).abs() < 1e-12 && (changes[1] - forth).abs() < 1e-12, "{changes:?}");
}

/// The speed there is that of the pattern without it, and scales what lets it go: behind a post, on its axis, `1 − (a/(a + R + c))²`.
#[test]
fn the_speed_at_its_place_is_that_without_it() {
    let more = "[[obstacle]]\ncircle = { centre = [0.8, 1], diameter = 0.2 }\n[[obstacle]]\nname = \"air\"\nbubble = true\n\
                circle = { centre = [0.925, 1], diameter = 0.04 }\n";
    let (_, budget) = solve(more, 8_000);
    let (held, there) = &budget.bubbles.as_ref().unwrap().places[0];
    let exact = 1.0 - (0.1f64 / 0.125).powi(2);
    // the walls narrow the way by (π²/3)(a/W)² = 0.8 %, the mesh is off by a per cent
    assert!((there.unwrap() / exact - 1.0).abs() < 0.03, "{there:?} {exact}");
    assert_eq!((held.name.as_str(), held.behind.as_ref().map(|b| b.0.as_str())), ("air", Some("obstacle 1")));
}
