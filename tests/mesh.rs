//! Meshes of plans whose area, topology and outlines are known exactly.

use proptest::prelude::*;
use std::f64::consts::{PI, TAU};
use std::sync::Arc;
use twinplate::Point;
use twinplate::case::Wall;
use twinplate::mesh::{BoundaryEdge, Locator, Mesh, NO_TRIANGLE, SizeField, SizeOptions};
use twinplate::outline::{Curve, Piece, Plan, PlanObstacle, Side};

fn line(from: Point, to: Point, side: Side) -> Piece {
    Piece { curve: Curve::Line { from, to }, from: 0.0, to: 1.0, side }
}

fn rectangle(length: f64, width: f64) -> Plan {
    let pieces = vec![
        line([0.0, 0.0], [length, 0.0], Side::Wall(Wall::Lower)),
        line([length, 0.0], [length, width], Side::Outlet),
        line([length, width], [0.0, width], Side::Wall(Wall::Upper)),
        line([0.0, width], [0.0, 0.0], Side::Inlet),
    ];
    Plan { pieces, loops: std::iter::once(0..4).collect(), obstacles: vec![] }
}

fn add_obstacle(plan: &mut Plan, pieces: impl Fn(Side) -> Vec<Piece>) {
    let side = Side::Obstacle(plan.obstacles.len() as u32);
    let start = plan.pieces.len();
    plan.pieces.extend(pieces(side));
    plan.loops.push(start..plan.pieces.len());
    plan.obstacles.push(PlanObstacle { name: String::new(), on_wall: None, height: 0.0 });
}

fn add_ellipse(plan: &mut Plan, centre: Point, semi_axes: [f64; 2], rotation: f64) {
    let curve = Curve::Arc { centre, semi_axes, rotation, start: 0.0, end: TAU };
    add_obstacle(plan, |side| vec![Piece { curve: curve.clone(), from: 1.0, to: 0.0, side }]);
}

fn add_polygon(plan: &mut Plan, points: &[Point]) {
    add_obstacle(plan, |side| {
        let ends = points.iter().zip(points.iter().cycle().skip(1));
        ends.map(|(&from, &to)| line(from, to, side)).collect()
    });
}

/// A square of the given side, clockwise, turned by `angle`.
fn square(centre: Point, side: f64, angle: f64) -> Vec<Point> {
    let r = side / 2f64.sqrt();
    (0..4)
        .map(|k| angle + PI / 4.0 - PI / 2.0 * f64::from(k))
        .map(|a| [centre[0] + r * a.cos(), centre[1] + r * a.sin()])
        .collect()
}

fn plans() -> Vec<(&'static str, Plan)> {
    let mut list = vec![];
    let mut plan = rectangle(2.0, 1.0);
    add_ellipse(&mut plan, [0.6, 0.45], [0.14, 0.14], 0.0);
    list.push(("circle", plan));
    let mut plan = rectangle(2.0, 1.0);
    add_polygon(&mut plan, &square([0.8, 0.5], 0.3, 8f64.to_radians()));
    list.push(("square", plan));
    let mut plan = rectangle(2.0, 1.0);
    add_ellipse(&mut plan, [0.6, 0.5], [0.1, 0.1], 0.0);
    add_ellipse(&mut plan, [0.6 + 0.2 * (1.0 + 1.0 / 500.0), 0.5], [0.1, 0.1], 0.0);
    list.push(("close circles", plan));
    let mut plan = rectangle(2.0, 1.0);
    add_ellipse(&mut plan, [0.6, 0.5], [0.1, 0.1], 0.0);
    add_ellipse(&mut plan, [0.6, 0.7 + 1e-5], [0.1, 0.1], 0.0);
    list.push(("circles 1e-5 apart", plan));
    let mut plan = rectangle(2.0, 1.0);
    add_ellipse(&mut plan, [0.9, 0.5], [0.3, 0.003], -0.2);
    list.push(("thin ellipse", plan));
    let corners = [[0.0, 0.0], [2.0, 0.0], [2.0, 2.0], [1.0, 2.0], [1.0, 1.0], [0.0, 1.0]];
    let sides = [
        Side::Wall(Wall::Lower),
        Side::Wall(Wall::Lower),
        Side::Outlet,
        Side::Wall(Wall::Upper),
        Side::Wall(Wall::Upper),
        Side::Inlet,
    ];
    let pieces = (0..6).map(|k| line(corners[k], corners[(k + 1) % 6], sides[k])).collect();
    list.push(("ell", Plan { pieces, loops: std::iter::once(0..6).collect(), obstacles: vec![] }));
    let mut plan = rectangle(2.0, 1.0);
    add_polygon(&mut plan, &[[0.5, 0.5], [0.9, 0.51], [0.9, 0.5]]);
    add_polygon(&mut plan, &[[1.3, 0.02], [1.2, 0.3], [1.4, 0.3]]);
    list.push(("wedge and spike", plan));
    list
}

