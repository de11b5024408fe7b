//! The command-line program: what it prints where, its exit codes, its files.

mod closure;
mod compare;
#[path = "../../validation/compare/draw/mod.rs"]
mod draw;
mod help;
mod interrupted;
mod meant;
mod outline;
mod provenance;
mod sample;
mod screen;
mod words;

use assert_cmd::Command;
use serde_json::Value;
use std::path::{Path, PathBuf};

fn twinplate() -> Command {
    Command::cargo_bin("twinplate").unwrap()
}

const CASE: &str = "title = \"pier\"\n[cell]\nlength = \"200 mm\"\nwidth = \"100 mm\"\ngap = \"0.5 mm\"\n[fluid]\nname = \"water\"\n\
                    temperature = \"20 degC\"\n[drive]\nmean_speed = \"1 mm/s\"\n[[obstacle]]\n\
                    circle = { centre = [0.1, 0.05], diameter = 0.04 }\n[[probe]]\nname = \"shoulder\"\nat = [0.1, 0.08]\n";

fn write_case(folder: &Path, name: &str, text: &str) -> PathBuf {
    let path = folder.join(name);
    std::fs::write(&path, text).unwrap();
    path
}

/// Output, error output and exit code in a folder.
fn run(folder: &Path, arguments: &[&str]) -> (String, String, i32) {
    let output = twinplate().current_dir(folder).args(arguments).output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (text(output.stdout), text(output.stderr), output.status.code().unwrap())
}

/// Every Rust source below a folder, by its name there.
fn sources(folder: &Path) -> Vec<(String, String)> {
    fn visit(root: &Path, folder: &Path, found: &mut Vec<(String, String)>) {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                visit(root, &path, found);
            } else if path.extension().is_some_and(|e| e == "rs") {
                let name = path.strip_prefix(root).unwrap().to_string_lossy().into_owned();
                found.push((name, std::fs::read_to_string(&path).unwrap()));
            }
        }
    }
    let mut found = Vec::new();
    visit(folder, folder, &mut found);
    found.sort();
    found
}

#[test]
fn start_check_solve() {
    let folder = tempfile::tempdir().unwrap();
    let (out, _, code) = run(folder.path(), &["start", "museum"]);
    assert_eq!(code, 0);
    assert!(out.contains("case.toml"), "{out}");
    assert_eq!(run(folder.path(), &["start", "museum"]).2, 1, "never replaces files");
    let (out, error, code) = run(folder.path(), &["check", "museum/case.toml"]);
    assert_eq!((code, error.as_str()), (0, ""));
    assert!(out.contains("seal"), "{out}");
    let (out, error, code) = run(folder.path(), &["solve", "museum/case.toml", "--triangles", "3000", "--inertia"]);
    assert_eq!((code, error.as_str()), (0, ""));
    assert!(out.contains("results/case"), "{out}");
    for file in ["report.json", "report.txt", "fields.vtu", "streaklines.vtp", "obstacles.vtp"] {
        assert!(folder.path().join("results/case").join(file).is_file(), "{file}");
    }
}

#[test]
fn exit_codes() {
    let folder = tempfile::tempdir().unwrap();
    write_case(folder.path(), "case.toml", CASE);
    for wrong in [vec!["solve", "case.toml", "--no-such-option"], vec!["solve"], vec!["no-such-command"]] {
        let (out, error, code) = run(folder.path(), &wrong);
        assert_eq!((code, out.as_str()), (2, ""), "{wrong:?}");
        assert!(!error.is_empty());
    }
    // a bad key: its line and column, nothing on standard output
    write_case(folder.path(), "bad.toml", &CASE.replace("width =", "breadth ="));
    for command in ["check", "solve", "mesh"] {
        let (out, error, code) = run(folder.path(), &[command, "bad.toml"]);
        assert_eq!((code, out.as_str()), (3, ""), "{command}");
        assert!(error.contains("bad.toml:4:1") && error.contains("breadth"), "{error}");
    }
    let inside = CASE.replace("at = [0.1, 0.08]", "at = [0.1, 0.05]");
    write_case(folder.path(), "inside.toml", &inside);
    assert_eq!(run(folder.path(), &["solve", "inside.toml"]).2, 3, "a probe inside the obstacle");
    assert_eq!(run(folder.path(), &["check", "nowhere.toml"]).2, 3, "no such case");
    // a target out of reach: results all the same
    write_case(folder.path(), "hard.toml", &format!("{CASE}[mesh]\nerror = 1e-7\nmax_triangles = 3000\n"));
    let (out, _, code) = run(folder.path(), &["solve", "hard.toml", "--json"]);
    assert_eq!(code, 4);
    let report: Value = serde_json::from_str(&out).unwrap();
    assert!(report["shape_factor"]["relative_half_width"].as_f64().unwrap() > 1e-7);
    assert!(report["warnings"].as_array().unwrap().iter().any(|warning| warning["code"] == "target_missed"));
    assert!(folder.path().join("results/hard/fields.vtu").is_file());
}

