//! Numbers at places and along lines, against exact patterns and against the plan.

#[path = "cells/mod.rs"]
mod cells;

use cells::{cell, circle, study};
use std::f64::consts::PI;
use std::sync::Arc;
use twinplate::Point;
use twinplate::base::row::{Value, row_at};
use twinplate::input::case::Ends::{GivenInflow, HeldPressure};
use twinplate::input::case::parse;
use twinplate::study::{Known, Profile, Settings, Study, read};
use twinplate::theory::ideal::Goal;

const RADIUS: f64 = 0.025;
const CENTRE: Point = [1.5, 0.5];

/// A post in a cell of width 1, 40 times its radius, with a line above its shoulder, one on its outline and one a tenth of the radius off it,
/// solved on so many triangles.
fn post(triangles: usize) -> Study {
    let shoulder = format!("from = [1.5, {}]\nto = [1.5, {}]\npoints = 61", 0.5 + RADIUS, 0.5 + 5.0 * RADIUS);
    let off = 0.1 * RADIUS;
    let more = format!(
        "{}name = \"post\"\n[[line]]\nname = \"shoulder\"\n{shoulder}\n[[line]]\nname = \"outline\"\nalong = \"post\"\npoints = 721\n\
         [[line]]\nname = \"beside\"\nalong = \"post\"\ndistance = {off:?}\npoints = 721\n",
        circle(CENTRE, 2.0 * RADIUS)
    );
    let (case, plan) = cell(3.0, 1.0, HeldPressure, &more);
    study(case, plan, triangles, false)
}

/// Largest difference of the values of a line under a key from exact ones, by arc and place, and what the coarser mesh differs.
fn errors(fine: &Profile, coarse: &Profile, key: &str, exact: impl Fn(f64, Point) -> f64) -> [f64; 2] {
    let (fine_values, coarse_values) = (fine.sampled.column(key).unwrap(), coarse.sampled.column(key).unwrap());
    let mut worst = [0.0f64; 2];
    for (k, (value, other)) in fine_values.iter().zip(&coarse_values).enumerate() {
        worst[0] = worst[0].max((value - exact(fine.s[k], fine.points[k])).abs());
        worst[1] = worst[1].max((value - other).abs());
    }
    worst
}

