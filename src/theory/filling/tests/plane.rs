//! Plane fronts in one dimension, a port, and front pressures that vary.

use super::*;
use crate::numerics::fem::Levels;

/// Volume against its law: linear elements are off by |x²/2 − I| ≤ h²/8, that is h²/(8 x) in x.
#[test]
fn a_plane_front_goes_as_the_root_of_time() {
    let h = 1.0 / 40.0;
    let space = space(columns(&even(1.0, 40), &even(0.1, 4)));
    let times: Vec<f64> = (1..=9).map(|k| 0.05 * f64::from(k) / (mobility() * DROP)).collect();
    let filling = filled(&setup(&space, Snapshots::Times(times.clone())));
    for (moment, time) in filling.snapshots.iter().zip(times) {
        let impulse = mobility() * DROP * time;
        let x = laws::plane(impulse);
        let volume = moment.wet_volume_m3 / (0.1 * GAP);
        assert!((volume - x).abs() <= h * h / (8.0 * x) + 1e-12, "{volume} {x}");
        assert!((volume - moment.wet_area_m2 / 0.1).abs() < 1e-12);
        assert!((moment.impulse_m2 - impulse).abs() < 1e-14 && moment.outflow_m3 == 0.0);
        // at unit width and gap the flow is 1/x of the first dry column, which stands within h of the front
        assert!((moment.conductance * x / 0.1 - 1.0).abs() < h / x, "{}", moment.conductance);
        // the line of the front, fitted to √(2 w): w is off by h²/8 at most
        let line: Vec<f64> = moment.front.iter().flatten().map(|p| p[0]).collect();
        assert!(!line.is_empty() && line.iter().all(|at| (at - x).abs() < 0.3 * h), "{x}: {line:?}");
    }
    assert!(filling.mass_residual < 1e-13 && filling.moment_residual.unwrap() < 1e-12);
}

/// At a given flow x = U t to h²/8 x, and the pressure of the inlet 12 μ U x/b² to a column.
#[test]
fn at_a_given_flow_a_plane_front_goes_evenly() {
    let h = 1.0 / 40.0;
    let space = space(columns(&even(1.0, 40), &even(0.1, 4)));
    let speed = 2e-3;
    let times: Vec<f64> = (1..=9).map(|k| 0.1 * f64::from(k) / speed).collect();
    let case = Setup { drive: Drive::Flow(speed * 0.1 * GAP), ..setup(&space, Snapshots::Times(times.clone())) };
    let filling = filled(&case);
    for (moment, time) in filling.snapshots.iter().zip(times) {
        let x = speed * time;
        assert!((moment.wet_volume_m3 / (0.1 * GAP) / x - 1.0).abs() < 1e-11);
        assert!((moment.time_s / time - 1.0).abs() < 1e-11);
        assert!((moment.inlet_pressure_pa / (speed * x / mobility()) - 1.0).abs() < h / x);
        // x²/2 = I to h²/8
        assert!((moment.impulse_m2 - 0.5 * x * x).abs() <= h * h / 8.0 + 1e-12);
    }
    for (p, arrival) in space.mesh.points.iter().zip(&filling.arrival).filter(|(p, _)| p[0] < 0.85) {
        assert!((arrival * speed - p[0]).abs() < 0.5 * h, "{p:?} {arrival}");
    }
}