fn generate(plan: &Plan) -> Mesh {
    let plan = Arc::new(plan.clone());
    let size = SizeField::from_plan(&plan, &SizeOptions::default());
    Mesh::generate(&plan, &size, 100_000).unwrap()
}

/// Area of the polygon of the outlines, from the exact area of the plan: ellipses are sampled at known parameters, and the
/// segment between chord and arc over the eccentric angle s has the area ab (s - sin s)/2.
fn polygon_area(mesh: &Mesh) -> f64 {
    let exact = |piece: &Piece| match piece.curve {
        Curve::Line { from, to } => 0.5 * (from[0] * to[1] - from[1] * to[0]),
        Curve::Arc { semi_axes, .. } => -PI * semi_axes[0] * semi_axes[1],
    };
    let plan: f64 = mesh.plan.pieces.iter().map(exact).sum();
    let segment = |edge: &BoundaryEdge| match mesh.plan.pieces[edge.piece as usize].curve {
        Curve::Line { .. } => 0.0,
        Curve::Arc { semi_axes, start, end, .. } => {
            let s = (edge.parameters[1] - edge.parameters[0]).abs() * (end - start);
            0.5 * semi_axes[0] * semi_axes[1] * (s - s.sin())
        }
    };
    plan + mesh.boundary.iter().map(segment).sum::<f64>()
}

fn check_invariants(name: &str, mesh: &Mesh) {
    let areas = mesh.areas();
    assert!(areas.iter().all(|&area| area > 0.0), "{name}: inverted triangle");
    let total: f64 = areas.iter().sum();
    let expected = polygon_area(mesh);
    // Sums of some 1e4 terms of order one: rounding below 1e-12 each.
    assert!((total - expected).abs() < 1e-11 * expected, "{name}: area {total} of {expected}");

    // Euler: V - E + T = 1 - holes.
    let (v, t, b) = (mesh.points.len() as i64, mesh.triangles.len() as i64, mesh.boundary.len() as i64);
    assert_eq!((3 * t + b) % 2, 0);
    assert_eq!(v - (3 * t + b) / 2 + t, 2 - mesh.plan.loops.len() as i64, "{name}");
    let free = mesh.neighbours().iter().flatten().filter(|&&n| n == NO_TRIANGLE).count();
    assert_eq!(free as i64, b, "{name}: sides without neighbour are the boundary edges");

    let mut next = vec![u32::MAX; mesh.points.len()];
    for edge in &mesh.boundary {
        let triangle = mesh.triangles[edge.triangle as usize];
        let k = triangle.iter().position(|&v| v == edge.vertices[0]).unwrap();
        assert_eq!(triangle[(k + 1) % 3], edge.vertices[1], "{name}: fluid on the left");
        let curve = &mesh.plan.pieces[edge.piece as usize].curve;
        for (v, t) in edge.vertices.into_iter().zip(edge.parameters) {
            let (p, q) = (mesh.points[v as usize], curve.point(t));
            // Junctions: the two pieces agree to rounding only.
            assert!((p[0] - q[0]).hypot(p[1] - q[1]) < 1e-14, "{name}: {p:?} is not on its curve {q:?}");
        }
        assert_eq!(next[edge.vertices[0] as usize], u32::MAX, "{name}: one edge leaves a boundary vertex");
        next[edge.vertices[0] as usize] = edge.vertices[1];
    }
    // Along each piece the parameters run from `from` to `to` without a gap.
    for (index, piece) in mesh.plan.pieces.iter().enumerate() {
        let edges: Vec<_> = mesh.boundary.iter().filter(|edge| edge.piece as usize == index).collect();
        assert_eq!(edges[0].parameters[0], piece.from, "{name}");
        assert_eq!(edges[edges.len() - 1].parameters[1], piece.to, "{name}");
        assert!(edges.windows(2).all(|e| e[0].parameters[1] == e[1].parameters[0]), "{name}");
        assert!(edges.windows(2).all(|e| e[0].vertices[1] == e[1].vertices[0]), "{name}");
    }
    let quality = mesh.quality();
    assert_eq!(quality.histogram.iter().sum::<usize>(), mesh.triangles.len());
    assert!((quality.total_area - total).abs() < 1e-12 * total);
    if std::env::var("SHOW").is_ok() {
        println!("{name}: {quality:?}");
    }
}

