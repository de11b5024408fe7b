//! Mistakes of outlines and probes, each with its names and places; and speed.

use crate::*;
use std::f64::consts::PI;

#[test]
fn outlines_that_cross_are_named() {
    let (message, at) = only_mistake(free(vec![circle(0.5, 0.5, 0.4), circle(0.8, 0.5, 0.4)]));
    assert_eq!(at, 1);
    assert_says(&message, &["pier 0", "pier 1", "cross", "(0.65 m, "]);
    // Twice the same outline; tangent outlines; a shared edge.
    for second in [circle(0.5, 0.5, 0.4), circle(0.9, 0.5, 0.4), rectangle([0.7, 0.9], [0.4, 0.6])] {
        let (message, _) = only_mistake(free(vec![circle(0.5, 0.5, 0.4), second]));
        assert_says(&message, &["pier 0", "pier 1"]);
    }
    let shared = free(vec![rectangle([0.3, 0.6], [0.3, 0.6]), rectangle([0.6, 0.9], [0.3, 0.6])]);
    assert_says(&only_mistake(shared).0, &["meet near"]);
}

#[test]
fn narrow_passages_are_errors_below_the_stated_limit() {
    let pair = |gap: f64| free(vec![circle(0.5, 0.5, 0.4), circle(0.9 + gap, 0.5, 0.4)]);
    assert_says(
        &only_mistake(pair(0.9e-6)).0,
        &["passage", "pier 0", "pier 1", "9.000e-4 mm", "(0.7 m", "1.000e-3 mm"],
    );
    assert!(pair(1.1e-6).is_ok());
    let at_wall = |gap: f64| free(vec![circle(0.5, 0.2 + gap, 0.4)]);
    assert_says(&only_mistake(at_wall(0.9e-6)).0, &["passage", "pier 0", "lower wall"]);
    assert!(at_wall(1.1e-6).is_ok());
}

#[test]
fn nested_and_self_crossing_outlines_are_named() {
    let (message, at) = only_mistake(free(vec![circle(0.5, 0.5, 0.8), circle(0.4, 0.5, 0.2)]));
    assert_eq!(at, 1);
    assert_says(&message, &["\"pier 1\" stands inside \"pier 0\"", " m, "]);
    let bow_tie = polygon(&[[0.3, 0.3], [0.8, 0.7], [0.8, 0.3], [0.3, 0.6]]);
    assert_says(&only_mistake(free(vec![bow_tie])).0, &["crosses itself near (0.51429 m, 0.47143 m)", "pier 0"]);
    let pinched = polygon(&[[0.3, 0.3], [0.8, 0.3], [0.8, 0.6], [0.5, 0.3], [0.3, 0.6]]);
    assert_says(&only_mistake(free(vec![pinched])).0, &["itself near (0.5 m, 0.3 m)"]);
    let spike = polygon(&[[0.3, 0.3], [0.8, 0.3], [0.8, 0.6], [0.8, 0.9], [0.8, 0.6], [0.3, 0.6]]);
    assert_says(&only_mistake(free(vec![spike])).0, &["itself"]);
    let points = vec![[0.3, 0.3], [0.8, 0.7], [0.8, 0.3], [0.3, 0.6]];
    let knot = Shape::OutlinePoints { points, smooth: true };
    assert_says(&only_mistake(free(vec![knot])).0, &["itself"]);
}

#[test]
fn shapes_without_area_or_points_are_named() {
    let flat = polygon(&[[0.3, 0.3], [0.5, 0.3], [0.8, 0.3]]);
    assert_says(&only_mistake(free(vec![flat])).0, &["no area"]);
    for points in [vec![], vec![[0.3, 0.3]], vec![[0.3, 0.3], [0.5, 0.3], [0.3, 0.3], [0.5, 0.3]]] {
        assert_says(&only_mistake(free(vec![polygon(&points)])).0, &["three distinct points"]);
    }
    assert_says(&only_mistake(free(vec![circle(0.5, 0.5, 0.0)])).0, &["diameter"]);
    assert_says(&only_mistake(free(vec![circle(f64::NAN, 0.5, 0.1)])).0, &["finite"]);
    assert_says(&only_mistake(free(vec![circle(0.5, 0.5, 1e-9)])).0, &["smallest size"]);
    let impossible = Shape::Joukowski { chord: 0.5, thickness: 0.95, camber: 0.0, nose: [0.5, 0.5], angle: 0.0 };
    assert_says(&only_mistake(free(vec![impossible])).0, &["no Joukowski section"]);
    for huge in [1e200, 1e308] {
        assert!(free(vec![circle(0.5, 0.5, huge)]).is_err());
        assert!(free(vec![polygon(&[[-huge, 0.5], [huge, 0.4], [huge, 0.6]])]).is_err());
        assert!(
            free(vec![Shape::OutlinePoints { points: vec![[-huge, 0.5], [huge, 0.4], [0.3, huge]], smooth: true }])
                .is_err()
        );
    }
}

