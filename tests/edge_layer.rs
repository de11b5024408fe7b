//! The first-order edge layer against exact values.

use std::sync::Arc;
use twinplate::geometry::Plan;
use twinplate::input::case::parse;
use twinplate::theory::edge_layer::moved::{grown_plan, solve_moved};
use twinplate::theory::edge_layer::{DISPLACEMENT, EdgeLayer, solve_edge_layer};
use twinplate::theory::ideal::{Goal, Pattern, Solved, solve_ideal};

struct Done {
    case: twinplate::input::case::Case,
    plan: Arc<Plan>,
    solved: Solved,
    pattern: Pattern,
    layer: EdgeLayer,
}

fn solve(body: &str, triangles: usize) -> Done {
    let text = format!("[fluid]\ndensity = 1000\nviscosity = 1e-3\n{body}");
    let case = parse(&text, "case.toml".as_ref()).into_result().unwrap();
    let mut problems = twinplate::base::error::Problems::default();
    let plan = Arc::new(Plan::new(&case, &mut problems).unwrap());
    let solved = solve_ideal(&plan, &case, Goal::Triangles(triangles), &|_| {}).unwrap();
    let pattern = Pattern::new(&solved.space, &solved.pair, &case, 1.0);
    let (operator, ends) = (&solved.pair.pressure_operator, case.drive.ends);
    let layer = solve_edge_layer(&solved.space, operator, ends, &pattern, case.cell.inlet_width()).unwrap();
    Done { case, plan, solved, pattern, layer }
}

/// Duct flow factor: F = 1 - (192/pi^5)(b/W) sum over odd n of tanh(n pi W/(2b))/n^5 (White, Viscous Fluid Flow, from memory).
fn duct_factor(ratio: f64) -> f64 {
    let pi = std::f64::consts::PI;
    let sum: f64 = (0..200).map(|k| f64::from(2 * k + 1)).map(|n| (n * pi / (2.0 * ratio)).tanh() / n.powi(5)).sum();
    1.0 - 192.0 / pi.powi(5) * ratio * sum
}

#[test]
fn an_empty_duct_loses_twice_the_displacement_thickness() {
    // exact values of F: 0.936975112 at b/W = 0.1 and 0.968487556 at 0.05 (series, Shah & London 1978); beyond first order only
    // exp(-pi W/b) is left, 1e-14 at 0.1
    for (gap, exact) in [(0.1, 0.936975112), (0.05, 0.968487556)] {
        assert!((duct_factor(gap) - exact).abs() < 1e-9);
        let body = format!("[cell]\nlength = 3\nwidth = 1\ngap = {gap}\n[drive]\nmean_speed = 1e-3\n");
        let done = solve(&body, 400);
        let factor = done.layer.shape_factor / done.pattern.shape_factor.value;
        assert!((factor - duct_factor(gap)).abs() < 1e-9, "{factor} {exact}");
        assert!((done.layer.mean_speed / 1e-3 - factor).abs() < 1e-9);
        // the core keeps its speed at the same pressure drop
        for (v, w) in done.layer.velocity.iter().zip(&done.pattern.velocity) {
            assert!((v[0] - w[0]).abs() < 1e-9 * w[0] && v[1].abs() < 1e-9 * w[0]);
        }
        // with given inflow the core is faster by 1/(1 - 2 delta*/W)
        let done = solve(&(body + "ends = \"given-inflow\"\n"), 400);
        let core = 1e-3 / (1.0 - 2.0 * DISPLACEMENT * gap);
        assert!(done.layer.velocity.iter().all(|v| (v[0] - core).abs() < 1e-9 * core && v[1].abs() < 1e-9 * core));
    }
}

/// Added length over W of a circle of radius a in the middle of a channel of width 1, by rows of images: the complex potential
/// z + sum a_n h_n, h_n = z^-n + sum_k c_k C(2k-1, n-1) z^(2k-n), with c_k from pi coth(pi z), and a_m = a^(2m) times the
/// coefficient of z^m.
fn added_length(radius: f64) -> f64 {
    let pi = std::f64::consts::PI;
    // pi coth(pi z) = 1/z + sum 2 (-1)^(k+1) zeta(2k) z^(2k-1)
    let zeta = |s: i32| -> f64 { (1..200_000).rev().map(|j| f64::from(j).powi(-s)).sum() };
    let terms = 15;
    let c: Vec<f64> = (0..=2 * terms)
        .map(|k| match k {
            0 => 0.0,
            1 => 2.0 * pi * pi / 6.0,
            _ => 2.0 * zeta(2 * k as i32) * if k % 2 == 1 { 1.0 } else { -1.0 },
        })
        .collect();
    let binomial = |n: usize, k: usize| (0..k).map(|j| (n - j) as f64 / (j + 1) as f64).product::<f64>();
    let mut a = vec![0.0; terms];
    for _ in 0..400 {
        a = (0..terms)
            .map(|i| {
                let m = 2 * i + 1;
                let regular: f64 = (0..terms)
                    .map(|j| {
                        let n = 2 * j + 1;
                        a[j] * c[(m + n) / 2] * binomial(m + n - 1, n - 1)
                    })
                    .sum();
                radius.powi(2 * m as i32) * (regular + if m == 1 { 1.0 } else { 0.0 })
            })
            .collect();
    }
    2.0 * pi * a[0]
}

