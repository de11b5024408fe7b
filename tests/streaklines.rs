//! Streaklines against exact paths: the integrator, where lines start, where they end, how they drift.

#[path = "cells/mod.rs"]
mod cells;

use cells::{cell, cell_of_gap, circle, ladder, study};
use twinplate::Point;
use twinplate::input::case::Ends::{GivenInflow, HeldPressure};
use twinplate::input::case::{Seeding, StreaklineSettings};
use twinplate::study::Study;
use twinplate::theory::ideal::interpolate;
use twinplate::theory::streaklines::{Ending, LayerField, Seed, follow, seeds, streaklines_at_heights};

const WIDTH: f64 = 0.4;

/// A post of 0.1 m midway in a channel of 0.6 m by 0.4 m, U = 1 mm/s.
fn post(gap: &str, triangles: usize, inertia: bool) -> Study {
    let (case, plan) = cell_of_gap(0.6, WIDTH, gap, GivenInflow, &circle([0.3, 0.2], 0.1));
    study(case, plan, triangles, inertia)
}

/// V = U (1 + k x, -k (y - 1/2)) is linear, so that fields on triangles are exact and what is left is the error of the integrator: with
/// z = 1.5 U k dt, at most z^5/120 a step by Taylor's series of exp z. Steps cover 0.4 of the root of a triangle's area, z is below
/// 0.4 k sqrt(A), and fewer than 2 ln(1 + k)/z of them are made. On the way ln(1 + k x) = 1.5 U k t and (y - 1/2)(1 + k x) stays; the last
/// point lies on a straight step across the outlet.
#[test]
fn lines_follow_an_exact_path_to_fourth_order() {
    let (speed, k) = (1e-3, 2.0);
    let (case, plan) = cell(1.0, 1.0, HeldPressure, "");
    let grid = ladder(&case, &plan, 400, 1).remove(0);
    let mean = grid.space.mesh.points.iter().map(|p| [speed * (1.0 + k * p[0]), -speed * k * (p[1] - 0.5)]).collect();
    let field = LayerField { mean, layers: None, level: None, speed, edge_distance: None };
    let line = follow(&grid.space, &field, &Seed { at: [0.0, 0.8], stream_function: 0.0 }, 0.0);
    assert_eq!(line.ending, Ending::Outlet);
    let largest = (0..grid.space.mesh.triangles.len()).map(|t| grid.space.area(t)).fold(0.0, f64::max);
    let z = 0.4 * k * largest.sqrt();
    let allowed = z.powi(5) / 120.0 * 2.0 * (1.0 + k).ln() / z;
    let mut worst = [0.0f64; 2];
    for (p, t) in line.points.iter().zip(&line.times).take(line.points.len() - 1) {
        let stretched = 1.0 + k * p[0];
        worst[0] = worst[0].max((stretched.ln() - 1.5 * speed * k * t).abs());
        worst[1] = worst[1].max(((p[1] - 0.5) * stretched / 0.3 - 1.0).abs());
    }
    println!("off {:.1e} {:.1e}, allowed {allowed:.1e}", worst[0], worst[1]);
    assert!(line.points.len() > 10 && worst[0] < allowed && worst[1] < 2.0 * allowed, "{worst:?} {allowed:e}");
    assert!(allowed < 1e-5);
}

/// The place on the inlet where the stream function has a value.
fn seed_of(study: &Study, level: f64) -> Seed {
    let space = &study.solved.space;
    let at = |y: f64| {
        let (t, w) = space.locator().find([0.0, y], None).unwrap();
        interpolate(space, t, w, &study.pattern.stream_function)
    };
    let (mut low, mut high) = (0.0, WIDTH);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if at(middle) < level { low = middle } else { high = middle }
    }
    Seed { at: [0.0, low], stream_function: level }
}

/// Next to the line that divides at the post, with a part f of the flow between, the least speed is that of V = k (x, -y), k = 2U/a, where
/// x y = f W U/k: U sqrt(4 f W/a), an eighth of U for f = 5e-4. That is slow, but not at rest.
#[test]
fn lines_go_on_past_a_stagnation_point() {
    let study = post("0.001", 6_000, false);
    let (space, flow) = (&study.solved.space, study.pattern.drive.flow_rate);
    let on_post = space.vertices_where(|side| side == twinplate::geometry::Side::Obstacle(0))[0];
    let level = study.pattern.stream_function[on_post as usize];
    let field = LayerField::new(space, &study.pattern, None);
    for part in [-1e-2, -5e-4, 5e-4, 1e-2] {
        let line = follow(space, &field, &seed_of(&study, level + part * flow), 0.0);
        assert_eq!(line.ending, Ending::Outlet, "{part}");
        let slowest = line.speeds.iter().fold(f64::INFINITY, |a: f64, &b| a.min(b));
        let local = 1.5e-3 * (4.0 * part.abs() * WIDTH / 0.05).sqrt();
        println!("{part}: slowest {slowest:.3e}, near the point alone {local:.3e}");
        assert!(slowest < 1.2 * local, "{part}: {slowest} {local}");
    }
}

