//! Which results came from which case, files and command.

use crate::{CASE, run, write_case};
use serde_json::Value;
use std::collections::BTreeSet;
use std::path::Path;
use twinplate::base::hash::sha256;

fn drawing(side: &str) -> String {
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"60mm\" height=\"40mm\" viewBox=\"0 0 60 40\">\
         <rect x=\"10\" y=\"10\" width=\"{side}\" height=\"20\"/></svg>"
    )
}

/// The case of the other tests with a caisson from a drawing in place of its post.
fn set_up(folder: &Path, title: &str) {
    std::fs::create_dir_all(folder).unwrap();
    std::fs::write(folder.join("caisson.svg"), drawing("30")).unwrap();
    let post = "circle = { centre = [0.1, 0.05], diameter = 0.04 }";
    let case = CASE.replace(post, "outline = { file = \"caisson.svg\", centre = [0.1, 0.05] }");
    write_case(folder, "case.toml", &case.replace("pier", title));
}

fn json(path: &Path) -> Value {
    serde_json::from_slice(&std::fs::read(path).unwrap()).unwrap()
}

fn files_below(folder: &Path, before: &str) -> BTreeSet<String> {
    let mut found = BTreeSet::new();
    for entry in std::fs::read_dir(folder).unwrap() {
        let entry = entry.unwrap();
        let name = format!("{before}{}", entry.file_name().to_str().unwrap());
        match entry.path().is_dir() {
            true => found.extend(files_below(&entry.path(), &format!("{name}/"))),
            false => _ = found.insert(name),
        }
    }
    found
}

#[test]
fn every_file_bears_the_hash_over_the_case_and_its_drawing() {
    let folder = tempfile::tempdir().unwrap();
    set_up(folder.path(), "Caisson");
    let arguments = ["solve", "case.toml", "--triangles", "500", "-q", "--figures", "--dpi", "40"];
    let solve = |more: &[&str]| run(folder.path(), &[&arguments, more].concat());
    assert_eq!(solve(&[]), (String::new(), String::new(), 0));
    let results = folder.path().join("results/case");
    // as sha256sum makes it of the list of both
    let of = |name: &str| sha256(&std::fs::read(folder.path().join(name)).unwrap());
    let combined = || sha256(format!("{}\n{}\n", of("case.toml"), of("caisson.svg")).as_bytes());
    let first = combined();
    let case = json(&results.join("report.json"))["case"].clone();
    assert_eq!(case["combined_sha256"], first);
    assert_eq!(case["inputs"], serde_json::json!([{"file": "caisson.svg", "sha256": of("caisson.svg")}]));

    let record = json(&results.join("results.json"));
    assert_eq!(
        (record["combined_sha256"].as_str(), record["command"].as_str().unwrap()),
        (Some(&*first), &*arguments_typed(&arguments))
    );
    let listed = record["files"].as_array().unwrap();
    let names: BTreeSet<String> = listed.iter().map(|file| file["name"].as_str().unwrap().to_owned()).collect();
    let mut there = files_below(&results, "");
    assert!(there.remove("results.json") && there.len() > 15);
    assert_eq!(names, there);
    let settings = sha256(
        format!("twinplate {} {}\n", env!("CARGO_PKG_VERSION"), record["settings"].as_str().unwrap()).as_bytes(),
    );
    assert_eq!(record["settings"], "solve triangles=500 figures dpi=40");
    for file in listed {
        let bytes = std::fs::read(results.join(file["name"].as_str().unwrap())).unwrap();
        assert_eq!(file["sha256"], sha256(&bytes), "{file}");
    }
    let codes = |hash: &str| hash.bytes().map(|code| code.to_string()).collect::<Vec<_>>().join(" ");
    for (name, hash) in names.iter().flat_map(|name| [(name, &first), (name, &settings)]) {
        let bytes = std::fs::read(results.join(name)).unwrap();
        let hash = if name.ends_with("vtu") || name.ends_with("vtp") { codes(hash) } else { hash.clone() };
        let bears = bytes.windows(hash.len()).any(|window| window == hash.as_bytes());
        assert!(bears, "{name}");
    }
    let page = std::fs::read_to_string(results.join("report.html")).unwrap();
    assert!(page.contains("<code>twinplate solve case.toml") && page.contains("id=\"outline\""));

    // the same case with a drawing 0.97 times as wide
    std::fs::write(folder.path().join("caisson.svg"), drawing("29.1")).unwrap();
    assert_ne!(combined(), first);
    let (_, error, code) = solve(&[]);
    assert!(code == 2 && error.contains("was changed") && error.contains("--force"), "{error}");
    assert_eq!(json(&results.join("report.json"))["case"]["combined_sha256"], first);
    std::fs::write(results.join("notes.txt"), "mine").unwrap();
    let (_, error, code) = run(folder.path(), &["solve", "case.toml", "--triangles", "500", "-q", "--force"]);
    assert_eq!((code, error.as_str()), (0, ""));
    assert_eq!(json(&results.join("results.json"))["combined_sha256"], combined());
    let left: Vec<String> = files_below(&results, "").into_iter().collect();
    let plain = [
        "fields.vtu",
        "notes.txt",
        "obstacles.vtp",
        "report.json",
        "report.txt",
        "results.json",
        "streaklines.csv",
        "streaklines.vtp",
    ];
    assert_eq!(left, plain);
}

fn arguments_typed(arguments: &[&str]) -> String {
    format!("twinplate {}", arguments.join(" "))
}

#[test]
fn cases_of_one_name_have_folders_of_their_own() {
    let folder = tempfile::tempdir().unwrap();
    set_up(&folder.path().join("north"), "North");
    set_up(&folder.path().join("south"), "South");
    let mesh = |case: &str| run(folder.path(), &["mesh", case, "--triangles", "300"]);
    let results = || files_below(&folder.path().join("results"), "");
    let (out, _, code) = mesh("north/case.toml");
    assert!(code == 0 && out.contains("results/case/mesh.vtu"), "{out}");
    let (out, error, code) = mesh("south/case.toml");
    assert!(code == 0 && out.contains("results/case-"), "{out}{error}");
    let both = results();
    assert_eq!(both.len(), 4);
    assert_eq!((mesh("north/case.toml").2, mesh("south/case.toml").2), (0, 0));
    assert_eq!(results(), both);
    // an edited case stays where it is, and says so
    set_up(&folder.path().join("north"), "North, edited");
    let (_, error, code) = mesh("north/case.toml");
    assert!(code == 2 && error.contains("was changed"), "{error}");

    // a preview goes to the results of its own case only while these are true
    let preview = |file: &str, more: &[&str]| run(folder.path(), &[&["outline", file, "-q"], more].concat());
    assert_eq!(preview("south/case.toml", &[]).2, 0);
    assert_eq!((preview("north/case.toml", &[]).2, preview("north/case.toml", &[]).2), (0, 0));
    std::fs::rename(folder.path().join("south/caisson.svg"), folder.path().join("case.svg")).unwrap();
    assert_eq!(preview("case.svg", &[]).2, 0);
    let previews: Vec<String> = results().into_iter().filter(|name| name.ends_with("preview.svg")).collect();
    assert_eq!(previews.len(), 3);
    assert!(
        previews[0].starts_with("case-") && !previews.iter().any(|name| name == "case/preview.svg"),
        "{previews:?}"
    );
    let (_, error, code) = preview("case.svg", &["-o", "results/case"]);
    assert!(code == 2 && error.contains("another folder") && !error.contains("--force"), "{error}");
}
