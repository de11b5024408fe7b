//! A photograph, drawn with known truth.
//!
//! Each pixel's ray is followed to every depth. Dye lines take light by the exact distance of the pixel's middle from
//! the curve, their variance enlarged by a twelfth of the pixel's square, which is what averaging over it does to a
//! profile three pixels wide within 1e-3; rims are sampled 5 by 5. Then vignetting, glare, blur, noise of each channel,
//! eight bits, JPEG. A line's middle in the picture is that of its curve within 0.006 px, 0.012 px in the steep view:
//! perspective skews the profile by its variance times the relative gradient of the scale.

use super::camera::{Camera, DEPTHS};
use super::chance::Random;
use super::curve::Tiles;
use super::flow::{Channel, Pier};
use super::jpeg;
use super::parts::{BEYOND, Bench, Cell, Dye, Glare, Marks, Needles};
use super::picture::Picture;
use super::truth::{STEP, Truth};
use rayon::prelude::*;

/// All that is in a photograph.
#[derive(Debug, Clone)]
pub struct Scene {
    /// From where it is taken.
    pub camera: Camera,
    /// As it really is.
    pub cell: Cell,
    /// Whether the flow keeps off edges by the edge layer's displacement.
    pub has_edge_layer: bool,
    /// Where dye enters.
    pub needles: Needles,
    /// The dye.
    pub dye: Dye,
    /// Marks on the plate.
    pub marks: Marks,
    /// What is round the cell.
    pub bench: Bench,
    /// Reflections.
    pub glare: Vec<Glare>,
    /// Standard deviation of the lens's spread, pixels.
    pub blur: f64,
    /// Standard deviation of the sensor's noise, grey levels.
    pub noise: f64,
    /// Of JPEG; none for no compression.
    pub quality: Option<u8>,
    /// Of noise, clicks and errors of marks.
    pub seed: u64,
}

/// Rays each way in a pixel with a rim.
const RAYS: usize = 5;
/// A profile's reach in standard deviations.
const REACH: f64 = 4.5;

/// What a ray meets: light, and whether dye stands before it.
type Tone = ([f64; 3], bool);

impl Scene {
    /// The true flow.
    pub fn flow(&self) -> Channel {
        let piers: Vec<Pier> = self.cell.piers.iter().map(|(_, pier)| *pier).collect();
        Channel::in_cell(self.cell.width, if self.has_edge_layer { self.cell.gap } else { 0.0 }, &piers)
    }

    /// The picture as the camera's file holds it.
    pub fn draw(&self, truth: &Truth) -> Picture {
        let [width, height] = self.camera.picture_size();
        let light = self.light(truth);
        let mut pixels = vec![[0; 3]; width * height];
        pixels.par_chunks_mut(width).zip(light.par_chunks(width)).enumerate().for_each(|(row, (pixels, light))| {
            let mut random = Random::of(self.seed, row);
            for (pixel, light) in pixels.iter_mut().zip(light) {
                let [a, b] = if self.noise > 0.0 { random.normals() } else { [0.0; 2] };
                let c = if self.noise > 0.0 { random.normal() } else { 0.0 };
                let noise = [a, b, c];
                *pixel =
                    [0, 1, 2].map(|k| (f64::from(light[k]) + self.noise * noise[k]).round().clamp(0.0, 255.0) as u8);
            }
        });
        let picture = Picture { width, height, pixels };
        self.quality.map_or(picture.clone(), |quality| jpeg::compressed(&picture, quality))
    }