/// A port in the middle of a square, while its front is a circle. Area: second order in h, and the rim of 48 chords, r0² (1 − sin(α)/α)/2 of
/// it, α = 2 π/48, is 0.3 % of its disc; in r² that shift is below 1 % of r0².
#[test]
fn a_port_fills_circles() {
    let (at, r0) = ([0.5, 0.5], 0.05);
    let port = Port { at, diameter: 2.0 * r0 };
    let plan = box_plan(1.0, 1.0, &[]);
    let field = SizeField::new(0.02, 0.2, port.sizes());
    let mesh = port.resolved(&Mesh::generate(&plan, &field, 100_000).unwrap());
    let rim = mesh.points.iter().filter(|p| (crate::base::plane::distance(**p, at) - r0).abs() < 1e-12).count();
    assert!(rim >= 40, "{rim}");
    let space = space(mesh);
    let radii = [0.1, 0.2, 0.3, 0.4];
    let impulses = radii.map(|r| laws::port(r, r0)).to_vec();
    let case = Setup { source: Source::Port(port), ..setup(&space, Snapshots::Impulses(impulses)) };
    let filling = filled(&case);
    for (moment, r) in filling.snapshots.iter().zip(radii) {
        let found = (moment.wet_area_m2 / std::f64::consts::PI).sqrt();
        assert!((found / r - 1.0).abs() < 3e-3, "{found} {r}");
        let drop = moment.conductance * (r / r0).ln() / std::f64::consts::TAU;
        assert!((drop - 1.0).abs() < 0.05, "{drop}");
        // the line of the front, to half a side of the triangles
        for p in moment.front.iter().flatten() {
            assert!((crate::base::plane::distance(*p, at) - r).abs() < 0.5 * 0.02, "{p:?} {r}");
        }
    }
    // a given flow: π (r² − r0²) b = Q t
    let (flow, r) = (1e-7, 0.3);
    let time = std::f64::consts::PI * (r * r - r0 * r0) * GAP / flow;
    let drive = Drive::Flow(flow);
    let filling = filled(&Setup { drive, snapshots: Snapshots::Times(vec![time]), ..case.clone() });
    let found = (filling.snapshots[0].wet_area_m2 / std::f64::consts::PI).sqrt();
    assert!((found / r - 1.0).abs() < 1e-3, "{found}");
    assert!((filling.snapshots[0].time_s / time - 1.0).abs() < 1e-9, "{}", filling.snapshots[0].time_s);
    // too small for the mesh
    let small = Setup { source: Source::Port(Port { at: [0.91, 0.91], diameter: 1e-3 }), ..case };
    assert!(fill(&small, &|_| ()).unwrap_err().to_string().contains("no triangle lies in the port"));
}

/// A step of the gap within one column, 1e-4 long: its resistance is that of a straight gap, 1e-4 of the first part's and less than 1e-3 in time.
#[test]
fn two_gaps_in_line_slow_a_front() {
    let (l, b1, b2) = (0.4, 1e-3, 0.7e-3);
    let mut xs = even(l, 40);
    xs.extend((0..=60).map(|k| l + 1e-4 + (0.6 - 1e-4) * f64::from(k) / 60.0));
    let mut space = space(columns(&xs, &even(0.1, 4)));
    space.gap = space.mesh.points.iter().map(|p| if p[0] <= l { b1 } else { b2 }).collect();
    space.gap_slope = vec![[0.0; 2]; space.gap.len()];
    let ratio: Vec<f64> = space.gap.iter().map(|b| b / GAP).collect();
    space.levels = Levels::assemble(&space.mesh, &space.stars, Some(&ratio));
    for x in [0.55, 0.8, 0.95] {
        let time = laws::two_gaps(x, l, [b1, b2], VISCOSITY, DROP);
        let filling = filled(&setup(&space, Snapshots::Times(vec![time])));
        let volume = filling.snapshots[0].wet_volume_m3 / 0.1;
        let found = l + (volume - l * b1) / b2;
        assert!((found - x).abs() < 1e-3, "{found} {x}");
    }
}

fn wedge(slope: f64, parts: usize) -> Space {
    let gap = Gap::Linear { at: GAP, slope: [slope, 0.0], middle: [0.0, 0.0] };
    Space::new(Arc::new(columns(&even(1.0, parts), &even(0.1, 4))), &gap, GAP)
}

/// Place of the front that holds a volume in a gap b0 + a x.
fn place(volume: f64, a: f64) -> f64 {
    let v = volume / 0.1;
    2.0 * v / (GAP + (GAP * GAP + 2.0 * a * v).sqrt())
}

