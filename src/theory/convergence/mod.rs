//! Is it converged? Observed orders, extrapolated values and error estimates from a quantity on several meshes.
//!
//! - [`observe`]: order, extrapolated value and grid convergence index (GCI) from three meshes of any sizes (Celik et al. 2008,
//!   J. Fluids Eng. 130, 078001); [`observe_constant_ratio`]: the same for one ratio of sizes (Roache 1994, J. Fluids Eng. 116, 405);
//! - [`expected_order`]: what theory has for linear elements, from the corners of the plan (Grisvard 1985);
//! - [`judge`]: a plain verdict on a ladder of meshes, with its reason.
//!
//! The size of a plane mesh of N triangles on the area A is `h = √(A/N)`.
//!
//! ```
//! use twinplate::theory::convergence::{mesh_size, observe};
//!
//! let sizes = [18_000, 8_000, 4_500].map(|n| mesh_size(1.0, n));
//! let estimate = observe(sizes, [6.063, 5.972, 5.863]).order().unwrap();
//! assert!((estimate.order - 1.53).abs() < 0.005 && (estimate.extrapolated - 6.1685).abs() < 5e-5);
//! ```

mod expected;
mod order;
mod verdict;

pub use expected::{Grading, Sharpest, expected_order, sharpest_corner};
pub use order::{ConstantRatio, Estimate, MOST_ORDER, Observation, SAFETY, mesh_size, observe, observe_constant_ratio};
pub use verdict::{CAREFUL, Judgement, Standing, judge};
