//! A round bubble between two side walls.
//!
//! The pressure round a fixed disc in a channel of mean speed V has the first harmonic `12 μ m1 V R/b²`, m1 = 2 without walls. With ζ from
//! its centre the complex potential is `V ζ + Σ a_n ζ^(−n) +` that of its images, mirrored in the walls again and again: the same poles at
//! 2kW i, their conjugates at 2(k − τ)W i, τ = y/W the centre's place between the walls. On the rim the stream function is constant, which
//! makes `a_n R^(−n)` the conjugate of `c_n R^n`, c_n the potential's coefficients there; by the mirror across the flow
//! `a_n R^(−n) = i^(n−1) β_n` with real β_n, so that
//!
//! `β_m = V R δ_m1 + Σ_n C(n+m−1, m) [T_(n+m) − (−1)^n S_(n+m)] β_n`, `m1 = 2 β_1/(V R)`,
//!
//! with the lattice sums `S_s = 2 Σ_(k≥1) (R/2W)^s/k^s` for even s and 0 for odd, `T_s = Σ_(j≥0) (R/2W)^s [(j+1−τ)^(−s) +
//! (−1)^s (j+τ)^(−s)]`. The moving bubble: `m1 (V − U) + U` is left for films and weight, nothing without them, U/V = m1/(m1 − 1). All of it
//! exact (method of images).

/// Steps after which the lattice sums go on by Euler and Maclaurin's formula.
const TERMS: usize = 12;
/// Bernoulli's numbers B_2j/(2j)!.
const BERNOULLI: [f64; 6] =
    [1.0 / 12.0, -1.0 / 720.0, 1.0 / 30_240.0, -1.0 / 1_209_600.0, 1.0 / 47_900_160.0, -691.0 / 1_307_674_368_000.0];
/// Most poles: enough for walls 0.5 % of the radius away.
const MOST_POLES: usize = 220;

/// Pressure factor m1 of a disc of a radius over the width W of the channel, its centre `place` W from one wall; 2 for small ones.
///
/// To some 1e-12. None where the disc is no disc, or nearer to a wall than 0.5 % of its radius. Range: far from ends and obstacles.
///
/// ```
/// use twinplate::theory::bubbles::pressure_factor;
/// let m1 = pressure_factor(0.2, 0.5).unwrap();
/// assert!((m1 / (m1 - 1.0) - 1.767361).abs() < 5e-7);
/// ```
pub fn pressure_factor(radius: f64, place: f64) -> Option<f64> {
    let room = place.min(1.0 - place) / radius;
    if !(room > 1.005 && radius > 0.0) {
        return None;
    }
    // the poles of a disc and its mirror image fall off as exp(−n arcosh(room)) each
    let poles = ((20.0 / room.acosh()).ceil() as usize + 4).min(MOST_POLES);
    let same: Vec<f64> =
        (0..=2 * poles).map(|s| if s % 2 == 0 && s > 0 { 2.0 * lattice(s, radius, 1.0) } else { 0.0 }).collect();
    let mirrored: Vec<f64> = (0..=2 * poles)
        .map(|s| if s < 2 { 0.0 } else { lattice(s, radius, 1.0 - place) + sign(s) * lattice(s, radius, place) })
        .collect();
    let mut matrix: Vec<Vec<f64>> = (1..=poles)
        .map(|m| {
            let mut row: Vec<f64> = Vec::with_capacity(poles + 1);
            let mut choices = 1.0;
            for n in 1..=poles {
                // C(n + m − 1, m) from the one before
                choices = if n == 1 { 1.0 } else { choices * (n + m - 1) as f64 / (n - 1) as f64 };
                let coupling = choices * (mirrored[n + m] - sign(n) * same[n + m]);
                row.push(f64::from(u8::from(n == m)) - coupling);
            }
            row.push(f64::from(u8::from(m == 1)));
            row
        })
        .collect();
    first_unknown(&mut matrix).map(|beta| 2.0 * beta)
}

fn sign(n: usize) -> f64 {
    if n.is_multiple_of(2) { 1.0 } else { -1.0 }
}

