//! `report.txt`: the report for reading, at most 100 columns wide where names allow.

use super::report::{EdgeLayer, Inertia, ProbeValues, Report, Reynolds, Solver};
use crate::base::row::Detail;
pub use crate::base::units::significant;
use crate::base::warning::{Level, Warning};
use comfy_table::presets::UTF8_HORIZONTAL_ONLY;
use comfy_table::{CellAlignment, ContentArrangement, Table};
use std::fmt::Write;

const WIDTH: u16 = 100;

/// The printed summary of a report, warnings with code and value where more detail is wanted.
pub fn summary(report: &Report, detail: Detail) -> String {
    let mut out = String::new();
    asked(&mut out, report);
    mesh(&mut out, report);
    reynolds(&mut out, &report.reynolds);
    shape_factor(&mut out, report);
    drive(&mut out, report);
    probes(&mut out, &report.probes);
    if let Some(edge_layer) = &report.edge_layer {
        edge_layer_table(&mut out, edge_layer);
    }
    if let Some(inertia) = &report.inertia {
        inertia_table(&mut out, inertia);
    }
    warnings(&mut out, &report.warnings, detail);
    ending(&mut out, report);
    out
}

/// A number with so many decimals, zero without a sign.
fn fixed(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(zero) if zero.bytes().all(|b| b == b'0' || b == b'.') => zero.to_owned(),
        _ => text,
    }
}

fn heading(out: &mut String, title: &str) {
    let _ = writeln!(out, "\n{title}");
}

fn line(out: &mut String, name: &str, value: &str) {
    let _ = writeln!(out, "  {name:<22}{value}");
}

/// A paragraph broken at blanks, later lines indented under the first.
pub fn paragraph(out: &mut String, first: &str, indent: usize, text: &str) {
    let mut row = first.to_owned();
    let mut empty = true;
    for word in text.split_whitespace() {
        if !empty && row.chars().count() + 1 + word.chars().count() > usize::from(WIDTH) {
            let _ = writeln!(out, "{row}");
            row = " ".repeat(indent);
            empty = true;
        }
        if !empty {
            row.push(' ');
        }
        row.push_str(word);
        empty = false;
    }
    let _ = writeln!(out, "{row}");
}

/// A table whose first column holds names and the others numbers.
pub(crate) fn table(out: &mut String, header: &[&str], rows: impl Iterator<Item = Vec<String>>) {
    arranged(out, header, rows, ContentArrangement::Dynamic);
}

/// The same as wide as its names are.
pub(crate) fn wide_table(out: &mut String, header: &[&str], rows: impl Iterator<Item = Vec<String>>) {
    arranged(out, header, rows, ContentArrangement::Disabled);
}

fn arranged(out: &mut String, header: &[&str], rows: impl Iterator<Item = Vec<String>>, how: ContentArrangement) {
    let mut table = Table::new();
    table.load_style(UTF8_HORIZONTAL_ONLY).set_content_arrangement(how).set_width(WIDTH - 2);
    table.style_mut().row_separator = comfy_table::LineStyle::none();
    table.set_header(header.iter().copied()).add_rows(rows);
    for column in table.column_iter_mut().skip(1) {
        column.set_cell_alignment(CellAlignment::Right);
    }
    for row in table.lines() {
        let _ = writeln!(out, "  {}", row.trim_end());
    }
}

fn asked(out: &mut String, report: &Report) {
    let Report { program, case, cell, fluid, .. } = report;
    let _ = writeln!(out, "{} {}: {}", program.name, program.version, case.title);
    line(out, "case file", &case.file);
    line(out, "SHA-256 of its text", &case.sha256);
    let millimetres = |length: f64| significant(1e3 * length, 4);
    line(
        out,
        "cell",
        &format!(
            "{} mm along the flow, {} mm across, gap {} mm at the middle",
            millimetres(cell.length_m),
            millimetres(cell.width_m),
            millimetres(cell.gap_m)
        ),
    );
    line(
        out,
        "fluid",
        &format!(
            "{}, density {} kg/m3, viscosity {} mPa s",
            fluid.name,
            significant(fluid.density_kg_per_m3, 5),
            significant(1e3 * fluid.viscosity_pa_s, 5)
        ),
    );
}

fn mesh(out: &mut String, report: &Report) {
    let mesh = &report.mesh;
    heading(out, "Mesh");
    line(out, "triangles", &format!("{} on {} vertices", mesh.triangles, mesh.vertices));
    line(out, "smallest angle", &format!("{:.1} deg", mesh.min_angle_deg));
    line(out, "nested levels", &mesh.levels.to_string());
    if let Some(Solver { iterations_pressure, iterations_stream_function, cycles }) = &report.solver {
        if report.mesh.levels > 1 {
            let list =
                format!("{iterations_pressure} for the pressure, {iterations_stream_function} for the stream function");
            line(out, "iterations", &list);
        }
        if !cycles.is_empty() {
            let rows = cycles.iter().enumerate().map(|(k, cycle)| {
                let half_width = format!("{} %", significant(100.0 * cycle.relative_half_width, 3));
                vec![(k + 1).to_string(), cycle.triangles.to_string(), half_width]
            });
            table(out, &["adaptive cycle", "triangles", "half-width of the bracket"], rows);
        }
    }
}

