//! Bending of a thin rectangular plate of even load: `D ∇²∇²w = q`, D = E t³/(12(1 - ν²)).
//!
//! Supported edges: Levy's series, exact (Timoshenko & Woinowsky-Krieger, Theory of Plates and Shells, 2nd ed., art. 30). With x in
//! [0, a] along one side and y in [-b/2, b/2], t = m π/a and u = t b/2,
//!
//! `w = (q/24D)(x⁴ − 2 a x³ + a³ x) + (4 q a⁴/(π⁵ D)) Σ_{m odd} m⁻⁵ H(y) sin(m π x/a)`,
//! `H = −(1 + (u/2) tanh u) cosh ty/cosh u + (ty/2) sinh ty/cosh u`.
//!
//! Clamped edges: Ritz's method (same book, art. 44) with products of twice integrated Legendre polynomials, which satisfy the
//! edge conditions; their second derivatives are orthogonal, so the equations stay well conditioned.
//!
//! Range: deflections small against the thickness of the plate (below about half of it).

use super::PlateEdges;
use crate::base::Point;
use std::f64::consts::PI;

/// Odd terms of Levy's series. What is left is below (4/π⁵)/(8 (2 TERMS)⁴), 1e-11 of q a⁴/D, and only near the edges y = +-b/2.
const TERMS: usize = 60;

/// Ritz functions along x and y each: even ones, by the symmetry of the load.
const RITZ: usize = 12;

/// A plate over a rectangle whose lower left corner is the origin.
#[derive(Debug, Clone, PartialEq)]
pub struct Plate {
    sides: [f64; 2],
    /// Largest deflection per load, m/Pa.
    centre: f64,
    shape: PlateShape,
    /// The unit of `shape`: m/Pa.
    scale: f64,
}

#[derive(Debug, Clone, PartialEq)]
enum PlateShape {
    Supported,
    /// Amplitudes of the products of Ritz functions, those along y the faster.
    Clamped(Vec<f64>),
}

/// Flexural rigidity E t³/(12(1 - ν²)), N m.
pub fn rigidity(youngs_modulus: f64, thickness: f64, poisson_ratio: f64) -> f64 {
    youngs_modulus * thickness.powi(3) / (12.0 * (1.0 - poisson_ratio * poisson_ratio))
}

impl Plate {
    /// A plate of the given sides (m), rigidity (N m) and edges.
    pub fn new(sides: [f64; 2], rigidity: f64, edges: PlateEdges) -> Plate {
        // The finer side of the series is the short one: its hyperbolic functions then decay fastest.
        let short = sides[0].min(sides[1]);
        let shape = match edges {
            PlateEdges::Supported => PlateShape::Supported,
            PlateEdges::Clamped => PlateShape::Clamped(ritz(sides.map(|side| 0.5 * side / short))),
        };
        let mut plate = Plate { sides, centre: 0.0, shape, scale: short.powi(4) / rigidity };
        plate.centre = plate.deflection([0.5 * sides[0], 0.5 * sides[1]]).0;
        plate
    }

    /// Deflection per load at the centre, where it is largest, m/Pa.
    pub fn centre(&self) -> f64 {
        self.centre
    }

    /// c = w D/(q a⁴) at the centre, a the short side.
    pub fn coefficient(&self) -> f64 {
        self.centre / self.scale
    }

    /// Deflection per load, m/Pa, at a place on the plate, and its gradient, 1/Pa.
    pub fn deflection(&self, place: Point) -> (f64, [f64; 2]) {
        let short = self.sides[0].min(self.sides[1]);
        // from the centre, in units of the short side
        let p = [0, 1].map(|k| (place[k].clamp(0.0, self.sides[k]) - 0.5 * self.sides[k]) / short);
        let half = self.sides.map(|side| 0.5 * side / short);
        let (w, slope) = match &self.shape {
            PlateShape::Supported if self.sides[0] <= self.sides[1] => levy(p, half[1]),
            PlateShape::Supported => {
                let (w, [across, along]) = levy([p[1], p[0]], half[0]);
                (w, [along, across])
            }
            PlateShape::Clamped(amplitudes) => clamped(amplitudes, p, half),
        };
        (w * self.scale, slope.map(|s| s * self.scale / short))
    }
}

