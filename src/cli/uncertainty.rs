//! `campaign --uncertainty`: what the tolerances of a case make of its report.

use super::campaign::CampaignArgs;
use super::exit::Exit;
use super::job::Job;
use super::tell::tell;
use crate::base::Result;
use crate::study::campaign::uncertainty::{UncertaintySettings, solve_uncertainty};

/// Finds and writes the uncertainty of every number of the report of a case.
pub fn uncertainty(args: &CampaignArgs) -> Result<Exit> {
    let CampaignArgs { plan: path, mesh, sample, common, .. } = args;
    let Job { mut case, plan, folder, shown, progress } = Job::begin(path, common)?;
    let settings = UncertaintySettings {
        goal: mesh.of(&mut case),
        sample: sample.map(|points| points as usize),
        threads: common.cores(),
    };
    let found = solve_uncertainty(case, &plan, settings, &|done, of| progress.show(&format!("{done} of {of} runs")))?;
    progress.show("writing");
    let sections = found.write(folder, &plan, &args.print.settings())?;
    progress.end();
    let last = format!("Every row of the report stands in {shown} (uncertainty.csv, uncertainty.json, report.html)");
    tell(common, true, &sections, &last)
}
