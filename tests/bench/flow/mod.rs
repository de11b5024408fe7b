//! A flow of its own to draw lines from: round piers in a channel without end, by complex potentials, with none of the program's code.
//!
//! `w = z + Σ c_n F_n(z − z0) + conj(c_n) F_n(z − conj z0)`, F_n of period 2 W i with a pole of order n: csch^n, or coth csch^(n−1) for odd
//! n. By the image at conj z0 and the period both walls are streamlines whatever c_n is; c_n makes the piers so, by least
//! squares at places on them. There is no circulation, for F_n has no logarithm.

use std::f64::consts::PI;

type C = [f64; 2];

fn times(a: C, b: C) -> C {
    [a[0] * b[0] - a[1] * b[1], a[0] * b[1] + a[1] * b[0]]
}

fn over(a: C, b: C) -> C {
    let size = b[0] * b[0] + b[1] * b[1];
    [(a[0] * b[0] + a[1] * b[1]) / size, (a[1] * b[0] - a[0] * b[1]) / size]
}

fn plus(a: C, b: C) -> C {
    [a[0] + b[0], a[1] + b[1]]
}

fn power(a: C, n: usize) -> C {
    (0..n).fold([1.0, 0.0], |product, _| times(product, a))
}

/// A round pier: centre and radius, m.
#[derive(Clone, Copy)]
pub struct Pier {
    pub centre: [f64; 2],
    pub radius: f64,
}

/// Terms of each pier.
const TERMS: usize = 10;

/// The flow at unit speed.
pub struct Channel {
    base: f64,
    width: f64,
    piers: Vec<Pier>,
    terms: Vec<[C; TERMS]>,
}

impl Channel {
    /// Between walls at `walls`, m.
    pub fn new(walls: [f64; 2], piers: &[Pier]) -> Channel {
        let [base, width] = [walls[0], walls[1] - walls[0]];
        let piers: Vec<Pier> =
            piers.iter().map(|p| Pier { centre: [p.centre[0], p.centre[1] - base], radius: p.radius }).collect();
        let unknowns = piers.len() * (2 * TERMS + 1);
        let mut normal = vec![vec![0.0; unknowns + 1]; unknowns];
        for (own, pier) in piers.iter().enumerate() {
            for k in 0..96 {
                let angle = 2.0 * PI * (f64::from(k) + 0.5) / 96.0;
                let z = [pier.centre[0] + pier.radius * angle.cos(), pier.centre[1] + pier.radius * angle.sin()];
                // Im of the terms less the level is minus that of z
                let mut row = vec![0.0; unknowns];
                for (q, pier) in piers.iter().enumerate() {
                    for n in 1..=TERMS {
                        let [f, _] = basis(n, z, pier.centre, pier.radius, width);
                        let [g, _] = basis(n, z, [pier.centre[0], -pier.centre[1]], pier.radius, width);
                        row[q * (2 * TERMS + 1) + 2 * n - 2] = f[1] + g[1];
                        row[q * (2 * TERMS + 1) + 2 * n - 1] = f[0] - g[0];
                    }
                }
                row[own * (2 * TERMS + 1) + 2 * TERMS] = -width;
                for i in 0..unknowns {
                    for j in 0..unknowns {
                        normal[i][j] += row[i] * row[j];
                    }
                    normal[i][unknowns] -= row[i] * z[1];
                }
            }
        }
        let found = eliminate(normal);
        let of = |q: usize| {
            let at = |n: usize| q * (2 * TERMS + 1) + 2 * n;
            std::array::from_fn(|n| [found[at(n)], found[at(n) + 1]])
        };
        let terms = (0..piers.len()).map(of).collect();
        Channel { base, width, piers, terms }
    }