/// w D/(q a⁴) for a = 1 and its gradient; x in [-1/2, 1/2], y in [-h, h].
fn levy([x, y]: Point, h: f64) -> (f64, [f64; 2]) {
    let x = x + 0.5;
    let mut w = (x.powi(4) - 2.0 * x.powi(3) + x) / 24.0;
    let mut slope = [(4.0 * x.powi(3) - 6.0 * x * x + 1.0) / 24.0, 0.0];
    // hyperbolic functions over cosh u from exponentials of t(|y| - h), t(-|y| - h) and -2u, for m = 1, 3, 5, ...
    let far = y.abs();
    let base = [(far - h) * PI, -(far + h) * PI, -2.0 * h * PI].map(f64::exp);
    let squares = base.map(|e| e * e);
    let (mut powers, mut m) = (base, 1.0);
    let (first, turn) = ((PI * x).sin_cos(), (2.0 * PI * x).sin_cos());
    let (mut sin, mut cos) = first;
    for _ in 0..TERMS {
        let (t, u) = (m * PI, m * PI * h);
        let below = 1.0 + powers[2];
        let cosh = (powers[0] + powers[1]) / below;
        let sinh = (powers[0] - powers[1]) / below * if y < 0.0 { -1.0 } else { 1.0 };
        let lead = 1.0 + 0.5 * u * (1.0 - powers[2]) / below;
        let shape = -lead * cosh + 0.5 * t * y * sinh;
        let change = t * ((0.5 - lead) * sinh + 0.5 * t * y * cosh);
        let c = 4.0 / (PI * m).powi(5);
        w += c * shape * sin;
        slope[0] += c * shape * t * cos;
        slope[1] += c * change * sin;
        if c * (lead + t) * t * powers[0] < 1e-17 {
            break;
        }
        powers = std::array::from_fn(|k| powers[k] * squares[k]);
        (sin, cos) = (sin * turn.1 + cos * turn.0, cos * turn.1 - sin * turn.0);
        m += 2.0;
    }
    (w, slope)
}

/// Legendre coefficients of the twice integrated P_n: at n - 2, n and n + 2.
fn integrated(n: usize) -> [f64; 3] {
    let n = n as f64;
    let (low, high) = (1.0 / ((2.0 * n + 1.0) * (2.0 * n - 1.0)), 1.0 / ((2.0 * n + 1.0) * (2.0 * n + 3.0)));
    [low, -(low + high), high]
}

/// Integrals over [-1, 1] of the products of the i-th and j-th Ritz functions (n = 2i + 2), and of their first and second derivatives.
fn products(i: usize, j: usize) -> [f64; 3] {
    let (n, m) = (2 * i + 2, 2 * j + 2);
    let square = |k: usize| 2.0 / (2 * k + 1) as f64;
    let (a, b) = (integrated(n), integrated(m));
    let value = (0..3).flat_map(|r| (0..3).map(move |s| (r, s)));
    let value = value.filter(|(r, s)| n + 2 * r == m + 2 * s).map(|(r, s)| a[r] * b[s] * square(n + 2 * r - 2)).sum();
    // first derivative: (P_(n+1) - P_(n-1))/(2n+1), and by parts the integral of the products is minus that of P_n with the other
    let first = -(0..3).filter(|s| m + 2 * s == n + 2).map(|s| b[s] * square(n)).sum::<f64>();
    [value, first, if i == j { square(n) } else { 0.0 }]
}

