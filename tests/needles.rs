//! Needles and times of a case: every way to write them, and what every mistake says and where.

use std::path::Path;
use tempfile::TempDir;
use twinplate::base::error::Problems;
use twinplate::geometry::Plan;
use twinplate::input::case::{Case, Seeding, Starts, Times, load};
use twinplate::study::warnings_before;

const CASE: &str = r#"[cell]
length = "400 mm"
width = "200 mm"
gap = "1 mm"
[fluid]
name = "water"
temperature = "20 degC"
[drive]
mean_speed = "1 mm/s"
[[obstacle]]
name = "dolphin"
circle = { centre = ["200 mm", "100 mm"], diameter = "40 mm" }
[streaklines]
"#;

/// A folder with the case, these keys in its `[streaklines]` from line 14 on, and a file of needles.
fn folder(keys: &str, needles: &str) -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("case.toml"), format!("{CASE}{keys}\n")).unwrap();
    std::fs::write(folder.path().join("needles.csv"), needles).unwrap();
    folder
}

/// The case, or all that is wrong with it and its plan.
fn read(folder: &Path) -> Result<(Case, Plan), Problems> {
    let loaded = load(&folder.join("case.toml"));
    let mut problems = loaded.problems;
    let plan = loaded.case.as_ref().and_then(|case| Plan::new(case, &mut problems));
    match (loaded.case, plan) {
        (Some(case), Some(plan)) if problems.is_empty() => Ok((case, plan)),
        _ => Err(problems),
    }
}

fn good(keys: &str, needles: &str) -> (Case, Plan) {
    read(folder(keys, needles).path()).unwrap_or_else(|problems| panic!("{problems}"))
}

fn starts(keys: &str, needles: &str) -> Starts {
    match good(keys, needles).0.streaklines.seeding {
        Seeding::At(starts) => starts,
        other => panic!("{other:?}"),
    }
}

/// The same two needles in the case, and in files of every hand.
#[test]
fn needles_are_read_from_the_case_and_from_files() {
    let exact = [[0.02, 0.018], [0.02, 0.025]];
    let near = |starts: Starts| {
        assert_eq!(starts.places.len(), 2);
        for (p, q) in starts.places.iter().zip(exact) {
            assert!((p[0] - q[0]).abs() < 1e-15 && (p[1] - q[1]).abs() < 1e-15, "{p:?}");
        }
    };
    near(starts("starts = { x = \"20 mm\", y = [\"18 mm\", 0.025] }", ""));
    near(starts("starts = [[\"20 mm\", \"18 mm\"], [0.02, 0.025]]", ""));
    for needles in [
        "x_mm,y_mm\n20,18\n20,25\n",
        "# rack\nx [cm]; y [mm]\n2; 18\n2; 25 # last\n",
        "y,x\nmm\n18,20\n25,20\n",
        "0.02 0.018\n0.02 0.025\n",
    ] {
        near(starts("starts = { file = \"needles.csv\" }", needles));
    }
    let case =
        good("starts = { file = \"needles.csv\" }\nneedle_diameter = \"0.8 mm\"\ntimes = \"10 s\"", "0.02 0.018\n").0;
    assert_eq!(case.inputs[0].file, Path::new("needles.csv"));
    assert_eq!(case.streaklines.needle.map(|needle| needle.diameter), Some(0.8e-3));
    assert_eq!(case.streaklines.times, Some(Times::Every(10.0)));
    let case = good("times = [\"5 s\", 10, \"1 min\"]", "").0;
    assert_eq!(case.streaklines.times, Some(Times::At(vec![5.0, 10.0, 60.0])));
    assert!(case.streaklines.needle.is_none() && case.streaklines.seeding.needles().is_empty());
}

