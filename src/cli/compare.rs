//! `compare`: what was measured on the bench against theory.

use super::args::{Against, Common, MeshGoal};
use super::exit::Exit;
use super::job::Job;
use super::place::compare_folder;
use super::tell::{tell, tell_briefly};
use crate::base::Result;
use crate::report::digest::Digest;
use crate::report::{FigureSettings, write_marks};
use crate::study::{Material, compare_measured, map_sections};
use std::path::Path;

/// Reads and maps what was measured, solves the case, and compares.
pub fn compare(
    path: &Path,
    file: Option<&Path>,
    against: Against,
    mesh: MeshGoal,
    figures: &FigureSettings,
    common: &Common,
) -> Result<Exit> {
    let (mut case, plan) = common.read(path)?;
    let material = Material::read(&case, file)?;
    material.inputs.iter().for_each(|input| case.add_input(input.clone()));
    let dir = common.output.clone().unwrap_or_else(|| compare_folder(&case, &material.file));
    let Job { mut case, plan, mut folder, shown, progress } = Job::of(case, plan, &dir, common)?;
    progress.show("finding the marks");
    let calibration = material.calibrate(&case);
    // whatever fails from here on, the picture of the marks shows how far it came
    if let (Some(photo), Some(settings)) = (&material.photo, &case.photo) {
        let sought = match &calibration {
            Ok(Some(calibration)) => calibration.sought.clone(),
            _ => material.sought(&case),
        };
        write_marks(&mut folder, figures, photo, settings, &sought)?;
    }
    if against.marks_only || calibration.is_err() {
        folder.finish()?;
        progress.end();
        let sections =
            calibration?.map_or_else(Vec::new, |map| map_sections(&map, &case, &material.outlines(&case, &plan, &map)));
        return tell(common, true, &sections, &format!("The marks are in {shown}/marks.png."));
    }
    let wish = against.wish(mesh.of(&mut case));
    let compared = compare_measured(case, plan, material, calibration?, &wish, &|stage| progress.stage(stage));
    let found = match compared {
        Ok(found) => found,
        Err(error) => {
            folder.finish()?;
            return Err(error);
        }
    };
    progress.show("writing");
    let report = found.write(folder, figures)?;
    progress.end();
    tell_briefly(common, true, &report.sections, Digest::Compare, &format!("Results are in {shown}"))
}
