//! Whole photographs, drawn and read.

use super::camera::{Camera, Depth, Scene, Shape};
use super::*;
use crate::bench::photo::marks::{Unseen, find};
use crate::input::measured::Photo;

fn oblique() -> Camera {
    Camera::looking(25.0, 60.0, 8.0, 0.43)
}

/// Clicks up to so many pixels off.
fn rough(request: &mut Request, off: f64, seed: u64) {
    let mut random = Random(seed);
    for mark in &mut request.marks {
        mark.click = mark.click.map(|v| (v + off * (2.0 * random.uniform() - 1.0)).round());
    }
}

fn off(a: [f64; 2], b: [f64; 2]) -> f64 {
    (a[0] - b[0]).hypot(a[1] - b[1])
}

#[test]
fn centres_are_found_to_a_tenth_of_a_pixel_whatever_the_click() {
    let camera = oblique();
    for (shape, width, noise) in [(Shape::Cross, 7e-3, 2.0), (Shape::Cross, 5e-3, 6.0), (Shape::Dot, 4e-3, 4.0)] {
        let scene = Scene { shape, width, noise, ..Scene::new(&MARKS, Depth::Inner) };
        let picture = scene.draw(&camera);
        let mut list = Vec::new();
        for mark in MARKS {
            let exact = camera.pixel(mark, Depth::Inner);
            let size = width * 3.4e3;
            let seen = find(&picture, exact, size).unwrap();
            for step in [[9.0, 0.0], [-6.0, 7.0], [0.0, -9.0], [15.0, 15.0]] {
                let other = find(&picture, [exact[0] + step[0], exact[1] + step[1]], size).unwrap();
                assert_eq!(other.at, seen.at);
            }
            assert!(seen.saturated == 0.0 && (seen.noise / noise - 1.0).abs() < 0.6, "{seen:?}");
            list.push(off(seen.at, exact));
        }
        let largest = list.iter().copied().fold(0.0, f64::max);
        println!("{shape:?} of {width} m, noise {noise}: {:.3} px rms, {largest:.3} at most", rms(&list));
        assert!(rms(&list) < 0.1 && largest < 0.2, "{list:?}");
    }
}

/// Strokes of 0.5 mm are two pixels broad here: found, at twice the error of broader ones, which is above the 0.1 px that the fit counts.
#[test]
fn thin_strokes_are_found() {
    let camera = oblique();
    let scene = Scene { stroke: 0.25 / 7.0, noise: 4.0, ..Scene::new(&MARKS, Depth::Inner) };
    let picture = scene.draw(&camera);
    let off: Vec<f64> = MARKS
        .iter()
        .map(|mark| {
            let exact = camera.pixel(*mark, Depth::Inner);
            off(find(&picture, [exact[0] + 6.0, exact[1] - 5.0], 24.0).unwrap().at, exact)
        })
        .collect();
    println!("thin strokes: {off:.3?} px");
    assert!(rms(&off) < 0.2, "{off:?}");
}

#[test]
fn a_cross_half_over_the_rim_of_the_spacer_keeps_its_centre() {
    let camera = oblique();
    let scene = Scene { rim: Some(0.191), ..Scene::new(&MARKS, Depth::Inner) };
    let picture = scene.draw(&camera);
    let mut list = Vec::new();
    for mark in MARKS.iter().filter(|mark| mark[1] > 0.15) {
        let exact = camera.pixel(*mark, Depth::Inner);
        list.push(off(find(&picture, exact, 24.0).unwrap().at, exact));
    }
    println!("over the rim: {list:.3?} px");
    assert!(rms(&list) < 0.2, "{list:?}");
}

