//! The physics: formulas with their sources and ranges, each effect a module of its own.

pub mod bubbles;
pub mod circulation;
pub mod closure;
pub mod confinement;
pub mod convergence;
pub mod departure;
pub mod edge_layer;
pub mod filling;
pub mod ideal;
pub mod inertia;
pub mod meniscus;
pub mod rig;
pub mod streaklines;
pub mod wedges;
pub mod wetting;
