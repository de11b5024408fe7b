mod silhouettes;

use crate::base::Point;
use crate::geometry::Curve;
use crate::geometry::measure::area_of;
use crate::input::case::{PictureOptions, ReadOptions, Tone};
use crate::input::drawing::{Drawing, read_drawing};
use crate::input::picture::exif;
use png::{BitDepth, ColorType};
use std::f64::consts::PI;

/// A grey picture, row by row from the top.
#[derive(Clone)]
struct Grey {
    width: u32,
    height: u32,
    tones: Vec<u8>,
}

impl Grey {
    fn of(width: u32, height: u32, tone: impl Fn(u32, u32) -> u8) -> Grey {
        let tones = (0..height).flat_map(|y| (0..width).map(move |x| (x, y))).map(|(x, y)| tone(x, y)).collect();
        Grey { width, height, tones }
    }

    fn png(&self) -> Vec<u8> {
        self.png_of(ColorType::Grayscale, BitDepth::Eight, &self.tones)
    }

    /// A picture of the same size with other samples.
    fn png_of(&self, colours: ColorType, depth: BitDepth, samples: &[u8]) -> Vec<u8> {
        let mut bytes = Vec::new();
        let mut encoder = png::Encoder::new(&mut bytes, self.width, self.height);
        encoder.set_color(colours);
        encoder.set_depth(depth);
        let tone = |k: u8| [k, k, k];
        encoder.set_palette((0..=255).flat_map(tone).collect::<Vec<u8>>());
        let mut writer = encoder.write_header().unwrap();
        writer.write_image_data(samples).unwrap();
        writer.finish().unwrap();
        bytes
    }

    fn jpeg(&self, quality: u8) -> Vec<u8> {
        self.jpeg_of(quality, jpeg_encoder::ColorType::Luma, &self.tones, None)
    }

    fn jpeg_of(&self, quality: u8, colours: jpeg_encoder::ColorType, samples: &[u8], note: Option<&[u8]>) -> Vec<u8> {
        let mut bytes = Vec::new();
        let mut encoder = jpeg_encoder::Encoder::new(&mut bytes, quality);
        if let Some(note) = note {
            encoder.add_app_segment(1, [b"Exif\0\0", note].concat()).unwrap();
        }
        encoder.encode(samples, self.width as u16, self.height as u16, colours).unwrap();
        bytes
    }

    /// Each tone as several samples.
    fn samples<const N: usize>(&self, of: impl Fn(u8) -> [u8; N]) -> Vec<u8> {
        self.tones.iter().flat_map(|&tone| of(tone)).collect()
    }
}

/// A dark shape on light ground, each pixel the mean of 16 x 16 samples; x to the right, y down.
fn drawn(width: u32, height: u32, inside: impl Fn(f64, f64) -> bool) -> Grey {
    Grey::of(width, height, |x, y| {
        let at = |k: u32, i: u32| f64::from(k) + (f64::from(i) + 0.5) / 16.0;
        let hits = (0..256).filter(|s| inside(at(x, s % 16), at(y, s / 16))).count();
        (240.0 - 210.0 * hits as f64 / 256.0).round() as u8
    })
}

fn read_bytes(bytes: &[u8], options: &ReadOptions) -> Result<Drawing, String> {
    let folder = tempfile::tempdir().unwrap();
    // what stands inside counts, not the name
    let path = folder.path().join("picture.png");
    std::fs::write(&path, bytes).unwrap();
    read_drawing(&path, options).map_err(|problems| problems.to_string())
}

fn read(picture: &Grey) -> Drawing {
    read_bytes(&picture.png(), &ReadOptions::default()).unwrap()
}

fn area(drawing: &Drawing) -> f64 {
    area_of(drawing.loops[0].curves.iter().map(|curve| (curve, 0.0, 1.0)))
}

fn points(drawing: &Drawing) -> Vec<Point> {
    drawing.loops[0].curves.iter().flat_map(|c| (0..32).map(|k| c.point(f64::from(k) / 32.0))).collect()
}

/// Largest distance of the outline from a circle.
fn radius_error(drawing: &Drawing, centre: Point, radius: f64) -> f64 {
    points(drawing).iter().map(|p| ((p[0] - centre[0]).hypot(p[1] - centre[1]) - radius).abs()).fold(0.0, f64::max)
}

fn disc(radius: f64) -> Grey {
    drawn(120, 130, |x, y| (x - 60.3).hypot(y - 62.8) < radius)
}