#[test]
fn json_holds_the_documented_keys_and_nothing_else_is_printed() {
    let folder = tempfile::tempdir().unwrap();
    write_case(folder.path(), "case.toml", CASE);
    let (out, error, code) =
        run(folder.path(), &["solve", "case.toml", "--json", "--inertia", "--triangles", "2000", "-o", "there"]);
    assert_eq!((code, error.as_str()), (0, ""));
    let report: Value = serde_json::from_str(&out).unwrap();
    let keys = [
        "program.name program.version case.title case.file case.sha256 mesh.vertices mesh.triangles mesh.min_angle_deg mesh.levels",
        "reynolds.obstacle reynolds.gap reynolds.reduced reynolds.reference_length_m drive.mean_speed_m_per_s",
        "drive.flow_rate_m3_per_s drive.pressure_drop_pa drive.head_m shape_factor.value shape_factor.lower shape_factor.upper",
        "shape_factor.relative_half_width shape_factor.outline_allowance probes.0.name probes.0.x_m probes.0.y_m",
        "probes.0.pressure_pa probes.0.pressure_fraction probes.0.speed_m_per_s probes.0.speed_ratio probes.0.angle_deg",
        "inertia.pressure_coefficient inertia.edge_coefficient inertia.probes.0.name inertia.probes.0.pressure_pa",
        "inertia.probes.0.mean_speed_ratio inertia.probes.0.mean_angle_deg inertia.probes.0.midplane_speed_ratio",
        "inertia.probes.0.midplane_angle_deg inertia.probes.0.near_plate_speed_ratio inertia.probes.0.near_plate_angle_deg",
        "warnings timings_s.mesh timings_s.solve timings_s.write timings_s.total",
    ];
    for key in keys.iter().flat_map(|line| line.split(' ')) {
        let found = report.pointer(&format!("/{}", key.replace('.', "/")));
        assert!(found.is_some_and(|value| !value.is_null()), "{key} is missing");
    }
    let written = std::fs::read_to_string(folder.path().join("there/report.json")).unwrap();
    assert_eq!(serde_json::from_str::<Value>(&written).unwrap(), report);
    // U = 1 mm/s, water at 20 degC: nu = 1.0034e-6 m2/s (IAPWS); Re_L = U L/nu with L = 40 mm, Re_b with b = 0.5 mm
    let number = |pointer: &str| report.pointer(pointer).unwrap().as_f64().unwrap();
    assert!((number("/reynolds/obstacle") - 39.86).abs() < 0.02);
    assert!((number("/reynolds/gap") - 0.4983).abs() < 3e-4);
    assert!((number("/reynolds/reduced") - 0.4983 * 0.5 / 40.0).abs() < 1e-5);
}