/// Amplitudes for a clamped plate of half sides `half`, load and rigidity 1.
fn ritz(half: [f64; 2]) -> Vec<f64> {
    let size = RITZ * RITZ;
    let [hx, hy] = half;
    let mut matrix = vec![0.0; size * size];
    let mut load = vec![0.0; size];
    for (row, [i, k]) in pairs() {
        for (column, [j, l]) in pairs() {
            let (x, y) = (products(i, j), products(k, l));
            // int (lap w)^2 over the plate, w_xx = w''/hx^2
            matrix[row * size + column] =
                hx * hy * (x[2] * y[0] / hx.powi(4) + 2.0 * x[1] * y[1] / (hx * hy).powi(2) + x[0] * y[2] / hy.powi(4));
        }
        // only the first function has a mean
        load[row] = if i == 0 && k == 0 { hx * hy * (2.0 * integrated(2)[0]).powi(2) } else { 0.0 };
    }
    solve(&mut matrix, &mut load);
    load
}

fn pairs() -> impl Iterator<Item = (usize, [usize; 2])> {
    (0..RITZ * RITZ).map(|row| (row, [row / RITZ, row % RITZ]))
}

/// Cholesky's method; the matrix is symmetric and positive definite.
fn solve(matrix: &mut [f64], values: &mut [f64]) {
    let n = values.len();
    for j in 0..n {
        for i in j..n {
            let done: f64 = (0..j).map(|k| matrix[i * n + k] * matrix[j * n + k]).sum();
            let rest = matrix[i * n + j] - done;
            matrix[i * n + j] = if i == j { rest.sqrt() } else { rest / matrix[j * n + j] };
        }
        let done: f64 = (0..j).map(|k| matrix[j * n + k] * values[k]).sum();
        values[j] = (values[j] - done) / matrix[j * n + j];
    }
    for j in (0..n).rev() {
        let done: f64 = (j + 1..n).map(|k| matrix[k * n + j] * values[k]).sum();
        values[j] = (values[j] - done) / matrix[j * n + j];
    }
}

/// Ritz functions and their first derivatives at a place in [-1, 1].
fn functions(x: f64) -> [[f64; 2]; RITZ] {
    let mut p = [0.0; 2 * RITZ + 3];
    (p[0], p[1]) = (1.0, x);
    for k in 2..p.len() {
        let n = k as f64;
        p[k] = ((2.0 * n - 1.0) * x * p[k - 1] - (n - 1.0) * p[k - 2]) / n;
    }
    std::array::from_fn(|i| {
        let n = 2 * i + 2;
        let c = integrated(n);
        [c[0] * p[n - 2] + c[1] * p[n] + c[2] * p[n + 2], (p[n + 1] - p[n - 1]) / (2 * n + 1) as f64]
    })
}

