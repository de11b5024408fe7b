//! Files: whole or not at all, one case per folder, and readable by others to the last bit.

use std::io::{Error as IoError, Write};
use std::path::{Path, PathBuf};
use tempfile::TempDir;
use twinplate::Error;
use twinplate::case::{
    Case, Cell, Drive, DriveQuantity, Ends, Fluid, Gap, MeshSettings, Seeding, StreaklineSettings, Tolerance,
};
use twinplate::output::report::*;
use twinplate::output::text::{significant, summary};
use twinplate::output::vtk::*;
use twinplate::output::{Folder, write_whole};

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
    Case {
        title: title.into(),
        file: file.into(),
        text: String::new(),
        sha256: sha256.into(),
        cell: Cell { length: 2.0, width: 1.0, gap: Gap::Uniform(1e-3) },
        fluid: Fluid { name: "water".into(), density: 998.2, viscosity: 1.0016e-3, temperature: Some(293.15) },
        drive: Drive { quantity: DriveQuantity::MeanSpeed(1e-3), ends: Ends::HeldPressure, reference_length: None },
        obstacles: vec![],
        probes: vec![],
        mesh: MeshSettings { error: 1e-3, max_triangles: 1000, max_edge: None, growth: 0.3 },
        streaklines: StreaklineSettings { seeding: Seeding::Count(24), height: 0.0 },
        tolerance: Tolerance { speed: 0.02, direction: 0.0175, shift: 5e-4 },
    }
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

// --- VTK files ---

/// A strip of n squares, each cut in two, with values that show every bit: tiny, huge, negative zero, thirds.
struct Strip {
    points: Vec<[f64; 2]>,
    triangles: Vec<[u32; 3]>,
    scalar: Vec<f64>,
    plane: Vec<[f64; 2]>,
    space: Vec<[f64; 3]>,
    flags: Vec<u8>,
    signed: Vec<i8>,
    numbers: Vec<i32>,
}

fn strip(n: usize) -> Strip {
    let points: Vec<[f64; 2]> = (0..2 * (n + 1)).map(|i| [(i / 2) as f64 / 3.0, (i % 2) as f64 / 7.0]).collect();
    let triangles: Vec<[u32; 3]> =
        (0..2 * n as u32).map(|k| if k % 2 == 0 { [k, k + 2, k + 1] } else { [k, k + 1, k + 2] }).collect();
    let odd = [f64::MIN_POSITIVE, -0.0, f64::MAX, -1.0 / 3.0, 5e-324, 101325.0];
    Strip {
        scalar: (0..points.len()).map(|i| odd[i % odd.len()]).collect(),
        plane: points.iter().map(|[x, y]| [x.sin(), y - 1.0]).collect(),
        space: triangles.iter().map(|t| [f64::from(t[0]).sqrt(), -0.1, f64::from(t[2]).exp2().recip()]).collect(),
        flags: (0..triangles.len()).map(|i| (i % 3) as u8).collect(),
        signed: (0..triangles.len()).map(|i| (i % 5) as i8 - 2).collect(),
        numbers: (0..triangles.len()).map(|i| i as i32 * 1_000 - i32::MAX).collect(),
        points,
        triangles,
    }
}

fn write_strip(path: &Path, strip: &Strip, encoding: Encoding) {
    let point = [
        Array { name: "pressure", unit: "Pa", data: Data::Scalar(&strip.scalar) },
        Array { name: "velocity", unit: "m/s", data: Data::Plane(&strip.plane) },
    ];
    let cell = [
        Array { name: "drift", unit: "µm/s", data: Data::Space(&strip.space) },
        Array { name: "validity", unit: "1", data: Data::UInt8(&strip.flags) },
        Array { name: "sign", unit: "1", data: Data::Int8(&strip.signed) },
        Array { name: "number", unit: "1", data: Data::Int32(&strip.numbers) },
    ];
    let grid = Grid { points: Places::Plane(&strip.points), cells: Cells::Triangles(&strip.triangles) };
    write_vtu(path, &grid, &Fields { point: &point, cell: &cell, time: Some(0.27), encoding }).unwrap();
}

/// Bits, so that -0.0 and 0.0 differ.
fn bits<'a>(values: impl IntoIterator<Item = &'a f64>) -> Vec<u64> {
    values.into_iter().map(|v| v.to_bits()).collect()
}