/// The same disc with the share of each pixel exact in y, by 64 columns in x.
fn exact_disc(radius: f64) -> Grey {
    Grey::of(120, 130, |x, y| {
        let column = |k: u32| {
            let u = f64::from(x) + (f64::from(k) + 0.5) / 64.0 - 60.3;
            let half = (radius * radius - u * u).max(0.0).sqrt();
            let top = (62.8 - half).max(f64::from(y));
            ((62.8 + half).min(f64::from(y + 1)) - top).max(0.0)
        };
        let share = (0..64).map(column).sum::<f64>() / 64.0;
        (240.0 - 210.0 * share).round() as u8
    })
}

/// The model: every pixel shows the share of it that is covered, in steps of one in 210; a crossing is read off a straight line between
/// two pixels after the average; the outline keeps within the deviation it states from samples on the chords between crossings.
///
/// Inwards, over R: (1/12 + 1/2)/2, for the variances of a pixel and of the average; 1/8, the sagitta of the unit step over which a
/// crossing is interpolated; 1/4, that of a chord of length sqrt 2; 0.06, that of 0.7 between samples. In all 0.73/R.
/// Either way: (7 - 4 sqrt 3)/2 = 0.036 by interpolation in the ramp of a straight edge along the grid, and less in other directions;
/// half a step of the tones, and a quarter for the histogram in which the two tones are found, on the least slope of the averaged ramp,
/// 3/8 a pixel: 0.75/210/(3/8) = 0.010.
///
/// Of the area, least squares keep the mean: 2/R of the shift inwards, (7/24 + 1/8 + 1/4)/R, and of the quarter of a step, 0.0032; the
/// 0.036 average out but for the four stretches of 2 sqrt(R/2) along the grid: 4 x 2 sqrt(R/2) x 0.036/(pi R^2).
#[test]
fn an_anti_aliased_disc_is_found() {
    for radius in [50.0, 20.0, 6.0] {
        let found = read(&exact_disc(radius));
        let error = radius_error(&found, [60.3, 130.0 - 62.8], radius);
        let relative = area(&found) / (PI * radius * radius) - 1.0;
        let stated =
            found.notes.iter().find_map(|note| note.strip_prefix("blob 1 is drawn within ")?.split(' ').next());
        // two decimals are printed
        let deviation = stated.unwrap().parse::<f64>().unwrap() + 0.005;
        println!("radius {radius}: error {error:.4}, deviation {deviation:.3} pixels, area {relative:.2e}");
        assert!(deviation <= 0.105, "{deviation}");
        assert!(error < 0.73 / radius + 0.046 + deviation, "{error}");
        let of_area = (1.34 / radius + 0.0064) / radius + 0.065 / radius.powf(1.5);
        assert!(relative.abs() < of_area, "{relative}");
        if radius == 50.0 {
            // what is asked of the program
            assert!(error < 0.1 && relative.abs() < 1e-3, "{error} {relative}");
        }
        assert!(found.loops[0].curves.len() <= 16 && !found.scaled);
    }
}

#[test]
fn corners_survive() {
    for angle in [0.0f64, 0.11, 0.35, PI / 4.0] {
        let (sin, cos) = angle.sin_cos();
        let local = |x: f64, y: f64| [cos * x - sin * y, sin * x + cos * y];
        let picture = drawn(160, 160, |x, y| {
            let [u, v] = local(x - 80.2, y - 79.6);
            u.abs() < 40.0 && v.abs() < 30.0
        });
        let found = read(&picture);
        let curves = &found.loops[0].curves;
        assert_eq!(curves.len(), 4, "{angle}: {:?}", found.notes);
        assert!(curves.iter().all(|c| matches!(c, Curve::Line { .. })));
        for c in curves {
            let p = c.point(0.0);
            // y down again
            let [u, v] = local(p[0] - 80.2, 160.0 - p[1] - 79.6);
            let miss = (u.abs() - 40.0).hypot(v.abs() - 30.0);
            // two sides, each known to 0.036 pixels and drawn to 0.2/16
            assert!(miss < 0.072, "{angle}: {miss}");
        }
        assert!((area(&found) / 4800.0 - 1.0).abs() < 2e-3);
    }
}

/// Two arcs of radius 60 that meet at 2 acos(30/60) = 120 degrees: two corners, between them smooth.
#[test]
fn a_lens_has_two_corners() {
    let picture = drawn(140, 100, |x, y| (x - 70.0).hypot(y - 20.0) < 60.0 && (x - 70.0).hypot(y - 80.0) < 60.0);
    let found = read(&picture);
    let half = 60.0 * (PI / 3.0).sin();
    // 2 (R^2 acos(d/R) - d sqrt(R^2 - d^2)), d = 30
    let exact = 2.0 * (3600.0 * PI / 3.0 - 30.0 * half);
    assert!((area(&found) / exact - 1.0).abs() < 2e-3, "{}", area(&found) / exact);
    for x in [70.0 - half, 70.0 + half] {
        let near = points(&found).iter().map(|p| (p[0] - x).hypot(p[1] - 50.0)).fold(f64::INFINITY, f64::min);
        assert!(near < 0.3, "{near}");
    }
    assert!(found.notes.iter().any(|note| note.contains("2 corners")), "{:?}", found.notes);
}

