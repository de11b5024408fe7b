//! What of a report goes to the screen: the answer first, in a handful of lines; the files hold the rest.

use crate::base::row::{Layout, Row, Section, row_at};
use crate::base::warning::Level;

/// Most entries of a table on the screen.
const MOST_ENTRIES: usize = 8;
/// Most notes of a section.
const MOST_NOTES: usize = 2;
/// Most warnings told in full.
const MOST_WARNINGS: usize = 1;

/// Which report is cut down.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Digest {
    /// The pattern.
    Solve,
    /// The budget and its verdict.
    Departure,
    /// The design sheet.
    Rig,
    /// The convergence study.
    Converge,
    /// Measurements against theory.
    Compare,
    /// The filling of the dry cell.
    Fill,
}

/// A part of the screen.
enum Part {
    /// A heading and rows by their paths.
    Rows(&'static str, &'static [&'static str]),
    /// A table by its path, with the columns of these keys.
    Table(&'static str, &'static [&'static str]),
    /// The notes of a section by its key or, for want of one, its heading.
    Notes(&'static str),
    /// So many warnings, and how many more there are.
    Warnings(usize),
}

impl Digest {
    fn parts(self) -> &'static [Part] {
        const REYNOLDS: &[&str] = &["reynolds.obstacle", "reynolds.gap", "reynolds.reduced"];
        match self {
            Digest::Solve => &[
                Part::Rows("Pattern", &["case.title", "mesh.triangles"]),
                Part::Rows(
                    "Drive",
                    &["drive.mean_speed_m_per_s", "drive.flow_rate_m3_per_s", "drive.pressure_drop_pa", "drive.head_m"],
                ),
                Part::Rows("Reynolds numbers: obstacle, gap, reduced (the one that must be below one)", REYNOLDS),
                Part::Rows(
                    "Conduction shape factor",
                    &[
                        "shape_factor.value",
                        "shape_factor.lower",
                        "shape_factor.upper",
                        "shape_factor.relative_half_width",
                    ],
                ),
                Part::Table("probes", &["name", "pressure_pa", "speed_m_per_s", "speed_ratio", "angle_deg"]),
                Part::Warnings(MOST_WARNINGS),
            ],
            Digest::Departure => &[
                Part::Table("departure.verdict.measures", &["measure", "departure", "tolerance", "within"]),
                Part::Rows("", &["departure.verdict.answer"]),
                Part::Table(
                    "departure.contributions",
                    &["name", "speed_q99", "direction_q99_deg", "shift_q99_m", "standing"],
                ),
                Part::Rows("", &["departure.bubble.text"]),
                Part::Table("held_bubbles", &["name", "radius_m", "slip_speed_m_per_s", "travel_speed_m_per_s"]),
                Part::Table("bubbles", &["name", "speed_m_per_s", "speed_ratio", "time_to_leave_s", "ended"]),
                Part::Rows("", &["departure.confinement.text"]),
                Part::Rows("", &["closure.text"]),
                Part::Table("circulation", &["obstacle", "tail_m", "lift_coefficient"]),
                Part::Notes("circulation_left_out"),
                Part::Warnings(MOST_WARNINGS),
            ],
            Digest::Compare => &[
                Part::Rows("", &["compare.verdict.text"]),
                Part::Table(
                    "compare.against",
                    &["theory", "shift_rms_m", "shift_max_m", "direction_rms_deg", "speed_rms"],
                ),
                Part::Table(
                    "compare.effects",
                    &["name", "predicted_shift_rms_m", "amplitude", "explained", "identifiable"],
                ),
                Part::Table("compare.obstacles", &["name", "dx_m", "dy_m", "growth_m"]),
                Part::Rows(
                    "Tracks",
                    &["compare.tracks.used", "compare.tracks.rejected", "compare.tracks.mean_speed_m_per_s"],
                ),
                Part::Rows(
                    "The map of the picture",
                    &[
                        "compare.calibration.marks_used",
                        "compare.calibration.map_sigma_rms_m",
                        "compare.calibration.tilt_deg",
                    ],
                ),
                Part::Warnings(MOST_WARNINGS + 2),
            ],
            Digest::Fill => &[
                Part::Rows("", &["filling.verdict"]),
                Part::Rows(
                    "Filling",
                    &[
                        "filling.model",
                        "filling.number",
                        "filling.radius_number",
                        "filling.time_s",
                        "filling.head_needed_m",
                        "filling.mass_residual",
                        "filling.moment_residual",
                    ],
                ),
                Part::Table(
                    "filling.trapped",
                    &["obstacle", "x_m", "y_m", "area_m2", "time_s", "leaves_above_m_per_s"],
                ),
                Part::Table(
                    "filling.wetting.obstacles",
                    &["obstacle", "form", "kept", "kept_area_m2", "front_area_m2"],
                ),
                Part::Table("filling.wetting.changes", &["change", "air_area_m2", "air_most_m2"]),
                Part::Warnings(MOST_WARNINGS + 1),
            ],
            Digest::Converge => &[
                Part::Rows("Pattern", &["case.title"]),
                Part::Table("ladder", &["triangles", "lower", "upper"]),
                Part::Table("convergence", &["quantity", "observed_order", "expected_order", "verdict", "quote"]),
                Part::Warnings(MOST_WARNINGS),
            ],
            Digest::Rig => &[
                Part::Rows(
                    "Design sheet of the cell, in short",
                    &[
                        "rig.flow_rate_m3_per_s",
                        "rig.mean_speed_m_per_s",
                        "rig.head_m",
                        "rig.transit_time_s",
                        "rig.fill_time_s",
                        "rig.settling_time_s",
                        "rig.reduced_reynolds",
                        "rig.air_stays_behind",
                        "rig.limits.binding",
                        "rig.limits.largest_speed_m_per_s",
                        "rig.limits.thickest_gap_m",
                    ],
                ),
                Part::Notes("What to change, the easiest first"),
                Part::Warnings(0),
            ],
        }
    }
}

/// A report cut down to the screen.
pub fn digest(sections: &[Section], of: Digest) -> Vec<Section> {
    of.parts().iter().filter_map(|part| shown(sections, part)).collect()
}

fn shown(sections: &[Section], part: &Part) -> Option<Section> {
    match *part {
        Part::Rows(title, paths) => {
            let rows: Vec<Row> = paths.iter().filter_map(|path| row_at(sections, path)).map(brief).collect();
            (!rows.is_empty()).then(|| Section::new("", title, rows))
        }
        Part::Table(path, keys) => {
            let table = section_at(sections, path)?;
            let rows = |entry: &Section| -> Vec<Row> {
                keys.iter().filter_map(|key| entry.rows.iter().find(|row| row.key == *key)).map(brief).collect()
            };
            let entries: Vec<Vec<Row>> = table.parts.iter().take(MOST_ENTRIES).map(rows).collect();
            let note = left(table.parts.len(), MOST_ENTRIES).into_iter().collect();
            (!entries.is_empty()).then(|| Section::table("", table.title.clone(), entries).noted(note))
        }
        Part::Notes(name) => {
            let section =
                find(sections, &|section| section.key == name || (section.key.is_empty() && section.title == name))?;
            let mut notes: Vec<String> = section.notes.iter().take(MOST_NOTES).cloned().collect();
            notes.extend(left(section.notes.len(), MOST_NOTES));
            Some(Section::new("", section.title.clone(), Vec::new()).noted(notes))
        }
        Part::Warnings(most) => warnings(sections, most),
    }
}

/// Says how many of so many are left out.
fn left(count: usize, most: usize) -> Option<String> {
    (count > most).then(|| format!("{} more in the report", count - most))
}

/// The first warnings in full, and how many more there are; notes are counted.
fn warnings(sections: &[Section], most: usize) -> Option<Section> {
    let table = section_at(sections, "warnings")?;
    let of = |level: Level| -> Vec<String> {
        let own = table.parts.iter().filter(|entry| entry.row("level").is_some_and(|row| row.shown() == level.key()));
        own.filter_map(|entry| entry.row("message")).map(Row::shown).collect()
    };
    let (warnings, notes) = (of(Level::Warning), of(Level::Note));
    let count = |n: usize, one: &str| format!("{n} {one}{}", if n == 1 { "" } else { "s" });
    let left = warnings.len().saturating_sub(most);
    let more = if left < warnings.len() { "more warning" } else { "warning" };
    let counted = [(left, more), (notes.len(), "note")].into_iter().filter(|(n, _)| *n > 0);
    let counted: Vec<String> = counted.map(|(n, one)| count(n, one)).collect();
    let mut list: Vec<String> = warnings.into_iter().take(most).collect();
    if !counted.is_empty() {
        list.push(format!("{} in the report", counted.join(" and ")));
    }
    let title = if list.is_empty() { "Warnings: none" } else { "Warnings" };
    Some(Section::new("", title, Vec::new()).noted(list))
}

/// A row as the screen has it: value and name, whatever its level of detail, without what explains it.
fn brief(row: &Row) -> Row {
    let (meaning, source, range) = ("".into(), "".into(), "".into());
    Row { detail: crate::base::row::Detail::Main, meaning, source, range, ..row.clone() }
}

fn section_at<'a>(sections: &'a [Section], path: &str) -> Option<&'a Section> {
    let mut keys = path.split('.');
    let first = keys.next()?;
    let mut section = sections.iter().find(|section| section.key == first)?;
    for key in keys {
        section = section.parts.iter().find(|part| part.key == key)?;
    }
    (section.layout == Layout::Table).then_some(section)
}

fn find<'a>(sections: &'a [Section], wanted: &dyn Fn(&Section) -> bool) -> Option<&'a Section> {
    sections.iter().find_map(|section| if wanted(section) { Some(section) } else { find(&section.parts, wanted) })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::row::{Detail, Kind};
    use crate::base::warning::{Code, Warning};
    use crate::report::text::text;

