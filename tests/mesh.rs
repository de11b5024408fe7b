//! Meshes of plans whose area, topology and outlines are known exactly.

use std::f64::consts::{PI, TAU};
use std::sync::Arc;
use twinplate::Point;
use twinplate::case::Wall;
use twinplate::mesh::{Mesh, SizeField};
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

#[test]
fn first() {
    let mut plan = rectangle(2.0, 1.0);
    add_ellipse(&mut plan, [0.6, 0.45], [0.14, 0.14], 0.0);
    let plan = Arc::new(plan);
    let size = SizeField::new(
        0.08,
        0.3,
        (0..30)
            .map(|k| {
                let a = TAU * f64::from(k) / 30.0;
                ([0.6 + 0.14 * a.cos(), 0.45 + 0.14 * a.sin()], 0.03)
            })
            .collect(),
    );
    for f in [1.0, 0.25, 0.1] {
        let t = std::time::Instant::now();
        let mesh = Mesh::generate(&plan, &size.scaled(f), 1_000_000).unwrap();
        println!("{} triangles {} vertices {:?}", mesh.triangles.len(), mesh.points.len(), t.elapsed());
        if let Ok(path) = std::env::var("DUMP") {
            use std::io::Write;
            let mut f = std::fs::File::create(format!("{path}{f}")).unwrap();
            for t in &mesh.triangles {
                let p = t.map(|v| mesh.points[v as usize]);
                writeln!(f, "{} {} {} {} {} {}", p[0][0], p[0][1], p[1][0], p[1][1], p[2][0], p[2][1]).unwrap();
            }
        }
    }
}
