//! Files and pages of searches and uncertainties.

use super::*;
use crate::geometry::Plan;
use crate::input::campaign::{Base, Planned, read_plan, uncertain};
use crate::report::figure::{Canvas, Column, Palette, Style};
use crate::report::{FigureSettings, Folder, Others};
use crate::study::campaign::seek::Tried;
use crate::study::campaign::uncertainty::{Known, Method};
use std::path::PathBuf;
use std::sync::Arc;

fn scratch(name: &str) -> PathBuf {
    let dir = std::env::temp_dir().join(format!("twinplate-pages-{name}-{}", std::process::id()));
    std::fs::create_dir_all(&dir).unwrap();
    dir
}

fn settings(palette: Palette, column: Column) -> FigureSettings {
    FigureSettings { style: Style { palette, column }, dpi: 40.0, ..FigureSettings::default() }
}

/// Every figure in both looks: nothing overlaps, and it has the same bytes twice.
fn check(of: impl Fn(&FigureSettings) -> Vec<Canvas>) {
    for (palette, column) in [(Palette::Colour, Column::Double), (Palette::Grey, Column::Single)] {
        let settings = settings(palette, column);
        let (one, two) = (of(&settings), of(&settings));
        assert_eq!(one.len(), 1);
        assert!(one[0].crowded().is_empty(), "{:?}", one[0].crowded());
        assert!(one[0].svg() == two[0].svg() && one[0].pdf().unwrap() == two[0].pdf().unwrap());
        assert!(one[0].png(40.0).unwrap() == two[0].png(40.0).unwrap());
    }
}

/// A search that found 0.3 mm/s, with a row of v mm at v mm/s.
fn sought(keys: &str, places: &[Vec<f64>]) -> Sought {
    let dir = scratch("plan");
    let case = PathBuf::from("meshes/seal.toml").canonicalize().unwrap();
    let plan = dir.join(format!("plan{}.toml", places.len()));
    let head =
        format!("title = 'Speed'\ncase = '{}'\n[seek]\nrow = 'drive.head'\nto = 0.0003\n[seek.vary]\n", case.display());
    std::fs::write(&plan, format!("{head}{keys}")).unwrap();
    let Planned::Seek(seek) = read_plan(&plan).unwrap() else { panic!("runs") };
    std::fs::remove_file(plan).unwrap();
    let run = |place: &Vec<f64>| Tried {
        place: place.clone(),
        row: Some(1e-3 * seek.ranges[0].number(place[0])),
        error: Some(1e-5),
        unit: "m",
        beyond: None,
        beyond_error: None,
        limit: String::new(),
        message: String::new(),
    };
    let tried: Vec<Tried> = places.iter().map(run).collect();
    let off = if places[0].len() == 1 { vec![Some(0.01)] } else { vec![None; 2] };
    Sought { found: tried[1].clone(), off, ended: Ended::AtValue, others: Vec::new(), tried, seek: *seek }
}

#[test]
fn a_search_has_a_figure_and_a_page() {
    let speed = "'drive.mean_speed' = { from = '0.1 mm/s', to = '0.5 mm/s' }\n";
    let gap = "'cell.gap' = { from = '0.3 mm', to = '3.1 mm' }\n";
    let one = sought(speed, &[vec![0.0], vec![0.5], vec![1.0]]);
    let two = sought(&format!("{speed}{gap}"), &[vec![0.0, 0.0], vec![0.5, 0.5], vec![1.0, 0.0], vec![1.0, 1.0]]);
    check(|settings| one.figures(settings).unwrap());
    check(|settings| two.figures(settings).unwrap());
    let texts = |sought: &Sought| -> Vec<String> {
        let figures = sought.figures(&FigureSettings::default()).unwrap();
        figures[0].texts().iter().map(|t| t.text.clone()).collect()
    };
    for (texts, names) in [
        (texts(&one), ["mean speed (drive), mm/s", "head (drive), mm", "wanted"]),
        (texts(&two), ["mean speed (drive), mm/s", "gap (cell), mm", "head (drive), mm"]),
    ] {
        assert!(names.iter().all(|name| texts.iter().any(|text| text == name)), "{texts:?}");
    }
    let dir = scratch("seek");
    let folder = Folder::open(&dir, &one.seek.campaign, Others::Replaced).unwrap();
    one.write(folder, &settings(Palette::Colour, Column::Double)).unwrap();
    let page = std::fs::read_to_string(dir.join("report.html")).unwrap();
    assert!(["svg", "pdf", "png"].iter().all(|format| dir.join(format!("figures/seek.{format}")).is_file()));
    std::fs::remove_dir_all(dir).unwrap();
    let first = page.split("<h2>").next().unwrap();
    assert!(first.contains("drive.mean_speed = 0.300000 ±\u{a0}0.0040 mm"), "{first}");
    assert!(page.contains("<h2>The plan</h2>") && page.contains(&one.seek.campaign.sha256));
}

#[test]
fn uncertainties_have_a_figure_and_a_page() {
    let text = std::fs::read_to_string("meshes/two_piers.toml").unwrap();
    let text = format!("{text}\n[uncertainty]\n'cell.gap' = '20 um'\n'drive.flow_rate' = '2 %'\n");
    let (case, plan): (Case, Arc<Plan>) = read_text(&text, "meshes/two_piers.toml".as_ref()).unwrap();
    let inputs = uncertain(&case, &Base::of(&case).unwrap()).unwrap();
    let row = |path: &str, standard: f64| Known {
        path: path.into(),
        unit: "m",
        value: 2.0,
        is_main: true,
        numerical: None,
        standard,
        interval: [1.0, 3.0],
        total: vec![0.7, 0.4],
        first: vec![0.6, 0.3],
        curved: 0.0,
        left: 0.0,
    };
    let rows = vec![row("drive.head_m", 0.1), row("probes.behind.pressure_pa", 0.2), row("drive.still_m", 0.0)];
    let found = Uncertainties { case, inputs, method: Method::Sample(64), triangles: 3000, runs: 69, rows };
    check(|settings| found.figures(settings).unwrap());
    let figure = &found.figures(&FigureSettings::default()).unwrap()[0];
    let count = |text: &str| figure.texts().iter().filter(|t| t.text == text).count();
    assert_eq!(
        [count("60 %"), count("30 %"), count("10 %"), count("±\u{a0}5.0 %"), count("still (drive)")],
        [2, 2, 2, 1, 0]
    );
    let dir = scratch("uncertainty");
    let folder = Folder::open(&dir, &found.case, Others::Replaced).unwrap();
    found.write(folder, &plan, &settings(Palette::Colour, Column::Double)).unwrap();
    let page = std::fs::read_to_string(dir.join("report.html")).unwrap();
    assert!(["svg", "pdf", "png"].iter().all(|format| dir.join(format!("figures/uncertainty.{format}")).is_file()));
    std::fs::remove_dir_all(dir).unwrap();
    let first = page.split("<h2>").next().unwrap();
    assert!(first.contains("Tighten cell.gap first"), "{first}");
    assert!(page.contains("pressure at behind") && !page.contains("still (drive)"), "rows that matter alone");
}
