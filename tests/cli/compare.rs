//! `compare`: its files, keys and exit codes, and what it says of pictures and tables that it cannot use.

use super::run;
use crate::draw::case_text::{film_case, photo_case};
use crate::draw::picture::Picture;
use crate::draw::scenarios::{film, photo};
use crate::draw::tracks::tracks_csv;
use crate::draw::truth::Truth;
use serde_json::Value;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;
use tempfile::TempDir;

/// Few triangles: what is looked at here are files and words.
const COARSE: [&str; 2] = ["--triangles", "8000"];

/// A picture of 800 by 600 pixels as a file, its case, and its traced lines with some of their places.
struct Drawn {
    png: Vec<u8>,
    case: String,
    lines: String,
}

fn drawn() -> &'static Drawn {
    static DRAWN: OnceLock<Drawn> = OnceLock::new();
    DRAWN.get_or_init(|| {
        let scenario = photo("oblique", 0.5).unwrap();
        let truth = Truth::new(&scenario.scene);
        let mut png = Vec::new();
        scenario.scene.draw(&truth).write_png(&mut png).unwrap();
        let mut lines = String::from("line,x_mm,y_mm,u,v\n");
        for (line, number) in truth.lines.iter().zip(1..) {
            let all = line.curve.places.iter().zip(&line.pixels).filter(|(p, _)| p[0] < truth.end);
            for ([x, y], [u, v]) in all.step_by(4) {
                lines += &format!("{number},{:.5},{:.5},{u:.3},{v:.3}\n", 1e3 * x, 1e3 * y);
            }
        }
        Drawn { png, case: photo_case(&scenario, &truth), lines }
    })
}

/// A folder with the picture and its case, changed as wanted.
fn folder(change: impl Fn(&str) -> String) -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    let write = |name: &str, bytes: &[u8]| std::fs::write(folder.path().join(name), bytes).unwrap();
    write("oblique.png", &drawn().png);
    write("case.toml", change(&drawn().case).as_bytes());
    folder
}

/// Columns of the table of lines, by their heads.
fn lines_of(columns: [usize; 2], head: &str) -> String {
    let rows = drawn().lines.lines().skip(1).map(|row| {
        let fields: Vec<&str> = row.split(',').collect();
        format!("{},{},{}\n", fields[0], fields[columns[0]], fields[columns[1]])
    });
    format!("{head}\n{}", rows.collect::<String>())
}

fn compare(folder: &Path, more: &[&str]) -> (String, String, i32) {
    run(folder, &[&["compare", "case.toml"], more].concat())
}

/// With a mesh of few triangles.
fn coarse(folder: &Path, more: &[&str]) -> (String, String, i32) {
    compare(folder, &[&COARSE, more].concat())
}

fn holds(report: &Value, keys: &str) {
    for key in keys.split_whitespace() {
        let found = report.pointer(&format!("/compare/{}", key.replace('.', "/")));
        assert!(found.is_some_and(|value| !value.is_null()), "{key} is missing");
    }
}

/// Where the results of a comparison with a file of this stem are.
fn results(folder: &Path, with: &str) -> PathBuf {
    folder.join(format!("results/case-{with}"))
}

fn has(folder: &Path, with: &str, files: &str) {
    for file in files.split_whitespace() {
        assert!(results(folder, with).join(file).is_file(), "{file} is missing");
    }
}

/// Exit code 3, nothing on standard output, all words in the message, with a place in a file and a remedy.
fn refused((out, error, code): &(String, String, i32), words: &[&str]) {
    assert_eq!((*code, out.as_str()), (3, ""), "{error}");
    for word in words.iter().chain(&["-->", "help"]) {
        assert!(error.contains(word), "{word} is not in {error}");
    }
}

