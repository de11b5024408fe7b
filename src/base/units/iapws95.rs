//! Pressure and density of liquid water from the Helmholtz energy of IAPWS R6-95(2018).

/// Critical temperature, K.
const T_C: f64 = 647.096;
/// Critical density, kg/m3.
const RHO_C: f64 = 322.0;
/// Specific gas constant, J/(kg K).
const R: f64 = 461.51805;

/// Terms 1 to 51 of the residual part: n delta^d tau^t exp(-delta^c), the exponential missing for c = 0.
///
/// Terms 52 to 56 matter near the critical point only: below 500 K and above 800 kg/m3 their exponentials are under e^-43.
const TERMS: [(i32, i32, f64, f64); 51] = [
    (0, 1, -0.5, 0.12533547935523e-1),
    (0, 1, 0.875, 0.78957634722828e1),
    (0, 1, 1.0, -0.87803203303561e1),
    (0, 2, 0.5, 0.31802509345418),
    (0, 2, 0.75, -0.26145533859358),
    (0, 3, 0.375, -0.78199751687981e-2),
    (0, 4, 1.0, 0.88089493102134e-2),
    (1, 1, 4.0, -0.66856572307965),
    (1, 1, 6.0, 0.20433810950965),
    (1, 1, 12.0, -0.66212605039687e-4),
    (1, 2, 1.0, -0.19232721156002),
    (1, 2, 5.0, -0.25709043003438),
    (1, 3, 4.0, 0.16074868486251),
    (1, 4, 2.0, -0.40092828925807e-1),
    (1, 4, 13.0, 0.39343422603254e-6),
    (1, 5, 9.0, -0.75941377088144e-5),
    (1, 7, 3.0, 0.56250979351888e-3),
    (1, 9, 4.0, -0.15608652257135e-4),
    (1, 10, 11.0, 0.11537996422951e-8),
    (1, 11, 4.0, 0.36582165144204e-6),
    (1, 13, 13.0, -0.13251180074668e-11),
    (1, 15, 1.0, -0.62639586912454e-9),
    (2, 1, 7.0, -0.10793600908932),
    (2, 2, 1.0, 0.17611491008752e-1),
    (2, 2, 9.0, 0.22132295167546),
    (2, 2, 10.0, -0.40247669763528),
    (2, 3, 10.0, 0.58083399985759),
    (2, 4, 3.0, 0.49969146990806e-2),
    (2, 4, 7.0, -0.31358700712549e-1),
    (2, 4, 10.0, -0.74315929710341),
    (2, 5, 10.0, 0.47807329915480),
    (2, 6, 6.0, 0.20527940895948e-1),
    (2, 6, 10.0, -0.13636435110343),
    (2, 7, 10.0, 0.14180634400617e-1),
    (2, 9, 1.0, 0.83326504880713e-2),
    (2, 9, 2.0, -0.29052336009585e-1),
    (2, 9, 3.0, 0.38615085574206e-1),
    (2, 9, 4.0, -0.20393486513704e-1),
    (2, 9, 8.0, -0.16554050063734e-2),
    (2, 10, 6.0, 0.19955571979541e-2),
    (2, 10, 9.0, 0.15870308324157e-3),
    (2, 12, 8.0, -0.16388568342530e-4),
    (3, 3, 16.0, 0.43613615723811e-1),
    (3, 4, 22.0, 0.34994005463765e-1),
    (3, 4, 23.0, -0.76788197844621e-1),
    (3, 5, 23.0, 0.22446277332006e-1),
    (4, 14, 10.0, -0.62689710414685e-4),
    (6, 3, 50.0, -0.55711118565645e-9),
    (6, 6, 44.0, -0.19905718354408),
    (6, 6, 46.0, 0.31777497330738),
    (6, 6, 50.0, -0.11841182425981),
];

/// First and second derivative of the residual part with respect to delta.
fn residual(delta: f64, tau: f64) -> (f64, f64) {
    let mut sums = (0.0, 0.0);
    for (c, d, t, n) in TERMS {
        let cut = if c == 0 { 0.0 } else { delta.powi(c) };
        let phi = n * delta.powi(d) * tau.powf(t) * (-cut).exp();
        let (c, d) = (f64::from(c), f64::from(d));
        let slope = d - c * cut;
        sums.0 += phi / delta * slope;
        sums.1 += phi / (delta * delta) * (slope * (slope - 1.0) - c * c * cut);
    }
    sums
}

/// Pressure, Pa, at density rho in kg/m3 and temperature in K: p = rho R T (1 + delta phi_delta).
pub(super) fn pressure(rho: f64, temperature: f64) -> f64 {
    let (delta, tau) = (rho / RHO_C, T_C / temperature);
    rho * R * temperature * (1.0 + delta * residual(delta, tau).0)
}

/// Density of the liquid, kg/m3, at a pressure in Pa and a temperature in K, by Newton iteration from 1000 kg/m3.
pub(super) fn liquid_density(wanted: f64, temperature: f64) -> f64 {
    let tau = T_C / temperature;
    let mut rho = 1000.0;
    for _ in 0..20 {
        let delta = rho / RHO_C;
        let (first, second) = residual(delta, tau);
        let slope = R * temperature * (1.0 + 2.0 * delta * first + delta * delta * second);
        let step = (pressure(rho, temperature) - wanted) / slope;
        rho -= step;
        if step.abs() < 1e-10 {
            break;
        }
    }
    rho
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn check_values_of_the_release() {
        // IAPWS R6-95(2018), tables 6 and 7, from memory. The sums cancel to about 1e-8 of their largest term at 300 K.
        let (first, _) = residual(838.025 / RHO_C, T_C / 500.0);
        assert!((first - -0.364366650).abs() < 5e-10, "{first}");
        let p = pressure(996.5560, 300.0);
        assert!((p / 0.992418352e5 - 1.0).abs() < 1e-8, "{p}");
    }
}
