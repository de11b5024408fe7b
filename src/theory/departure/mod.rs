//! How far the observed pattern departs from the ideal one: every effect by itself and together.
//!
//! To first order the contributions add (orders: edge layer b/L; inertia Re* and Re* b/L; gap Δb/b; confinement by blockage):
//! `observed = ideal + edge layer + inertia + gap + confinement`. All patterns are compared at the same mean speed U. Each
//! contribution is a sum of [`Part`]s that scale by known powers of speed, gap and viscosity, so that a sweep needs no further
//! solve.

mod contribution;
mod errors;
mod estimate;
mod growth;
mod measure;
mod region;
mod rows;
mod scale;
mod sweep;
mod threshold;
mod together;
mod trust;
mod verdict;

pub use contribution::{
    Contribution, Effect, Part, View, inertia_parts, numerical_error, of_the_plates, still_part, total,
};
pub use errors::{Errors, NEGLIGIBLE, Outcome, Standing};
pub use estimate::{
    Degree, InertiaSizes, ShapeFactors, bend_error, correction_error, edge_layer_neglected, inertia_neglected,
    relative_error, velocity_error,
};
pub use growth::{Growth, Orders};
pub use measure::{Measure, Measures, Reference, Spread};
pub use region::{Region, Shift};
pub use rows::InStudies;
pub use scale::Scale;
pub use sweep::{Numbers, Origin, Series, Suffices, SweepRow, Swept, scales};
pub use threshold::{Passed, Threshold, thresholds};
pub use together::Way;
pub use trust::answer;
pub use verdict::{Judged, Verdict, confinement_widening, verdict};
