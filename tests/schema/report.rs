//! The schema of reports against those of all demos, from which it is joined.
//!
//! After a new row `cargo test --test schema -- --ignored` writes it anew.

use crate::checker::faults;
use serde_json::{Value, json};
use std::path::{Path, PathBuf};
use std::sync::{Arc, OnceLock};
use twinplate::base::row::Section;
use twinplate::report::json::json as text_of;
use twinplate::report::schema::{joined, of_sections, report_schema};
use twinplate::report::{BenchCard, FigureSettings};
use twinplate::study::{Material, Meshes, Wish, compare_measured, fill_cell};
use twinplate::theory::ideal::Goal;
use twinplate::{Case, Folder, LadderSettings, Others, Plan, Settings, Study, Wanted, read, solve_ladder};

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn demo(name: &str) -> (Case, Arc<Plan>) {
    read(&root().join("meshes").join(name).with_extension("toml")).unwrap()
}

fn demos() -> Vec<String> {
    let files = std::fs::read_dir(root().join("meshes")).unwrap().map(|entry| entry.unwrap().path());
    let cases = files.filter(|path| path.extension().is_some_and(|ending| ending == "toml"));
    let mut names: Vec<String> = cases.map(|path| path.file_stem().unwrap().to_string_lossy().into_owned()).collect();
    names.sort();
    names
}

struct Scratch(tempfile::TempDir);

impl Scratch {
    fn folder(&self, case: &Case) -> Folder {
        Folder::open(self.0.path(), case, Others::Replaced).unwrap()
    }
}

fn coarse(triangles: usize) -> Option<Goal> {
    Some(Goal::Triangles(triangles))
}

/// Reports of every command that writes one, each called by the command and the demo.
fn reports() -> &'static [(String, Vec<Section>)] {
    static REPORTS: OnceLock<Vec<(String, Vec<Section>)>> = OnceLock::new();
    REPORTS.get_or_init(|| {
        let scratch = Scratch(tempfile::tempdir().unwrap());
        let mut found = Vec::new();
        for name in demos() {
            let (case, plan) = demo(&name);
            let settings = Settings { goal: coarse(1500), ..Settings::default() };
            let ideal = Study::solve(case.clone(), plan.clone(), settings, &|_| {}).unwrap();
            found.push((format!("solve {name}"), ideal.write(scratch.folder(&case)).unwrap().sections));
            let settings = Settings { inertia: true, edge_layer: true, ..settings };
            let study = Study::solve(case.clone(), plan, settings, &|_| {}).unwrap();
            let wanted = Wanted { departure: true, closure: name == "two_piers", ..Wanted::default() };
            let findings = study.find(wanted, &|_| {}).unwrap();
            let report = study.write_found(&findings, scratch.folder(&case)).unwrap();
            found.push((format!("departure {name}"), report.sections));
            let rig = study.rig(findings.budget.as_ref().unwrap()).unwrap();
            let drawing = FigureSettings { formats: Vec::new(), ..FigureSettings::default() };
            let sections = study.write_rig(&rig, scratch.folder(&case), &drawing, BenchCard::Left).unwrap();
            found.push((format!("rig {name}"), sections));
        }
        for name in ["keel_section", "two_piers"] {
            let (case, plan) = demo(name);
            let wish = LadderSettings {
                meshes: Meshes::Sizes(vec![200, 800, 3200]),
                inertia: false,
                edge_layer: false,
                departure: true,
                also: vec![],
            };
            let ladder = solve_ladder(&case, &plan, &wish, &|_| {}).unwrap();
            found.push((format!("converge {name}"), ladder.write(scratch.folder(&case), None).unwrap().sections));
        }
        let drawing = FigureSettings { formats: Vec::new(), ..FigureSettings::default() };
        for name in ["dry_dock", "two_piers"] {
            let (case, plan) = demo(name);
            let filled = fill_cell(case.clone(), plan, coarse(800), &|_| {}).unwrap();
            found.push((format!("fill {name}"), filled.write(scratch.folder(&case), &drawing).unwrap().sections));
        }
        let (case, plan) = demo("piers_photographed");
        let material = Material::read(&case, None).unwrap();
        let map = material.calibrate(&case).unwrap();
        let wish = Wish { goal: coarse(3000), ..Wish::default() };
        let compared = compare_measured(case.clone(), plan, material, map, &wish, &|_| {}).unwrap();
        found.push(("compare".into(), compared.write(scratch.folder(&case), &drawing).unwrap().sections));
        found
    })
}