fn reynolds(out: &mut String, reynolds: &Reynolds) {
    let entry = |out: &mut String, name: &str, formula: &str, value: Option<f64>, meaning: &str| {
        let value = value.map_or("none, for there is no reference length".to_owned(), |v| significant(v, 4));
        let _ = writeln!(out, "  {name:<9}{formula:<32}= {value}");
        paragraph(out, &" ".repeat(11), 11, meaning);
    };
    heading(out, "Reynolds numbers (three different ones; say which one you quote)");
    if let Some(length) = reynolds.reference_length_m {
        line(out, "reference length L", &format!("{} mm", significant(1e3 * length, 4)));
    }
    entry(
        out,
        "obstacle",
        "Re_L = U L / nu",
        reynolds.obstacle,
        "What the obstacle would see in an open stream. Between the plates it sets no limit: the pattern can be the ideal \
         one at values of ten or a hundred.",
    );
    entry(
        out,
        "gap",
        "Re_b = U b / nu",
        Some(reynolds.gap),
        "State of the flow across the gap: how soon behind the inlet its parabolic profile has formed; laminar far below \
         a thousand.",
    );
    let inertia = match reynolds.reduced {
        None => "Inertia in the gap against friction at the plates.",
        Some(reduced) if reduced.abs() < 1.0 => {
            "Inertia in the gap against friction at the plates: the one that must be below one for the ideal pattern. It is \
             here, and the departure it causes grows in proportion to it."
        }
        Some(_) => {
            "Inertia in the gap against friction at the plates: the one that must be below one for the ideal pattern. It is \
             not here: expect another pattern, and read first-order corrections as a sign, not a measure."
        }
    };
    entry(out, "reduced", "Re* = Re_b b / L = Re_L (b/L)^2", reynolds.reduced, inertia);
}

fn shape_factor(out: &mut String, report: &Report) {
    let factor = &report.shape_factor;
    let percent = |fraction: f64| format!("{} %", significant(100.0 * fraction, 3));
    heading(out, "Conduction shape factor");
    paragraph(out, "  ", 2, &factor.definition);
    line(out, "value", &significant(factor.value, 9));
    line(
        out,
        "guaranteed bounds",
        &format!("{} to {}, for the polygon of the mesh", significant(factor.lower, 9), significant(factor.upper, 9)),
    );
    let half_width = percent(factor.relative_half_width);
    let target = match factor.target_relative_half_width {
        None => half_width,
        Some(target) if factor.relative_half_width <= target => format!("{half_width} (asked: {})", percent(target)),
        Some(target) => format!(
            "{half_width} (asked: {}; NOT reached, {} times too wide)",
            percent(target),
            significant(factor.relative_half_width / target, 3)
        ),
    };
    line(out, "half-width", &target);
    line(
        out,
        "outline allowance",
        &format!(
            "{}, for chords in place of curves; not in the bounds",
            percent(factor.outline_allowance / factor.value)
        ),
    );
}

fn drive(out: &mut String, report: &Report) {
    let drive = &report.drive;
    heading(out, "Drive (ideal pattern)");
    let speed = drive.mean_speed_m_per_s;
    line(out, "mean speed U", &format!("{} m/s = {} mm/s", significant(speed, 6), significant(1e3 * speed, 6)));
    let flow = drive.flow_rate_m3_per_s;
    line(out, "flow rate Q", &format!("{} m3/s = {} mL/min", significant(flow, 6), significant(6e7 * flow, 6)));
    let drop = drive.pressure_drop_pa;
    line(
        out,
        "pressure drop",
        &format!("{} Pa = {} mm of water", significant(drop, 6), significant(drop / crate::base::units::GRAVITY, 6)),
    );
    let head = drive.head_m;
    line(out, "head", &format!("{} m = {} mm of the fluid itself", significant(head, 6), significant(1e3 * head, 6)));
}

fn probes(out: &mut String, probes: &[ProbeValues]) {
    if probes.is_empty() {
        return;
    }
    heading(out, "Probes, ideal pattern (speed averaged over the gap, angle from +x, counter-clockwise)");
    let rows = probes.iter().map(|p| {
        vec![
            p.name.clone(),
            significant(1e3 * p.x_m, 5),
            significant(1e3 * p.y_m, 5),
            significant(p.pressure_pa, 6),
            fixed(p.pressure_fraction, 6),
            significant(1e3 * p.speed_m_per_s, 5),
            fixed(p.speed_ratio, 5),
            fixed(p.angle_deg, 3),
        ]
    });
    let header = ["probe", "x, mm", "y, mm", "pressure, Pa", "of the drop", "speed, mm/s", "speed / U", "angle, deg"];
    table(out, &header, rows);
}