fn clamped(amplitudes: &[f64], p: Point, half: [f64; 2]) -> (f64, [f64; 2]) {
    let (x, y) = (functions(p[0] / half[0]), functions(p[1] / half[1]));
    let mut sums = [0.0; 3];
    for (row, [along, slope]) in amplitudes.chunks_exact(RITZ).zip(x) {
        let [mut value, mut change] = [0.0; 2];
        for (amplitude, [f, df]) in row.iter().zip(y) {
            value += amplitude * f;
            change += amplitude * df;
        }
        sums = [sums[0] + along * value, sums[1] + slope * value, sums[2] + along * change];
    }
    (sums[0], [sums[1] / half[0], sums[2] / half[1]])
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plate(aspect: f64, edges: PlateEdges) -> Plate {
        Plate::new([aspect, 1.0], 1.0, edges)
    }

    /// Timoshenko & Woinowsky-Krieger, table 8 (three digits there), digits from Navier's series.
    #[test]
    fn supported_plates_have_the_exact_centre() {
        for (aspect, exact) in [(1.0, 0.004_062_353), (1.5, 0.007_724_022), (2.0, 0.010_128_663)] {
            for plate in [plate(aspect, PlateEdges::Supported), Plate::new([1.0, aspect], 1.0, PlateEdges::Supported)] {
                assert!((plate.coefficient() - exact).abs() < 1e-9, "{aspect}: {}", plate.coefficient());
            }
        }
        // the long plate is a beam, 5/384
        assert!((plate(20.0, PlateEdges::Supported).coefficient() - 5.0 / 384.0).abs() < 1e-10);
        let thick = Plate::new([0.6, 0.4], rigidity(3.2e9, 0.01, 0.37), PlateEdges::Supported);
        let d = 3.2e9 * 1e-6 / (12.0 * (1.0 - 0.37 * 0.37));
        assert!((thick.centre() / (0.007_724_022 * 0.4_f64.powi(4) / d) - 1.0).abs() < 1e-7);
    }

    /// Navier's double series, w = (16/π⁶) sum sin sin/(m n (m²/a² + n²/b²)²), shares no term with Levy's. With m, n < 400
    /// what is left is below (16/π⁶) 2 sum_n (1/n) sum_{m > 400} m^-5 = 1e-12.
    #[test]
    fn supported_plates_follow_naviers_series() {
        let (a, b) = (1.7, 1.0);
        let plate = plate(a, PlateEdges::Supported);
        for place in [[0.3, 0.2], [0.85, 0.97], [1.65, 0.6], [0.02, 0.03]] {
            let mut sum = 0.0;
            for m in (1..400).step_by(2).map(f64::from) {
                for n in (1..400).step_by(2).map(f64::from) {
                    let below = m * n * (m * m / (a * a) + n * n / (b * b)).powi(2);
                    sum += (m * PI * place[0] / a).sin() * (n * PI * place[1] / b).sin() / below;
                }
            }
            let w = plate.deflection(place).0;
            assert!((w - 16.0 / PI.powi(6) * sum).abs() < 2e-11, "{place:?}: {w}");
        }
        // along the long sides every term vanishes, along the short ones the truncated sum
        assert!(plate.deflection([1.0, 1.0]).0.abs() < 1e-15 && plate.deflection([0.0, 0.4]).0.abs() < 1e-11);
    }

    /// Clamped square 0.00126532 (from memory; table 35 of the book has 0.00126), 3:2 0.00220, 2:1 0.00254, beam 1/384.
    #[test]
    fn clamped_plates_have_the_tabulated_centre() {
        for (aspect, value, digit) in
            [(1.0, 0.001_265_32, 1e-8), (1.5, 0.002_20, 6e-6), (2.0, 0.002_54, 1e-5), (8.0, 1.0 / 384.0, 2e-6)]
        {
            let c = plate(aspect, PlateEdges::Clamped).coefficient();
            assert!((c - value).abs() < digit, "{aspect}: {c}");
        }
    }

    #[test]
    fn gradients_are_those_of_the_deflection() {
        // central differences: error h^2 w'''/6 with w''' of order one at most
        let h = 1e-5;
        for edges in [PlateEdges::Supported, PlateEdges::Clamped] {
            for sides in [[1.5, 1.0], [1.0, 1.3]] {
                let plate = Plate::new(sides, 1.0, edges);
                for place in [[0.2, 0.3], [0.9, 0.8], [0.5, 0.95], [0.03, 0.02]] {
                    let (_, slope) = plate.deflection(place);
                    for k in 0..2 {
                        let at = |step: f64| {
                            let mut moved = place;
                            moved[k] += step;
                            plate.deflection(moved).0
                        };
                        let difference = (at(h) - at(-h)) / (2.0 * h);
                        assert!((slope[k] - difference).abs() < 1e-9, "{place:?} {k}: {} {difference}", slope[k]);
                    }
                }
                // clamped edges: neither deflection nor slope
                if edges == PlateEdges::Clamped {
                    let (w, slope) = plate.deflection([0.0, 0.4]);
                    assert!(w.abs() < 1e-15 && slope[0].abs() < 1e-14 && slope[1].abs() < 1e-14);
                }
            }
        }
    }
}