/// Keys, what is in the file, the file, line and column of the mistake, and words of it.
#[test]
fn mistakes_of_needles_and_times_have_their_place_and_a_remedy() {
    let file = "starts = { file = \"needles.csv\" }";
    let table: &[(&str, &str, &str, &[&str])] = &[
        ("starts = []", "", "case.toml:14:10", &["list of 1 to"]),
        ("starts = { x = 0.1, y = [] }", "", "case.toml:14:25", &["list of 1 to"]),
        ("starts = { x = 0.1 }", "", "case.toml:14:10", &["lacks the key \"y\""]),
        (
            "starts = { x = 0.1, file = \"needles.csv\" }",
            "0.1 0.1\n",
            "case.toml:14:12",
            &["both \"file\" and \"x\"", "keep one"],
        ),
        ("starts = [\"18 s\"]", "", "case.toml:14:11", &["is a time, not a length"]),
        ("count = 4\nstarts = [0.1]", "", "case.toml:14:1", &["both \"count\" and \"starts\""]),
        ("starts = [0.1]\nspacing = 0.1", "", "case.toml:15:1", &["both \"spacing\" and \"starts\""]),
        // where the fluid is not
        (
            "starts = [0.05, 0.25]",
            "",
            "case.toml:14:17",
            &["needle 2 at", "is outside the cell", "move it into the fluid"],
        ),
        ("starts = [[0.1, 0.1], [0.2, 0.11]]", "", "case.toml:14:23", &["needle 2 at", "is inside \"dolphin\""]),
        (file, "x_mm,y_mm\n20,30\n200,110\n", "needles.csv:3:1", &["needle 2 at", "is inside \"dolphin\"", "move it"]),
        (file, "x_mm,y_mm\n20,30\n20,-1\n", "needles.csv:3:1", &["needle 2 at", "is outside the cell"]),
        // files
        (file, "x_mm,gap_mm\n20,30\n", "needles.csv:1:1", &["is called \"gap", "name the columns x and y"]),
        (file, "x_mm\n", "needles.csv:1:1", &["no column is called \"y\""]),
        (file, "x_mm,y_mm\n20\n", "needles.csv:2:1", &["expected two numbers, found 1 entry"]),
        (file, "x_s,y_mm\n20,3\n", "needles.csv:1:1", &["unit of x"]),
        (file, "x_mm,y_mm\n20,wide\n", "needles.csv:2:1", &["y is `wide`"]),
        (file, "x,y\n20,30\n", "needles.csv:2:1", &["read in metres", "if cm are meant"]),
        (file, "# none\n", "needles.csv", &["names none", "write x and y"]),
        ("starts = { file = \"needle.csv\" }", "", "needle.csv", &["cannot be read", "did you mean \"needles.csv\"?"]),
        // diameters
        ("needle_diameter = 0", "", "case.toml:14:19", &["must be above zero"]),
        ("needle_diameter = \"1 s\"", "", "case.toml:14:19", &["is a time, not a length"]),
        (
            "starts = [0.05, 0.06, 0.0605]\nneedle_diameter = \"0.8 mm\"",
            "",
            "case.toml:15:19",
            &["needle_diameter is 0.8 mm, and needles 2 and 3 stand 0.5 mm apart", "thinner"],
        ),
        (
            "count = 400\nneedle_diameter = \"0.8 mm\"",
            "",
            "case.toml:15:19",
            &["400 of them across the inlet stand 0.5 mm"],
        ),
        ("spacing = 0.0005\nneedle_diameter = \"0.8 mm\"", "", "case.toml:15:19", &["neighbours stand 0.5 mm apart"]),
        (
            "starts = [0.0003, 0.05]\nneedle_diameter = \"0.8 mm\"",
            "",
            "case.toml:14:11",
            &["needle 1 of 0.8 mm at", "touches a wall or an obstacle", "take a thinner one"],
        ),
        ("starts = [[0.2, 0.0797]]\nneedle_diameter = \"0.8 mm\"", "", "case.toml:14:11", &["touches a wall"]),
        // times
        ("times = []", "", "case.toml:14:9", &["list of 1 to", "values that grow"]),
        ("times = \"-1 s\"", "", "case.toml:14:9", &["must be above zero"]),
        ("times = 0", "", "case.toml:14:9", &["must be above zero"]),
        ("times = \"1 mm\"", "", "case.toml:14:9", &["is a length, not a time"]),
        ("times = [\"5 s\", \"-3 s\"]", "", "case.toml:14:17", &["must be above zero"]),
        ("times = [\"5 s\", \"5 s\"]", "", "case.toml:14:17", &["does not grow", "ascending order"]),
        ("times = [\"5 s\", \"3 mm\"]", "", "case.toml:14:17", &["is a length, not a time"]),
        ("times = { every = 3 }", "", "case.toml:14:9", &["times must be"]),
    ];
    for (keys, needles, place, words) in table {
        let folder = folder(keys, needles);
        let Err(problems) = read(folder.path()) else { panic!("{keys} is let through") };
        let told = problems.to_string();
        assert!(told.contains(place), "{keys}, {needles}: not at {place}: {told}");
        assert!(words.iter().all(|word| told.contains(word)), "{keys}, {needles}: {told}");
        assert_eq!(problems.list.len(), 1, "{told}");
    }
}

/// Needles no thicker than the gap go between the plates; where the gap varies the narrowest at a needle counts.
#[test]
fn thick_needles_are_warned_of() {
    let told = |keys: &str| {
        let (case, plan) = good(keys, "");
        warnings_before(&case, &plan).into_iter().find(|w| w.code.key() == "thick_needle").map(|w| w.message)
    };
    assert_eq!(told("needle_diameter = \"1 mm\""), None);
    assert_eq!(told("starts = [0.05]\nneedle_diameter = \"1 mm\""), None);
    let message = told("starts = [0.05]\nneedle_diameter = \"1.01 mm\"").unwrap();
    assert!(message.contains("1.01 mm") && message.contains("plates that are 1 mm apart"), "{message}");
}
