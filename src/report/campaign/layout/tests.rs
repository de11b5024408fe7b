//! Which keys stand where, and which runs.

use super::*;
use crate::input::campaign::{Planned, read_plan};
use std::path::PathBuf;

/// The runs of a plan over `meshes/seal.toml` with these lines after its head.
fn runs(name: &str, rest: &str, files: &[(&str, &str)]) -> Runs {
    let dir = std::env::temp_dir().join(format!("twinplate-layout-{name}-{}", std::process::id()));
    std::fs::create_dir_all(&dir).unwrap();
    for (file, text) in files {
        std::fs::write(dir.join(file), text).unwrap();
    }
    let case = PathBuf::from("meshes/seal.toml").canonicalize().unwrap();
    let plan = dir.join("plan.toml");
    let head = format!("case = '{}'\nmeasure = 'drive.head'\n", case.display());
    std::fs::write(&plan, format!("{head}{rest}")).unwrap();
    let Planned::Runs(campaign) = read_plan(&plan).unwrap() else { panic!("a search") };
    std::fs::remove_dir_all(dir).unwrap();
    campaign.runs
}

const SPEEDS: &str = "'drive.mean_speed' = ['0.3 mm/s', '0.1 mm/s']\n";
const GAPS: &str = "'cell.gap' = { from = '0.3 mm', to = '1 mm', steps = 8 }\n";

/// One key of numbers stands along in rising order, with its unit; a key of one value is said.
#[test]
fn one_key_stands_along() {
    let layout = Layout::new(&runs("one", &format!("[vary]\n{SPEEDS}'cell.gap' = ['0.5 mm']\n"), &[])).unwrap();
    assert_eq!(layout.along.label, "mean speed (drive), mm/s");
    assert_eq!(layout.along.steps, Steps::Numbers(vec![0.1, 0.3]));
    assert_eq!((layout.across, layout.runs), (None, vec![vec![Some(1), Some(0)]]));
    assert_eq!(layout.said, ["gap (cell) is 0.5 mm"]);
    assert!(Layout::new(&runs("none", "[vary]\n'cell.gap' = ['0.5 mm']\n", &[])).is_none());
}

/// Of two keys that with fewer values is told apart by curves, wherever it stands in the plan; of two with many values both are
/// axes of fields.
#[test]
fn the_key_with_fewer_values_makes_the_curves() {
    let [one, other] = [format!("[vary]\n{SPEEDS}{GAPS}"), format!("[vary]\n{GAPS}{SPEEDS}")]
        .map(|rest| Layout::new(&runs("two", &rest, &[])).unwrap());
    for layout in [&one, &other] {
        assert_eq!(layout.along.label, "gap (cell), mm");
        assert_eq!(layout.across.as_ref().unwrap().values, ["0.1 mm/s", "0.3 mm/s"]);
        assert!(layout.has_curves());
    }
    // in the first plan gaps change fastest and 0.1 mm/s comes second
    assert_eq!(one.runs[0], (8..16).map(Some).collect::<Vec<_>>());
    assert_eq!(other.runs[0], (0..8).map(|k| Some(2 * k + 1)).collect::<Vec<_>>());
    let many = GAPS.replace("cell.gap", "obstacle.seal.angle").replace("0.3 mm", "1").replace("1 mm", "8");
    let layout = Layout::new(&runs("many", &format!("[vary]\n{GAPS}{}", many.replace('\'', "\"")), &[]));
    assert!(!layout.unwrap().has_curves());
}

/// Files stand along by their names, without the folder that all of them share; the caption of a key held tells a file whole.
#[test]
fn files_are_named_without_their_folder() {
    let of = |list: &str| {
        Layout::new(&runs("files", &format!("[vary]\n'obstacle.seal.outline.file' = [{list}]\n"), &[])).unwrap()
    };
    assert_eq!(of("'a/b/1.csv', 'a/b/2.csv'").along.steps, Steps::Names(vec!["1.csv".into(), "2.csv".into()]));
    assert_eq!(of("'a/b/1.csv', 'a/2.csv'").along.steps, Steps::Names(vec!["a/b/1.csv".into(), "a/2.csv".into()]));
}

/// Of three keys the first stands along, the second makes curves, the third is at its first value.
#[test]
fn a_third_key_is_held() {
    let angles = "'obstacle.seal.angle' = [3, 1, 2]\n";
    let layout = Layout::new(&runs("three", &format!("[vary]\n{angles}{SPEEDS}{GAPS}"), &[])).unwrap();
    assert_eq!(layout.along.label, "angle (obstacle, seal), deg");
    assert_eq!(layout.across.unwrap().name, "mean speed (drive)");
    assert_eq!(layout.said, ["gap (cell) is 0.3 mm"]);
    // angle 1 is the second, 0.1 mm/s the second, the gap the first: 1 * 16 + 1 * 8
    assert_eq!(layout.runs[0][0], Some(24));
}

/// Keys one by one: a key that has one value for each of the first goes along; words keep their order.
#[test]
fn keys_one_by_one_go_along() {
    let rest =
        "combine = 'zip'\n[vary]\n'drive.ends' = ['uniform-flow', 'held-pressure']\n'cell.gap' = ['1 mm', '2 mm']\n";
    let layout = Layout::new(&runs("zip", rest, &[])).unwrap();
    assert_eq!(layout.along.steps, Steps::Names(vec!["uniform-flow".into(), "held-pressure".into()]));
    assert_eq!((layout.across, layout.runs), (None, vec![vec![Some(0), Some(1)]]));
    assert_eq!(layout.said, ["gap (cell) goes along with it"]);
}

/// A list in which the second key has several values for one of the first makes curves of it; runs at other values of the third are left out,
/// and places that the list does not name are none.
#[test]
fn a_list_makes_curves_of_its_second_key() {
    let list =
        "cell.gap,drive.mean_speed,obstacle.seal.angle\n1 mm,1 mm/s,0\n1 mm,2 mm/s,0\n2 mm,1 mm/s,0\n2 mm,2 mm/s,5\n";
    let layout = Layout::new(&runs("list", "list = 'runs.csv'\n", &[("runs.csv", list)])).unwrap();
    assert_eq!(layout.across.as_ref().unwrap().values, ["1 mm/s", "2 mm/s"]);
    // the angle has one value for each pair of the others
    assert_eq!(layout.runs, [[Some(0), Some(2)], [Some(1), Some(3)]]);
    assert_eq!(layout.said, ["angle (obstacle, seal) goes along with it"]);
    let more = format!("{list}1 mm,1 mm/s,7\n");
    let layout = Layout::new(&runs("more", "list = 'runs.csv'\n", &[("runs.csv", &more)])).unwrap();
    assert_eq!(layout.runs, [[Some(0), Some(2)], [Some(1), None]]);
    assert_eq!(layout.said, ["angle (obstacle, seal) is 0"]);
}
