//! Meshes of plans whose area, topology and outlines are known exactly.

use std::f64::consts::{PI, TAU};
use std::sync::Arc;
use twinplate::Point;
use twinplate::case::Wall;
use twinplate::mesh::{Mesh, SizeField, SizeOptions};
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

#[test]
fn first() {
    for (name, plan) in plans() {
        let plan = Arc::new(plan);
        let t = std::time::Instant::now();
        let size = SizeField::from_plan(&plan, &SizeOptions::default());
        let t1 = t.elapsed();
        for f in [1.0, 3.0, 0.25] {
            let size = size.scaled(f);
            let est = size.estimate_triangles(&plan).unwrap();
            let t = std::time::Instant::now();
            let mesh = match Mesh::generate(&plan, &size, 1_000_000) {
                Ok(m) => m,
                Err(e) => {
                    println!("{name} {f} {e}");
                    continue;
                }
            };
            println!(
                "{name} {f}: sources {} in {t1:?}; {} triangles, {} expected {:?}",
                size.sources().len(),
                mesh.triangles.len(),
                est.round(),
                t.elapsed()
            );
            if let Ok(path) = std::env::var("DUMP") {
                use std::io::Write;
                let mut f = std::fs::File::create(format!("{path}{}_{f}", name.replace(' ', "_"))).unwrap();
                for t in &mesh.triangles {
                    let p = t.map(|v| mesh.points[v as usize]);
                    writeln!(f, "{} {} {} {} {} {}", p[0][0], p[0][1], p[1][0], p[1][1], p[2][0], p[2][1]).unwrap();
                }
            }
        }
    }
}
