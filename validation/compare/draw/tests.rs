use crate::draw::camera::{Camera, DEPTHS, Depth};
use crate::draw::case_text::{film_case, photo_case};
use crate::draw::flow::{Channel, DISPLACEMENT, Pier};
use crate::draw::jpeg::compressed;
use crate::draw::picture::Picture;
use crate::draw::scenarios::{FILMS, FLOW_RATE, PHOTOS, film, photo, piers};
use crate::draw::scene::Scene;
use crate::draw::tracks::{Heights, Kind, truth_csv};
use crate::draw::truth::Truth;
use std::f64::consts::TAU;

fn slanted() -> Camera {
    let mut camera = Camera::looking([0.4, 0.1], 30.0, 70.0, 12.0, 0.45);
    camera.brown = [-0.08, 0.02];
    camera
}

fn length(a: [f64; 2]) -> f64 {
    a[0].hypot(a[1])
}

#[test]
fn the_camera_agrees_with_itself_both_ways() {
    for (is_mirrored, turns) in [(false, 0), (true, 0), (false, 1), (true, 3), (false, 2)] {
        let camera = Camera { is_mirrored, turns, ..slanted() };
        let [width, height] = camera.picture_size().map(|n| n as f64);
        for depth in DEPTHS {
            for k in 0..20 {
                let place = [0.25 + 0.015 * f64::from(k), 0.01 * f64::from(19 - k)];
                let pixel = camera.pixel(place, depth);
                let back = camera.place(pixel, depth);
                assert!(length([back[0] - place[0], back[1] - place[1]]) < 1e-9, "{place:?} {back:?}");
                assert!(pixel[0] > -width && pixel[0] < 2.0 * width && pixel[1] > -height && pixel[1] < 2.0 * height);
            }
        }
    }
}

/// Fermat: the way that light takes from the pinhole to the dye is stationary in both crossings.
#[test]
fn rays_bend_as_light_does() {
    let camera = slanted();
    let [plate, index] = camera.plate;
    for pixel in [[100.0, 200.0], [800.0, 600.0], [1500.0, 1100.0]] {
        let [outer, inner, dye, _] = camera.places(pixel);
        let time = |outer: [f64; 2], inner: [f64; 2]| {
            let leg = |a: [f64; 2], b: [f64; 2], drop: f64| length([a[0] - b[0], a[1] - b[1]]).hypot(drop);
            let eye = [camera.centre[0], camera.centre[1]];
            leg(eye, outer, camera.centre[2])
                + index * leg(outer, inner, plate)
                + camera.fluid * leg(inner, dye, 0.5 * camera.gap)
        };
        let h = 1e-5;
        for way in [[h, 0.0], [0.0, h]] {
            let moved = |p: [f64; 2], by: f64| [p[0] + by * way[0], p[1] + by * way[1]];
            for slope in [
                (time(moved(outer, 1.0), inner) - time(moved(outer, -1.0), inner)) / (2.0 * h),
                (time(outer, moved(inner, 1.0)) - time(outer, moved(inner, -1.0))) / (2.0 * h),
            ] {
                // the third derivative over the thinnest layer leaves h² over its square
                assert!(slope.abs() < 1e-3, "{slope} at {pixel:?}");
            }
        }
    }
}

#[test]
fn a_turned_picture_is_the_same_picture_on_its_side() {
    let upright = slanted();
    let place = [0.3, 0.05];
    let [u, v] = upright.pixel(place, Depth::Dye);
    let turned = Camera { turns: 1, ..upright.clone() };
    assert_eq!((turned.picture_size(), turned.pixel(place, Depth::Dye)), ([1200, 1600], [1200.0 - v, u]));
    let mirrored = Camera { is_mirrored: true, ..upright };
    assert_eq!(mirrored.pixel(place, Depth::Dye), [1600.0 - u, v]);
}

#[test]
fn piers_and_walls_are_streamlines() {
    let piers: Vec<Pier> = piers().into_iter().map(|(_, pier)| pier).collect();
    for gap in [0.0, 1e-3] {
        let flow = Channel::in_cell(0.2, gap, &piers);
        for pier in &piers {
            let radius = pier.radius + DISPLACEMENT * gap;
            let mut levels = vec![];
            for k in 0..73 {
                let (sin, cos) = (TAU * f64::from(k) / 73.0).sin_cos();
                let (level, v) = flow.at([pier.centre[0] + radius * cos, pier.centre[1] + radius * sin]);
                levels.push(level);
                assert!((v[0] * cos + v[1] * sin).abs() < 3e-5, "through the rim at {k}: {v:?}");
            }
            let spread = levels.iter().fold(0.0_f64, |most, level| most.max((level - levels[0]).abs()));
            assert!(spread < 2e-7, "{spread}");
        }
        for k in 0..40 {
            let x = 0.2 + 0.01 * f64::from(k);
            for (y, share) in [(DISPLACEMENT * gap, 0.0), (0.2 - DISPLACEMENT * gap, 1.0)] {
                assert!((flow.share([x, y]) - share).abs() < 1e-12);
                assert!(flow.at([x, y]).1[1].abs() < 1e-12);
            }
        }
        let (_, far) = flow.at([3.0, 0.07]);
        assert!(length([far[0] - 1.0, far[1]]) < 1e-12);
    }
}

