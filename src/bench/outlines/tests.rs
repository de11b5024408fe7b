//! Pictures of a camera that shares nothing with the code: a disc between two walls.

use super::places::places;
use super::{Outline, outlines, warnings};
use crate::base::plane::distance;
use crate::bench::photo::marks::Seen;
use crate::bench::photo::step_down::Layer;
use crate::bench::photo::tests::camera::{Camera, Depth, Random};
use crate::bench::photo::{Calibration, Request, Sighting, Sought};
use crate::geometry::{Curve, Piece, Plan, PlanObstacle, Side, TailChoice, Wall};
use crate::input::case::{Face, LensPrior, Mark};
use crate::input::measured::Photo;
use rayon::prelude::*;
use std::f64::consts::TAU;

const CENTRE: [f64; 2] = [0.12, 0.09];
const RADIUS: f64 = 0.025;
const WIDTH: f64 = 0.2;

/// Beyond the corners and sides of what is looked at.
const MARKS: [[f64; 2]; 8] = [
    [0.01, -0.01],
    [0.29, -0.01],
    [0.29, 0.21],
    [0.01, 0.21],
    [0.15, -0.012],
    [0.15, 0.212],
    [0.008, 0.1],
    [0.292, 0.1],
];

fn plan() -> Plan {
    let sides = [Side::Wall(Wall::Lower), Side::Outlet, Side::Wall(Wall::Upper), Side::Inlet];
    let mut plan = Plan::polygon(&[[-0.2, 0.0], [0.5, 0.0], [0.5, WIDTH], [-0.2, WIDTH]], &sides, &[]).unwrap();
    let curve = Curve::Arc { centre: CENTRE, semi_axes: [RADIUS; 2], rotation: 0.0, start: 0.0, end: TAU };
    plan.pieces.push(Piece { curve, from: 1.0, to: 0.0, side: Side::Obstacle(0) });
    plan.loops.push(4..5);
    plan.obstacles.push(PlanObstacle {
        name: "pier".into(),
        on_wall: None,
        height: 2.0 * RADIUS,
        tail: TailChoice::Clear,
        bubble: None,
    });
    plan
}

fn camera() -> Camera {
    Camera::looking(25.0, 60.0, 8.0, 0.43)
}

/// The map through marks on a face as a perfect eye sees them, stated with an error of their places and of the plate's thickness.
fn map(camera: &Camera, on: Face, off: [f64; 2], thicker: f64) -> Calibration {
    let depth = if on == Face::Inner { Depth::Inner } else { Depth::Outer };
    let marks = "abcdefgh".chars().map(String::from).zip(MARKS);
    let stated: Vec<Mark> = marks
        .map(|(name, at)| Mark { name, at: [at[0] + off[0], at[1] + off[1]], click: camera.pixel(at, depth) })
        .collect();
    let sighting =
        |mark: &Mark| Sighting { name: mark.name.clone(), place: mark.at, pixel: mark.click, saturated: 0.0 };
    let sightings: Vec<Sighting> = stated.iter().map(sighting).collect();
    let request = Request {
        marks: stated,
        marks_on: on,
        plate: Some(Layer { thickness: camera.plate[0] + thicker, index: camera.plate[1] }),
        placed_within: 0.02e-3,
        mark_size: Some(7e-3),
        lens: LensPrior::CORRECTED,
        gap: camera.gap,
        dye_height: 0.0,
        fluid_index: camera.fluid,
    };
    Calibration::from_centres(camera.size, &request, &sightings).unwrap()
}

/// What is drawn: solids and fluid in grey levels, the disc moved and grown.
#[derive(Clone, Copy)]
struct Drawn {
    tones: [f64; 2],
    moved: [f64; 2],
    growth: f64,
    /// Whether solids hide what either face of the gap hides; else they are flat at the height of the dye.
    fills_gap: bool,
    /// Depth of dye lines every 12 mm, oblique to walls and disc.
    dye: f64,
    noise: f64,
}

const EXACT: Drawn =
    Drawn { tones: [60.0, 200.0], moved: [0.0; 2], growth: 0.0, fills_gap: false, dye: 0.0, noise: 0.0 };

impl Drawn {
    /// Distance from the nearest solid, m, negative in it.
    fn clearance(&self, p: [f64; 2]) -> f64 {
        let centre = [CENTRE[0] + self.moved[0], CENTRE[1] + self.moved[1]];
        (distance(p, centre) - RADIUS - self.growth).min(p[1]).min(WIDTH - p[1])
    }

