//! The command `outline`.

use crate::{CASE, run, write_case};
use serde_json::Value;
use std::path::Path;

#[test]
fn measures_preview_and_files_for_a_cutter() {
    let folder = tempfile::tempdir().unwrap();
    let seal = Path::new(env!("CARGO_MANIFEST_DIR")).join("meshes/seal.png");
    let seal = seal.to_str().unwrap();
    let (out, error, code) = run(folder.path(), &["outline", seal]);
    assert_eq!((code, error.as_str()), (0, ""));
    assert!(out.contains("width, pixels") && out.contains("Thinnest neck"), "{out}");
    let (_, error, code) = run(folder.path(), &["outline", seal, "--cut", "cut", "-o", "none"]);
    assert_eq!(code, 2, "nothing is cut whose size is not known");
    assert!(error.contains("--width"), "{error}");
    assert!(!folder.path().join("none").exists() && !folder.path().join("cut").exists(), "and nothing is drawn");
    let arguments = ["outline", seal, "--width", "130 mm", "--cut", "cut", "--kerf", "0.2 mm", "-o", "there"];
    let (out, error, code) = run(folder.path(), &arguments);
    assert_eq!((code, error.as_str()), (0, ""));
    for part in
        ["130.00", "width, mm", "area, mm2", "chlorinated", "there/preview.svg", "cut/seal_cut.dxf", "cut/seal_cut.svg"]
    {
        assert!(out.contains(part), "{part}: {out}");
    }
    for file in ["there/preview.svg", "cut/seal_cut.dxf", "cut/seal_cut.svg"] {
        assert!(folder.path().join(file).is_file(), "{file}");
    }
    // a drawing has no cell for marks to stand in
    let (_, error, code) = run(folder.path(), &[&arguments[..6], &["--photo-marks", "8", "-o", "marked"]].concat());
    assert_eq!(code, 2);
    assert!(error.contains("without a cell") && error.contains("give a case file (.toml)"), "{error}");
    assert!(!folder.path().join("marked").exists());
    // what was cut reads back larger by half the kerf on either side
    let (out, _, code) = run(folder.path(), &["outline", "cut/seal_cut.dxf", "--json", "-o", "again"]);
    assert_eq!(code, 0);
    let report: Value = serde_json::from_str(&out).unwrap();
    let width = report["outlines"][0]["width_m"].as_f64().unwrap();
    assert!((width - 0.1302).abs() < 2e-6, "{width}");
    assert!((report["outlines"][0]["neck"]["width_m"].as_f64().unwrap() - 0.008).abs() < 0.002, "{out}");
}

