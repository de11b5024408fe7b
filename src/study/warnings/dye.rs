//! What is amiss with needles and time lines.

use crate::base::Point;
use crate::base::units::Dimension;
use crate::base::warning::{Code, Warning};
use crate::input::case::{Case, Times};
use crate::theory::streaklines::MOST_TIMES;

/// What is amiss with the dye of a case; `cut` tells that an interval made more time lines than there may be.
pub(super) fn amiss(case: &Case, cut: bool) -> Vec<Warning> {
    of_needles(case).into_iter().chain(of_times(case, cut)).collect()
}

/// A needle goes between the plates only if it is no thicker than the gap.
fn of_needles(case: &Case) -> Option<Warning> {
    let needle = case.streaklines.needle.as_ref()?;
    let width = case.cell.width;
    let inlet: [Point; 3] = [[0.0, 0.0], [0.0, 0.5 * width], [0.0, width]];
    let places = case.streaklines.seeding.starts().map_or(&inlet[..], |starts| &starts.places);
    let gaps = places.iter().map(|&at| (case.cell.gap.at(at), at));
    let (gap, at) = gaps.min_by(|a, b| a.0.total_cmp(&b.0))?;
    (needle.diameter > gap).then(|| {
        let [diameter, gap] = [needle.diameter, gap].map(|x| Dimension::Length.show(x));
        let matter = format!("needles of {diameter} do not go between plates that are {gap} apart");
        let remedy =
            "take needles no thicker than the gap; a hole in a plate may be wider, but its dye enters at the plate";
        Warning::new(Code::ThickNeedle, matter, remedy).at(at).value(needle.diameter)
    })
}

fn of_times(case: &Case, cut: bool) -> Option<Warning> {
    let Some(Times::Every(interval)) = case.streaklines.times.as_ref().filter(|_| cut) else { return None };
    let matter = format!(
        "time lines end after {MOST_TIMES} of {}, before all dye has left the cell",
        Dimension::Time.show(*interval)
    );
    Some(Warning::new(Code::TimeLinesCut, matter, "take a longer interval, or a list of times").value(*interval))
}
