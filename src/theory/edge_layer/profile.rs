//! Slow viscous flow along a straight solid edge between the plates: the exact profile inside the edge layer.
//!
//! With n the distance from the edge, ζ = 2z/b and gap-mean speed V far from it, `∇²u = −12 V/b²` and no slip on plates and
//! edge give
//!
//! `u/V = (3/2)(1 − ζ²) − (48/π³) Σ_{k odd} (−1)^((k-1)/2) k⁻³ cos(k π ζ/2) exp(−k π n/b)`,
//! gap mean `<u>/V = 1 − (96/π⁴) Σ_{k odd} k⁻⁴ exp(−k π n/b)`,
//!
//! since `1 − ζ²` has the cosine coefficients `32 (−1)^((k-1)/2)/(π k)³`. The missing flux, integrated over n, is the
//! displacement thickness `δ* = (96/π⁵) sum k⁻⁵ b = 93 ζ(5) b/π⁵`. Two such edges, superposed, are a duct of
//! rectangular section but for terms of order exp(-π W/b) (White, Viscous Fluid Flow, sec. 3-3).
//!
//! Range: edges whose radius of curvature and distance to the next edge or corner are large against the gap; no inertia.
//!
//! The series hardly converge at the edge. With s = (1 - |ζ|)/2 and w = π (n/b - i s) they are values of Legendre's χ function,
//! `Σ_{k odd} k⁻³ exp(−k w)`, whose expansion about w = 0 (Lewin, Polylogarithms and Associated Functions, 1981, ch. 7)
//!
//! `chi_3 = (7/8) ζ(3) − (π²/8) w + (w²/4)(3/2 + ln 2 − ln w) + Σ_{j ≥ 1} c_j w^(2j+2)`,
//! `c_j = (2^(2j-1) − 1) B_2j / (2j (2j+2)!)`
//!
//! converges for |w| < π and serves below n = b/4; the series serves beyond. Either needs some sixteen terms for twelve digits at
//! n = b/4 and fewer away from it.

use crate::base::plane;
use crate::numerics::fem::Space;
use std::f64::consts::{LN_2, PI};

/// Gaps from a solid edge beyond which the profile counts as the parabola: what is left there is below 1e-8.
pub const EXTENT: f64 = 6.0;

/// Displacement thickness over the gap, 93 ζ(5)/π⁵.
pub const DISPLACEMENT: f64 = 0.315_124_438_141_933_47;

/// n/b at which the expansion about the edge gives way to the series.
const NEAR: f64 = 0.25;

/// Terms smaller than this end a sum.
const NEGLIGIBLE: f64 = 1e-15;

/// ζ(3).
const APERY: f64 = 1.202_056_903_159_594_3;

/// Most terms of the expansion: at |w| = π sqrt(5)/4 the next one is below 1e-15.
const TERMS: usize = 22;

/// Velocity at distance n from the edge and height ζ over the gap-mean speed far from the edge.
///
/// Arguments: n/b, from 0 at the edge (negative ones count as 0), and ζ in [-1, 1] (beyond counts as at the plate). Returns 0
/// at the edge and at the plates and tends to (3/2)(1 - ζ²); absolute error below 1e-13.
///
/// ```
/// let far = twinplate::theory::edge_layer::profile::phi(20.0, 0.0);
/// assert!((far - 1.5).abs() < 1e-15);
/// ```
pub fn phi(n_over_b: f64, zeta: f64) -> f64 {
    let (n, s) = (n_over_b.max(0.0), 0.5 * (1.0 - zeta.abs().min(1.0)));
    if s == 0.0 || n == 0.0 {
        return 0.0;
    }
    if n < NEAR {
        // the linear term of the expansion and the parabola 6 s (1 - s) leave -6 s^2
        let w = [PI * n, -PI * s];
        let square = product(w, w);
        let logarithm = [plane::length(w).ln(), w[1].atan2(w[0])];
        let mut sum = 0.25 * product(square, [1.5 + LN_2 - logarithm[0], -logarithm[1]])[1];
        let mut power = square;
        for c in COEFFICIENTS {
            power = product(power, square);
            sum += c * power[1];
            if (c * power[0]).abs() + (c * power[1]).abs() < NEGLIGIBLE {
                break;
            }
        }
        return -6.0 * s * s - 48.0 / PI.powi(3) * sum;
    }
    // exp(-k w) for k = 1, 3, 5, ...
    let decay = (-PI * n).exp();
    let mut power = [decay * (PI * s).cos(), decay * (PI * s).sin()];
    let square = product(power, power);
    let (mut sum, mut k, mut size) = (0.0, 1.0, decay);
    while size > NEGLIGIBLE * k * k * k {
        sum += power[1] / (k * k * k);
        power = product(power, square);
        size *= decay * decay;
        k += 2.0;
    }
    6.0 * s * (1.0 - s) - 48.0 / PI.powi(3) * sum
}

