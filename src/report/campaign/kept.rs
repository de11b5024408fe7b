//! What is kept of a run beside its report: a folder for each in `runs/`, under the hash of its case.

use super::store::RUNS;
use crate::base::Result;
use crate::input::campaign::{Campaign, Keep};
use crate::input::case::Case;
use crate::report::record::{RECORD, Record};
use crate::report::{BenchCard, FigureSettings, Folder, Others};
use crate::study::campaign::Found;
use std::path::{Path, PathBuf};

/// The folder of a run.
fn place(dir: &Path, case: &Case) -> PathBuf {
    dir.join(RUNS).join(case.combined_sha256())
}

/// Whether all that is to be kept of a run is there.
pub(super) fn is_kept(campaign: &Campaign, dir: &Path, case: &Case) -> bool {
    campaign.keep == Keep::Report || place(dir, case).join(RECORD).is_file()
}

/// Writes what is to be kept of a run: its streaklines, or all that the command writes that does this for one case.
///
/// # Errors
/// [`crate::base::Error::File`] if a file cannot be written; [`crate::base::Error::Failed`] if another process writes the same run.
pub(super) fn keep(campaign: &Campaign, dir: &Path, found: &Found) -> Result<()> {
    if campaign.keep == Keep::Report {
        return Ok(());
    }
    let case = match found {
        Found::Pattern(study, _) | Found::Sheet(study, _) => &study.case,
        Found::Filled(filled) => &filled.study.case,
    };
    let mut folder = Folder::open(&place(dir, case), case, Others::Replaced)?;
    folder.command = format!("twinplate {}", campaign.settings());
    folder.set_settings(campaign.settings());
    if let Ok(Some(there)) = Record::of(folder.dir())
        && there.combined_sha256 == case.combined_sha256()
    {
        // another process that was given the same share
        return Ok(());
    }
    match (campaign.keep, found) {
        (Keep::Lines, Found::Pattern(study, _)) => study.write_lines(folder)?,
        (_, Found::Pattern(study, findings)) => drop(study.write_found(findings, folder)?),
        (_, Found::Sheet(study, rig)) => {
            drop(study.write_rig(rig, folder, &FigureSettings::default(), BenchCard::Left)?)
        }
        (_, Found::Filled(filled)) => drop(filled.write(folder, &FigureSettings::default())?),
    }
    Ok(())
}
