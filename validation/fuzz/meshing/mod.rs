//! From the text of a case to its mesh.

use std::path::Path;
use std::sync::Arc;
use twinplate::geometry::Plan;
use twinplate::numerics::mesh::Mesh;
use twinplate::theory::ideal::{Goal, first_size_field};

/// The mesh of a thousand triangles, where the case is in order; it covers nothing twice.
pub fn of(text: &str) {
    let loaded = twinplate::input::case::parse(text, Path::new("case.toml"));
    let mut problems = loaded.problems;
    let Some(case) = loaded.case else { return };
    let Some(plan) = Plan::new(&case, &mut problems).filter(|_| problems.is_empty()).map(Arc::new) else { return };
    let Ok(size) = first_size_field(&plan, &case, Goal::Triangles(1000)) else { return };
    if let Ok(mesh) = Mesh::generate_with_count(&plan, &size, 1000) {
        assert!(mesh.areas().iter().all(|area| *area > 0.0));
        // chords in place of curves take or add little
        let area: f64 = mesh.areas().iter().sum();
        assert!((area / plan.area() - 1.0).abs() < 0.1, "{area} {}", plan.area());
    }
}