/// `Σ_(j≥0) (R/2W)^s (j + from)^(−s)`, s above one, by Euler and Maclaurin's formula.
fn lattice(s: usize, radius: f64, from: f64) -> f64 {
    let power = |at: f64| (0.5 * radius / at).powi(s as i32);
    let near: f64 = (0..TERMS).map(|j| power(j as f64 + from)).sum();
    let end = TERMS as f64 + from;
    let s = s as f64;
    let mut slope = s / end;
    let mut bent = 0.0;
    for (j, bernoulli) in BERNOULLI.iter().enumerate() {
        bent += bernoulli * slope;
        let j = 2.0 * j as f64;
        slope *= (s + j + 1.0) * (s + j + 2.0) / (end * end);
    }
    near + power(end) * (end / (s - 1.0) + 0.5 + bent)
}

/// The first unknown of a system, its right-hand side in the last column, by elimination from below with the largest pivot.
fn first_unknown(matrix: &mut [Vec<f64>]) -> Option<f64> {
    let n = matrix.len();
    for k in (0..n).rev() {
        let pivot = (0..=k).max_by(|&i, &j| matrix[i][k].abs().total_cmp(&matrix[j][k].abs()))?;
        matrix.swap(pivot, k);
        let (above, rest) = matrix.split_at_mut(k);
        let row = &rest[0];
        if row[k] == 0.0 {
            return None;
        }
        for other in above {
            let factor = other[k] / row[k];
            for j in (0..k).chain([n]) {
                other[j] -= factor * row[j];
            }
        }
    }
    let found = matrix.first().map(|row| row[n] / row[0])?;
    found.is_finite().then_some(found)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// π²/6, π⁴/90 and Catalan-like values: Σ (j + 1/2)^(−2) = π²/2, Σ (j + 1/2)^(−4) = π⁴/6.
    #[test]
    fn lattice_sums_are_those_of_zeta() {
        let pi = std::f64::consts::PI;
        for (s, from, sum) in
            [(2, 1.0, pi * pi / 6.0), (4, 1.0, pi.powi(4) / 90.0), (2, 0.5, pi * pi / 2.0), (4, 0.5, pi.powi(4) / 6.0)]
        {
            let found = lattice(s, 2.0, from);
            assert!((found / sum - 1.0).abs() < 1e-14, "{s} {from}: {found}");
        }
        assert!((lattice(300, 0.1, 0.06) / (0.05f64 / 0.06).powi(300) - 1.0).abs() < 1e-12);
    }

    /// To the digits printed.
    #[test]
    fn walls_raise_the_pressure_on_a_centred_disc() {
        for (radius, m1, ratio) in [
            (0.05, 2.016586, 1.983685),
            (0.1, 2.068036, 1.936298),
            (0.15, 2.159887, 1.862153),
            (0.2, 2.303168, 1.767361),
            (0.25, 2.518364, 1.658604),
            (0.3, 2.845097, 1.541977),
            (0.4, 4.319377, 1.301261),
        ] {
            let found = pressure_factor(radius, 0.5).unwrap();
            assert!((found - m1).abs() < 6e-7, "{radius}: {found}");
            assert!((found / (found - 1.0) - ratio).abs() < 6e-7, "{radius}: {found}");
        }
        // 2 (1 + (π²/3)(R/W)²) for small ones
        let small = pressure_factor(1e-3, 0.5).unwrap();
        assert!((small / 2.0 - 1.0 - std::f64::consts::PI.powi(2) / 3.0 * 1e-6).abs() < 1e-10, "{small}");
    }

    #[test]
    fn off_centre_walls_hold_back_more() {
        for (offset, ratio) in [(0.1, 1.93142), (0.2, 1.91211), (0.3, 1.85155)] {
            let [above, below] = [0.5 + offset, 0.5 - offset].map(|place| pressure_factor(0.1, place).unwrap());
            assert!((above / (above - 1.0) - ratio).abs() < 6e-6, "{offset}: {above}");
            assert!((above - below).abs() < 1e-13 * above, "{above} {below}");
        }
    }

    #[test]
    fn near_a_wall_the_factor_grows_and_then_is_refused() {
        let factors: Vec<f64> =
            [0.2, 0.12, 0.105, 0.1006].iter().map(|&place| pressure_factor(0.1, place).unwrap()).collect();
        assert!(factors.windows(2).all(|pair| pair[1] > pair[0]), "{factors:?}");
        for (radius, place) in
            [(0.1, 0.1004), (0.1, 0.0), (0.1, 1.2), (0.5, 0.5), (0.0, 0.5), (f64::NAN, 0.5), (-0.1, 0.5)]
        {
            assert_eq!(pressure_factor(radius, place), None, "{radius} {place}");
        }
    }
}
