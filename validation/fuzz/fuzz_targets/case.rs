//! Any text as a case, as far as its mesh of a thousand triangles.
#![no_main]

use libfuzzer_sys::fuzz_target;
use std::path::Path;
use std::sync::Arc;
use twinplate::theory::ideal::{Goal, first_size_field};
use twinplate::numerics::mesh::Mesh;
use twinplate::geometry::Plan;

fuzz_target!(|text: &str| {
    let loaded = twinplate::input::case::parse(text, Path::new("case.toml"));
    let mut problems = loaded.problems;
    let Some(case) = loaded.case else { return };
    let Some(plan) = Plan::new(&case, &mut problems).filter(|_| problems.is_empty()).map(Arc::new) else { return };
    let Ok(size) = first_size_field(&plan, &case, Goal::Triangles(1000)) else { return };
    if let Ok(mesh) = Mesh::generate_with_count(&plan, &size, 1000) {
        assert!(mesh.areas().iter().all(|area| *area > 0.0));
    }
});