/// Noise of 12 grey levels (standard deviation) on a contrast of 210: 0.06 pixels a crossing, less after the averages.
#[test]
fn noise_and_compression_do_little_harm() {
    let mut state = 7u64;
    let mut random = || {
        state = state.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407);
        (state >> 40) as f64 / (1u64 << 24) as f64
    };
    let mut noisy = disc(50.0);
    for tone in &mut noisy.tones {
        let sum: f64 = (0..12).map(|_| random()).sum::<f64>() - 6.0;
        *tone = (f64::from(*tone) + 12.0 * sum).round().clamp(0.0, 255.0) as u8;
    }
    let found = read(&noisy);
    let error = radius_error(&found, [60.3, 67.2], 50.0);
    assert!(error < 0.2 && (area(&found) / (2500.0 * PI) - 1.0).abs() < 2e-3, "{error}");
    let found = read_bytes(&disc(50.0).jpeg(70), &ReadOptions::default()).unwrap();
    let error = radius_error(&found, [60.3, 67.2], 50.0);
    assert!(error < 0.2 && (area(&found) / (2500.0 * PI) - 1.0).abs() < 2e-3, "{error}");
}

/// Without intermediate tones a straight edge is known to half a pixel, the area of many pixels far better.
#[test]
fn a_picture_in_black_and_white() {
    let picture = Grey::of(200, 200, |x, y| 255 * u8::from((f64::from(x) - 99.2).hypot(f64::from(y) - 100.7) < 80.0));
    let found = read(&picture);
    assert!(radius_error(&found, [99.7, 200.0 - 101.2], 80.0) < 0.6);
    assert!((area(&found) / (6400.0 * PI) - 1.0).abs() < 5e-3);
    assert!(found.notes.iter().any(|note| note.contains("light part")), "{:?}", found.notes);
    assert!(found.notes.iter().any(|note| note.contains("half a pixel")), "{:?}", found.notes);
}

#[test]
fn holes_specks_blobs_and_the_border_are_said() {
    let picture = drawn(200, 120, |x, y| {
        let ring = (25.0..40.0).contains(&(x - 60.0).hypot(y - 60.0));
        let small = (x - 150.0).hypot(y - 50.0) < 15.0;
        ring || small || (x - 110.0).hypot(y - 10.0) < 1.2 || (x > 185.0 && y > 100.0)
    });
    let found = read(&picture);
    assert!((area(&found) / (1600.0 * PI) - 1.0).abs() < 1e-3);
    let notes = found.notes.join("\n");
    for part in
        ["1 hole inside the outline is filled", "1 speck", "blob 3 reaches the border", "left out: \"2\", \"3\""]
    {
        assert!(notes.contains(part), "{part}: {notes}");
    }
    let second = ReadOptions { id: Some("2".into()), ..ReadOptions::default() };
    let found = read_bytes(&picture.png(), &second).unwrap();
    assert!((area(&found) / (225.0 * PI) - 1.0).abs() < 4e-3);
    let every = ReadOptions { every: true, ..ReadOptions::default() };
    assert_eq!(read_bytes(&picture.png(), &every).unwrap().loops.len(), 3);
}

#[test]
fn scale_tone_threshold_and_transparency() {
    let marks =
        PictureOptions { marks: Some([[10.0, 20.0], [40.0, 60.0]]), marks_apart: Some(0.05), ..Default::default() };
    let options = ReadOptions { picture: marks, ..ReadOptions::default() };
    let found = read_bytes(&disc(50.0).png(), &options).unwrap();
    // 50 pixels are 50 mm
    assert!(found.scaled && (area(&found) / (PI * 0.0025) - 1.0).abs() < 1e-3);
    assert!(found.notes.iter().any(|n| n.contains("pixels (") && n.contains("mm)")), "{:?}", found.notes);
    // the light ground taken for the obstacle: a rectangle with a hole
    let light = PictureOptions { tone: Some(Tone::Light), ..Default::default() };
    let options = ReadOptions { picture: light, ..ReadOptions::default() };
    let found = read_bytes(&disc(50.0).png(), &options).unwrap();
    assert!((area(&found) / (120.0 * 130.0) - 1.0).abs() < 1e-9, "{}", area(&found));
}

