//! Colour maps: steps of equal size to the eye, lightness that only falls (or falls away from the middle on both sides), so that they can be
//! read with any colour vision and in grey. More is darker, in every figure; nothing is as dark as the obstacles.
//!
//! Each map is a line through a few colours in the OKLab space (Ottosson 2020, "A perceptual color space for image processing"),
//! divided into parts of equal length.

use super::style::Palette;

/// What a map is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ColourMap {
    /// From little to much.
    Rising,
    /// Below and above zero, which is the middle.
    AboutZero,
}

type Lab = [f64; 3];

const RISING: [[u8; 3]; 4] = [[243, 232, 190], [161, 185, 142], [80, 139, 138], [38, 92, 122]];
const BELOW: [[u8; 3]; 3] = [[24, 92, 116], [110, 163, 176], [243, 241, 234]];
const ABOVE: [[u8; 3]; 3] = [[243, 241, 234], [217, 153, 96], [158, 76, 22]];
const GREYS: [[u8; 3]; 2] = [[250, 250, 250], [88, 88, 88]];

impl ColourMap {
    /// Colour at a part of the way from 0 to 1.
    pub fn at(self, part: f64, palette: Palette) -> [u8; 3] {
        let part = if part.is_finite() { part.clamp(0.0, 1.0) } else { 0.0 };
        match (palette, self) {
            (Palette::Grey, _) => along(&GREYS, part),
            (_, ColourMap::Rising) => along(&RISING, part),
            (_, ColourMap::AboutZero) if part < 0.5 => along(&BELOW, 2.0 * part),
            (_, ColourMap::AboutZero) => along(&ABOVE, 2.0 * part - 1.0),
        }
    }
}

/// The colour at a part of the length of a line of colours.
fn along(line: &[[u8; 3]], part: f64) -> [u8; 3] {
    let line: Vec<Lab> = line.iter().map(|&c| lab(c)).collect();
    let lengths: Vec<f64> = line.windows(2).map(|w| distance(w[0], w[1])).collect();
    let mut left = part * lengths.iter().sum::<f64>();
    for (k, &length) in lengths.iter().enumerate() {
        if left <= length || k + 1 == lengths.len() {
            let s = (left / length).clamp(0.0, 1.0);
            return srgb(std::array::from_fn(|i| line[k][i] + s * (line[k + 1][i] - line[k][i])));
        }
        left -= length;
    }
    [0; 3]
}

fn distance(a: Lab, b: Lab) -> f64 {
    a.iter().zip(b).map(|(a, b)| (a - b) * (a - b)).sum::<f64>().sqrt()
}

/// sRGB to OKLab.
fn lab(colour: [u8; 3]) -> Lab {
    let [r, g, b] = colour.map(|c| {
        let c = f64::from(c) / 255.0;
        if c <= 0.04045 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
    });
    let l = (0.4122214708 * r + 0.5363325363 * g + 0.0514459929 * b).cbrt();
    let m = (0.2119034982 * r + 0.6806995451 * g + 0.1073969566 * b).cbrt();
    let s = (0.0883024619 * r + 0.2817188376 * g + 0.6299787005 * b).cbrt();
    [
        0.2104542553 * l + 0.7936177850 * m - 0.0040720468 * s,
        1.9779984951 * l - 2.4285922050 * m + 0.4505937099 * s,
        0.0259040371 * l + 0.7827717662 * m - 0.8086757660 * s,
    ]
}

