//! Files for viewers, scripts and readers. Nothing is solved here; each file appears whole or not at all.
//!
//! - [`json`], [`text`], [`csv`] and the page: one writer each over sections of rows ([`crate::base::row`]);
//! - [`Report`]: `report.json` and `report.txt`;
//! - [`Folder`]: the output folder, which never mixes the results of two cases; [`write_whole`]: one file, under a temporary name first;
//! - [`vtk`]: fields and lines for any VTK viewer; [`figure`]: drawings;
//! - [`cut`]: outlines at true size for a cutter.

mod atomic;
mod budget;
mod check;
pub mod csv;
pub mod cut;
pub mod figure;
mod figures;
mod files;
mod folder;
pub mod json;
mod ladder;
mod ladder_figure;
pub mod lines;
mod mesh_table;
mod page;
mod page_rows;
mod page_sheet;
mod page_words;
mod report;
mod rig;
mod survey;
pub mod text;
pub mod vtk;
mod workshop;
mod wrap;
mod xml;

pub use atomic::write_whole;
pub use check::Checked;
pub use figures::{FigureSettings, Format, write_figures};
pub use folder::Folder;
pub use report::{Report, Times};
pub use survey::SurveyFiles;
pub use workshop::{CutSettings, Kept, case_sheet, outline_sheet};
pub use wrap::paragraph;