/// Gap mean of [`phi`] at n/b: 0 at the edge, 1 far away; absolute error below 1e-13.
pub fn mean(n_over_b: f64) -> f64 {
    let n = n_over_b.max(0.0);
    let w = PI * n;
    if n == 0.0 {
        return 0.0;
    }
    if n < NEAR {
        // the integral of chi_3 from 0 to w
        let mut sum = 0.875 * APERY * w - PI * PI / 16.0 * w * w + w.powi(3) / 12.0 * (11.0 / 6.0 + LN_2 - w.ln());
        let mut power = w * w * w;
        for (j, c) in COEFFICIENTS.into_iter().enumerate() {
            power *= w * w;
            let term = c * power / (2.0 * j as f64 + 5.0);
            sum += term;
            if term.abs() < NEGLIGIBLE {
                break;
            }
        }
        return 96.0 / PI.powi(4) * sum;
    }
    let decay = (-w).exp();
    let (mut sum, mut k, mut power) = (0.0, 1.0, decay);
    while power > NEGLIGIBLE * f64::powi(k, 4) {
        sum += power / f64::powi(k, 4);
        power *= decay * decay;
        k += 2.0;
    }
    1.0 - 96.0 / PI.powi(4) * sum
}

/// The part of the parabola that is left at n/b: `φ / ((3/2)(1 − ζ²))`, from 0 at the edge to 1 far away; at the plates its
/// limit, the ratio of the wall shears, `1 − (8/π²) Σ_{k odd} k^-2 exp(−k π n/b)`. Error below 1e-6.
///
/// A gap-averaged outer velocity V times the parabola times this is the composite field: no slip at the edge, V further off.
pub fn slowing(n_over_b: f64, zeta: f64) -> f64 {
    if n_over_b >= EXTENT {
        return 1.0;
    }
    let s = 0.5 * (1.0 - zeta.abs().min(1.0));
    if s < 1e-6 { shear(n_over_b) } else { phi(n_over_b, zeta) / (6.0 * s * (1.0 - s)) }
}

/// Wall shear at the plates over that of the parabola.
fn shear(n_over_b: f64) -> f64 {
    let w = PI * n_over_b.max(0.0);
    if w == 0.0 {
        return 0.0;
    }
    // less the derivative of the expansion of chi_3, or the series
    let mut sum = 0.0;
    if w < PI * NEAR {
        sum = PI * PI / 8.0 - 0.5 * w * (1.0 + LN_2 - w.ln());
        for (j, c) in COEFFICIENTS.into_iter().enumerate() {
            sum -= c * (2.0 * j as f64 + 4.0) * w.powi(2 * j as i32 + 3);
        }
    } else {
        let (mut k, mut power) = (1.0, (-w).exp());
        while power > NEGLIGIBLE * k * k {
            sum += power / (k * k);
            power *= (-2.0 * w).exp();
            k += 2.0;
        }
    }
    1.0 - 8.0 / (PI * PI) * sum
}

/// Distance of the vertices from the nearest solid edge over the gap there, at most [`EXTENT`].
pub fn distances(space: &Space) -> Vec<f64> {
    space.wall_distance().iter().zip(&space.gap).map(|(n, b)| (n / b).min(EXTENT)).collect()
}

fn product(a: [f64; 2], b: [f64; 2]) -> [f64; 2] {
    [a[0] * b[0] - a[1] * b[1], a[0] * b[1] + a[1] * b[0]]
}

/// c_j, j from 1: with B_2j = (-1)^(j+1) 2 (2j)! ζ(2j)/(2 π)^2j they are
/// `(−1)^(j+1) (2^(2j-1) − 1) 2 ζ(2j) / ((2 π)^2j 2j (2j+1)(2j+2))`.
const COEFFICIENTS: [f64; TERMS] = coefficients();

const fn coefficients() -> [f64; TERMS] {
    let mut c = [0.0; TERMS];
    let (mut two, mut tau) = (0.5, 1.0);
    let mut j = 1;
    while j <= TERMS {
        two *= 4.0;
        tau *= 4.0 * PI * PI;
        let n = 2.0 * j as f64;
        let sign = if j % 2 == 1 { 1.0 } else { -1.0 };
        c[j - 1] = sign * (two - 1.0) * 2.0 * even_zeta(j) / (tau * n * (n + 1.0) * (n + 2.0));
        j += 1;
    }
    c
}

/// ζ(2j): π²/6 and π⁴/90, else summed.
const fn even_zeta(j: usize) -> f64 {
    match j {
        1 => PI * PI / 6.0,
        2 => PI * PI * PI * PI / 90.0,
        _ => {
            let (mut sum, mut k) = (0.0, 400);
            while k >= 1 {
                let (mut term, mut i) = (1.0, 0);
                while i < 2 * j {
                    term /= k as f64;
                    i += 1;
                }
                sum += term;
                k -= 1;
            }
            sum
        }
    }
}
