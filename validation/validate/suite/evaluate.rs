//! Named evaluations of the library, for quantities that no report holds.

use super::{Effort, Figure, closure, compare, corners, edges, inertia, pattern, procedures, properties, unbounded};

/// The figure of a named evaluation.
pub fn figure(name: &str, with: &[f64], effort: Effort) -> Result<Figure, String> {
    let (group, what) = name.split_once('.').unwrap_or((name, ""));
    let found = match group {
        "pattern" => pattern::figure(what, with, effort),
        "corner" => corners::figure(what, with, effort),
        "unbounded" => unbounded::figure(what, with, effort),
        "inertia" => inertia::figure(what, with, effort),
        "compare" => compare::figure(what, with, effort),
        "closure" => closure::figure(what, with),
        "edge" => edges::figure(what, with, effort),
        "convergence" => procedures::figure(what, with),
        "property" => properties::figure(what, with)?,
        _ => None,
    };
    found.ok_or_else(|| format!("no evaluation is called '{name}' with {} arguments", with.len()))
}