    fn photo(&self, camera: &Camera) -> Photo {
        let mut front = camera.clone();
        let mut back = camera.clone();
        // the dye stands in the middle of the gap
        (front.gap, back.gap) = (0.0, 2.0 * camera.gap);
        let clearance = |pixel: [f64; 2]| {
            let at = |camera: &Camera| self.clearance(camera.point(pixel, Depth::Dye));
            if self.fills_gap { at(&front).min(at(&back)) } else { at(camera) }
        };
        let tone = |pixel: [f64; 2]| {
            if clearance(pixel) < 0.0 {
                return self.tones[0];
            }
            let [x, y] = camera.point(pixel, Depth::Dye);
            let off = ((y - 0.3 * x) / 12e-3).fract() * 12.0 - 6.0;
            self.tones[1] - self.dye * (-0.5 * (off / 0.6_f64).powi(2)).exp()
        };
        let [width, height] = camera.size;
        let light = |k: usize| {
            let at = [(k % width) as f64, (k / width) as f64];
            let rays = if clearance([at[0] + 0.5, at[1] + 0.5]).abs() < 1e-3 { 6 } else { 1 };
            let part = |k: usize| (k as f64 + 0.5) / rays as f64;
            let ray = |k: usize| tone([at[0] + part(k % rays), at[1] + part(k / rays)]);
            (0..rays * rays).map(ray).sum::<f64>() / (rays * rays) as f64
        };
        let light: Vec<f64> = (0..width * height).into_par_iter().map(light).collect();
        let mut random = Random(1);
        let mut channel = |light: f64| (light + self.noise * random.normal()).clamp(0.0, 255.0).round() as u8;
        Photo::new(width, height, light.into_iter().map(|light| [(); 3].map(|()| channel(light))).collect()).unwrap()
    }

    fn seen(&self) -> Vec<Outline> {
        let camera = camera();
        outlines(&self.photo(&camera), &map(&camera, Face::Inner, [0.0; 2], 0.0), &plan(), camera.gap)
    }
}

/// dx, dy, growth of the disc, mm, and their errors.
fn disc(seen: &[Outline]) -> [[f64; 3]; 2] {
    let moved = seen[2].found.unwrap().moved.unwrap();
    [moved.map(|change| 1e3 * change.0), moved.map(|change| 1e3 * change.1)]
}

#[test]
fn an_exact_picture_shows_no_offset() {
    let seen = EXACT.seen();
    let names: Vec<&str> = seen.iter().map(|outline| outline.name.as_str()).collect();
    assert_eq!(names, ["lower wall", "upper wall", "pier"]);
    for outline in &seen {
        let found = outline.found.unwrap();
        println!("{}: {} of {}, {found:?}", outline.name, outline.seen, outline.places);
        assert!(outline.seen == outline.places && outline.places > 70, "{outline:?}");
        assert!(found.offset.0.abs() < 0.03e-3 && found.spread < 0.05e-3, "{found:?}");
    }
    let [moved, _] = disc(&seen);
    assert!(moved.iter().all(|change| change.abs() < 0.03), "{moved:?}");
    assert!(warnings(&seen).is_empty());
}

#[test]
fn a_disc_that_moved_a_little_is_found_across_dye_lines_and_noise() {
    for tones in [[60.0, 200.0], [230.0, 150.0]] {
        let moved = [0.16e-3, -0.12e-3];
        let seen = Drawn { tones, moved, growth: 0.1e-3, dye: 60.0, noise: 4.0, ..EXACT }.seen();
        let [found, sigma] = disc(&seen);
        println!("{found:.3?} mm, known to {sigma:.3?}, {} of {} seen", seen[2].seen, seen[2].places);
        for (found, drawn) in found.iter().zip([0.16, -0.12, 0.1]) {
            assert!((found - drawn).abs() < 0.05, "{found:?}");
        }
        assert!(seen[..2].iter().all(|wall| wall.found.unwrap().offset.0.abs() < 0.03e-3));
        // a fifth of a millimetre is not told
        assert!(warnings(&seen).is_empty());
    }
}