/// Second order in h, as with an even gap: the last column's volume and resistance differ by |a| h/b from even ones.
#[test]
fn a_gap_that_narrows_in_a_straight_line() {
    let a = -0.4e-3;
    let space = wedge(a, 50);
    for x in [0.3, 0.6, 0.9] {
        let time = laws::linear_gap(x, GAP, a, VISCOSITY, DROP);
        let filling = filled(&setup(&space, Snapshots::Times(vec![time])));
        let found = place(filling.snapshots[0].wet_volume_m3, a);
        assert!((found - x).abs() < 1e-3, "{found} {x}");
        assert!(filling.mass_residual < 1e-13 && filling.moment_residual.unwrap() < 1e-12);
    }
    assert!(
        (laws::plane_against(0.9, GAP, a, VISCOSITY, |_| DROP) / laws::linear_gap(0.9, GAP, a, VISCOSITY, DROP) - 1.0)
            .abs()
            < 1e-12
    );
}

/// With capillarity the error is that of the steps, first order: 40 of them leave less than 1/40 of the change of the front's pressure over the
/// drop, times the length, and four times as many a quarter of it.
#[test]
fn capillarity_in_a_gap_that_narrows() {
    let a = -0.4e-3;
    let space = wedge(a, 80);
    let water = Meniscus { tension: 0.0727, angle: 0.0, density: 998.2, slope: [0.0, 0.0] };
    let drop = |x: f64| DROP + 2.0 * 0.0727 / (GAP + a * x);
    let x = 0.9;
    let time = laws::plane_against(x, GAP, a, VISCOSITY, drop);
    let mut before = f64::INFINITY;
    for steps in [10, 40, 160] {
        let front = FrontPressure::Varying { front: water.front(&space), vent: water.vent(&space), steps };
        let filling = filled(&Setup { front, ..setup(&space, Snapshots::Times(vec![time])) });
        let error = (place(filling.snapshots[0].wet_volume_m3, a) - x).abs();
        assert!(error < 0.4 / steps as f64 && error < 0.6 * before, "{steps}: {error}");
        assert!(filling.mass_residual < 1e-13, "{}", filling.mass_residual);
        before = error;
    }
}

#[test]
fn uphill_the_front_slows_and_stops() {
    let space = space(columns(&even(1.0, 80), &even(0.1, 4)));
    let rise: f64 = -0.008;
    let water = Meniscus { tension: 0.0, angle: 0.0, density: 998.2, slope: [rise, 0.0] };
    let weight = -998.2 * crate::base::units::GRAVITY * rise;
    let (front, vent) = (water.front(&space), water.vent(&space));
    let at = |drop: f64, time: f64, steps: usize| {
        let front = FrontPressure::Varying { front: front.clone(), vent: vent.clone(), steps };
        let times = Snapshots::Times(vec![time]);
        let filling = filled(&Setup { front, drive: Drive::Pressure(drop), ..setup(&space, times) });
        filling.snapshots[0].wet_volume_m3 / (0.1 * GAP)
    };
    let time = laws::uphill(0.7, mobility(), DROP, weight);
    let found = [at(DROP, time, 40), at(DROP, time, 160)].map(|x| (x - 0.7).abs());
    assert!(found[0] < 0.4 / 40.0 && found[1] < 0.4 * found[0] + 1e-4, "{found:?}");
    // the same on triangles that stand in no columns: the front's pressure is taken within a side, 0.02 of 1, and no number of steps stands out
    let plan = box_plan(1.0, 0.2, &[]);
    let other = super::space(Mesh::generate(&plan, &SizeField::new(0.02, 0.3, vec![]), 100_000).unwrap());
    for steps in [20, 40, 100] {
        let front = FrontPressure::Varying { front: water.front(&other), vent: water.vent(&other), steps };
        let filling = filled(&Setup { front, ..setup(&other, Snapshots::Times(vec![time])) });
        let x = filling.snapshots[0].wet_volume_m3 / (0.2 * GAP);
        assert!((x - 0.7).abs() < 0.4 / steps as f64 && filling.pockets.is_empty(), "{steps}: {x}");
    }
    // half of the head that it takes to get to the end: it stops where the heights are equal, to a column
    let half = at(0.5 * weight, 1e5, 60);
    assert!((half - 0.5).abs() < 1.0 / 80.0, "{half}");
    assert!(water.is_stable(GAP, VISCOSITY, [1e-6, 0.0]));
    let down = Meniscus { slope: [-rise, 0.0], ..water };
    let speed = down.running_speed(GAP, VISCOSITY, [1.0, 0.0]);
    assert!((speed / (weight * mobility()) - 1.0).abs() < 1e-12);
    assert!(
        down.is_stable(GAP, VISCOSITY, [1.01 * speed, 0.0]) && !down.is_stable(GAP, VISCOSITY, [0.99 * speed, 0.0])
    );
}

