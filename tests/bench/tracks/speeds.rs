//! Speed, heights, taper and rejection from synthetic tracks, within the limits of the design.

use crate::synthetic::*;
use twinplate::bench::tracks::Heights;
use twinplate::bench::tracks::Reason;
use twinplate::bench::tracks::verdict;

fn near(found: f64, exact: f64, part: f64) -> bool {
    (found / exact - 1.0).abs() < part
}

#[test]
fn uniform_heights_give_the_speed() {
    for (seed, radius) in [(1, RADIUS), (2, 0.0), (3, RADIUS)] {
        let scene = Scene { radius, ..SCENE };
        let found = compared(&scene.tracers(250, &mut Random(seed), uniform), radius);
        println!(
            "{:?} {} +- {} p {} {:?} {:?}",
            found.found.heights,
            found.mean_speed,
            found.mean_speed_sigma,
            found.found.probability,
            found.found.checks,
            found.trend
        );
        assert_eq!(found.found.heights, Heights::Uniform);
        assert!(near(found.mean_speed, scene.speed, 0.005), "{} +- {}", found.mean_speed, found.mean_speed_sigma);
        assert!(good_rejected(&found) < 0.04, "{}", good_rejected(&found));
        assert!(near(found.noise, scene.noise, 0.05), "noise {}", found.noise);
        // the other ways to the speed: the mean of 250 such numbers is known to 3 %, the quantile to 0.3 %
        let checks = found.found.checks;
        assert!(near(checks.by_mean * CASE, scene.speed, 0.09) && near(checks.by_quantile * CASE, scene.speed, 0.01));
        assert!(checks.largest * CASE > scene.speed * 0.995);
    }
}

#[test]
fn tracers_at_mid_gap_are_named_and_give_the_speed() {
    for (seed, width) in [(4, 0.0), (5, 0.05), (6, 0.15)] {
        let scene = Scene { speed: 0.160, ..SCENE };
        let found = compared(&scene.tracers(150, &mut Random(seed), |random| width * random.normal()), RADIUS);
        println!(
            "{:?} {} +- {} width {:?}",
            found.found.heights, found.mean_speed, found.mean_speed_sigma, found.found.width
        );
        assert_eq!(found.found.heights, Heights::Focused);
        assert!(near(found.mean_speed, scene.speed, 0.005), "{} +- {}", found.mean_speed, found.mean_speed_sigma);
        assert!((found.found.width.unwrap() - width).abs() < 0.06);
        assert!(good_rejected(&found) < 0.04, "{}", good_rejected(&found));
    }
}

#[test]
fn outliers_are_rejected_and_a_taper_is_taken_out() {
    for seed in 10..14 {
        let (scene, tracks) = spoiled(seed);
        let found = compared(&tracks, RADIUS);
        assert_eq!(found.found.heights, Heights::Uniform);
        let (taper, sigma) = found.trend.gap_change(LENGTH).unwrap();
        println!(
            "{} +- {}, before {}, taper {taper} +- {sigma}, good lost {}",
            found.mean_speed,
            found.mean_speed_sigma,
            found.before.unwrap().kappa * CASE,
            good_rejected(&found)
        );
        for judged in &found.tracks {
            let expected: &[Reason] = match judged.name.split(' ').next().unwrap() {
                "stuck" => &[Reason::Stuck],
                "bubble" => &[Reason::OffDirection, Reason::TooFast, Reason::Mislinked],
                _ => continue,
            };
            assert!(judged.fault.is_some_and(|fault| expected.contains(&fault)), "{} {:?}", judged.name, judged.fault);
        }
        let mislinked = found.tracks.iter().filter(|judged| judged.name.starts_with("mislinked"));
        let seen = mislinked.filter(|judged| judged.fault == Some(Reason::Mislinked)).count();
        assert!(seen >= 8, "{seen} of 10");
        assert!(good_rejected(&found) < 0.04, "{}", good_rejected(&found));
        assert!((taper - 0.05).abs() < 0.015, "{taper} +- {sigma}");
        assert!(near(found.mean_speed, scene.speed, 0.005), "{} +- {}", found.mean_speed, found.mean_speed_sigma);
        let said = verdict(&found, LENGTH);
        println!("{said}");
        assert!(
            said.contains(" stuck") && said.contains("along the cell is taken out") && said.contains("every height")
        );
    }
}

#[test]
fn tracers_counted_as_they_cross_are_told_from_those_of_a_frame() {
    let found = compared(&SCENE.tracers(400, &mut Random(20), crossing), RADIUS);
    println!(
        "{:?} {} +- {} p {}",
        found.found.heights, found.mean_speed, found.mean_speed_sigma, found.found.probability
    );
    assert_eq!(found.found.heights, Heights::Crossing);
    assert!(near(found.mean_speed, SCENE.speed, 0.005));
    assert!(near(found.found.checks.by_mean * CASE, SCENE.speed, 0.05));
}

#[test]
fn of_unknown_heights_only_a_bound_is_claimed() {
    // between 0.4 and 0.9 of the half gap: 5 % run above 0.82 of mid-gap
    let found = compared(&SCENE.tracers(300, &mut Random(21), |random| random.between(0.4, 0.9)), RADIUS);
    println!("{:?} {} p {}", found.found.heights, found.mean_speed, found.found.probability);
    assert_eq!(found.found.heights, Heights::Unknown);
    assert!(found.mean_speed < SCENE.speed && near(found.mean_speed, 0.82 * SCENE.speed, 0.02));
    assert!(verdict(&found, LENGTH).contains("at least"));
}

#[test]
fn bends_that_quadratics_miss_move_no_speed() {
    // a frame takes a tenth of the radius: single tracks would come out up to a few per cent wrong
    let scene = Scene { speed: 0.160, noise: 5e-6, frame: 7e-3, ..SCENE };
    let found = compared(&scene.tracers(200, &mut Random(22), |_| 0.0), RADIUS);
    let kept = found.tracks.iter().filter(|judged| judged.fault.is_none());
    let errors = kept.filter_map(|judged| judged.speed.map(|speed| (speed.ratio * CASE / scene.speed - 1.0).abs()));
    let worst = errors.fold(0.0, f64::max);
    println!("worst {worst} used {}", found.used());
    assert!(worst < 0.004 && good_rejected(&found) < 0.04, "{worst}");
}
