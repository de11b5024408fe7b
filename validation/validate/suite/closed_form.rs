//! Closed forms and series of the references.

use super::linear::solve;
use std::f64::consts::PI;

/// The value of a named closed form or series.
pub fn value(name: &str, with: &[f64]) -> Option<f64> {
    let first = with.first().copied();
    Some(match name {
        "array_conductivity" => array_conductivity(first?),
        "added_length" => circle_in_channel(first?)[0],
        "shoulder_speed" => circle_in_channel(first?)[1],
        "thin_plate" => 2.0 / PI * (1.0 / (0.5 * PI * first?).cos()).ln(),
        "step" => step(first?),
        "three_squares" => 2.0 * elliptic(0.75) / elliptic(0.25),
        "corner_of_three_squares" => 2.0 * elliptic(0.75) / elliptic(0.25) - 2.0,
        "duct" => duct(first?),
        "displacement" => displacement(),
        "front_tension" => front_tension(first?.to_radians()),
        "front_angle" => (with.get(1)?.to_radians().cos() / front_tension(first?.to_radians())).acos().to_degrees(),
        "ellipse" => 1.0 + *with.get(1)? / first?,
        _ => return None,
    })
}

/// Squares that a step in the width of a symmetric channel adds, r the ratio of its widths (`validation/contraction/step.py`).
fn step(r: f64) -> f64 {
    let squared = r * r - 1.0;
    ((r + 1.0 / r) * ((r + 1.0) / (r - 1.0)).ln() + 2.0 * (squared / (4.0 * r)).ln()) / (2.0 * PI)
}

/// Complete elliptic integral of the first kind of k^2, by the arithmetic-geometric mean.
pub fn elliptic(square: f64) -> f64 {
    let (mut a, mut b) = (1.0, (1.0 - square).sqrt());
    for _ in 0..8 {
        (a, b) = (0.5 * (a + b), (a * b).sqrt());
    }
    0.5 * PI / a
}

/// zeta(s), s >= 2: a direct sum to 60 and the Euler-Maclaurin rest.
pub fn zeta(s: i32) -> f64 {
    let n = 60.0f64;
    let sum: f64 = (1..60).rev().map(|k| f64::from(k).powi(-s)).sum();
    let s1 = f64::from(s);
    sum + n.powi(1 - s) / (s1 - 1.0) + 0.5 * n.powi(-s) + s1 / 12.0 * n.powi(-s - 1)
        - s1 * (s1 + 1.0) * (s1 + 2.0) / 720.0 * n.powi(-s - 3)
}

fn binomial(n: usize, k: usize) -> f64 {
    (0..k).map(|j| (n - j) as f64 / (j + 1) as f64).product()
}

/// Circle of diameter D in the middle of a channel of width 1: added length and shoulder speed over U.
///
/// Complex potential z + sum a_n h_n, n odd, h_n = z^-n + sum_k c_k C(2k-1, n-1) z^(2k-n) the row of images, c_k from
/// pi coth(pi z) = 1/z + sum 2 (-1)^(k+1) zeta(2k) z^(2k-1); a_m = a^2m times the coefficient of z^m. The added length is 2 pi a_1,
/// the speed at z = ia is 2 sum m a_m a^-(m+1) (-1)^((m-1)/2).
pub fn circle_in_channel(diameter: f64) -> [f64; 2] {
    let (a, terms) = (0.5 * diameter, 60usize);
    let odd = |i: usize| 2 * i + 1;
    let c = |k: usize| 2.0 * zeta(2 * k as i32) * if k % 2 == 1 { 1.0 } else { -1.0 };
    // unknowns a_m/a^m
    let entry = |i: usize, j: usize| {
        let (m, n) = (odd(i), odd(j));
        let image = c((m + n) / 2) * binomial(m + n - 1, n - 1) * a.powi((m + n) as i32);
        f64::from(u8::from(i == j)) - image
    };
    let matrix = (0..terms).map(|i| (0..terms).map(|j| entry(i, j)).collect()).collect();
    let mut right = vec![0.0; terms];
    right[0] = a;
    let b = solve(matrix, right);
    let speed = (0..terms).map(|i| 2.0 * odd(i) as f64 * b[i] / a * if i % 2 == 0 { 1.0 } else { -1.0 }).sum();
    [2.0 * PI * a * b[0], speed]
}