    /// Light on each pixel, grey levels that may lie beyond 255, before noise and rounding.
    pub fn light(&self, truth: &Truth) -> Vec<[f32; 3]> {
        let [width, height] = self.camera.picture_size();
        let pixels: Vec<_> = truth.lines.iter().map(|line| line.pixels.clone()).collect();
        let tiles = Tiles::new([width, height], &pixels, |line, vertex| {
            let next = if vertex == 0 { 1 } else { vertex - 1 };
            let (a, b) = (pixels[line][vertex], pixels[line][next]);
            // seen at a slant a pixel is up to 1.5 times as long one way as the other
            let scale = 1.5 * (a[0] - b[0]).hypot(a[1] - b[1]) / STEP;
            scale * (REACH * self.sigma(vertex as f64 * STEP) + STEP) + 2.0
        });
        let mut light = vec![[0.0; 3]; width * height];
        light.par_chunks_mut(width).enumerate().for_each(|(row, out)| {
            let middle = |column: usize| [column as f64 + 0.5, row as f64 + 0.5];
            let mut next = self.camera.places(middle(0));
            for (column, out) in out.iter_mut().enumerate() {
                let places = next;
                next = self.camera.places(middle(column + 1));
                let footprint = (next[2][0] - places[2][0]).hypot(next[2][1] - places[2][1]);
                let absorbance = self.absorbance(truth, tiles.at(column, row), places[2], footprint);
                let rays = if self.is_near_rim(truth, &places, 1.6 * footprint) { RAYS } else { 1 };
                let mut sums = [[0.0; 3]; 2];
                let mut shown = 0.0;
                for k in 0..rays * rays {
                    let part = |k: usize| (k as f64 + 0.5) / rays as f64 - 0.5;
                    let [u, v] = middle(column);
                    let places =
                        if rays == 1 { places } else { self.camera.places([u + part(k % rays), v + part(k / rays)]) };
                    let (tone, shows_dye) = self.tone(truth, &places);
                    let sum = &mut sums[usize::from(shows_dye)];
                    let share = 1.0 / (rays * rays) as f64;
                    *sum = [0, 1, 2].map(|c| sum[c] + share * tone[c]);
                    shown += if shows_dye { share } else { 0.0 };
                }
                let shade = self.shade(middle(column), [width, height]);
                let glare: f64 = self.glare.iter().map(|spot| spot.light(places[0])).sum();
                *out = [0, 1, 2].map(|c| {
                    let through = (-absorbance * self.dye.absorptivity[c]).exp();
                    let dyed = sums[1][c] * through + shown * (1.0 - through) * self.dye.glow[c];
                    ((sums[0][c] + dyed) * shade + glare) as f32
                });
            }
        });
        if self.blur > 0.0 { blurred(&light, width, self.blur) } else { light }
    }

    fn sigma(&self, arc: f64) -> f64 {
        self.dye.sigma + self.dye.growth * arc
    }

    fn shade(&self, [u, v]: [f64; 2], [width, height]: [usize; 2]) -> f64 {
        let (w, h) = (0.5 * width as f64, 0.5 * height as f64);
        1.0 - self.bench.vignetting * ((u - w).powi(2) + (v - h).powi(2)) / (w * w + h * h)
    }

    fn absorbance(&self, truth: &Truth, near: &[(u32, u32)], place: [f64; 2], footprint: f64) -> f64 {
        let mut sum = 0.0;
        for group in near.chunk_by(|a, b| a.0 == b.0) {
            let curve = &truth.lines[group[0].0 as usize].curve;
            let (mut least, mut nearest) = (f64::INFINITY, 0);
            for (_, vertex) in group {
                let distance = curve.near(*vertex as usize, place);
                if distance < least {
                    (least, nearest) = (distance, *vertex as usize);
                }
            }
            let own = self.sigma(nearest as f64 * STEP);
            if least.sqrt() < REACH * own + footprint + STEP {
                let [distance, arc] = curve.nearest(nearest, place);
                let wide = self.sigma(arc).powi(2) + footprint * footprint / 12.0;
                sum += self.dye.strength * self.dye.sigma / wide.sqrt() * (-0.5 * distance * distance / wide).exp();
            }
        }
        sum
    }

    fn is_near_rim(&self, truth: &Truth, places: &[[f64; 2]; 4], within: f64) -> bool {
        let [outer, inner, dye, floor] = *places;
        let width = self.cell.width;
        let near = |a: f64, b: f64| (a - b).abs() < within;
        let beyond = |y: f64| (-y).max(y - width);
        let piers = |p: [f64; 2]| {
            let rim = |pier: &Pier| (p[0] - pier.centre[0]).hypot(p[1] - pier.centre[1]) - pier.radius;
            self.cell.piers.iter().any(|(_, pier)| rim(pier).abs() < within)
        };
        let reach = 0.5 * self.marks.width + within;
        let on = places[DEPTHS.iter().position(|depth| *depth == self.marks.depth).unwrap_or(0)];
        near(beyond(inner[1]), 0.0)
            || near(beyond(floor[1]), 0.0)
            || near(beyond(inner[1]), BEYOND[0])
            || near(beyond(outer[1]), BEYOND[1])
            || near(beyond(floor[1]), BEYOND[2])
            || self.bench.clamps.iter().any(|x| near(outer[0], *x))
            || piers(inner)
            || piers(floor)
            || self.is_on_needle(dye, within)
            || truth.marks.iter().any(|m| (on[0] - m.place[0]).abs().max((on[1] - m.place[1]).abs()) < reach)
    }