#[test]
fn whole_photographs_keep_the_limits() {
    let cameras = [
        ("oblique", oblique(), Face::Inner),
        ("barrel, outer", Camera { brown: [-0.04, 0.008], ..oblique() }, Face::Outer),
        ("steep", Camera::looking(38.0, -70.0, 3.0, 0.46), Face::Inner),
    ];
    for (name, camera, on) in cameras {
        let mut request = request(&camera, 8, on);
        request.lens = LensPrior::UNCORRECTED;
        let depth = if on == Face::Inner { Depth::Inner } else { Depth::Outer };
        rough(&mut request, 8.0, 3);
        let picture = Scene { noise: 4.0, ..Scene::new(&MARKS, depth) }.draw(&camera);
        let calibration = Calibration::of(&picture, &request).unwrap();
        let (errors, stated) = (errors(&camera, &calibration), stated(&calibration));
        println!(
            "{name}: {:.4} mm rms, stated {:.4}, residual {:.3} px, leave one out {:.4} mm",
            rms(&errors),
            rms(&stated),
            calibration.fit.residual_rms(),
            1e3 * calibration.fit.leave_one_out.iter().copied().fold(0.0, f64::max)
        );
        assert!(rms(&errors) < 0.05 && within(&errors, &stated) >= 0.9, "{name}: {}", rms(&errors));
        assert!((0.5..=5.0).contains(&(rms(&stated) / rms(&errors))), "{name}: {}", rms(&stated));
        assert!(calibration.fit.residual_rms() < 0.12 && calibration.fit.left_out.is_empty());
        assert!(calibration.sought.iter().all(|sought| sought.seen.is_ok()));
        let scale = calibration.scale([0.15, 0.1]).unwrap();
        assert!((2.0e3..5.0e3).contains(&scale), "{scale}");
    }
}

#[test]
fn the_size_of_marks_is_found_in_the_picture() {
    let camera = oblique();
    for (shape, width) in [(Shape::Cross, 7e-3), (Shape::Dot, 5e-3), (Shape::Cross, 12e-3)] {
        // marks at the middle of the sides have room for the largest
        let mut request = request(&camera, 10, Face::Inner);
        rough(&mut request, 6.0, 4);
        let picture = Scene { shape, width, ..Scene::new(&MARKS[..10], Depth::Inner) }.draw(&camera);
        request.mark_size = Some(width);
        let known = Calibration::of(&picture, &request).unwrap();
        request.mark_size = None;
        let found = Calibration::of(&picture, &request).unwrap();
        for (known, found) in known.sought.iter().zip(&found.sought) {
            assert!((0.7..1.4).contains(&(found.size / known.size)), "{known:?} {found:?}");
            assert!(off(known.seen.unwrap().at, found.seen.unwrap().at) < 0.1, "{known:?} {found:?}");
        }
    }
}

#[test]
fn a_mark_in_glare_is_named_by_its_light_and_by_its_place() {
    let camera = oblique();
    let mut request = request(&camera, 8, Face::Inner);
    rough(&mut request, 5.0, 5);
    let at = camera.pixel(MARKS[3], Depth::Inner);
    let glare = Some(([at[0] + 34.0, at[1] - 30.0], 37.0));
    let picture = Scene { glare, ..Scene::new(&MARKS, Depth::Inner) }.draw(&camera);
    let calibration = Calibration::of(&picture, &request).unwrap();
    let seen = calibration.sought[3].seen.unwrap();
    println!("in glare: {:.2} px off, {:.0} % saturated", off(seen.at, at), 100.0 * seen.saturated);
    assert_eq!(calibration.fit.left_out, ["d"]);
    assert!(calibration.fit.warnings.iter().any(|c| c.code.key() == "mark_in_glare" && c.message.contains("mark d")));
    assert!(rms(&errors(&camera, &calibration)) < 0.05);
    // without the first rule the second finds it
    let blind: Vec<Sighting> = request
        .marks
        .iter()
        .zip(&calibration.sought)
        .map(|(mark, sought)| Sighting {
            name: mark.name.clone(),
            place: mark.at,
            pixel: sought.seen.unwrap().at,
            saturated: 0.0,
        })
        .collect();
    let other = Calibration::from_centres(camera.size, &request, &blind).unwrap();
    assert_eq!(other.fit.left_out, ["d"]);
    assert!(other.fit.warnings.iter().any(|c| c.code.key() == "mark_left_out" && c.message.contains("mark d")));
}