/// Conductivity of a square array of perfectly conducting posts of area fraction f (Rayleigh 1892; Perrins, McKenzie & McPhedran
/// 1979): B_n a^-2n - sum_m C(n+m-1, n) S_(n+m) B_m = delta_n1 for odd n, sigma = 1 + 2 pi B_1, with the lattice sums S_2 = pi (the mean field
/// along x) and S_4, S_8, S_12, ... by [`lattice_sum`].
pub fn array_conductivity(f: f64) -> f64 {
    let a = (f / PI).sqrt();
    // multipoles decay as exp(-n arcosh(1/2a)); twice as many as rounding asks for
    let terms = ((40.0 / (0.5 / a).acosh()) as usize / 2).clamp(12, 240);
    let odd = |i: usize| 2 * i + 1;
    let sums: Vec<f64> = (0..=2 * terms).map(|k| lattice_sum(2 * k)).collect();
    // unknowns B_n/a^n
    let entry = |i: usize, j: usize| {
        let (n, m) = (odd(i), odd(j));
        let other = binomial(n + m - 1, n) * sums[(n + m) / 2] * a.powi((n + m) as i32);
        f64::from(u8::from(i == j)) - other
    };
    let matrix = (0..terms).map(|i| (0..terms).map(|j| entry(i, j)).collect()).collect();
    let mut right = vec![0.0; terms];
    right[0] = a;
    1.0 + 2.0 * PI * a * solve(matrix, right)[0]
}

/// Sum of z^-n over the square lattice without its origin: S_4 = w^4/15 with the lemniscate constant w, S_8 = 3 S_4^2/7 (both
/// classical), S_12 and on summed to 30 cells, which leaves 30^-10.
fn lattice_sum(n: usize) -> f64 {
    const LEMNISCATE: f64 = 2.622_057_554_292_119;
    match n {
        2 => PI,
        4 => LEMNISCATE.powi(4) / 15.0,
        8 => 3.0 / 7.0 * lattice_sum(4).powi(2),
        n if n == 0 || n % 4 != 0 => 0.0,
        n => {
            // a quarter of the lattice stands for all of it, since i^n = 1
            let term = |(p, q): (i32, i32)| {
                let (x, y) = (f64::from(p), f64::from(q));
                (n as f64 * y.atan2(x)).cos() * x.hypot(y).powi(-(n as i32))
            };
            4.0 * (1..=30).flat_map(|p| (0..=30).map(move |q| (p, q))).map(term).sum::<f64>()
        }
    }
}

/// Flow factor of a rectangular duct of gap b and width W over that of the gap alone, for b/W:
/// F = 1 - (192/pi^5)(b/W) sum over odd n of tanh(n pi W/(2b))/n^5.
pub fn duct(ratio: f64) -> f64 {
    let term = |n: f64| (n * PI / (2.0 * ratio)).tanh() / n.powi(5);
    1.0 - 192.0 / PI.powi(5) * ratio * (0..400).rev().map(|k| term(f64::from(2 * k + 1))).sum::<f64>()
}

/// 93 zeta(5)/pi^5.
pub fn displacement() -> f64 {
    93.0 * zeta(5) / PI.powi(5)
}

/// Energy of the meniscus between two plates over tension and gap at a given volume, from its slope: the integral of
/// (1/cos - 2 z cos(theta) tan) dz over the gap, sin of the slope 2 z cos(theta) at the height z in gaps, by Simpson's rule in 2 z = sin t.
pub fn front_tension(theta: f64) -> f64 {
    let n = 4000;
    let at = |k: usize| {
        let (u, du) = (0.5 * PI * k as f64 / n as f64).sin_cos();
        let sin = u * theta.cos();
        let cos = (1.0 - sin * sin).sqrt();
        if cos < 1e-12 { 0.0 } else { (1.0 / cos - theta.cos() * u * sin / cos) * du }
    };
    let inner: f64 = (1..n).map(|k| at(k) * if k % 2 == 1 { 4.0 } else { 2.0 }).sum();
    (at(0) + inner + at(n)) * 0.5 * PI / (3.0 * n as f64)
}
