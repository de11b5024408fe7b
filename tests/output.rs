//! Files: whole or not at all, one case per folder; the report for scripts and for reading.

use std::io::{Error as IoError, Write};
use std::path::{Path, PathBuf};
use tempfile::TempDir;
use twinplate::Error;
use twinplate::base::row::Detail;
use twinplate::base::warning::{Code, Warning};
use twinplate::input::case::Case;
use twinplate::report::report::*;
use twinplate::report::text::{significant, summary};
use twinplate::report::{Folder, write_whole};

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

fn report_of(title: &str, file: &Path, sha256: &str) -> Vec<u8> {
    serde_json::json!({"case": {"title": title, "file": file, "sha256": sha256}}).to_string().into_bytes()
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
fn a_folder_of_another_case_is_refused_unless_forced() {
    let dir = scratch();
    let out = dir.path().join("deep/results");
    let (a, b) = (dir.path().join("a.toml"), dir.path().join("b.toml"));
    std::fs::write(&a, "").unwrap();
    std::fs::write(&b, "").unwrap();
    let mut folder = Folder::open(&out, &case(&a, "Pier", "11"), false).unwrap();
    folder.write("report.json", |w| w.write_all(&report_of("Pier", &a, "11"))).unwrap();
    assert_eq!(folder.written().collect::<Vec<_>>(), ["report.json"]);

    let error = Folder::open(&out, &case(&b, "Seal", "22"), false).unwrap_err();
    let message = error.to_string();
    assert_eq!(error.exit_code(), 2);
    for part in ["Pier", "Seal", "--force", "--output", out.to_str().unwrap()] {
        assert!(message.contains(part), "{message}");
    }
    Folder::open(&out, &case(&b, "Seal", "22"), true).unwrap();
    Folder::open(&out, &case(&a, "Pier, edited", "33"), false).unwrap();
    Folder::open(&out, &case(&b, "Pier, copied", "11"), false).unwrap();
    Folder::open(&out, &case(&dir.path().join("./a.toml"), "Pier", "44"), false).unwrap();
}

#[test]
fn a_report_of_unknown_origin_is_not_overwritten() {
    let dir = scratch();
    std::fs::write(dir.path().join("report.json"), "my own notes").unwrap();
    let error = Folder::open(dir.path(), &case(Path::new("a.toml"), "Pier", "11"), false).unwrap_err();
    assert!(error.to_string().contains("did not write"), "{error}");
}

#[test]
fn only_own_stale_files_are_removed() {
    let dir = scratch();
    let a = PathBuf::from("a.toml");
    let keep = ["notes.txt", "departure_final.vtu", "photo.png", "departure_.vtu"];
    let own = ["fields.vtu", "departure_0001.vtu", "departure_0002.vtu", "departure.csv", "streaklines.vtp"];
    let fill = |sha256: &str| {
        for name in keep.iter().chain(&own) {
            std::fs::write(dir.path().join(name), "x").unwrap();
        }
        std::fs::write(dir.path().join("report.json"), report_of("Pier", &a, sha256)).unwrap();
    };
    let run = |sha256: &str| {
        let mut folder = Folder::open(dir.path(), &case(&a, "Pier", sha256), false).unwrap();
        for name in ["departure.csv", "departure_0001.vtu", "report.json"] {
            folder.write(name, |w| w.write_all(b"new")).unwrap();
        }
        folder.finish().unwrap()
    };
    // The same text: the fields of an earlier run are still true, the rest of a longer sweep is not.
    fill("11");
    assert_eq!(run("11"), ["departure_0002.vtu"]);
    // The case was edited since: all that was not written again is untrue.
    fill("11");
    assert_eq!(run("22"), ["departure_0002.vtu", "fields.vtu", "streaklines.vtp"]);
    for name in keep {
        assert_eq!(std::fs::read(dir.path().join(name)).unwrap(), b"x", "{name}");
    }
}

#[test]
fn names_stay_inside_and_a_file_is_no_folder() {
    let dir = scratch();
    let case = case(Path::new("a.toml"), "Pier", "11");
    let mut folder = Folder::open(dir.path(), &case, false).unwrap();
    for name in ["../x", "/tmp/x", "", "a/../../x"] {
        assert!(folder.place(name).is_err(), "{name}");
    }
    folder.write("figures/pattern.svg", |w| w.write_all(b"x")).unwrap();
    let file = dir.path().join("figures/pattern.svg");
    let error = Folder::open(&file, &case, false).unwrap_err();
    assert!(error.to_string().contains("a file of that name"), "{error}");
    assert!(matches!(Folder::open(&file.join("x"), &case, false), Err(Error::File { .. })));
}

// --- the report ---

fn report() -> Report {
    let probe = ProbeValues {
        name: "shoulder".into(),
        x_m: 0.6,
        y_m: 0.65,
        pressure_pa: 16.5,
        pressure_fraction: 0.7,
        speed_m_per_s: 2.1e-3,
        speed_ratio: 2.1,
        angle_deg: -0.25,
    };
    Report {
        program: Program::default(),
        case: CaseId { title: "Two piers".into(), file: "piers.toml".into(), sha256: "00ff".into() },
        cell: CellSize { length_m: 2.0, width_m: 1.0, gap_m: 1e-3 },
        fluid: FluidProperties { name: "water".into(), density_kg_per_m3: 998.2072, viscosity_pa_s: 1.001596e-3 },
        mesh: MeshFacts { vertices: 70_000, triangles: 139_000, min_angle_deg: 28.3, levels: 3 },
        reynolds: Reynolds {
            obstacle: Some(279.04),
            gap: 0.99661,
            reduced: Some(0.0035593),
            reference_length_m: Some(0.28),
        },
        drive: DriveFacts {
            mean_speed_m_per_s: 1e-3,
            flow_rate_m3_per_s: 1e-6,
            pressure_drop_pa: 24.03830,
            head_m: 2.4556e-3,
        },
        shape_factor: ShapeFactor {
            value: 0.1 + 0.2,
            lower: 0.2999,
            upper: 0.3001,
            relative_half_width: 3.3e-4,
            outline_allowance: 1e-5,
            target_relative_half_width: Some(1e-3),
            ..ShapeFactor::default()
        },
        probes: vec![probe],
        inertia: Some(Inertia {
            pressure_coefficient: 27.0 / 35.0,
            edge_coefficient: 0.05208015,
            flow_change: -1.5e-4,
            probes: vec![InertiaProbe { name: "shoulder".into(), ..InertiaProbe::default() }],
        }),
        edge_layer: Some(EdgeLayer {
            displacement_thickness_m: 3.1512e-4,
            shape_factor: 0.29,
            moved_edges_shape_factor: Some(0.2899),
            neglected_order: 2.0,
            probes: vec![EdgeLayerProbe { name: "shoulder".into(), speed_ratio: 2.09, angle_deg: -1e-9 }],
        }),
        solver: Some(Solver {
            iterations_pressure: 9,
            iterations_stream_function: 8,
            cycles: vec![
                Cycle { triangles: 2_000, relative_half_width: 0.02 },
                Cycle { triangles: 139_000, relative_half_width: 3.3e-4 },
            ],
        }),
        warnings: vec![
            Warning::new(
                Code::ProbeNearEdge,
                "The second pier stands 2.1 gaps from the wall: ".to_owned() + &"its edge layers meet; ".repeat(6),
            )
            .at([0.1, 0.02])
            .value(2.1),
            Warning::note(Code::Drawing, "two points were dropped"),
        ],
        timings_s: Timings { mesh: 0.21, solve: 0.65, write: 0.1, total: 0.97 },
        files: vec!["fields.vtu".into(), "report.json".into(), "report.txt".into()],
        file_sizes_bytes: vec![1_234_567],
        more: serde_json::Map::new(),
    }
}

/// The keys that scripts rely on, top level in order.
#[test]
fn the_report_has_the_agreed_keys_in_order() {
    let text = report().to_json_string().unwrap();
    let value: serde_json::Value = serde_json::from_str(&text).unwrap();
    let groups: [(&str, &[&str]); 14] = [
        ("/program", &["name", "version"]),
        ("/case", &["title", "file", "sha256"]),
        ("/mesh", &["vertices", "triangles", "min_angle_deg", "levels"]),
        ("/reynolds", &["obstacle", "gap", "reduced", "reference_length_m"]),
        ("/drive", &["mean_speed_m_per_s", "flow_rate_m3_per_s", "pressure_drop_pa", "head_m"]),
        ("/shape_factor", &["value", "lower", "upper", "relative_half_width", "outline_allowance"]),
        ("/probes/0", &["name", "x_m", "y_m", "pressure_pa", "pressure_fraction", "speed_m_per_s", "speed_ratio"]),
        ("/probes/0", &["angle_deg"]),
        ("/inertia", &["pressure_coefficient", "edge_coefficient", "flow_change", "probes"]),
        (
            "/inertia/probes/0",
            &[
                "name",
                "pressure_pa",
                "mean_speed_ratio",
                "mean_angle_deg",
                "midplane_speed_ratio",
                "midplane_angle_deg",
            ],
        ),
        ("/inertia/probes/0", &["near_plate_speed_ratio", "near_plate_angle_deg"]),
        ("/edge_layer", &["displacement_thickness_m", "shape_factor", "probes"]),
        ("/edge_layer/probes/0", &["name", "speed_ratio", "angle_deg"]),
        ("/timings_s", &["mesh", "solve", "write", "total"]),
    ];
    for (place, keys) in groups {
        let object = value.pointer(place).unwrap().as_object().unwrap();
        let found: Vec<_> = object.keys().filter(|key| keys.contains(&key.as_str())).collect();
        assert_eq!(found, keys, "{place}");
    }
    let keys = |k: usize| value["warnings"][k].as_object().unwrap().keys().cloned().collect::<Vec<_>>();
    assert_eq!(keys(0), ["code", "level", "message", "x_m", "y_m", "value"]);
    assert_eq!(keys(1), ["code", "level", "message"]);
    assert_eq!(value["warnings"][0]["y_m"], 0.02);
    assert_eq!((&value["warnings"][0]["level"], &value["warnings"][1]["level"]), (&"warning".into(), &"note".into()));
    let top = ["program", "case", "mesh", "reynolds", "drive", "shape_factor", "probes", "inertia", "edge_layer"];
    let found: Vec<_> = value.as_object().unwrap().keys().filter(|key| top.contains(&key.as_str())).collect();
    assert_eq!(found, top);
}

/// 0.1 + 0.2 needs all 17 digits.
#[test]
fn numbers_keep_every_bit_and_null_never_appears() {
    let mut report = report();
    report.inertia = None;
    report.edge_layer = None;
    report.reynolds.obstacle = None;
    report.more.insert("departure".into(), serde_json::json!({"height": 0.0}));
    let text = report.to_json_string().unwrap();
    assert!(text.contains("\"value\": 0.30000000000000004"));
    assert!(text.contains("\"departure\": {"));
    for absent in ["null", "inertia", "edge_layer", "\"obstacle\""] {
        assert!(!text.contains(absent), "{absent}");
    }
    report.probes[0].speed_ratio = f64::NAN;
    let message = report.to_json_string().unwrap_err().to_string();
    assert!(message.contains("probes.0.speed_ratio is not a finite number"), "{message}");
}

/// 1e-6 m3/s = 60 mL/min; 24.0383 Pa / 9.80665 Pa (1 mm of water by convention) = 2.45122.
#[test]
fn the_summary_is_readable_at_100_columns() {
    let text = summary(&report(), Detail::Main);
    for row in text.lines() {
        assert!(row.chars().count() <= 100, "{row}");
    }
    let parts = [
        "Two piers",
        "00ff",
        "139000",
        "28.3 deg",
        "Re_L = U L / nu",
        "279.0",
        "Re_b = U b / nu",
        "Re* = Re_b b / L",
        "0.003559",
        "0.300000000",
        "0.299900000 to 0.300100000",
        "(asked: 0.100 %)",
        "60.0000 mL/min",
        "2.45122 mm of water",
        "2.45560 mm of the fluid",
        "shoulder",
        "2.10000",
        "near plates",
        "edge layers meet",
        "0.97 s",
        "fields.vtu (1.23 MB), report.json, report.txt",
    ];
    for part in parts {
        assert!(text.contains(part), "{part} in\n{text}");
    }
    assert!(!text.contains("-0.000"), "{text}");
    let mut missed = report();
    missed.shape_factor.target_relative_half_width = Some(1.1e-4);
    missed.reynolds.reduced = Some(2.0);
    let text = summary(&missed, Detail::Main);
    assert!(text.contains("NOT reached, 3.00 times too wide") && text.contains("It is not here"), "{text}");
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

/// By default warnings and notes in full; their code and the number they were judged by only for those who want everything.
#[test]
fn warnings_are_told_at_two_levels_of_noise() {
    let (main, full) = (summary(&report(), Detail::Main), summary(&report(), Detail::Full));
    let tidy = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    for text in [&main, &full] {
        let text = tidy(text);
        let (warning, note) =
            (text.find("Warnings - The second pier").unwrap(), text.find("Notes - two points").unwrap());
        assert!(warning < note);
    }
    assert!(!main.contains("probe_near_edge"));
    assert!(
        tidy(&full).contains("[probe_near_edge 2.100]") && full.contains("two points were dropped [drawing]"),
        "{full}"
    );
    let mut quiet = report();
    quiet.warnings.clear();
    assert!(
        summary(&quiet, Detail::Full).contains("Warnings: none") && !summary(&quiet, Detail::Full).contains("Notes")
    );
}
