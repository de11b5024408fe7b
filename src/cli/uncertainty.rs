//! `campaign --uncertainty`: what the tolerances of a case make of its report.

use super::campaign::{CampaignArgs, threads};
use super::exit::Exit;
use super::job::{Job, tell};
use crate::base::Result;
use crate::study::campaign::uncertainty::{UncertaintySettings, solve_uncertainty};

/// Finds and writes the uncertainty of every number of the report of a case.
pub fn uncertainty(args: &CampaignArgs) -> Result<Exit> {
    let common = &args.common;
    let Job { mut case, plan, folder, shown, progress } = Job::begin(&args.plan, common)?;
    let settings = UncertaintySettings {
        goal: args.mesh.of(&mut case),
        sample: args.sample.map(|points| points as usize),
        threads: threads(common),
    };
    let found = solve_uncertainty(case, &plan, settings, &|done, of| progress.show(&format!("{done} of {of} runs")))?;
    progress.show("writing");
    let sections = found.write(folder, &plan, &args.print.settings())?;
    progress.end();
    let last = format!("Every row of the report stands in {shown} (uncertainty.csv, uncertainty.json, report.html)");
    tell(common, true, &sections, &last)
}
