//! Wedges through the gap: flux, divergence, the file, and streaklines at several heights.

#[path = "support/vtk.rs"]
mod vtk_file;

use std::path::{Path, PathBuf};
use std::sync::Arc;
use twinplate::Point;
use twinplate::input::case::*;
use twinplate::report::dye::WrittenLines;
use twinplate::report::lines::write_wedges;
use twinplate::report::vtk::Fields;
use twinplate::study::*;
use twinplate::theory::ideal::Goal;
use twinplate::theory::streaklines::{Dye, NearEdges};
use twinplate::theory::wedges::*;

/// A round post of diameter 0.1 m in a channel of 0.6 m by 0.4 m, gap 1 mm, nu = 1e-6 m2/s, U = 0.02 m/s: Re* = 0.2.
fn solve(gap: Gap, triangles: usize, inertia: bool) -> Study {
    let text = "[cell]\nlength = 0.6\nwidth = 0.4\ngap = 1e-3\n[fluid]\ndensity = 1000\nviscosity = 1e-3\n\
                [drive]\nmean_speed = 0.02\nends = \"given-inflow\"\n\
                [[obstacle]]\ncircle = { centre = [0.3, 0.2], diameter = 0.1 }\n";
    let mut case = parse(text, Path::new("case.toml")).into_result().unwrap();
    case.cell.gap = gap;
    run(case, triangles, inertia, false)
}

fn run(case: Case, triangles: usize, inertia: bool, edge_layer: bool) -> Study {
    let plan = twinplate::geometry::Plan::new(&case, &mut Default::default()).unwrap();
    let settings = Settings { goal: Some(Goal::Triangles(triangles)), inertia, edge_layer };
    Study::solve(case, Arc::new(plan), settings, &|_| {}).unwrap()
}

fn inertia_of(study: &Study) -> Corrections<'_> {
    Corrections { inertia: study.inertia.as_ref(), edge_layer: None }
}

fn wedge() -> Gap {
    Gap::Linear { at: 1e-3, slope: [4e-4, -6e-4], middle: [0.3, 0.2] }
}

fn file(name: &str) -> PathBuf {
    Path::new(env!("CARGO_TARGET_TMPDIR")).join(name)
}

/// Weights of Clenshaw and Curtis's rule on [-1, 1] for an even number of parts (Trefethen 2008, SIAM Review 50, 67).
fn clenshaw_curtis(n: usize) -> Vec<f64> {
    let pi = std::f64::consts::PI;
    (0..=n)
        .map(|j| {
            let angle = pi * j as f64 / n as f64;
            let sum: f64 = (1..=n / 2)
                .map(|k| {
                    let b = if 2 * k == n { 1.0 } else { 2.0 };
                    b / ((4 * k * k) as f64 - 1.0) * (2.0 * k as f64 * angle).cos()
                })
                .sum();
            (if j == 0 || j == n { 1.0 } else { 2.0 }) / n as f64 * (1.0 - sum)
        })
        .collect()
}

/// Integral of a nodal value, linear on triangles, along the cut x = const.
fn flux_through(cut: f64, points: &[Point], cells: impl Iterator<Item = [usize; 3]>, carried: &[f64]) -> f64 {
    let mut flux = 0.0;
    for cell in cells {
        // where the cut crosses the sides of the triangle: y and b u there
        let crossings: Vec<[f64; 2]> = (0..3)
            .filter_map(|k| {
                let (a, b) = (cell[k], cell[(k + 1) % 3]);
                let (p, q) = (points[a], points[b]);
                let s = (cut - p[0]) / (q[0] - p[0]);
                let mix = |x: f64, y: f64| x + s * (y - x);
                (0.0..1.0).contains(&s).then(|| [mix(p[1], q[1]), mix(carried[a], carried[b])])
            })
            .collect();
        if let [a, b] = crossings[..] {
            flux += 0.5 * (a[1] + b[1]) * (a[0] - b[0]).abs();
        }
    }
    flux
}

