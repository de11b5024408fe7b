//! What is true of a drawn photograph.

use super::camera::{Camera, Depth};
use super::chance::Random;
use super::curve::Curve;
use super::scene::Scene;
use std::fmt::Write;

/// Between places of a line, m of arc.
pub const STEP: f64 = 0.5e-3;
/// Between places of the map's grid, m.
const GRID: f64 = 0.01;

/// A dye line.
#[derive(Debug, Clone)]
pub struct Line {
    /// Share of the true flux below it.
    pub share: f64,
    /// Its middle every 0.5 mm of arc from the needle, in the cell, m.
    pub curve: Curve,
    /// The same places in the picture.
    pub pixels: Vec<[f64; 2]>,
}

/// A mark.
#[derive(Debug, Clone)]
pub struct Mark {
    /// Its name in the case.
    pub name: &'static str,
    /// Where the case says it is, m.
    pub stated: [f64; 2],
    /// Where it is, m.
    pub place: [f64; 2],
    /// Its middle in the picture.
    pub pixel: [f64; 2],
    /// A rough click on it, at most 5 px off.
    pub click: [i64; 2],
}

/// The truth of one photograph.
#[derive(Debug, Clone)]
pub struct Truth {
    /// From the lowest needle up.
    pub lines: Vec<Line>,
    /// As the case lists them.
    pub marks: Vec<Mark>,
    /// Places at the dye's height every 10 mm, and their pixels.
    pub map: Vec<[[f64; 2]; 2]>,
    /// Beyond this x a clamp hides the lines.
    pub end: f64,
}

impl Truth {
    /// Of a scene.
    pub fn new(scene: &Scene) -> Truth {
        let Scene { camera, cell, needles, bench, .. } = scene;
        let flow = scene.flow();
        let line = |y: &f64| {
            let start = [needles.x, *y];
            let curve = Curve::streamline(&flow, start, bench.clamps[1] + 0.012, STEP);
            let pixels = curve.places.iter().map(|p| camera.pixel(*p, Depth::Dye)).collect();
            Line { share: flow.share(start), curve, pixels }
        };
        let steps = |low: f64, high: f64| {
            let count = ((high - low) / GRID).round() as usize;
            (0..=count).map(move |k| low + (high - low) * k as f64 / count as f64)
        };
        let [low, high] = bench.clamps;
        let grid = steps(low, high).flat_map(|x| steps(0.0, cell.width).map(move |y| [x, y]));
        Truth {
            lines: needles.y.iter().map(line).collect(),
            marks: marks(scene, camera),
            map: grid.map(|p| [p, camera.pixel(p, Depth::Dye)]).collect(),
            end: high,
        }
    }

    /// Columns line, x_m, y_m, u_px, v_px: what the clamps leave to be seen.
    pub fn lines_csv(&self) -> String {
        let mut text = String::from("line,x_m,y_m,u_px,v_px\n");
        for (line, number) in self.lines.iter().zip(1..) {
            for ([x, y], [u, v]) in line.curve.places.iter().zip(&line.pixels).filter(|(p, _)| p[0] <= self.end) {
                let _ = writeln!(text, "{number},{x:.8},{y:.8},{u:.4},{v:.4}");
            }
        }
        text
    }

    /// Columns line, share: of the flux below each line.
    pub fn shares_csv(&self) -> String {
        let rows = self.lines.iter().zip(1..).map(|(line, number)| format!("{number},{:.9}\n", line.share));
        std::iter::once("line,share\n".into()).chain(rows).collect()
    }

    /// Columns mark, stated_x_m, stated_y_m, x_m, y_m, u_px, v_px.
    pub fn marks_csv(&self) -> String {
        let mut text = String::from("mark,stated_x_m,stated_y_m,x_m,y_m,u_px,v_px\n");
        for Mark { name, stated: [a, b], place: [x, y], pixel: [u, v], .. } in &self.marks {
            let _ = writeln!(text, "{name},{a:.8},{b:.8},{x:.8},{y:.8},{u:.4},{v:.4}");
        }
        text
    }

    /// Columns x_m, y_m, u_px, v_px.
    pub fn map_csv(&self) -> String {
        let mut text = String::from("x_m,y_m,u_px,v_px\n");
        for [[x, y], [u, v]] in &self.map {
            let _ = writeln!(text, "{x:.8},{y:.8},{u:.4},{v:.4}");
        }
        text
    }
}

fn marks(scene: &Scene, camera: &Camera) -> Vec<Mark> {
    let marks = &scene.marks;
    let one = |(k, (name, stated)): (usize, &(&'static str, [f64; 2]))| {
        let mut random = Random::of(scene.seed ^ 0x6d61_726b, k);
        let off = random.normals();
        let place = [0, 1].map(|k| stated[k] + marks.placed_within * off[k]);
        let pixel = camera.pixel(place, marks.depth);
        // rounding adds up to 0.7 px
        let (size, angle) = (4.2 * random.uniform().sqrt(), random.between(0.0, std::f64::consts::TAU));
        let click = [pixel[0] + size * angle.cos(), pixel[1] + size * angle.sin()].map(|x| x.round() as i64);
        Mark { name, stated: *stated, place, pixel, click }
    };
    marks.stated.iter().enumerate().map(one).collect()
}
