//! A selection of the folders of `validation/` by the same code, on coarser meshes: estimates are derived, so they hold there too.

use crate::suite::{Effort, folders, run, table};
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
    passes(&["square_array", "circle_in_channel", "corner"], Effort::QUICK);
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
