//! Figures and pages of campaigns: lettering, bytes, gaps, files.

use super::*;
use crate::input::campaign::Campaign;
use crate::report::campaign::{Number, Stored};
use crate::report::figure::{Column, Palette};
use crate::report::{Folder, Others};
use std::collections::BTreeMap;
use std::path::PathBuf;

const GRID: &str = "title = 'Seal'\nmeasure = ['drive.head', 'departure.total.speed.rms', 'drive head']\n[vary]\n\
                    'drive.mean_speed' = ['0.1 mm/s', '0.2 mm/s', '0.3 mm/s']\n\
                    'cell.gap' = { from = '0.3 mm', to = '1 mm', steps = 8 }\n";
const FILES: &str = "measure = 'drive.head'\n[vary]\n'obstacle.seal.outline.file' = { files = 'seal.*' }\n";
const FIELDS: &str = "measure = 'drive.head'\n[vary]\n'obstacle.seal.angle' = { from = 1, to = 12, steps = 12 }\n\
                      'cell.gap' = { from = '0.3 mm', to = '1.4 mm', steps = 12 }\n";

fn campaign(name: &str, rest: &str) -> Campaign {
    let dir = std::env::temp_dir().join(format!("twinplate-figures-{name}-{}", std::process::id()));
    std::fs::create_dir_all(&dir).unwrap();
    let case = PathBuf::from("meshes/seal.toml").canonicalize().unwrap();
    let plan = dir.join("plan.toml");
    std::fs::write(&plan, format!("case = '{}'\n{rest}", case.display())).unwrap();
    let campaign = Campaign::read(&plan).unwrap();
    std::fs::remove_dir_all(dir).unwrap();
    campaign
}

/// Runs with numbers as a solver might have them; run 4 failed, run 6 was not done.
fn known(campaign: &Campaign) -> BTreeMap<usize, Stored> {
    let of = |run: usize| {
        let failed = run == 4;
        let number = |k: usize| Number {
            path: ["drive.head_m", "departure.contributions.total.speed_rms", "drive.head_m"][k].into(),
            unit: ["m", "", "m"][k].into(),
            value: Some(1e-4 * run as f64 * (1 + k) as f64),
            error: Some(2e-6 * run as f64),
        };
        let stored = Stored {
            run,
            combined_sha256: format!("{run:064x}"),
            status: if failed { Status::Failed } else { Status::Done },
            message: if failed { "the obstacle leaves the cell".into() } else { String::new() },
            measures: if failed { Vec::new() } else { (0..campaign.measures.len()).map(number).collect() },
        };
        (run, stored)
    };
    (1..=campaign.runs.count()).filter(|run| *run != 6).map(of).collect()
}

fn settings(palette: Palette, column: Column) -> FigureSettings {
    FigureSettings { style: Style { palette, column }, ..FigureSettings::default() }
}

/// Every kind of figure in both widths and palettes: no text reaches out or overlaps, exponents are raised, files keep every letter, and a
/// second drawing has the same bytes. Captions tell how many runs are gaps.
#[test]
fn figures_are_whole_and_the_same_twice() {
    for (name, rest, count) in [("grid", GRID, 3), ("files", FILES, 1), ("fields", FIELDS, 1)] {
        let campaign = campaign(name, rest);
        let known = known(&campaign);
        let collected = Collected { campaign: &campaign, known: &known };
        for palette in [Palette::Colour, Palette::Grey] {
            for column in [Column::Double, Column::Single] {
                let of = || collected.figures(&settings(palette, column)).unwrap();
                let figures = of();
                assert_eq!(figures.len(), count);
                let faults: Vec<String> = figures.iter().flat_map(Canvas::crowded).collect();
                assert!(faults.is_empty(), "{name}, {column:?}: {faults:#?}");
                for (figure, again) in figures.iter().zip(of()) {
                    assert!(figure.svg() == again.svg() && figure.pdf().unwrap() == again.pdf().unwrap());
                    assert!(figure.png(40.0).unwrap() == again.png(40.0).unwrap());
                    if name != "files" {
                        assert!(figure.title().contains("1 failed, 1 not done yet are gaps"), "{}", figure.title());
                    }
                    let words = figure.texts().iter().flat_map(|t| t.text.split([' ', '/']));
                    assert!(!words.clone().any(|w| w.contains('^') || w.contains('e') && w.parse::<f64>().is_ok()));
                }
            }
        }
    }
}

/// The grid of 3 x 8: a curve for each speed over the gap in mm, its unit on the axis; the head reads in mm. Run 4 is a gap in the first curve:
/// two stretches, of three and (run 6 too) one and two gaps.
#[test]
fn a_grid_has_a_curve_for_each_value() {
    let campaign = campaign("curves", GRID);
    let known = known(&campaign);
    let figures = Collected { campaign: &campaign, known: &known }.figures(&FigureSettings::default()).unwrap();
    let names: Vec<&str> = figures.iter().map(Canvas::name).collect();
    assert_eq!(names, ["campaign_drive_head", "campaign_departure_total_speed_rms", "campaign_drive_head_2"]);
    let has = |text: &str| figures[0].texts().iter().any(|t| t.text == text);
    for text in ["gap (cell), mm", "head (drive), mm", "mean speed (drive):", "0.1 mm/s", "0.2 mm/s", "0.3 mm/s"] {
        assert!(has(text), "{text}: {:?}", figures[0].texts());
    }
    assert!(figures[1].texts().iter().any(|t| t.text == "speed (rms) by total (1)"));
    // a disc for each run of the first curve that was done, and one in the legend
    assert_eq!(figures[0].svg().matches("r=\"0.75\"").count(), 6 + 1);
}

/// The page begins with counts and failures, and has figures, tables, the plan, the case and both hashes; of more than 200 runs it says so.
/// Files of the figures stand under their own names.
#[test]
fn the_page_holds_all_of_it() {
    let many = GRID.replace("steps = 8", "steps = 80");
    for (name, rest, runs) in [("page", GRID, 24), ("long", many.as_str(), 240)] {
        let campaign = campaign(name, rest);
        let known = known(&campaign);
        let dir = std::env::temp_dir().join(format!("twinplate-page-{name}-{}", std::process::id()));
        let mut folder = Folder::open(&dir, &campaign, Others::Refused).unwrap();
        let collected = Collected { campaign: &campaign, known: &known };
        collected.write(&mut folder, &FigureSettings { dpi: 40.0, ..FigureSettings::default() }).unwrap();
        folder.finish().unwrap();
        let page = std::fs::read_to_string(dir.join("report.html")).unwrap();
        for format in ["svg", "pdf", "png"] {
            assert!(dir.join(format!("figures/campaign_drive_head.{format}")).is_file());
        }
        std::fs::remove_dir_all(&dir).unwrap();
        assert!(page.contains("<strong>Some runs failed, and not all are done yet</strong>"));
        assert!(
            page.contains(&format!("Of {runs} runs {} are done", runs - 2))
                && page.contains("Run 4 failed: the obstacle")
        );
        assert!(page.contains("<h2>The plan</h2>") && page.contains(&campaign.sha256) && page.contains("# Origin"));
        assert!(!page.contains("<h2>Warnings</h2>"), "nothing was judged");
        assert_eq!(page.contains("the first 200 of 240 runs"), runs > 200);
        assert_eq!(page.matches("<figcaption>").count(), 3 + 1);
    }
}
