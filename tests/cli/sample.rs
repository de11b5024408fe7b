//! `sample`: tables of places in, tables of values out.

use crate::{CASE, run, write_case};
use serde_json::Value;
use std::path::Path;

/// A grid of places with names, some of them in the post and outside the cell.
fn places() -> String {
    let mut text = "name;x [mm];y [mm];\"note; of hand\"\n".to_owned();
    for i in 0..12 {
        for j in 0..9 {
            text += &format!("p{i}-{j}; {}.5 ;{}.25;\"a; b\"\n", 19 * i - 3, 13 * j - 3);
        }
    }
    text
}

fn columns(text: &str, separator: char) -> (Vec<String>, Vec<Vec<String>>) {
    let mut reader =
        csv::ReaderBuilder::new().delimiter(separator as u8).trim(csv::Trim::All).from_reader(text.as_bytes());
    let head = reader.headers().unwrap().iter().map(str::to_owned).collect();
    (head, reader.records().map(|row| row.unwrap().iter().map(str::to_owned).collect()).collect())
}

const ADDED: [&str; 7] =
    ["pressure_pa", "pressure_fraction", "speed_m_per_s", "speed_ratio", "angle_deg", "pressure_coefficient", "inside"];

#[test]
fn columns_are_kept_and_values_are_those_of_the_probes() {
    let folder = tempfile::tempdir().unwrap();
    write_case(folder.path(), "case.toml", CASE);
    write_case(folder.path(), "places.csv", &places());
    let arguments = ["sample", "case.toml", "places.csv", "--triangles", "2000", "--threads", "1"];
    let (out, error, code) = run(folder.path(), &arguments);
    assert_eq!(code, 0, "{error}");
    for (line, row) in places().lines().zip(out.lines()) {
        assert!(row.starts_with(line.trim_end()), "{row}");
    }
    let (head, rows) = columns(&out, ';');
    assert_eq!(head[..3], ["name", "x [mm]", "y [mm]"]);
    assert_eq!(head[4..], ADDED);
    let mut outside = 0;
    for row in &rows {
        assert_eq!(row.len(), 11);
        let [x, y] = [1, 2].map(|k| 1e-3 * row[k].parse::<f64>().unwrap());
        // of a post of 40 mm in the middle of 200 mm by 100 mm
        let is_fluid = (x - 0.1).hypot(y - 0.05) > 0.02 && (0.0..=0.2).contains(&x) && (0.0..=0.1).contains(&y);
        assert_eq!(row[10], if is_fluid { "1" } else { "0" }, "{row:?}");
        assert!(row[4..10].iter().all(|cell| cell.parse::<f64>().is_ok() == is_fluid && cell.is_empty() != is_fluid));
        outside += usize::from(!is_fluid);
    }
    assert!(outside > 10 && error.contains(&format!("{outside} of 108 places")), "{error}");
    // the same bytes for any number of threads, into a file as well, and quiet on demand
    let more = ["sample", "case.toml", "places.csv", "--triangles", "2000", "--threads", "3", "-q", "-o", "values.csv"];
    assert_eq!(run(folder.path(), &more), (String::new(), String::new(), 0));
    assert_eq!(std::fs::read_to_string(folder.path().join("values.csv")).unwrap(), out);
    // at the case's own probe, without a header, by blanks
    write_case(folder.path(), "one.dat", "# the shoulder\n 0.1\t0.08  7\n");
    let both = ["--inertia", "--edge-layer", "--triangles", "2000"];
    let (out, _, _) = run(folder.path(), &[&["sample", "case.toml", "one.dat"], &both[..]].concat());
    let (head, rows) = columns(&out, ',');
    assert_eq!(head[..3], ["x_m", "y_m", "column_3"]);
    assert_eq!(rows[0][..3], ["0.1", "0.08", "7"]);
    let (report, _, _) = run(folder.path(), &[&["solve", "case.toml", "--json"], &both[..]].concat());
    let report: Value = serde_json::from_str(&report).unwrap();
    let mut seen = 0;
    for (part, prefix) in
        [("/probes/0", ""), ("/inertia/probes/0", "inertia_"), ("/edge_layer/probes/0", "edge_layer_")]
    {
        for (key, value) in report.pointer(part).unwrap().as_object().unwrap() {
            let own = if prefix == "inertia_" && key != "pressure_pa" { key.clone() } else { format!("{prefix}{key}") };
            let Some(k) = head.iter().position(|name| *name == own) else {
                assert!(["name", "x_m", "y_m"].contains(&key.as_str()), "{own}");
                continue;
            };
            let (found, exact) = (rows[0][k].parse::<f64>().unwrap(), value.as_f64().unwrap());
            assert!((found - exact).abs() <= 1e-9 * exact.abs().max(1e-9), "{own}: {found} {exact}");
            seen += usize::from(k > 2);
        }
    }
    assert_eq!(seen, 5 + 7 + 2);
}

