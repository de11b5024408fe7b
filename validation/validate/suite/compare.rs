//! Comparisons with the bench: drawn photographs and films whose truth is known, and real chessboards.

#[path = "../../compare/draw/mod.rs"]
mod draw;

use super::{Effort, Figure};
use draw::camera::Camera;
use draw::case_text::{film_case, photo_case};
use draw::flow::DISPLACEMENT;
use draw::scenarios::{FILMS, Scenario, film, photo};
use draw::truth::Truth;
use std::path::Path;
use std::sync::OnceLock;
use twinplate::Plan;
use twinplate::base::error::Problems;
use twinplate::bench::photo::step_down::Layer;
use twinplate::bench::photo::{Calibration, Request, Sighting};
use twinplate::bench::tracks::Compared;
use twinplate::input::case::{Case, Face, LensPrior, Mark, parse};
use twinplate::input::measured::{Photo, Track};
use twinplate::study::{Comparison, Found, LinesFound, Material, Theory, What, Wish, compare_measured};
use twinplate::theory::ideal::Goal;

/// Named quantities of comparisons.
pub fn figure(what: &str, with: &[f64], effort: Effort) -> Option<Figure> {
    match (what, with) {
        ("edge_layer", &[tilt, towards, away, gap, noise, quality]) => {
            edge_layer(&view(true, [tilt, towards, away], gap, noise, quality), effort)
        }
        ("ideal", &[tilt, towards, away, gap, noise, quality]) => {
            edge_layer(&view(false, [tilt, towards, away], gap, noise, quality), effort)
        }
        ("pier", &[number, axis]) => pier(number as usize, axis as usize, effort),
        ("speed", &[number]) => tracks(number as usize, effort).map(|found| {
            let found = found.found;
            Figure { value: found.kappa, error: 2.0 * found.sigma }
        }),
        ("taper", &[number]) => {
            let (change, sigma) = tracks(number as usize, effort)?.trend.gap_change(0.3)?;
            Some(Figure { value: change, error: 2.0 * sigma })
        }
        ("chessboard", &[number]) => chessboard(number as usize),
        _ => None,
    }
}

/// The oblique photograph from elsewhere: degrees, degrees, m; gap in mm, noise in grey levels, quality of compression.
fn view(has_edge_layer: bool, [tilt, towards, away]: [f64; 3], gap: f64, noise: f64, quality: f64) -> Option<Scenario> {
    let mut scenario = photo("oblique", 1.0)?;
    let scene = &mut scenario.scene;
    let before = scene.camera.clone();
    scene.camera = Camera::looking([0.4, 0.1], tilt, towards, 4.0, away);
    (scene.camera.brown, scene.camera.principal) = (before.brown, before.principal);
    (scene.camera.gap, scene.cell.gap) = (1e-3 * gap, 1e-3 * gap);
    (scene.noise, scene.quality, scene.has_edge_layer) = (noise, Some(quality as u8), has_edge_layer);
    Some(scenario)
}

fn read(text: &str, name: &str) -> Option<(Case, Plan)> {
    let case = parse(text, Path::new(name)).into_result().ok()?;
    let plan = Plan::new(&case, &mut Problems::default())?;
    Some((case, plan))
}

fn compared(text: &str, what: What, photo: Option<Photo>, wish: &Wish) -> Option<Comparison> {
    let (case, plan) = read(text, "case.toml")?;
    let material = Material::new(Path::new("case.toml"), what, photo);
    let map = material.calibrate(&case).ok()?;
    compare_measured(case, plan.into(), material, map, wish, &|_| {}).ok()
}

fn of_photo(scenario: &Scenario, obstacles: bool, effort: Effort) -> Option<Box<LinesFound>> {
    let truth = Truth::new(&scenario.scene);
    let drawn = scenario.scene.draw(&truth);
    let photo = Photo::new(drawn.width, drawn.height, drawn.pixels).ok()?;
    let goal = Some(Goal::Triangles((5 * effort.triangles).max(40_000)));
    let wish = Wish { obstacles, goal, ..Wish::default() };
    match compared(&photo_case(scenario, &truth), What::Picture, Some(photo), &wish)?.found {
        Found::Lines(found) => Some(found),
        Found::Tracks(_) => None,
    }
}

/// Amplitude of the edge layer. Error: twice the stated one, and what first order leaves out at the smaller pier, delta*/(2 a).
fn edge_layer(scenario: &Option<Scenario>, effort: Effort) -> Option<Figure> {
    let scenario = scenario.as_ref()?;
    let found = of_photo(scenario, false, effort)?;
    let edge = found.fit.of("edge_layer")?;
    let radius = scenario.stated.iter().map(|(_, pier)| pier.radius).fold(f64::INFINITY, f64::min);
    let second = DISPLACEMENT * scenario.scene.cell.gap / (2.0 * radius);
    Some(Figure { value: edge.value, error: 2.0 * edge.sigma + second })
}

