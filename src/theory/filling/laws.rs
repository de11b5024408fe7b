//! Closed forms of fronts: how far the liquid is, and when. `I = (b²/12 μ) ∫ (p_in − p_front) dt`, m2; all follow from Darcy's law and the balance
//! of liquid.

/// Place of a plane front, m: `x = √(2 I)`.
pub fn plane(impulse: f64) -> f64 {
    (2.0 * impulse).sqrt()
}

/// Impulse at which the front round a port of radius r0 stands at r, m2: `(r²/2) ln(r/r0) − (r² − r0²)/4`.
pub fn port(r: f64, r0: f64) -> f64 {
    0.5 * r * r * (r / r0).ln() - 0.25 * (r * r - r0 * r0)
}

/// Viscosity times length over cube of the gap: `∫ 12 μ/b³ dx` to x where the gap goes in a straight line from b0 by a slope a; `b0` m, Pa s/m2.
fn resistance(x: f64, b0: f64, a: f64, viscosity: f64) -> f64 {
    let b = b0 + a * x;
    if a == 0.0 { 12.0 * viscosity * x / b0.powi(3) } else { 6.0 * viscosity / a * (1.0 / (b0 * b0) - 1.0 / (b * b)) }
}

/// Time at which a plane front stands at x beyond the length l of a first gap b1, in a second gap b2, s:
/// `(12 μ/p)[l²/(2 b1²) + b2 (l (x − l)/b1³ + (x − l)²/(2 b2³))]`, p the drop to the front, Pa.
pub fn two_gaps(x: f64, l: f64, [b1, b2]: [f64; 2], viscosity: f64, drop: f64) -> f64 {
    let beyond = x - l;
    let first = l * l / (2.0 * b1 * b1);
    12.0 * viscosity / drop * (first + b2 * (l * beyond / b1.powi(3) + beyond * beyond / (2.0 * b2.powi(3))))
}

/// Time at which a plane front stands at x where the gap is `b = b0 + a x`, s: `(6 μ/(a² p)) [(b² − b0²)/(2 b0²) − ln(b/b0)]`, a not zero.
pub fn linear_gap(x: f64, b0: f64, a: f64, viscosity: f64, drop: f64) -> f64 {
    let b = b0 + a * x;
    6.0 * viscosity / (a * a * drop) * ((b * b - b0 * b0) / (2.0 * b0 * b0) - (b / b0).ln())
}

/// Time at which a plane front stands at x, s, where the drop to it is p(x), Pa, and the gap `b0 + a x`: `∫ b R/p dx`, R the resistance of what is
/// wet; by Simpson's rule on 2000 parts.
pub fn plane_against(x: f64, b0: f64, a: f64, viscosity: f64, drop: impl Fn(f64) -> f64) -> f64 {
    const PARTS: usize = 2000;
    let f = |x: f64| (b0 + a * x) * resistance(x, b0, a, viscosity) / drop(x);
    let h = x / PARTS as f64;
    let inner: f64 = (1..PARTS).map(|k| f64::from(2 + 2 * (k as u32 % 2)) * f(k as f64 * h)).sum();
    h / 3.0 * (f(0.0) + inner + f(x))
}

/// Time at which a plane front stands at x on a cell that rises, s: `∫ x dx/(M (p − w x))`, M = b²/(12 μ), w the weight ρ g sin(α) in Pa/m:
/// `(−x/w − (p/w²) ln(1 − w x/p))/M`.
pub fn uphill(x: f64, mobility: f64, drop: f64, weight: f64) -> f64 {
    (-x / weight - drop / (weight * weight) * (-weight * x / drop).ln_1p()) / mobility
}
