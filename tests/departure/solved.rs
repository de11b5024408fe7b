//! The departure budget: measures against exact fields of a post, scaling, verdict, files.

use std::sync::Arc;
use twinplate::geometry::Plan;
use twinplate::input::case::parse;
use twinplate::report::{Folder, Others};
use twinplate::study::{Settings, Study, Wanted};
use twinplate::theory::departure::{Effect, Measure, Scale, View};
use twinplate::theory::edge_layer::DISPLACEMENT;
use twinplate::theory::ideal::Goal;

const POST: &str = "[cell]\nlength = 2\nwidth = 2\ngap = 0.005\n[fluid]\ndensity = 1000\nviscosity = 1e-3\n[drive]\n\
                    mean_speed = 1e-3\nends = \"given-inflow\"\n[[obstacle]]\ncircle = { centre = [1, 1], diameter = 0.1 }\n";

fn solve(text: &str, triangles: usize) -> Study {
    let case = parse(text, "case.toml".as_ref()).into_result().unwrap();
    let mut problems = twinplate::base::error::Problems::default();
    let plan = Arc::new(Plan::new(&case, &mut problems).unwrap());
    let goal = Some(Goal::Triangles(triangles));
    let settings = Settings { goal, inertia: true, edge_layer: true };
    Study::solve(case, plan, settings, &|_| {}).unwrap()
}

#[test]
fn the_edge_layer_of_a_post_is_measured_as_its_dipole() {
    let study = solve(POST, 40_000);
    let budget = study.budget(&|_| {}).unwrap();
    let (a, b) = (0.05, 0.005);
    let band = 3.0 * b;
    assert!((budget.band - band).abs() < 1e-15);
    let place = |effect: Effect| budget.contributions.iter().position(|c| c.effect == effect).unwrap();
    let layer = budget.at_height[place(Effect::EdgeLayer)];
    // outside a post the change is that of the dipole 2 a delta*, largest beside it at the rim of the band: U 2 a delta*/r^2. The
    // side walls' own delta*, scaled out of the inlet's mean, adds 2 delta*/W = 1.6e-3 of U; vertices stand up to one
    // edge off the rim, 0.01 of r^2
    let r = a + band;
    let core = 2.0 * DISPLACEMENT * b / 2.0;
    let exact = 2.0 * a * DISPLACEMENT * b / (r * r) + core;
    assert!((layer.speed.largest / exact - 1.0).abs() < 0.06, "{} {exact}", layer.speed.largest);
    assert!((layer.speed.largest_at[0] - 1.0).abs() < 0.2 * r);
    // streaklines near the shoulder are shifted by psi1/(b V) = 2 a delta* / r over (1 + a^2/r^2), from the same start
    let shift = 2.0 * a * DISPLACEMENT * b / r / (1.0 + a * a / (r * r));
    assert!((layer.shift.largest / shift - 1.0).abs() < 0.25, "{} {shift}", layer.shift.largest);
    // confinement: images at distance W change the speed far from the post by a^2 pi^2/(3 W^2) and less; never by more than
    // a few times (D/W)^2
    let confinement = budget.at_height[place(Effect::Confinement)];
    assert!(confinement.speed.largest < 4.0 * (0.1f64 / 2.0).powi(2), "{}", confinement.speed.largest);
    assert_eq!(budget.verdict.dominant, Some(Effect::EdgeLayer), "2 a delta*/r^2, not the square of D/W or Re* = 5e-5");
    // every estimate of a numerical error is there, and the edge layer stands clear of its own
    assert!(layer.speed.rms > budget.contributions[place(Effect::EdgeLayer)].numerical_error);
}

