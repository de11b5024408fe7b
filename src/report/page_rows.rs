//! Rows and sections on `report.html`: facts, tables, and records with what they are.

use super::text::columns;
use crate::base::row::{Detail, Kind, Row, Section, row_at};
use minijinja::{Value, context};

/// Numbers to know at a glance, by their paths.
const GLANCE: [&str; 21] = [
    "reynolds.reduced",
    "reynolds.obstacle",
    "reynolds.gap",
    "reynolds.reference_length_m",
    "drive.mean_speed_m_per_s",
    "drive.flow_rate_m3_per_s",
    "drive.pressure_drop_pa",
    "shape_factor.value",
    "shape_factor.lower",
    "shape_factor.upper",
    "campaign.count",
    "campaign.done",
    "campaign.target_missed",
    "campaign.failed",
    "campaign.missing",
    "uncertainty.method",
    "uncertainty.runs",
    "seek.row",
    "seek.value",
    "seek.error",
    "seek.runs",
];

/// Where the numbers come from, by their paths.
const ORIGIN: [&str; 13] = [
    "program.name",
    "program.version",
    "case.file",
    "fluid.name",
    "fluid.density_kg_per_m3",
    "fluid.viscosity_pa_s",
    "mesh.triangles",
    "mesh.vertices",
    "mesh.min_angle_deg",
    "mesh.levels",
    "shape_factor.outline_allowance",
    "solver.iterations_pressure",
    "solver.iterations_stream_function",
];

/// What to know at a glance.
pub(super) fn facts(sections: &[Section]) -> Vec<Value> {
    picked(sections, &GLANCE)
}

/// Program, mesh, fluid, solver.
pub(super) fn provenance(sections: &[Section]) -> Vec<Value> {
    picked(sections, &ORIGIN)
}

fn picked(sections: &[Section], paths: &[&str]) -> Vec<Value> {
    paths.iter().filter_map(|path| row_at(sections, path)).map(fact).collect()
}

fn fact(row: &Row) -> Value {
    let bench = row.bench();
    let value = match row.kind {
        // what it weighs says less than the pressure itself
        Kind::Pressure | Kind::Force => row.si(),
        _ if bench.is_empty() => row.si(),
        _ => bench,
    };
    context! { name => &*row.name, value => typeset(&value), meaning => typeset(&row.meaning) }
}

/// All tables below the sections, largest first as they stand.
pub(super) fn tables(sections: &[Section]) -> Vec<Value> {
    let mut list = Vec::new();
    sections.iter().for_each(|section| collect(section, "", &mut list));
    list
}

fn collect(section: &Section, above: &str, list: &mut Vec<Value>) {
    let title = if section.title.is_empty() { above } else { &section.title };
    if section.detail == Detail::Script {
        return;
    }
    match section.layout {
        crate::base::row::Layout::Table if !section.parts.is_empty() => list.push(table(section, title)),
        _ => section.parts.iter().for_each(|part| collect(part, title, list)),
    }
}

fn table(section: &Section, title: &str) -> Value {
    let parts: Vec<&Section> = section.parts.iter().filter(|entry| entry.detail < Detail::Script).collect();
    let columns = columns(&parts, Detail::Full);
    let heads: Vec<String> = columns.iter().map(|column| typeset(&column.head())).collect();
    let row = |entry: &Section| columns.iter().map(|column| typeset(&column.cell(entry))).collect::<Vec<_>>();
    let rows: Vec<Vec<String>> = parts.into_iter().map(row).collect();
    context! { caption => typeset(title), heads => heads, rows => rows, notes => set(&section.notes) }
}

/// A record whose rows say what they are.
pub(super) fn record(section: &Section) -> Value {
    let row = |row: &Row| {
        context! {
            name => &*row.name, si => typeset(&row.si()), bench => typeset(&row.bench()),
            definition => typeset(&row.meaning), source => &*row.source, range => typeset(&row.range),
        }
    };
    context! {
        title => &*section.title,
        rows => section.rows.iter().filter(|row| row.detail < Detail::Script).map(row).collect::<Vec<Value>>(),
        notes => set(&section.notes),
        cautions => section.cautions.clone(),
    }
}