/// 1 to 4 squares end on every remainder of three bytes; 40 000 squares take several pieces of every array.
#[test]
fn a_grid_is_read_back_by_others_to_the_last_bit() {
    let dir = scratch();
    let path = dir.path().join("fields.vtu");
    for n in [1, 2, 3, 4, 40_000] {
        let strip = strip(n);
        write_strip(&path, &strip, Encoding::Base64);
        let file = read(&path).unwrap();
        assert_eq!(file.points, strip.points.iter().map(|p| [p[0], p[1], 0.0]).collect::<Vec<_>>());
        let triangles = strip.triangles.iter().map(|t| t.map(|v| v as usize).to_vec());
        assert!(file.cells.into_iter().eq(triangles));
        let named = |arrays: &[ReadArray], k: usize, name: &str, components: usize| {
            assert_eq!((arrays[k].name.as_str(), arrays[k].components), (name, components));
            bits(&arrays[k].values)
        };
        assert_eq!(named(&file.point, 0, "pressure", 1), bits(&strip.scalar));
        let velocity: Vec<f64> = strip.plane.iter().flat_map(|v| [v[0], v[1], 0.0]).collect();
        assert_eq!(named(&file.point, 1, "velocity", 3), bits(&velocity));
        assert_eq!(named(&file.cell, 0, "drift", 3), bits(strip.space.as_flattened()));
        let whole = |values: Vec<i32>| bits(&values.into_iter().map(f64::from).collect::<Vec<_>>());
        assert_eq!(named(&file.cell, 1, "validity", 1), whole(strip.flags.iter().map(|&v| v.into()).collect()));
        assert_eq!(named(&file.cell, 2, "sign", 1), whole(strip.signed.iter().map(|&v| v.into()).collect()));
        assert_eq!(named(&file.cell, 3, "number", 1), whole(strip.numbers));
    }
    assert_eq!(names(dir.path()), ["fields.vtu"]);
}

#[test]
fn wedges_and_lines_are_read_back() {
    let dir = scratch();
    let path = dir.path().join("wedges.vtu");
    let points: Vec<[f64; 3]> = (0..7).map(|i| [f64::from(i % 3), f64::from(i / 3), f64::from(i % 2)]).collect();
    let cells =
        Cells::Mixed { types: &[WEDGE, TRIANGLE], connectivity: &[0, 1, 2, 3, 4, 5, 4, 5, 6], offsets: &[6, 9] };
    write_vtu(&path, &Grid { points: Places::Space(&points), cells }, &Fields::default()).unwrap();
    let file = read(&path).unwrap();
    assert_eq!(file.cells, [vec![0, 1, 2, 3, 4, 5], vec![4, 5, 6]]);
    assert_eq!(file.points, points);

    let path = dir.path().join("streaklines.vtp");
    let lines = [points[..3].to_vec(), points[3..].to_vec()];
    let time = [Array { name: "time", unit: "s", data: Data::Scalar(&[0.0, 1.0, 2.0, 0.0, 1.5, 3.0, 4.5]) }];
    let height = [Array { name: "height", unit: "1", data: Data::Scalar(&[0.0, 0.5]) }];
    write_vtp(&path, &lines, &Fields { point: &time, cell: &height, ..Fields::default() }).unwrap();
    let file = read(&path).unwrap();
    assert_eq!(file.cells, [vec![0, 1, 2], vec![3, 4, 5, 6]]);
    assert_eq!(file.points, points);
    assert_eq!(file.point_array("time").unwrap().values[6], 4.5);
    assert_eq!(file.cell_array("height").unwrap().values, [0.0, 0.5]);
}

/// The raw bytes stand after the underscore, each array behind its length, at the offsets the head gives.
#[test]
fn appended_bytes_stand_where_the_head_says() {
    let dir = scratch();
    let path = dir.path().join("fields.vtu");
    let strip = strip(20_000);
    write_strip(&path, &strip, Encoding::Raw);
    let bytes = std::fs::read(&path).unwrap();
    let mark = b"<AppendedData encoding=\"raw\">\n_";
    let start = bytes.windows(mark.len()).position(|w| w == mark).unwrap();
    let head = std::str::from_utf8(&bytes[..start]).unwrap();
    let block = |name: &str| {
        let tail = head.split_once(&format!("Name=\"{name}\"")).unwrap().1;
        let offset: usize = tail.split_once("offset=\"").unwrap().1.split_once('"').unwrap().0.parse().unwrap();
        let from = &bytes[start + mark.len() + offset..];
        let length = u64::from_le_bytes(from[..8].try_into().unwrap()) as usize;
        &from[8..8 + length]
    };
    let floats = |v: &[f64]| v.iter().flat_map(|x| x.to_le_bytes()).collect::<Vec<u8>>();
    assert!(block("pressure") == floats(&strip.scalar));
    assert!(block("drift") == floats(strip.space.as_flattened()));
    assert!(block("validity") == strip.flags);
    assert!(block("types") == vec![TRIANGLE; strip.triangles.len()]);
    assert!(read(&path).unwrap_err().to_string().contains("inline"));
}

#[test]
fn the_bytes_do_not_depend_on_the_number_of_threads() {
    let dir = scratch();
    let strip = strip(30_000);
    let [one, three] = [1, 3].map(|threads| {
        let path = dir.path().join("fields.vtu");
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| write_strip(&path, &strip, Encoding::Base64));
        std::fs::read(&path).unwrap()
    });
    assert!(one == three);
}