fn kept_file() -> PathBuf {
    root().join("src/report/schema/report.json")
}

fn joined_reports() -> Value {
    reports().iter().map(|(_, sections)| of_sections(sections)).reduce(joined).unwrap()
}

#[test]
fn every_report_fulfils_the_schema() {
    let schema = report_schema();
    for (name, sections) in reports() {
        let report: Value = serde_json::from_str(&text_of(sections).unwrap()).unwrap();
        let found = faults(&schema, &report);
        assert!(found.is_empty(), "{name}: {}", found.join("; "));
    }
}

#[test]
fn the_schema_has_every_row_and_no_other() {
    let kept: Value = serde_json::from_str(&std::fs::read_to_string(kept_file()).unwrap()).unwrap();
    let now = joined_reports();
    let mut differences = Vec::new();
    differ(&kept, &now, "", &mut differences);
    assert!(differences.is_empty(), "write the schema anew, for it differs at {}", differences.join(", "));
}

fn differ(a: &Value, b: &Value, at: &str, found: &mut Vec<String>) {
    match (a, b) {
        (Value::Object(a), Value::Object(b)) => {
            let missing =
                a.keys().filter(|key| !b.contains_key(*key)).chain(b.keys().filter(|key| !a.contains_key(*key)));
            found.extend(missing.map(|key| format!("{at}.{key}")));
            a.iter().for_each(|(key, value)| {
                if let Some(other) = b.get(key) {
                    differ(value, other, &format!("{at}.{key}"), found);
                }
            });
        }
        _ if a != b => found.push(at.to_owned()),
        _ => {}
    }
}

#[test]
#[ignore = "writes a file of the sources: run it after a new row"]
fn write_the_schema_anew() {
    let text = serde_json::to_string_pretty(&joined_reports()).unwrap() + "\n";
    std::fs::write(kept_file(), text).unwrap();
}

#[test]
fn broken_reports_are_refused() {
    let schema = report_schema();
    let (_, sections) = reports().iter().find(|(name, _)| name == "departure keel_section").unwrap();
    let whole: Value = serde_json::from_str(&text_of(sections).unwrap()).unwrap();
    let put = |pointer: &str, value: Value| {
        let mut broken = whole.clone();
        *broken.pointer_mut(pointer).unwrap_or_else(|| panic!("{pointer} is not there")) = value;
        (pointer.replace('/', "."), broken)
    };
    let lacking = |pointer: &str, key: &str| {
        let mut broken = whole.clone();
        broken.pointer_mut(pointer).unwrap().as_object_mut().unwrap().remove(key).unwrap();
        (pointer.replace('/', "."), broken)
    };
    for (at, broken) in [
        put("/shape_factor/value", json!("0.45")),
        put("/shape_factor/value", Value::Null),
        put("/mesh/triangles", json!(1.5)),
        put("/probes", json!({})),
        put("/departure/verdict/within_tolerance", json!("yes")),
        put("/departure/contributions/0/speed_max_at_m/0", json!("a")),
        put("/case/title", json!(3)),
        lacking("", "program"),
        lacking("/case", "sha256"),
        lacking("/shape_factor", "lower"),
        lacking("/probes/0", "name"),
    ] {
        let found = faults(&schema, &broken);
        let at = at.replace(".0", "[0]");
        assert!(found.iter().any(|fault| fault.starts_with(&at)), "{at}: {found:?}");
    }
}

/// The rule by which reports are joined, on two small ones.
#[test]
fn what_only_one_has_is_not_needed() {
    let object = |properties: Value, required: Value| json!({"type": ["object"], "required": required, "properties": properties});
    let (number, whole, list) = (json!({"type": ["number"]}), json!({"type": ["integer"]}), json!({"type": ["array"]}));
    let first = object(json!({"a": number, "b": list}), json!(["a", "b"]));
    let second = object(json!({"a": whole, "c": whole}), json!(["a", "c"]));
    assert_eq!(joined(first, second), object(json!({"a": number, "b": list, "c": whole}), json!(["a"])));
}
