//! Uncertainties of a case against closed forms.

mod seek;

use std::sync::Arc;
use twinplate::base::units::fluid::water;
use twinplate::study::campaign::uncertainty::{Known, Method, Uncertainties, UncertaintySettings, solve_uncertainty};
use twinplate::study::read_text;
use twinplate::theory::ideal::Goal;

const CELL: &str = "title = 'pier'\n[cell]\nlength = '300 mm'\nwidth = '200 mm'\ngap = '0.5 mm'\n[fluid]\nname = 'water'\n\
                    temperature = '20 degC'\n[streaklines]\ncount = 4\n";
const PIER: &str = "[[obstacle]]\nname = 'pier'\ncircle = { centre = ['150 mm', '100 mm'], diameter = '40 mm' }\n";

fn solve(rest: &str, triangles: usize, sample: Option<usize>) -> Uncertainties {
    let (case, plan): (_, Arc<_>) = read_text(&format!("{CELL}{rest}"), "pier.toml".as_ref()).unwrap();
    let settings = UncertaintySettings { goal: Some(Goal::Triangles(triangles)), sample, threads: 2 };
    solve_uncertainty(case, &plan, settings, &|_, _| {}).unwrap()
}

fn row<'a>(found: &'a Uncertainties, path: &str) -> &'a Known {
    found.rows.iter().find(|row| row.path == path).unwrap_or_else(|| panic!("no {path}"))
}

/// Q = S b³ dp/(12 mu): 1 % of the gap is 3 % of the flow, 2 % of the pressure 2 % of it. Central differences of a cube are off by
/// (db/b)²/3 of it, a hundredth of a per cent here.
#[test]
fn a_gap_counts_three_times() {
    let tolerances =
        "[drive]\npressure_drop = '2 Pa'\n[uncertainty]\n'cell.gap' = '1 %'\n'drive.pressure_drop' = '2 %'\n";
    let found = solve(tolerances, 500, None);
    assert_eq!((found.method, found.runs), (Method::Differences, 5));
    let flow = row(&found, "drive.flow_rate_m3_per_s");
    let exact: f64 = 0.03f64.hypot(0.02);
    assert!((flow.relative().unwrap() / exact - 1.0).abs() < 2e-4, "{flow:?}");
    assert!((flow.total[0] - 9.0 / 13.0).abs() < 2e-4 && (flow.total[1] - 4.0 / 13.0).abs() < 2e-4, "{flow:?}");
    // what is stated is known as well as it is stated
    assert!((row(&found, "drive.pressure_drop_pa").relative().unwrap() - 0.02).abs() < 1e-9);
    assert!(found.advice()[0].contains("cell.gap"), "{:?}", found.advice());
}

/// At a given pressure the flow goes as 1/mu(T); the slope of IAPWS R12-08 between the temperatures that are tried, by its own
/// values, which `tests/fluid.rs` holds against the table of the release.
#[test]
fn a_temperature_counts_by_the_slope_of_the_viscosity() {
    let tolerances = "[drive]\npressure_drop = '2 Pa'\n[uncertainty]\n'fluid.temperature' = '0.5 K'\n";
    let found = solve(tolerances, 500, None);
    let viscosity = |t: f64| water(t).unwrap().viscosity;
    let exact = 0.5 * (1.0 / viscosity(293.65) - 1.0 / viscosity(292.65)) * viscosity(293.15);
    let flow = row(&found, "drive.flow_rate_m3_per_s");
    assert!((flow.relative().unwrap() / exact - 1.0).abs() < 1e-6, "{flow:?} {exact}");
    // some 2.4 % per kelvin at 20 degC
    assert!((exact - 0.012).abs() < 5e-4, "{exact}");
}