/// Round a post in a wide channel the stream is raised by the images of its dipole, (π²/3)(a/W)² of U. On the shoulder line the whole
/// row of dipoles gives `u/U = 1 + (π a/W)²(1 + raised)/sin²(π y/W)`, near the post 1 + a²/r². Round it
/// `(|V|/U)² = (1 + raised)² ((1 − k)² cos²θ + (1 + k)² sin²θ)`, k = (a/r)², on the outline 2 |sin θ|, so that cp = 1 − 4 sin²θ.
/// What is left is of the square of what is raised, and of the images' change over the distance from the middle, some 10 (r/W)² of what is
/// raised. The mesh: a mesh of a quarter of the triangles has four times the error, so that the difference is three times what is left; places
/// lie between vertices on one of them and not on the other, hence all of it.
#[test]
fn lines_at_a_post_are_those_of_the_exact_pattern() {
    let (coarse, fine) = (post(15_000), post(60_000));
    let raised = PI * PI / 3.0 * RADIUS * RADIUS;
    let line = |study: &Study, k: usize| study.profiles[k].clone();
    let row =
        |_: f64, [_, y]: Point| 1.0 + (PI * RADIUS).powi(2) * (1.0 + raised) / (PI * (y - CENTRE[1])).sin().powi(2);
    let [error, mesh] = errors(&line(&fine, 0), &line(&coarse, 0), "speed_ratio", row);
    println!("shoulder: {error:.2e}, mesh {mesh:.2e}");
    assert!(error < mesh + 2.0 * raised * raised && mesh < 5e-3, "{error} {mesh}");
    for (k, off) in [(1, 0.0), (2, 0.1)] {
        let ratio: f64 = 1.0 / (1.0f64 + off).powi(2);
        let angle = |s: f64| PI - s / RADIUS;
        let square = |s: f64| {
            let t = angle(s);
            (1.0 + raised).powi(2) * (((1.0 - ratio) * t.cos()).powi(2) + ((1.0 + ratio) * t.sin()).powi(2))
        };
        let left = raised * raised + 10.0 * ((1.0 + off) * RADIUS).powi(2) * raised;
        let (own, other) = (line(&fine, k), line(&coarse, k));
        assert!((own.s[720] - 2.0 * PI * RADIUS).abs() < 1e-12 && own.sampled.outside() == 0);
        let at = own.points[180];
        assert!((at[0] - CENTRE[0]).abs() < 1e-9 && (at[1] - CENTRE[1] - (1.0 + off) * RADIUS).abs() < 1e-9, "{at:?}");
        let [error, mesh] = errors(&own, &other, "speed_ratio", |s, _| square(s).sqrt());
        println!("off {off}: {error:.2e}, mesh {mesh:.2e}, left {left:.1e}");
        assert!(error < mesh + left && mesh < 2e-2, "{off}: {error} {mesh}");
        let [error, mesh] = errors(&own, &other, "pressure_coefficient", |s, _| 1.0 - square(s));
        println!("cp {error:.2e}, mesh {mesh:.2e}");
        assert!(error < mesh + 4.0 * left && mesh < 8e-2, "{off}: {error} {mesh}");
        // twice the first order in the distance over the radius, 1 - d/a, from 1 + k
        if off > 0.0 {
            let top = own.sampled.column("speed_ratio").unwrap()[180];
            assert!((top / (2.0 * (1.0 + raised)) - (1.0 - off)).abs() < 1.5 * off * off + mesh + left, "{top}");
        }
    }
    // the report has the extremes at the shoulders and at the ends of the middle line
    let number = |path: &str| row_at(&fine.sections(), path).and_then(|row| row.value.number()).unwrap();
    assert!((number("lines.outline.speed_ratio_max") - 2.0).abs() < 2e-2);
    assert!((number("lines.outline.pressure_coefficient_min") + 3.0).abs() < 8e-2);
    let quarter = 0.5 * PI * RADIUS;
    let shoulder = number("lines.outline.speed_ratio_max_s_m") / quarter;
    assert!((shoulder - 1.0).abs() < 0.05 || (shoulder - 3.0).abs() < 0.05, "{shoulder}");
    let front = number("lines.outline.speed_ratio_min_s_m") / quarter;
    assert!([0.0, 2.0, 4.0].iter().any(|k| (front - k).abs() < 0.05) && number("lines.outline.speed_ratio_min") < 0.05);
}