#[test]
fn flux_through_every_cut_is_the_flow() {
    // Exact through the gap (the rule is exact for degree 12, profiles have 6); in the plane the nodal velocity has an error of order
    // h^2. The outer flow lacks what the edge layers carry, C1 (rho b^3/mu) V dV/ds b each: at most
    // 4 * 0.052 * 1e-3 * 0.08/0.05 * 0.02 ... = 4 C1 Re_b (b/a) (b U) = 7e-6 b U against b U W = 0.4 b U: 2e-4.
    for (gap, inertia) in [(Gap::Uniform(1e-3), true), (Gap::Uniform(1e-3), false), (wedge(), true)] {
        let study = solve(gap, 12_000, inertia);
        let path = file("flux.vtu");
        let (space, layers) = (&study.solved.space, 12);
        let wedges = LayerGrid::new(space, &study.pattern, inertia_of(&study), layers).unwrap();
        write_wedges(&path, &wedges, &Fields::default()).unwrap();
        let read = vtk_file::read(&path);
        let velocity = read.at_points("velocity");
        let vertices = read.points.len() / (layers + 1);
        let weights = clenshaw_curtis(layers);
        // b times the gap mean, from the file alone
        let gap = |v: usize| read.points[layers * vertices + v][2] - read.points[v][2];
        let carried: Vec<f64> = (0..vertices)
            .map(|v| gap(v) * (0..=layers).map(|j| 0.5 * weights[j] * velocity[3 * (j * vertices + v)]).sum::<f64>())
            .collect();
        for cut in [0.05, 0.15, 0.22, 0.27, 0.3, 0.33, 0.4, 0.55] {
            let points: Vec<Point> = read.points.iter().map(|p| [p[0], p[1]]).collect();
            let cells = read.cells.iter().take(read.cells.len() / layers).map(|cell| [cell[0], cell[1], cell[2]]);
            let flux = flux_through(cut, &points, cells, &carried);
            let off = flux / study.pattern.drive.flow_rate - 1.0;
            println!("x {cut}: {off:.2e}");
            assert!(off.abs() < 1e-3, "x {cut}: {off:.2e} of the flow");
        }
    }
}

/// Derivative along zeta of values at the layer heights: that of the polynomial through them (Berrut & Trefethen 2004).
fn derivative(heights: &[f64], values: &[f64]) -> Vec<f64> {
    let n = heights.len() - 1;
    let weight = |j: usize| if j == 0 || j == n { 0.5 } else { 1.0 } * if j.is_multiple_of(2) { 1.0 } else { -1.0 };
    let of = |i: usize| {
        let others = (0..=n).filter(|&j| j != i);
        let term = |j: usize| weight(j) / weight(i) / (heights[i] - heights[j]) * (values[j] - values[i]);
        others.map(term).sum()
    };
    (0..=n).map(of).collect()
}

/// Root mean squares, over the fluid more than three gaps from edges and the ends, of the divergence of a velocity on wedges, averaged
/// over squares of 25 mm, and of its in-plane gradient, 1/s. The average is what the field's nodal errors leave of order h: its value
/// at a single vertex is a third derivative of the pressure, which linear elements do not resolve.
fn divergence(study: &Study, grid: &LayerGrid, velocity: &[[f64; 3]]) -> [f64; 2] {
    let space = &study.solved.space;
    let (count, layers) = (grid.vertices(), grid.heights.len());
    assert_eq!(count, space.mesh.points.len());
    let slopes: Vec<Vec<[[f64; 2]; 2]>> = (0..layers)
        .map(|j| {
            let plane: Vec<[f64; 2]> = velocity[j * count..(j + 1) * count].iter().map(|v| [v[0], v[1]]).collect();
            twinplate::theory::inertia::velocity_gradient(space, &plane)
        })
        .collect();
    let distance = space.mesh.wall_distance(0.02);
    let (mut size, mut area) = (0.0, 0.0);
    let mut squares: std::collections::BTreeMap<(i32, i32, usize), [f64; 2]> = Default::default();
    for v in 0..count {
        let p = space.mesh.points[v];
        if distance[v] < 0.02 || p[0] < 0.03 || p[0] > 0.57 {
            continue;
        }
        let column = |k: usize| (0..layers).map(|j| velocity[j * count + v][k]).collect::<Vec<f64>>();
        let change = [0, 1, 2].map(|k| derivative(&grid.heights, &column(k)));
        let slope = space.gap_slope.get(v).copied().unwrap_or([0.0; 2]);
        let own: f64 = space.stars.of(v).iter().map(|&t| space.area(t as usize)).sum();
        for j in 0..layers {
            // along the plates at constant z: d/dx - zeta (b_x/b) d/dzeta
            let zeta = grid.heights[j];
            let along = |k: usize| slopes[j][v][k][k] - zeta * slope[k] * change[k][j];
            let div = along(0) + along(1) + 2.0 / space.gap[v] * change[2][j];
            let square = squares.entry(((p[0] / 0.025) as i32, (p[1] / 0.025) as i32, j)).or_default();
            *square = [square[0] + own * div, square[1] + own];
            size += own * slopes[j][v].as_flattened().iter().map(|g| g * g).sum::<f64>();
            area += own;
        }
    }
    let off: f64 = squares.values().map(|[sum, area]| sum * sum / area).sum();
    [(off / area).sqrt(), (size / area).sqrt()]
}

