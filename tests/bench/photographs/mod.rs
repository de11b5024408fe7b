//! Drawn photographs through the front door of the library, against their truth.
//!
//! Limits are those of the design, about twice what careful work reaches: map 0.05 mm with exact marks, 0.2 placed within
//! 0.1 mm, 0.35 with four; middles of lines 0.10 px, 0.12 in a rough picture; shifts 0.03 mm, 0.10 where the map is poor;
//! directions 0.12 degrees, 0.22 in a rough one; speeds 0.3 % of U, 0.45 in a rough one; amplitude of the edge layer
//! 1 ± 0.06, 0.12 with four marks. Pictures have three quarters of the pixels each way that the limits in mm were set for.

mod shot;

use crate::draw::case_text::photo_case;
use crate::draw::picture::Picture;
use crate::draw::truth::Truth;
use shot::{Off, Shot, compared, scenario, shot, shot_of};
use std::sync::OnceLock;
use twinplate::study::{Comparison, Found, Wish};

struct Limits {
    map: f64,
    centre: f64,
    shift: f64,
    direction: f64,
    speed: f64,
    edge: [f64; 2],
}

const CLEAN: Limits =
    Limits { map: 0.05e-3, centre: 0.10, shift: 0.03e-3, direction: 0.12, speed: 3e-3, edge: [1.0, 0.06] };

fn holds(shot: &Shot, limits: &Limits) -> Off {
    let (off, name) = (shot.off(), shot.scenario.name);
    println!("{name}: {off:?}");
    assert!(off.map < limits.map && off.said > 0.5 && off.said < 5.0 && off.within >= 0.9, "{name}: {off:?}");
    assert!(off.centre < limits.centre && off.shift < limits.shift, "{name}: {off:?}");
    assert!(off.direction < limits.direction && off.speed < limits.speed, "{name}: {off:?}");
    let [exact, within] = limits.edge;
    assert!((off.edge[0] - exact).abs() < within, "{name}: {off:?}");
    off
}

fn oblique() -> &'static Shot {
    static SHOT: OnceLock<Shot> = OnceLock::new();
    SHOT.get_or_init(|| shot("oblique"))
}

#[test]
fn an_oblique_picture_shows_the_edge_layer() {
    let shot = oblique();
    holds(shot, &CLEAN);
    let found = shot.lines();
    assert!(shot.numbers().eq(1..=15) && found.lines.iter().all(|line| line.level_known));
    assert!(found.as_predicted.prior_z.unwrap() < 2.0 && found.verdict.explained, "{}", found.verdict.text);
    assert!(found.verdict.text.contains("The edge layer explains"), "{}", found.verdict.text);
}

/// The levels are those of the picture then, and speeds need needles.
#[test]
fn lines_are_linked_without_needles() {
    let without = |text: String| {
        let kept: Vec<&str> = text.lines().filter(|line| !line.starts_with("starts =")).collect();
        kept.join("\n")
    };
    let shot = shot_of(scenario("oblique"), &Wish::default(), without);
    let found = shot.lines();
    assert!(found.lines.iter().all(|line| !line.level_known) && found.speeds.is_empty());
    assert!(shot.numbers().eq(1..=15));
    let edge = found.fit.of("edge_layer").unwrap();
    println!("{edge:?}");
    assert!((edge.value - 1.0).abs() < 0.06);
    let centres = shot.centres();
    let centre = (centres.iter().map(|c| c * c).sum::<f64>() / centres.len() as f64).sqrt();
    assert!(centre < CLEAN.centre, "{centre}");
}

#[test]
fn a_picture_through_the_back_plate_shows_the_same() {
    holds(&shot("mirrored"), &CLEAN);
}

#[test]
fn a_picture_on_its_side_shows_the_same() {
    holds(&shot("turned"), &CLEAN);
}

#[test]
fn a_rough_picture_keeps_its_limits() {
    let rough = Limits { map: 0.2e-3, centre: 0.12, shift: 0.10e-3, direction: 0.22, speed: 4.5e-3, ..CLEAN };
    holds(&shot("rough"), &rough);
}

#[test]
fn four_marks_keep_their_limits_and_are_warned_of() {
    let four = Limits { map: 0.35e-3, shift: 0.10e-3, direction: 0.22, speed: 4.5e-3, edge: [1.0, 0.12], ..CLEAN };
    let shot = shot("four_marks");
    holds(&shot, &four);
    let codes: Vec<String> = shot.found.warnings.iter().map(|warning| format!("{:?}", warning.code)).collect();
    assert!(codes.iter().any(|code| code.contains("Marks")), "{codes:?}");
}

#[test]
fn dye_that_glows_is_as_good() {
    holds(&shot("bright"), &CLEAN);
}

#[test]
fn an_ideal_picture_shows_no_edge_layer() {
    holds(&shot("clean_ideal"), &Limits { edge: [0.0, 0.06], ..CLEAN });
}

