//! twinplate: how far is the flow between two close plates from the ideal pattern it shows?
//!
//! The main job in a dozen lines: read a case, solve for the ideal pattern with guaranteed bounds and its inertia departure,
//! look at the probes, write fields, streaklines and report.
//!
//! ```
//! use twinplate::output::Folder;
//! use twinplate::study::{Settings, Study, read};
//!
//! # fn main() -> twinplate::Result<()> {
//! let (case, plan) = read("meshes/two_piers.toml".as_ref())?;
//! let study = Study::solve(case, plan, Settings { inertia: true, ..Settings::default() }, &|_| {})?;
//! let shape = study.pattern.shape_factor;
//! assert!(shape.lower <= shape.value && shape.value <= shape.upper && shape.relative_half_width < 1e-3);
//! for (probe, value) in study.case.probes.iter().zip(study.probe_values()) {
//!     println!("{}: {} of the pressure drop, velocity {:?} m/s", probe.name, value.pressure_fraction, value.velocity);
//! }
//! # let dir = std::env::temp_dir().join(format!("twinplate-front-page-{}", std::process::id()));
//! study.write(Folder::open(&dir, &study.case, false)?)?;
//! # std::fs::remove_dir_all(&dir).ok();
//! # Ok(()) }
//! ```
//!
//! Data flows from the case file ([`case`]) through the plan of the fluid ([`outline`]), its triangulation ([`mesh`]) and the
//! elements ([`fem`]) to the pair of pressure and stream function ([`ideal`]), the corrections ([`inertia`], [`edge_layer`],
//! [`circulation`], [`confinement`]), lines and measures ([`streaklines`], [`departure`], [`convergence`]), and files ([`output`]); [`study`] ties them
//! together. Each module imports only modules before it.

pub mod case;
pub mod circulation;
pub mod cli;
pub mod confinement;
pub mod convergence;
pub mod departure;
pub mod edge_layer;
pub mod edge_profile;
pub mod error;
pub mod fem;
pub mod figure;
pub mod ideal;
pub mod inertia;
pub mod mesh;
pub mod outline;
pub mod output;
pub mod rig;
pub mod streaklines;
pub mod study;
pub mod units;

pub use error::{Error, Result};

/// A place in the plane of the cell, in metres: x along the flow from the inlet, y from the lower side wall.
pub type Point = [f64; 2];