#[test]
fn what_cannot_be_read_is_said() {
    let fails = |bytes: &[u8], part: &str| {
        let problems = read_bytes(bytes, &ReadOptions::default()).unwrap_err();
        assert!(problems.contains(part), "{part}: {problems}");
    };
    fails(b"", "neither PNG nor JPEG");
    fails(b"x,y\n1,2\n", "neither PNG nor JPEG");
    fails(&Grey::of(1, 1, |_, _| 7).png(), "no obstacle");
    fails(&Grey::of(50, 50, |_, _| 0).png(), "no obstacle");
    let whole = disc(40.0).png();
    fails(&whole[..whole.len() / 2], "cannot be decoded");
    // headers that promise other numbers of pixels, their check sum (CRC-32 of the chunk) put right
    for (width, promised) in [([0, 0, 0xea, 0x60], "60000 x 60000"), ([0; 4], "cannot be decoded")] {
        let mut other = whole.clone();
        other[16..20].copy_from_slice(&width);
        other[20..24].copy_from_slice(&width);
        let sum = crc(&other[12..29]);
        other[29..33].copy_from_slice(&sum.to_be_bytes());
        fails(&other, promised);
    }
    let jpeg = disc(40.0).jpeg(80);
    fails(&jpeg[..jpeg.len() / 2], "cut short");
    fails(&[0xff, 0xd8, 0xff, 0xe0, 0, 16, 0xff, 0xd9], "cannot be decoded");
}

/// CRC-32 as PNG uses it (ISO 3309).
fn crc(bytes: &[u8]) -> u32 {
    !bytes
        .iter()
        .fold(!0u32, |c, b| (0..8).fold(c ^ u32::from(*b), |c, _| (c >> 1) ^ (0xedb8_8320 & (c & 1).wrapping_neg())))
}

/// The disc of [`disc`] in every kind of sample that either format knows, each way to the same outline. Eight bits keep it to 0.06
/// pixels, four bits have steps of a fifteenth: half of one on the averaged slope of 3/8 is 0.09 more. At quality 95 the steps of the
/// cosines are 1 to 12, about 6 in the mean, which makes 6/sqrt(12) = 1.7 levels of noise; four times that is 7/210/(3/8) = 0.09 as well.
#[test]
fn every_depth_and_colour_is_read() {
    let grey = disc(50.0);
    let check = |what: &str, bytes: &[u8], allowed: f64| {
        let found = read_bytes(bytes, &ReadOptions::default()).unwrap();
        let error = radius_error(&found, [60.3, 67.2], 50.0);
        assert!(error < allowed, "{what}: {error}");
    };
    let png = |colours: ColorType, depth: BitDepth, samples: &[u8]| grey.png_of(colours, depth, samples);
    let opacity = |tone: u8| 255 - ((f64::from(tone) - 30.0) / 210.0 * 255.0).round() as u8;
    let halves = grey.tones.chunks(2).map(|pair| pair[0] & 0xf0 | pair[1] >> 4).collect::<Vec<u8>>();
    use BitDepth::{Eight, Four, Sixteen};
    use ColorType::{Grayscale, GrayscaleAlpha, Indexed, Rgb, Rgba};
    check("rgb", &png(Rgb, Eight, &grey.samples(|t| [t; 3])), 0.06);
    check("deep", &png(Grayscale, Sixteen, &grey.samples(|t| [t, 0])), 0.06);
    check("deep rgba", &png(Rgba, Sixteen, &grey.samples(|t| [t, 0, t, 0, t, 0, 255, 255])), 0.06);
    check("palette", &png(Indexed, Eight, &grey.tones), 0.06);
    check("half bytes", &png(Grayscale, Four, &halves), 0.15);
    check("clear", &png(Rgba, Eight, &grey.samples(|t| [200, 255, 180, opacity(t)])), 0.06);
    check("clear grey", &png(GrayscaleAlpha, Eight, &grey.samples(|t| [90, opacity(t)])), 0.06);
    let jpeg = |colours: jpeg_encoder::ColorType, samples: &[u8]| grey.jpeg_of(95, colours, samples, None);
    use jpeg_encoder::ColorType::{Cmyk, CmykAsYcck};
    check("jpeg", &grey.jpeg(95), 0.15);
    check("jpeg rgb", &jpeg(jpeg_encoder::ColorType::Rgb, &grey.samples(|t| [t; 3])), 0.15);
    // ink is what paper is not
    check("jpeg cmyk", &jpeg(Cmyk, &grey.samples(|t| [0, 0, 0, 255 - t])), 0.15);
    check("jpeg ycck", &jpeg(CmykAsYcck, &grey.samples(|t| [0, 0, 0, 255 - t])), 0.15);
}

