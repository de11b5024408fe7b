//! Named evaluations of the library, for quantities that no report holds.

use super::{
    Effort, Figure, bubbles, closure, compare, corners, edges, filling, inertia, meniscus, pattern, procedures,
    properties, unbounded, wetting,
};

/// The figure of a named evaluation.
pub fn figure(name: &str, with: &[f64], effort: Effort) -> Result<Figure, String> {
    let (group, what) = name.split_once('.').unwrap_or((name, ""));
    let found = match group {
        "pattern" => pattern::figure(what, with, effort),
        "corner" => corners::figure(what, with, effort),
        "unbounded" => unbounded::figure(what, with, effort),
        "inertia" => inertia::figure(what, with, effort),
        "compare" => compare::figure(what, with, effort),
        "bubbles" => bubbles::figure(what, with, effort),
        "closure" => closure::figure(what, with),
        "filling" => filling::figure(what, with, effort),
        "meniscus" => meniscus::figure(what, with, effort),
        "edge" => edges::figure(what, with, effort),
        "convergence" => procedures::figure(what, with),
        "wetting" => wetting::figure(what, with),
        "property" => properties::figure(what, with)?,
        _ => None,
    };
    found.ok_or_else(|| format!("no evaluation is called '{name}' with {} arguments", with.len()))
}
