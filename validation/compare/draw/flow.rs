//! Ideal flow past round piers in a channel without end, by complex potentials.
//!
//! `w = z + Σ c_n F_n(z − z0) + conj(c_n) F_n(z − conj z0)`, F_n of period 2 W i with a pole of order n: csch^n, or
//! coth csch^(n−1) for odd n, of π z/(2 W). By the image at conj z0 and the period both walls are streamlines whatever
//! c_n is; c_n makes the piers so, by least squares at places on them. There is no circulation, for F_n has no
//! logarithm. Piers half a radius and more from each other and from walls are streamlines within 1e-6 of the width.
//!
//! The edge layer of a gap b displaces the flow from every solid edge by `93 ζ(5)/π⁵ b` (Thompson 1968, J. Fluid Mech.
//! 31, 379), to first order in b over the radius: with it, walls are moved in and radii grown by that much, and the
//! same potentials are exact again.

use std::f64::consts::PI;

type C = [f64; 2];

/// Displacement by the edge layer over the gap, 93 ζ(5)/π⁵.
pub const DISPLACEMENT: f64 = 0.315_124_438_141_933_47;

/// Terms of each pier.
const TERMS: usize = 12;
/// Places on each pier.
const PLACES: usize = 96;

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

/// A round pier: centre and radius, m.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pier {
    /// Its centre, m.
    pub centre: [f64; 2],
    /// Its radius, m.
    pub radius: f64,
}

impl Pier {
    /// The same pier elsewhere, by mm along the flow and across it.
    pub fn moved(self, by_mm: [f64; 2]) -> Pier {
        Pier { centre: [0, 1].map(|k| self.centre[k] + 1e-3 * by_mm[k]), radius: self.radius }
    }
}

/// The flow at unit speed far away.
#[derive(Debug, Clone)]
pub struct Channel {
    base: f64,
    width: f64,
    piers: Vec<Pier>,
    terms: Vec<[C; TERMS]>,
}

impl Channel {
    /// Between walls at two y, m.
    pub fn new(walls: [f64; 2], piers: &[Pier]) -> Channel {
        let [base, width] = [walls[0], walls[1] - walls[0]];
        let piers: Vec<Pier> =
            piers.iter().map(|p| Pier { centre: [p.centre[0], p.centre[1] - base], radius: p.radius }).collect();
        let each = 2 * TERMS + 1;
        let unknowns = piers.len() * each;
        let mut normal = vec![vec![0.0; unknowns + 1]; unknowns];
        for (own, pier) in piers.iter().enumerate() {
            for k in 0..PLACES {
                let (sin, cos) = (2.0 * PI * (k as f64 + 0.5) / PLACES as f64).sin_cos();
                let z = [pier.centre[0] + pier.radius * cos, pier.centre[1] + pier.radius * sin];
                // Im of the terms less the level is minus that of z
                let mut row = vec![0.0; unknowns];
                for (q, pier) in piers.iter().enumerate() {
                    let f = basis(z, pier.centre, pier.radius, width);
                    let g = basis(z, [pier.centre[0], -pier.centre[1]], pier.radius, width);
                    for n in 0..TERMS {
                        row[q * each + 2 * n] = f[n][0][1] + g[n][0][1];
                        row[q * each + 2 * n + 1] = f[n][0][0] - g[n][0][0];
                    }
                }
                row[own * each + 2 * TERMS] = -width;
                for i in 0..unknowns {
                    for j in 0..unknowns {
                        normal[i][j] += row[i] * row[j];
                    }
                    normal[i][unknowns] -= row[i] * z[1];
                }
            }
        }
        let found = eliminate(normal);
        let of = |q: usize| std::array::from_fn(|n| [found[q * each + 2 * n], found[q * each + 2 * n + 1]]);
        let terms = (0..piers.len()).map(of).collect();
        Channel { base, width, piers, terms }
    }

