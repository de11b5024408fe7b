//! The schema of the case file against cases of all kinds; what the schema refuses, the reader must refuse.

use crate::checker::faults;
use serde_json::Value;
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use twinplate::input::case::{Question, parse, questions, starter};
use twinplate::report::schema::{MEANINGS, case_schema, meaning};

fn document(text: &str) -> Value {
    serde_json::to_value(toml::from_str::<toml::Value>(text).unwrap()).unwrap()
}

/// Every case file of the demos and of the validation that the reader takes.
fn cases() -> Vec<(PathBuf, String)> {
    fn below(folder: &Path, found: &mut Vec<(PathBuf, String)>) {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() && !path.ends_with("target") && !path.ends_with("results") {
                below(&path, found);
            } else if path.extension().is_some_and(|ending| ending == "toml") {
                let text = std::fs::read_to_string(&path).unwrap();
                if parse(&text, &path).problems.is_empty() {
                    found.push((path, text));
                }
            }
        }
    }
    let mut found = Vec::new();
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    ["meshes", "validation"].iter().for_each(|folder| below(&root.join(folder), &mut found));
    found
}

#[test]
fn every_case_fulfils_the_schema() {
    let schema = case_schema();
    let cases = cases();
    assert!(cases.len() > 12, "{}", cases.len());
    for (path, text) in &cases {
        let found = faults(&schema, &document(text));
        assert!(found.is_empty(), "{}: {}", path.display(), found.join("; "));
    }
    let [(_, text), _] = starter();
    assert_eq!(faults(&schema, &document(text)), [""; 0]);
}

const CASE: &str = "[cell]\nlength = \"200 mm\"\nwidth = \"100 mm\"\ngap = \"0.5 mm\"\n[fluid]\nname = \"water\"\n\
                    temperature = \"20 degC\"\n[drive]\nmean_speed = \"1 mm/s\"\n";

#[test]
fn forms_that_the_demos_do_not_have_fulfil_it() {
    let schema = case_schema();
    let obstacle = |inner: &str| format!("[[obstacle]]\n{inner}\n");
    for text in [
        "[streaklines]\nstarts = [\"18 mm\", 0.02]\n".to_owned(),
        "[streaklines]\nstarts = [[0.01, 0.02], [0.01, 0.03]]\n".into(),
        "[streaklines]\nstarts = { x = 0, y = [0.01] }\n".into(),
        "[probe]\nat = [0.1, 0.05]\n".into(),
        obstacle("tail = false\ncircle = { centre = [0.1, 0.05], diameter = \"40 mm\" }"),
        obstacle("tail = [0.12, 0.05]\ncircle = { centre = [0.1, 0.05], diameter = \"40 mm\" }"),
        obstacle("polygon = { sides = 6, centre = [0.1, 0.05], width = 0.04 }"),
        obstacle("outline = { points = [[0.1, 0.05], [0.12, 0.05], [0.1, 0.07]], smooth = true }"),
        "[sweep]\ngap = { from = \"0.2 mm\", to = \"1 mm\", steps = 5, spacing = \"log\" }\n".into(),
        "[sweep]\nmean_speed = [\"1 mm/s\", \"2 mm/s\"]\n".into(),
        "[filling]\nfrom = { at = [0.01, 0.01], diameter = \"4 mm\" }\ntilt_towards = \"upper\"\n".into(),
        "[filling]\ntilt_towards = \"30 deg\"\nsnapshots = { time = [\"1 s\", \"2 s\"] }\n".into(),
        "[tolerance]\nspeed = \"2 %\"\n".into(),
    ] {
        let text = format!("{CASE}{text}");
        let loaded = parse(&text, Path::new("case.toml"));
        assert!(loaded.problems.is_empty(), "{text}: {}", loaded.problems);
        assert_eq!(faults(&schema, &document(&text)), [""; 0], "{text}");
    }
}

#[test]
fn broken_cases_are_refused() {
    let schema = case_schema();
    let changed = |from: &str, to: &str| {
        assert!(CASE.contains(from));
        CASE.replace(from, to)
    };
    let with = |more: &str| format!("{CASE}{more}\n");
    for (text, at) in [
        (changed("length", "lenght"), ".cell has the unknown key lenght"),
        (changed("width = \"100 mm\"\n", ""), ".cell does not have exactly one"),
        (changed("\"200 mm\"", "\"200\""), ".cell.length"),
        (changed("\"200 mm\"", "-1"), ".cell.length"),
        (changed("\"200 mm\"", "true"), ".cell.length"),
        (changed("\"0.5 mm\"", "0"), ".cell.gap"),
        (changed("\"0.5 mm\"", "{ at = 1e-3, slop = [0, 0] }"), ".cell.gap"),
        (changed("\"water\"", "\"wine\""), ".fluid.name"),
        (changed("[drive]\nmean_speed = \"1 mm/s\"", ""), " lacks \"drive\""),
        (changed("mean_speed", "head = 1\nmean_speed"), ".drive does not have exactly one"),
        (with("zzz = 1"), ".drive has the unknown key zzz"),
        (with("[[obstacle]]\nname = \"a\""), ".obstacle"),
        (with("[[obstacle]]\ncircle = { centre = [0.1], diameter = 0.04 }"), ".obstacle"),
        (with("[[obstacle]]\ncircle = { centre = [0.1, 0.05] }"), ".obstacle"),
        (with("[[obstacle]]\npolygon = { sides = 2, centre = [0.1, 0.05], width = 0.01 }"), ".obstacle"),
        (with("[[probe]]\nname = 3\nat = [0.1, 0.05]"), ".probe"),
        (with("[streaklines]\nheight = 1.5"), ".streaklines.height"),
        (with("[inertia]\norder = 3"), ".inertia.order"),
        (with("[rig]\nplate_edges = \"glued\""), ".rig.plate_edges"),
        (with("[filling]\nadvancing_angle = 200"), ".filling.advancing_angle"),
    ] {
        let found = faults(&schema, &document(&text));
        assert!(found.iter().any(|fault| fault.starts_with(at)), "{text}: {found:?}");
        assert!(!parse(&text, Path::new("case.toml")).problems.is_empty(), "the reader takes {text}");
    }
}

/// Every key that the reader knows has a meaning and a form, and every meaning is one of a key.
#[test]
fn keys_and_meanings_are_one_to_one() {
    let asked = questions();
    let mut used = BTreeSet::new();
    for (path, question) in &asked {
        let Question::Table(_, keys) = question else { continue };
        for key in keys {
            let at = if path.is_empty() { key.clone() } else { format!("{path}.{key}") };
            let text = meaning(&at, key);
            assert!(text.is_some(), "no meaning is given for the key {at}");
            used.extend(text);
            let is_form = |question: &Question| matches!(question, Question::Value(_) | Question::Table(..));
            let has_form = asked.iter().any(|(path, question)| path.starts_with(&at) && is_form(question));
            assert!(has_form, "no specimen has the key {at}");
        }
    }
    for (key, text) in MEANINGS {
        assert!(used.contains(text), "no table of a case has the key {key}");
    }
}
