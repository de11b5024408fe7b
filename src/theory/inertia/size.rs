//! Sizes of fields beyond reach of the edge layer, root mean square.

use crate::base::plane;
use crate::numerics::fem::Space;
use crate::theory::edge_layer::reach;

/// Of a field.
pub(super) fn size(space: &Space, field: &[[f64; 2]]) -> f64 {
    space.root_mean_square(reach(space).beyond(), |v| plane::length(field[v]))
}

/// Of a - b.
pub(super) fn apart(space: &Space, a: &[[f64; 2]], b: &[[f64; 2]]) -> f64 {
    space.root_mean_square(reach(space).beyond(), |v| plane::distance(a[v], b[v]))
}

/// A size over another; zero where that is none.
pub(super) fn over(part: f64, whole: f64) -> f64 {
    if whole > 0.0 { part / whole } else { 0.0 }
}