#[test]
fn probes_must_lie_in_the_fluid() {
    let mut case = case(2.0, 1.0, vec![(circle(0.6, 0.45, 0.28), None)]);
    let probe = |at, k: usize| Probe { name: format!("probe {k}"), at, place: 100 * k..100 * k + 1 };
    // In the fluid, on the post to rounding, on the walls and ends.
    case.probes = [[0.3, 0.5], [0.6, 0.59], [0.46, 0.45], [0.0, 0.3], [2.0, 1.0]].map(|at| probe(at, 1)).to_vec();
    assert!(plan_of(&case).is_ok());
    case.probes = vec![probe([0.6, 0.58], 1), probe([0.5, 1.01], 2), probe([f64::NAN, 0.5], 3)];
    let problems = plan_of(&case).expect_err("no error");
    assert_eq!(problems.list.len(), 3);
    assert_says(&problems.list[0].message, &["probe 1", "inside \"pier 0\"", "(0.6 m, 0.58 m)"]);
    assert_eq!(problems.list[0].span, Some(100..101));
    assert_says(&problems.list[1].message, &["probe 2", "outside the cell"]);
}

#[test]
fn all_mistakes_are_reported_together() {
    let problems =
        free(vec![circle(0.5, 0.1, 0.4), circle(1.0, 0.5, -1.0), circle(1.5, 0.5, 0.2), circle(1.6, 0.5, 0.2)]);
    assert_eq!(problems.expect_err("no error").list.len(), 3);
}

#[test]
fn many_obstacles_and_points_are_accepted() {
    let posts = (0..200).map(|k| (circle(0.05 + 0.1 * f64::from(k % 20), 0.05 + 0.1 * f64::from(k / 20), 0.09), None));
    let plan = plan(posts.collect()).expect("a plan");
    approx::assert_abs_diff_eq!(plan.area(), 2.0 - 200.0 * PI * 0.045 * 0.045, epsilon = 1e-12);
    let n = 100_000;
    let ring: Vec<Point> = (0..n)
        .map(|k| 2.0 * PI * f64::from(k) / f64::from(n))
        .map(|a| (a, 0.3 + 0.05 * (40.0 * a).sin()))
        .map(|(a, r)| [1.0 + r * a.cos(), 0.5 + r * a.sin()])
        .collect();
    for smooth in [false, true] {
        assert!(free(vec![Shape::OutlinePoints { points: ring.clone(), smooth }]).is_ok());
    }
}

/// A scribble of long chords crosses itself some n^2/3 times; finding one crossing must not mean finding all.
#[test]
fn scribbles_are_refused_at_the_first_crossing() {
    let at = |k: u32, p: u32| f64::from(k.wrapping_mul(p) % 65_521) / 65_521.0;
    let points: Vec<Point> = (1..50_000).map(|k| [0.2 + at(k, 48_271), 0.1 + 0.8 * at(k, 40_014)]).collect();
    assert_says(&only_mistake(free(vec![polygon(&points)])).0, &["itself"]);
}

/// n outlines on one another make n^2 pairs: no more than a thousand mistakes are looked for.
#[test]
fn many_obstacles_on_one_another_are_soon_refused() {
    for step in [0.0, 1e-6, 1e-5] {
        // the same circle, rings that cross, and rings inside one another
        for (along, shrink) in [(1.0, 0.0), (0.0, 1.0)] {
            let ring = |k: u32| circle(0.6 + along * step * f64::from(k), 0.5, 0.3 - shrink * step * f64::from(k));
            let problems = free((0..10_000).map(ring).collect()).unwrap_err();
            assert_eq!(
                problems.list.len(),
                1000,
                "{step} {along} {:?}",
                problems.list.iter().take(3).collect::<Vec<_>>()
            );
            let told = problems.list.iter().filter(|problem| problem.span.is_none());
            let told: Vec<&str> = told.map(|problem| problem.message.as_str()).collect();
            assert_eq!(told, ["999 obstacles that meet one another were found, and no more were looked for"]);
        }
    }
}