/// Plates that repel: nothing enters below 2 γ |cos θ|/b, and the message says so.
#[test]
fn what_cannot_enter_is_told_the_pressure() {
    let space = space(columns(&even(1.0, 10), &even(0.1, 2)));
    let wax = Meniscus { tension: 0.0727, angle: 110f64.to_radians(), density: 998.2, slope: [0.0, 0.0] };
    let front = wax.front(&space);
    let needed = 2.0 * 0.0727 * 110f64.to_radians().cos().abs() / GAP;
    assert!((front[0] - needed).abs() < 1e-12);
    let varying = FrontPressure::Varying { front, vent: wax.vent(&space), steps: 4 };
    for (part, enters) in [(0.99, false), (1.01, true)] {
        let drive = Drive::Pressure(part * needed);
        for front in [FrontPressure::Uniform(needed), varying.clone()] {
            let case = Setup { drive, front, ..setup(&space, Snapshots::Times(vec![1.0])) };
            let answer = fill(&case, &|_| ());
            assert_eq!(answer.is_ok(), enters);
            if let Err(error) = answer {
                assert!(error.to_string().contains(&format!("{needed}")), "{error}");
            }
        }
    }
    let none = Setup { drive: Drive::Flow(-1e-9), ..setup(&space, Snapshots::Count(3)) };
    assert!(fill(&none, &|_| ()).unwrap_err().to_string().contains("draining"));
    for snapshots in [Snapshots::Count(0), Snapshots::Times(vec![2.0, 1.0]), Snapshots::Impulses(vec![0.0])] {
        assert!(fill(&setup(&space, snapshots), &|_| ()).is_err());
    }
}

/// The steps of a front pressure that happens to be the same everywhere give the exact shapes, however many.
#[test]
fn steps_agree_with_the_obstacle_problem() {
    let space = post(0.1, 0);
    let n = space.mesh.points.len();
    let time = 0.5 / (mobility() * DROP);
    let one = filled(&setup(&space, Snapshots::Times(vec![time])));
    for (steps, drive) in [(1, Drive::Pressure(DROP)), (7, Drive::Pressure(DROP)), (5, Drive::Flow(1e-6))] {
        let front = FrontPressure::Varying { front: vec![0.0; n], vent: vec![0.0; n], steps };
        let time = if let Drive::Flow(q) = drive { one.snapshots[0].inflow_m3 / q } else { time };
        let other = filled(&Setup { front, drive, ..setup(&space, Snapshots::Times(vec![time])) });
        let pairs = one.snapshots[0].fill.iter().zip(&other.snapshots[0].fill);
        let worst = pairs.map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
        assert!(worst < 1e-9, "{steps}: {worst}");
        assert!((other.snapshots[0].impulse_m2 / 0.5 - 1.0).abs() < 1e-9);
    }
}
