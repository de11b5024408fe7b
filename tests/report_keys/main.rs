//! Scripts rely on the keys of the reports: whatever is listed for a command must be there, and no key may hold null.
//!
//! The lists beside this file hold one path a line, `[]` for the entries of a list; `@ CASE` where only that demo has it. Add lines
//! for new keys; a line is taken away only with a word in the release notes.

use assert_cmd::Command;
use serde_json::Value;
use std::collections::BTreeSet;
use std::path::Path;

fn paths(value: &Value, at: String, found: &mut BTreeSet<String>) {
    match value {
        Value::Null => panic!("{at} is null"),
        Value::Object(map) => map.iter().for_each(|(key, inner)| {
            paths(inner, if at.is_empty() { key.clone() } else { format!("{at}.{key}") }, found);
        }),
        Value::Array(list) if list.iter().any(Value::is_object) => {
            list.iter().for_each(|inner| paths(inner, format!("{at}[]"), found));
        }
        _ => {
            found.insert(at);
        }
    }
}

fn check(command: &str, options: &[&str], list: &str) {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    for case in ["keel_section", "tapered_gap", "pier_with_bubble"] {
        let folder = tempfile::tempdir().unwrap();
        let mut run = Command::new(env!("CARGO_BIN_EXE_twinplate"));
        run.args([command, "--json", "-o"]).arg(folder.path()).args(options);
        run.arg(root.join("meshes").join(case).with_extension("toml"));
        let output = run.output().unwrap();
        assert!(output.status.success(), "{command} {case}: {}", String::from_utf8_lossy(&output.stderr));
        let mut found = BTreeSet::new();
        paths(&serde_json::from_slice(&output.stdout).unwrap(), String::new(), &mut found);
        for line in list.lines() {
            let (path, only) = line.split_once(" @ ").unwrap_or((line, case));
            assert!(only != case || found.contains(path), "{command} {case}: the key {path} is gone");
        }
    }
}

#[test]
fn check_keeps_its_keys() {
    check("check", &[], include_str!("check.txt"));
}

#[test]
fn outline_keeps_its_keys() {
    check("outline", &[], include_str!("outline.txt"));
}

#[test]
fn mesh_keeps_its_keys() {
    check("mesh", &[], include_str!("mesh.txt"));
}

#[test]
fn solve_keeps_its_keys() {
    check("solve", &["--inertia", "--edge-layer"], include_str!("solve.txt"));
}

#[test]
fn departure_keeps_its_keys() {
    check("departure", &[], include_str!("departure.txt"));
}

#[test]
fn rig_keeps_its_keys() {
    check("rig", &[], include_str!("rig.txt"));
}

#[test]
fn converge_keeps_its_keys() {
    check("converge", &["--departure"], include_str!("converge.txt"));
}