/// A pier in a very wide channel is a circle in a stream: speed 2 |sin| on its rim, less π²/3 (R/W)² of that.
#[test]
fn a_small_pier_is_a_circle_in_a_stream() {
    let pier = Pier { centre: [0.0, 0.5], radius: 1e-3 };
    let flow = Channel::new([0.0, 1.0], &[pier]);
    for k in 0..12 {
        let (sin, cos) = (TAU * f64::from(k) / 12.0).sin_cos();
        let (_, v) = flow.at([1e-3 * cos, 0.5 + 1e-3 * sin]);
        assert!((length(v) - 2.0 * sin.abs()).abs() < 1e-5, "{v:?}");
    }
}

#[test]
fn lines_stay_on_their_level() {
    let truth = Truth::new(&photo("oblique", 1.0).unwrap().scene);
    let flow = photo("oblique", 1.0).unwrap().scene.flow();
    for line in &truth.lines {
        for place in &line.curve.places {
            assert!((flow.share(*place) - line.share).abs() * 0.2 < 2e-8, "{place:?}");
        }
    }
}

/// Middle of a line by its absorbance along the normal at a true pixel.
fn off_centre(absorbance: &[f64], width: usize, at: [f64; 2], way: [f64; 2], reach: f64) -> f64 {
    let value = |p: [f64; 2]| {
        let [x, y] = p.map(|v| v - 0.5);
        let (column, row) = (x.floor() as usize, y.floor() as usize);
        let (a, b) = (x - x.floor(), y - y.floor());
        let of = |c: usize, r: usize| absorbance[(row + r) * width + column + c];
        (1.0 - b) * ((1.0 - a) * of(0, 0) + a * of(1, 0)) + b * ((1.0 - a) * of(0, 1) + a * of(1, 1))
    };
    let (mut sum, mut first) = (0.0, 0.0);
    for k in -120..=120 {
        let s = reach * f64::from(k) / 120.0;
        let a = value([at[0] - s * way[1], at[1] + s * way[0]]);
        sum += a;
        first += a * s;
    }
    first / sum
}

#[test]
fn a_line_is_drawn_where_it_is() {
    for name in ["oblique", "steep", "barrel", "turned"] {
        let scene = photo(name, 1.0).unwrap().scene;
        let truth = Truth::new(&scene);
        let [width, height] = scene.camera.picture_size();
        let dyed = scene.light(&truth);
        let mut clear = scene.clone();
        clear.dye.strength = 0.0;
        let clear = clear.light(&truth);
        let absorbance: Vec<f64> = dyed.iter().zip(&clear).map(|(a, b)| -f64::from(a[0] / b[0]).ln()).collect();
        // others come within their reach of a pier or of a neighbour
        let mut worst: f64 = 0.0;
        for line in [0, 2, 4, 8, 10, 12, 14] {
            let line = &truth.lines[line];
            for k in (40..line.pixels.len() - 80).step_by(7) {
                let (a, b) = (line.pixels[k - 1], line.pixels[k + 1]);
                let way = [b[0] - a[0], b[1] - a[1]].map(|d| d / length([b[0] - a[0], b[1] - a[1]]));
                let [u, v] = line.pixels[k];
                // four standard deviations, at most 0.75 mm and half a pixel, as seen across the line
                let [x, y] = line.curve.places[k];
                let seen = [[x + 3e-3, y], [x, y + 3e-3]].map(|p| {
                    let [a, b] = scene.camera.pixel(p, Depth::Dye);
                    ((a - u) * way[1] - (b - v) * way[0]).abs()
                });
                let reach = seen[0].max(seen[1]) + 2.0;
                if u > 20.0 && v > 20.0 && u < width as f64 - 20.0 && v < height as f64 - 20.0 {
                    worst = worst.max(off_centre(&absorbance, width, [u, v], way, reach).abs());
                }
            }
        }
        assert!(worst < 0.02, "{name}: {worst}");
    }
}

#[test]
fn compression_loses_what_its_quality_says() {
    let scene = Scene { quality: None, ..photo("rough", 0.25).unwrap().scene };
    let picture = scene.draw(&Truth::new(&scene));
    let changes = |quality: u8| -> Vec<u8> {
        let back = compressed(&picture, quality);
        let pairs = picture.pixels.as_flattened().iter().zip(back.pixels.as_flattened());
        pairs.map(|(a, b)| a.abs_diff(*b)).collect()
    };
    assert!(changes(100).iter().all(|change| *change <= 2));
    let rough = changes(65);
    let mean = rough.iter().map(|change| f64::from(*change)).sum::<f64>() / rough.len() as f64;
    assert!((1.0..6.0).contains(&mean), "{mean}");
}