/// BT.709: green counts most, blue least. Red (luminance 0.213) on yellow (0.928), blue (0.072) on red, none the other way round.
#[test]
fn colours_count_by_their_luminance() {
    let grey = disc(50.0);
    let mix = |dark: [u8; 3], light: [u8; 3]| {
        grey.samples(|tone| {
            let share = (f64::from(tone) - 30.0) / 210.0;
            [0, 1, 2].map(|k| (f64::from(dark[k]) + share * (f64::from(light[k]) - f64::from(dark[k]))).round() as u8)
        })
    };
    let (red, yellow, blue) = ([255, 0, 0], [255, 255, 0], [0, 0, 255]);
    for (dark, light) in [(red, yellow), (blue, red)] {
        let bytes = grey.png_of(ColorType::Rgb, BitDepth::Eight, &mix(dark, light));
        let dark_part = PictureOptions { tone: Some(Tone::Dark), ..Default::default() };
        let found = read_bytes(&bytes, &ReadOptions { picture: dark_part, ..ReadOptions::default() }).unwrap();
        assert!((area(&found) / (2500.0 * PI) - 1.0).abs() < 1e-3, "{}", area(&found));
    }
}

/// A disc left of the middle of a photograph that the camera says was taken on its side, row 0 at the right: it stands above the middle.
#[test]
fn a_photograph_is_turned_as_its_camera_notes() {
    let photograph = drawn(200, 120, |x, y| (x - 50.3).hypot(y - 62.8) < 40.0);
    // as in the test above
    let allowed = 0.15;
    let note = exif(6, false);
    let jpeg = photograph.jpeg_of(95, jpeg_encoder::ColorType::Luma, &photograph.tones, Some(&note));
    let found = read_bytes(&jpeg, &ReadOptions::default()).unwrap();
    // 120 across and 200 high, y up: x = 120 - 62.8, y = 200 - 50.3
    assert!(radius_error(&found, [57.2, 149.7], 40.0) < allowed);
    let mut bytes = Vec::new();
    let mut info = png::Info::with_size(200, 120);
    info.exif_metadata = Some(note.into());
    let encoder = png::Encoder::with_info(&mut bytes, info).unwrap();
    encoder.write_header().unwrap().write_image_data(&photograph.tones).unwrap();
    let found = read_bytes(&bytes, &ReadOptions::default()).unwrap();
    assert!(radius_error(&found, [57.2, 149.7], 40.0) < allowed);
}

/// A ground that darkens from left to right by a share of the contrast of 210 grey levels, behind a disc of an even tone.
#[test]
fn uneven_light_is_said() {
    let lit = |share: f64| {
        let mut picture = disc(30.0);
        for (k, tone) in picture.tones.iter_mut().enumerate() {
            let ground = (f64::from(*tone) - 30.0) / 210.0;
            let along = (k % 120) as f64 / 119.0;
            *tone = (30.0 + ground * (210.0 - 210.0 * share * along)).round() as u8;
        }
        read(&picture).notes.into_iter().filter(|note| note.contains("uneven")).collect::<Vec<_>>()
    };
    // medians over eighths of the picture see seven eighths of the change: 0.2 of it from 0.23 on, where the contrast is that
    // between medians, a tenth less than 210
    assert_eq!(lit(0.0), [""; 0]);
    assert_eq!(lit(0.16), [""; 0]);
    let [said] = &lit(0.4)[..] else { panic!("one note of the ground") };
    // 0.4 x 7/8 of 210 over the contrast of 210 (1 - 0.2), half a step of 1/64 of it either way
    let share: f64 = said.split("changes by ").nth(1).and_then(|s| s.split(' ').next()).unwrap().parse().unwrap();
    assert!((share - 100.0 * 0.35 / 0.8).abs() < 3.0, "{said}");
    assert!(said.contains("ground") && said.contains("right") && said.contains("left"), "{said}");
}

/// A bar with one edge blurred over six pixels in even light: of one eighth of the picture only blurred pixels are ground.
#[test]
fn a_blurred_edge_is_no_uneven_light() {
    let bar = Grey::of(80, 80, |x, y| match x {
        20..=35 if (10..70).contains(&y) => 30,
        36..=41 if (10..70).contains(&y) => 30 * (x as u8 - 34),
        _ => 240,
    });
    assert!(read(&bar).notes.iter().all(|note| !note.contains("uneven")), "{:?}", read(&bar).notes);
}