#[test]
fn the_design_sheet_has_the_textbook_values() {
    let folder = tempfile::tempdir().unwrap();
    write_case(folder.path(), "case.toml", &CASE.replace("[[obstacle]]", "[mesh]\nerror = 2e-2\n[[obstacle]]"));
    let (out, error, code) = run(folder.path(), &["rig", "case.toml", "--json"]);
    assert_eq!((code, error.as_str()), (0, ""));
    let sheet: Value = serde_json::from_str(&out).unwrap();
    let number =
        |key: &str| sheet.pointer(&format!("/rig/{key}")).and_then(Value::as_f64).unwrap_or_else(|| panic!("{key}"));
    // water at 20 degC (IAPWS): 998.2072 kg/m3, 1.001596 mPa s, 72.736 mN/m; U = 1 mm/s, b = 0.5 mm, 200 mm x 100 mm
    let (mu, rho, b): (f64, f64, f64) = (1.001596e-3, 998.2072, 5e-4);
    let head = 12.0 * mu * 1e-3 * 0.2 / (b * b) / (1.0 - 0.630_248_88 * b / 0.1) / (rho * 9.80665);
    let exact = [
        ("mean_speed_m_per_s", 1e-3),
        ("flow_rate_m3_per_s", 5e-8),
        ("head_without_obstacle_m", head),
        ("settling_time_s", b * b * rho / (std::f64::consts::PI.powi(2) * mu)),
        ("transit_time_s", 200.0),
        // Durst et al. 2005 at Re_b = 0.49829: (0.47868 + 0.00223)^0.625
        ("development_length_m", 0.63284 * b),
        ("flow_error_per_gap_error", 3.0),
        // Pe = U b/D = 1000
        ("taylor_dispersion_m2_per_s", 5e-10 * (1.0 + 1e6 / 210.0)),
        ("dye_spread_m", (2.0 * 5e-10 * 200.0f64).sqrt()),
        ("capillary_pressure_pa", 2.0 * 72.736e-3 * 70f64.to_radians().cos() / b),
        ("capillary_number", mu * 1e-3 / 72.736e-3),
        ("reduced_reynolds", 0.498_29 * b / 0.04),
    ];
    for (key, value) in exact {
        assert!((number(key) / value - 1.0).abs() < 5e-4, "{key}: {} {value}", number(key));
    }
    // a post of D/W = 0.4 adds a length between those of 0.3 and 0.5, 0.1527 W and 0.4945 W (rows of images), over L_c = 2 W
    let added = number("head_m") / head - 1.0;
    assert!(added > 0.1527 / 2.0 && added < 0.4945 / 2.0, "{added}");
    assert!((number("pressure_drop_pa") / (rho * 9.80665 * number("head_m")) - 1.0).abs() < 1e-6);
    assert!(number("plate_deflection_m") > 0.0);
    assert_eq!(sheet["rig"]["settings"]["material"]["default"], true);
    assert!(sheet["reynolds"]["gap"].is_number() && !sheet["rig"]["suggestions"].as_array().unwrap().is_empty());
    let written = std::fs::read_to_string(folder.path().join("results/case/rig.json")).unwrap();
    assert_eq!(written, out);
    let text = std::fs::read_to_string(folder.path().join("results/case/rig.txt")).unwrap();
    assert!(text.contains("CAUTION") && text.lines().all(|line| line.chars().count() <= 110), "{text}");
    for format in ["svg", "pdf", "png"] {
        assert!(folder.path().join("results/case/figures/feasible").with_extension(format).is_file());
    }
}

#[test]
fn results_of_another_case_are_kept_unless_forced() {
    let folder = tempfile::tempdir().unwrap();
    write_case(folder.path(), "one.toml", CASE);
    write_case(folder.path(), "two.toml", &CASE.replace("0.04 }", "0.03 }"));
    let solve = |case: &str, more: &[&str]| {
        let arguments = [&["solve", case, "-o", "there", "-q", "--triangles", "1000"], more].concat();
        run(folder.path(), &arguments)
    };
    assert_eq!(solve("one.toml", &[]).2, 0);
    let before = std::fs::read(folder.path().join("there/fields.vtu")).unwrap();
    let (out, error, code) = solve("two.toml", &[]);
    assert_ne!(code, 0);
    assert!(out.is_empty() && error.contains("--force"), "{error}");
    assert_eq!(std::fs::read(folder.path().join("there/fields.vtu")).unwrap(), before);
    assert_eq!(solve("one.toml", &[]).2, 0, "the same case may be solved again");
    let (out, error, code) = solve("two.toml", &["--force"]);
    assert_eq!((out.as_str(), error.as_str(), code), ("", "", 0));
    assert_ne!(std::fs::read(folder.path().join("there/fields.vtu")).unwrap(), before);
}

