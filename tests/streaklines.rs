//! Streaklines against exact paths: the integrator, where lines start, where they end, how they drift.

#[path = "cells/mod.rs"]
mod cells;

use cells::{cell, cell_of_gap, circle, ladder, study};
use twinplate::Point;
use twinplate::input::case::Ends::{GivenInflow, HeldPressure};
use twinplate::input::case::{Seeding, Starts};
use twinplate::report::dye::WrittenLines;
use twinplate::report::vtk::Fields;
use twinplate::study::{Settings, Study};
use twinplate::theory::ideal::{Goal, interpolate};
use twinplate::theory::streaklines::{
    Dye, Ending, FIRST_ORDER, LayerField, NearEdges, PART, Seed, Streakline, TOLERANCE, follow, seeds,
};

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

/// The line that divides at the post has its stream function, and ends on its front, whichever the mesh and however it falls there; so does
/// one that starts within the tolerance of it. The front is found to the size h of the triangles there. What lies off it by more than V h,
/// V = 2 U h/a the speed a triangle away from the point, goes on.
#[test]
fn the_dividing_line_ends_at_rest_on_every_mesh() {
    for triangles in [400, 1_000, 2_500, 6_000, 15_000] {
        let study = post("0.001", triangles, false);
        let (space, flow) = (&study.solved.space, study.pattern.drive.flow_rate);
        let on_post = space.vertices_where(|side| side == twinplate::geometry::Side::Obstacle(0));
        let level = study.pattern.stream_function[on_post[0] as usize];
        let field = LayerField::new(space, &study.pattern, None);
        let share = TOLERANCE * 0.6 / WIDTH * flow;
        let square = 2.0 * 0.6 * WIDTH / triangles as f64;
        let beyond = 2.0 / 0.05 * square / (TOLERANCE * 0.6);
        for (off, ending) in [
            (0.0, Ending::Stagnation),
            (0.9, Ending::Stagnation),
            (-0.9, Ending::Stagnation),
            (beyond, Ending::Outlet),
            (-beyond, Ending::Outlet),
        ] {
            let line = follow(space, &field, &seed_of(&study, level + off * share), 0.0);
            assert_eq!(line.ending, ending, "{triangles} {off}");
            if ending == Ending::Stagnation {
                let [x, y] = *line.points.last().unwrap();
                let away = on_post.iter().map(|&v| {
                    let p = space.mesh.points[v as usize];
                    (p[0] - x).hypot(p[1] - y)
                });
                assert!(x < 0.26 && away.fold(f64::INFINITY, f64::min) < square.sqrt(), "{triangles} {off}: {x} {y}");
            }
        }
    }
}

/// A seal's outline with a fin and a forked tail, its tips of some 30 degrees, at a reduced Reynolds number.
fn silhouette(reduced: f64, inertia: bool) -> Study {
    let text = format!(
        "[cell]\nlength = 0.4\nwidth = 0.2\ngap = 8e-4\n[fluid]\ndensity = 1000\nviscosity = 1e-3\n[drive]\n\
         reduced_reynolds = {reduced}\n[[obstacle]]\npolygon = {{ points = [[0.14, 0.1], [0.15, 0.112], [0.175, 0.12], [0.195, 0.121], \
         [0.215, 0.138], [0.212, 0.119], [0.24, 0.108], [0.258, 0.103], [0.285, 0.118], [0.272, 0.1], [0.284, 0.084], [0.258, 0.097], \
         [0.235, 0.09], [0.2, 0.082], [0.165, 0.084], [0.147, 0.091]] }}\n"
    );
    let case = twinplate::input::case::parse(&text, "case.toml".as_ref()).into_result().unwrap();
    let plan = twinplate::geometry::Plan::new(&case, &mut Default::default()).unwrap();
    let settings = Settings { goal: Some(Goal::Triangles(12_000)), inertia, edge_layer: inertia };
    Study::solve(case, std::sync::Arc::new(plan), settings, &|_| {}).unwrap()
}

fn median(mut counts: Vec<usize>) -> usize {
    counts.sort_unstable();
    counts[counts.len() / 2]
}