#[test]
fn a_photograph_gives_tables_lines_figures_and_a_report() {
    let folder = folder(str::to_owned);
    let (out, error, code) = coarse(folder.path(), &["--json"]);
    assert_eq!((code, error.as_str()), (0, ""));
    let report: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(report["compare"]["kind"], "photo");
    holds(
        &report,
        "calibration.marks_used calibration.marks_left_out calibration.mark_residual_rms_px calibration.leave_one_out_max_m
         calibration.map_sigma_rms_m calibration.map_sigma_max_m calibration.k1 calibration.k2
         calibration.distortion_centre_px.1 calibration.focal_length_px calibration.tilt_deg calibration.mirrored
         calibration.depth_step_max_m calibration.outlines.0.name calibration.outlines.0.seen calibration.outlines.0.places
         calibration.outlines.0.offset_m calibration.outlines.2.dx_m calibration.outlines.2.dy_m calibration.outlines.2.growth_m
         calibration.outlines.2.growth_sigma_m tracing.lines tracing.stations tracing.covered tracing.noise_px tracing.noise_m
         tracing.pixels_per_m against.0.theory against.0.shift_rms_m against.0.shift_p95_m against.0.shift_max_m
         against.0.shift_max_at_m.1 against.0.shift_sigma_m against.0.speed_rms against.0.speed_max
         against.0.direction_rms_deg against.0.direction_max_deg effects.0.name effects.0.predicted_shift_rms_m
         effects.0.amplitude effects.0.amplitude_sigma effects.0.explained effects.0.identifiable effects.0.like map_z
         lines.0.line lines.0.level lines.0.median_m lines.0.rms_m lines.0.p95_m lines.0.trend verdict.text
         verdict.explained",
    );
    assert_eq!(report["compare"]["calibration"]["marks_used"], 8);
    assert_eq!(report["compare"]["tracing"]["lines"], 15);
    // the camera of the picture looks 20 degrees aside
    let tilt = report["compare"]["calibration"]["tilt_deg"].as_f64().unwrap();
    assert!((tilt - 20.0).abs() < 1.0, "{tilt}");
    has(folder.path(), "oblique", "compare.csv compare.vtp rectified.png marks.png report.json report.txt");
    for figure in ["overlay", "shift_map", "residual_along"] {
        for format in ["svg", "pdf", "png"] {
            has(folder.path(), "oblique", &format!("figures/{figure}.{format}"));
        }
    }
    let table = std::fs::read_to_string(results(folder.path(), "oblique").join("compare.csv")).unwrap();
    let head = table.lines().find(|line| line.starts_with("line,")).unwrap();
    for column in
        "line s_m x_m y_m u_px v_px width_m shift_m shift_sigma_m direction_deg speed_ratio edge_layer_m".split(' ')
    {
        assert!(head.split(',').any(|own| own == column), "{column} is not in {head}");
    }
    let stations = report["compare"]["tracing"]["stations"].as_u64().unwrap() as usize;
    let rows = table.lines().filter(|line| line.starts_with(|c: char| c.is_ascii_digit())).count();
    assert!(rows > 1000 && rows <= stations, "{rows} {stations}");
}

#[test]
fn marks_alone_are_looked_at_without_solving() {
    let folder = folder(str::to_owned);
    let (out, error, code) = compare(folder.path(), &["--marks-only"]);
    assert_eq!((code, error.as_str()), (0, ""));
    assert!(out.contains("marks used") && out.contains("results/case-oblique/marks.png"), "{out}");
    has(folder.path(), "oblique", "marks.png");
    assert!(!results(folder.path(), "oblique").join("report.json").exists());
}

/// Clicks on nothing: the picture of the marks is there to see what went wrong.
#[test]
fn marks_that_are_not_to_be_seen_are_named() {
    // all but three clicks a fortieth of the picture beside their marks
    let folder = folder(|case| {
        let mut marks = 0;
        let line = |line: &str| match line.strip_prefix("pixel = [").and_then(|rest| rest.split_once(',')) {
            Some((u, rest)) => {
                marks += 1;
                let by = if marks > 3 { 30 } else { 0 };
                format!("pixel = [{},{rest}\n", u.parse::<i64>().unwrap() + by)
            }
            None => format!("{line}\n"),
        };
        case.lines().map(line).collect()
    });
    let told = compare(folder.path(), &[]);
    refused(&told, &["marks d, e, f, g and h are not to be seen near", "3 of 8 found, 4 are needed", "case.toml:"]);
    has(folder.path(), "oblique", "marks.png");
}

