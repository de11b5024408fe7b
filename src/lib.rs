//! twinplate: how far is the flow between two close plates from the ideal pattern it shows?
//!
//! The main job in a dozen lines: read a case, solve for the ideal pattern with guaranteed bounds and its inertia departure,
//! look at the probes, write fields, streaklines and report.
//!
//! ```
//! use twinplate::{Folder, Others, Settings, Study, read};
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
//! study.write(Folder::open(&dir, &study.case, Others::Refused)?)?;
//! # std::fs::remove_dir_all(&dir).ok();
//! # Ok(()) }
//! ```
//!
//! What stands at the front is enough to [`read`] a case, solve it as a [`Study`], [find](Study::find) departures and design sheet, climb a
//! ladder of meshes ([`solve_ladder`]), take any row of a report by its path ([`row_at`]) and write the files into a [`Folder`].
//!
//! # The inner rooms
//!
//! Each imports only rooms before it: [`base`] (errors, units, the plane, rows), [`geometry`] (curves, the plan of the fluid), [`input`]
//! (case file, drawings, tables), [`numerics`] (mesh, linear elements), [`theory`] (the ideal pattern with its bounds and every effect
//! that departs from it), [`mod@bench`] (what was measured, against theory), [`study`] (runs of them), [`report`] (files and figures) and, with the feature `cli`, the program.

pub mod base;
pub mod bench;
#[cfg(feature = "cli")]
pub mod cli;
pub mod geometry;
pub mod input;
pub mod numerics;
pub mod report;
pub mod study;
pub mod theory;

pub use base::row::{Row, Section, row_at};
pub use base::{Error, Point, Result};
pub use geometry::Plan;
pub use input::case::Case;
pub use report::{Folder, Others, Report};
pub use study::{Findings, Ladder, LadderSettings, Settings, Study, Wanted, read, solve_ladder};
