//! Pictures in which tracing must find nothing, say why, and take no line for another.

use crate::draw::case_text::photo_case;
use crate::draw::picture::Picture;
use crate::draw::scenarios::photo;
use crate::draw::scene::Scene;
use crate::draw::truth::Truth;
use std::path::Path;
use std::sync::OnceLock;
use twinplate::base::error::Problems;
use twinplate::bench::lines::Ideal;
use twinplate::bench::photo::Calibration;
use twinplate::bench::trace::{Tracer, Tracing};
use twinplate::input::case::{Dye, parse};
use twinplate::input::measured::Photo;
use twinplate::study::{Material, What};
use twinplate::theory::edge_layer::Margin;
use twinplate::theory::ideal::Goal;
use twinplate::{Plan, Result, Settings, Study};

struct Bench {
    study: Study,
    map: Calibration,
    scene: Scene,
}

/// The oblique scenario in 800 by 600 pixels: its case, solved without corrections, and its map.
fn bench() -> &'static Bench {
    static BENCH: OnceLock<Bench> = OnceLock::new();
    BENCH.get_or_init(|| {
        let scenario = photo("oblique", 0.5).unwrap();
        let truth = Truth::new(&scenario.scene);
        let case = parse(&photo_case(&scenario, &truth), "case.toml".as_ref()).into_result().unwrap();
        let plan = Plan::new(&case, &mut Problems::default()).unwrap();
        let photo = Some(photo_of(scenario.scene.draw(&truth)));
        let material = Material::new(Path::new("oblique.png"), What::Picture, photo);
        let map = material.calibrate(&case).unwrap().unwrap();
        let settings = Settings { goal: Some(Goal::Triangles(20_000)), inertia: false, edge_layer: false };
        let study = Study::solve(case, plan.into(), settings, &|_| {}).unwrap();
        Bench { study, map, scene: scenario.scene }
    })
}

fn photo_of(picture: Picture) -> Photo {
    Photo::new(picture.width, picture.height, picture.pixels).unwrap()
}

fn drawn(change: impl Fn(&mut Scene)) -> Photo {
    let mut scene = bench().scene.clone();
    change(&mut scene);
    photo_of(scene.draw(&Truth::new(&scene)))
}

fn needles() -> Vec<[f64; 2]> {
    let needles = &bench().scene.needles;
    needles.y.iter().map(|y| [needles.x, *y]).collect()
}

fn tracer(needles: Vec<[f64; 2]>) -> Tracer {
    Tracer { dye: Dye::Dark, margin: Margin::REACH, spacing: 2e-3, needles }
}

fn traced(photo: &Photo, tracer: &Tracer) -> Result<Tracing> {
    let Bench { study, map, scene } = bench();
    let ideal = Ideal::new(&study.solved.space, &study.pattern.stream_function, scene.cell.width);
    tracer.trace(photo, map, &ideal, &study.pattern.pressure)
}

/// What is said of a picture that shows nothing, with a remedy.
fn refused(photo: &Photo, tracer: &Tracer, words: &str) {
    match traced(photo, tracer) {
        Ok(tracing) => panic!("{words}: {} stations found", tracing.stations()),
        Err(error) => {
            println!("{}", error.what());
            assert!(error.what().contains(words) && error.remedy().is_some(), "{words}: {}", error.what());
        }
    }
}

#[test]
fn what_is_not_found_is_said() {
    let clear = drawn(|scene| {
        (scene.dye.strength, scene.needles.width) = (0.0, 0.0);
    });
    // 0.1 mm are 0.2 px; with the spread of the lens a line is 1.3 px wide
    let thin = drawn(|scene| {
        (scene.dye.sigma, scene.dye.growth, scene.needles.width) = (0.05e-3, 0.0, 0.0);
        (scene.blur, scene.noise, scene.quality) = (0.3, 0.5, None);
        scene.dye.strength = 6.0;
    });
    for tracer in [tracer(needles()), tracer(vec![])] {
        refused(&clear, &tracer, "no line found");
        refused(&thin, &tracer, "narrower than 2 px");
    }
    // dye that should glow and does not
    let bright = Tracer { dye: Dye::Bright, ..tracer(needles()) };
    refused(&drawn(|_| ()), &bright, "no consistent lines");
}

/// Nearer to another needle's line than to its own is nowhere; a needle in a pier feeds none.
#[test]
fn lines_half_a_spacing_off_their_needles_are_taken_for_none() {
    let picture = drawn(|_| ());
    let own = needles();
    let between = own.windows(2).map(|pair| [pair[0][0], 0.5 * (pair[0][1] + pair[1][1])]);
    refused(&picture, &tracer(between.collect()), "no consistent lines");
    let outside = [[0.352, 0.086]];
    refused(&picture, &tracer(outside.to_vec()), "needle 1 at x = 0.352");
}

#[test]
fn a_needle_without_a_line_is_told_and_takes_no_other() {
    let picture = drawn(|scene| {
        scene.needles.y.remove(5);
    });
    let tracing = traced(&picture, &tracer(needles())).unwrap();
    assert_eq!(tracing.lines.len(), 15);
    for line in &tracing.lines {
        let is_absent = line.number == 6;
        assert_eq!(line.hidden == [true; 3], is_absent, "{}", line.number);
        assert_eq!(line.places.is_empty(), is_absent, "{}", line.number);
    }
    assert_eq!(tracing.courses().len(), 14);
}

#[test]
fn no_picture_and_no_setting_makes_it_panic() {
    let even = |width: usize, height: usize, colour| Photo::new(width, height, vec![colour; width * height]).unwrap();
    let pictures = [
        even(1, 1, [0; 3]),
        even(3, 2, [9; 3]),
        even(800, 600, [0; 3]),
        even(800, 600, [255; 3]),
        even(800, 30, [128, 0, 255]),
    ];
    for picture in &pictures {
        for dye in [Dye::Dark, Dye::Bright] {
            for needles in [needles(), vec![]] {
                refused(picture, &Tracer { dye, ..tracer(needles) }, "no line found");
            }
        }
    }
    let picture = drawn(|_| ());
    for spacing in [f64::NAN, 0.0, -1.0, f64::INFINITY] {
        assert!(traced(&picture, &Tracer { spacing, ..tracer(needles()) }).is_err(), "{spacing}");
    }
    assert!(traced(&picture, &Tracer { margin: Margin::Length(0.2), ..tracer(needles()) }).is_err());
}
