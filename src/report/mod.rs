//! Files for viewers, scripts and readers. This module computes nothing; each file appears whole or not at all.
//!
//! - [`Folder`]: the output folder, which never mixes the results of two cases;
//! - [`write_whole`]: one file, under a temporary name first;
//! - [`vtk`]: fields and lines for any VTK viewer;
//! - [`report`]: `report.json`; [`text`]: the same for reading; [`sheet`]: the cell's design sheet;
//! - [`cut`]: outlines at true size for a cutter.

mod atomic;
mod budget;
pub mod cut;
mod facts;
pub mod figure;
mod figures;
mod files;
mod folder;
pub mod json;
mod ladder;
mod ladder_figure;
pub mod lines;
mod page;
mod page_sheet;
mod page_tables;
pub mod report;
mod rig;
pub mod sheet;
pub mod text;
pub mod vtk;
mod workshop;

pub use atomic::write_whole;
pub use figures::{FigureSettings, Format, write_figures};
pub use folder::Folder;
pub use ladder::Bracket;
pub use report::Report;
pub use workshop::{CutSettings, case_sheet, outline_sheet};