#[test]
fn contributions_scale_by_their_powers() {
    // what stands alone at its power: first order, without the next edge term
    let post = format!("{POST}[inertia]\norder = 1\nnext_edge_term = false\n");
    let study = solve(&post, 6_000);
    let budget = study.budget(&|_| {}).unwrap();
    let of = |effect: Effect| budget.contributions.iter().find(|c| c.effect == effect).unwrap();
    let size = |field: &[[f64; 2]]| field.iter().map(|v| v[0] * v[0] + v[1] * v[1]).sum::<f64>().sqrt();
    let at =
        |effect: Effect, inertia: f64, gap: f64| size(&of(effect).departure(Scale { inertia, gap }, View::AtHeight));
    // with given inflow only the edge term (gap^3) and the layers (gap^2) are left of inertia
    assert!((at(Effect::Inertia, 3.0, 1.0) / at(Effect::Inertia, 1.0, 1.0) - 3.0).abs() < 1e-12);
    let doubled = at(Effect::Inertia, 1.0, 2.0) / at(Effect::Inertia, 1.0, 1.0);
    assert!(doubled > 4.0 && doubled < 8.0, "{doubled}");
    assert!((at(Effect::EdgeLayer, 3.0, 2.0) / at(Effect::EdgeLayer, 1.0, 1.0) - 2.0).abs() < 1e-12);
    assert!((at(Effect::Confinement, 3.0, 2.0) / at(Effect::Confinement, 1.0, 1.0) - 1.0).abs() < 1e-12);
    // a case solved at three times the speed has three times the relative departure of the same study scaled
    let faster = solve(&post.replace("mean_speed = 1e-3", "mean_speed = 3e-3"), 6_000);
    let other = faster.budget(&|_| {}).unwrap();
    let inertia = other.contributions.iter().find(|c| c.effect == Effect::Inertia).unwrap();
    let direct = size(&inertia.departure(Scale::ONE, View::AtHeight));
    assert!((direct / 3.0 / at(Effect::Inertia, 3.0, 1.0) - 1.0).abs() < 1e-6, "{direct}");
}

#[test]
fn the_sweep_passes_through_the_case_itself_and_the_files_are_there() {
    let text = format!("{POST}[sweep]\nmean_speed = [5e-4, 1e-3, 2e-1]\n[tolerance]\nspeed = 0.02\n");
    let study = solve(&text, 6_000);
    let found = study.find(Wanted { departure: true, ..Wanted::default() }, &|_| {}).unwrap();
    let budget = found.budget.as_ref().unwrap();
    let (row, total) = (&budget.sweep[1].total, budget.total[0]);
    assert!((row.speed.largest / total.speed.largest - 1.0).abs() < 1e-12);
    assert!((row.shift.largest / total.shift.largest - 1.0).abs() < 1e-12);
    assert!(budget.sweep[1].first_order && !budget.sweep[2].first_order);
    let dir = tempfile::tempdir().unwrap();
    let report = study.write_found(&found, Folder::open(dir.path(), &study.case, Others::Refused).unwrap()).unwrap();
    for name in [
        "departure.csv",
        "departure.pvd",
        "departure_0002.vtu",
        "layers.vtu",
        "layer_streaklines.vtp",
        "fields.vtu",
        "report.json",
    ] {
        assert!(dir.path().join(name).is_file(), "{name}");
    }
    let json: serde_json::Value = serde_json::from_str(&report.json().unwrap()).unwrap();
    let names: Vec<&str> =
        json["departure"]["contributions"].as_array().unwrap().iter().map(|c| c["name"].as_str().unwrap()).collect();
    assert_eq!(names, ["edge_layer", "inertia", "confinement", "all_but_confinement", "total"]);
    assert!(json["departure"]["verdict"]["text"].as_str().unwrap().contains("reduced"));
    assert_eq!(json["sweep"].as_array().unwrap().len(), 3);
}