#[test]
fn meshes_keep_every_invariant_and_angles_above_25_degrees() {
    for (name, plan) in plans() {
        let mesh = generate(&plan);
        check_invariants(name, &mesh);
        let quality = mesh.quality();
        assert!(quality.least_angle > 25f64.to_radians(), "{name}: {} rad", quality.least_angle);
        assert!(mesh.coarser.is_empty() && mesh.parents.is_empty());
        // Chords depart by at most 5 % of their length: turning of at most 0.4 rad for a circle, L kappa/8.
        for edge in &mesh.boundary {
            let [a, b] = edge.vertices.map(|v| mesh.points[v as usize]);
            let c = mesh.plan.pieces[edge.piece as usize].curve.point(0.5 * (edge.parameters[0] + edge.parameters[1]));
            let length = (b[0] - a[0]).hypot(b[1] - a[1]);
            let off = ((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])).abs() / length;
            assert!(off < 0.06 * length, "{name}: {off} of {length}");
        }
    }
}

#[test]
fn coarse_and_fine_scales_of_the_field_are_met() {
    for (name, plan) in plans() {
        let plan = Arc::new(plan);
        let size = SizeField::from_plan(&plan, &SizeOptions::default());
        for factor in [6.0, 2.0, 0.5] {
            let mesh = Mesh::generate(&plan, &size.scaled(factor), 100_000).unwrap();
            check_invariants(name, &mesh);
            let least = mesh.quality().least_angle.to_degrees();
            assert!(least > 25.0, "{name} x {factor}: {least} degrees");
        }
        let estimate = size.scaled(0.5).estimate_triangles(&plan).unwrap();
        let count = Mesh::generate(&plan, &size.scaled(0.5), 100_000).unwrap().triangles.len() as f64;
        assert!((count / estimate - 1.0).abs() < 0.2, "{name}: {count} for {estimate}");
        for wanted in [3_000, 20_000] {
            let count = Mesh::generate_with_count(&plan, &size, wanted).unwrap().triangles.len() as f64;
            assert!((count / wanted as f64 - 1.0).abs() < 0.15, "{name}: {count} for {wanted}");
        }
    }
}

#[test]
fn edges_have_the_wanted_length() {
    let plan = Arc::new(rectangle(2.0, 1.0));
    let size = SizeField::new(0.2, 0.3, vec![([0.7, 0.4], 0.004)]);
    let mesh = Mesh::generate(&plan, &size, 100_000).unwrap();
    let (mut sum, mut count) = (0.0, 0.0);
    for (triangle, lengths) in mesh.triangles.iter().zip(mesh.side_lengths()) {
        for k in 0..3 {
            let [a, b] = [triangle[(k + 1) % 3], triangle[(k + 2) % 3]].map(|v| mesh.points[v as usize]);
            let ratio = lengths[k] / size.at([0.5 * (a[0] + b[0]), 0.5 * (a[1] + b[1])]);
            assert!((0.4..2.0).contains(&ratio), "{ratio}");
            sum += ratio;
            count += 1.0;
        }
    }
    let mean: f64 = sum / count;
    assert!((mean - 1.0).abs() < 0.1, "{mean}");
}

