//! Procedures for orders and errors of convergence studies, whose only error is rounding and the end of a fixed-point iteration.

use super::Figure;
use twinplate::theory::convergence::{mesh_size, observe, observe_constant_ratio};

/// Rounding and the end of the iteration, relative.
const ROUNDING: f64 = 1e-9;

/// Orders as numbers, relative errors in per cent. Cells and values from fine to coarse, or the ratio of sizes and the values.
pub fn figure(what: &str, with: &[f64]) -> Option<Figure> {
    let value = match *with {
        [n1, n2, n3, f1, f2, f3] => {
            let sizes = [n1, n2, n3].map(|n| mesh_size(1.0, n as usize));
            let estimate = observe(sizes, [f1, f2, f3]).order()?;
            match what {
                "order" => estimate.order,
                "extrapolated" => estimate.extrapolated,
                "approximate_error" => 100.0 * estimate.approximate_error?,
                "extrapolated_error" => 100.0 * estimate.extrapolated_error?,
                "gci" => 100.0 * estimate.gci?,
                _ => return None,
            }
        }
        [ratio, f1, f2, f3] => {
            let estimate = observe_constant_ratio(ratio, [f1, f2, f3])?;
            match what {
                "order" => estimate.order,
                "extrapolated" => estimate.extrapolated,
                "gci_fine" => 100.0 * estimate.gci[0],
                "gci_coarse" => 100.0 * estimate.gci[1],
                _ => return None,
            }
        }
        _ => return None,
    };
    Some(Figure { value, error: ROUNDING * value.abs() })
}