/// A grey block of one cosine of amplitude 40: at quality 50 its coefficient, 40 sqrt(32), is rounded to a multiple of
/// the table's step.
#[test]
fn a_wave_is_rounded_to_the_step_of_its_table() {
    let wave = |size: f64, x: usize| 128.0 + size * ((2 * x + 1) as f64 * TAU / 32.0 * 7.0).cos();
    let pixels = (0..64).map(|i| [wave(40.0, i % 8).round() as u8; 3]).collect();
    let back = compressed(&Picture { width: 8, height: 8, pixels }, 50);
    let left = (40.0 * 32.0_f64.sqrt() / 61.0).round() * 61.0 / 32.0_f64.sqrt();
    for (i, pixel) in back.pixels.iter().enumerate() {
        assert!((f64::from(pixel[0]) - wave(left, i % 8)).abs() < 1.5, "{i}: {pixel:?}");
    }
}

#[test]
fn any_number_of_threads_draws_the_same_bytes() {
    let drawn = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| {
            let scene = photo("rough", 0.25).unwrap().scene;
            scene.draw(&Truth::new(&scene))
        })
    };
    let one = drawn(1);
    assert!(one == drawn(2) && one == drawn(3));
}

#[test]
fn marks_lie_as_well_as_the_case_says_and_clicks_near() {
    for (name, _) in PHOTOS {
        let scenario = photo(name, 1.0).unwrap();
        let truth = Truth::new(&scenario.scene);
        for mark in &truth.marks {
            let off = length([0, 1].map(|k| mark.place[k] - mark.stated[k]));
            assert!(off < 4.0 * scenario.placed_within, "{name}: {off}");
            assert!(length([0, 1].map(|k| mark.pixel[k] - mark.click[k] as f64)) < 5.0);
            let [w, h] = scenario.scene.camera.picture_size().map(|n| n as f64);
            let [u, v] = mark.pixel;
            assert!(u > 30.0 && v > 30.0 && u < w - 30.0 && v < h - 30.0, "{name}: {:?}", mark.pixel);
        }
        let text = photo_case(&scenario, &truth);
        assert_eq!(text.matches("[[photo.mark]]").count(), truth.marks.len());
        assert!(text.lines().nth(20).is_some() && !text.contains("NaN"));
    }
}

#[test]
fn particles_move_as_their_height_says() {
    let mut scenario = film("tracks_spoiled").unwrap();
    scenario.film.noise = 0.0;
    let (film, tracks) = (&scenario.film, scenario.film.tracks());
    let middle = 0.5 * (film.view[0] + film.view[1]);
    for track in tracks.iter().filter(|track| track.kind == Kind::Good) {
        let n = track.points.len() - 1;
        // u b is kept: x + (taper/2 L)(x − x0)² grows evenly
        let way = |p: [f64; 2]| p[0] + 0.5 * film.taper / 0.3 * (p[0] - middle).powi(2);
        let speed = (way(track.points[n]) - way(track.points[0])) / (n as f64 * film.frame);
        let expected = 1.5 * (1.0 - track.zeta * track.zeta) * 1.03 * FLOW_RATE / (0.2 * 1e-3);
        assert!((speed - expected).abs() < 1e-9 * expected + 1e-15, "{speed} {expected}");
    }
    assert_eq!(truth_csv(&tracks).lines().count(), 245);
    assert!(film_case(&scenario).contains("300 mm"));
}

/// Means of 1 − ζ²: 2/3 with a variance of 4/45, 4/5 with 8/175.
#[test]
fn heights_follow_their_law() {
    let mut film = film("tracks_spoiled").unwrap().film;
    film.counts = [3000, 0, 0, 0];
    for (heights, mean, variance) in [(Heights::Uniform, 2.0 / 3.0, 4.0 / 45.0), (Heights::Crossing, 0.8, 8.0 / 175.0)]
    {
        film.heights = heights;
        let sum: f64 = film.tracks().iter().map(|track| 1.0 - track.zeta * track.zeta).sum();
        let sigma = f64::sqrt(variance / 3000.0);
        assert!((sum / 3000.0 - mean).abs() < 4.0 * sigma, "{heights:?}: {}", sum / 3000.0);
    }
}

#[test]
fn every_film_is_drawn_within_its_view() {
    for (name, _) in FILMS {
        let film = film(name).unwrap().film;
        let tracks = film.tracks();
        assert_eq!(tracks.len(), film.counts.iter().sum::<usize>());
        assert!(tracks.iter().all(|track| track.points.len() >= 18));
        let [low, high] = [film.view[0] - 6.0 * film.noise, film.view[1] + 6.0 * film.noise];
        assert!(tracks.iter().flat_map(|track| &track.points).all(|p| p[0] > low && p[0] < high));
    }
}
