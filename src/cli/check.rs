//! `check`: what the case says, in SI, and what solving it will take.

use super::args::Common;
use super::say;
use crate::base::units::rounded;
use crate::base::units::significant;
use crate::base::{Error, Result};
use crate::geometry::Plan;
use crate::input::case::{Case, DriveQuantity, Ends, Gap, Seeding, Shape};
use crate::study::{Forecast, forecast, read, reference_length};
use crate::theory::ideal::Goal;
use serde_json::json;
use std::fmt::Write;
use std::path::Path;

/// Reads and checks a case and prints what it understood.
pub fn check(path: &Path, common: &Common) -> Result<u8> {
    let (case, plan) = read(path)?;
    let goal = Goal::Error { relative: case.mesh.error, most_triangles: case.mesh.max_triangles };
    let forecast = forecast(&plan, &case, goal)?;
    if common.json {
        return say(&as_json(&case, &plan, &forecast)?);
    }
    if common.quiet { Ok(0) } else { say(&table(&case, &plan, &forecast)) }
}

fn table(case: &Case, plan: &Plan, forecast: &Forecast) -> String {
    let mut out = format!("{}\n", case.title);
    let mut line = |name: &str, value: String| {
        let _ = writeln!(out, "  {name:<18}{value}");
    };
    let n = |x: f64| significant(x, 5);
    line("cell", format!("{} m long, {} m wide", n(case.cell.length), n(case.cell.width)));
    line(
        "gap",
        match &case.cell.gap {
            Gap::Uniform(b) => format!("{} m", n(*b)),
            Gap::Linear { at, slope, .. } => {
                format!(
                    "{} m at the middle, changing by {} per length along x and {} along y",
                    n(*at),
                    n(slope[0]),
                    n(slope[1])
                )
            }
            Gap::Bowed(bow) => format!(
                "{} m at the middle, {} m at the edges: each plate bowed by {} m under {} Pa",
                n(bow.middle()),
                n(bow.edge()),
                n(bow.deflection()),
                n(bow.load())
            ),
            Gap::Table(table) => {
                let [least, largest] = table.range();
                format!(
                    "from a table of {} places, {} to {} m; {} m at the middle",
                    table.len(),
                    n(least),
                    n(largest),
                    n(case.cell.gap.at([0.5 * case.cell.length, 0.5 * case.cell.width]))
                )
            }
        },
    );
    line(
        "fluid",
        format!(
            "{}, density {} kg/m3, viscosity {} Pa s",
            case.fluid.name,
            n(case.fluid.density),
            n(case.fluid.viscosity)
        ),
    );
    line("drive", format!("{}, {}", drive(case.drive.quantity), ends(case.drive.ends)));
    line("reference length", format!("{} m", n(reference_length(case, plan))));
    for obstacle in &case.obstacles {
        let wall = match obstacle.on_wall {
            Some(crate::geometry::Wall::Lower) => ", on the lower wall",
            Some(crate::geometry::Wall::Upper) => ", on the upper wall",
            None => "",
        };
        line("obstacle", format!("{}: {}{wall}", obstacle.name, shape(&obstacle.shape)));
    }
    for probe in &case.probes {
        line("probe", format!("{} at x = {} m, y = {} m", probe.name, n(probe.at[0]), n(probe.at[1])));
    }
    let seeding = match case.streaklines.seeding {
        Seeding::Count(count) => format!("{count} of equal flux"),
        Seeding::Spacing(spacing) => format!("every {} m along the inlet", n(spacing)),
    };
    line("streaklines", format!("{seeding}, at height zeta = {}", case.streaklines.height));
    line(
        "tolerances",
        format!(
            "speed {} of the mean, direction {} deg, shift {} m",
            n(case.tolerance.speed),
            n(case.tolerance.direction.to_degrees()),
            n(case.tolerance.shift)
        ),
    );
    line(
        "target",
        format!("relative half-width {} with at most {} triangles", n(case.mesh.error), case.mesh.max_triangles),
    );
    line(
        "to expect",
        format!(
            "about {} triangles, {} MB of memory ({} with both corrections), {} s ({} with both), within a factor of two on two \
             cores",
            rough(forecast.triangles as f64),
            rough(forecast.memory / 1e6),
            rough(forecast.memory_with_corrections / 1e6),
            rough(forecast.seconds),
            rough(forecast.seconds_with_corrections)
        ),
    );
    for note in &plan.notes {
        line("note", note.clone());
    }
    out + "The case is in order.\n"
}

/// Two digits of a positive number.
fn rough(x: f64) -> String {
    significant(rounded(x, 2), 2)
}

