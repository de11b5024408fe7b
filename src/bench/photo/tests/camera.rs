//! A camera of its own, which shares no line with the code under test: rays by Snell through plate and fluid, found by bisection of
//! the sine above the plate; a pinhole with Brown's lens in focal lengths; crosses and dots drawn by sampling every pixel.

use crate::input::measured::Photo;

pub type V3 = [f64; 3];

/// A photograph of a cell: the outer face is z = 0, the camera above it.
#[derive(Debug, Clone)]
pub struct Camera {
    pub size: [usize; 2],
    pub focal: f64,
    pub principal: [f64; 2],
    /// Brown's coefficients of the radius in focal lengths.
    pub brown: [f64; 2],
    pub centre: V3,
    /// Right, down, ahead.
    pub axes: [V3; 3],
    pub plate: [f64; 2],
    pub gap: f64,
    pub fluid: f64,
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Depth {
    Outer,
    Inner,
    Dye,
}

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
    /// Looks at the middle of a cell of 300 by 200 mm from a distance, tilted by degrees towards a direction, rolled.
    pub fn looking(tilt: f64, towards: f64, roll: f64, away: f64) -> Camera {
        let (t, p, r) = (tilt.to_radians(), towards.to_radians(), roll.to_radians());
        let target = [0.15, 0.1, 0.0];
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
        }
    }

    fn layers(&self, depth: Depth) -> Vec<[f64; 2]> {
        match depth {
            Depth::Outer => vec![],
            Depth::Inner => vec![self.plate],
            Depth::Dye => vec![self.plate, [0.5 * self.gap, self.fluid]],
        }
    }

    /// Pixel of a point at a depth.
    pub fn pixel(&self, point: [f64; 2], depth: Depth) -> [f64; 2] {
        let way = [point[0] - self.centre[0], point[1] - self.centre[1]];
        let goal = way[0].hypot(way[1]);
        let mut stack = self.layers(depth);
        stack.push([self.centre[2], 1.0]);
        let reach = |sine: f64| stack.iter().map(|[d, n]| d * sine / (n * n - sine * sine).sqrt()).sum::<f64>();
        let (mut low, mut high) = (0.0, 1.0);
        for _ in 0..100 {
            let middle: f64 = 0.5 * (low + high);
            if reach(middle) < goal { low = middle } else { high = middle }
        }
        let sine: f64 = low;
        let rho = self.centre[2] * sine / (1.0 - sine * sine).sqrt();
        let at = if goal > 0.0 {
            [self.centre[0] + rho * way[0] / goal, self.centre[1] + rho * way[1] / goal, 0.0]
        } else {
            [point[0], point[1], 0.0]
        };
        let ray = [0, 1, 2].map(|k| at[k] - self.centre[k]);
        let [x, y, z] = self.axes.map(|axis| dot(axis, ray));
        let (x, y) = (x / z, y / z);
        let r2 = x * x + y * y;
        let stretch = 1.0 + self.brown[0] * r2 + self.brown[1] * r2 * r2;
        [self.principal[0] + self.focal * x * stretch, self.principal[1] + self.focal * y * stretch]
    }

    /// The point at a depth that a pixel shows.
    pub fn point(&self, pixel: [f64; 2], depth: Depth) -> [f64; 2] {
        let seen = [0, 1].map(|k| (pixel[k] - self.principal[k]) / self.focal);
        let mut n = seen;
        for _ in 0..60 {
            let r2 = n[0] * n[0] + n[1] * n[1];
            let stretch = 1.0 + self.brown[0] * r2 + self.brown[1] * r2 * r2;
            let next = seen.map(|v| v / stretch);
            let is_done = next == n;
            n = next;
            if is_done {
                break;
            }
        }
        let ray = unit([0, 1, 2].map(|k| n[0] * self.axes[0][k] + n[1] * self.axes[1][k] + self.axes[2][k]));
        let sine = ray[0].hypot(ray[1]);
        let down = -self.centre[2] / ray[2];
        let mut at = [self.centre[0] + down * ray[0], self.centre[1] + down * ray[1]];
        if sine > 0.0 {
            for [d, n] in self.layers(depth) {
                let out = d * sine / (n * n - sine * sine).sqrt() / sine;
                at = [at[0] + out * ray[0], at[1] + out * ray[1]];
            }
        }
        at
    }
}

/// What stands on the plate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Shape {
    Cross,
    Dot,
}

/// What is drawn.
#[derive(Debug, Clone)]
pub struct Scene {
    pub marks: Vec<[f64; 2]>,
    pub shape: Shape,
    /// Width of a cross, diameter of a dot, m.
    pub width: f64,
    /// Half the breadth of a stroke over the width of a cross.
    pub stroke: f64,
    pub depth: Depth,
    pub noise: f64,
    /// Where the spacer ends: darker above this y.
    pub rim: Option<f64>,
    /// Centre, radius (pixels) of a spot of glare.
    pub glare: Option<([f64; 2], f64)>,
    pub seed: u64,
}

