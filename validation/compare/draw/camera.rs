//! A camera above a cell: a pinhole with Brown's lens (1966), rays by Snell through plate and fluid, found by bisection
//! of the sine in air.
//!
//! Metres in the cell, z up from the outer face; pixels from the upper left corner of the picture, the middle of the
//! first at (0.5, 0.5). The lens is `1 + k1 r² + k2 r⁴` with r in focal lengths. Both ways agree within 1e-9 m while
//! the lens does not fold: r² below `1/(3 |k1|)`.

use std::f64::consts::TAU;

type V3 = [f64; 3];

/// A photograph of a cell: the outer face is z = 0, the camera above it.
#[derive(Debug, Clone)]
pub struct Camera {
    /// Pixels across and down before the picture is turned.
    pub size: [usize; 2],
    /// In pixels.
    pub focal: f64,
    /// Foot of the axis on the picture, pixels.
    pub principal: [f64; 2],
    /// Brown's coefficients of the radius in focal lengths.
    pub brown: [f64; 2],
    /// Where the pinhole is, m.
    pub centre: [f64; 3],
    /// Right, down, ahead.
    pub axes: [[f64; 3]; 3],
    /// Thickness, m, and refractive index of the plate.
    pub plate: [f64; 2],
    /// Between the plates, m.
    pub gap: f64,
    /// Refractive index of the fluid.
    pub fluid: f64,
    /// Seen through the back plate, or flipped: right becomes left.
    pub is_mirrored: bool,
    /// Quarter turns of the finished picture, clockwise.
    pub turns: usize,
}

/// What is looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Depth {
    /// Outer face of the plate.
    Outer,
    /// Its inner face.
    Inner,
    /// The middle of the gap.
    Dye,
    /// The other plate's inner face.
    Floor,
}

/// All of them, downward.
pub const DEPTHS: [Depth; 4] = [Depth::Outer, Depth::Inner, Depth::Dye, Depth::Floor];

fn dot(a: V3, b: V3) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

