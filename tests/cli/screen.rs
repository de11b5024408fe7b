//! What goes to the screen: the answer in a handful of lines no wider than a terminal that is not known; all of it on demand.

use crate::run;
use std::path::Path;

const DEMOS: [&str; 4] = ["keel_section", "lens_caisson", "tapered_gap", "wall_pier"];

fn shown(command: &str, demo: &str, options: &[&str]) -> String {
    let folder = tempfile::tempdir().unwrap();
    let case = Path::new(env!("CARGO_MANIFEST_DIR")).join("meshes").join(demo).with_extension("toml");
    let mut arguments = vec![command, case.to_str().unwrap(), "-o", "out", "--triangles", "3000"];
    arguments.extend(options);
    let (out, err, code) = run(folder.path(), &arguments);
    assert!(code == 0 || code == 4, "{command} {demo}: {err}");
    out
}

#[test]
fn each_command_fits_the_screen() {
    for demo in DEMOS {
        for (command, most) in [("solve", 40), ("departure", 45), ("rig", 25)] {
            let text = shown(command, demo, &[]);
            let lines = text.lines().count();
            let widest = text.lines().map(|line| line.trim_end().chars().count()).max().unwrap();
            assert!(lines <= most && widest <= 80, "{command} {demo}: {lines} lines, {widest} wide\n{text}");
            assert!(lines > 10 && text.contains("--full"), "{command} {demo}:\n{text}");
        }
    }
}

/// The verdict comes first; everything is longer; the sheet keeps its cautions in sight.
#[test]
fn the_answer_comes_first_and_the_rest_on_demand() {
    let brief = shown("departure", "keel_section", &[]);
    assert!(brief.starts_with("Against ideal flow in the same cell"), "{brief}");
    for word in ["speed", "direction", "shift", "+-", "within", "negligible", "Confinement is no fault"] {
        assert!(brief.contains(word), "{word} in\n{brief}");
    }
    let full = shown("departure", "keel_section", &["--full"]);
    assert!(full.lines().count() > 2 * brief.lines().count() && full.contains("Where tolerances are first exceeded"));
    assert!(!full.contains("--full"), "{full}");
    assert!(shown("rig", "keel_section", &[]).contains("cautions on"));
}

/// A mesh that is asked for is kept, and a value with its error across the tolerance is then not decided.
#[test]
fn a_given_mesh_is_kept_and_may_decide_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let text = "[cell]\nlength = 0.4\nwidth = 0.2\ngap = \"1 mm\"\n[fluid]\nname = \"water\"\ntemperature = \"20 degC\"\n[drive]\n\
                mean_speed = \"1 mm/s\"\n[[obstacle]]\ncircle = { centre = [0.2, 0.1], diameter = \"40 mm\" }\n[tolerance]\n";
    let json = |tolerance: f64, options: &[&str]| -> serde_json::Value {
        let case = folder.path().join("case.toml");
        std::fs::write(&case, format!("{text}speed = {tolerance:?}\ndirection = \"60 deg\"\nshift = \"0.3 m\"\n"))
            .unwrap();
        let mut arguments = vec!["departure", "case.toml", "--json", "--force"];
        arguments.extend(options);
        let (out, err, code) = run(folder.path(), &arguments);
        assert!(code == 0, "{err}");
        serde_json::from_str(&out).unwrap()
    };
    let one = json(0.5, &["--triangles", "2000"]);
    let all_but = |report: &serde_json::Value| {
        let list = report["departure"]["contributions"].as_array().unwrap().clone();
        list.into_iter().find(|c| c["name"] == "all_but_confinement").unwrap()
    };
    let value = all_but(&one)["speed_q99"].as_f64().unwrap();
    assert!(one["departure"]["verdict"]["decided"].as_bool().unwrap());
    let across = json(value, &["--triangles", "2000"]);
    assert_eq!(across["departure"]["verdict"]["decided"], false);
    assert_eq!(across["departure"]["verdict"]["against"], "same_channel");
    assert_eq!(across["mesh"]["triangles"], one["mesh"]["triangles"]);
    assert!(across["departure"]["verdict"]["text"].as_str().unwrap().contains("not decided on this mesh"));
    // left to itself the program refines: a tolerance that the error of the first mesh reaches is told from the value on a finer one
    let start = json(0.5, &[]);
    let (value, error) =
        (all_but(&start)["speed_q99"].as_f64().unwrap(), all_but(&start)["speed_error"].as_f64().unwrap());
    let finer = json(value + 0.7 * error, &[]);
    assert_eq!(finer["departure"]["verdict"]["decided"], true);
    assert!(finer["mesh"]["triangles"].as_u64() > start["mesh"]["triangles"].as_u64());
}

/// Lines so close that the paper would be black are refused before anything is solved.
#[test]
fn lines_that_would_blacken_the_figure_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    let case = Path::new(env!("CARGO_MANIFEST_DIR")).join("meshes/two_piers.toml");
    let options = ["-o", "out", "--triangles", "3000", "--even-lines", "0.99 mm"];
    // the cell is 200 mm wide: a two-hundredth is 1 mm
    for command in [&["figure"][..], &["departure", "--figures"], &["solve", "--figures"]] {
        let (_, error, code) = run(folder.path(), &[command, &[case.to_str().unwrap()], &options].concat());
        assert!(
            code == 2 && error.contains("blacken") && error.contains("at least 1 mm"),
            "{command:?} {code} {error}"
        );
    }
}
