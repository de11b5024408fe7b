//! What the program says where something else was meant than what was written.

use crate::{CASE, run, write_case};
use serde_json::Value;

const DRAWING: &str = "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"60mm\" height=\"40mm\" viewBox=\"0 0 60 40\">\
                       <text x=\"1\" y=\"1\">keel</text><path d=\"M10 10 L10 30 L40 30 L40 10 Z\"/></svg>";

#[test]
fn the_remedy_names_what_was_meant() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("keel.svg"), DRAWING).unwrap();
    let complaint = |arguments: &[&str]| {
        let (out, error, code) = run(folder.path(), arguments);
        assert_eq!((code, out.as_str()), (3, ""), "{error}");
        error
    };
    let error = complaint(&["solve", "keel.svg"]);
    for words in ["this is a drawing, not a case file", "outline = { file = \"keel.svg\"", "`twinplate start DIR`"] {
        assert!(error.contains(words), "{words}: {error}");
    }
    write_case(folder.path(), "keel.toml", CASE);
    assert!(complaint(&["check", "kele.toml"]).contains("did you mean \"keel.toml\"?"));
    let post = "circle = { centre = [0.1, 0.05], diameter = 0.04 }";
    let water = "name = \"water\"\ntemperature = \"20 degC\"";
    for (old, new, words) in [
        (post, "outline = { file = \"kele.svg\", centre = [0.1, 0.05] }", "did you mean \"keel.svg\"?"),
        (post, "circle = { centre = [100, 50], diameter = 40 }", "if mm are meant"),
        ("1 mm/s", "1 mm/sec", "did you mean \"s\"?"),
        ("20 degC", "20 C", "did you mean \"degC\"?"),
        (water, "viscosity = \"1 cSt\"", "add density = "),
        (
            water,
            "name = \"glycerol-water\"\ntemperature = \"20 degC\"\nglycerol_mass_fraction = 40",
            "write 0.4 or \"40 %\"",
        ),
    ] {
        assert!(CASE.contains(old));
        write_case(folder.path(), "case.toml", &CASE.replace(old, new));
        let error = complaint(&["check", "case.toml"]);
        assert!(error.contains(words) && error.contains("case.toml:"), "{words}: {error}");
    }
}

#[test]
fn what_was_mended_or_left_out_of_a_drawing_is_a_note() {
    let folder = tempfile::tempdir().unwrap();
    let listed = "x [mm], y [mm]\n0, 0\n0, 20\n30, 20\n30, 0\n";
    for (name, text, words) in [("keel.svg", DRAWING, "1 text"), ("keel.csv", listed, "walked the other way")] {
        std::fs::write(folder.path().join(name), text).unwrap();
        let outline = format!("outline = {{ file = \"{name}\", centre = [0.1, 0.05] }}");
        let case = CASE.replace("circle = { centre = [0.1, 0.05], diameter = 0.04 }", &outline);
        write_case(folder.path(), "case.toml", &case);
        let (_, error, code) = run(folder.path(), &["solve", "case.toml", "--triangles", "1000", "--output", words]);
        assert_eq!((code, error.as_str()), (0, ""));
        let report = std::fs::read(folder.path().join(words).join("report.json")).unwrap();
        let report: Value = serde_json::from_slice(&report).unwrap();
        let said = |w: &&Value| w["message"].as_str().is_some_and(|message| message.contains(words));
        let found = report["warnings"].as_array().unwrap().iter().find(said);
        assert_eq!(found.map(|w| w["level"].as_str().unwrap()), Some("note"), "{name}: {report}");
    }
}