/// The speed above the middle of a post of radius a between walls W apart, with its images (Lamb 1932, art. 64): V/U = 1 + m
/// (pi/W)²/sin²(pi r/W), m = a²/(1 - (pi a/W)²/3), to order (a/W)⁴ = 1e-4; between the walls the mean speed is U. The difference is
/// off by the change of the numerical error between two meshes, some 1e-3 of the speed at 6 000 triangles, over a change of 0.03.
#[test]
fn a_radius_counts_by_the_dipole() {
    let tolerances = "[drive]\nmean_speed = '1 mm/s'\n[[probe]]\nname = 'above'\nat = ['150 mm', '130 mm']\n[uncertainty]\n\
                      'obstacle.pier.diameter' = { tolerance = '1.5 mm', spread = 'uniform' }\n";
    let found = solve(&format!("{tolerances}{PIER}"), 6000, None);
    let (w, r, a) = (0.2, 0.03, 0.02);
    let pi = std::f64::consts::PI;
    let speed = |a: f64| 1.0 + a * a / (1.0 - (pi * a / w).powi(2) / 3.0) * (pi / w / (pi * r / w).sin()).powi(2);
    let step = 0.5 * 1.5e-3 / 3f64.sqrt();
    let exact = 0.5 * (speed(a + step) - speed(a - step));
    let above = row(&found, "probes.above.speed_ratio");
    assert!((above.value - speed(a)).abs() < 3e-3, "{above:?} {}", speed(a));
    assert!((above.standard / exact - 1.0).abs() < 0.05, "{above:?} {exact}");
    // it alone is uncertain; what a polynomial leaves is the mesh
    assert!((above.total[0] + above.left - 1.0).abs() < 1e-9, "{above:?}");
}

/// The head goes as Q mu/b³. With 10 % of the gap differences are curved and a sample is taken by itself. For normal b the mean of
/// (b0/b)^6 has no closed form; a uniform spread has one: E[x^-3] and E[x^-6] over [1 - h, 1 + h]. The polynomial's variance is off by
/// what it leaves.
#[test]
fn a_wide_gap_takes_a_sample() {
    let half = 0.2;
    let tolerances = "[drive]\nflow_rate = '2 mL/min'\n[uncertainty]\n'cell.gap' = { tolerance = '20 %', spread = 'uniform' }\n\
                      'drive.flow_rate' = { tolerance = '2 %', spread = 'uniform' }\n";
    let found = solve(tolerances, 200, None);
    assert!(matches!(found.method, Method::Sample(n) if n >= 32), "{:?}", found.method);
    let head = row(&found, "drive.head_m");
    let power = |n: i32, h: f64| ((1.0 + h).powi(1 - n) - (1.0 - h).powi(1 - n)) / (2.0 * h * f64::from(1 - n));
    let (mean, square) = (power(3, half), power(6, half));
    let flow = 1.0 + 0.02f64.powi(2) / 3.0;
    let variance = square * flow - mean * mean;
    let value = head.standard / head.value;
    assert!((value / variance.sqrt() - 1.0).abs() < 0.02, "{value} {}", variance.sqrt());
    // by b alone: variance of E[h | b]
    assert!((head.first[0] - (square - mean * mean) / variance).abs() < 0.01, "{head:?}");
    assert!(head.total[0] > 0.99 && head.left < 0.01, "{head:?}");
    // the quantiles of a function that falls with b
    let at = |part: f64| (1.0 + half * (2.0 * part - 1.0)).powi(-3) * head.value;
    for (found, exact) in [(head.interval[0], at(0.975)), (head.interval[1], at(0.025))] {
        assert!((found / exact - 1.0).abs() < 0.03, "{found} {exact}");
    }
}

/// A sample and differences agree where both hold.
#[test]
fn a_sample_confirms_differences() {
    let tolerances =
        "[drive]\nflow_rate = '2 mL/min'\n[uncertainty]\n'cell.gap' = '1 %'\n'fluid.temperature' = '1 K'\n";
    let (by_differences, by_sample) = (solve(tolerances, 200, None), solve(tolerances, 200, Some(64)));
    assert_eq!([by_differences.method, by_sample.method], [Method::Differences, Method::Sample(64)]);
    for path in ["drive.head_m", "reynolds.obstacle", "reynolds.reduced"] {
        let [a, b] = [&by_differences, &by_sample].map(|found| row(found, path));
        // of normal values beyond two and a half tolerances 64 points have one: the variance is a twentieth too small
        assert!((a.standard / b.standard - 1.0).abs() < 0.05, "{a:?} {b:?}");
        assert!((a.total[0] - b.total[0]).abs() < 0.05, "{a:?} {b:?}");
    }
}
