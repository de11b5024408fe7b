//! A selection of the folders of `validation/` by the same code, on coarser meshes: estimates are derived, so they hold there too.

use crate::suite::{Effort, Figure, Outcome, folders, run, table};
use std::path::Path;

fn passes(names: &[&str], effort: Effort) {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("validation");
    let mut failed = Vec::new();
    for name in names {
        let folder = run(&root.join(name), effort).unwrap();
        assert!(!folder.outcomes.is_empty(), "{name} has no rows");
        println!("{}\n{}", folder.title, table::text(&folder.outcomes));
        failed.extend(folder.outcomes.iter().filter(|o| !o.pass()).map(|o| format!("{name}: {}", o.quantity)));
    }
    assert!(failed.is_empty(), "{failed:#?}");
}

#[test]
fn formulas_and_constants() {
    passes(&["water", "glycerol", "plate", "four_digit", "duct", "constants", "grid_convergence"], Effort::QUICK);
}

#[test]
fn patterns() {
    passes(&["square_array", "circle_in_channel", "corner", "contraction"], Effort::QUICK);
}

#[test]
fn corrections() {
    passes(&["radial_source", "post_layers", "post_edge_inertia", "post_dipole"], Effort::QUICK);
}

/// The frozen figures of another library on the museum's cases.
#[test]
fn second_solution_of_the_museum() {
    // fine enough that a bracket ten times as wide takes another mesh in every case
    passes(&["cross_check"], Effort { bracket: Effort::FULL.bracket, ..Effort::QUICK });
}

#[test]
fn every_folder_tells_its_story() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("validation");
    let names = folders(&root);
    assert!(names.len() > 15, "{names:?}");
    for name in names {
        let readme = std::fs::read_to_string(root.join(&name).join("README.md")).unwrap();
        assert!(readme.contains("<!-- rows -->"), "{name}: no table");
    }
}

/// Cells of the rows of a table.
fn cells(table: &str) -> Vec<Vec<&str>> {
    let rows = table.lines().filter_map(|line| line.strip_prefix("| ")?.strip_suffix(" |"));
    rows.map(|row| row.split(" | ").collect()).collect()
}

/// The summary of the README quotes rows of the folders, error and estimate together, and their number.
#[test]
fn the_summary_quotes_the_folders() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let read = |path: &Path| std::fs::read_to_string(path.join("README.md")).unwrap();
    let mut rows: Vec<[f64; 2]> = Vec::new();
    for name in folders(&root.join("validation")) {
        let text = read(&root.join("validation").join(name));
        let table = text.split_once("<!-- rows -->").unwrap().1.split_once("<!-- end of rows -->").unwrap().0;
        rows.extend(cells(table).iter().filter_map(|row| Some([row[4].parse().ok()?, row[5].parse().ok()?])));
    }
    let summary = read(root).split_once("\n## Validation\n").unwrap().1.split_once("\n## ").unwrap().0.to_owned();
    assert!(summary.contains(&format!("compares {} figures", rows.len())), "{} rows", rows.len());
    let says = |text: &str, number: f64| {
        [format!("{:.1e}", number.abs()), format!("{:.0e}", number.abs())].contains(&text.into())
    };
    let mut quoted = 0;
    for row in cells(&summary).iter().filter(|row| row[3].parse::<f64>().is_ok()) {
        assert!(rows.iter().any(|&[error, estimate]| says(row[2], error) && says(row[3], estimate)), "{row:?}");
        quoted += 1;
    }
    assert!(quoted >= 5, "{quoted}");
}

/// What a README says is held to what its digits mean: a unit of the last one, and the same rows with the same words.
#[test]
fn a_table_out_of_date_is_told_from_one_that_is_not() {
    let row = |quantity: &str, value: f64, error: f64| Outcome {
        quantity: quantity.into(),
        reference: "2.0166".into(),
        exact: 2.0166,
        exact_error: 0.00005,
        obtained: Figure { value, error },
        kind: "exact".into(),
        fault: None,
    };
    let rows = vec![row("speed at the pier", 2.016525, 6.4e-4), row("the same, exactly", 2.0166, 0.0)];
    let empty = "# Pier\n<!-- rows -->\n<!-- end of rows -->\nMore.\n";
    let readme = table::written(empty, &rows).unwrap();
    assert!(readme.contains("| speed at the pier | 2.0166 | exact | 2.016525 | -7.5e-5 | 6.9e-4 | yes |"), "{readme}");
    assert!(readme.ends_with("<!-- end of rows -->\nMore.\n"));
    assert_eq!(table::written(&readme, &rows).unwrap(), readme);
    assert_eq!(table::stale(&readme, &rows), [""; 0]);
    let stale = |change: &dyn Fn(&mut Vec<Outcome>)| {
        let mut now = rows.clone();
        change(&mut now);
        table::stale(&readme, &now).len()
    };
    // within a unit of the printed digits, and beyond
    assert_eq!(stale(&|now| now[0].obtained.value += 0.9e-6), 0);
    assert_eq!(stale(&|now| now[0].obtained.value += 1.2e-6), 1);
    assert_eq!(stale(&|now| now[0].obtained.value -= 1.2e-6), 1);
    assert_eq!(stale(&|now| now[0].obtained.error += 0.9e-5), 0);
    assert_eq!(stale(&|now| now[0].obtained.error += 1.2e-5), 1);
    assert_eq!(stale(&|now| now[0].exact += 2e-6), 1, "the error is a number of its own");
    // an error of nothing is known as well as the value it is taken from
    assert_eq!(stale(&|now| now[1].obtained.value += 0.9e-7), 0);
    assert_eq!(stale(&|now| now[1].exact += 2e-6), 1);
    // words, verdicts and rows
    assert_eq!(stale(&|now| now[0].reference = "2.0167".into()), 1);
    assert_eq!(stale(&|now| now[0].kind = "memory".into()), 1);
    assert_eq!(stale(&|now| now[0].fault = Some("too blunt".into())), 1);
    assert_eq!(stale(&|now| now.swap(0, 1)), 2);
    assert_eq!(stale(&|now| now.truncate(1)), 1);
    assert_eq!(stale(&|now| now.push(row("a third", 1.0, 1.0))), 1);
    assert_eq!(table::stale("# Pier\n", &rows).len(), 1, "no table");
    assert_eq!(table::stale(empty, &rows).len(), 1, "an empty table");
}
