//! The numbers of `report.html`, each with its unit and what it means.

use crate::base::units::significant;
use crate::report::report::Report;
use crate::study::{Budget, Study};
use crate::theory::departure::Measures;
use crate::theory::ideal::Goal;

/// A number by itself.
pub(super) struct Fact {
    pub(super) name: String,
    pub(super) value: String,
    pub(super) meaning: String,
}

/// Numbers in rows.
pub(super) struct Table {
    pub(super) caption: String,
    pub(super) heads: Vec<String>,
    pub(super) rows: Vec<Vec<String>>,
}

fn fact(name: &str, value: String, meaning: &str) -> Fact {
    Fact { name: name.to_owned(), value, meaning: meaning.to_owned() }
}

fn table(caption: &str, heads: &[&str], rows: Vec<Vec<String>>) -> Table {
    Table { caption: caption.to_owned(), heads: heads.iter().map(|&h| h.to_owned()).collect(), rows }
}

/// Digits as they are read: with a true minus sign and powers of ten.
fn digits(x: f64, count: usize) -> String {
    let text = significant(x, count).replace('-', "−");
    match text.split_once('e') {
        Some((digits, exponent)) => format!("{digits}·10{}", raised(exponent)),
        None => text,
    }
}

/// An exponent in raised figures.
fn raised(exponent: &str) -> String {
    let figure = |c: char| match (c, c.to_digit(10)) {
        (_, Some(d)) => ['⁰', '¹', '²', '³', '⁴', '⁵', '⁶', '⁷', '⁸', '⁹'][d as usize],
        ('−', _) => '⁻',
        (other, _) => other,
    };
    exponent.chars().map(figure).collect()
}

/// What to know at a glance.
pub(super) fn facts(report: &Report) -> Vec<Fact> {
    let (drive, reynolds, shape) = (&report.drive, &report.reynolds, &report.shape_factor);
    let known = |x: Option<f64>| x.map_or("none".to_owned(), |x| digits(x, 4));
    let length = reynolds.reference_length_m.map_or("none".to_owned(), |l| format!("{} mm", digits(1e3 * l, 4)));
    vec![
        fact(
            "reduced Reynolds number",
            known(reynolds.reduced),
            "Re* = U b²/(ν L): inertia between the plates; must be well below 1",
        ),
        fact(
            "obstacle Reynolds number",
            known(reynolds.obstacle),
            "Re_L = U L/ν: what an open stream would have; no limit here",
        ),
        fact("gap Reynolds number", digits(reynolds.gap, 4), "Re_b = U b/ν: laminar far below a thousand"),
        fact("reference length L", length, "as the case states, else the largest obstacle across the flow"),
        fact(
            "mean speed U",
            format!("{} mm/s", digits(1e3 * drive.mean_speed_m_per_s, 5)),
            "over the inlet and the gap",
        ),
        fact("flow rate Q", format!("{} mL/min", digits(6e7 * drive.flow_rate_m3_per_s, 5)), "of the ideal pattern"),
        fact("pressure drop", format!("{} Pa", digits(drive.pressure_drop_pa, 5)), "between the ends of the cell"),
        fact("head", format!("{} mm", digits(1e3 * drive.head_m, 5)), "of the fluid itself"),
        fact("shape factor", digits(shape.value, 7), &shape.definition),
        fact(
            "guaranteed bounds",
            format!("{} to {}", digits(shape.lower, 7), digits(shape.upper, 7)),
            "for the polygon that is meshed, whatever the mesh",
        ),
    ]
}

/// All tables.
pub(super) fn tables(study: &Study, report: &Report, budget: Option<&Budget>) -> Vec<Table> {
    let mut list = Vec::new();
    if let Some(budget) = budget {
        list.push(budget_table(study, budget));
    }
    if !report.probes.is_empty() {
        list.push(probe_table(report));
    }
    corrections(report, &mut list);
    if let Some(budget) = budget {
        list.extend(sweep_table(budget));
        list.extend(circulation_table(budget));
    }
    list.push(cycle_table(report));
    list
}