    /// Whatever a report holds, a table keeps eight entries and one warning is told; the rest is counted.
    #[test]
    fn a_long_report_is_cut_to_the_screen() {
        let probe = |k: usize| {
            vec![
                Row::new("name", "probe", format!("p{k}"), Kind::Number),
                Row::new("speed_ratio", "over U", 1.5, Kind::Number),
                Row::new("hidden", "hidden", 7.25, Kind::Number),
            ]
        };
        let list: Vec<Warning> = (0..5)
            .map(|k| Warning::new(Code::LineCut, format!("line {k}"), "take another count"))
            .chain([Warning::note(Code::Drawing, "a dropped point")])
            .collect();
        let mut report = vec![
            Section::new("case", "Case", vec![Row::new("title", "title", "piers", Kind::Number).full()]),
            Section::table("probes", "Probes", (0..20).map(probe)),
        ];
        report.extend(crate::base::warning::sections(&list));
        let shown = text(&digest(&report, Digest::Solve), Detail::Main, 80);
        for part in ["piers", "p7", "12 more in the report", "line 0", "4 more warnings and 1 note in the report"] {
            assert!(shown.contains(part), "{part} in\n{shown}");
        }
        for part in ["p8", "7.25", "line 1", "dropped"] {
            assert!(!shown.contains(part), "{part} in\n{shown}");
        }
        let none = digest(&[Section::table("warnings", "", [])], Digest::Solve);
        assert_eq!(none[0].title, "Warnings: none");
    }

    /// Parts of a section go by their path, notes by key or heading.
    #[test]
    fn sections_are_found_by_path_and_heading() {
        let inner =
            Section::table("measures", "Measures", [vec![Row::new("measure", "measure", "speed", Kind::Number)]]);
        let verdict = Section::new("verdict", "", Vec::new()).with(vec![inner]);
        let left_out = Section::table("circulation_left_out", "", []).noted(vec!["two tips".into()]);
        let report = vec![Section::new("departure", "", Vec::new()).with(vec![verdict]), left_out];
        let shown = text(&digest(&report, Digest::Departure), Detail::Main, 80);
        assert!(shown.contains("Measures") && shown.contains("speed") && shown.contains("two tips"), "{shown}");
        let advice = Section::new("", "What to change, the easiest first", Vec::new()).noted(vec!["slower".into()]);
        let rig = vec![Section::new("rig", "", Vec::new()).with(vec![advice])];
        assert!(text(&digest(&rig, Digest::Rig), Detail::Main, 80).contains("slower"));
    }
}