    /// Stream function at unit speed, zero on the lower wall, m, and velocity.
    pub fn at(&self, place: [f64; 2]) -> (f64, [f64; 2]) {
        let z = [place[0], place[1] - self.base];
        let (mut w, mut slope) = (z, [1.0, 0.0]);
        for (pier, terms) in self.piers.iter().zip(&self.terms) {
            for (n, &c) in terms.iter().enumerate() {
                let image = [pier.centre[0], -pier.centre[1]];
                for (pole, c) in [(pier.centre, c), (image, [c[0], -c[1]])] {
                    let [f, df] = basis(n + 1, z, pole, pier.radius, self.width);
                    w = plus(w, times(c, f));
                    slope = plus(slope, times(c, df));
                }
            }
        }
        (w[1], [slope[0], -slope[1]])
    }

    /// A line from a place to an x, a place every so many metres, by Runge and Kutta's rule of fourth order.
    pub fn line(&self, start: [f64; 2], end: f64, step: f64) -> Vec<[f64; 2]> {
        let way = |p: [f64; 2]| {
            let (_, v) = self.at(p);
            let size = v[0].hypot(v[1]);
            v.map(|x| x / size)
        };
        let go = |p: [f64; 2], h: f64, d: [f64; 2]| [p[0] + h * d[0], p[1] + h * d[1]];
        let mut places = vec![start];
        let mut p = start;
        while p[0] < end {
            for _ in 0..4 {
                let h = step / 4.0;
                let a = way(p);
                let b = way(go(p, 0.5 * h, a));
                let c = way(go(p, 0.5 * h, b));
                let d = way(go(p, h, c));
                p = [0, 1].map(|k| p[k] + h / 6.0 * (a[k] + 2.0 * b[k] + 2.0 * c[k] + d[k]));
            }
            places.push(p);
        }
        places
    }
}

/// F_n and its derivative, scaled to about one on a circle of the radius round the pole.
fn basis(n: usize, z: C, pole: C, radius: f64, width: f64) -> [C; 2] {
    let k = PI / (2.0 * width);
    let u = [k * (z[0] - pole[0]), k * (z[1] - pole[1])];
    let sinh = [u[0].sinh() * u[1].cos(), u[0].cosh() * u[1].sin()];
    let cosh = [u[0].cosh() * u[1].cos(), u[0].sinh() * u[1].sin()];
    let (csch, coth) = (over([1.0, 0.0], sinh), over(cosh, sinh));
    let scale = (k * radius).powi(n as i32) * radius;
    let (f, df) = if n.is_multiple_of(2) {
        let f = power(csch, n);
        (f, times([-(n as f64), 0.0], times(f, coth)))
    } else {
        let m = n - 1;
        let small = power(csch, m);
        let first = times([-1.0, 0.0], power(csch, m + 2));
        (times(coth, small), plus(first, times([-(m as f64), 0.0], times(times(coth, coth), small))))
    };
    [f.map(|x| scale * x), df.map(|x| scale * k * x)]
}

fn eliminate(mut m: Vec<Vec<f64>>) -> Vec<f64> {
    let n = m.len();
    for i in 0..n {
        let pivot = (i..n).max_by(|&a, &b| m[a][i].abs().total_cmp(&m[b][i].abs())).unwrap();
        m.swap(i, pivot);
        for r in i + 1..n {
            let by = m[r][i] / m[i][i];
            let own = m[i].clone();
            m[r].iter_mut().zip(&own).skip(i).for_each(|(a, b)| *a -= by * b);
        }
    }
    let mut x = vec![0.0; n];
    for i in (0..n).rev() {
        let sum: f64 = (i + 1..n).map(|c| m[i][c] * x[c]).sum();
        x[i] = (m[i][n] - sum) / m[i][i];
    }
    x
}

/// Normal noise: a congruential generator (Knuth's constants) and Box & Muller's transform.
pub struct Noise(pub u64);

impl Noise {
    fn uniform(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 11) as f64 + 0.5) / (1u64 << 53) as f64
    }

    pub fn normal(&mut self) -> f64 {
        let (a, b) = (self.uniform(), self.uniform());
        (-2.0 * a.ln()).sqrt() * (2.0 * PI * b).cos()
    }
}