fn budget_table(study: &Study, budget: &Budget) -> Table {
    let row = |name: &str, m: &Measures, error: f64| {
        let mut row = vec![name.replace('_', " ")];
        let percent = [m.speed_rms, m.speed_max].map(|x| digits(100.0 * x, 3));
        let degrees = [m.direction_rms, m.direction_max].map(|x| digits(x.to_degrees(), 3));
        let millimetres = [m.shift_rms, m.shift_max].map(|x| digits(1e3 * x, 3));
        row.extend(percent.into_iter().chain(degrees).chain(millimetres));
        row.extend([m.coefficient_rms, m.coefficient_max].map(|x| digits(x, 3)));
        row.push(digits(100.0 * error, 2));
        row
    };
    let own = budget.contributions.iter().zip(&budget.at_height).map(|(c, m)| row(c.name, m, c.numerical_error));
    let mut rows: Vec<Vec<String>> = own.collect();
    rows.push(row("all but confinement", &budget.cell_alone, budget.numerical_error[1]));
    rows.push(row("all together", &budget.total[0], budget.numerical_error[0]));
    rows.push(row("all together, gap mean", &budget.total[1], budget.numerical_error[0]));
    let tolerance = &study.case.tolerance;
    let mut limits = vec!["tolerance".to_owned()];
    for x in [100.0 * tolerance.speed, tolerance.direction.to_degrees(), 1e3 * tolerance.shift] {
        limits.extend(["".to_owned(), digits(x, 3)]);
    }
    limits.extend(["".to_owned(), "".to_owned(), "".to_owned()]);
    rows.push(limits);
    let caption = format!(
        "Departure from the ideal pattern at the same mean speed U, at dye height {}, where the fluid is further than {} mm from solid edges",
        budget.height,
        digits(1e3 * budget.band, 4)
    );
    let heads = [
        "effect",
        "speed rms, % of U",
        "largest",
        "direction rms, degrees",
        "largest",
        "shift rms, mm",
        "largest",
        "pressure coefficient rms",
        "largest",
        "numerical error of speed, % of U",
    ];
    table(&caption, &heads, rows)
}

fn probe_table(report: &Report) -> Table {
    let rows = report.probes.iter().map(|p| {
        let mut row = vec![p.name.clone(), digits(1e3 * p.x_m, 5), digits(1e3 * p.y_m, 5), digits(p.pressure_pa, 5)];
        row.extend([digits(p.pressure_fraction, 5), digits(1e3 * p.speed_m_per_s, 5), digits(p.speed_ratio, 5)]);
        row.push(digits(p.angle_deg, 4));
        row
    });
    let heads = [
        "probe",
        "x, mm",
        "y, mm",
        "pressure, Pa",
        "of the drop (1)",
        "speed, mm/s",
        "speed over U (1)",
        "direction, degrees",
    ];
    table(
        "Probes, ideal pattern: speed averaged over the gap, direction from +x counter-clockwise. No guaranteed bounds: repeat with a smaller error and see which digits stay",
        &heads,
        rows.collect(),
    )
}

fn corrections(report: &Report, list: &mut Vec<Table>) {
    if let Some(layer) = report.edge_layer.as_ref().filter(|layer| !layer.probes.is_empty()) {
        let rows = layer.probes.iter().map(|p| vec![p.name.clone(), digits(p.speed_ratio, 5), digits(p.angle_deg, 4)]);
        let caption = format!(
            "With the edge layer, to first order in b/L (displacement {} mm; shape factor {})",
            digits(1e3 * layer.displacement_thickness_m, 4),
            digits(layer.shape_factor, 7)
        );
        list.push(table(
            &caption,
            &["probe", "speed over its mean at the inlet (1)", "direction, degrees"],
            rows.collect(),
        ));
    }
    if let Some(inertia) = report.inertia.as_ref().filter(|inertia| !inertia.probes.is_empty()) {
        let rows = inertia.probes.iter().map(|p| {
            let mut row = vec![p.name.clone(), digits(p.pressure_pa, 4)];
            let pairs = [
                (p.mean_speed_ratio, p.mean_angle_deg),
                (p.midplane_speed_ratio, p.midplane_angle_deg),
                (p.near_plate_speed_ratio, p.near_plate_angle_deg),
            ];
            row.extend(pairs.into_iter().flat_map(|(speed, angle)| [digits(speed, 5), digits(angle, 4)]));
            row
        });
        let heads = [
            "probe",
            "pressure change, Pa",
            "gap mean over U (1)",
            "direction, degrees",
            "mid-gap over 3U/2 (1)",
            "direction, degrees",
            "near the plates (1)",
            "direction, degrees",
        ];
        let caption =
            "With inertia, to first order in Re*; the pressure change may carry a constant, compare differences";
        list.push(table(caption, &heads, rows.collect()));
    }
}

fn sweep_table(budget: &Budget) -> Option<Table> {
    let rows: Vec<Vec<String>> = budget
        .sweep
        .iter()
        .map(|r| {
            vec![
                digits(r.reduced_reynolds, 4),
                digits(100.0 * r.speed_rms, 3),
                digits(100.0 * r.speed_max, 3),
                digits(r.direction_max.to_degrees(), 3),
                digits(1e3 * r.shift_max, 3),
                if r.first_order { "yes" } else { "no" }.to_owned(),
            ]
        })
        .collect();
    let heads =
        ["Re* (1)", "speed rms, % of U", "largest", "largest turn, degrees", "largest shift, mm", "first order holds"];
    (!rows.is_empty()).then(|| table("Sweep, all effects together", &heads, rows))
}

