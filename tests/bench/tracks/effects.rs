//! How much of an effect the directions show, threads, work, and what is refused.

use crate::synthetic::*;
use std::sync::atomic::{AtomicUsize, Ordering::Relaxed};
use twinplate::base::plane::{Point, Vector};
use twinplate::bench::tracks::Flow;
use twinplate::bench::tracks::Reason;
use twinplate::bench::tracks::compare;
use twinplate::input::measured::Track;

/// A larger radius, as the edge layer makes it look.
const GROWTH: f64 = 0.3e-3;

fn growth(p: Point) -> Option<Vector> {
    let [larger, smaller] = [past(RADIUS + GROWTH, p)?, past(RADIUS, p)?];
    Some([0, 1].map(|k| CASE * (larger[k] - smaller[k])))
}

#[test]
fn a_departure_is_found_in_its_size() {
    for (radius, size) in [(RADIUS + GROWTH, 1.0), (RADIUS, 0.0)] {
        let errors: Vec<f64> = (30..50)
            .map(|seed| {
                let scene = Scene { radius, ..SCENE };
                let found = compared(&scene.tracers(200, &mut Random(seed), uniform), RADIUS);
                assert!(good_rejected(&found) < 0.04, "{}", good_rejected(&found));
                let [amplitude] = found.amplitudes([&growth]).unwrap();
                println!("{} +- {}, shifts {}", amplitude.value, amplitude.sigma, found.shift_rms);
                assert!((amplitude.value - size).abs() < 0.2 && amplitude.sigma < 0.1, "{amplitude:?}");
                (amplitude.value - size) / amplitude.sigma
            })
            .collect();
        let chi = (errors.iter().map(|x| x * x).sum::<f64>() / errors.len() as f64).sqrt();
        println!("chi {chi}");
        assert!((0.6..1.5).contains(&chi), "{chi}");
    }
}

#[test]
fn effects_that_look_alike_are_told_to_be() {
    let found = compared(&SCENE.tracers(100, &mut Random(7), uniform), RADIUS);
    let twice = |p: Point| growth(p).map(|v| v.map(|v| 2.0 * v));
    assert!(found.amplitudes([&growth, &twice]).is_none());
}

#[test]
fn results_do_not_depend_on_the_number_of_threads() {
    let (_, tracks) = spoiled(60);
    let shown = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| format!("{:?}", compared(&tracks, RADIUS)))
    };
    let one = shown(1);
    assert!([2, 3, 7].into_iter().all(|threads| shown(threads) == one));
}

#[test]
fn a_hundred_thousand_points_are_little_work() {
    let mut tracks = SCENE.tracers(3600, &mut Random(61), uniform);
    let points: usize = tracks.iter().map(|track| track.points.len()).sum();
    tracks.truncate((tracks.len() as f64 * 1e5 / points as f64) as usize);
    let points: usize = tracks.iter().map(|track| track.points.len()).sum();
    assert!(points > 90_000, "{points}");
    let (calls, at) = (AtomicUsize::new(0), pattern(RADIUS));
    let counted = |p: Point| {
        calls.fetch_add(1, Relaxed);
        at(p)
    };
    let found = compare(&tracks, &Flow { at: &counted, mean_speed: CASE }, MIDDLE).unwrap();
    println!("{points} points, {} tracks, {} passes", tracks.len(), found.found.passes);
    // the pattern is looked up once for each point, but for tracks that graze the obstacle
    assert!(calls.into_inner() as f64 <= 1.1 * points as f64);
    // two densities, fitted twice: a likelihood is some two dozen exponentials, so 1e6 of them take less than a second
    assert!(found.found.passes * tracks.len() <= 2_000_000, "{} passes", found.found.passes);
}

#[test]
fn a_track_counts_as_far_as_it_lies_in_the_fluid() {
    let mut tracks = SCENE.tracers(60, &mut Random(62), uniform);
    // the last places of one stand in the obstacle, another has nearly all of them there
    let inside = |track: &mut Track, from: usize| track.points[from..].iter_mut().for_each(|p| *p = CENTRE);
    tracks[0].points.truncate(20);
    tracks[0].times.truncate(20);
    inside(&mut tracks[0], 16);
    inside(&mut tracks[1], 2);
    let found = compared(&tracks, RADIUS);
    assert_eq!(found.tracks[1].fault, Some(Reason::TooShort));
    assert!(found.tracks[0].speed.is_some());
}

#[test]
fn places_without_noise_are_no_trap() {
    let scene = Scene { noise: 0.0, ..SCENE };
    let found = compared(&scene.tracers(200, &mut Random(64), uniform), RADIUS);
    println!("{} +- {} used {}", found.mean_speed, found.mean_speed_sigma, found.used());
    assert!((found.mean_speed / scene.speed - 1.0).abs() < 0.005 && good_rejected(&found) < 0.04);
}

#[test]
fn too_few_tracks_are_refused() {
    let at = pattern(RADIUS);
    let flow = Flow { at: &at, mean_speed: CASE };
    let none = compare(&[], &flow, MIDDLE).unwrap_err();
    let stuck = compare(&SCENE.stuck(30, &mut Random(63)), &flow, MIDDLE).unwrap_err();
    for error in [none, stuck] {
        assert!(error.to_string().contains("tracks are left") && error.remedy().is_some_and(|r| !r.is_empty()));
    }
}