fn edge_layer_table(out: &mut String, edge_layer: &EdgeLayer) {
    heading(out, "With the edge layer (no slip on obstacles and side walls, first order in gap / length)");
    line(
        out,
        "displacement",
        &format!("{} mm into the fluid", significant(1e3 * edge_layer.displacement_thickness_m, 5)),
    );
    line(out, "shape factor", &format!("{} to first order", significant(edge_layer.shape_factor, 9)));
    if let Some(moved) = edge_layer.moved_edges_shape_factor {
        let difference = significant(100.0 * (moved - edge_layer.shape_factor).abs() / edge_layer.shape_factor, 3);
        line(
            out,
            "",
            &format!(
                "{} with every solid edge moved: first order neglects about {difference} %",
                significant(moved, 9)
            ),
        );
    }
    line(
        out,
        "neglected",
        &format!(
            "goes as (b/L)^{}, 2 without corners, 2 pi/omega at the sharpest",
            significant(edge_layer.neglected_order, 3)
        ),
    );
    if !edge_layer.probes.is_empty() {
        let rows =
            edge_layer.probes.iter().map(|p| vec![p.name.clone(), fixed(p.speed_ratio, 5), fixed(p.angle_deg, 3)]);
        table(out, &["probe", "speed / corrected mean inlet speed", "angle, deg"], rows);
    }
}

fn inertia_table(out: &mut String, inertia: &Inertia) {
    heading(out, "With inertia (first order in Re*)");
    paragraph(
        out,
        "  ",
        2,
        &format!(
            "Pressure change p1 = q1 - {} rho |V|^2 alone, up to a constant; edge coefficient C1 = {}. Speeds: gap mean over \
             U, mid-gap over 3U/2, near the plates over (3/2)(1 - zeta^2) U; angles in degrees.",
            significant(inertia.pressure_coefficient, 6),
            significant(inertia.edge_coefficient, 7)
        ),
    );
    if inertia.flow_change != 0.0 {
        let change = significant(100.0 * inertia.flow_change, 2);
        let text = format!("At the same drop of pressure inertia changes the flow by {change} %.");
        paragraph(out, "  ", 2, &text);
    }
    if !inertia.probes.is_empty() {
        let rows = inertia.probes.iter().map(|p| {
            let mut row = vec![p.name.clone(), significant(p.pressure_pa, 5)];
            for (speed, angle) in [
                (p.mean_speed_ratio, p.mean_angle_deg),
                (p.midplane_speed_ratio, p.midplane_angle_deg),
                (p.near_plate_speed_ratio, p.near_plate_angle_deg),
            ] {
                row.extend([fixed(speed, 5), fixed(angle, 3)]);
            }
            row
        });
        let header = ["probe", "p1, Pa", "mean", "angle", "mid-gap", "angle", "near plates", "angle"];
        table(out, &header, rows);
    }
}

/// Warnings, then notes; with code and value where more than the main thing is wanted.
pub(super) fn warnings(out: &mut String, warnings: &[Warning], detail: Detail) {
    let of = |level: Level| warnings.iter().filter(move |warning| warning.level == level);
    heading(out, if of(Level::Warning).next().is_none() { "Warnings: none" } else { "Warnings" });
    of(Level::Warning).for_each(|warning| paragraph(out, "  - ", 4, &sentence(warning, detail)));
    if of(Level::Note).next().is_some() {
        heading(out, "Notes");
        of(Level::Note).for_each(|note| paragraph(out, "  - ", 4, &sentence(note, detail)));
    }
}

fn sentence(warning: &Warning, detail: Detail) -> String {
    let Warning { code, message, value, .. } = warning;
    match (detail, value) {
        (Detail::Main, _) => message.clone(),
        (_, None) => format!("{message} [{}]", code.key()),
        (_, Some(value)) => format!("{message} [{} {}]", code.key(), significant(*value, 4)),
    }
}

fn ending(out: &mut String, report: &Report) {
    let time = &report.timings_s;
    heading(out, "Time");
    let times = format!(
        "mesh {:.2} s, solve {:.2} s, write {:.2} s, in all {:.2} s",
        time.mesh, time.solve, time.write, time.total
    );
    let _ = writeln!(out, "  {times}");
    if !report.files.is_empty() {
        heading(out, "Files written");
        let sizes = report.file_sizes_bytes.iter().map(|&n| Some(n)).chain(std::iter::repeat(None));
        let named = report.files.iter().zip(sizes).map(|(name, size)| match size {
            Some(bytes) => format!("{name} ({} MB)", significant(bytes as f64 / 1e6, 3)),
            None => name.clone(),
        });
        paragraph(out, "  ", 2, &named.collect::<Vec<_>>().join(", "));
    }
}
