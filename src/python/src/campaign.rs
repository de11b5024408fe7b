//! Campaigns: shares of them, and the tables of all.

use crate::wait::waited;
use pyo3::prelude::*;
use std::path::PathBuf;
use twinplate::input::campaign::Campaign;
use twinplate::report::FigureSettings;
use twinplate::report::campaign::{Collected, Progressed, Store, Wanted, Way, nothing_known, run_part};
use twinplate::report::json::json;
use twinplate::study::campaign::Part;
use twinplate::{Folder, Others};

/// What is done, and where.
#[derive(Debug, FromPyObject)]
#[pyo3(from_item_all)]
pub struct Place {
    plan: PathBuf,
    output: Option<PathBuf>,
    replace: bool,
}

impl Place {
    fn read(&self) -> twinplate::Result<(Campaign, PathBuf)> {
        let campaign = Campaign::read(&self.plan)?;
        let dir = self.output.clone().unwrap_or_else(|| campaign.usual_dir());
        Ok((campaign, dir))
    }
}

/// Does what is left of a share: runs known, failed, and those of the share.
#[pyfunction]
pub fn campaign(
    py: Python<'_>,
    place: Place,
    part: (usize, usize),
    threads: Option<usize>,
) -> PyResult<(usize, usize, usize)> {
    waited(py, threads, move || {
        let part = Part::new(part.0, part.1)?;
        let (campaign, dir) = place.read()?;
        let way = Way { part, threads: rayon::current_num_threads(), replace: place.replace };
        let Progressed { known, failed, of } = run_part(&campaign, &dir, way, &|_| {})?;
        Ok((known, failed, of))
    })
}

/// Writes the tables of all runs that are there, and gives what is said of them as JSON.
#[pyfunction]
pub fn collect(py: Python<'_>, place: Place) -> PyResult<String> {
    waited(py, Some(1), move || {
        let (campaign, dir) = place.read()?;
        let store = Store::open(&dir, &campaign, Wanted::All, false)?;
        if store.known.is_empty() {
            return Err(nothing_known(&dir));
        }
        let collected = Collected { campaign: &campaign, known: &store.known };
        let others = if place.replace { Others::Replaced } else { Others::Refused };
        let mut folder = Folder::open(&dir, &campaign, others)?;
        folder.command = "twinplate.collect".to_owned();
        folder.set_settings("campaign".to_owned());
        collected.write(&mut folder, &FigureSettings::default())?;
        folder.finish()?;
        json(&collected.sections())
    })
}