#[test]
fn the_field_in_space_has_no_divergence() {
    // div V of recovered velocities, differentiated once more, is of first order in h at least: four times the triangles halve it.
    let mut relative = Vec::new();
    for triangles in [4_000, 16_000] {
        let study = solve(Gap::Uniform(1e-3), triangles, true);
        let space = &study.solved.space;
        let whole = LayerGrid::new(space, &study.pattern, inertia_of(&study), 12).unwrap();
        let ideal = LayerGrid::new(space, &study.pattern, Corrections::default(), 12).unwrap();
        let departure: Vec<[f64; 3]> =
            whole.velocity.iter().zip(&ideal.velocity).map(|(a, b)| [a[0] - b[0], a[1] - b[1], a[2] - b[2]]).collect();
        let flat: Vec<[f64; 3]> = departure.iter().map(|v| [v[0], v[1], 0.0]).collect();
        let ratio = |velocity: &[[f64; 3]]| {
            let [off, size] = divergence(&study, &whole, velocity);
            off / size
        };
        relative.push([ratio(&whole.velocity), ratio(&departure), ratio(&flat)]);
        println!("{triangles}: {:?}", relative.last());
    }
    let [coarse, fine] = [relative[0], relative[1]];
    assert!(fine[0] < 0.02 && fine[0] < 0.6 * coarse[0], "{relative:?}");
    assert!(fine[1] < 0.1 && fine[1] < 0.6 * coarse[1], "{relative:?}");
    // without the drift the departure is far from free of divergence: the test sees it
    assert!(fine[2] > 5.0 * fine[1], "{relative:?}");
}

#[test]
fn fluid_rises_and_sinks_with_the_plates() {
    let study = solve(wedge(), 12_000, false);
    let grid = LayerGrid::new(&study.solved.space, &study.pattern, Corrections::default(), 12).unwrap();
    let [off, size] = divergence(&study, &grid, &grid.velocity);
    let flat: Vec<[f64; 3]> = grid.velocity.iter().map(|v| [v[0], v[1], 0.0]).collect();
    let [without, _] = divergence(&study, &grid, &flat);
    println!("{off} {without} of {size}");
    assert!(off < 0.03 * size && without > 5.0 * off, "{off} {without} of {size}");
}

#[test]
fn plates_are_at_rest_and_heights_are_symmetric() {
    let study = solve(wedge(), 3_000, true);
    let space = &study.solved.space;
    for layers in [1, 12, 15] {
        let grid = LayerGrid::new(space, &study.pattern, inertia_of(&study), layers).unwrap();
        let heights = &grid.heights;
        assert_eq!((heights[0], heights[layers], heights.len()), (-1.0, 1.0, layers + 1));
        assert!(heights.windows(2).all(|h| h[0] < h[1]) && (0..=layers).all(|j| heights[j] == -heights[layers - j]));
        let count = grid.vertices();
        for v in 0..count {
            for j in [0, layers] {
                assert!(grid.velocity[j * count + v].iter().all(|c| c.abs() < 1e-17));
            }
            assert_eq!(grid.points[v][2], -0.5 * space.gap[v]);
        }
    }
    for layers in [0, MOST_LAYERS + 1] {
        let error = LayerGrid::new(space, &study.pattern, Corrections::default(), layers).unwrap_err();
        assert!(error.to_string().contains(&format!("{layers} layers")), "{error}");
    }
}