/// Lines at four heights past sharp corners, with inertia as far as first order goes, and close to the values that divide: each comes
/// through in a number of steps, or ends with a word; its points are few, in memory and in a file.
#[test]
fn lines_past_sharp_corners_are_short() {
    let study = silhouette(FIRST_ORDER, true);
    let (space, pattern) = (&study.solved.space, &study.pattern);
    let heights = [0.0, 0.43, 0.7, 0.95];
    for inertia in [study.inertia.as_ref(), None] {
        let dye = Dye::new(space, pattern, inertia, NearEdges::OuterFlow);
        let lines = heights.map(|height| dye.streaklines(&Seeding::Count(60), height)).concat();
        let steps: Vec<usize> = lines.iter().map(|line| line.steps).collect();
        let thin: Vec<usize> = lines.iter().map(|line| line.thinned().points.len()).collect();
        let count = |ending| lines.iter().filter(|line| line.ending == ending).count();
        println!(
            "steps {} of {:?}, points {} of {:?}, at rest {} at corners {} cut {}",
            median(steps.clone()),
            steps.iter().max(),
            median(thin.clone()),
            thin.iter().max(),
            count(Ending::Stagnation),
            count(Ending::Corner),
            count(Ending::Steps)
        );
        assert!(steps.iter().all(|&steps| steps <= 20_000) && median(steps) < 2_000);
        assert!(thin.iter().all(|&points| points < 20_000) && (50..=500).contains(&median(thin)));
        assert_eq!(count(Ending::Steps), 0);
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("lines.vtp");
        WrittenLines::of(&lines, &study.case.cell.gap, None).write_vtp(&path, &Fields::default()).unwrap();
        let bytes = std::fs::metadata(&path).unwrap().len();
        assert!(bytes < 5_000_000, "{bytes}");
    }
    // lines that graze the fin and the tail, ever closer to the dividing value
    let field = LayerField::new(space, pattern, None);
    let on_it = space.vertices_where(|side| side == twinplate::geometry::Side::Obstacle(0))[0];
    let level = pattern.stream_function[on_it as usize];
    for k in 3..9 {
        for sign in [1.0, -1.0] {
            let off = sign * 10f64.powi(-k) * pattern.drive.flow_rate;
            let mut seed = seeds(space, &pattern.stream_function, &Seeding::Count(1))[0];
            seed = Seed { stream_function: level + off, ..seed };
            seed.at[1] = inlet_height(&study, seed.stream_function);
            let line = follow(space, &field, &seed, 0.0);
            assert!(
                line.ending != Ending::Steps && line.steps < 20_000,
                "{k} {sign}: {:?} {}",
                line.ending,
                line.steps
            );
        }
    }
}

/// The height on the inlet at which the stream function has a value.
fn inlet_height(study: &Study, level: f64) -> f64 {
    let space = &study.solved.space;
    let (mut low, mut high) = (0.0, study.case.cell.inlet_width());
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        let (t, w) = space.locator().find([0.0, middle], None).unwrap();
        if interpolate(space, t, w, &study.pattern.stream_function) < level { low = middle } else { high = middle }
    }
    low
}

/// What is left out when a line is written stands within its tolerance of what is kept, its time and speed within [`PART`]; on a straight line
/// at one speed nothing but the ends is kept.
#[test]
fn points_are_left_out_to_the_tolerance() {
    let study = silhouette(0.1, false);
    let dye = Dye::new(&study.solved.space, &study.pattern, None, NearEdges::OuterFlow);
    let lines = dye.streaklines(&Seeding::Count(12), 0.3);
    for line in &lines {
        let thin = line.thinned();
        assert!((line.tolerance - 4e-6).abs() < 1e-15 && thin.tolerance == line.tolerance);
        assert!(thin.points.len() * 3 < line.points.len() * 2, "{} of {}", thin.points.len(), line.points.len());
        assert_eq!((thin.points[0], thin.points.last()), (line.points[0], line.points.last()));
        let slack = [line.times.last().unwrap() * PART, line.speeds.iter().fold(0.0, |a: f64, &b| a.max(b)) * PART];
        let mut k = 0;
        for (j, p) in line.points.iter().enumerate() {
            if thin.points[k + 1] == *p && k + 2 < thin.points.len() {
                k += 1;
            }
            let (a, b) = (thin.points[k], thin.points[k + 1]);
            let way = [b[0] - a[0], b[1] - a[1]];
            let s = ((p[0] - a[0]) * way[0] + (p[1] - a[1]) * way[1]) / (way[0] * way[0] + way[1] * way[1]);
            let s = s.clamp(0.0, 1.0);
            let off = (a[0] + s * way[0] - p[0]).hypot(a[1] + s * way[1] - p[1]);
            assert!(off <= line.tolerance * 1.0001, "{p:?}: {off:.1e}");
            let between = |values: &[f64]| values[k] + s * (values[k + 1] - values[k]);
            assert!((between(&thin.times) - line.times[j]).abs() <= 1.0001 * slack[0], "{p:?}");
            assert!((between(&thin.speeds) - line.speeds[j]).abs() <= 1.0001 * slack[1], "{p:?}");
        }
    }
    let points: Vec<Point> = (0..50).map(|k| [0.01 * f64::from(k), 0.1]).collect();
    let straight = Streakline {
        heights: vec![0.0; 50],
        times: (0..50).map(f64::from).collect(),
        speeds: vec![0.01; 50],
        points,
        ..lines[0].clone()
    };
    assert_eq!(straight.thinned().times, [0.0, 49.0]);
}

/// Up to a reduced Reynolds number of one the lines of a study follow the departed field, above it the ideal one, on which they keep their
/// height.
#[test]
fn beyond_first_order_lines_are_ideal() {
    let turned = |reduced: f64| {
        let study = silhouette(reduced, true);
        let found = study.lines.iter().any(|line| {
            line.stream_function != 0.0 && {
                let ideal =
                    LayerField::new(&study.solved.space, &study.pattern, None).with_edge_profile(&study.solved.space);
                let seed = Seed { at: line.points[0], stream_function: line.stream_function };
                follow(&study.solved.space, &ideal, &seed, line.heights[0]).points != line.points
            }
        });
        let told = study.warnings().iter().any(|w| w.code == twinplate::base::warning::Code::IdealLines);
        (found, told)
    };
    assert_eq!(turned(0.99 * FIRST_ORDER), (true, false));
    assert_eq!(turned(1.01 * FIRST_ORDER), (false, true));
}