impl Scene {
    pub fn new(marks: &[[f64; 2]], depth: Depth) -> Scene {
        let marks = marks.to_vec();
        Scene {
            marks,
            shape: Shape::Cross,
            width: 7e-3,
            stroke: 0.08,
            depth,
            noise: 2.0,
            rim: None,
            glare: None,
            seed: 1,
        }
    }

    fn tone(&self, mark: Option<&[f64; 2]>, p: [f64; 2]) -> f64 {
        let is_mark = mark.is_some_and(|mark| {
            let (x, y) = ((p[0] - mark[0]).abs(), (p[1] - mark[1]).abs());
            match self.shape {
                Shape::Cross => x.max(y) < 0.5 * self.width && x.min(y) < self.stroke * self.width,
                Shape::Dot => x.hypot(y) < 0.5 * self.width,
            }
        });
        let ground = if self.rim.is_some_and(|rim| p[1] > rim) { 140.0 } else { 205.0 - 100.0 * p[0] };
        if is_mark { 25.0 } else { ground }
    }

    /// The picture by 5 by 5 rays a pixel at marks and rims, by one elsewhere.
    pub fn draw(&self, camera: &Camera) -> Photo {
        let mut random = Random(self.seed);
        let [width, height] = camera.size;
        let scale = |mark: &[f64; 2]| {
            let [a, b] = [0.0, 1e-3].map(|step| camera.pixel([mark[0] + step, mark[1]], self.depth));
            (a[0] - b[0]).hypot(a[1] - b[1]) / 1e-3
        };
        let places: Vec<([f64; 2], f64)> = self
            .marks
            .iter()
            .map(|mark| (camera.pixel(*mark, self.depth), 2.5 * self.width * scale(mark) + 15.0))
            .collect();
        let mut values = Vec::with_capacity(width * height);
        for row in 0..height {
            for column in 0..width {
                let middle = [column as f64 + 0.5, row as f64 + 0.5];
                let off = |at: &[f64; 2]| (at[0] - middle[0]).abs().max((at[1] - middle[1]).abs());
                let mark = places.iter().position(|(at, reach)| off(at) < *reach);
                let is_close = mark.is_some_and(|mark| off(&places[mark].0) < 0.4 * places[mark].1);
                let rays = if is_close || (mark.is_some() && self.rim.is_some()) { 5 } else { 1 };
                let mut sum = 0.0;
                for k in 0..rays * rays {
                    let part = |k: usize| (k as f64 + 0.5) / rays as f64 - 0.5;
                    let pixel = [middle[0] + part(k % rays), middle[1] + part(k / rays)];
                    // far from marks nothing depends on the place
                    let point = if mark.is_some() { camera.point(pixel, self.depth) } else { [0.0, 0.0] };
                    sum += self.tone(mark.map(|mark| &self.marks[mark]), point);
                }
                let mut light = sum / (rays * rays) as f64;
                if let Some((at, radius)) = self.glare {
                    let off = (middle[0] - at[0]).hypot(middle[1] - at[1]) / radius;
                    light += 600.0 * (-off * off * off * off).exp();
                }
                // slightly warm light, noise of each channel of its own
                values.push([1.0, 0.97, 0.93].map(|tint| {
                    let noisy: f64 = tint * light + self.noise * random.normal();
                    noisy.clamp(0.0, 255.0).round() as u8
                }));
            }
        }
        Photo::new(width, height, values).unwrap()
    }
}

/// Numbers that are the same in every run (Steele et al. 2014, splitmix).
pub struct Random(pub u64);

impl Random {
    pub fn uniform(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    }

    pub fn normal(&mut self) -> f64 {
        let (a, b) = (self.uniform(), self.uniform());
        (-2.0 * (1.0 - a).ln()).sqrt() * (std::f64::consts::TAU * b).cos()
    }
}

#[test]
fn the_camera_agrees_with_itself_both_ways() {
    let mut camera = Camera::looking(30.0, 70.0, 12.0, 0.45);
    camera.brown = [-0.08, 0.02];
    for depth in [Depth::Outer, Depth::Inner, Depth::Dye] {
        for k in 0..20 {
            let point = [0.015 * f64::from(k), 0.01 * f64::from(19 - k)];
            let back = camera.point(camera.pixel(point, depth), depth);
            assert!((back[0] - point[0]).hypot(back[1] - point[1]) < 1e-9, "{point:?} {back:?}");
        }
    }
}