#[test]
fn a_case_and_wrong_files() {
    let folder = tempfile::tempdir().unwrap();
    write_case(folder.path(), "case.toml", CASE);
    let (out, error, code) = run(folder.path(), &["outline", "case.toml", "--json", "--cut", "cut"]);
    assert_eq!((code, error.as_str()), (0, ""));
    let report: Value = serde_json::from_str(&out).unwrap();
    // a post of 40 mm amid 100 mm
    let passage = report["passages"][0]["passage"]["width_m"].as_f64().unwrap();
    assert!((passage - 0.03).abs() < 2e-6, "{passage}");
    assert!(folder.path().join("cut/case_cut.dxf").is_file());
    // where the post goes, whole and on sheets of A4
    let template = std::fs::read_to_string(folder.path().join("cut/case_place.svg")).unwrap();
    assert!(template.contains("placing template at true size") && template.contains("mm apart along"), "{template}");
    let sheets = std::fs::read(folder.path().join("cut/case_place.pdf")).unwrap();
    assert!(sheets.starts_with(b"%PDF"));
    assert!(report["files"].as_array().unwrap().iter().any(|f| f.as_str().unwrap().ends_with("case_place.pdf")));
    // eight marks for a plate, drawn, listed and as the case takes them
    assert_eq!(report["marks"].as_array().unwrap().len(), 8);
    let block = std::fs::read_to_string(folder.path().join("cut/case_marks.toml")).unwrap();
    let block: toml::Table = toml::from_str(&block).unwrap();
    assert_eq!(block["photo"]["mark"].as_array().unwrap().len(), 8);
    assert!(std::fs::read_to_string(folder.path().join("cut/case_cut.svg")).unwrap().contains("id=\"engraving\""));
    let cut =
        |into: &str, more: &[&str]| run(folder.path(), &[&["outline", "case.toml", "--cut", into], more].concat());
    let (out, _, code) = cut("dots", &["--photo-marks", "12", "--mark-size", "5 mm", "--mark-shape", "dot"]);
    assert!(
        code == 0 && out.contains("marks a to l, filled dots of 5 mm") && out.contains("dots/case_marks.toml"),
        "{out}"
    );
    let (out, _, code) = cut("none", &["--photo-marks", "0"]);
    assert!(code == 0 && !out.contains("alibration marks") && !folder.path().join("none/case_marks.toml").exists());
    let (_, error, code) = cut("large", &["--mark-size", "30 mm", "--photo-marks", "4"]);
    assert!(code == 2 && error.contains("room for") && error.contains("--mark-size"), "{error}");
    let (out, _, code) = cut("large", &["--mark-size", "30 mm"]);
    assert!(code == 0 && out.contains("No calibration marks"), "{out}");
    for wrong in ["3", "13", "-4", "four"] {
        assert_eq!(cut("wrong", &[&format!("--photo-marks={wrong}")]).2, 2);
    }
    assert_eq!(cut("wrong", &["--mark-size", "0.1 mm"]).2, 2);
    let (out, error, code) = run(folder.path(), &["outline", "nowhere.svg"]);
    assert_eq!((code, out.as_str()), (3, ""));
    assert!(error.contains("nowhere.svg"), "{error}");
    for wrong in [
        vec!["--kerf", "1 mm"],
        vec!["--width", "-1 mm"],
        vec!["--width", "1 s"],
        vec!["--width", "1e12 m"],
        vec!["--width", "1e-300 m"],
        vec!["--marks", "1,2,3,4"],
    ] {
        assert_eq!(run(folder.path(), &[vec!["outline", "case.toml"], wrong].concat()).2, 2);
    }
}

/// A rectangle of 30 mm by 10 mm: 300 mm2, 80 mm round, four corners of 90 degrees, no neck and no bend, which are then left out.
#[test]
fn what_an_outline_has_not_is_left_out() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("caisson.csv"), "x [mm], y [mm]\n0,0\n30,0\n30,10\n0,10\n").unwrap();
    let (out, error, code) = run(folder.path(), &["outline", "caisson.csv", "--json"]);
    assert_eq!((code, error.as_str()), (0, ""));
    let report: Value = serde_json::from_str(&out).unwrap();
    let outline = report["outlines"][0].as_object().unwrap();
    let close =
        |key: &str, value: f64| assert!((outline[key].as_f64().unwrap() / value - 1.0).abs() < 1e-9, "{key}: {out}");
    close("width_m", 0.03);
    close("height_m", 0.01);
    close("area_m2", 3e-4);
    close("perimeter_m", 0.08);
    assert!(!outline.contains_key("neck") && !outline.contains_key("bend"), "{out}");
    let corners = outline["corners"].as_array().unwrap();
    assert!(
        corners.len() == 4 && corners.iter().all(|c| (c["angle_deg"].as_f64().unwrap() - 90.0).abs() < 1e-6),
        "{out}"
    );
    assert_eq!(report["unit"], "m");
    let (out, _, _) = run(folder.path(), &["outline", "caisson.csv"]);
    assert!(out.contains("300.00") && out.contains("Sharpest corners of") && !out.contains("hinnest"), "{out}");
    // without a unit the keys leave it open
    std::fs::write(folder.path().join("plain.csv"), "0,0\n30,0\n30,10\n0,10\n").unwrap();
    let (out, _, _) = run(folder.path(), &["outline", "plain.csv", "--json"]);
    let report: Value = serde_json::from_str(&out).unwrap();
    assert!(
        report["unit"] == "units" && report["outlines"][0]["width"] == 30.0 && report["outlines"][0]["area"] == 300.0,
        "{out}"
    );
}

