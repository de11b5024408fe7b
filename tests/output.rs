//! Files: whole or not at all, one case per folder; the report for scripts and for reading.

use std::io::{Error as IoError, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use tempfile::TempDir;
use twinplate::Error;
use twinplate::base::row::Detail;
use twinplate::base::units::significant;
use twinplate::base::warning::{Code, Warning, sections};
use twinplate::geometry::Plan;
use twinplate::input::case::Case;
use twinplate::report::text::{WIDTH, text};
use twinplate::report::{Folder, Others, Standing, write_whole};
use twinplate::study::{Findings, Settings, Study};
use twinplate::theory::ideal::Goal;

fn scratch() -> TempDir {
    tempfile::tempdir().unwrap()
}

fn names(dir: &Path) -> Vec<String> {
    let mut names: Vec<_> =
        std::fs::read_dir(dir).unwrap().map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

fn case(file: &Path, title: &str, sha256: &str) -> Case {
    let text = "[cell]\nlength = 2\nwidth = 1\ngap = 1e-3\n[fluid]\nname = 'water'\ntemperature = '20 degC'\n\
                [drive]\nmean_speed = 1e-3\n";
    let case = twinplate::input::case::parse(text, file).into_result().unwrap();
    Case { title: title.into(), sha256: sha256.into(), ..case }
}

// --- one file ---

#[test]
fn a_failed_write_leaves_the_old_file_and_nothing_else() {
    let dir = scratch();
    let path = dir.path().join("a.txt");
    write_whole(&path, |w| w.write_all(b"old")).unwrap();
    let result = write_whole(&path, |w| {
        w.write_all(&[b'n'; 200_000])?;
        Err(IoError::other("disk on fire"))
    });
    let message = result.unwrap_err().to_string();
    assert!(message.contains("a.txt") && message.contains("disk on fire"), "{message}");
    assert_eq!(std::fs::read(&path).unwrap(), b"old");
    assert_eq!(names(dir.path()), ["a.txt"]);
}

#[test]
fn a_new_file_replaces_the_old_one_whole() {
    let dir = scratch();
    let path = dir.path().join("a.txt");
    write_whole(&path, |w| w.write_all(b"a long old content")).unwrap();
    write_whole(&path, |w| w.write_all(b"new")).unwrap();
    assert_eq!(std::fs::read(&path).unwrap(), b"new");
    assert_eq!(names(dir.path()), ["a.txt"]);
}

#[cfg(unix)]
#[test]
fn a_result_has_the_mode_of_any_new_file() {
    use std::os::unix::fs::PermissionsExt;
    let dir = scratch();
    write_whole(&dir.path().join("ours"), |w| w.write_all(b"x")).unwrap();
    std::fs::write(dir.path().join("theirs"), "x").unwrap();
    let mode = |name| std::fs::metadata(dir.path().join(name)).unwrap().permissions().mode();
    assert_eq!(mode("ours"), mode("theirs"));
}

#[test]
fn a_folder_in_place_of_the_file_is_a_clear_error() {
    let dir = scratch();
    let path = dir.path().join("fields.vtu");
    std::fs::create_dir(&path).unwrap();
    let error = write_whole(&path, |w| w.write_all(b"x")).unwrap_err();
    assert!(matches!(error, Error::File { .. }) && error.to_string().contains("a folder of that name"), "{error}");
    assert_eq!(names(dir.path()), ["fields.vtu"]);
    assert!(write_whole(&dir.path().join("absent/x"), |_| Ok(())).is_err());
}

// --- the output folder ---

#[test]
fn a_folder_holds_the_results_of_one_hash_unless_forced() {
    let dir = scratch();
    let out = dir.path().join("deep/results");
    let (a, b) = (dir.path().join("a.toml"), dir.path().join("b.toml"));
    std::fs::write(&a, "").unwrap();
    std::fs::write(&b, "").unwrap();
    let mut folder = Folder::open(&out, &case(&a, "Pier", "11"), Others::Refused).unwrap();
    folder.write("fields.vtu", |w| w.write_all(b"abc")).unwrap();
    assert_eq!(folder.written().collect::<Vec<_>>(), [("fields.vtu", 3)]);
    assert!(!out.join("fields.vtu").exists());
    folder.finish().unwrap();

    for (other, parts) in [
        (case(&b, "Seal", "22"), ["another case", "Pier", "Seal"]),
        (case(&dir.path().join("./a.toml"), "Pier", "33"), ["was changed", "Pier", "a.toml"]),
    ] {
        let error = Folder::open(&out, &other, Others::Refused).unwrap_err();
        assert!(matches!(error, Error::Folder(_)));
        let message = error.to_string();
        for part in parts.into_iter().chain([out.to_str().unwrap()]) {
            assert!(message.contains(part), "{part} in {message}");
        }
        Folder::open(&out, &other, Others::Replaced).unwrap();
    }
    Folder::open(&out, &case(&b, "Pier, copied", "11"), Others::Refused).unwrap();
    let standing = |file: &Path, sha256: &str| Folder::standing(&out, &case(file, "Pier", sha256)).unwrap();
    assert_eq!([standing(&b, "11"), standing(&a, "22")], [Standing::Same, Standing::Edited]);
    assert_eq!(standing(&b, "22"), Standing::Other);
    assert_eq!(Folder::standing(dir.path(), &case(&a, "Pier", "11")).unwrap(), Standing::Free);
    assert!(Folder::refuse_results(&out, "seal.svg", "seal.svg".as_ref()).is_err());
    Folder::refuse_results(dir.path(), "seal.svg", "seal.svg".as_ref()).unwrap();
}

#[test]
fn results_of_unknown_origin_are_not_overwritten() {
    for name in ["report.json", "results.json"] {
        let dir = scratch();
        std::fs::write(dir.path().join(name), "my own notes").unwrap();
        let error = Folder::open(dir.path(), &case(Path::new("a.toml"), "Pier", "11"), Others::Refused).unwrap_err();
        assert!(error.to_string().contains("did not write"), "{error}");
    }
}

/// The record lists the files with the hashes of their bytes: "abc" has the one of FIPS 180-2, appendix B.1.
#[test]
fn the_record_names_files_hash_and_command() {
    let dir = scratch();
    let case = case(Path::new("a.toml"), "Pier", "11");
    let write = |command: &str, names: &[&str]| {
        let mut folder = Folder::open(dir.path(), &case, Others::Refused).unwrap();
        folder.command = command.to_owned();
        names.iter().for_each(|name| folder.write(name, |w| w.write_all(b"abc")).unwrap());
        let (_, removed) = folder.finish().unwrap();
        let text = std::fs::read_to_string(dir.path().join("results.json")).unwrap();
        (removed, serde_json::from_str::<serde_json::Value>(&text).unwrap())
    };
    let (_, record) = write("twinplate solve a.toml", &["fields.vtu", "report.json"]);
    assert_eq!(record["combined_sha256"], case.combined_sha256());
    assert_eq!(record["command"], "twinplate solve a.toml");
    let abc = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
    assert_eq!(
        record["files"],
        serde_json::json!([{"name": "fields.vtu", "sha256": abc}, {"name": "report.json", "sha256": abc}])
    );
    assert!(record.get("earlier").is_none());
    // another command leaves what is still true, under the command that wrote it
    let (removed, record) = write("twinplate rig a.toml", &["rig.json"]);
    assert!(removed.is_empty() && record["files"].as_array().unwrap().len() == 1);
    assert_eq!(record["earlier"][0]["command"], "twinplate solve a.toml");
    assert_eq!(record["earlier"][0]["files"].as_array().unwrap().len(), 2);
}

#[test]
fn only_listed_files_that_are_stale_are_removed() {
    let dir = scratch();
    let outside = dir.path().join("outside.txt");
    std::fs::write(&outside, "x").unwrap();
    let out = dir.path().join("out");
    let a = PathBuf::from("a.toml");
    let foreign = ["notes.txt", "departure_0009.vtu", "layers.vtu"];
    let own = ["fields.vtu", "departure_0001.vtu", "departure_0002.vtu", "departure.csv", "figures/mesh.svg"];
    let run = |sha256: &str, names: &[&str]| {
        let mut folder = Folder::open(&out, &case(&a, "Pier", sha256), Others::Replaced).unwrap();
        names.iter().for_each(|name| folder.write(name, |w| w.write_all(b"new")).unwrap());
        folder.finish().unwrap().1
    };
    std::fs::create_dir(&out).unwrap();
    foreign.iter().for_each(|name| std::fs::write(out.join(name), "x").unwrap());
    assert!(run("11", &own).is_empty());
    // the same hash: the fields of an earlier run are still true, the rest of a longer sweep is not
    assert_eq!(run("11", &["departure.csv", "departure_0001.vtu"]), ["departure_0002.vtu"]);
    // another hash: all that was not written again is untrue
    assert_eq!(run("22", &["departure.csv"]), ["departure_0001.vtu", "fields.vtu", "figures/mesh.svg"]);
    assert!(!out.join("figures").exists());
    foreign.iter().for_each(|name| assert_eq!(std::fs::read(out.join(name)).unwrap(), b"x", "{name}"));
    // a record that points out of the folder removes nothing there
    let bad = r#"{"combined_sha256": "0", "files": [{"name": "../outside.txt", "sha256": ""}]}"#;
    std::fs::write(out.join("results.json"), bad).unwrap();
    assert!(run("33", &["fields.vtu"]).is_empty() && outside.exists());
}

#[test]
fn names_stay_inside_and_a_file_is_no_folder() {
    let dir = scratch();
    let case = case(Path::new("a.toml"), "Pier", "11");
    let mut folder = Folder::open(dir.path(), &case, Others::Refused).unwrap();
    for name in ["../x", "/tmp/x", "", "a/../../x"] {
        assert!(folder.place(name).is_err(), "{name}");
    }
    folder.write("figures/pattern.svg", |w| w.write_all(b"x")).unwrap();
    folder.finish().unwrap();
    let file = dir.path().join("figures/pattern.svg");
    let error = Folder::open(&file, &case, Others::Refused).unwrap_err();
    assert!(error.to_string().contains("a file of that name"), "{error}");
    assert!(matches!(Folder::open(&file.join("x"), &case, Others::Refused), Err(Error::File { .. })));
}

// --- the report ---

fn study(speed: &str, error: f64) -> Study {
    let text = format!(
        "title = 'Piers'\n[cell]\nlength = 0.4\nwidth = 0.2\ngap = 1e-3\n[fluid]\nname = 'water'\ntemperature = '20 degC'\n[drive]\n\
         mean_speed = {speed}\n[[obstacle]]\ncircle = {{ centre = [0.2, 0.1], diameter = 0.06 }}\n\
         [[probe]]\nname = 'shoulder'\nat = [0.2, 0.15]\n[mesh]\nmax_triangles = 3000\n"
    );
    let case = twinplate::input::case::parse(&text, Path::new("piers.toml")).into_result().unwrap();
    let plan = Plan::new(&case, &mut Default::default()).unwrap();
    let goal = Some(Goal::Error { relative: error, most_triangles: 3000 });
    let settings = Settings { goal, inertia: true, edge_layer: true };
    Study::solve(case, Arc::new(plan), settings, &|_| {}).unwrap()
}

/// Top level in order; no number is null; 17 digits where a number needs them.
#[test]
fn the_report_stands_in_a_fixed_order_with_every_bit() {
    let study = study("'1 mm/s'", 0.01);
    let dir = scratch();
    let report = study.write(Folder::open(dir.path(), &study.case, Others::Refused).unwrap()).unwrap();
    let text = report.json().unwrap();
    assert_eq!(std::fs::read_to_string(dir.path().join("report.json")).unwrap(), text);
    let value: serde_json::Value = serde_json::from_str(&text).unwrap();
    let top = ["program", "case", "cell", "fluid", "mesh", "reynolds", "drive", "shape_factor", "probes", "inertia"];
    let rest = ["edge_layer", "solver", "warnings", "run", "timings_s", "files", "file_sizes_bytes"];
    let found: Vec<&str> = value.as_object().unwrap().keys().map(String::as_str).collect();
    assert_eq!(found, top.into_iter().chain(rest).collect::<Vec<_>>());
    assert!(!text.contains("null"));
    let stated = value["shape_factor"]["value"].as_f64().unwrap();
    assert_eq!(stated.to_bits(), study.pattern.shape_factor.value.to_bits());
    // U = 1 mm/s, L = 60 mm, nu of water at 20 degC = 1.001596e-3/998.2072 m2/s (IAPWS): Re_L = 59.80
    let obstacle = value["reynolds"]["obstacle"].as_f64().unwrap();
    assert!((obstacle * 1.001596e-3 / 998.2072 / 6e-5 - 1.0).abs() < 1e-5, "{obstacle}");
}

/// 1 mm/s over 0.2 m by 1 mm is 2e-7 m3/s = 12 mL/min.
#[test]
fn the_text_is_readable_at_100_columns() {
    let of = |study: &Study| text(&study.report(&Findings::default()), Detail::Full, WIDTH);
    let good = of(&study("'1 mm/s'", 0.01));
    for row in good.lines() {
        assert!(row.chars().count() <= WIDTH, "{row}");
    }
    // sentences break over lines where they must
    let words = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    for part in
        ["Piers", "Re_L = U L/nu", "59.8", "Re_b = U b/nu", "12.0000 mL/min", "mm of water", "shoulder", "It is here"]
    {
        assert!(words(&good).contains(part), "{part} in\n{good}");
    }
    let signed_zero = |word: &str| word.starts_with('-') && word.parse() == Ok(0.0);
    assert!(!good.contains("NOT reached") && !good.split_whitespace().any(signed_zero), "{good}");
    // Re* = U b^2/(nu L) = 2 at 0.12 m/s; a bracket of 1e-5 takes more than 3000 triangles
    let bad = of(&study("'0.2 m/s'", 1e-5));
    assert!(words(&bad).contains("NOT reached") && words(&bad).contains("It is NOT here"), "{bad}");
}

#[test]
fn numbers_are_rounded_to_significant_digits() {
    let cases = [
        (0.0, "0"),
        (1.0, "1.000"),
        (-1.2346e-4, "-0.0001235"),
        (1.2346e-5, "1.235e-5"),
        (99996.0, "99996"),
        (9.9996, "10.00"),
        (123456.7, "123457"),
        (1234567.0, "1.235e6"),
        (0.5, "0.5000"),
        (f64::NAN, "NaN"),
    ];
    for (value, text) in cases {
        assert_eq!(significant(value, 4), text);
    }
}

/// Warnings and notes are sentences; whoever wants everything sees codes, places and values as well.
#[test]
fn warnings_are_sentences_and_codes_are_for_those_who_want_everything() {
    let list = [
        Warning::new(Code::ProbeNearEdge, "the probe stands too near", "move it").at([0.25, 0.5]).value(2.5),
        Warning::note(Code::Drawing, "two points were dropped"),
    ];
    let of = |detail| text(&sections(&list), detail, WIDTH);
    let (main, full) = (of(Detail::Main), of(Detail::Full));
    for part in ["Warnings\n  - the probe stands too near", "Notes\n  - two points were dropped"] {
        assert!(main.contains(part) && full.contains(part), "{part} in\n{main}\n{full}");
    }
    assert!(!main.contains("probe near edge") && full.contains("probe near edge") && full.contains("2.500"), "{full}");
    let none = text(&sections(&[]), Detail::Full, WIDTH);
    assert!(none.contains("Warnings: none") && !none.contains("Notes"), "{none}");
}