/// The mark in glare is left out by name, and lines are given up there rather than followed along the rim of the glare.
#[test]
fn glare_costs_a_mark_and_no_line() {
    let shot = shot("glare");
    let off = holds(&shot, &CLEAN);
    assert_eq!(shot.found.calibration.as_ref().unwrap().fit.left_out, ["c"]);
    assert!(off.centre_most < 0.4, "{off:?}");
    let at = shot.scenario.scene.glare[1];
    let inside = |p: [f64; 2]| at.light(p) > 300.0;
    let stations = || shot.lines().lines.iter().flat_map(|line| &line.stations);
    assert!(stations().all(|station| !inside(station.at)));
    let hidden = shot.truth.lines.iter().flat_map(|line| &line.curve.places).filter(|p| inside(**p)).count();
    assert!(hidden > 100, "{hidden}");
}

#[test]
fn a_pier_that_stands_elsewhere_is_found_and_named() {
    let shot = shot_of(scenario("pier_off"), &Wish { obstacles: true, ..Wish::default() }, |text| text);
    let off = shot.off();
    println!("{off:?}\n{}", shot.lines().verdict.text);
    assert!(off.map < CLEAN.map && off.centre < CLEAN.centre && off.shift < CLEAN.shift, "{off:?}");
    let found = shot.lines();
    for (obstacle, [dx, dy, within]) in found.obstacles.iter().zip([[0.0, 0.0, 0.15e-3], [3e-3, 2e-3, 0.25e-3]]) {
        println!("{obstacle:?}");
        assert!((obstacle.changes[0].0 - dx).abs() < within && (obstacle.changes[1].0 - dy).abs() < within);
    }
    let text = &found.verdict.text;
    assert!(text.contains("\"small pier\" stands") && !text.contains("\"large pier\" stands"), "{text}");
    let worst = found.worst.as_ref().unwrap();
    assert!(worst.near.as_ref().is_some_and(|(name, _)| name == "small pier"), "{worst:?}");
    assert!(!found.verdict.explained);
}

fn amplitude(found: &Comparison) -> (f64, f64, usize) {
    let Found::Lines(lines) = &found.found else { panic!("a photograph holds lines") };
    let edge = lines.fit.of("edge_layer").unwrap();
    let stations = lines.lines.iter().map(|line| line.stations.len()).sum();
    (edge.value, lines.against[0].against.shift.rms, stations)
}

/// The same pixels in another order: what differs is the order of sums, and the corner that rows and blocks of pixels start from,
/// which moves stations by less than a hundredth of a pixel: 3e-6 m, a few thousandths of the shifts' rms when squared and over 2000.
#[test]
fn a_picture_turned_or_mirrored_pixel_by_pixel_gives_the_same_numbers() {
    let scenario = scenario("oblique");
    let truth = Truth::new(&scenario.scene);
    let picture = scenario.scene.draw(&truth);
    let [w, h] = [picture.width, picture.height];
    let of = |width, height, from: &dyn Fn(usize, usize) -> [usize; 2]| {
        let pixel = |k: usize| {
            let [x, y] = from(k % width, k / width);
            picture.pixels[y * w + x]
        };
        Picture { width, height, pixels: (0..width * height).map(pixel).collect() }
    };
    let (expected, shift, stations) = amplitude(&oblique().found);
    let (sw, sh) = (w as i64, h as i64);
    let turned = of(h, w, &|x, y| [y, h - 1 - x]);
    let mirrored = of(w, h, &|x, y| [w - 1 - x, y]);
    let click_turned = |[u, v]: [i64; 2]| [sh - v, u];
    let click_mirrored = |[u, v]: [i64; 2]| [sw - u, v];
    type Click<'a> = &'a dyn Fn([i64; 2]) -> [i64; 2];
    let all: [(&str, Picture, Click); 2] = [("turned", turned, &click_turned), ("mirrored", mirrored, &click_mirrored)];
    for (name, picture, click) in all {
        let mut truth = truth.clone();
        truth.marks.iter_mut().for_each(|mark| mark.click = click(mark.click));
        let found = compared(&photo_case(&scenario, &truth), scenario.name, &picture, &Wish::default()).unwrap();
        let (value, rms, count) = amplitude(&found);
        println!("{name}: {value} {expected}, {rms:e} {shift:e}, {count} {stations}");
        assert_eq!(found.calibration.as_ref().unwrap().fit.lens.is_mirrored(), name == "mirrored");
        assert!((value - expected).abs() < 2e-3 && (rms / shift - 1.0).abs() < 2e-3, "{name}: {value} {expected}");
    }
}

#[test]
fn any_number_of_threads_finds_the_same() {
    let scenario = scenario("rough");
    let truth = Truth::new(&scenario.scene);
    let (picture, text) = (scenario.scene.draw(&truth), photo_case(&scenario, &truth));
    let rows = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        let found = pool.install(|| compared(&text, scenario.name, &picture, &Wish::default()).unwrap());
        let Found::Lines(lines) = found.found else { panic!("a photograph holds lines") };
        format!("{:?}{:?}{:?}", lines.lines, lines.fit, lines.map_sigma)
    };
    let one = rows(1);
    assert!(one.len() > 100_000 && one == rows(2) && one == rows(3));
}