/// Every outline of a drawing stands in a list, places from the lower left corner of the page with y up; text is no outline.
#[test]
fn a_drawing_is_listed_before_it_is_used() {
    let folder = tempfile::tempdir().unwrap();
    let svg = |inner: &str| {
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"80mm\" height=\"60mm\" viewBox=\"0 0 80 60\">{inner}</svg>"
        )
    };
    let parts = "<rect id=\"quay\" x=\"10\" y=\"10\" width=\"30\" height=\"20\"/><circle id=\"pool\" cx=\"20\" cy=\"20\" r=\"5\"/>\
                 <circle id=\"buoy\" cx=\"70\" cy=\"50\" r=\"4\"/><text x=\"3\" y=\"5\">quay</text>";
    std::fs::write(folder.path().join("harbour.svg"), svg(parts)).unwrap();
    let (out, error, code) = run(folder.path(), &["outline", "harbour.svg", "--json"]);
    assert_eq!((code, error.as_str()), (0, ""));
    let report: Value = serde_json::from_str(&out).unwrap();
    let found = report["found"].as_array().unwrap();
    let ids: Vec<&str> = found.iter().map(|f| f["id"].as_str().unwrap()).collect();
    assert_eq!(ids, ["quay", "pool", "buoy"]);
    assert!(found[0]["holes"] == 1 && found[0]["taken"] == true && found[2]["taken"] == false, "{out}");
    let close = |value: &Value, expected: f64| assert!((value.as_f64().unwrap() - expected).abs() < 1e-12, "{value}");
    close(&found[2]["at_m"][0], 0.07);
    close(&found[2]["at_m"][1], 0.01);
    close(&found[2]["width_m"], 0.008);
    let (out, _, _) = run(folder.path(), &["outline", "harbour.svg"]);
    let said = ["Outlines found", "buoy", "lower left corner of the page", "y points up", "converted it to paths"];
    assert!(said.iter().all(|part| out.contains(part)), "{out}");
    // nothing but text: the message says so
    std::fs::write(folder.path().join("words.svg"), svg("<text x=\"3\" y=\"5\">quay</text>")).unwrap();
    let (_, error, code) = run(folder.path(), &["outline", "words.svg"]);
    assert_eq!(code, 3);
    assert!(error.contains("converted it to paths"), "{error}");
}

/// Sixty squares in one file: fifty are described, the others counted; a star of twelve points has 24 corners, five of them listed.
#[test]
fn long_lists_are_cut_for_reading_alone() {
    let folder = tempfile::tempdir().unwrap();
    let square = |k: usize| format!("<rect id=\"s{k}\" x=\"{}\" y=\"0\" width=\"1\" height=\"1\"/>", 2 * k);
    let svg = |inner: String| {
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"200mm\" height=\"200mm\" viewBox=\"0 0 200 200\">{inner}</svg>"
        )
    };
    std::fs::write(folder.path().join("row.svg"), svg((0..60).map(square).collect())).unwrap();
    let (out, error, code) = run(folder.path(), &["outline", "row.svg", "--every"]);
    assert_eq!((code, error.as_str()), (0, ""));
    assert!(out.contains("and 10 outlines more") && out.contains(" s49 ") && !out.contains(" s50 "), "{out}");
    let (out, _, _) = run(folder.path(), &["outline", "row.svg", "--every", "--json"]);
    let report: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(report["outlines"].as_array().unwrap().len(), 60);

    let point = |k: u32| {
        let (r, t) = (if k.is_multiple_of(2) { 50.0 } else { 30.0 }, std::f64::consts::PI * f64::from(k) / 12.0);
        format!("{},{} ", 100.0 + r * t.cos(), 100.0 + r * t.sin())
    };
    let star: String = (0..24).map(point).collect();
    std::fs::write(folder.path().join("star.svg"), svg(format!("<polygon id=\"star\" points=\"{star}\"/>"))).unwrap();
    let (out, error, code) = run(folder.path(), &["outline", "star.svg"]);
    assert_eq!((code, error.as_str()), (0, ""));
    assert!(out.contains("and 19 corners less sharp more"), "{out}");
}