#[test]
fn results_do_not_depend_on_the_number_of_threads() {
    let folder = tempfile::tempdir().unwrap();
    write_case(folder.path(), "case.toml", CASE);
    // enough triangles for nested levels and several parts of every parallel sum
    for threads in ["1", "2"] {
        let arguments =
            ["solve", "case.toml", "-q", "--inertia", "--triangles", "60000", "--threads", threads, "-o", threads];
        assert_eq!(run(folder.path(), &arguments).2, 0);
    }
    let file = |threads: &str, name: &str| std::fs::read(folder.path().join(threads).join(name)).unwrap();
    for name in ["fields.vtu", "streaklines.vtp", "obstacles.vtp"] {
        assert!(file("1", name) == file("2", name), "{name} differs");
    }
    let report = |threads: &str| {
        let mut value: Value = serde_json::from_slice(&file(threads, "report.json")).unwrap();
        value.as_object_mut().unwrap().remove("timings_s");
        value
    };
    assert_eq!(report("1"), report("2"));
    assert!(report("1")["mesh"]["levels"].as_u64().unwrap() > 1);
}

/// A reader that goes away, as `| head`, is no error.
#[test]
fn a_closed_pipe_is_no_error() {
    use std::process::Stdio;
    let folder = tempfile::tempdir().unwrap();
    let case = write_case(folder.path(), "case.toml", CASE);
    let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_twinplate"));
    command.args(["check", "--json"]).arg(case).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = command.spawn().unwrap();
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    assert_eq!((output.status.code(), output.stderr.as_slice()), (Some(0), &b""[..]));
}

/// A post of 40 mm in a cell of 200 mm by 100 mm: the polygon of the mesh lacks at most what chords of the outline cut off.
#[test]
fn a_mesh_is_measured() {
    let folder = tempfile::tempdir().unwrap();
    write_case(folder.path(), "case.toml", CASE);
    let (out, error, code) = run(folder.path(), &["mesh", "case.toml", "--json", "--triangles", "5000"]);
    assert_eq!((code, error.as_str()), (0, ""));
    let report: Value = serde_json::from_str(&out).unwrap();
    let mesh = &report["mesh"];
    let number = |key: &str| mesh[key].as_f64().unwrap_or_else(|| panic!("{key}: {out}"));
    // the chords of the outline lie within the circle, so the fluid is larger by up to n pieces of (2 pi/n)^3 r^2/12, here n > 40
    let fluid = 0.02 - std::f64::consts::PI * 4e-4;
    let most = 40.0 * (2.0 * std::f64::consts::PI / 40.0).powi(3) * 4e-4 / 12.0;
    assert!((0.0..most).contains(&(number("total_area_m2") - fluid)), "{out}");
    assert!(number("min_angle_deg") > 0.0 && number("min_angle_deg") <= 60.0 && number("max_angle_deg") >= 60.0);
    // Euler: one hole, so vertices less edges plus triangles is 0, with 3 T = 2 E - B
    let (v, t, b) = (number("vertices"), number("triangles"), number("boundary_edges"));
    assert_eq!(v - (3.0 * t + b) / 2.0 + t, 0.0);
    let bins = mesh["by_smallest_angle"].as_array().unwrap();
    assert_eq!(bins.iter().map(|bin| bin["triangles"].as_f64().unwrap()).sum::<f64>(), t);
    let least = bins.iter().find(|bin| bin["triangles"] != 0).unwrap();
    assert!(
        (least["from_deg"].as_f64().unwrap()..=least["to_deg"].as_f64().unwrap()).contains(&number("min_angle_deg"))
    );
    let (out, _, _) = run(folder.path(), &["mesh", "case.toml", "--triangles", "5000"]);
    assert!(out.contains("####") && out.contains("results/case/mesh.vtu"), "{out}");
    // more than the case allows, unless a number is asked for
    write_case(folder.path(), "small.toml", &format!("{CASE}[mesh]\nmax_triangles = 100\n"));
    let (out, error, code) = run(folder.path(), &["mesh", "small.toml"]);
    assert_eq!((code, out.as_str()), (1, ""));
    assert!(error.contains("help: ") && error.contains("ask for a number with --triangles"), "{error}");
    assert_eq!(run(folder.path(), &["mesh", "small.toml", "-q", "--triangles", "2000"]).2, 0);
}

