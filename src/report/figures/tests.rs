//! All figures of a study: lettering, bytes, fonts, contours.

use super::*;
use crate::base::plane;
use crate::report::Report;
use crate::study::{Settings, Wanted, read};
use crate::theory::ideal::Goal;

fn study(name: &str, triangles: usize) -> Study {
    let (case, plan) = read(format!("meshes/{name}.toml").as_ref()).unwrap();
    let settings = Settings { goal: Some(Goal::Triangles(triangles)), inertia: true, edge_layer: true };
    Study::solve(case, plan, settings, &|_| {}).unwrap()
}

/// Every figure of five demos, in both widths and both palettes: no text reaches out of its drawing or overlaps another, and
/// SVG, PDF and PNG keep every letter.
#[test]
fn no_text_is_cut_off_overlaps_or_is_lost() {
    for (name, least) in
        [("two_piers", 12), ("keel_section", 12), ("tapered_gap", 12), ("pier_with_bubble", 13), ("dye_rack", 13)]
    {
        let study = study(name, 3000);
        let found = study.find(Wanted { departure: true, figures: true, ..Wanted::default() }, &|_| {}).unwrap();
        for (palette, column) in [(Palette::Colour, Column::Double), (Palette::Grey, Column::Single)] {
            let style = Style { palette, column };
            let (axes, names) = (true, true);
            let settings = FigureSettings { style, spacing: Some(10e-3), axes, names, ..FigureSettings::default() };
            let figures = study.figures(&found, &settings).unwrap();
            let words = figures.iter().flat_map(Canvas::texts).flat_map(|t| t.text.split([' ', '/']));
            let plain: Vec<&str> = words.filter(|word| is_plain(word)).collect();
            assert!(plain.is_empty(), "{name}: exponents that are not raised: {plain:?}");
            assert!(figures.len() >= least, "{name}: {}", figures.len());
            let faults: Vec<String> = figures.iter().flat_map(Canvas::crowded).collect();
            assert!(faults.is_empty(), "{name}, {column:?}: {faults:#?}");
            for figure in &figures {
                assert!(figure.pdf().unwrap().len() > 1000 && figure.png(40.0).unwrap().len() > 1000);
            }
        }
    }
}

/// Lines of equal speed at the case's own mesh, walked in steps of 1 mm of the page: a line without facets turns as much in one step as in
/// the next, to the change of its curvature. The sharpest bends of these lines have radii of some 5 mm, 11 degrees a step, that set in
/// within some three steps: 4 degrees more or less from step to step, in bends alone. Facets of the solved mesh, whose sides are up to 8 mm
/// long there, turn a line by 10 degrees and more at once and not at all before and after.
#[test]
fn contours_show_no_facets() {
    use crate::report::figure::iso_lines;
    let (case, plan) = read("meshes/two_piers.toml".as_ref()).unwrap();
    let study = Study::solve(case, plan, Settings::default(), &|_| {}).unwrap();
    let found = study.find(Wanted { figures: true, ..Wanted::default() }, &|_| {}).unwrap();
    let step = study.case.cell.size()[0] / 172.0;
    // root mean square over a line, of the roughest line
    let roughest = |drawn: Drawn| -> f64 {
        let (mesh, speed) = (drawn.mesh(), drawn.smooth(&study.pattern.speed_ratio()));
        let rough = |line: Vec<Point>| -> f64 {
            let mut walked: Vec<Point> = Vec::new();
            for p in line {
                if walked.last().is_none_or(|q| plane::distance(*q, p) >= step) {
                    walked.push(p);
                }
            }
            let turn = |w: &[Point]| plane::turn(plane::way(w[0], w[1]), plane::way(w[1], w[2])).to_degrees();
            let turns: Vec<f64> = walked.windows(3).map(turn).collect();
            let squares: Vec<f64> = turns.windows(2).map(|w| (w[1] - w[0]).powi(2)).collect();
            (squares.iter().sum::<f64>() / squares.len().max(1) as f64).sqrt()
        };
        let chains = [1.0, 1.2, 1.4].map(|level| iso_lines(mesh, &speed, level)).concat();
        assert!(chains.len() > 10);
        chains.iter().map(|chain| rough(chain.points(&mesh.points))).fold(0.0, f64::max)
    };
    let solved = &study.solved.space.mesh;
    let smooth = roughest(Drawn { finer: found.drawn.as_ref(), solved });
    assert!(smooth < 4.0, "{smooth} degrees");
    let rough = roughest(Drawn { finer: None, solved });
    assert!(rough > 10.0, "{rough} degrees: the solved mesh would do");
}

