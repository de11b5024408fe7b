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
    let inlet: Vec<Point> = case.cell.inlet_places();
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

#[cfg(test)]
mod tests {
    use super::*;

    /// An interval so short that lines were cut is told of with the interval; a list of times is as long as it is.
    #[test]
    fn time_lines_that_end_too_soon_are_told_of() {
        let of = |times: &str, cut: bool| {
            let text = format!(
                "[cell]\nlength = 0.3\nwidth = 0.2\ngap = 1e-3\n[fluid]\ndensity = 1000\nviscosity = 1e-3\n[drive]\nmean_speed = 1e-4\n\
                 [streaklines]\ncount = 4\ntimes = {times}\n"
            );
            let case = crate::input::case::parse(&text, "case.toml".as_ref()).into_result().unwrap();
            amiss(&case, cut).into_iter().map(|warning| (warning.code, warning.message)).collect::<Vec<_>>()
        };
        let told = of("\"2 ms\"", true);
        assert!(matches!(&told[..], [(Code::TimeLinesCut, text)] if text.contains("2 ms")), "{told:?}");
        assert_eq!(of("\"2 ms\"", false), []);
        assert_eq!(of("[\"2 ms\"]", true), []);
    }
}