#[test]
fn a_post_in_a_channel_acts_as_if_all_edges_moved() {
    // rows of images: 0.0158382275 at D/W 0.1, 0.152673417 at 0.3, 0.494479592 at 0.5
    for (ratio, exact) in [(0.1, 0.0158382275), (0.3, 0.152673417), (0.5, 0.494479592)] {
        assert!((added_length(0.5 * ratio) - exact).abs() < 2e-9, "{} {exact}", added_length(0.5 * ratio));
    }
    let gap = 0.02;
    let body = format!(
        "[cell]\nlength = 4\nwidth = 1\ngap = {gap}\n[drive]\nmean_speed = 1e-3\n[[obstacle]]\ncircle = {{ centre = [2, 0.5], \
         diameter = 0.3 }}\n"
    );
    let done = solve(&body, 24_000);
    // S = W/(L + W f(a/W)); walls and post move by delta
    let shape = |delta: f64| {
        let width = 1.0 - 2.0 * delta;
        width / (4.0 + width * added_length((0.15 + delta) / width))
    };
    let h = 1e-4;
    let slope = (shape(h) - shape(-h)) / (2.0 * h);
    let expected = slope * DISPLACEMENT * gap;
    let found = done.layer.shape_factor - done.pattern.shape_factor.value;
    // the boundary sum converges as the square of the edge length: (0.01)^2 over the radius squared, 0.5 %
    assert!((found / expected - 1.0).abs() < 5e-3, "{found} {expected}");
    // the variant with moved edges is the exact shape of the moved plan within its bounds, and differs from first order by
    // second order
    let moved = solve_moved(&done.case, &done.plan, &done.solved.space, &done.layer).unwrap();
    let exact = shape(DISPLACEMENT * gap);
    assert!(
        (moved.shape_factor - exact).abs() < 3.0 * moved.half_width,
        "{} {exact} {}",
        moved.shape_factor,
        moved.half_width
    );
    // the middle of the bounds between grown solids, and half their distance
    let grown = Arc::new(grown_plan(&done.plan, DISPLACEMENT * gap).unwrap());
    let goal = Goal::Triangles(done.solved.space.mesh.triangles.len());
    let pair = solve_ideal(&grown, &done.case, goal, &|_| {}).unwrap().pair;
    assert!((moved.shape_factor - moved.half_width - pair.lower).abs() < 1e-9 * exact, "{moved:?} {}", pair.lower);
    assert!((moved.shape_factor + moved.half_width - pair.upper).abs() < 1e-9 * exact, "{moved:?} {}", pair.upper);
    assert!((moved.shape_factor - done.layer.shape_factor).abs() < 3.0 * (gap / 0.15_f64).powi(2) * exact);
}

#[test]
fn a_post_in_a_wide_cell_acts_as_a_larger_post() {
    // outside, the change of velocity is that of a dipole of 2 a delta*; walls far away. At r = 2a on the axis of the stream the
    // speed is U (1 - a^2/r^2), so the change over U is -2 a delta*/r^2
    let (a, gap) = (0.05, 0.005);
    let body = format!(
        "[cell]\nlength = 2\nwidth = 2\ngap = {gap}\n[drive]\nmean_speed = 1e-3\nends = \"given-inflow\"\n[[obstacle]]\ncircle = \
         {{ centre = [1, 1], diameter = {} }}\n",
        2.0 * a
    );
    let done = solve(&body, 40_000);
    let locator = done.solved.space.locator();
    let core = 1.0 / (1.0 - 2.0 * DISPLACEMENT * gap / 2.0);
    for (angle, r) in [(0.0_f64, 2.0 * a), (0.8, 2.5 * a), (1.57, 2.0 * a), (2.5, 3.0 * a)] {
        let at = [1.0 + r * angle.cos(), 1.0 + r * angle.sin()];
        let (t, w) = locator.find(at, None).unwrap();
        let value = |field: &[[f64; 2]], k: usize| -> f64 {
            let corners = done.solved.space.mesh.triangles[t as usize];
            (0..3).map(|i| w[i] * field[corners[i] as usize][k]).sum()
        };
        let dipole = 2.0 * a * DISPLACEMENT * gap / (r * r);
        let expected = [-dipole * (2.0 * angle).cos(), -dipole * (2.0 * angle).sin()];
        for (k, expected) in expected.into_iter().enumerate() {
            let change = (value(&done.layer.velocity, k) - core * value(&done.pattern.velocity, k)) / 1e-3;
            // confinement changes the dipole by (pi a/W)^2/3 = 0.2 %, the walls' own displacement by as much; mesh 2 %
            assert!((change - expected).abs() < 0.04 * dipole, "{angle} {k}: {change} {expected}");
        }
    }
}