/// Units are a string array: codes of the letters, each string ended by 0 (VTK's ASCII form of vtkStringArray).
#[test]
fn units_stand_once_in_the_field_data() {
    let dir = scratch();
    let path = dir.path().join("fields.vtu");
    write_strip(&path, &strip(1), Encoding::Base64);
    let text = std::fs::read_to_string(&path).unwrap();
    let open = "<Array type=\"String\" Name=\"units\" NumberOfTuples=\"6\" format=\"ascii\">";
    let codes = text.split_once(open).unwrap().1.split_once("</Array>").unwrap().0;
    let codes: Vec<u8> = codes.split_whitespace().map(|code| code.parse().unwrap()).collect();
    let lines = ["pressure Pa", "velocity m/s", "drift µm/s", "validity 1", "sign 1", "number 1"];
    assert_eq!(codes, (lines.join("\0") + "\0").into_bytes());
    assert!(text.contains("Name=\"TimeValue\" NumberOfTuples=\"1\" format=\"ascii\">0.27<"));
}

#[test]
fn what_a_viewer_would_choke_on_is_refused() {
    let dir = scratch();
    let path = dir.path().join("fields.vtu");
    let points = [[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]];
    let good = Grid { points: Places::Plane(&points), cells: Cells::Triangles(&[[0, 1, 2]]) };
    let array = |name, values| Array { name, unit: "1", data: Data::Scalar(values) };
    let refused = |grid: &Grid, fields: &Fields, part: &str| {
        let message = write_vtu(&path, grid, fields).unwrap_err().to_string();
        assert!(message.contains(part) && message.contains("remedy"), "{message}");
    };
    let short = [array("a", &[1.0, 2.0])];
    refused(&good, &Fields { point: &short, ..Fields::default() }, "2 entries for 3 points");
    let twice = [array("a", &[1.0]), array("a", &[1.0])];
    refused(&good, &Fields { cell: &twice, ..Fields::default() }, "used twice");
    refused(&good, &Fields { time: Some(f64::NAN), ..Fields::default() }, "NaN");
    let cells = Cells::Triangles(&[[0, 1, 3]]);
    refused(&Grid { cells, ..good }, &Fields::default(), "vertex 3");
    let cells = Cells::Mixed { types: &[TRIANGLE], connectivity: &[0, 1, 2], offsets: &[4] };
    refused(&Grid { cells, ..good }, &Fields::default(), "do not belong together");
    assert!(names(dir.path()).is_empty());
    assert!(write_pvd(&dir.path().join("a.pvd"), &[(f64::INFINITY, "a.vtu")]).is_err());
}

#[test]
fn damaged_files_are_errors() {
    let dir = scratch();
    let path = dir.path().join("fields.vtu");
    write_strip(&path, &strip(2), Encoding::Base64);
    let whole = std::fs::read_to_string(&path).unwrap();
    for cut in (0..whole.len() - 20).step_by(97) {
        let Some(part) = whole.get(..cut) else { continue };
        std::fs::write(&path, part).unwrap();
        assert!(read(&path).is_err(), "cut at {cut}");
    }
    std::fs::write(&path, whole.replace("UInt64", "UInt32")).unwrap();
    let _ = read(&path);
    assert!(matches!(read(&dir.path().join("absent.vtu")), Err(Error::File { .. })));
}

#[test]
fn a_series_lists_its_files() {
    let dir = scratch();
    let path = dir.path().join("departure.pvd");
    write_pvd(&path, &[(0.1, "departure_0001.vtu"), (0.2, "a&b.vtu")]).unwrap();
    let text = std::fs::read_to_string(&path).unwrap();
    assert!(text.contains("timestep=\"0.1\" group=\"\" part=\"0\" file=\"departure_0001.vtu\""));
    assert!(text.contains("file=\"a&amp;b.vtu\""));
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
            probes: vec![InertiaProbe { name: "shoulder".into(), ..InertiaProbe::default() }],
        }),
        edge_layer: Some(EdgeLayer {
            displacement_thickness_m: 3.1512e-4,
            shape_factor: 0.29,
            probes: vec![EdgeLayerProbe { name: "shoulder".into(), speed_ratio: 2.09, angle_deg: -1e-9 }],
        }),
        solver: Some(Solver {
            iterations_per_level: vec![0, 9, 8],
            cycles: vec![
                Cycle { triangles: 2_000, relative_half_width: 0.02 },
                Cycle { triangles: 139_000, relative_half_width: 3.3e-4 },
            ],
        }),
        warnings: vec![
            "The second pier stands 2.1 gaps from the wall: ".to_owned() + &"its edge layers meet; ".repeat(6),
        ],
        timings_s: Timings { mesh: 0.21, solve: 0.65, write: 0.1, total: 0.97 },
        files: vec!["fields.vtu".into(), "report.json".into(), "report.txt".into()],
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
        ("/inertia", &["pressure_coefficient", "edge_coefficient", "probes"]),
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
    assert!(value["warnings"][0].is_string());
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
    let text = summary(&report());
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
        "fields.vtu, report.json, report.txt",
    ];
    for part in parts {
        assert!(text.contains(part), "{part} in\n{text}");
    }
    assert!(!text.contains("-0.000"), "{text}");
    let mut missed = report();
    missed.shape_factor.target_relative_half_width = Some(1.1e-4);
    missed.reynolds.reduced = Some(2.0);
    let text = summary(&missed);
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