fn circulation_table(budget: &Budget) -> Option<Table> {
    let sections = &budget.circulation.as_ref()?.sections;
    let rows = sections.iter().map(|s| {
        vec![
            s.name.clone(),
            digits(1e6 * s.kutta_circulation, 4),
            digits(s.lift_per_span, 4),
            digits(s.lift_coefficient, 4),
            s.tail_angle_difference.map_or(String::new(), |a| digits(a.to_degrees(), 4)),
        ]
    });
    let heads = [
        "section",
        "circulation, mm²/s",
        "lift per span, N/m",
        "lift coefficient (1)",
        "turn of the tail streamline, degrees",
    ];
    Some(table("What inviscid flow with a smooth tail would have and the cell never shows", &heads, rows.collect()))
}

fn cycle_table(report: &Report) -> Table {
    let cycles = report.solver.iter().flat_map(|solver| &solver.cycles).enumerate();
    let rows = cycles
        .map(|(k, c)| vec![(k + 1).to_string(), c.triangles.to_string(), digits(100.0 * c.relative_half_width, 3)]);
    table("Adaptive cycles", &["cycle", "triangles", "half-width of the bounds, %"], rows.collect())
}

/// The words that the numbers use.
pub(super) fn definitions(budget: Option<&Budget>) -> Vec<Fact> {
    let mut list = vec![
        fact(
            "ideal pattern",
            String::new(),
            "V = −(b²/12μ) grad p, averaged over the gap b: in a uniform gap a potential flow without circulation.",
        ),
        fact(
            "shape factor",
            String::new(),
            "Q/(K Δp), K = b³/(12μ): flow over what a square of cell would pass. Its bounds come from pressure and stream function solved side by side.",
        ),
        fact(
            "pressure coefficient",
            String::new(),
            "1 − (|V|/U)²: Bernoulli's for the inviscid flow with these streamlines; the pressure of the cell itself falls along the flow instead.",
        ),
        fact("direction", String::new(), "angle from the direction of the flow, counter-clockwise."),
    ];
    if budget.is_some() {
        list.extend([
            fact(
                "edge layer",
                String::new(),
                "no slip at solid edges makes them act as if 0.315 b thicker; order b/L.",
            ),
            fact(
                "inertia",
                String::new(),
                "parts the layers in the gap and shifts the gap mean along edges; orders Re* and Re* b/L.",
            ),
            fact(
                "confinement",
                String::new(),
                "how the same obstacles would look in an unbounded stream; no fault of the cell.",
            ),
            fact(
                "shift",
                String::new(),
                "how far a streakline released at the same place moves sideways, to first order.",
            ),
            fact(
                "unresolved",
                String::new(),
                "an effect smaller than the estimated numerical error says only that it is small.",
            ),
        ]);
    }
    list
}

/// Program, settings, tolerances, residuals.
pub(super) fn provenance(study: &Study, report: &Report) -> Vec<Fact> {
    let mesh = &report.mesh;
    let goal = match study.goal {
        Goal::Error { relative, most_triangles } => {
            format!("half-width {} %, at most {most_triangles} triangles", digits(100.0 * relative, 3))
        }
        Goal::Triangles(n) => format!("one mesh of about {n} triangles"),
    };
    let tolerance = &study.case.tolerance;
    let (iterations, half_width) = (&study.solved.pair.iterations, report.shape_factor.relative_half_width);
    let how = match mesh.levels {
        1 => "factorised: solved to rounding".to_owned(),
        _ => format!("{} and {} iterations (pressure, stream function)", iterations[0], iterations[1]),
    };
    let residual = format!(
        "left undone: at most {} of the shape factor in the square of the energy norm; counted in the bounds",
        digits(0.01 * half_width * half_width, 2)
    );
    vec![
        fact(
            "program",
            format!("{} {}", report.program.name, report.program.version),
            "the same case gives the same figures, to the byte",
        ),
        fact("case file", report.case.file.clone(), "its text stands below"),
        fact(
            "mesh",
            format!("{} triangles", mesh.triangles),
            &format!(
                "{} vertices, nested levels: {}, smallest angle {} degrees",
                mesh.vertices,
                mesh.levels,
                digits(mesh.min_angle_deg, 3)
            ),
        ),
        fact("goal", goal, if study.reached() { "reached" } else { "NOT reached" }),
        fact("linear systems", how, &residual),
        fact(
            "outline allowance",
            format!("{} %", digits(100.0 * report.shape_factor.outline_allowance / report.shape_factor.value, 2)),
            "what chords in place of curves can add to first order; not in the bounds",
        ),
        fact(
            "tolerances",
            format!(
                "{} % of U, {} degrees, {} mm",
                digits(100.0 * tolerance.speed, 3),
                digits(tolerance.direction.to_degrees(), 3),
                digits(1e3 * tolerance.shift, 3)
            ),
            "speed, direction, shift of streaklines",
        ),
        fact(
            "fluid",
            report.fluid.name.clone(),
            &format!(
                "density {} kg/m³, viscosity {} mPa s",
                digits(report.fluid.density_kg_per_m3, 5),
                digits(1e3 * report.fluid.viscosity_pa_s, 5)
            ),
        ),
    ]
}