/// The stream function of a post off the middle line by the images of its dipole in both walls: with m = a² U_c/U, U_c the stream at the post,
/// and x from its middle, `ψ/(U W) = y/W − (π m/2 W²) Σ sin(π (y ± y_c)/W)/(cosh(π x/W) − cos(π (y ± y_c)/W))`, on the post without its own
/// term, `U_c/U = 1 + (m/W²)(π²/12 + π²/(4 sin²(π y_c/W)))`. The mean of a harmonic function over a circle is that of its middle, quadrupoles
/// come with (a/W)⁶, and the inlet, where the inflow is even, mirrors the dipole at twice its distance: e^(-3 π) of 2 π m there.
#[test]
fn flow_between_post_and_wall_is_that_of_the_images() {
    let (a, y) = (0.05f64, 0.3f64);
    let mut m = a * a;
    for _ in 0..20 {
        m = a * a * (1.0 + m * PI * PI * (1.0 / 12.0 + 0.25 / (PI * y).sin().powi(2)));
    }
    let term = |x: f64, height: f64| (PI * height).sin() / ((PI * x).cosh() - (PI * height).cos());
    let below = y - 0.5 * PI * m * term(0.0, 2.0 * y);
    let psi = |at: f64| at - 0.5 * PI * m * (term(1.2, at - y) + term(1.2, at + y));
    let upstream = psi(0.4) - psi(0.2);
    let line = |name: &str, from: [f64; 2], to: [f64; 2]| {
        format!("[[line]]\nname = \"{name}\"\nfrom = {from:?}\nto = {to:?}\n")
    };
    let lines = [
        line("below", [1.5, 0.0], [1.5, y - a]),
        line("into the post", [1.5, 0.0], [1.5, y]),
        line("above", [1.5, y], [1.5, 1.0]),
        line("whole", [1.5, 0.0], [1.5, 1.0]),
        line("back", [0.5, 1.0], [0.4, 0.0]),
        line("in the stream", [0.3, 0.2], [0.3, 0.4]),
    ];
    let more = format!("{}{}", circle([1.5, y], 2.0 * a), lines.concat());
    let (case, plan) = cell(3.0, 1.0, GivenInflow, &more);
    let found = study(case, plan, 20_000, false);
    // Q = U W b
    let q = 1e-3 * 1e-3;
    for (k, exact) in [(0, below), (1, below), (2, 1.0 - below), (5, upstream)] {
        let flow = found.profiles[k].flow.unwrap();
        let Known::About(error) = flow.known else { panic!("{flow:?}") };
        let off = (flow.value / q - exact).abs();
        println!(
            "{}: {:.7} exact {exact:.7}, off {off:.1e}, error {:.1e}",
            found.profiles[k].line.name,
            flow.value / q,
            error / q
        );
        let left = 2.0 * PI * m * (-PI * if k == 5 { 1.8 } else { 3.0f64 }).exp() + 1e-6;
        assert!(off < error / q + left, "{flow:?}");
        // well below what the images change, 2.9e-3
        assert!(error / q < 1.5e-3 && off < 3e-4, "{off} {}", error / q);
    }
    for (k, sign) in [(3, 1.0), (4, -1.0)] {
        let flow = found.profiles[k].flow.unwrap();
        assert!((flow.value / q - sign).abs() < 1e-12, "{flow:?}");
        assert_eq!(flow.known, Known::Within([flow.value; 2]), "the case gives the flow");
    }
    let word = |path: &str| match &row_at(&found.sections(), path).unwrap().value {
        Value::Word(word) => (*word).to_owned(),
        other => panic!("{other:?}"),
    };
    assert!(word("lines.whole.flow_known").contains("bounds") && word("lines.below.flow_known").contains("estimate"));
}

/// Where the case gives the pressure, the flow from wall to wall has the bounds of the bracket.
#[test]
fn bounds_of_the_flow_are_those_of_the_bracket() {
    let text = cells::text_of_gap(1.0, 0.5, "0.001", HeldPressure, &circle([0.5, 0.25], 0.2))
        .replace("mean_speed = 0.001", "pressure_drop = 2.0")
        + "[[line]]\nfrom = [0.5, 0.0]\nto = [0.5, 0.5]\n";
    let case = parse(&text, "case.toml".as_ref()).into_result().unwrap();
    let plan = twinplate::geometry::Plan::new(&case, &mut Default::default()).unwrap();
    let found = study(case, Arc::new(plan), 2000, false);
    let flow = found.profiles[0].flow.unwrap();
    let Known::Within(bounds) = flow.known else { panic!("{flow:?}") };
    // Q = S K dp, K = b³/(12 mu)
    let shape = &found.pattern.shape_factor;
    for (bound, exact) in bounds.iter().zip([shape.lower, shape.upper]) {
        assert!((bound / (exact * 1e-9 / 12e-3 * 2.0) - 1.0).abs() < 1e-12, "{flow:?}");
    }
    assert!(bounds[0] < flow.value && flow.value < bounds[1]);
    // the post stands in the way of the line
    assert!((60..140).contains(&found.profiles[0].sampled.outside()));
    assert!(found.warnings().iter().any(|warning| warning.code.key() == "line_cut_by_solid"));
}

fn demo(name: &str, triangles: usize) -> Study {
    let (case, plan) = read(format!("meshes/{name}.toml").as_ref()).unwrap();
    let settings = Settings { goal: Some(Goal::Triangles(triangles)), inertia: true, edge_layer: true };
    Study::solve(case, plan, settings, &|_| {}).unwrap()
}