/// Fields that were written in any encoding give the values of the case, to the rounding of two ways round the same triangles; places lie off
/// the outline by more than its chords do.
#[test]
fn a_folder_gives_the_values_of_its_case() {
    let folder = tempfile::tempdir().unwrap();
    write_case(folder.path(), "case.toml", CASE);
    write_case(folder.path(), "places.csv", &places());
    let (exact, _, _) = run(folder.path(), &["sample", "case.toml", "places.csv", "--triangles", "2000", "--inertia"]);
    let (head, exact) = columns(&exact, ';');
    for encoding in ["", "--raw", "--compress"] {
        let solve = ["solve", "case.toml", "--triangles", "2000", "--inertia", "-q", "--force"];
        let more: &[&str] = if encoding.is_empty() { &[] } else { &[encoding] };
        assert_eq!(run(folder.path(), &[&solve, more].concat()).2, 0);
        let (out, error, code) = run(folder.path(), &["sample", "results/case", "places.csv", "--inertia"]);
        let hash: Value =
            serde_json::from_slice(&std::fs::read(folder.path().join("results/case/results.json")).unwrap()).unwrap();
        let said = error.contains(hash["combined_sha256"].as_str().unwrap()) && error.contains("twinplate solve");
        assert!(code == 0 && said, "{error}");
        let (own_head, rows) = columns(&out, ';');
        assert_eq!(own_head, head);
        for (row, exact) in rows.iter().zip(&exact) {
            for (k, (a, b)) in row.iter().zip(exact).enumerate() {
                match (a.parse::<f64>(), b.parse::<f64>()) {
                    (Ok(a), Ok(b)) => assert!((a - b).abs() <= 1e-8 * b.abs().max(1e-6), "{}: {a} {b}", head[k]),
                    _ => assert_eq!(a, b),
                }
            }
        }
    }
    // what the folder does not hold
    let (_, error, code) = run(folder.path(), &["sample", "results/case", "places.csv", "--edge-layer"]);
    assert!(code == 3 && error.contains("edge_layer_velocity") && error.contains("with the edge layer"), "{error}");
    let (_, error, code) = run(folder.path(), &["sample", "results/case", "places.csv", "--triangles", "500"]);
    assert!(code == 2 && error.contains("solved already"), "{error}");
    // counts and hash for scripts
    let (out, _, _) = run(folder.path(), &["sample", "results/case", "places.csv", "--json", "-o", "v.csv"]);
    let told: Value = serde_json::from_str(&out).unwrap();
    let told = &told["sample"];
    assert_eq!((told["points"].as_u64(), told["source"].as_str()), (Some(108), Some("result")));
    assert_eq!(told["inside"].as_u64().unwrap() + told["outside"].as_u64().unwrap(), 108);
    assert_eq!(told["combined_sha256"].as_str().unwrap().len(), 64);
    assert_eq!(told["values_file"], "v.csv");
    assert_eq!(run(folder.path(), &["sample", "results/case", "places.csv", "--json"]).2, 2, "values have no place");
    // a file that was changed
    let fields = folder.path().join("results/case/obstacles.vtp");
    std::fs::write(&fields, "").unwrap();
    let (out, error, code) = run(folder.path(), &["sample", "results/case", "places.csv"]);
    assert!(code == 3 && out.is_empty() && error.contains("not the one that was written"), "{error}");
    // a later command's report does not go with the fields
    let other = folder.path().join("other");
    for command in ["solve", "mesh"] {
        let code = run(folder.path(), &[command, "case.toml", "--triangles", "500", "-q", "-o", "other"]).2;
        assert_eq!(code, 0, "{command}");
    }
    if other.join("report.json").is_file() {
        let (_, error, code) = run(folder.path(), &["sample", "other", "places.csv"]);
        assert!(code == 0 || error.contains("later command"), "{error}");
    }
}

