//! Plans for tests of meshes, and what every mesh of them must fulfil.
#![allow(dead_code)]

use std::f64::consts::{PI, TAU};
use std::sync::Arc;
use twinplate::Point;
use twinplate::geometry::Wall;
use twinplate::geometry::{Curve, Piece, Plan, PlanObstacle, Side, TailChoice};
use twinplate::numerics::mesh::{BoundaryEdge, Mesh, NO_TRIANGLE, SizeField, SizeOptions};

pub fn line(from: Point, to: Point, side: Side) -> Piece {
    Piece { curve: Curve::Line { from, to }, from: 0.0, to: 1.0, side }
}

pub fn rectangle(length: f64, width: f64) -> Plan {
    let pieces = vec![
        line([0.0, 0.0], [length, 0.0], Side::Wall(Wall::Lower)),
        line([length, 0.0], [length, width], Side::Outlet),
        line([length, width], [0.0, width], Side::Wall(Wall::Upper)),
        line([0.0, width], [0.0, 0.0], Side::Inlet),
    ];
    Plan { pieces, loops: std::iter::once(0..4).collect(), obstacles: vec![], notes: vec![] }
}

pub fn add_obstacle(plan: &mut Plan, pieces: impl Fn(Side) -> Vec<Piece>) {
    let side = Side::Obstacle(plan.obstacles.len() as u32);
    let start = plan.pieces.len();
    plan.pieces.extend(pieces(side));
    plan.loops.push(start..plan.pieces.len());
    plan.obstacles.push(PlanObstacle {
        name: String::new(),
        on_wall: None,
        height: 0.0,
        tail: TailChoice::Clear,
        bubble: None,
    });
}

pub fn add_ellipse(plan: &mut Plan, centre: Point, semi_axes: [f64; 2], rotation: f64) {
    let curve = Curve::Arc { centre, semi_axes, rotation, start: 0.0, end: TAU };
    add_obstacle(plan, |side| vec![Piece { curve: curve.clone(), from: 1.0, to: 0.0, side }]);
}

pub fn add_polygon(plan: &mut Plan, points: &[Point]) {
    add_obstacle(plan, |side| {
        let ends = points.iter().zip(points.iter().cycle().skip(1));
        ends.map(|(&from, &to)| line(from, to, side)).collect()
    });
}

/// A square of the given side, clockwise, turned by `angle`.
pub fn square(centre: Point, side: f64, angle: f64) -> Vec<Point> {
    let r = side / 2f64.sqrt();
    (0..4)
        .map(|k| angle + PI / 4.0 - PI / 2.0 * f64::from(k))
        .map(|a| [centre[0] + r * a.cos(), centre[1] + r * a.sin()])
        .collect()
}

pub fn plans() -> Vec<(&'static str, Plan)> {
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
    list.push(("ell", Plan { pieces, loops: std::iter::once(0..6).collect(), obstacles: vec![], notes: vec![] }));
    let mut plan = rectangle(2.0, 1.0);
    add_polygon(&mut plan, &[[0.5, 0.5], [0.9, 0.51], [0.9, 0.5]]);
    add_polygon(&mut plan, &[[1.3, 0.02], [1.2, 0.3], [1.4, 0.3]]);
    list.push(("wedge and spike", plan));
    list
}

pub fn generate(plan: &Plan) -> Mesh {
    let plan = Arc::new(plan.clone());
    let size = SizeField::from_plan(&plan, &SizeOptions::default()).unwrap();
    Mesh::generate(&plan, &size, 100_000).unwrap()
}

/// Area of the polygon of the outlines, from the exact area of the plan: ellipses are sampled at known parameters, and the
/// segment between chord and arc over the eccentric angle s has the area ab (s - sin s)/2.
pub fn polygon_area(mesh: &Mesh) -> f64 {
    let exact = |piece: &Piece| match piece.curve {
        Curve::Line { from, to } => 0.5 * (from[0] * to[1] - from[1] * to[0]),
        Curve::Arc { semi_axes, .. } => -PI * semi_axes[0] * semi_axes[1],
        ref other => panic!("these plans have no {other:?}"),
    };
    let plan: f64 = mesh.plan.pieces.iter().map(exact).sum();
    let segment = |edge: &BoundaryEdge| match mesh.plan.pieces[edge.piece as usize].curve {
        Curve::Line { .. } => 0.0,
        Curve::Arc { semi_axes, start, end, .. } => {
            let s = (edge.parameters[1] - edge.parameters[0]).abs() * (end - start);
            0.5 * semi_axes[0] * semi_axes[1] * (s - s.sin())
        }
        ref other => panic!("these plans have no {other:?}"),
    };
    plan + mesh.boundary.iter().map(segment).sum::<f64>()
}

pub fn check_invariants(name: &str, mesh: &Mesh) {
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