/// Numbers and units as they are printed: a true minus sign, powers of ten, raised exponents, an error that stays with its value.
pub(super) fn typeset(text: &str) -> String {
    words(text, |word| power(&unit(word)))
}

/// The same of numbers alone, for sentences that hold names.
pub(super) fn typeset_numbers(text: &str) -> String {
    words(text, str::to_owned)
}

fn words(text: &str, other: impl Fn(&str) -> String) -> String {
    let set = |word: &str| {
        let bare = word.trim_end_matches([',', ';', ':', ')', '.']);
        match bare.parse::<f64>() {
            Ok(_) => number(bare) + &word[bare.len()..],
            Err(_) => other(word),
        }
    };
    text.split(' ').map(set).collect::<Vec<_>>().join(" ").replace(" +- ", " ±\u{a0}")
}

fn set(notes: &[String]) -> Vec<String> {
    notes.iter().map(|note| typeset(note)).collect()
}

/// Raises whole exponents: b^2, h^-1.
fn power(word: &str) -> String {
    let mut parts = word.split('^');
    let mut text = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        let sign = usize::from(part.starts_with('-'));
        let digits = part[sign..].bytes().take_while(u8::is_ascii_digit).count();
        let rest = &part[sign + digits..];
        let broken = rest.strip_prefix('.').is_some_and(|more| more.starts_with(|c: char| c.is_ascii_digit()));
        if digits == 0 || broken {
            text.push('^');
            text.push_str(part);
            continue;
        }
        text.extend(part[..sign + digits].replace('-', "\u{2212}").chars().map(raised));
        text.push_str(rest);
    }
    text
}

fn number(text: &str) -> String {
    let text = text.replace('-', "\u{2212}");
    match text.split_once('e') {
        Some((digits, exponent)) => {
            let power: String = exponent.chars().map(raised).collect();
            if digits == "1" { format!("10{power}") } else { format!("{digits}·10{power}") }
        }
        None => text,
    }
}

/// Units of area and volume end in a figure: m2, mm2/s, m3/s, kg/m3.
fn unit(word: &str) -> String {
    let printed = |part: &str| {
        let bare = part.trim_end_matches([',', ')', ';', '.']);
        match bare {
            "m2" | "mm2" | "um2" | "m3" | "mm3" => part.replacen('2', "²", 1).replacen('3', "³", 1),
            _ => part.to_owned(),
        }
    };
    word.split('/').map(printed).collect::<Vec<_>>().join("/")
}

fn raised(c: char) -> char {
    match (c, c.to_digit(10)) {
        (_, Some(d)) => ['⁰', '¹', '²', '³', '⁴', '⁵', '⁶', '⁷', '⁸', '⁹'][d as usize],
        ('\u{2212}', _) => '⁻',
        (other, _) => other,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_and_units_are_set_as_they_are_printed() {
        for (plain, printed) in [
            ("-1.5e-7 m3/s", "−1.5·10⁻⁷ m³/s"),
            ("exceeds 6.2e-6: add 1e-3.", "exceeds 6.2·10⁻⁶: add 10⁻³."),
            ("998.2 kg/m3", "998.2 kg/m³"),
            ("circulation, mm2/s", "circulation, mm²/s"),
            ("Re* = U b^2", "Re* = U b²"),
            ("b^3/(12 mu), h^-1", "b³/(12 mu), h⁻¹"),
            ("b [0.631^1.6 + x]^(1/1.6)", "b [0.631^1.6 + x]^(1/1.6)"),
            ("0.86 +- 0.04 %", "0.86 ±\u{a0}0.04 %"),
            ("item2 and m24", "item2 and m24"),
        ] {
            assert_eq!(typeset(plain), printed);
        }
        assert_eq!(typeset_numbers("pier m2: 6.2e-6 +- 1e-7"), "pier m2: 6.2·10⁻⁶ ±\u{a0}10⁻⁷");
    }
}
