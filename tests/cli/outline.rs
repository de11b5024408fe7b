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
    assert!(out.contains("pixels") && out.contains("thinnest neck"), "{out}");
    let (_, error, code) = run(folder.path(), &["outline", seal, "--cut", "cut"]);
    assert_eq!(code, 2, "nothing is cut whose size is not known");
    assert!(error.contains("--width"), "{error}");
    let arguments = ["outline", seal, "--width", "130 mm", "--cut", "cut", "--kerf", "0.2 mm", "-o", "there"];
    let (out, error, code) = run(folder.path(), &arguments);
    assert_eq!((code, error.as_str()), (0, ""));
    for part in ["130.00 x 6", "mm2", "chlorinated", "there/preview.svg", "cut/seal_cut.dxf", "cut/seal_cut.svg"] {
        assert!(out.contains(part), "{part}: {out}");
    }
    for file in ["there/preview.svg", "cut/seal_cut.dxf", "cut/seal_cut.svg"] {
        assert!(folder.path().join(file).is_file(), "{file}");
    }
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
    let (out, error, code) = run(folder.path(), &["outline", "nowhere.svg"]);
    assert_eq!((code, out.as_str()), (3, ""));
    assert!(error.contains("nowhere.svg"), "{error}");
    for wrong in [vec!["--kerf", "1 mm"], vec!["--width", "-1 mm"], vec!["--width", "1 s"], vec!["--marks", "1,2,3,4"]]
    {
        assert_eq!(run(folder.path(), &[vec!["outline", "case.toml"], wrong].concat()).2, 2);
    }
}