/// How far a pier stands from its drawing in the picture in which one does, mm. Error: twice the stated one.
fn pier(number: usize, axis: usize, effort: Effort) -> Option<Figure> {
    // one picture for all its rows
    static FOUND: OnceLock<Option<Box<LinesFound>>> = OnceLock::new();
    let found = FOUND.get_or_init(|| of_photo(&photo("pier_off", 1.0)?, true, effort)).as_ref()?;
    let (value, sigma) = *found.obstacles.get(number)?.changes.get(axis)?;
    Some(Figure { value: 1e3 * value, error: 2e3 * sigma })
}

fn tracks(number: usize, effort: Effort) -> Option<Compared> {
    let scenario = film(FILMS.get(number)?.0)?;
    let all = scenario.film.tracks().into_iter().enumerate().map(|(k, track)| Track {
        name: (k + 1).to_string(),
        times: (0..track.points.len()).map(|k| k as f64 * scenario.film.frame).collect(),
        points: track.points,
    });
    let theory = if scenario.film.has_edge_layer { Theory::All } else { Theory::Ideal };
    let goal = Some(Goal::Triangles((5 * effort.triangles).max(10_000)));
    let wish = Wish { theory, goal, ..Wish::default() };
    match compared(&film_case(&scenario), What::Tracks(all.collect()), None, &wish)?.found {
        Found::Tracks(found) => Some(found.compared),
        Found::Lines(_) => None,
    }
}

/// Corners of a real chessboard by column and row that are given; the others are predicted.
const GIVEN: [[usize; 2]; 8] = [[0, 0], [8, 0], [8, 5], [0, 5], [4, 0], [4, 5], [0, 2], [8, 3]];
/// Side of a square, m, and how well a corner is found in the picture, pixels.
const SIDE: f64 = 0.03;
const CORNER: f64 = 0.2;

/// Largest distance of a predicted corner from where it is, over the side of a square. Error: three standard deviations of the
/// map there and of the corner, each coordinate.
fn chessboard(number: usize) -> Option<Figure> {
    let picture = ["left02", "left05", "left09"].get(number)?;
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("validation/compare/chessboard/corners.csv");
    let text = std::fs::read_to_string(file).ok()?;
    let corner = |row: &str| -> Option<([usize; 2], [f64; 2])> {
        let fields: Vec<&str> = row.split(',').collect();
        let [name, column, line, u, v] = fields[..] else { return None };
        let read = || Some(([column.parse().ok()?, line.parse().ok()?], [u.parse().ok()?, v.parse().ok()?]));
        if name == *picture { read() } else { None }
    };
    let corners: Vec<_> = text.lines().filter_map(corner).collect();
    let place = |at: [usize; 2]| at.map(|k| 0.05 + SIDE * k as f64);
    let (given, others): (Vec<_>, Vec<_>) = corners.into_iter().partition(|(at, _)| GIVEN.contains(at));
    let sighting = |(at, pixel): &([usize; 2], [f64; 2])| Sighting {
        name: format!("{}-{}", at[0], at[1]),
        place: place(*at),
        pixel: *pixel,
        saturated: 0.0,
    };
    let seen: Vec<Sighting> = given.iter().map(sighting).collect();
    let request = Request {
        marks: seen.iter().map(|s| Mark { name: s.name.clone(), at: s.place, click: s.pixel }).collect(),
        marks_on: Face::Outer,
        plate: Some(Layer { thickness: 0.0, index: 1.5 }),
        placed_within: 2e-4,
        mark_size: None,
        lens: LensPrior::UNCORRECTED,
        // paper: the dye lies on the face
        gap: 1e-9,
        dye_height: 0.0,
        fluid_index: 1.333,
    };
    let map = Calibration::from_centres([640, 480], &request, &seen).ok()?;
    let mut largest = Figure { value: 0.0, error: 0.0 };
    for (at, pixel) in &others {
        let (found, place) = (map.point(*pixel)?, place(*at));
        let value = (found[0] - place[0]).hypot(found[1] - place[1]) / SIDE;
        let error = 3.0 * map.map_sigma(place)?.hypot(CORNER * 2f64.sqrt() / map.scale(place)?) / SIDE;
        if value > largest.value {
            largest = Figure { value, error };
        }
    }
    (others.len() == 46).then_some(largest)
}
