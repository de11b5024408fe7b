//! Named photographs and films of an invented harbour model: two mooring piers in a cell of 800 by 200 mm, of which
//! clamps leave the middle 310 mm to be seen, so that its ends change no line by more than 1e-5 of the width (the
//! piers' dipoles fall as exp(−π x/W)).
//!
//! The flow is slow, Re* 1e-3 on 60 mm: what departs from the ideal pattern is the edge layer alone, where there is
//! one.

use super::camera::{Camera, Depth};
use super::flow::Pier;
use super::parts::{Bench, Cell, Dye, Glare, Marks, Needles, Shape};
use super::scene::Scene;
use super::tracks::{Film, Heights};

/// A photograph and what its case states.
#[derive(Debug, Clone)]
pub struct Scenario {
    /// Its name, and that of its files.
    pub name: &'static str,
    /// What is special about it.
    pub about: &'static str,
    /// As it really is.
    pub scene: Scene,
    /// Piers as the case states them.
    pub stated: Vec<(&'static str, Pier)>,
    /// Prior of the lens in the case.
    pub lens: &'static str,
    /// How well marks are placed, as the case says, m.
    pub placed_within: f64,
}

/// A film and its name.
#[derive(Debug, Clone)]
pub struct FilmScenario {
    /// Its name, and that of its files.
    pub name: &'static str,
    /// What is special about it.
    pub about: &'static str,
    /// As it really is.
    pub film: Film,
}

/// Photographs, what is special about each.
pub const PHOTOS: [(&str, &str); 13] = [
    ("clean_ideal", "little noise, nearly from above, the flow ideal up to the edges"),
    ("oblique", "from the side, with the edge layer, as all that follow"),
    ("upside_down", "the camera held upside down"),
    ("turned", "a picture on its side"),
    ("mirrored", "seen through the back plate"),
    ("barrel", "a wide lens that bends straight lines"),
    ("outer_face", "marks on the outer face"),
    ("rough", "noise, strong compression, marks placed within 0.1 mm"),
    ("four_marks", "the fewest marks"),
    ("pier_off", "the small pier stands 3 mm further downstream and 2 mm higher than the case says"),
    ("glare", "lamps mirrored over mark c and over several lines"),
    ("bright", "dye that glows in a dim light"),
    ("steep", "from far to the side"),
];

/// Films, what is special about each.
pub const FILMS: [(&str, &str); 4] = [
    ("tracks_uniform", "particles at all heights, at 1.11 times the speed of the case"),
    ("tracks_crossing", "particles as they cross a gate, at 0.95 times the speed of the case"),
    ("tracks_focused", "particles at mid-gap, at 1.07 times the speed of the case"),
    (
        "tracks_spoiled",
        "an empty cell whose gap grows by 5 %, one track in seven false, at 1.03 times the speed of the case",
    ),
];

/// Flow rate that cases state, m³/s: 0.06 mm/s in 200 by 1 mm.
pub const FLOW_RATE: f64 = 1.2e-8;
const WIDTH: f64 = 0.2;
const GAP: f64 = 1e-3;
const CLAMPS: [f64; 2] = [0.245, 0.555];
const MIDDLE: [f64; 2] = [0.4, 0.1];

/// The piers as cases state them.
pub fn piers() -> Vec<(&'static str, Pier)> {
    let large = Pier { centre: [0.352, 0.086], radius: 0.03 };
    let small = Pier { centre: [0.457, 0.12], radius: 0.02 };
    vec![("large pier", large), ("small pier", small)]
}

fn cell() -> Cell {
    Cell { length: 0.8, width: WIDTH, gap: GAP, piers: piers() }
}

fn mm(values: &[f64]) -> Vec<f64> {
    values.iter().map(|x| 1e-3 * x).collect()
}

/// The oblique view, which the others vary.
fn base() -> Scene {
    let mut camera = Camera::looking(MIDDLE, 20.0, 240.0, 6.0, 0.42);
    camera.brown = [-0.02, 0.004];
    camera.principal = [809.0, 593.0];
    let y = [14.0, 26.3, 38.4, 51.2, 63.4, 75.5, 90.4, 101.6, 113.2, 127.4, 138.9, 150.4, 162.2, 174.0, 186.2];
    let stated = vec![
        ("a", [0.271, 0.0055]),
        ("b", [0.354, -0.0095]),
        ("c", [0.446, -0.0095]),
        ("d", [0.531, 0.0055]),
        ("e", [0.529, 0.1945]),
        ("f", [0.446, 0.2095]),
        ("g", [0.354, 0.2095]),
        ("h", [0.269, 0.1945]),
    ];
    Scene {
        camera,
        cell: cell(),
        has_edge_layer: true,
        needles: Needles { x: 0.262, y: mm(&y), width: 0.8e-3 },
        dye: Dye { sigma: 0.55e-3, growth: 0.6e-3, strength: 0.85, absorptivity: [1.0, 0.62, 0.2], glow: [0.0; 3] },
        marks: Marks { shape: Shape::Cross, width: 7e-3, depth: Depth::Inner, stated, placed_within: 0.0 },
        bench: Bench {
            ground: [214.0, 209.0, 197.0],
            variation: 0.06,
            vignetting: 0.22,
            spacer: 0.66,
            pier: 0.27,
            clamps: CLAMPS,
        },
        glare: vec![],
        blur: 0.6,
        noise: 2.5,
        quality: Some(88),
        seed: 11,
    }
}

/// A photograph by its name, with so many times 1600 by 1200 pixels each way; none if there is none of that name.
pub fn photo(name: &str, factor: f64) -> Option<Scenario> {
    let (index, (name, about)) = PHOTOS.iter().enumerate().find(|(_, (known, _))| *known == name)?;
    let mut scene = base();
    scene.seed += 100 * index as u64;
    let mut lens = "corrected";
    let mut placed_within = 0.02e-3;
    match *name {
        "clean_ideal" => {
            scene.camera = Camera::looking(MIDDLE, 6.0, 110.0, -2.0, 0.42);
            scene.has_edge_layer = false;
            (scene.noise, scene.quality) = (1.5, Some(95));
        }
        "upside_down" => {
            let lens = (scene.camera.brown, scene.camera.principal);
            scene.camera = Camera::looking(MIDDLE, 20.0, 240.0, 186.0, 0.42);
            (scene.camera.brown, scene.camera.principal) = lens;
        }
        "turned" => scene.camera.turns = 1,
        "mirrored" => scene.camera.is_mirrored = true,
        "barrel" => {
            scene.camera.brown = [-0.2, 0.04];
            lens = "uncorrected";
        }
        "outer_face" => scene.marks.depth = Depth::Outer,
        "rough" => {
            (scene.noise, scene.quality) = (6.0, Some(65));
            placed_within = 0.1e-3;
            scene.marks.placed_within = placed_within;
        }
        "four_marks" => scene.marks.stated.retain(|(name, _)| ["a", "d", "e", "h"].contains(name)),
        "pier_off" => scene.cell.piers[1].1 = scene.cell.piers[1].1.moved([3.0, 2.0]),
        "glare" => {
            scene.glare = vec![
                Glare { at: [0.4353, -0.0158], half: [0.011, 0.0045], angle: 12.0 },
                Glare { at: [0.408, 0.152], half: [0.034, 0.0085], angle: 24.0 },
            ];
        }
        "bright" => {
            scene.bench.ground = [66.0, 82.0, 122.0];
            scene.dye.absorptivity = [0.55, 1.0, 0.8];
            scene.dye.glow = [96.0, 330.0, 120.0];
        }
        "steep" => {
            scene.camera = Camera::looking(MIDDLE, 45.0, 285.0, 4.0, 0.45);
            scene.camera.brown = [-0.02, 0.004];
        }
        _ => {}
    }
    scene.camera = scene.camera.finer(factor);
    scene.blur *= factor.sqrt();
    Some(Scenario { name, about, scene, stated: piers(), lens, placed_within })
}

/// A film by its name; none if there is none of that name.
pub fn film(name: &str) -> Option<FilmScenario> {
    let (index, (name, about)) = FILMS.iter().enumerate().find(|(_, (known, _))| *known == name)?;
    let case_speed = FLOW_RATE / (WIDTH * GAP);
    let mut film = Film {
        cell: cell(),
        has_edge_layer: true,
        view: CLAMPS,
        speed: 1.11 * case_speed,
        taper: 0.0,
        noise: 5e-5,
        frame: 12.0,
        heights: Heights::Uniform,
        counts: [250, 0, 0, 0],
        seed: 31 + index as u64,
    };
    match *name {
        "tracks_crossing" => (film.heights, film.speed) = (Heights::Crossing, 0.95 * case_speed),
        "tracks_focused" => {
            (film.heights, film.speed) = (Heights::Focused, 1.07 * case_speed);
            film.counts[0] = 150;
        }
        "tracks_spoiled" => {
            film.cell = Cell { length: 0.3, piers: vec![], ..cell() };
            (film.view, film.has_edge_layer) = ([0.0, 0.3], false);
            (film.taper, film.speed) = (0.05, 1.03 * case_speed);
            film.counts = [207, 16, 11, 10];
        }
        _ => {}
    }
    Some(FilmScenario { name, about, film })
}
