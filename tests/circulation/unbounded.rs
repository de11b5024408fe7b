use super::*;
use twinplate::confinement::{Unconfined, unconfined};

fn solve(run: &Run) -> Option<Unconfined> {
    unconfined(&run.case, &run.plan, &run.solved.space, &run.pattern, &|_| {}).unwrap()
}

#[test]
fn explore() {
    for (x, y) in [(0.5, 0.25), (0.4, 0.2)] {
    let a = 0.08;
    for n in [4000, 16000, 64000] {
        let r = run(case(1.0, 0.5, vec![(Shape::Circle { centre: [x, y], diameter: 2.0 * a }, None)]), n);
        let clock = std::time::Instant::now();
        let u = solve(&r).unwrap();
        let space = &r.solved.space;
        let (mut worst, mut before, mut sum, mut area) = (0f64, 0f64, 0.0, 0.0);
        for (v, p) in space.mesh.points.iter().enumerate() {
            let z = [p[0] - x, p[1] - y];
            let w = over([a * a, 0.0], times(z, z));
            let exact = [U * (1.0 - w[0]), U * w[1]];
            let d = distance(u.velocity[v], exact) / U;
            worst = worst.max(d);
            before = before.max(distance(r.pattern.velocity[v], exact) / U);
            let star: f64 = space.stars.of(v).iter().map(|&t| space.area(t as usize)).sum();
            sum += star * d * d;
            area += star;
        }
        println!("n {} widening {} change {:.2e} numerical {:.2e} reached {} worst {:.2e} (confined {:.2e}) rms {:.2e} {:?}",
            space.mesh.triangles.len(), u.widening, u.change, u.numerical_error, u.reached, worst, before, (sum / area as f64).sqrt(), clock.elapsed());
    }
    }
}