#[test]
fn a_case_that_does_not_fit_the_picture_is_refused_with_its_remedy() {
    let without_face = folder(|case| case.replace("marks_on = \"inner face\"\n", ""));
    refused(&compare(without_face.path(), &[]), &["marks_on", "case.toml:", "inner face", "outer face"]);
    let swapped = folder(|case| {
        let clicks: Vec<&str> = case.lines().filter(|line| line.starts_with("pixel")).collect();
        case.replace(clicks[1], "@").replace(clicks[3], clicks[1]).replace('@', clicks[3])
    });
    refused(&compare(swapped.path(), &[]), &["marks b and d seem swapped", "swap the pixels of marks b and d"]);
    let outside = folder(|case| case.replacen("at = [\"271 mm\"", "at = [\"-271 mm\"", 1));
    refused(&compare(outside.path(), &[]), &["mark a at", "outside the cell", "by more than a tenth"]);
    let no_table = folder(|case| case.split("\n[photo]").next().unwrap().to_owned());
    refused(&compare(no_table.path(), &["oblique.png"]), &["no table [photo]", "marks_on"]);
    refused(&compare(no_table.path(), &[]), &["names no photograph"]);
}

/// The marks are where they should be, and nothing else is: which step found nothing is said.
#[test]
fn a_picture_without_lines_says_what_was_not_found() {
    let folder = folder(str::to_owned);
    let mut scenario = photo("oblique", 0.5).unwrap();
    scenario.scene.dye.strength = 0.0;
    let truth = Truth::new(&scenario.scene);
    let file = || std::fs::File::create(folder.path().join("oblique.png")).unwrap();
    scenario.scene.draw(&truth).write_png(file()).unwrap();
    refused(&coarse(folder.path(), &[]), &["no line found", "case.toml:"]);
    // no cell at all: noise of a congruential generator
    let mut state: u32 = 1;
    let mut level = || {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (state >> 24) as u8
    };
    let pixels = (0..800 * 600).map(|_| [level(), level(), level()]).collect();
    Picture { width: 800, height: 600, pixels }.write_png(file()).unwrap();
    refused(&coarse(folder.path(), &["--force"]), &["not to be seen near", "of 8 found, 4 are needed"]);
}

/// The same lines in the cell and in the picture. The levels are those of the needles either way.
#[test]
fn traced_lines_are_compared_in_the_cell_and_in_pixels() {
    let folder = folder(str::to_owned);
    let edge = |report: &Value| {
        let effects = report["compare"]["effects"].as_array().unwrap();
        effects.iter().find(|effect| effect["name"] == "edge_layer").unwrap()["amplitude"].as_f64().unwrap()
    };
    for (columns, head) in [([1, 2], "line,x_mm,y_mm"), ([3, 4], "line,u,v")] {
        std::fs::write(folder.path().join("lines.csv"), lines_of(columns, head)).unwrap();
        let options = ["lines.csv", "--overlay", "--json", "--force", "--triangles", "20000"];
        let (out, error, code) = compare(folder.path(), &options);
        assert_eq!((code, error.as_str()), (0, ""), "{head}");
        let report: Value = serde_json::from_str(&out).unwrap();
        assert_eq!(report["compare"]["kind"], "lines");
        holds(&report, "against.0.shift_rms_m against.0.speed_rms effects.0.amplitude lines.14.line verdict.text");
        assert_eq!(report["compare"].get("calibration").is_some(), head == "line,u,v");
        has(folder.path(), "lines", "compare.csv compare.vtp figures/overlay.svg figures/shift_map.svg");
        // without noise; a third of the limit in photographs, and ten times what this mesh adds
        assert!((edge(&report) - 1.0).abs() < 0.02, "{head}: {}", edge(&report));
    }
    let without = folder.path().join("plain.toml");
    std::fs::write(&without, drawn().case.split("\n[photo]").next().unwrap()).unwrap();
    let told = run(folder.path(), &["compare", "plain.toml", "lines.csv"]);
    refused(&told, &["places are in pixels, and the case names no photograph", "[photo]", "lines.csv"]);
}