/// Whether a word has an exponent that is written on the line, such as 1e-3, x^2 or mm2.
fn is_plain(word: &str) -> bool {
    let number = word.contains('e') && word.parse::<f64>().is_ok();
    number || word.contains('^') || ["m2", "mm2", "m3", "mm3"].iter().any(|unit| word.starts_with(unit))
}

/// By option each map has rulers in mm round it and the names of obstacles and probes in it, in either width; without, none has.
#[test]
fn rulers_and_names_come_by_option() {
    assert!(is_plain("1e-3") && is_plain("mm2") && !is_plain("10⁻³") && !is_plain("line"));
    let study = study("two_piers", 2000);
    let found = study.find(Wanted { figures: true, ..Wanted::default() }, &|_| {}).unwrap();
    for column in [Column::Single, Column::Double] {
        let style = Style { column, ..Style::default() };
        let of = |axes: bool, names: bool| {
            let settings = FigureSettings { style, axes, names, ..FigureSettings::default() };
            study.figures(&found, &settings).unwrap()
        };
        for (plain, marked) in of(false, false).iter().zip(&of(true, true)) {
            let has = |canvas: &Canvas, text: &str| canvas.texts().iter().any(|t| t.text == text);
            for text in ["large pier", "small pier", "shoulder", "approach"] {
                assert!(has(marked, text) && !has(plain, text), "{}, {column:?}: {text}", plain.name());
            }
            assert!(has(marked, "mm") && has(marked, "400") && !has(plain, "mm"));
            assert!(marked.crowded().is_empty(), "{:?}", marked.crowded());
        }
    }
}

/// A field of a million triangles: each figure stays under 5 MB in every vector format, as outlines and as
/// pictures in the frame. Run by name, best in release: it takes a minute and 2 GB.
#[test]
#[ignore = "a million triangles"]
fn a_million_triangles_make_small_drawings() {
    let study = study("two_piers", 1_000_000);
    let mesh = &study.solved.space.mesh;
    assert!(mesh.triangles.len() > 800_000);
    for raster in [None, Some(300.0)] {
        let map = CellMap::new(mesh, Style::default(), raster);
        let (speed, shares) = (study.pattern.speed_ratio(), &study.solved.pair.bracket_density);
        let drawings: [(&str, &dyn Fn() -> Result<Canvas>); 4] = [
            ("speed", &|| map.speed_ratio(&speed)),
            ("streaks", &|| {
                let streaks = Streaks { lines: &study.lines, bands: &[], title: "a", note: "b" };
                map.streaks(&streaks, Some(1.0))
            }),
            ("even lines", &|| map.even_lines(&study.pattern.stream_function, 8e-3)),
            ("mesh", &|| map.indicator(shares)),
        ];
        for (name, draw) in drawings {
            let canvas = draw().unwrap();
            let (svg, pdf) = (canvas.svg(), canvas.pdf().unwrap());
            println!("{name}, raster {raster:?}: {} and {} bytes", svg.len(), pdf.len());
            assert!(svg.len() < 5_000_000 && pdf.len() < 5_000_000, "{name}");
        }
    }
}

/// The same case drawn on one thread and on three gives the same bytes in every format.
#[test]
fn figures_do_not_depend_on_threads() {
    let drawn = |threads: usize| -> Vec<Vec<u8>> {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| {
            let study = study("keel_section", 2000);
            let found = study
                .find(Wanted { departure: true, sheet: true, figures: true, ..Wanted::default() }, &|_| {})
                .unwrap();
            let figures = study.figures(&found, &FigureSettings::default()).unwrap();
            let report = Report { sections: study.report(&found) };
            let page = study.page(&report, &found, &figures).unwrap();
            // the figures of the study, the map of the sheet, the outline: numbered in the order of the page
            let numbers: Vec<usize> = page
                .split("<figcaption>Figure ")
                .skip(1)
                .map(|rest| rest.split('.').next().unwrap().parse().unwrap())
                .collect();
            assert_eq!(numbers, (1..=figures.len() + 2).collect::<Vec<_>>());
            assert_eq!(page.matches("<figcaption>").count(), numbers.len());
            let files = figures.iter().flat_map(|f| [f.svg().into_bytes(), f.pdf().unwrap(), f.png(60.0).unwrap()]);
            files.chain([page.into_bytes()]).collect()
        })
    };
    let (one, three) = (drawn(1), drawn(3));
    assert!(one.len() > 30 && one == three);
}