/// Values at the probes are those of the report, to rounding: triangles that share a side may serve one or the other.
#[test]
fn values_at_probes_are_those_of_the_report() {
    let study = demo("keel_section", 4000);
    let at: Vec<Point> = study.case.probes.iter().map(|probe| probe.at).collect();
    let sampled = study.sampler().sample(&at);
    let sections = study.sections();
    for (k, probe) in study.case.probes.iter().enumerate() {
        let row = sampled.row(k).unwrap();
        for (key, value) in sampled.keys.iter().zip(row) {
            let (part, own) = match *key {
                "pressure_coefficient" => continue,
                "inertia_pressure_pa" => ("inertia.", "pressure_pa"),
                "edge_layer_speed_ratio" => ("edge_layer.", "speed_ratio"),
                "edge_layer_angle_deg" => ("edge_layer.", "angle_deg"),
                key if key.starts_with("m") || key.starts_with("near") => ("inertia.", key),
                key => ("", key),
            };
            let path = format!("{part}probes.{}.{own}", probe.name);
            let exact = row_at(&sections, &path).and_then(|row| row.value.number()).unwrap_or_else(|| panic!("{path}"));
            assert!((value - exact).abs() <= 1e-9 * exact.abs(), "{path}: {value} {exact}");
        }
        let ratio = row[3];
        assert!((row[5] - (1.0 - ratio * ratio)).abs() < 1e-14);
    }
}

/// Places nearer and nearer to the outlines of a seal, on either side, on a coarse mesh: what the plan says of each, though the chords of hollow
/// parts cut off fluid and those of round ones let solid in.
#[test]
fn places_beside_curved_edges_are_judged_by_the_outline() {
    let study = demo("seal", 1500);
    let way = study.plan.way_along(0).unwrap();
    let mut points = Vec::new();
    for k in 0..400 {
        let (at, into) = way.at((f64::from(k) + 0.37) / 400.0 * way.length());
        for off in [1e-3, 1e-4, 1e-5, 1e-6] {
            points.extend([off, -off].map(|off| [0, 1].map(|i| at[i] + off * into[i])));
        }
    }
    let sampled = study.sampler().sample(&points);
    let edge = study.case.cell.edge();
    let mut counts = [[0; 2]; 2];
    for (point, place) in points.iter().zip(&sampled.places) {
        let is_fluid = study.plan.holds(*point, edge);
        counts[usize::from(is_fluid)][usize::from(place.is_some())] += 1;
    }
    println!("{counts:?}");
    assert_eq!([counts[0][1], counts[1][0]], [0, 0], "{counts:?}");
    // the chords alone say otherwise of both kinds
    let locator = study.solved.space.locator();
    let by_chords = |point: &Point| locator.find(*point, None).is_some();
    let wrong =
        |fluid: bool| points.iter().filter(|p| study.plan.contains(**p) == fluid && by_chords(p) != fluid).count();
    assert!(wrong(true) > 5 && wrong(false) > 5, "{} {}", wrong(true), wrong(false));
}

/// The same values for one thread and for three; in another order the same to rounding.
#[test]
fn values_depend_neither_on_threads_nor_on_the_order() {
    let study = demo("two_piers", 3000);
    let part = |k: u64, seed: u64| ((k * seed) % 10_007) as f64 / 10_007.0;
    let points: Vec<Point> =
        (0..20_000).map(|k| [0.42 * part(k, 7919) - 0.01, 0.22 * part(k, 104_729) - 0.01]).collect();
    let on = |threads: usize, points: &[Point]| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| study.sampler().sample(points))
    };
    let (one, three) = (on(1, &points), on(3, &points));
    for k in 0..points.len() {
        assert_eq!(one.row(k).map(|row| row.to_vec()), three.row(k).map(|row| row.to_vec()));
    }
    let turned: Vec<Point> = points.iter().rev().copied().collect();
    let back = on(2, &turned);
    let last = points.len() - 1;
    for k in 0..points.len() {
        let (a, b) = (one.row(k), back.row(last - k));
        assert_eq!(a.is_some(), b.is_some());
        for (x, y) in a.into_iter().flatten().zip(b.into_iter().flatten()) {
            assert!((x - y).abs() <= 1e-9 * x.abs().max(1e-6), "{x} {y}");
        }
    }
    assert!(one.outside() > 1000 && one.outside() < 10_000);
    // what is no place is in no fluid
    let none = study.sampler().sample(&[[f64::NAN, 0.1], [f64::INFINITY, 0.1], [0.1, -1e300]]);
    assert_eq!(none.outside(), 3);
    assert_eq!(study.sampler().sample(&[]).places.len(), 0);
}