fn across(a: V3, b: V3) -> V3 {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

fn unit(a: V3) -> V3 {
    let length = dot(a, a).sqrt();
    a.map(|v| v / length)
}

impl Camera {
    /// 1600 by 1200 pixels and 1500 pixels of focal length, a plate of 8 mm (index 1.49) over 1 mm of water; looks at a
    /// place from a distance, tilted by degrees towards a direction (degrees from x), rolled by degrees.
    pub fn looking(target: [f64; 2], tilt: f64, towards: f64, roll: f64, away: f64) -> Camera {
        let [t, p, r] = [tilt, towards, roll].map(|angle| angle / 360.0 * TAU);
        let out = [t.sin() * p.cos(), t.sin() * p.sin(), t.cos()];
        let ahead = out.map(|v| -v);
        let up = [0.0, 1.0, 0.0];
        let down = unit([0, 1, 2].map(|k| dot(up, ahead) * ahead[k] - up[k]));
        let right = across(down, ahead);
        let axes = [
            [0, 1, 2].map(|k| r.cos() * right[k] + r.sin() * down[k]),
            [0, 1, 2].map(|k| r.cos() * down[k] - r.sin() * right[k]),
            ahead,
        ];
        let target = [target[0], target[1], 0.0];
        Camera {
            size: [1600, 1200],
            focal: 1500.0,
            principal: [800.0, 600.0],
            brown: [0.0, 0.0],
            centre: [0, 1, 2].map(|k| target[k] + away * out[k]),
            axes,
            plate: [8e-3, 1.49],
            gap: 1e-3,
            fluid: 1.333,
            is_mirrored: false,
            turns: 0,
        }
    }

    /// The same view with so many times the pixels each way.
    pub fn finer(mut self, factor: f64) -> Camera {
        self.size = self.size.map(|n| (n as f64 * factor).round() as usize);
        self.focal *= factor;
        self.principal = self.principal.map(|x| x * factor);
        self
    }

    /// Width and height of the finished picture.
    pub fn picture_size(&self) -> [usize; 2] {
        let [w, h] = self.size;
        if self.turns.is_multiple_of(2) { [w, h] } else { [h, w] }
    }

    /// Layers that a ray passes from the outer face down to each depth: thickness and index.
    fn layers(&self) -> [[f64; 2]; 3] {
        let half = [0.5 * self.gap, self.fluid];
        [self.plate, half, half]
    }

    /// Pixel of a place at a depth.
    pub fn pixel(&self, place: [f64; 2], depth: Depth) -> [f64; 2] {
        let way = [place[0] - self.centre[0], place[1] - self.centre[1]];
        let goal = way[0].hypot(way[1]);
        let layers = self.layers();
        let below = &layers[..depth as usize];
        let height = self.centre[2];
        let out = |d: f64, n: f64, sine: f64| d * sine / (n * n - sine * sine).sqrt();
        let reach = |sine: f64| out(height, 1.0, sine) + below.iter().map(|[d, n]| out(*d, *n, sine)).sum::<f64>();
        let (mut low, mut high): (f64, f64) = (0.0, 1.0);
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if reach(middle) < goal { low = middle } else { high = middle }
        }
        let rho = out(height, 1.0, low);
        let [a, b] = if goal > 0.0 { way.map(|v| rho * v / goal) } else { [0.0, 0.0] };
        let [x, y, z] = self.axes.map(|axis| dot(axis, [a, b, -height]));
        let (x, y) = (x / z, y / z);
        let r2 = x * x + y * y;
        let stretch = 1.0 + self.brown[0] * r2 + self.brown[1] * r2 * r2;
        self.turned([self.principal[0] + self.focal * x * stretch, self.principal[1] + self.focal * y * stretch])
    }

    /// The place at a depth that a pixel shows.
    pub fn place(&self, pixel: [f64; 2], depth: Depth) -> [f64; 2] {
        self.places(pixel)[depth as usize]
    }

    /// What a pixel shows at each depth.
    pub fn places(&self, pixel: [f64; 2]) -> [[f64; 2]; 4] {
        let pixel = self.unturned(pixel);
        let seen = [0, 1].map(|k| (pixel[k] - self.principal[k]) / self.focal);
        let mut n = seen;
        if self.brown != [0.0, 0.0] {
            for _ in 0..60 {
                let r2 = n[0] * n[0] + n[1] * n[1];
                let stretch = 1.0 + self.brown[0] * r2 + self.brown[1] * r2 * r2;
                let next = seen.map(|v| v / stretch);
                let change = (next[0] - n[0]).abs() + (next[1] - n[1]).abs();
                n = next;
                if change < 1e-14 {
                    break;
                }
            }
        }
        let [right, down, ahead] = self.axes;
        let ray = unit([0, 1, 2].map(|k| n[0] * right[k] + n[1] * down[k] + ahead[k]));
        let fall = -self.centre[2] / ray[2];
        let mut at = [self.centre[0] + fall * ray[0], self.centre[1] + fall * ray[1]];
        let sine2 = ray[0] * ray[0] + ray[1] * ray[1];
        let mut all = [at; 4];
        for (k, [d, n]) in self.layers().into_iter().enumerate() {
            let out = d / (n * n - sine2).sqrt();
            at = [at[0] + out * ray[0], at[1] + out * ray[1]];
            all[k + 1] = at;
        }
        all
    }

    fn turned(&self, pixel: [f64; 2]) -> [f64; 2] {
        let [mut w, mut h] = self.size.map(|n| n as f64);
        let mut p = if self.is_mirrored { [w - pixel[0], pixel[1]] } else { pixel };
        for _ in 0..self.turns % 4 {
            p = [h - p[1], p[0]];
            (w, h) = (h, w);
        }
        p
    }

    fn unturned(&self, pixel: [f64; 2]) -> [f64; 2] {
        let [mut w, mut h] = self.picture_size().map(|n| n as f64);
        let mut p = pixel;
        for _ in 0..self.turns % 4 {
            p = [p[1], w - p[0]];
            (w, h) = (h, w);
        }
        if self.is_mirrored { [w - p[0], p[1]] } else { p }
    }
}