#[test]
fn circle_has_some_25_edges_and_a_passage_four_across() {
    let mut plan = rectangle(2.0, 1.0);
    add_ellipse(&mut plan, [0.6, 0.5], [0.05, 0.05], 0.0);
    let mesh = generate(&plan);
    let round = mesh.boundary.iter().filter(|edge| edge.piece == 4).count();
    assert!((24..=30).contains(&round), "{round}");
    for gap in [4e-4, 1e-5] {
        let mut plan = rectangle(2.0, 1.0);
        add_ellipse(&mut plan, [0.6, 0.5], [0.1, 0.1], 0.0);
        add_ellipse(&mut plan, [0.8 + gap, 0.5], [0.1, 0.1], 0.0);
        let size = SizeField::from_plan(&plan, &SizeOptions::default());
        let h = size.at([0.7 + 0.5 * gap, 0.5]);
        // A quarter of the gap at its narrowest, and growth 0.3 over half the gap from the outlines to its middle.
        assert!((0.25 * gap..0.41 * gap).contains(&h), "{h} in a gap of {gap}");
        let count = generate(&plan).triangles.len();
        assert!(count < 15_000, "{count}");
    }
}

#[test]
fn options_limit_edges_and_grade_into_corners() {
    let plan = Arc::new(plans().swap_remove(1).1);
    let options = SizeOptions { max_edge: Some(0.03), ..SizeOptions::default() };
    let field = SizeField::from_plan(&plan, &options);
    assert_eq!(field.largest(), 0.03);
    let corner_size = |angle: f64, local: f64| {
        assert!((angle - 1.5 * PI).abs() < 1e-12, "{angle}");
        1e-3 * local
    };
    let options = SizeOptions { corner_size: Some(Box::new(corner_size)), ..SizeOptions::default() };
    let field = SizeField::from_plan(&plan, &options);
    let plain = SizeField::from_plan(&plan, &SizeOptions::default());
    for corner in square([0.8, 0.5], 0.3, 8f64.to_radians()) {
        assert!((field.at(corner) / plain.at(corner) - 1e-3).abs() < 1e-12);
    }
    let mesh = Mesh::generate(&plan, &field, 100_000).unwrap();
    check_invariants("graded square", &mesh);
    assert!(mesh.quality().least_angle > 25f64.to_radians());
    assert!(mesh.quality().shortest_side < 2e-4);
}

/// A circle that stands on the wall: the fluid ends in two cusps of 0.45 rad.
#[test]
fn sharp_corners_of_the_fluid_stay_and_spoil_nothing_else() {
    let (r, depth) = (0.2f64, 0.02f64);
    let half = (r * r - (r - depth) * (r - depth)).sqrt();
    let s = (-(r - depth)).atan2(half);
    let arc = Curve::Arc { centre: [1.0, r - depth], semi_axes: [r, r], rotation: 0.0, start: s, end: PI - s };
    let (a, b) = (arc.point(1.0), arc.point(0.0));
    let pieces = vec![
        line([0.0, 0.0], a, Side::Wall(Wall::Lower)),
        Piece { curve: arc, from: 1.0, to: 0.0, side: Side::Obstacle(0) },
        line(b, [2.0, 0.0], Side::Wall(Wall::Lower)),
        line([2.0, 0.0], [2.0, 1.0], Side::Outlet),
        line([2.0, 1.0], [0.0, 1.0], Side::Wall(Wall::Upper)),
        line([0.0, 1.0], [0.0, 0.0], Side::Inlet),
    ];
    let obstacles = vec![PlanObstacle { name: String::new(), on_wall: Some(Wall::Lower), height: 0.38 }];
    let plan = Plan { pieces, loops: std::iter::once(0..6).collect(), obstacles };
    let mesh = generate(&plan);
    assert!(mesh.triangles.len() < 3_000, "{}", mesh.triangles.len());
    for triangle in &mesh.triangles {
        let p = triangle.map(|v| mesh.points[v as usize]);
        let least = (0..3).map(|k| angle(p[(k + 2) % 3], p[k], p[(k + 1) % 3])).fold(4.0, f64::min);
        let at_cusp = p.iter().any(|p| p[1] == 0.0 && (p[0] - 1.0).abs() < half + 0.1);
        assert!(least > 25f64.to_radians() || at_cusp, "{} degrees at {p:?}", least.to_degrees());
    }
    let narrow = mesh.quality().histogram[..5].iter().sum::<usize>();
    assert!(narrow <= 8, "{narrow} narrow triangles");
}