    /// In a cell between y = 0 and a width, with the edge layer of a gap or, at a gap of 0, without.
    pub fn in_cell(width: f64, gap: f64, piers: &[Pier]) -> Channel {
        let off = DISPLACEMENT * gap;
        let grown: Vec<Pier> = piers.iter().map(|p| Pier { radius: p.radius + off, ..*p }).collect();
        Channel::new([off, width - off], &grown)
    }

    /// Between the streamlines that stand for the walls, m.
    pub fn width(&self) -> f64 {
        self.width
    }

    /// Stream function at unit speed, zero on the lower wall, m, and velocity.
    pub fn at(&self, place: [f64; 2]) -> (f64, [f64; 2]) {
        let z = [place[0], place[1] - self.base];
        let (mut w, mut slope) = (z, [1.0, 0.0]);
        for (pier, terms) in self.piers.iter().zip(&self.terms) {
            let image = [pier.centre[0], -pier.centre[1]];
            for (pole, sign) in [(pier.centre, 1.0), (image, -1.0)] {
                for ([f, df], c) in basis(z, pole, pier.radius, self.width).into_iter().zip(terms) {
                    let c = [c[0], sign * c[1]];
                    w = plus(w, times(c, f));
                    slope = plus(slope, times(c, df));
                }
            }
        }
        (w[1], [slope[0], -slope[1]])
    }

    /// Share of the flux below a place.
    pub fn share(&self, place: [f64; 2]) -> f64 {
        self.at(place).0 / self.width
    }

    /// A line from a place to an x, a place every so many metres of arc, by Runge and Kutta's rule of fourth order:
    /// errors below 1e-8 m at steps of 0.5 mm past a pier of 20 mm.
    pub fn line(&self, start: [f64; 2], end: f64, step: f64) -> Vec<[f64; 2]> {
        const PARTS: usize = 2;
        let way = |p: [f64; 2]| {
            let (_, v) = self.at(p);
            let size = v[0].hypot(v[1]);
            v.map(|x| x / size)
        };
        let go = |p: [f64; 2], h: f64, d: [f64; 2]| [p[0] + h * d[0], p[1] + h * d[1]];
        let mut places = vec![start];
        let mut p = start;
        while p[0] < end {
            for _ in 0..PARTS {
                let h = step / PARTS as f64;
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

/// F_1, F_2, ... with their derivatives, scaled to about one on a circle of the radius round the pole.
fn basis(z: C, pole: C, radius: f64, width: f64) -> [[C; 2]; TERMS] {
    let k = PI / (2.0 * width);
    let u = [k * (z[0] - pole[0]), k * (z[1] - pole[1])];
    let (sin, cos) = u[1].sin_cos();
    let (sh, ch) = (u[0].sinh(), u[0].cosh());
    let (sinh, cosh) = ([sh * cos, ch * sin], [ch * cos, sh * sin]);
    let (csch, coth) = (over([1.0, 0.0], sinh), over(cosh, sinh));
    let (square, coth2) = (times(csch, csch), times(coth, coth));
    let mut scale = radius;
    // csch to the even power at or below n
    let mut even = [1.0, 0.0];
    let mut all = [[[0.0; 2]; 2]; TERMS];
    for (i, item) in all.iter_mut().enumerate() {
        let n = i + 1;
        scale *= k * radius;
        let [f, df] = if n % 2 == 1 {
            let bent = times(coth2, even).map(|x| -(i as f64) * x);
            let steep = times(even, square);
            [times(coth, even), plus(bent, steep.map(|x| -x))]
        } else {
            even = times(even, square);
            [even, times(even, coth).map(|x| -(n as f64) * x)]
        };
        *item = [f.map(|x| scale * x), df.map(|x| scale * k * x)];
    }
    all
}

fn eliminate(mut m: Vec<Vec<f64>>) -> Vec<f64> {
    let n = m.len();
    for i in 0..n {
        let pivot = (i..n).max_by(|&a, &b| m[a][i].abs().total_cmp(&m[b][i].abs())).unwrap_or(i);
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
