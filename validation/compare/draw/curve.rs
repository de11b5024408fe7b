//! Smooth curves by places at equal steps of arc with their tangents, cubics between: distances are true within h⁴/384
//! times the third derivative of the direction, 1e-9 m at steps of 0.5 mm and radii of 20 mm.

use super::flow::Channel;

/// A dye line.
#[derive(Debug, Clone)]
pub struct Curve {
    /// Places at equal steps of arc, m.
    pub places: Vec<[f64; 2]>,
    ways: Vec<[f64; 2]>,
    step: f64,
}

impl Curve {
    /// The streamline from a place to an x.
    pub fn streamline(flow: &Channel, start: [f64; 2], end: f64, step: f64) -> Curve {
        let places = flow.line(start, end, step);
        let way = |p: &[f64; 2]| {
            let (_, v) = flow.at(*p);
            let size = v[0].hypot(v[1]);
            v.map(|x| x / size)
        };
        let ways = places.iter().map(way).collect();
        Curve { places, ways, step }
    }

    /// Square of the distance to a vertex.
    pub fn near(&self, vertex: usize, p: [f64; 2]) -> f64 {
        let [x, y] = self.places[vertex];
        (p[0] - x) * (p[0] - x) + (p[1] - y) * (p[1] - y)
    }

    /// Distance and arc of the nearest place beside the nearest vertex.
    pub fn nearest(&self, vertex: usize, p: [f64; 2]) -> [f64; 2] {
        let last = self.places.len() - 2;
        let before = self.on(vertex.saturating_sub(1).min(last), p);
        let after = self.on(vertex.min(last), p);
        if before[0] < after[0] { before } else { after }
    }

    fn on(&self, segment: usize, p: [f64; 2]) -> [f64; 2] {
        let (a, b) = (self.places[segment], self.places[segment + 1]);
        let (m, n) = (self.ways[segment].map(|x| self.step * x), self.ways[segment + 1].map(|x| self.step * x));
        let off = |t: f64| {
            let u = 1.0 - t;
            let weights = [u * u * (1.0 + 2.0 * t), t * u * u, t * t * (3.0 - 2.0 * t), -t * t * u];
            [0, 1].map(|k| weights[0] * a[k] + weights[1] * m[k] + weights[2] * b[k] + weights[3] * n[k] - p[k])
        };
        let slope = |t: f64| {
            let weights = [6.0 * t * t - 6.0 * t, 3.0 * t * t - 4.0 * t + 1.0, 3.0 * t * t - 2.0 * t];
            [0, 1].map(|k| weights[0] * (a[k] - b[k]) + weights[1] * m[k] + weights[2] * n[k])
        };
        // the curve is straight enough for |slope|² to stand for the second derivative, less what curvature adds each
        // time
        let mut t = 0.5;
        for _ in 0..4 {
            let (d, s) = (off(t), slope(t));
            t = (t - (d[0] * s[0] + d[1] * s[1]) / (s[0] * s[0] + s[1] * s[1])).clamp(0.0, 1.0);
        }
        let d = off(t);
        [d[0].hypot(d[1]), self.step * (segment as f64 + t)]
    }
}

/// Vertices of curves that reach into each tile of a picture, by tile, then curve.
#[derive(Debug)]
pub struct Tiles {
    across: usize,
    lists: Vec<Vec<(u32, u32)>>,
}

/// Pixels of a tile each way.
const TILE: usize = 16;

impl Tiles {
    /// Of curves by the pixels of their vertices and the pixels that each reaches.
    pub fn new(size: [usize; 2], curves: &[Vec<[f64; 2]>], reach: impl Fn(usize, usize) -> f64) -> Tiles {
        let [across, down] = size.map(|n| n.div_ceil(TILE));
        let mut lists = vec![Vec::new(); across * down];
        for (curve, pixels) in curves.iter().enumerate() {
            for (vertex, pixel) in pixels.iter().enumerate() {
                let reach = reach(curve, vertex);
                let range = |k: usize, count: usize| {
                    let tile = |x: f64| (x / TILE as f64).floor().clamp(0.0, count as f64) as usize;
                    tile(pixel[k] - reach)..(tile(pixel[k] + reach) + 1).min(count)
                };
                for row in range(1, down) {
                    for column in range(0, across) {
                        lists[row * across + column].push((curve as u32, vertex as u32));
                    }
                }
            }
        }
        Tiles { across, lists }
    }

    /// Those near a pixel: curve and vertex.
    pub fn at(&self, column: usize, row: usize) -> &[(u32, u32)] {
        &self.lists[row / TILE * self.across + column / TILE]
    }
}