#[test]
fn check_says_what_was_understood() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("gaps.csv"), "x_mm,y_mm,gap_um\n0,0,480\n200,0,500\n0,100,500\n200,100,520\n")
        .unwrap();
    let check = |gap: &str| -> Value {
        write_case(folder.path(), "case.toml", &CASE.replace("\"0.5 mm\"", gap));
        let (out, error, code) = run(folder.path(), &["check", "case.toml", "--json"]);
        assert_eq!((code, error.as_str()), (0, ""));
        serde_json::from_str(&out).unwrap()
    };
    let even = check("\"0.5 mm\"");
    assert_eq!((&even["cell"]["length_m"], &even["cell"]["gap_m"]), (&0.2.into(), &0.0005.into()));
    assert_eq!((&even["drive"]["mean_speed_m_per_s"], &even["obstacles"][0]), (&0.001.into(), &"obstacle 1".into()));
    assert_eq!((&even["wanted"]["max_triangles"], &even["probes"][0]["name"]), (&4_000_000.into(), &"shoulder".into()));
    assert!((even["reference_length_m"].as_f64().unwrap() - 0.04).abs() < 1e-15);
    assert!(even["shapes"][0]["shape"].as_str().unwrap().starts_with("circle of diameter 40.00 mm at x = 100.0 mm"));
    assert_eq!(check("{ at = 5e-4, slope = [0.0, 1e-4] }")["cell"]["gap_slope"], serde_json::json!([0.0, 1e-4]));
    let table = check("{ table = \"gaps.csv\" }");
    assert_eq!(table["cell"]["gap_places"], 4);
    assert!((table["cell"]["least_gap_m"].as_f64().unwrap() - 4.8e-4).abs() < 1e-15);
    let bowed = check("{ at = 5e-4, bowed = true }");
    let of = |key: &str| bowed["cell"][key].as_f64().unwrap();
    assert!((of("gap_at_edges_m") + 2.0 * of("plate_deflection_m") - 5e-4).abs() < 1e-12);
    let (out, _, _) = run(folder.path(), &["check", "case.toml"]);
    for part in ["under", "mean speed", "circle of diameter", "24 of equal flux", "in order"] {
        assert!(out.contains(part), "{part}: {out}");
    }
    assert_eq!(run(folder.path(), &["check", "case.toml", "-q"]), (String::new(), String::new(), 0));
}

#[test]
fn every_demo_case_checks_and_solves() {
    let folder = tempfile::tempdir().unwrap();
    let mut cases: Vec<PathBuf> = std::fs::read_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/meshes"))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == "toml"))
        .collect();
    cases.sort();
    assert!(cases.len() >= 5);
    for case in cases {
        let case = case.to_str().unwrap();
        assert_eq!(run(folder.path(), &["check", case]).2, 0, "{case}");
        let (out, error, code) = run(folder.path(), &["solve", case, "--triangles", "3000", "--inertia", "-q"]);
        assert_eq!((out.as_str(), error.as_str(), code), ("", "", 0), "{case}");
    }
}

