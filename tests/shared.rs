//! Runs that share what was solved: to the same bits as by themselves, with no solve of their own, and by the powers of each effect.

use std::sync::Arc;
use twinplate::geometry::Plan;
use twinplate::input::case::{Case, DriveQuantity, Ends, Gap};
use twinplate::study::{Budget, Settings, Shared, Study, Wanted, read, solve_decided_with};
use twinplate::theory::circulation::{sharp_tails, solve_circulation};
use twinplate::theory::confinement::unconfined;
use twinplate::theory::edge_layer::solve_edge_layer;
use twinplate::theory::ideal::{Goal, Pattern, solve_pair};
use twinplate::theory::inertia::{Setting, solve_inertia};

fn demo(name: &str) -> (Case, Arc<Plan>) {
    read(format!("{}/meshes/{name}.toml", env!("CARGO_MANIFEST_DIR")).as_ref()).unwrap()
}

fn with_all(triangles: Option<usize>) -> Settings {
    Settings { goal: triangles.map(Goal::Triangles), inertia: true, edge_layer: true }
}

/// The same cell with another drive, fluid and tolerance, without probes and sweep.
fn other(case: &Case, speed: f64) -> Case {
    let mut other = case.at_mean_speed(speed);
    (other.fluid.density, other.fluid.viscosity) = (1130.0, 7.3e-3);
    other.tolerance.speed *= 0.3;
    (other.probes, other.lines, other.sweep) = Default::default();
    other
}

/// All that a run tells: rows, streaklines, fields; numbers as texts that tell every bit.
fn told(study: &Study, budget: Budget) -> String {
    let found = study.find_with(Some(budget), Wanted { departure: true, ..Wanted::default() }, &|_| {}).unwrap();
    let fields = study.fields(&found);
    let fields = (fields.vertices.iter(), fields.triangles.iter());
    let shown: Vec<String> = fields.0.chain(fields.1).map(|field| format!("{field:?}")).collect();
    format!("{:?}\n{:?}\n{shown:?}", study.report(&found), study.lines)
}

fn run(case: &Case, plan: &Arc<Plan>, settings: Settings, shared: &Shared) -> String {
    let (study, budget) = solve_decided_with(case, plan, settings, shared, &|_| {}).unwrap();
    told(&study, budget)
}

#[test]
fn a_run_beside_others_tells_the_same_as_by_itself() {
    for (name, triangles) in [("keel_section", None), ("tapered_gap", Some(6_000)), ("pier_with_bubble", Some(6_000))] {
        let (case, plan) = demo(name);
        let settings = with_all(triangles);
        let alone = run(&case, &plan, settings, &Shared::new(1));
        let shared = Shared::new(4);
        let first = run(&other(&case, 3.7e-3), &plan, settings, &shared);
        let made = shared.made();
        let beside = run(&case, &plan, settings, &shared);
        assert!(first != beside && alone.len() > 100_000, "{name}");
        // told by hand where it differs: the texts are long
        let differs = alone.bytes().zip(beside.bytes()).position(|(a, b)| a != b);
        assert_eq!(differs.map(|at| (&alone[at..at + 80], &beside[at..at + 80])), None, "{name}");
        assert_eq!(alone.len(), beside.len(), "{name}");
        assert!(made >= 2 && shared.made() == made, "{name}: {made} {}", shared.made());
    }
}

/// Ten speeds by each of the drives, in fluids of their own and on threads of their own: one mesh. Another gap, other ends, another goal are
/// others, and of two that do not both fit one is solved again.
#[test]
fn ten_speeds_are_solved_once() {
    let (case, plan) = demo("two_piers");
    let settings = Settings { goal: Some(Goal::Triangles(2_000)), inertia: true, ..Settings::default() };
    let shared = Shared::new(4);
    let solve = |case: &Case, settings: Settings, shared: &Shared| {
        Study::solve_with(case.clone(), plan.clone(), settings, shared, &|_| {}).unwrap()
    };
    std::thread::scope(|scope| {
        for k in 1..=10 {
            let mut case = other(&case, 1e-3 * f64::from(k));
            if k % 2 == 0 {
                case.drive.quantity = DriveQuantity::PressureDrop(f64::from(k));
            }
            let (shared, solve) = (&shared, &solve);
            scope.spawn(move || solve(&case, settings, shared));
        }
    });
    assert_eq!(shared.made(), 1);
    let mut ends = case.clone();
    ends.drive.ends = match ends.drive.ends {
        Ends::HeldPressure => Ends::GivenInflow,
        Ends::GivenInflow => Ends::HeldPressure,
    };
    let thicker = case.in_gap(Gap::Uniform(1.1e-3));
    let finer = Settings { goal: Some(Goal::Triangles(3_000)), ..settings };
    for (case, settings, made) in
        [(&ends, settings, 2), (&thicker, settings, 3), (&case, finer, 4), (&case, settings, 4)]
    {
        solve(case, settings, &shared);
        assert_eq!(shared.made(), made);
    }
    let one = Shared::new(1);
    for (case, made) in [(&case, 1), (&case, 1), (&thicker, 2), (&case, 3)] {
        solve(case, settings, &one);
        assert_eq!(one.made(), made);
    }
}

