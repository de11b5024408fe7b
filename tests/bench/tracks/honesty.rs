//! Stated errors are the true ones: over fifty seeds, errors over stated errors have a root mean square of about 1.

use crate::synthetic::*;
use twinplate::bench::tracks::Compared;
use twinplate::bench::tracks::Heights;

const SEEDS: u64 = 50;

/// Error of the speed over the stated one, where the heights are named right.
fn deviation(found: &Compared, speed: f64, heights: Heights) -> Option<f64> {
    (found.found.heights == heights).then(|| (found.mean_speed - speed) / found.mean_speed_sigma)
}

/// Root mean square and mean of errors over stated errors. Of fifty normal numbers the first strays by 0.1.
fn chi(of: impl Fn(u64) -> Option<f64>) -> (f64, f64) {
    let all: Vec<f64> = (100..100 + SEEDS).filter_map(of).collect();
    // the test of heights refuses the right ones once in a hundred times
    assert!(all.len() + 2 >= SEEDS as usize, "{} named right", all.len());
    let mean = |of: fn(f64) -> f64| all.iter().map(|x| of(*x)).sum::<f64>() / all.len() as f64;
    (mean(|x| x * x).sqrt(), mean(|x| x))
}

fn is_honest((rms, mean): (f64, f64)) -> bool {
    println!("chi {rms:.3}, mean {mean:.3}");
    (0.7..1.35).contains(&rms) && mean.abs() < 0.5
}

#[test]
fn the_speed_from_uniform_heights() {
    assert!(is_honest(chi(|seed| {
        let found = compared(&SCENE.tracers(250, &mut Random(seed), uniform), RADIUS);
        deviation(&found, SCENE.speed, Heights::Uniform)
    })));
}

#[test]
fn the_speed_from_mid_gap() {
    assert!(is_honest(chi(|seed| {
        let found = compared(&SCENE.tracers(150, &mut Random(seed), mid_gap), RADIUS);
        deviation(&found, SCENE.speed, Heights::Focused)
    })));
}

#[test]
fn speed_and_taper_among_outliers() {
    let all: Vec<[Option<f64>; 2]> = (100..100 + SEEDS)
        .map(|seed| {
            let (scene, tracks) = spoiled(seed);
            let found = compared(&tracks, RADIUS);
            let (taper, sigma) = found.trend.gap_change(LENGTH).unwrap();
            [deviation(&found, scene.speed, Heights::Uniform), Some((taper - scene.taper) / sigma)]
        })
        .collect();
    let of = |k: usize| chi(|seed| all[(seed - 100) as usize][k]);
    assert!(is_honest(of(0)), "speed");
    assert!(is_honest(of(1)), "taper");
}

#[test]
fn an_even_gap_has_no_taper() {
    // the trend stays within its error, and is taken out in few cases only
    let taken = std::sync::atomic::AtomicUsize::new(0);
    assert!(is_honest(chi(|seed| {
        let found = compared(&SCENE.tracers(150, &mut Random(seed), uniform), RADIUS);
        taken.fetch_add(usize::from(found.before.is_some()), std::sync::atomic::Ordering::Relaxed);
        found.trend.gap_change(LENGTH).map(|(change, sigma)| change / sigma)
    })));
    assert!(taken.into_inner() <= 3);
}
