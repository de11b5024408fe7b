use super::*;
use std::f64::consts::PI;
use twinplate::circulation::{Circulation, solve_circulation};
use twinplate::outline::JoukowskiMap;

fn circulation(run: &Run) -> Circulation {
    let Solved { space, pair, .. } = &run.solved;
    solve_circulation(space, pair, run.case.drive.ends, &run.pattern).unwrap().unwrap()
}

fn joukowski(chord: f64, thickness: f64, camber: f64, nose: Point, degrees: f64) -> (Shape, JoukowskiMap) {
    let angle = degrees.to_radians();
    let shape = Shape::Joukowski { chord, thickness, camber, nose, angle };
    (shape, JoukowskiMap::section(chord, thickness, camber, nose, angle).unwrap())
}

/// Gamma = 4 pi U R sin(alpha + beta) clockwise in an unbounded stream along +x (Milne-Thomson, Theoretical Aerodynamics): R the
/// radius of the circle in the plane of the section, alpha the angle of the stream in the plane of zeta, -beta the angle at
/// which the tail is seen from the centre.
fn exact(map: &JoukowskiMap) -> f64 {
    let scale = map.factor[0].hypot(map.factor[1]);
    let radius = [1.0 - map.centre[0], -map.centre[1]];
    let alpha = -map.factor[1].atan2(map.factor[0]);
    let beta = -radius[1].atan2(radius[0]);
    4.0 * PI * U * scale * radius[0].hypot(radius[1]) * (alpha + beta).sin()
}

#[test]
fn explore() {
    for (t, f, deg) in [(0.12, 0.0, 6.0), (0.12, 0.04, 3.0), (0.15, 0.0, 0.0)] {
        for width in [0.8, 1.6, 3.2] {
            let (shape, map) = joukowski(0.1, t, f, [width - 0.05, 0.5 * width], deg);
            for n in [8000, 32000] {
                let r = run(case(2.0 * width, width, vec![(shape.clone(), None)]), n);
                let c = circulation(&r);
                let s = &c.sections[0];
                println!(
                    "t {t} f {f} deg {deg} W/c {} n {} gamma/exact {:.6} gamma/Uc {:.3e} spread {:.1e} wake {:?} front {:?} rear {:?}",
                    width / 0.1, r.solved.space.mesh.triangles.len(), s.kutta_circulation / exact(&map),
                    s.kutta_circulation / (U * 0.1),
                    s.circulation_spread / (U * 0.1),
                    s.tail_angle_difference.map(f64::to_degrees), s.front_stagnation, s.rear_stagnation
                );
            }
        }
    }
}