#[test]
fn tracks_give_the_speed() {
    let folder = tempfile::tempdir().unwrap();
    let scenario = film("tracks_spoiled").unwrap();
    std::fs::write(folder.path().join("case.toml"), film_case(&scenario)).unwrap();
    std::fs::write(folder.path().join("tracks.csv"), tracks_csv(&scenario.film, &scenario.film.tracks())).unwrap();
    let (out, error, code) = compare(folder.path(), &["tracks.csv", "--json", "--triangles", "3000"]);
    assert_eq!((code, error.as_str()), (0, ""));
    let report: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(report["compare"]["kind"], "tracks");
    holds(
        &report,
        "tracks.used tracks.rejected tracks.heights tracks.mean_speed_m_per_s tracks.mean_speed_sigma_m_per_s
         tracks.taper_per_length verdict.text verdict.explained",
    );
    let number = |key: &str| report["compare"]["tracks"][key].as_f64().unwrap();
    // speed within 0.5 %, taper within 1.5 % of the 5 %
    assert!((number("mean_speed_m_per_s") / scenario.film.speed - 1.0).abs() < 5e-3);
    assert!((number("taper_per_length") - 0.05).abs() < 0.015);
    has(folder.path(), "tracks", "tracks.csv report.json");
    let table = std::fs::read_to_string(results(folder.path(), "tracks").join("tracks.csv")).unwrap();
    assert!(table.contains("track,s,s_sigma,height,direction_deg,direction_sigma_deg,verdict"), "{table}");
    assert_eq!(table.lines().filter(|line| line.starts_with(|c: char| c.is_ascii_digit())).count(), 244);
}

#[test]
fn tables_with_mistakes_have_their_line_and_a_remedy() {
    let folder = folder(str::to_owned);
    let track = |count: usize| -> String { (0..count).map(|k| format!("1,{k},0.3{k},0.1\n")).collect() };
    let tables = [
        (format!("track,t,x,y\n{}1,5,0.4,0.1\n", track(8)), "bad.csv:10", "t of track 1 does not increase"),
        (format!("track,t,x,y\n{}", track(6)), "bad.csv:2", "track 1 has 6 points, but 7 are needed"),
        (format!("track,t,x_mm,y_m\n{}", track(8)), "bad.csv:1", "mixed units"),
        ("line,x,y\n1,0.3,0.1\n1,wide,0.1\n".to_owned(), "bad.csv:3", "x is `wide`"),
        (lines_of([1, 2], "line,x,y"), "bad.csv:2", "outside the cell"),
    ];
    for (text, place, words) in tables {
        std::fs::write(folder.path().join("bad.csv"), text).unwrap();
        refused(&compare(folder.path(), &["bad.csv"]), &[place, words]);
    }
    // far outside the cell once they are mapped
    let far = lines_of([3, 4], "line,u,v").replacen("\n1,", "\n1,9", 1);
    std::fs::write(folder.path().join("bad.csv"), far).unwrap();
    let (out, error, code) = compare(folder.path(), &["bad.csv"]);
    assert_eq!((code, out.as_str()), (3, ""));
    assert!(error.contains("line 1 shows no place in the cell, by more than a tenth"), "{error}");
    assert_eq!(compare(folder.path(), &["nowhere.csv"]).2, 3);
}