#[test]
fn a_disc_far_off_is_found_and_told() {
    let seen = Drawn { moved: [3e-3, 2e-3], noise: 2.0, ..EXACT }.seen();
    let [found, _] = disc(&seen);
    println!("{found:.3?}");
    for (found, drawn) in found.iter().zip([3.0, 2.0, 0.0]) {
        assert!((found - drawn).abs() < 0.05, "{found:?}");
    }
    let told = warnings(&seen);
    assert_eq!(told.len(), 1, "{told:?}");
    let start = "in the picture the edge of \"pier\" stands 3.0 mm further downstream and 2.0 mm higher than";
    assert!(
        told[0].message.starts_with(start) && told[0].message.contains("a fit of the obstacles"),
        "{}",
        told[0].message
    );
    assert!((told[0].value.unwrap() - 3e-3).abs() < 0.05e-3 && told[0].code.key() == "outline_elsewhere");
}

#[test]
fn a_blank_picture_shows_nothing() {
    for noise in [0.0, 6.0] {
        let seen = Drawn { tones: [180.0; 2], noise, ..EXACT }.seen();
        assert_eq!(seen.len(), 3);
        assert!(seen.iter().all(|outline| outline.found.is_none() && outline.places > 70), "{seen:?}");
        assert!(warnings(&seen).is_empty());
    }
}

#[test]
fn wrong_places_and_a_wrong_plate_show_at_every_edge() {
    let camera = camera();
    let photo = Drawn { noise: 2.0, ..EXACT }.photo(&camera);
    let told = |map: &Calibration| warnings(&outlines(&photo, map, &plan(), camera.gap));
    let right = map(&camera, Face::Outer, [0.0; 2], 0.0);
    assert!(told(&right).is_empty());
    // what is stated 2 mm too low makes everything be seen there
    let low = told(&map(&camera, Face::Inner, [0.0, -2e-3], 0.0));
    assert_eq!(low.len(), 3, "{low:?}");
    assert!(low[0].message.contains("lower wall stands 2.0 mm further away from the fluid"), "{}", low[0].message);
    assert!(low[1].message.contains("upper wall stands 2.0 mm further into the fluid"), "{}", low[1].message);
    assert!(low[2].message.contains("stands 2.0 mm lower than"), "{}", low[2].message);
    let thick = told(&map(&camera, Face::Outer, [0.0; 2], 6e-3));
    assert!(thick.len() >= 2 && thick.iter().all(|one| one.message.contains("plate_thickness")), "{thick:?}");
}

#[test]
fn solids_that_fill_the_gap_look_larger_by_no_more_than_is_stated() {
    let seen = Drawn { fills_gap: true, ..EXACT }.seen();
    let [found, sigma] = disc(&seen);
    println!("{found:.3?} mm, known to {sigma:.3?}");
    // the camera stands 25 degrees off at 0.43 m, and the disc nearly below it: tan(theta_f)/2 of 1 mm, 2/pi of it on the mean
    assert!(found[2] > 0.02 && found[2] < 1.3 * sigma[2] && sigma[2] < 0.25, "{found:?} {sigma:?}");
    for wall in &seen[..2] {
        let (offset, sigma) = wall.found.unwrap().offset;
        assert!(offset > 0.0 && offset < 1.3 * sigma, "{wall:?}");
    }
}

#[test]
fn places_keep_off_marks_and_stay_in_the_picture() {
    let camera = camera();
    let mut map = map(&camera, Face::Inner, [0.0; 2], 0.0);
    let photo = Drawn { noise: 0.0, ..EXACT }.photo(&camera);
    let lower = |map: &Calibration, photo: &Photo| places(photo, map, &plan(), Side::Wall(Wall::Lower));
    let all = lower(&map, &photo);
    assert!(all.iter().all(|place| map.is_known_at(place.at) && place.at[1] == 0.0 && place.normal == [0.0, 1.0]));
    let at = camera.pixel([0.15, 4e-3], Depth::Dye);
    let seen = Seen { at, size: 24.0, contrast: 100.0, noise: 1.0, saturated: 0.0 };
    map.sought.push(Sought { name: "i".into(), size: 24.0, seen: Ok(seen) });
    let fewer = lower(&map, &photo);
    assert!(fewer.iter().all(|place| (place.at[0] - 0.15).abs() > 2.9e-3), "{fewer:?}");
    assert!((2..=6).contains(&(all.len() - fewer.len())), "{} {}", all.len(), fewer.len());
    let left = Photo::new(600, 1200, vec![[200; 3]; 600 * 1200]).unwrap();
    let part = lower(&map, &left);
    assert!(!part.is_empty() && part.len() < fewer.len());
    assert!(part.iter().all(|place| map.pixel(place.at).unwrap()[0] < 600.0));
}