/// Everything goes by powers from the unit state: the same solved at the state itself. Meshes of one level are factorised, so that both are
/// good to rounding, times what the matrix makes of it, some 1e4; the wide cells of the unconfined pattern are iterated to 1e-5.
#[test]
fn every_part_scales_from_the_unit_state_as_it_would_be_solved() {
    for (name, triangles) in [("keel_section", 5_000), ("tapered_gap", 5_000), ("two_piers", 5_000)] {
        let (case, plan) = demo(name);
        let case = other(&case, 2.9e-3);
        let study = Study::solve(case, plan, with_all(Some(triangles)), &|_| {}).unwrap();
        let (space, pair, case) = (&study.solved.space, &study.solved.pair, &study.case);
        assert!(space.mesh.coarser.is_empty());
        let (operator, ends, fluid) = (&pair.pressure_operator, case.drive.ends, &case.fluid);
        let pattern = &study.pattern;
        let scaled = study.edge_layer.as_ref().unwrap();
        let layer = solve_edge_layer(space, operator, ends, pattern, case.cell.inlet_width()).unwrap();
        near(&scaled.pressure, &layer.pressure, 1e-10, "p of the edge layer");
        near_vectors(&scaled.velocity, &layer.velocity, 1e-10, "V of the edge layer");
        near(&[scaled.mean_speed, scaled.shape_factor], &[layer.mean_speed, layer.shape_factor], 1e-12, "its mean");

        let setting = Setting { space, operator, ends, fluid };
        let direct = solve_inertia(space, operator, ends, fluid, &pattern.velocity, &layer.velocity).unwrap();
        let direct = direct.with_next_edge_term(&setting, &layer.change_at_speed(pattern)).unwrap();
        let direct = direct.with_second_order(&setting).unwrap();
        let scaled = study.inertia.as_ref().unwrap();
        for (what, a, b) in [
            ("q1", &scaled.potential, &direct.potential),
            ("p1", &scaled.pressure, &direct.pressure),
            ("spreading", &scaled.spreading, &direct.spreading),
            ("number", &scaled.number, &direct.number),
            ("rising", &scaled.rising(), &direct.rising()),
        ] {
            near(a, b, 1e-8, what);
        }
        for (what, a, b) in [
            ("V1", &scaled.correction, &direct.correction),
            ("edge part", &scaled.edge_part, &direct.edge_part),
            ("N", &scaled.acceleration, &direct.acceleration),
            ("next N", &scaled.next_acceleration, &direct.next_acceleration),
            ("layer", &scaled.layer(0.3), &direct.layer(0.3)),
            ("turning", &scaled.turning(), &direct.turning()),
        ] {
            near_vectors(a, b, 1e-8, what);
        }
        assert_eq!(scaled.next_part.is_some(), space.uniform_gap());
        if let (Some(a), Some(b)) = (&scaled.next_part, &direct.next_part) {
            near_vectors(a, b, 1e-8, "next part");
        }
        if let (Some(a), Some(b)) = (&scaled.second, &direct.second) {
            near_vectors(&a.correction, &b.correction, 1e-8, "V2");
            near_vectors(&a.edge_part, &b.edge_part, 1e-8, "edge part of V2");
            near_vectors(&a.bending, &b.bending, 1e-8, "bending");
            near_vectors(&a.stretching, &b.stretching, 1e-8, "stretching");
        }
        assert_eq!(scaled.band_sensitivity.is_some(), name == "keel_section");
        if let (Some(a), Some(b)) = (scaled.band_sensitivity, direct.band_sensitivity) {
            near(&[a], &[b], 1e-8, "bands");
        }

        let budget = study.budget(&|_| {}).unwrap();
        let tails = sharp_tails(space).found;
        let direct = solve_circulation(space, &tails, pair, ends, pattern).unwrap();
        assert_eq!(direct.is_some(), name == "keel_section");
        for (a, b) in budget.circulation.iter().zip(&direct) {
            near_vectors(&a.velocity, &b.velocity, 1e-10, "V with circulation");
            near(&a.stream_function, &b.stream_function, 1e-10, "its stream function");
            let numbers = |c: &twinplate::theory::circulation::Circulation| {
                let s = &c.sections[0];
                [s.kutta_circulation, s.lift_coefficient].map(|x| x / s.kutta_circulation.abs().max(1e-30))[1]
                    + s.lift_per_span / (s.kutta_circulation * fluid.density * pattern.drive.mean_speed)
            };
            near(&[numbers(a)], &[numbers(b)], 1e-9, "its numbers");
        }
        let free = unconfined(case, &study.plan, space, pattern, &|_| {}).unwrap().unwrap();
        let confined = budget.contributions.last().unwrap();
        assert_eq!(confined.effect.key(), "confinement");
        let ideal = if space.uniform_gap() {
            pattern.velocity.clone()
        } else {
            let gap = Gap::Uniform(space.reference_gap);
            let flat = twinplate::numerics::fem::Space::new(space.mesh.clone(), &gap, space.reference_gap);
            let pair = solve_pair(&flat, ends, pattern.shape_factor.relative_half_width).unwrap();
            Pattern::new(&flat, &pair, &case.in_gap(gap).at_mean_speed(pattern.drive.mean_speed), 1.0).velocity
        };
        let departure: Vec<[f64; 2]> =
            ideal.iter().zip(&free.velocity).map(|(v, w)| [v[0] - w[0], v[1] - w[1]]).collect();
        near_vectors(&confined.parts[0].gap_mean, &departure, 1e-5, "confinement");
    }
}

/// Alike within a part of their largest.
fn near(a: &[f64], b: &[f64], within: f64, what: &str) {
    let largest = b.iter().fold(0.0, |most: f64, x| most.max(x.abs()));
    let apart = a.iter().zip(b).fold(0.0, |most: f64, (x, y)| most.max((x - y).abs()));
    assert!(a.len() == b.len() && apart <= within * largest, "{what}: {apart:e} of {largest:e}");
}

fn near_vectors(a: &[[f64; 2]], b: &[[f64; 2]], within: f64, what: &str) {
    near(a.as_flattened(), b.as_flattened(), within, what);
}