/// In a flow that turns like a wheel a particle comes round in 2 pi over the rate, 1.5e-3/s at mid-gap. After four rounds, but for a step of
/// 0.4 edges or less, it is let go.
#[test]
fn a_line_that_goes_round_and_round_is_let_go() {
    let (case, plan) = cell(1.0, 1.0, HeldPressure, "");
    let grid = ladder(&case, &plan, 400, 1).remove(0);
    for sense in [1.0, -1.0] {
        let mean = grid.space.mesh.points.iter().map(|[x, y]| [-sense * 1e-3 * (y - 0.5), sense * 1e-3 * (x - 0.5)]);
        let field = LayerField { mean: mean.collect(), layers: None, level: None, speed: 1e-3, edge_distance: None };
        let line = follow(&grid.space, &field, &Seed { at: [0.5, 0.8], stream_function: 0.0 }, 0.0);
        let round = 2.0 * std::f64::consts::PI / 1.5e-3;
        let rounds = line.times.last().unwrap() / round;
        assert!(line.ending == Ending::Corner && (4.0..4.1).contains(&rounds), "{:?} {rounds}", line.ending);
    }
}

/// Over a tenth of a thousandth of the length, on a mesh five times finer than the tolerance, a line takes the ten steps of a tolerance, or one more for rounding.
#[test]
fn steps_are_no_shorter_than_the_tolerance() {
    use twinplate::geometry::{Plan, Side, Wall};
    use twinplate::numerics::mesh::{Mesh, SizeField};
    let sides = [Side::Wall(Wall::Lower), Side::Outlet, Side::Wall(Wall::Upper), Side::Inlet];
    let plan = Plan::polygon(&[[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]], &sides, &[]).unwrap();
    let from = 1.0 - 1e-4;
    let fine = (0..=50).map(|k| ([from + 2e-6 * f64::from(k), 0.5], 2e-6)).collect();
    let mesh = Mesh::generate(&std::sync::Arc::new(plan), &SizeField::new(0.1, 0.3, fine), 100_000).unwrap();
    let gap = twinplate::input::case::Gap::Uniform(1e-3);
    let space = twinplate::numerics::fem::Space::new(std::sync::Arc::new(mesh), &gap, 1e-3);
    let mean = vec![[1e-3, 0.0]; space.mesh.points.len()];
    let field = LayerField { mean, layers: None, level: None, speed: 1e-3, edge_distance: None };
    let line = follow(&space, &field, &Seed { at: [from, 0.5], stream_function: 0.0 }, 0.0);
    assert!(line.ending == Ending::Outlet && (10..=11).contains(&line.steps), "{:?} {}", line.ending, line.steps);
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
        (Seeding::At(Starts::at(vec![[0.0, 0.3], [0.0, 0.07]])), vec![0.3, 0.07]),
    ] {
        let found = seeds(&study.solved.space, &study.pattern.stream_function, &seeding);
        assert_eq!(found.len(), exact.len(), "{seeding:?}");
        for (seed, y) in found.iter().zip(exact) {
            assert!(seed.at[0] == 0.0 && (seed.at[1] - y).abs() < 1e-9, "{seeding:?}: {seed:?} for {y}");
            assert!((seed.stream_function / flow - y / WIDTH).abs() < 1e-9, "{seeding:?}: {seed:?}");
        }
    }
}

/// A needle anywhere in the fluid starts a line there, on its own level.
#[test]
fn lines_start_at_needles() {
    let (case, plan) = cell(0.6, WIDTH, GivenInflow, "[streaklines]\nstarts = [[0.2, 0.13], [0.4, 0.3]]\n");
    let study = study(case, plan, 1_000, false);
    let flow = study.pattern.drive.flow_rate;
    for (line, start) in study.lines.iter().zip([[0.2, 0.13], [0.4, 0.3]]) {
        assert!(twinplate::base::plane::distance(line.points[0], start) < 1e-12 && line.ending == Ending::Outlet);
        assert!((line.stream_function / flow - start[1] / WIDTH).abs() < 1e-9);
    }
    assert_eq!(study.lines.len(), 2);
}

/// With a uniform gap w = -(b/2)(b^2/(4 nu)) G |grad V|^2, and G is negative above mid-gap: whatever passes the post comes nearer to its
/// plate, never back, and what runs at mid-gap stays. Far from the post next to nothing happens.
#[test]
fn dye_drifts_to_the_plate_on_its_side() {
    let study = post("0.005", 3_000, true);
    let heights = [0.3, -0.3, 0.0];
    let dye = Dye::new(&study.solved.space, &study.pattern, study.inertia.as_ref(), NearEdges::OuterFlow);
    let lines = heights.map(|height| dye.streaklines(&Seeding::Count(8), height)).concat();
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