#[test]
fn converge_judges_every_quantity_and_refuses_what_is_no_ladder() {
    let folder = tempfile::tempdir().unwrap();
    let coarse = format!("{CASE}[mesh]\nmax_edge = \"10 mm\"\n");
    write_case(folder.path(), "case.toml", &coarse);
    let asked =
        ["converge", "case.toml", "--levels", "4", "--json", "--edge-layer", "--also", "drive.pressure_drop_pa"];
    let (out, error, code) = run(folder.path(), &asked);
    assert_eq!((code, error.as_str()), (0, ""));
    let report: Value = serde_json::from_str(&out).unwrap();
    let rows = report["convergence"].as_array().unwrap();
    let names: Vec<&str> = rows.iter().map(|row| row["quantity"].as_str().unwrap()).collect();
    for name in [
        "shape_factor",
        "shape_factor.lower",
        "shape_factor.upper",
        "probe.shoulder.pressure",
        "probe.shoulder.speed_ratio",
        "edge_layer.shape_factor",
        "edge_layer.probe.shoulder.speed_ratio",
        "drive.pressure_drop_pa",
    ] {
        assert!(names.contains(&name), "{name} is not among {names:?}");
    }
    for row in rows {
        for key in ["sizes_m", "triangles", "values"] {
            assert_eq!(row[key].as_array().map(Vec::len), Some(4), "{key}");
        }
        for key in ["expected_order", "extrapolated", "gci_fine"] {
            assert!(row[key].is_f64(), "{key} {row}");
        }
        assert!(row["verdict"].is_string());
    }
    // one row per mesh, coarse to fine, four times the triangles each
    let triangles: Vec<u64> = rows[0]["triangles"].as_array().unwrap().iter().map(|n| n.as_u64().unwrap()).collect();
    assert!(triangles.windows(2).all(|n| n[1] == 4 * n[0]), "{triangles:?}");
    let table = std::fs::read_to_string(folder.path().join("results/case/convergence.csv")).unwrap();
    assert_eq!(table.lines().count(), 5, "{table}");
    assert!(table.starts_with("triangles,size_m,shape_factor,"), "{table}");
    let figure = std::fs::read_to_string(folder.path().join("results/case/convergence.svg")).unwrap();
    assert!(
        figure.starts_with("<svg") && figure.contains("guaranteed half-width") && figure.contains("width=\"175mm\"")
    );
    assert!(!folder.path().join("results/case/figures").exists());
    // the same for print, in one column and in greys
    let print = "converge case.toml --levels 3 -q --figures --column single --grey --formats svg,pdf";
    let print: Vec<&str> = print.split(' ').collect();
    assert_eq!(run(folder.path(), &print).2, 0);
    let printed = std::fs::read_to_string(folder.path().join("results/case/figures/convergence.svg")).unwrap();
    assert!(printed.contains("width=\"85mm\"") && printed.contains("slope 2") && !printed.contains("#0f6272"));
    assert!(folder.path().join("results/case/figures/convergence.pdf").is_file());
    assert!(!folder.path().join("results/case/figures/convergence.png").exists());
    assert!(figure.contains("#0f6272"));
    // a run without them takes them away
    assert_eq!(run(folder.path(), &["converge", "case.toml", "--levels", "3", "-q"]).2, 0);
    assert!(!folder.path().join("results/case/figures/convergence.svg").exists());

    for (wrong, remedy) in [
        (vec!["--levels", "2"], "3..=12"),
        (vec!["--sizes", "500,2000"], "four --sizes"),
        (vec!["--sizes", "2000,500,8000"], "ascending"),
        (vec!["--sizes", "2000,2000,8000"], "ascending"),
        (vec!["--levels", "12"], "fewer --levels"),
        (vec!["--also", "drive.nothing", "--levels", "3"], "report.json"),
        (vec!["--sizes", "500,2000,8000", "--adaptive"], "cannot be used with"),
        (vec!["--grey"], "add --figures"),
        (vec!["--figures", "--raster"], "unexpected argument"),
    ] {
        let (out, error, code) = run(folder.path(), &[vec!["converge", "case.toml"], wrong.clone()].concat());
        assert_eq!((code, out.as_str()), (2, ""), "{wrong:?} {error}");
        assert!(error.contains(remedy), "{wrong:?}: {error}");
    }
    // the case itself leaves no room
    write_case(folder.path(), "small.toml", &format!("{coarse}max_triangles = 3000\n"));
    let (_, error, code) = run(folder.path(), &["converge", "small.toml", "-o", "small"]);
    assert_eq!(code, 3, "{error}");
    assert!(error.contains("--levels 3") && error.contains("mesh.max_triangles in small.toml"), "{error}");
}
