use std::sync::Arc;
use twinplate::case::*;
use twinplate::fem::Space;
use twinplate::ideal::*;
use twinplate::mesh::*;
use twinplate::outline::*;

fn plan(length: f64, width: f64, circles: &[([f64; 2], f64)]) -> Plan {
    let c = [[0.0, 0.0], [length, 0.0], [length, width], [0.0, width]];
    let sides = [Side::Wall(Wall::Lower), Side::Outlet, Side::Wall(Wall::Upper), Side::Inlet];
    let mut pieces: Vec<Piece> = (0..4)
        .map(|k| Piece { curve: Curve::Line { from: c[k], to: c[(k + 1) % 4] }, from: 0.0, to: 1.0, side: sides[k] })
        .collect();
    let mut loops = vec![0..4];
    let mut obstacles = vec![];
    for (k, (centre, r)) in circles.iter().enumerate() {
        pieces.push(Piece {
            curve: Curve::Arc {
                centre: *centre,
                semi_axes: [*r, *r],
                rotation: 0.0,
                start: 0.0,
                end: 2.0 * std::f64::consts::PI,
            },
            from: 1.0,
            to: 0.0,
            side: Side::Obstacle(k as u32),
        });
        loops.push(pieces.len() - 1..pieces.len());
        obstacles.push(PlanObstacle { name: "post".into(), on_wall: None, height: 2.0 * r });
    }
    Plan { pieces, loops, obstacles }
}

#[test]
fn channel() {
    let (w, l, d) = (1.0, 6.0, 0.5);
    let plan = Arc::new(plan(l, w, &[([l / 2.0, w / 2.0], d / 2.0)]));
    let exact = w / (l + 0.494479592 * w);
    let mut previous = 0.0;
    for ends in [Ends::HeldPressure, Ends::GivenInflow] {
        for k in 0..4 {
            let h = 0.08 / 2f64.powi(k);
            let sources = (0..64)
                .map(|i| {
                    let a = i as f64 * 0.0981747704;
                    ([l / 2.0 + 0.25 * a.cos(), 0.5 + 0.25 * a.sin()], h)
                })
                .collect();
            let size = SizeField::new(0.1 / 2f64.powi(k) * 2.0, 0.2, sources);
            let t = std::time::Instant::now();
            let mesh = Mesh::generate(&plan, &size, 1_000_000).unwrap();
            let t1 = t.elapsed();
            let space = Space::new(Arc::new(mesh), &Gap::Uniform(1e-3), 1e-3);
            let pair = solve_pair(&space, ends, 1e-3).unwrap();
            let t2 = t.elapsed();
            let sum: f64 = pair.bracket_density.iter().sum();
            // shoulder
            let top = space
                .mesh
                .points
                .iter()
                .enumerate()
                .min_by(|a, b| {
                    let f = |p: &[f64; 2]| (p[0] - l / 2.0).hypot(p[1] - 0.75);
                    f(a.1).total_cmp(&f(b.1))
                })
                .unwrap();
            let [gp, gs] = space.recovery().gradients(space.conserved(3.0), [&pair.pressure, &pair.stream]);
            let s = 0.5 * (pair.lower + pair.upper);
            let (vp, vs) = (-gp[top.0][0] * w / s, gs[top.0][1] * w);
            println!(
                "{ends:?} n {} [{:.7} {:.7}] exact {exact:.7} hw {:.2e} sumdiff {:.1e} | top {:?} vp {:.5} vs {:.5} avg err {:.2e} ratio {:.2} | {t1:?} {t2:?}",
                space.mesh.triangles.len(),
                pair.lower,
                pair.upper,
                (pair.upper - pair.lower) / 2.0 / s,
                sum - (pair.upper - pair.lower),
                top.1,
                vp,
                vs,
                0.5 * (vp + vs) - 2.58949469,
                previous / (0.5 * (vp + vs) - 2.58949469)
            );
            previous = 0.5 * (vp + vs) - 2.58949469;
        }
    }
}
