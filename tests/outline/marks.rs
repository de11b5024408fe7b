//! Calibration marks: where they stand, and that drawings and case say the same of them.

use crate::*;
use std::collections::BTreeSet;
use twinplate::report::cut::CutSheet;
use twinplate::report::marks::{MarkSettings, MarkShape, Marks};
use twinplate::report::{CutSettings, case_sheet};

const SIZE: f64 = 7e-3;

fn settings(count: Option<usize>) -> MarkSettings {
    MarkSettings { count, ..MarkSettings::default() }
}

fn sheet(case: &Case, plan: &Plan, marks: MarkSettings) -> twinplate::Result<CutSheet> {
    case_sheet(case, plan, &CutSettings { marks, ..CutSettings::default() })
}

fn places(case: &Case, plan: &Plan, count: usize) -> Vec<Point> {
    let marks = sheet(case, plan, settings(Some(count))).unwrap().marks.unwrap();
    marks.list.iter().map(|mark| mark.at.map(|x| 1e-3 * x)).collect()
}

fn distance(p: Point, q: Point) -> f64 {
    (p[0] - q[0]).hypot(p[1] - q[1])
}

fn demos() -> Vec<(Case, std::sync::Arc<Plan>)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("meshes");
    let mut files: Vec<PathBuf> = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.retain(|path| path.extension().is_some_and(|e| e == "toml"));
    files.sort();
    assert!(files.len() >= 8);
    files.iter().map(|path| twinplate::study::read(path).unwrap()).collect()
}

/// A mark reaches half its size from its middle and has its size free round that; two marks have two sizes between them.
fn assert_clear(plan: &Plan, places: &[Point]) {
    let edge: Vec<Point> = plan
        .pieces
        .iter()
        .flat_map(|piece| {
            let steps = (piece.length() / 2e-4).ceil().max(1.0);
            (0..=steps as usize).map(move |k| piece.point(k as f64 / steps))
        })
        .collect();
    for (k, &p) in places.iter().enumerate() {
        assert!(plan.contains(p), "{p:?}");
        let free = edge.iter().map(|&q| distance(p, q)).fold(f64::INFINITY, f64::min);
        assert!(free > 1.5 * SIZE - 1e-9, "{p:?} {free}");
        assert!(places[..k].iter().all(|&q| distance(p, q) > 3.0 * SIZE - 1e-9), "{p:?}");
    }
}

/// Lowest triangle of three of the first four, as a share of the largest distance of two marks.
fn flattest(places: &[Point]) -> f64 {
    let extent = places.iter().flat_map(|p| places.iter().map(|q| distance(*p, *q))).fold(0.0, f64::max);
    let height = |left_out: usize| {
        let three: Vec<Point> = (0..4).filter(|k| *k != left_out).map(|k| places[k]).collect();
        let [a, b, c] = three[..] else { panic!() };
        let area = ((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])).abs();
        area / distance(a, b).max(distance(b, c)).max(distance(c, a))
    };
    (0..4).map(height).fold(f64::INFINITY, f64::min) / extent
}

#[test]
fn marks_of_all_demos_are_clear_and_spread() {
    for (case, plan) in demos() {
        let cell = case.cell.size();
        for count in 4..=12 {
            let places = places(&case, &plan, count);
            assert_eq!(places.len(), count);
            assert_clear(&plan, &places);
            assert!(flattest(&places) > 0.05, "{}: {places:?}", case.title);
            // a rectangle has corners for them, and they are free in all of these
            if case.cell.shape.rectangle().is_none() {
                continue;
            }
            for (k, extent) in cell.iter().enumerate() {
                let spread = [f64::min, f64::max].map(|f| places.iter().map(|p| p[k]).reduce(f).unwrap());
                assert!(spread[0] < 2.0 * SIZE && spread[1] > extent - 2.0 * SIZE, "{}: {places:?}", case.title);
            }
            // in the border, not amid the flow
            let inner = places.iter().filter(|p| (0..2).all(|k| p[k] > 0.2 * cell[k] && p[k] < 0.8 * cell[k])).count();
            assert_eq!(inner, 0, "{}: {places:?}", case.title);
            assert!(count < 6 || places.iter().any(|p| (p[0] / cell[0] - 0.5).abs() < 0.2), "{places:?}");
        }
        assert_eq!(sheet(&case, &plan, settings(None)).unwrap().marks.unwrap().list.len(), 8);
    }
}

