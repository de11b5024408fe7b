//! Drawn films of particles through the library, against their truth: speed within 0.5 %, heights named right, false tracks left out,
//! a taper of 5 % found within 1.5 %. Where the flow has an edge layer it is faster than the ideal pattern off the edges, by half a
//! per cent on average: the speed is that of the flux all the same.

use crate::draw::case_text::film_case;
use crate::draw::scenarios::film;
use crate::draw::tracks::{Heights as Drawn, Kind, tracks_csv};
use twinplate::Plan;
use twinplate::base::error::Problems;
use twinplate::bench::tracks::{Compared, Heights};
use twinplate::input::case::parse;
use twinplate::study::{Found, Material, Theory, Wish, compare_measured};
use twinplate::theory::ideal::Goal;

/// What is found, the true speed, and how many tracks of each kind there are and are left out.
fn found(name: &str, theory: Theory) -> (Compared, f64, impl Fn(Kind) -> [usize; 2]) {
    let scenario = film(name).unwrap();
    let tracks = scenario.film.tracks();
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("tracks.csv");
    std::fs::write(&file, tracks_csv(&scenario.film, &tracks)).unwrap();
    let case = parse(&film_case(&scenario), &folder.path().join("case.toml")).into_result().unwrap();
    let plan = Plan::new(&case, &mut Problems::default()).unwrap();
    let material = Material::read(&case, Some(&file)).unwrap();
    let wish = Wish { theory, goal: Some(Goal::Triangles(20_000)), ..Wish::default() };
    let found = compare_measured(case, plan.into(), material, None, &wish, &|_| {}).unwrap();
    let Found::Tracks(found) = found.found else { panic!("a film holds tracks") };
    let faults: Vec<(Kind, bool)> =
        tracks.iter().zip(&found.compared.tracks).map(|(drawn, judged)| (drawn.kind, judged.fault.is_some())).collect();
    let count = move |kind: Kind| {
        let of = |is_out: &dyn Fn(bool) -> bool| faults.iter().filter(|(k, out)| *k == kind && is_out(*out)).count();
        [of(&|_| true), of(&|out| out)]
    };
    (found.compared, scenario.film.speed, count)
}

#[test]
fn the_speed_is_that_of_the_flux_at_all_heights() {
    let films = [
        ("tracks_uniform", Drawn::Uniform, Heights::Uniform),
        ("tracks_crossing", Drawn::Crossing, Heights::Crossing),
        ("tracks_focused", Drawn::Focused, Heights::Focused),
    ];
    for (name, drawn, heights) in films {
        assert_eq!(film(name).unwrap().film.heights, drawn);
        let (found, speed, count) = found(name, Theory::All);
        println!("{name}: {} +- {} of {speed}", found.mean_speed, found.mean_speed_sigma);
        assert_eq!(found.found.heights, heights, "{name}");
        assert!((found.mean_speed / speed - 1.0).abs() < 5e-3, "{name}: {} {speed}", found.mean_speed);
        assert!((found.mean_speed - speed).abs() < 3.0 * found.mean_speed_sigma, "{name}: {}", found.mean_speed);
        let [all, out] = count(Kind::Good);
        assert!((out as f64) < 0.04 * all as f64, "{name}: {out} of {all}");
    }
}

/// Of a flow without an edge layer, held against a theory without one.
#[test]
fn false_tracks_are_left_out_and_the_taper_is_taken_out() {
    let (found, speed, count) = found("tracks_spoiled", Theory::Ideal);
    assert_eq!(found.found.heights, Heights::Uniform);
    assert!((found.mean_speed / speed - 1.0).abs() < 5e-3, "{} {speed}", found.mean_speed);
    let (taper, sigma) = found.trend.gap_change(0.3).unwrap();
    assert!((taper - 0.05).abs() < 0.015, "{taper} +- {sigma}");
    for kind in [Kind::Stuck, Kind::Bubble] {
        let [all, out] = count(kind);
        assert_eq!(all, out, "{kind:?}");
    }
    let ([all, out], [good, lost]) = (count(Kind::Mislinked), count(Kind::Good));
    println!("{out} of {all} mislinked, {lost} of {good} good");
    assert!(10 * out >= 8 * all && (lost as f64) < 0.04 * good as f64, "{out} of {all}, {lost} of {good}");
}