/// OKLab to sRGB.
fn srgb([lightness, a, b]: Lab) -> [u8; 3] {
    let l = (lightness + 0.3963377774 * a + 0.2158037573 * b).powi(3);
    let m = (lightness - 0.1055613458 * a - 0.0638541728 * b).powi(3);
    let s = (lightness - 0.0894841775 * a - 1.2914855480 * b).powi(3);
    let linear = [
        4.0767416621 * l - 3.3077115913 * m + 0.2309699292 * s,
        -1.2684380046 * l + 2.6097574011 * m - 0.3413193965 * s,
        -0.0041960863 * l - 0.7034186147 * m + 1.7076147010 * s,
    ];
    linear.map(|c| {
        let c = if c <= 0.0031308 { 12.92 * c } else { 1.055 * c.powf(1.0 / 2.4) - 0.055 };
        (255.0 * c).round().clamp(0.0, 255.0) as u8
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn colours(map: ColourMap, palette: Palette) -> Vec<[u8; 3]> {
        (0..=32).map(|k| map.at(f64::from(k) / 32.0, palette)).collect()
    }

    /// Rounding a colour of these maps to 8 bits moves it by up to half of 1/255 in each of three parts, in OKLab less than 0.0025, and
    /// a step has two ends; a step of the maps is about 0.03. The last line has parts of very different length.
    #[test]
    fn steps_are_equal_to_the_eye() {
        for palette in [Palette::Colour, Palette::Grey] {
            for (map, range) in
                [(ColourMap::Rising, 0..33), (ColourMap::AboutZero, 0..17), (ColourMap::AboutZero, 16..33)]
            {
                let line: Vec<Lab> = colours(map, palette)[range].iter().map(|&c| lab(c)).collect();
                let steps: Vec<f64> = line.windows(2).map(|w| distance(w[0], w[1])).collect();
                let mean = steps.iter().sum::<f64>() / steps.len() as f64;
                for step in steps {
                    assert!((step - mean).abs() < 0.005, "{map:?} {step} of {mean}");
                }
            }
        }
        let uneven = [[70; 3], [90; 3], [250; 3]];
        let line: Vec<Lab> = (0..=20).map(|k| lab(along(&uneven, f64::from(k) / 20.0))).collect();
        let whole = distance(line[0], line[20]);
        assert!(line.windows(2).all(|w| (distance(w[0], w[1]) - whole / 20.0).abs() < 0.005));
    }

    /// Seen without red or green cones (Machado, Oliveira & Fernandes 2009, severity 1), lightness still only falls, so that no two
    /// places of a map can be taken for one another; of the map about zero each side is checked, and that its ends differ.
    #[test]
    fn order_survives_colour_blindness() {
        let red = [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]];
        let green = [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]];
        for matrix in [red, green] {
            let seen = |c: [u8; 3]| -> Lab {
                let linear = c.map(|c| (f64::from(c) / 255.0).powf(2.2));
                let mixed: [f64; 3] = std::array::from_fn(|i| (0..3).map(|j| matrix[i][j] * linear[j]).sum::<f64>());
                lab(mixed.map(|c| (255.0 * c.clamp(0.0, 1.0).powf(1.0 / 2.2)) as u8))
            };
            let light =
                |map: ColourMap| -> Vec<f64> { colours(map, Palette::Colour).iter().map(|&c| seen(c)[0]).collect() };
            assert!(light(ColourMap::Rising).windows(2).all(|w| w[1] < w[0]));
            let about = light(ColourMap::AboutZero);
            assert!(about[..17].windows(2).all(|w| w[1] > w[0]) && about[16..].windows(2).all(|w| w[1] < w[0]));
            let ends = colours(ColourMap::AboutZero, Palette::Colour);
            assert!(distance(seen(ends[0]), seen(ends[32])) > 0.1);
        }
    }

    /// Printed in grey an obstacle is told from every step of every map by an eighth of the way from black to white or more, and what is
    /// more of something is darker. Weights of red, green and blue: ITU-R BT.709.
    #[test]
    fn obstacles_differ_from_every_step_in_grey() {
        use crate::report::figure::{Canvas, Classes, Column, Ink, Style};
        let luminance = |[r, g, b]: [u8; 3]| 0.2126 * f64::from(r) + 0.7152 * f64::from(g) + 0.0722 * f64::from(b);
        for palette in [Palette::Colour, Palette::Grey] {
            let canvas = Canvas::new("a", "b", 10.0, Style { palette, column: Column::Double });
            let solid = luminance(Ink::Solid.colour(palette));
            for count in 4..=14 {
                let rising = Classes::rising(&canvas, [0.0, 2.0], [0.0, 2.0], count);
                let lines = Classes::for_lines(&canvas, [0.0, 2.0], [0.0, 2.0], count);
                let about = Classes::about_zero(&canvas, [-2.0, 2.0], [-2.0, 2.0], count);
                for classes in [&rising, &lines, &about] {
                    for &colour in &classes.colours {
                        assert!((luminance(colour) - solid).abs() > 255.0 / 8.0, "{palette:?} {colour:?} {solid}");
                    }
                }
                for classes in [&rising, &lines] {
                    assert!(classes.colours.windows(2).all(|w| luminance(w[1]) < luminance(w[0])));
                }
            }
        }
    }

    /// Published pairs of the space: white is (1, 0, 0); sRGB red is about (0.628, 0.225, 0.126).
    #[test]
    fn the_space_is_the_published_one() {
        for (colour, expected) in [([255, 255, 255], [1.0, 0.0, 0.0]), ([255, 0, 0], [0.628, 0.225, 0.126])] {
            assert!(distance(lab(colour), expected) < 1e-3);
            assert_eq!(srgb(lab(colour)), colour);
        }
    }
}
