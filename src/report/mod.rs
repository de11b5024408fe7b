//! Files for viewers, scripts and readers. Nothing is solved here; each file appears whole or not at all.
//!
//! - [`json`], [`text`], [`csv`] and the page: one writer each over sections of rows ([`crate::base::row`]);
//! - [`Report`]: `report.json` and `report.txt`;
//! - [`Folder`]: the output folder, which never mixes the results of two cases and takes the files of a run all or none; [`verify()`]: are
//!   they still those; [`write_whole`]: one file, under a temporary name first;
//! - [`vtk`]: fields and lines for any VTK viewer; `figure`: drawings;
//! - [`schema`]: what reports and cases hold, for editors and checks;
//! - [`cut`]: outlines at true size for a cutter.
//!
//! Without the feature `figures` there are neither drawings nor the page, nor the files that hold drawings: of surveys, ladders and
//! design sheets the sections remain.

mod atomic;
#[cfg(feature = "figures")]
mod bench;
mod budget;
#[cfg(feature = "figures")]
pub mod campaign;
#[cfg(feature = "figures")]
mod card;
mod check;
pub mod csv;
pub mod cut;
pub mod digest;
pub mod dye;
#[cfg(feature = "figures")]
pub mod figure;
#[cfg(feature = "figures")]
mod figures;
mod files;
#[cfg(feature = "figures")]
mod fill;
mod folder;
pub mod json;
#[cfg(feature = "figures")]
mod ladder;
#[cfg(feature = "figures")]
mod ladder_figure;
pub mod lines;
pub mod marks;
mod mesh_table;
mod origin;
#[cfg(feature = "figures")]
mod page;
#[cfg(feature = "figures")]
mod page_captions;
#[cfg(feature = "figures")]
mod page_rows;
#[cfg(feature = "figures")]
mod page_sheet;
#[cfg(feature = "figures")]
mod page_words;
#[cfg(feature = "figures")]
mod profiles;
mod record;
mod results;
#[cfg(feature = "figures")]
mod rig;
mod sampled;
pub mod schema;
mod staging;
mod stored;
#[cfg(feature = "figures")]
mod survey;
pub mod text;
mod verify;
pub mod vtk;
mod workshop;
pub(crate) mod wrap;
mod xml;

pub use atomic::{create_folder, write_whole};
#[cfg(feature = "figures")]
pub use bench::write_marks;
pub use check::Checked;
#[cfg(feature = "figures")]
pub use figures::{FigureSettings, Format, write_figures};
pub use folder::{Folder, Others, Owner, Standing};
pub use origin::Origin;
pub use results::{Report, Times};
#[cfg(feature = "figures")]
pub use rig::BenchCard;
pub use sampled::{INSIDE, added, sampled_table};
pub use stored::{Corrections, StoredResult};
#[cfg(feature = "figures")]
pub use survey::SurveyFiles;
pub use verify::verify;
pub use workshop::{CutSettings, Kept, case_sheet, outline_sheet};
pub use wrap::paragraph;