fn angle(a: Point, at: Point, b: Point) -> f64 {
    let (u, v) = ([a[0] - at[0], a[1] - at[1]], [b[0] - at[0], b[1] - at[1]]);
    (u[0] * v[1] - u[1] * v[0]).atan2(u[0] * v[0] + u[1] * v[1]).abs()
}

#[test]
fn refined_levels_are_nested_and_stay_on_the_curves() {
    for (name, plan) in plans() {
        let coarse = generate(&plan);
        let (middle, held_back) = coarse.clone().refine_uniform();
        assert_eq!(held_back, 0, "{name}");
        let fine = middle.refined();
        for (mesh, level) in [(&middle, 1usize), (&fine, 2)] {
            check_invariants(name, mesh);
            assert_eq!(mesh.coarser.len(), level);
            assert_eq!(mesh.triangles.len(), coarse.triangles.len() << (2 * level));
            assert_eq!(mesh.parents.len(), mesh.points.len() - mesh.coarser[0].vertices);
            // Circles of 25 edges and more lose little; 10 degrees is what the refinement itself promises.
            assert!(mesh.quality().least_angle > 15f64.to_radians(), "{name}: {}", mesh.quality().least_angle);
        }
        assert_eq!(fine.points[..coarse.points.len()], coarse.points[..]);
        assert_eq!(fine.points[..middle.points.len()], middle.points[..]);
        assert_eq!(fine.coarser[0].triangles, coarse.triangles);
        assert_eq!(fine.coarser[1].triangles, middle.triangles);
        // Inner vertices halve the edge of their parents, which come before them.
        let on_boundary: std::collections::HashSet<u32> = fine.boundary.iter().flat_map(|edge| edge.vertices).collect();
        for (k, &[a, b]) in fine.parents.iter().enumerate() {
            let v = (fine.coarser[0].vertices + k) as u32;
            assert!(a < v && b < v);
            let [p, q, m] = [a, b, v].map(|v| fine.points[v as usize]);
            if !on_boundary.contains(&v) {
                assert_eq!(m, [0.5 * (p[0] + q[0]), 0.5 * (p[1] + q[1])], "{name}");
            }
        }
        for (t, &[a, b, c]) in middle.triangles.iter().enumerate() {
            assert_eq!(
                [fine.triangles[4 * t][0], fine.triangles[4 * t + 1][1], fine.triangles[4 * t + 2][2]],
                [a, b, c]
            );
        }
    }
}

fn brute_force(mesh: &Mesh, p: Point) -> bool {
    mesh.triangles.iter().any(|t| {
        let c = t.map(|v| mesh.points[v as usize]);
        (0..3).all(|k| {
            let (a, b) = (c[k], c[(k + 1) % 3]);
            (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0]) >= 0.0
        })
    })
}