#[test]
fn large_meshes_are_shown_by_a_coarser_level() {
    let study = solve(Gap::Uniform(1e-3), 60_000, false);
    let mesh = &study.solved.space.mesh;
    assert!(!mesh.coarser.is_empty() && mesh.triangles.len() * 64 > MOST_WEDGES);
    let grid = LayerGrid::new(&study.solved.space, &study.pattern, Corrections::default(), 64).unwrap();
    let level = mesh.coarser.iter().rev().find(|level| level.triangles.len() * 64 <= MOST_WEDGES).unwrap();
    assert_eq!((grid.triangles.len(), grid.vertices()), (level.triangles.len(), level.vertices));
    let largest = grid.triangles.iter().flatten().max().unwrap();
    assert!((*largest as usize) < level.vertices);
    // the coarsest level alone is more than the limit
    let refused = LayerGrid::new(&study.solved.space, &study.pattern, Corrections::default(), MOST_LAYERS);
    if mesh.coarser[0].triangles.len() * MOST_LAYERS > MOST_WEDGES {
        assert!(refused.unwrap_err().to_string().contains("wedges"));
    }
}

#[test]
fn streaklines_at_several_heights_share_a_file() {
    let study = solve(wedge(), 3_000, true);
    let space = &study.solved.space;
    let heights = [-0.8, 0.0, 0.8];
    let dye = Dye::new(space, &study.pattern, study.inertia.as_ref(), NearEdges::OuterFlow);
    let lines = heights.map(|height| dye.streaklines(&Seeding::Count(5), height)).concat();
    assert_eq!(lines.len(), 15);
    let path = file("layer_streaklines.vtp");
    WrittenLines::of(&lines, &study.case.cell.gap, None).write_vtp(&path, &Fields::default()).unwrap();
    let read = vtk_file::read(&path);
    let start = read.at_cells("start_height");
    let height = read.at_points("height");
    for (k, line) in read.cells.iter().enumerate() {
        assert_eq!(start[k], heights[k / 5]);
        for &v in line {
            let [x, y, z] = read.points[v];
            assert!((z - 0.5 * height[v] * study.case.cell.gap.at([x, y])).abs() < 1e-15);
        }
    }
    // mirror images: what moves above moves below
    assert!(
        (0..5).all(|k| (lines[k].points.len(), lines[k].times.last())
            == (lines[10 + k].points.len(), lines[10 + k].times.last()))
    );
}

/// Velocity of the rectangular duct of width W over that at the mean speed U (White, Viscous Fluid Flow, sec. 3-3; Shah & London 1978):
/// the plain series across the gap, the modes written with decaying exponentials only.
fn duct(y_over_b: f64, wide: f64, zeta: f64) -> f64 {
    let pi = std::f64::consts::PI;
    let (mut sum, mut mean) = (0.0, 0.0);
    for m in (0..4000).rev() {
        let k = (2 * m + 1) as f64;
        let sign = if m % 2 == 0 { 1.0 } else { -1.0 };
        let from = |d: f64| (-k * pi * d).exp();
        let shape = (from(y_over_b) + from(wide - y_over_b)) / (1.0 + from(wide));
        sum += sign * (0.5 * k * pi * zeta).cos() * shape / k.powi(3);
        mean += (1.0 - from(wide)) / (1.0 + from(wide)) / k.powi(5);
    }
    (1.5 * (1.0 - zeta * zeta) - 48.0 / pi.powi(3) * sum) / (1.0 - 192.0 / (pi.powi(5) * wide) * mean)
}

#[test]
fn an_empty_cell_is_the_rectangular_duct() {
    // One edge in place of two leaves exp(-pi W/(2b)) = 2e-7 in the middle, the reach of the profile 1e-8; the series stops at
    // 48/pi^3/(4 * 8000^2) = 6e-9 on the edge.
    for ends in ["held-pressure", "given-inflow"] {
        let text = format!(
            "[cell]\nlength = 0.2\nwidth = 0.1\ngap = 0.01\n[fluid]\ndensity = 1000\nviscosity = 1e-3\n[drive]\nmean_speed = 1e-3\n\
             ends = \"{ends}\"\n"
        );
        let study = run(parse(&text, Path::new("case.toml")).into_result().unwrap(), 600, true, true);
        let with = Corrections { inertia: study.inertia.as_ref(), edge_layer: study.edge_layer.as_ref() };
        let grid = LayerGrid::new(&study.solved.space, &study.pattern, with, 12).unwrap();
        let mut worst: f64 = 0.0;
        for (p, u) in grid.points.iter().zip(&grid.velocity) {
            let exact = duct(p[1] / 0.01, 10.0, p[2] / 0.005);
            worst = worst.max((u[0] / 1e-3 - exact).abs()).max(u[1].abs() / 1e-3).max(u[2].abs() / 1e-3);
        }
        println!("{ends}: {worst:.1e}");
        assert!(worst < 1e-6, "{ends}: {worst:.2e}");
    }
}