/// A block on the upper wall leaves a channel of 30 mm below and 70 mm to its left: the corners on its right are gone, and marks in the
/// channel alone would stand in a line.
#[test]
fn corners_that_are_taken_leave_no_three_in_a_line() {
    let block = rectangle([0.07, 0.18], [0.03, 0.12]);
    let case = case(0.2, 0.1, vec![(block, Some(Wall::Upper)), (circle(0.011, 0.011, 0.01), None)]);
    let plan = plan_of(&case).unwrap();
    for count in 4..=7 {
        let places = places(&case, &plan, count);
        assert_clear(&plan, &places);
        assert!(flattest(&places) > 0.05, "{places:?}");
    }
}

/// 18 mm between marks at both walls of a channel of 40 mm: a twentieth of 378 mm is more. A shorter one has room, a cell of 20 mm none at all,
/// and of smaller marks it has.
#[test]
fn a_cell_without_room_says_so() {
    let refused = |case: &Case, count: usize| {
        let plan = plan_of(case).unwrap();
        let error = sheet(case, &plan, settings(Some(count))).unwrap_err();
        assert!(error.remedy().unwrap().contains("smaller"));
        let unasked = sheet(case, &plan, settings(None)).unwrap();
        (error.to_string(), unasked)
    };
    let channel = case(0.4, 0.04, vec![]);
    let (said, unasked) = refused(&channel, 4);
    assert_says(&said, &["400.0 mm by 40.0 mm", "room for 2 calibration marks of 7.0 mm, not for 4", "in a line"]);
    assert!(unasked.marks.as_ref().unwrap().list.is_empty());
    for text in [unasked.svg(), unasked.dxf()] {
        assert!(text.contains("No calibration marks") && !text.contains("engraving"), "{text}");
    }
    // 38 mm by 28 mm take four marks 21 mm apart, not eight
    let (said, unasked) = refused(&case(0.06, 0.05, vec![]), 8);
    assert_says(&said, &["not for 8"]);
    assert!((4..8).contains(&unasked.marks.unwrap().list.len()));
    let small = case(0.05, 0.02, vec![]);
    assert_says(&refused(&small, 4).0, &["room for 0 calibration marks"]);
    let plan = plan_of(&small).unwrap();
    let smaller = MarkSettings { size: 2e-3, ..settings(Some(8)) };
    assert_eq!(sheet(&small, &plan, smaller).unwrap().marks.unwrap().list.len(), 8);
    assert_eq!(sheet(&small, &plan, settings(Some(0))).unwrap().marks, None);
}

/// What is engraved in the SVG file, in the cell, mm: ends of lines, and middle and radius of circles.
fn engraved_svg(sheet: &CutSheet) -> (Vec<[f64; 4]>, Vec<[f64; 3]>) {
    let svg = sheet.svg();
    let group = |id: &str| svg.split(&format!("<g id=\"{id}\"")).nth(1).unwrap().split("</g>").next().unwrap();
    let numbers = |line: &str, names: &[&str]| -> Vec<f64> {
        let value = |name: &&str| line.split(&format!(" {name}=\"")).nth(1)?.split('"').next()?.parse().ok();
        names.iter().map(|name| value(name).unwrap()).collect()
    };
    let lines = |id: &str| -> Vec<[f64; 4]> {
        let lines = group(id).lines().filter(|line| line.starts_with("<line"));
        lines.map(|line| numbers(line, &["x1", "y1", "x2", "y2"]).try_into().unwrap()).collect()
    };
    // the first cross for the size tells where the cell stands on the page
    let first = lines("calibration")[0];
    let [low, _] = sheet.crosses();
    let (left, top) = (0.5 * (first[0] + first[2]) - low[0], first[1] + low[1]);
    let circles = group("engraving").lines().filter(|line| line.starts_with("<circle")).map(|line| {
        let [x, y, r] = numbers(line, &["cx", "cy", "r"])[..] else { panic!() };
        [x - left, top - y, r]
    });
    let lines = lines("engraving").into_iter().map(|[a, b, c, d]| [a - left, top - b, c - left, top - d]);
    (lines.collect(), circles.collect())
}

/// The same of the DXF file.
fn engraved_dxf(sheet: &CutSheet) -> (Vec<[f64; 4]>, Vec<[f64; 3]>) {
    let dxf = sheet.dxf();
    let words: Vec<&str> = dxf.lines().map(str::trim).collect();
    let pairs: Vec<(&str, &str)> = words.chunks(2).map(|pair| (pair[0], pair[1])).collect();
    let (mut lines, mut circles) = (Vec::new(), Vec::new());
    for entity in pairs.split(|(code, _)| *code == "0").filter(|e| e.contains(&("8", "engraving"))) {
        let at = |code: &str| entity.iter().find(|pair| pair.0 == code).map(|pair| pair.1.parse::<f64>().unwrap());
        match (at("11"), at("40")) {
            (Some(x), _) => lines.push([at("10").unwrap(), at("20").unwrap(), x, at("21").unwrap()]),
            (_, Some(r)) => circles.push([at("10").unwrap(), at("20").unwrap(), r]),
            _ => panic!("{entity:?}"),
        }
    }
    (lines, circles)
}