/// The picture turned or mirrored: the pixel of the new picture for one of the old.
fn changed(picture: &Photo, to: impl Fn([f64; 2]) -> [f64; 2], turned: bool) -> Photo {
    let [width, height] = picture.size();
    let [w, h] = if turned { [height, width] } else { [width, height] };
    let mut values = vec![[0u8; 3]; w * h];
    for row in 0..height {
        for column in 0..width {
            let [u, v] = to([column as f64 + 0.5, row as f64 + 0.5]);
            values[v as usize * w + u as usize] = picture.at(column as isize, row as isize);
        }
    }
    Photo::new(w, h, values).unwrap()
}

/// A pixel of the changed picture for one of a picture of some width and height.
type Way = fn([f64; 2], f64, f64) -> [f64; 2];

#[test]
fn a_picture_mirrored_or_turned_gives_the_same_numbers() {
    let camera = oblique();
    let [w, h] = camera.size.map(|v| v as f64);
    let mut request = request(&camera, 8, Face::Inner);
    rough(&mut request, 5.0, 6);
    let picture = Scene::new(&MARKS, Depth::Inner).draw(&camera);
    let first = Calibration::of(&picture, &request).unwrap();
    let ways: [(Way, bool, bool); 3] = [
        (|[u, v], w, _| [w - u, v], false, true),
        (|[u, v], _, h| [h - v, u], true, false),
        (|[u, v], w, h| [w - u, h - v], false, false),
    ];
    for (way, turned, mirrored) in ways {
        let to = |pixel: [f64; 2]| way(pixel, w, h);
        let mut other = request.clone();
        other.marks.iter_mut().for_each(|mark| mark.click = to(mark.click));
        let second = Calibration::of(&changed(&picture, to, turned), &other).unwrap();
        assert_eq!(second.fit.lens.is_mirrored(), mirrored);
        assert_eq!(second.fit.warnings.iter().any(|caution| caution.code.key() == "mirrored"), mirrored);
        let mut largest = [0f64; 2];
        for p in grid() {
            let pixel = camera.pixel(p, Depth::Dye);
            let apart = off(first.point(pixel).unwrap(), second.point(to(pixel)).unwrap());
            let sigmas = (first.map_sigma(p).unwrap() / second.map_sigma(p).unwrap()).ln().abs();
            largest = [largest[0].max(apart), largest[1].max(sigmas)];
        }
        println!("turned or mirrored: {:.1e} m apart, stated {:.1e}", largest[0], largest[1]);
        assert!(largest[0] < 1e-9 && largest[1] < 1e-4, "{largest:?}");
    }
}

#[test]
fn the_order_of_clicks_and_the_number_of_threads_change_no_bit() {
    let camera = oblique();
    let mut request = request(&camera, 8, Face::Inner);
    rough(&mut request, 5.0, 7);
    request.mark_size = None;
    let picture = Scene::new(&MARKS, Depth::Inner).draw(&camera);
    let first = Calibration::of(&picture, &request).unwrap();
    request.marks.rotate_left(3);
    request.marks.swap(1, 6);
    let second = Calibration::of(&picture, &request).unwrap();
    let bits = |calibration: &Calibration| calibration.fit.lens.unknowns.map(f64::to_bits);
    assert_eq!(bits(&first), bits(&second));
    for threads in 1..=3 {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        let other = pool.install(|| Calibration::of(&picture, &request)).unwrap();
        assert_eq!(bits(&other), bits(&first));
        assert_eq!(other.sought, second.sought);
    }
}

