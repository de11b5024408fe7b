//! Files for viewers, scripts and readers. This module computes nothing; each file appears whole or not at all.
//!
//! - [`Folder`]: the output folder, which never mixes the results of two cases;
//! - [`write_whole`]: one file, under a temporary name first;
//! - [`vtk`]: fields and lines for any VTK viewer;
//! - [`cut`]: outlines at true size for a cutter;
//! - [`report`]: `report.json`; [`text`]: the same for reading; [`sheet`]: the cell's design sheet.

mod atomic;
pub mod cut;
mod folder;
pub mod report;
pub mod sheet;
pub mod text;
pub mod vtk;

pub use atomic::write_whole;
pub use folder::Folder;
pub use report::Report;
