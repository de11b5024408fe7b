//! A correction of one's own: a lamp over the cell warms a spot, and the fluid there is thinner.
//!
//! With K = b³/(12 μ) and a small relative change κ of K, the first-order change of the pressure obeys
//! `div(K grad p1) = -div(κ K grad p0)`, in weak form `∫ K grad p1·grad t = -∫ κ K grad p0·grad t`, with the operator of the ideal
//! pattern and p1 = 0 on held ends; the velocity changes by `V1 = -(K/b)(grad p1 + κ grad p0)`.
//!
//! `cargo run --release --example own_correction`

use twinplate::study::{Settings, Study, read};

/// Warmest excess in kelvin, its radius in m, and d(ln 1/μ)/dT of water at 20 °C, 1/K (IAPWS R12-08: μ falls by 2.4 % per kelvin).
const EXCESS: f64 = 1.0;
const RADIUS: f64 = 0.03;
const PER_KELVIN: f64 = 0.024;

fn main() -> twinplate::Result<()> {
    let (case, plan) = read("meshes/two_piers.toml".as_ref())?;
    let study = Study::solve(case, plan, Settings::default(), &|_| {})?;
    let (space, pattern) = (&study.solved.space, &study.pattern);
    let middle = study.case.cell.middle();
    let change = |p: [f64; 2]| {
        let r = (p[0] - middle[0]).hypot(p[1] - middle[1]) / RADIUS;
        PER_KELVIN * EXCESS * (-r * r).exp()
    };

    // the operator is that of div(grad u) for a uniform gap: K divides out
    let mut loads = vec![0.0; space.mesh.points.len()];
    for (t, corners) in space.mesh.triangles.iter().enumerate() {
        let places = space.corners(t);
        let of = |values: &dyn Fn(usize) -> f64| twinplate::numerics::fem::gradient(places, [0, 1, 2].map(values));
        let slope = of(&|i| pattern.pressure[corners[i] as usize]);
        let kappa = (0..3).map(|i| change(places[i])).sum::<f64>() / 3.0;
        for (i, &v) in corners.iter().enumerate() {
            let hat = of(&|j| if i == j { 1.0 } else { 0.0 });
            loads[v as usize] -= kappa * space.area(t) * (slope[0] * hat[0] + slope[1] * hat[1]);
        }
    }
    let start = vec![0.0; loads.len()];
    let size = loads.iter().fold(0.0, |a: f64, f| a.max(f.abs()));
    let p1 = study.solved.pair.pressure_operator.solve(&start, &loads, 1e-12 * size * size)?.values;

    let [slope0, slope1] = space.recovery().gradients(space.harmonic_if_uniform(), [&pattern.pressure, &p1]);
    let mobility = space.reference_gap.powi(2) / (12.0 * study.case.fluid.viscosity);
    let largest = (0..p1.len()).map(|v| {
        let kappa = change(space.mesh.points[v]);
        let v1 = [0, 1].map(|k| -mobility * (slope1[v][k] + kappa * slope0[v][k]));
        v1[0].hypot(v1[1]) / pattern.drive.mean_speed
    });
    println!(
        "a lamp that warms the middle by {EXCESS} K changes the velocity by at most {:.2} % of U",
        100.0 * largest.fold(0.0, f64::max)
    );
    Ok(())
}