/// Dye stops where nothing moves, and only there: at a hundred-thousandth of the mean speed of its layer, not at ten times that.
#[test]
fn dye_stops_in_dead_water() {
    let (case, plan) = cell(1.0, 1.0, HeldPressure, "");
    let grid = ladder(&case, &plan, 400, 1).remove(0);
    let ended = |speed_at: &dyn Fn(f64) -> f64, zeta: f64| {
        let mean = grid.space.mesh.points.iter().map(|p| [1e-3 * speed_at(p[0]), 0.0]).collect();
        let field = LayerField { mean, layers: None, level: None, speed: 1e-3, edge_distance: None };
        let line = follow(&grid.space, &field, &Seed { at: [0.0, 0.5], stream_function: 0.0 }, zeta);
        (line.ending, line.points.last().unwrap()[0])
    };
    for zeta in [0.0, 0.9] {
        assert_eq!(ended(&|_| 1e-4, zeta), (Ending::Outlet, 1.0));
        assert_eq!(ended(&|_| 5e-6, zeta), (Ending::Stagnation, 0.0));
        let (ending, at) = ended(&|x| if x < 0.5 { 1.0 } else { 0.0 }, zeta);
        let edge = (2.0 * 1.0 / grid.space.mesh.triangles.len() as f64).sqrt();
        assert!(ending == Ending::Stagnation && (at - 0.5).abs() < 3.0 * edge, "{at}");
    }
}

/// Lines stand so far apart, as much left over at one wall as at the other; lines of equal flux stand where psi says, here Q y/W.
#[test]
fn lines_start_evenly() {
    let (case, plan) = cell(0.6, WIDTH, GivenInflow, "");
    let study = study(case, plan, 1_000, false);
    let flow = study.pattern.drive.flow_rate;
    for (seeding, exact) in [
        (Seeding::Spacing(0.1), vec![0.05, 0.15, 0.25, 0.35]),
        (Seeding::Spacing(0.15), vec![0.125, 0.275]),
        (Seeding::Spacing(0.5), vec![0.2]),
        (Seeding::Count(4), vec![0.05, 0.15, 0.25, 0.35]),
        (Seeding::Count(1), vec![0.2]),
    ] {
        let found = seeds(&study.solved.space, &study.pattern.stream_function, seeding);
        assert_eq!(found.len(), exact.len(), "{seeding:?}");
        for (seed, y) in found.iter().zip(exact) {
            assert!(seed.at[0] == 0.0 && (seed.at[1] - y).abs() < 1e-9, "{seeding:?}: {seed:?} for {y}");
            assert!((seed.stream_function / flow - y / WIDTH).abs() < 1e-9, "{seeding:?}: {seed:?}");
        }
    }
}

/// With a uniform gap w = -(b/2)(b^2/(4 nu)) G |grad V|^2, and G is negative above mid-gap: whatever passes the post comes nearer to its
/// plate, never back, and what runs at mid-gap stays. Far from the post next to nothing happens.
#[test]
fn dye_drifts_to_the_plate_on_its_side() {
    let study = post("0.005", 3_000, true);
    let settings = StreaklineSettings { seeding: Seeding::Count(8), height: 0.0 };
    let heights = [0.3, -0.3, 0.0];
    let inertia = study.inertia.as_ref();
    let lines = streaklines_at_heights(&study.solved.space, &study.pattern, inertia, &settings, &heights);
    let risen = |k: usize| {
        let sign = heights[k / 8].signum();
        let steps: Vec<f64> = lines[k].heights.windows(2).map(|h| sign * (h[1] - h[0])).collect();
        assert!(steps.iter().all(|&step| step >= 0.0), "line {k} goes back");
        steps.iter().sum::<f64>()
    };
    for (near, far) in [(3, 0), (4, 7), (11, 8), (12, 15)] {
        println!("line {near} {:.2e}, line {far} {:.2e}", risen(near), risen(far));
        assert!(risen(near) > 1e-3 && risen(near) > 5.0 * risen(far));
    }
    assert!(lines[16..].iter().all(|line| line.heights.iter().all(|&zeta| zeta == 0.0)));
    let ends: Vec<Point> = lines.iter().map(|line| *line.points.last().unwrap()).collect();
    assert!(ends.iter().all(|p| (p[0] - 0.6).abs() < 1e-9));
}