#[test]
fn locator_agrees_with_brute_force() {
    let mesh = generate(&plans().swap_remove(2).1);
    let locator = Locator::new(&mesh);
    let count = mesh.triangles.len() as u32;
    let check = |p: Point, found: Option<(u32, [f64; 3])>| {
        if let Some((t, weights)) = found {
            let c = mesh.triangles[t as usize].map(|v| mesh.points[v as usize]);
            assert!(weights.iter().all(|&w| w >= 0.0));
            for k in 0..2 {
                let x = weights[0] * c[0][k] + weights[1] * c[1][k] + weights[2] * c[2][k];
                // The tolerance outside is 1e-9 of the diagonal, 2.24.
                assert!((x - p[k]).abs() < 3e-9, "{p:?}");
            }
        }
        found.is_some()
    };
    let mut runner = proptest::test_runner::TestRunner::new(ProptestConfig {
        failure_persistence: None,
        ..ProptestConfig::default()
    });
    let strategy = ((-0.1..2.1, -0.1..1.1), 0..count, 0..count);
    runner
        .run(&strategy, |((x, y), hint, t)| {
            let p = [x, y];
            let inside = brute_force(&mesh, p);
            assert_eq!(check(p, locator.find(p, None)), inside, "{p:?}");
            assert_eq!(check(p, locator.find(p, Some(hint))), inside, "{p:?} from {hint}");
            // Vertices, points of edges and points just outside.
            let [a, b, c] = mesh.triangles[t as usize].map(|v| mesh.points[v as usize]);
            for p in [a, [0.5 * (a[0] + b[0]), 0.5 * (a[1] + b[1])], [0.3 * b[0] + 0.7 * c[0], 0.3 * b[1] + 0.7 * c[1]]]
            {
                for hint in [None, Some(hint), Some(u32::MAX)] {
                    assert!(check(p, locator.find(p, hint)), "{p:?}");
                }
            }
            let edge = &mesh.boundary[t as usize % mesh.boundary.len()];
            let [a, b] = edge.vertices.map(|v| mesh.points[v as usize]);
            let length = (b[0] - a[0]).hypot(b[1] - a[1]);
            let outward = [(b[1] - a[1]) / length, (a[0] - b[0]) / length];
            let off = |d: f64| [0.5 * (a[0] + b[0]) + d * outward[0], 0.5 * (a[1] + b[1]) + d * outward[1]];
            assert!(check(off(1e-10), locator.find(off(1e-10), Some(hint))));
            assert!(!check(off(1e-7), locator.find(off(1e-7), Some(hint))) || brute_force(&mesh, off(1e-7)));
            Ok(())
        })
        .unwrap();
    assert_eq!(locator.find([f64::NAN, 0.5], Some(0)), None);
    assert_eq!(locator.find([0.6, 0.5], Some(0)), None, "inside an obstacle");
}

#[test]
fn wall_distance_agrees_with_brute_force() {
    let mesh = generate(&plans().swap_remove(1).1);
    for limit in [0.05, f64::INFINITY] {
        let distances = mesh.wall_distance(limit);
        for (&p, &distance) in mesh.points.iter().zip(&distances) {
            let to_edge = |edge: &BoundaryEdge| {
                let [a, b] = edge.vertices.map(|v| mesh.points[v as usize]);
                let d = [b[0] - a[0], b[1] - a[1]];
                let s = (((p[0] - a[0]) * d[0] + (p[1] - a[1]) * d[1]) / (d[0] * d[0] + d[1] * d[1])).clamp(0.0, 1.0);
                (a[0] + s * d[0] - p[0]).hypot(a[1] + s * d[1] - p[1])
            };
            let solid = mesh.boundary.iter().filter(|edge| !matches!(mesh.side(edge), Side::Inlet | Side::Outlet));
            let exact = solid.map(to_edge).fold(f64::INFINITY, f64::min);
            if exact < limit {
                assert!((distance - exact).abs() < 1e-14, "{p:?}: {distance} {exact}");
            } else {
                assert_eq!(distance, f64::INFINITY);
            }
        }
    }
}

