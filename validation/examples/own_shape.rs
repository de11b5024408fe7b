//! An obstacle made in the program: a rounded mooring pier from a formula: `cargo run --release --example own_shape`.

use std::sync::Arc;
use twinplate::geometry::Plan;
use twinplate::input::case::parse;
use twinplate::study::{Settings, Study};

/// A superellipse |x/a|⁴ + |y/b|⁴ = 1 as points, joined by a smooth curve.
fn pier(centre: [f64; 2], half: [f64; 2]) -> String {
    let points = (0..48).map(|k| {
        let (sin, cos) = (std::f64::consts::TAU * f64::from(k) / 48.0).sin_cos();
        let bent = |x: f64| x.signum() * x.abs().sqrt();
        format!("[{:.6}, {:.6}]", centre[0] + half[0] * bent(cos), centre[1] + half[1] * bent(sin))
    });
    format!("outline = {{ points = [{}], smooth = true }}", points.collect::<Vec<_>>().join(", "))
}

fn main() -> twinplate::Result<()> {
    let text = format!(
        "title = \"Rounded pier\"\n[cell]\nlength = \"400 mm\"\nwidth = \"200 mm\"\ngap = \"1 mm\"\n\
         [fluid]\nname = \"water\"\ntemperature = \"20 degC\"\n[drive]\nmean_speed = \"1 mm/s\"\n\
         [[obstacle]]\nname = \"pier\"\n{}\n",
        pier([0.2, 0.1], [0.03, 0.02])
    );
    // mistakes come with the line they stand in
    let loaded = parse(&text, "rounded_pier.toml".as_ref());
    let mut problems = loaded.problems;
    let plan = loaded.case.as_ref().and_then(|case| Plan::new(case, &mut problems));
    let (Some(case), Some(plan)) = (loaded.case, plan) else { return problems.into_result() };

    let study = Study::solve(case, Arc::new(plan), Settings::default(), &|_| {})?;
    let shape = study.pattern.shape_factor;
    println!("shape factor {} within {:.1e}", shape.value, shape.relative_half_width);
    Ok(())
}