fn as_json(case: &Case, plan: &Plan, forecast: &Forecast) -> Result<String> {
    let report = json!({
        "program": {"name": "twinplate", "version": env!("CARGO_PKG_VERSION")},
        "case": {"title": case.title, "file": case.file.display().to_string(), "sha256": case.sha256},
        "cell": {"length_m": case.cell.length, "width_m": case.cell.width,
                 "gap_m": case.cell.gap.at([0.5 * case.cell.length, 0.5 * case.cell.width])},
        "fluid": {"name": case.fluid.name, "density_kg_per_m3": case.fluid.density, "viscosity_pa_s": case.fluid.viscosity},
        "reference_length_m": reference_length(case, plan),
        "obstacles": case.obstacles.iter().map(|o| o.name.clone()).collect::<Vec<_>>(),
        "probes": case.probes.iter().map(|p| json!({"name": p.name, "x_m": p.at[0], "y_m": p.at[1]})).collect::<Vec<_>>(),
        "notes": plan.notes,
        "estimate": {"triangles": forecast.triangles, "memory_bytes": forecast.memory,
                     "memory_with_corrections_bytes": forecast.memory_with_corrections, "time_s": forecast.seconds,
                     "time_with_corrections_s": forecast.seconds_with_corrections},
    });
    serde_json::to_string_pretty(&report)
        .map(|text| text + "\n")
        .map_err(|e| Error::failed(format!("the report cannot be written: {e}"), "report this as a fault"))
}

fn drive(quantity: DriveQuantity) -> String {
    let n = |x: f64| significant(x, 5);
    match quantity {
        DriveQuantity::MeanSpeed(u) => format!("mean speed {} m/s", n(u)),
        DriveQuantity::FlowRate(q) => format!("flow rate {} m3/s", n(q)),
        DriveQuantity::PressureDrop(dp) => format!("pressure drop {} Pa", n(dp)),
        DriveQuantity::Head(h) => format!("head {} m", n(h)),
        DriveQuantity::ReducedReynolds(re) => format!("reduced Reynolds number {}", n(re)),
        DriveQuantity::ObstacleReynolds(re) => format!("obstacle Reynolds number {}", n(re)),
        DriveQuantity::GapReynolds(re) => format!("gap Reynolds number {}", n(re)),
    }
}

fn ends(ends: Ends) -> &'static str {
    match ends {
        Ends::HeldPressure => "pressure held at both ends",
        Ends::GivenInflow => "uniform flux per width given at both ends",
    }
}

fn shape(shape: &Shape) -> String {
    let n = |x: f64| significant(x, 4);
    let at = |p: crate::base::Point| format!("x = {} m, y = {} m", n(p[0]), n(p[1]));
    match shape {
        Shape::Circle { centre, diameter } => format!("circle of diameter {} m at {}", n(*diameter), at(*centre)),
        Shape::Ellipse { centre, semi_axes, angle } => format!(
            "ellipse of semi-axes {} m and {} m at {}, turned by {} deg",
            n(semi_axes[0]),
            n(semi_axes[1]),
            at(*centre),
            n(angle.to_degrees())
        ),
        Shape::Polygon { points } => format!("polygon of {} points", points.len()),
        Shape::OutlinePoints { points, smooth } => {
            format!(
                "outline of {} points, {}",
                points.len(),
                if *smooth { "joined by a spline" } else { "joined straight" }
            )
        }
        Shape::OutlineFile { file, centre, reading, .. } => format!(
            "{} from {} about {}{}",
            if reading.every { "every outline" } else { "outline" },
            file.display(),
            at(*centre),
            if reading.smooth { ", corners joined by a spline" } else { "" }
        ),
        Shape::FourDigit { camber, camber_place, thickness, chord, nose, angle, .. } => format!(
            "four-digit section {:.0}{:.0}{:02.0}, chord {} m, nose at {}, {} deg nose-up",
            100.0 * camber,
            10.0 * camber_place,
            100.0 * thickness,
            n(*chord),
            at(*nose),
            n(angle.to_degrees())
        ),
        Shape::Joukowski { chord, thickness, camber, nose, angle } => format!(
            "Joukowski section, chord {} m, thickness {}, camber {}, nose at {}, {} deg nose-up",
            n(*chord),
            n(*thickness),
            n(*camber),
            at(*nose),
            n(angle.to_degrees())
        ),
        Shape::Teardrop { length, diameter, nose, angle } => format!(
            "teardrop {} m long, {} m thick, nose at {}, {} deg nose-up",
            n(*length),
            n(*diameter),
            at(*nose),
            n(angle.to_degrees())
        ),
    }
}