#[test]
fn what_is_not_to_be_seen_is_named_with_its_reason() {
    let camera = oblique();
    let mut four = request(&camera, 4, Face::Inner);
    rough(&mut four, 5.0, 8);
    // two of four are not there
    let picture = Scene::new(&MARKS[..2], Depth::Inner).draw(&camera);
    let error = Calibration::of(&picture, &four).unwrap_err();
    let [c, d] = [2, 3].map(|k| four.marks[k].click.map(|v| v as i64));
    let start = format!("marks c and d are not to be seen near {c:?}, {d:?}: 2 of 4 found, 4 are needed");
    assert!(error.what().starts_with(&start), "{}", error.what());
    assert!(error.what().contains("c: nothing darker"), "{}", error.what());
    assert!(error.remedy().is_some_and(|remedy| remedy.contains("click")));
    // one of eight is not there: the others serve
    let eight = request(&camera, 8, Face::Inner);
    let picture = Scene::new(&[&MARKS[..5], &MARKS[6..8]].concat(), Depth::Inner).draw(&camera);
    let calibration = Calibration::of(&picture, &eight).unwrap();
    assert_eq!(calibration.fit.used.len(), 7);
    assert!(
        calibration
            .fit
            .warnings
            .iter()
            .any(|c| c.code.key() == "mark_not_seen" && c.message.starts_with("mark f is not"))
    );
}

#[test]
fn marks_are_refused_for_their_size_the_frame_and_faintness() {
    let camera = oblique();
    let picture = Scene::new(&MARKS, Depth::Inner).draw(&camera);
    let at = camera.pixel(MARKS[0], Depth::Inner);
    assert!(matches!(find(&picture, at, 80.0), Err(Unseen::Size { .. })), "{:?}", find(&picture, at, 80.0));
    assert!(matches!(find(&picture, [at[0] + 300.0, at[1] - 200.0], 24.0), Err(Unseen::Faint { .. })));
    assert_eq!(find(&picture, [-1.0, 20.0], 24.0), Err(Unseen::Outside));
    // the picture cut through the mark
    let [width, height] = picture.size();
    let first = at[0] as usize - 3;
    let rows = (0..height as isize).flat_map(|row| (first as isize..width as isize).map(move |column| (column, row)));
    let cut = Photo::new(width - first, height, rows.map(|(column, row)| picture.at(column, row)).collect()).unwrap();
    assert_eq!(find(&cut, [4.0, at[1]], 24.0), Err(Unseen::Cut));
    assert!(Photo::new(3, 2, vec![[0; 3]; 5]).is_err());
}

#[test]
fn clicks_that_cannot_serve_are_refused_with_what_to_do() {
    let camera = oblique();
    let picture = Scene::new(&MARKS, Depth::Inner).draw(&camera);
    let right = request(&camera, 8, Face::Inner);
    let refused = |request: &Request| Calibration::of(&picture, request).unwrap_err().what();
    let mut crossed = right.clone();
    let [b, f] = [1, 5].map(|k| right.marks[k].click);
    (crossed.marks[1].click, crossed.marks[5].click) = (f, b);
    assert!(refused(&crossed).contains("marks b and f seem swapped"), "{}", refused(&crossed));
    // two neighbours, which a camera could still see so
    let mut near = right.clone();
    let [a, e] = [0, 4].map(|k| right.marks[k].click);
    (near.marks[0].click, near.marks[4].click) = (e, a);
    let told = refused(&near);
    assert!(told.contains("px from where the others see") && told.contains("marks a and e seem swapped"), "{told}");
    let mut few = right.clone();
    few.marks.truncate(3);
    assert!(refused(&few).starts_with("3 marks are given, 4 are needed"));
    let mut flat = right.clone();
    flat.marks.truncate(4);
    flat.marks[2].at = [0.15, 0.0081];
    assert!(refused(&flat).contains("stand in a line"));
    let mut bare = right.clone();
    (bare.marks_on, bare.plate) = (Face::Outer, None);
    assert!(refused(&bare).contains("outer face of a plate of unknown thickness"));
    let mut twice = right.clone();
    twice.marks[4].name = "a".into();
    assert!(refused(&twice).contains("two marks are called a"));
    let mut large = right.clone();
    large.mark_size = Some(7.0);
    assert!(refused(&large).contains("px wide in the picture; 4 to 200 px can be found"), "{}", refused(&large));
    // two clicks at one mark serve neither
    let mut same = right;
    same.marks[4].click = same.marks[0].click;
    same.marks[4].at = [0.02, 0.012];
    let calibration = Calibration::of(&picture, &same).unwrap();
    assert_eq!([0, 4].map(|k| calibration.sought[k].seen), [Err(Unseen::Twice); 2]);
}