#[test]
fn failures_name_a_remedy() {
    let plan = Arc::new(rectangle(2.0, 1.0));
    let size = SizeField::new(0.01, 0.3, vec![]);
    let text = Mesh::generate(&plan, &size, 1_000).unwrap_err().to_string();
    assert!(text.contains("1000 vertices") && text.contains("remedy"), "{text}");
    let mut crossing = rectangle(2.0, 1.0);
    add_ellipse(&mut crossing, [0.6, 0.5], [0.1, 0.1], 0.0);
    add_ellipse(&mut crossing, [0.7, 0.5], [0.1, 0.1], 0.0);
    let crossing = Arc::new(crossing);
    let size = SizeField::from_plan(&crossing, &SizeOptions::default());
    let text = Mesh::generate(&crossing, &size, 100_000).unwrap_err().to_string();
    assert!(text.contains("cross or touch"), "{text}");
    assert!(Mesh::generate_with_count(&plan, &size, 0).is_err());
    let empty = Arc::new(Plan { pieces: vec![], loops: vec![], obstacles: vec![] });
    assert!(Mesh::generate(&empty, &size, 100).is_err());
    let mut wild = rectangle(2.0, 1.0);
    add_polygon(&mut wild, &[[0.5, 0.5], [f64::NAN, 0.6], [0.6, 0.5]]);
    let wild = Arc::new(wild);
    let size = SizeField::from_plan(&wild, &SizeOptions::default());
    assert!(Mesh::generate(&wild, &size, 100_000).is_err());
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, failure_persistence: None, ..ProptestConfig::default() })]
    #[test]
    fn no_plan_makes_it_panic(
        points in prop::collection::vec(prop::array::uniform2(0.0f64..1.0), 3..9),
        snap in 0usize..3,
        circle in prop::array::uniform3(0.01f64..0.6),
    ) {
        let mut plan = rectangle(1.0, 1.0);
        // Coarse coordinates make coincident corners, collinear sides and contact likely.
        let grid = [1e9, 8.0, 4.0][snap];
        let points: Vec<Point> = points.iter().map(|p| p.map(|x| (x * grid).round() / grid)).collect();
        add_polygon(&mut plan, &points);
        add_ellipse(&mut plan, [circle[0], circle[1]], [circle[2], 0.3 * circle[2]], 1.0);
        let plan = Arc::new(plan);
        let size = SizeField::from_plan(&plan, &SizeOptions { smallest_passage: 1e-2, ..SizeOptions::default() });
        if let Ok(mesh) = Mesh::generate(&plan, &size, 20_000) {
            prop_assert!(mesh.areas().iter().all(|&area| area > 0.0));
            let (fine, _) = mesh.refine_uniform();
            prop_assert!(fine.areas().iter().all(|&area| area > 0.0));
        }
    }
}

#[test]
fn timing() {
    let plan = Arc::new(plans().swap_remove(2).1);
    let size = SizeField::from_plan(&plan, &SizeOptions::default());
    let clock = std::time::Instant::now();
    let lap = |what: &str| println!("{what}: {:?}", clock.elapsed());
    let mesh = Mesh::generate(&plan, &size.scaled(0.14), 10_000_000).unwrap();
    lap(&format!("{} triangles", mesh.triangles.len()));
    let mesh = Mesh::generate(&plan, &size.scaled(0.082), 10_000_000).unwrap();
    lap(&format!("{} triangles", mesh.triangles.len()));
    let sources: Vec<_> = mesh.points.iter().map(|&p| (p, size.at(p))).collect();
    let field = SizeField::new(0.1, 0.3, sources);
    lap("field of all vertices");
    let again = Mesh::generate(&plan, &field.scaled(0.14), 10_000_000).unwrap();
    lap(&format!("{} triangles from that", again.triangles.len()));
    let (fine, _) = mesh.refine_uniform();
    lap(&format!("{} refined", fine.triangles.len()));
    fine.quality();
    lap("quality");
    fine.wall_distance(0.01);
    lap("wall distance 0.01");
    fine.wall_distance(f64::INFINITY);
    lap("wall distance all");
    Locator::new(&fine);
    lap("locator");
}