#[test]
fn mistakes_are_told_with_their_lines() {
    let folder = tempfile::tempdir().unwrap();
    write_case(folder.path(), "case.toml", CASE);
    let told = |text: &str, place: &str, words: &str| {
        write_case(folder.path(), "places.csv", text);
        let (out, error, code) = run(folder.path(), &["sample", "case.toml", "places.csv", "--triangles", "500"]);
        assert!(code == 3 && out.is_empty(), "{text}: {error}");
        assert!(error.contains(place) && error.contains(words) && error.contains("help"), "{text}: {error}");
    };
    told("", "places.csv", "no places");
    told("x,y\n# none\n", "places.csv", "no places");
    told("x,z\n1,2\n", "places.csv:1", "no column is called \"y\"");
    told("x [s],y [s]\n1,2\n", "places.csv:1", "unit of x");
    told("x,y\n0.1,0.08\n0.1,here\n", "places.csv:3", "y is `here`");
    told("x,y\n0.1,0.08\n0.1,inf\n", "places.csv:3", "finite");
    told("x,y\n0.1,0.08\n0.1\n", "places.csv:3", "1 entries");
    told("x,y,speed_ratio\n0.1,0.08,1\n", "places.csv:1", "speed_ratio");
    let (_, error, code) = run(folder.path(), &["sample", "case.toml", "nowhere.csv"]);
    assert!(code == 3 && error.contains("nowhere.csv"), "{error}");
    write_case(folder.path(), "places.csv", "x,y\n0.1,0.08\n0.1,0.05\n0.3,0.05\n");
    let strict = ["sample", "case.toml", "places.csv", "--triangles", "500", "--strict"];
    let (out, error, code) = run(folder.path(), &strict);
    assert!(code == 3 && out.is_empty() && error.contains("places.csv:3") && error.contains("places.csv:4"), "{error}");
    let over = ["sample", "case.toml", "places.csv", "-o", "places.csv"];
    assert!(run(folder.path(), &over).2 == 2 && Path::new(&folder.path().join("places.csv")).is_file());
    write_case(folder.path(), "places.csv", "x,y\n100,80\n");
    let (out, error, _) = run(folder.path(), &["sample", "case.toml", "places.csv", "--triangles", "500"]);
    assert!(error.contains("none of the 1 places") && out.ends_with("100,80,,,,,,,0\n"), "{out}{error}");
}

#[test]
fn lines_are_written_and_their_mistakes_are_told() {
    let folder = tempfile::tempdir().unwrap();
    let line = "[[line]]\nname = \"over the top / 1\"\nfrom = [0.1, 0.0]\nto = [0.1, 0.1]\npoints = 11\n";
    write_case(folder.path(), "case.toml", &format!("{CASE}{line}"));
    let (out, error, code) = run(
        folder.path(),
        &["solve", "case.toml", "--triangles", "1000", "--edge-layer", "--json", "--figures", "--dpi", "40"],
    );
    assert_eq!(code, 0, "{error}");
    let report: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(report["lines"][0]["name"], "over the top / 1");
    assert!((report["lines"][0]["flow_share"].as_f64().unwrap() - 1.0).abs() < 1e-12);
    assert_eq!(report["lines"][0]["points_in_fluid"], 8);
    let note = |warning: &Value| warning["code"] == "line_cut_by_solid" && warning["level"] == "note";
    assert!(report["warnings"].as_array().unwrap().iter().any(note));
    let results = folder.path().join("results/case");
    assert!(results.join("figures/profile_over_the_top___1.svg").is_file());
    let text = std::fs::read_to_string(results.join("profile_over_the_top___1.csv")).unwrap();
    let (head, rows) = columns(&text, ',');
    let own = ["s_m", "x_m", "y_m", "pressure_pa", "speed_ratio", "angle_deg", "pressure_coefficient"];
    assert_eq!(head[..7], own);
    assert_eq!(head[7..9], ["edge_layer_speed_ratio", "edge_layer_angle_deg"]);
    assert_eq!(rows.len(), 11);
    assert!(rows[5][3..9].iter().all(String::is_empty) && rows[0][3..9].iter().all(|cell| cell.parse::<f64>().is_ok()));
    for (text, words) in [
        (format!("{line}{line}"), "another line called"),
        (format!("{line}{}", line.replace(" / ", " : ")), "file of another line"),
        (line.replace("0.1, 0.0]", "0.1, 0.04]").replace("0.1, 0.1]", "0.1, 0.06]"), "no point in the fluid"),
        (line.replace("0.1, 0.", "100, 10.").replace("100, 10.1", "100, 10.2"), "no point in the fluid"),
        ("[[line]]\nalong = \"obstacel 1\"\n".into(), "did you mean \"obstacle 1\""),
        ("[[line]]\nalong = \"obstacle 1\"\ndistance = \"95 mm\"\n".into(), "no point in the fluid"),
        ("[[line]]\nalong = \"obstacle 1\"\ndistance = \"-1 mm\"\n".into(), "zero or above"),
        ("[[line]]\nalong = \"obstacle 1\"\nto = [0.1, 0.1]\n".into(), "both \"along\" and \"to\""),
        ("[[line]]\nfrom = [0.1, 0.1]\n".into(), "lacks the key \"to\""),
        ("[[line]]\nfrom = [0.1, 0.1]\nto = [0.1, 0.1]\n".into(), "ends where it starts"),
        (line.replace("points = 11", "points = 1"), "from 2 to"),
    ] {
        write_case(folder.path(), "bad.toml", &format!("{CASE}{text}"));
        let (_, error, code) = run(folder.path(), &["check", "bad.toml"]);
        assert!(code == 3 && error.contains(words) && error.contains("bad.toml:"), "{text}: {error}");
    }
}