    fn is_on_needle(&self, p: [f64; 2], within: f64) -> bool {
        let reach = 0.5 * self.needles.width + within;
        self.needles.width > 0.0
            && p[0] < self.needles.x + within
            && self.needles.y.iter().any(|y| (p[1] - y).abs() < reach)
    }

    /// What a ray meets, from above.
    fn tone(&self, truth: &Truth, places: &[[f64; 2]; 4]) -> Tone {
        let [outer, inner, dye, floor] = *places;
        let bench = &self.bench;
        let scaled = |share: f64| bench.ground.map(|level| share * level);
        let beyond = |y: f64| (-y).max(y - self.cell.width);
        let panel = bench.unevenness(floor);
        if beyond(floor[1]) > BEYOND[2] {
            return (scaled(0.17 + 0.5 * (panel - 1.0)), false);
        }
        let is_under_plate = beyond(outer[1]) < BEYOND[1];
        let [low, high] = bench.clamps;
        let clamp = (low - outer[0]).max(outer[0] - high);
        if is_under_plate && clamp > 0.0 {
            // a bevel catches light
            return (scaled((if clamp < 1.5e-3 { 0.46 } else { 0.31 }) * (2.0 - panel)), false);
        }
        let on = places[DEPTHS.iter().position(|depth| *depth == self.marks.depth).unwrap_or(0)];
        if truth.marks.iter().any(|m| self.marks.covers([0, 1].map(|k| on[k] - m.place[k]))) {
            return (scaled(0.11), false);
        }
        if !is_under_plate {
            return (scaled(1.04 * panel), false);
        }
        if beyond(inner[1]) > 0.0 || beyond(floor[1]) > 0.0 {
            return (scaled(if beyond(inner[1]) > BEYOND[0] { 0.95 } else { bench.spacer } * panel), false);
        }
        let is_in = |p: [f64; 2], pier: &Pier| (p[0] - pier.centre[0]).hypot(p[1] - pier.centre[1]) < pier.radius;
        if self.cell.piers.iter().any(|(_, pier)| is_in(inner, pier) || is_in(floor, pier)) {
            return (scaled(bench.pier * panel), false);
        }
        if self.is_on_needle(dye, 0.0) {
            return (scaled(0.42 * panel), false);
        }
        (scaled(panel), true)
    }
}

/// Spread by a Gaussian, rows then columns.
fn blurred(light: &[[f32; 3]], width: usize, sigma: f64) -> Vec<[f32; 3]> {
    let reach = (3.0 * sigma).ceil() as isize;
    let raw: Vec<f64> = (-reach..=reach).map(|k| (-0.5 * (k as f64 / sigma).powi(2)).exp()).collect();
    let total: f64 = raw.iter().sum();
    let weights: Vec<f32> = raw.iter().map(|weight| (weight / total) as f32).collect();
    let height = light.len() / width;
    let spread = |of: &dyn Fn(usize) -> [f32; 3], at: usize, count: usize| {
        let mut sum = [0.0; 3];
        for (k, weight) in weights.iter().enumerate() {
            let value = of((at as isize + k as isize - reach).clamp(0, count as isize - 1) as usize);
            sum = [0, 1, 2].map(|c| sum[c] + weight * value[c]);
        }
        sum
    };
    let pass = |light: &[[f32; 3]], is_down: bool| {
        let mut out = vec![[0.0; 3]; light.len()];
        out.par_chunks_mut(width).enumerate().for_each(|(row, out)| {
            for (column, out) in out.iter_mut().enumerate() {
                *out = if is_down {
                    spread(&|row| light[row * width + column], row, height)
                } else {
                    spread(&|column| light[row * width + column], column, width)
                };
            }
        });
        out
    };
    pass(&pass(light, false), true)
}