#[test]
fn streaklines_slow_down_inside_the_edge_layer() {
    // an empty cell: the line nearest the wall moves with the exact profile of a straight edge, phi(n/b, 0) U of the core
    let text = "[cell]\nlength = 0.2\nwidth = 0.1\ngap = 0.01\n[fluid]\ndensity = 1000\nviscosity = 1e-3\n[drive]\n\
                mean_speed = 1e-3\n[streaklines]\nspacing = 0.004\n";
    let study = solve(text, 4_000);
    let line = &study.lines[0];
    let n = line.points[0][1] / 0.01;
    let exact = 1e-3 * twinplate::theory::edge_layer::profile::phi(n, 0.0);
    assert!(n < 1.0 && (line.speeds[0] / exact - 1.0).abs() < 1e-9, "{} {exact}", line.speeds[0]);
    assert!((line.times.last().unwrap() * exact / 0.2 - 1.0).abs() < 1e-6);
    assert!((study.lines[study.lines.len() / 2].speeds[0] / 1.5e-3 - 1.0).abs() < 1e-6);
}

/// A row of a sweep of glycerol against the case solved with that fluid: the mesh does not depend on the fluid, and parts scale exactly.
#[test]
fn a_row_of_glycerol_is_the_case_solved_with_it() {
    let with = |fluid: &str, more: &str| {
        let fluid = format!("[fluid]\n{fluid}\ntemperature = \"20 degC\"\n");
        POST.replace("[fluid]\ndensity = 1000\nviscosity = 1e-3\n", &fluid)
            .replace("mean_speed = 1e-3", "mean_speed = 2e-2")
            + more
    };
    let swept = with("name = \"water\"", "[sweep]\nglycerol_mass_fraction = [0.2, 0.5]\n");
    let row = solve(&swept, 6_000).budget(&|_| {}).unwrap().sweep.remove(1);
    let mixed = solve(&with("name = \"glycerol-water\"\nglycerol_mass_fraction = 0.5", ""), 6_000);
    let total = mixed.budget(&|_| {}).unwrap().total[0];
    assert!((row.reduced_reynolds / mixed.reynolds.reduced - 1.0).abs() < 1e-9, "{row:?}");
    for (found, exact) in [
        (row.total.speed.rms, total.speed.rms),
        (row.total.speed.largest, total.speed.largest),
        (row.total.direction.largest, total.direction.largest),
        (row.total.shift.largest, total.shift.largest),
    ] {
        // iterations stop at 1e-12 of the energy, square roots of which the fields know
        assert!((found / exact - 1.0).abs() < 1e-5, "{row:?} {total:?}");
    }
}

/// Solved at the speed and in the gap of a threshold, the cell alone departs by the tolerance. In speed the scaling is exact; in the gap the
/// edge layer's core factor 1/(1 - 0.63 b/W) and the velocity that inertia sees miss by 0.63 b/L of the change, and the band, which
/// the case states, stays.
#[test]
fn a_cell_at_its_threshold_departs_by_the_tolerance() {
    let text = |speed: f64, gap: f64| {
        let cell =
            POST.replace("mean_speed = 1e-3", &format!("mean_speed = {speed:?}")).replace("0.005", &format!("{gap:?}"));
        cell + "[departure]\nedge_band = \"20 mm\"\n[tolerance]\nspeed = 0.05\nshare = 1e-4\n"
    };
    let study = solve(&text(1e-3, 0.005), 6_000);
    let threshold = study.budget(&|_| {}).unwrap().thresholds[0];
    assert_eq!(threshold.measure, Measure::Speed);
    let faster = 1e-3 * threshold.reduced_reynolds.unwrap().value / study.reynolds.reduced;
    assert!(faster > 2e-3, "{faster}");
    let thicker = threshold.gap_over_length.unwrap().value * study.reynolds.reference_length;
    assert!(thicker > 0.0051 && thicker < 0.02, "{thicker}");
    for (text, within) in [(text(faster, 0.005), 1e-4), (text(1e-3, thicker), 0.63 * thicker / 0.1)] {
        let alone = solve(&text, 6_000).budget(&|_| {}).unwrap().cell_alone;
        assert!((alone.speed.judged / 0.05 - 1.0).abs() < within, "{faster} {thicker}: {}", alone.speed.judged);
    }
}
