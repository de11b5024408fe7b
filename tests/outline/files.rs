//! Outlines from files.

use crate::*;
use std::f64::consts::PI;

fn from_file(text: &[u8], size: OutlineSize, angle: f64, mirror: bool) -> Result<Plan, Problems> {
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::write(folder.path().join("seal.csv"), text).expect("a file");
    let file = PathBuf::from("seal.csv");
    let placing = Placing::Centred { centre: [1.0, 0.5], size, angle, mirror };
    let shape = Shape::OutlineFile { file, placing, reading: ReadOptions::default() };
    let mut case = case(2.0, 1.0, vec![(shape, None)]);
    case.file = folder.path().join("case.toml");
    plan_of(&case)
}

#[test]
fn files_of_points_are_read() {
    let plain = b"0 0\n4 0\n4 2\n0 1\n".as_slice();
    let same: [&[u8]; 6] = [
        b"x, y\r\n0, 0\r\n4, 0\r\n4, 2\r\n0, 1\r\n",
        b"# seal\n\n0;0\n4;0 # corner\n4;2\n0;1\n0;0\n",
        b"\xef\xbb\xbfx y\n0\t0\n4e0 0\n4 0\n4 2\n0 1",
        b"0 1\n4 2\n4 0\n0 0\n",
        b"\"x\",\"y\"\n\"0\",\"0\"\n4,0\n4,2\n0,1\n",
        b"0 0\n0 0\n4 0\n4 2\n4 2\n0 1\n0 0\n0 0\n",
    ];
    // Width 4 to 0.4: scale 1/10, area 6/100; height 2 to 0.4: scale 1/5, area 6/25.
    let width = OutlineSize::Width(0.4);
    for text in [plain].into_iter().chain(same) {
        let plan = from_file(text, width, 0.0, false).expect("a plan");
        assert_sound(&plan);
        approx::assert_abs_diff_eq!(plan.area(), 2.0 - 0.06, epsilon = 1e-14);
        assert_eq!(plan.pieces.len(), 8);
    }
    let tall = from_file(plain, OutlineSize::Height(0.4), 0.3, false).expect("a plan");
    approx::assert_abs_diff_eq!(tall.area(), 2.0 - 0.24, epsilon = 1e-14);
    // Centred, mirrored, turned a quarter counter-clockwise: the high corner goes from the right to the left, then down.
    let at = |angle, mirror| -> Vec<[i64; 2]> {
        let plan = from_file(plain, width, angle, mirror).expect("a plan");
        let mut corners: Vec<_> =
            plan.pieces[4..].iter().map(|p| p.start().map(|v| (v * 1e6).round() as i64)).collect();
        corners.sort_unstable();
        corners
    };
    assert_eq!(at(0.0, false), [[800000, 400000], [800000, 500000], [1200000, 400000], [1200000, 600000]]);
    assert_eq!(at(0.0, true), [[800000, 400000], [800000, 600000], [1200000, 400000], [1200000, 500000]]);
    assert_eq!(at(PI / 2.0, true), [[900000, 300000], [1000000, 700000], [1100000, 300000], [1100000, 700000]]);
}

#[test]
fn bad_files_are_reported_with_their_place() {
    let width = OutlineSize::Width(0.4);
    let problems = from_file(b"x y\n0 0\n4 zero\n4 nan\n1 2 3\n", width, 0.0, false).expect_err("no error");
    let places: Vec<_> = problems.list.iter().map(|p| p.span.clone()).collect();
    assert_eq!(places, [Some(8..14), Some(15..20), Some(21..26)]);
    assert!(problems.list[0].file.ends_with("seal.csv"));
    assert_says(&problems.list[0].message, &["y is `zero`, which is not a number"]);
    assert_says(&problems.list[1].message, &["not a finite number"]);
    assert_says(&problems.list[2].message, &["expected two numbers, found 3"]);
    for (text, word) in [
        (b"".as_slice(), "three distinct points"),
        (b"0 0\n1 1\n0 0\n1 1\n", "three distinct points"),
        (b"0 0\n1 1\n\xff\xfe", "not UTF-8"),
        (b"0 0\n1 0\n2 0\n", "no area"),
        (b"<svg>\n", "three distinct points"),
    ] {
        let problems = from_file(text, width, 0.0, false).expect_err("no error");
        assert_says(&problems.list[0].message, &[word]);
        assert_eq!(problems.list[0].span, Some(0..5));
        assert!(problems.list[0].file.ends_with("case.toml"));
    }
    let many: String = (0..1_000_003).map(|i| format!("{i} 0\n")).collect();
    assert_says(
        &from_file(many.as_bytes(), width, 0.0, false).expect_err("no error").list[0].message,
        &["1000000 points"],
    );
    for file in ["none.csv", "."] {
        let shape = Shape::OutlineFile {
            file: file.into(),
            placing: Placing::Centred { centre: [1.0, 0.5], size: width, angle: 0.0, mirror: false },
            reading: ReadOptions::default(),
        };
        let words = if file == "." { "is a folder" } else { "cannot read the outline file" };
        assert_says(&only_mistake(free(vec![shape])).0, &[words, "pier 0"]);
    }
}