fn whole(x: f64) -> i64 {
    assert!((x - x.round()).abs() < 1e-9, "{x}");
    x.round() as i64
}

/// The middles that lines as long as a mark share, and those of circles; what else there is are letters, each beside its mark.
fn middles((lines, circles): (Vec<[f64; 4]>, Vec<[f64; 3]>), marks: &Marks) -> BTreeSet<[i64; 2]> {
    let is_arm = |[a, b, c, d]: &[f64; 4]| (distance([*a, *b], [*c, *d]) - marks.size).abs() < 1e-9;
    let (arms, letters): (Vec<_>, Vec<_>) = lines.into_iter().partition(is_arm);
    assert!(letters.len() >= 2 * marks.list.len());
    for [a, b, c, d] in letters {
        for end in [[a, b], [c, d]] {
            let nearest = marks.list.iter().map(|m| distance(m.at, end)).fold(f64::INFINITY, f64::min) / marks.size;
            assert!(nearest > 0.7 && nearest < 1.2, "{end:?} {nearest}");
        }
    }
    let found: Vec<[i64; 2]> = match marks.shape {
        MarkShape::Dot => {
            assert!(arms.is_empty() && circles.iter().all(|c| c[2] == 0.5 * marks.size));
            circles.iter().map(|c| [whole(c[0]), whole(c[1])]).collect()
        }
        MarkShape::Cross => {
            assert!(circles.is_empty());
            let middle = |[a, b, c, d]: &[f64; 4]| [whole(0.5 * (a + c)), whole(0.5 * (b + d))];
            let (level, upright): (Vec<_>, Vec<_>) = arms.iter().partition(|arm| arm[1] == arm[3]);
            let level: Vec<_> = level.iter().copied().map(middle).collect();
            assert_eq!(level, upright.iter().copied().map(middle).collect::<Vec<_>>());
            level
        }
    };
    assert_eq!(found.len(), marks.list.len());
    found.into_iter().collect()
}

#[test]
fn drawings_and_block_have_the_same_marks() {
    let tall = case(0.1234, 0.2, vec![(circle(0.06, 0.1, 0.04), None)]);
    let tall_plan = plan_of(&tall).unwrap().into();
    for (case, plan) in demos().into_iter().chain([(tall, tall_plan)]) {
        for (count, shape, size) in
            [(4, MarkShape::Dot, 6e-3), (8, MarkShape::Cross, 7e-3), (12, MarkShape::Cross, 5.5e-3)]
        {
            let sheet = sheet(&case, &plan, MarkSettings { count: Some(count), size, shape }).unwrap();
            let marks = sheet.marks.clone().unwrap();
            let text = marks.block("case_cut.svg");
            let block: toml::Table = toml::from_str(&text).unwrap();
            let photo = block["photo"].as_table().unwrap();
            assert!(photo["file"].is_str() && photo["marks_on"].as_str() == Some("inner face"));
            let length = |value: &toml::Value| {
                let text = value.as_str().unwrap();
                twinplate::base::units::parse(text, twinplate::base::units::Dimension::Length).unwrap()
            };
            assert!((length(&photo["mark_size"]) - size).abs() < 1e-12);
            let list = photo["mark"].as_array().unwrap();
            let names: String = list.iter().map(|mark| mark["name"].as_str().unwrap()).collect();
            assert_eq!(names, "abcdefghijkl"[..count]);
            assert!(list.iter().all(|mark| mark["pixel"].as_array().unwrap().len() == 2));
            let places: Vec<[i64; 2]> =
                list.iter().map(|mark| [0, 1].map(|k| whole(1e3 * length(&mark["at"][k])))).collect();
            let listed: Vec<[i64; 2]> = marks.list.iter().map(|mark| mark.at.map(whole)).collect();
            assert_eq!(places, listed);
            let places: BTreeSet<[i64; 2]> = places.into_iter().collect();
            assert_eq!(middles(engraved_svg(&sheet), &marks), places);
            assert_eq!(middles(engraved_dxf(&sheet), &marks), places);
            // the coordinates are in the files as words too
            let [x, y] = listed[1];
            assert!([sheet.svg(), sheet.dxf()].iter().all(|text| text.contains(&format!("b ({x}, {y})"))));
        }
    }
}
