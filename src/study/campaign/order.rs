//! The order in which runs are done, and the share of each part.
//!
//! Runs that differ only in keys by which the solution scales come one after the other, so that they share it. The order follows from the
//! plan alone, and a part is a run of neighbours in it: parts do not depend on one another, and each has whole groups.

use super::settings;
use crate::base::{Error, Result};
use crate::input::campaign::Campaign;
use crate::study::read_text;
use crate::study::shared::key;
use std::ops::Range;

/// A share of a campaign, counted from 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Part {
    /// Which one.
    pub number: usize,
    /// Of how many.
    pub of: usize,
}

impl Part {
    /// All of it.
    pub const WHOLE: Part = Part { number: 1, of: 1 };

    /// The share with a number.
    ///
    /// # Errors
    /// [`Error::Usage`] if there is none with that number.
    pub fn new(number: usize, of: usize) -> Result<Part> {
        if (1..=of).contains(&number) {
            return Ok(Part { number, of });
        }
        let remedy = match of {
            0 => "say which share of how many, such as 3/40".to_owned(),
            _ => format!("the first is 1/{of}, the last {of}/{of}"),
        };
        Err(Error::argument(format!("there is no share {number} of {of}"), remedy))
    }

    /// Its places in the order of so many runs; the shares differ by one at most.
    pub fn share(self, runs: usize) -> Range<usize> {
        let start = |part: usize| (part as u128 * runs as u128 / self.of as u128) as usize;
        start(self.number - 1)..start(self.number)
    }
}

/// Which keys leave the solution as it is but for its scale, found by their first two values in the case as it stands. Where one of these
/// makes no valid case, the key is taken for one that does not.
///
/// # Errors
/// [`crate::base::Error::Input`] if the case itself cannot be read.
pub fn scaling_keys(campaign: &Campaign) -> Result<Vec<bool>> {
    let solution = |text: &str| -> Result<String> {
        let (case, plan) = read_text(text, &campaign.base.file)?;
        let settings = settings(campaign, &case);
        Ok(key(&case, &plan, settings.goal_of(&case), settings))
    };
    let own = solution(&campaign.base.with([]))?;
    let scales = |(k, varied): (usize, &_)| {
        let values = campaign.runs.values(k);
        // the value of the case itself says nothing
        let mut tried = values.iter().take(2);
        tried.all(|value| solution(&campaign.base.with([(varied, value)])).is_ok_and(|other| other == own))
    };
    Ok(campaign.runs.keys.iter().enumerate().map(scales).collect())
}

/// All runs in the order they are done in, in groups that share what is solved.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Order {
    runs: Vec<usize>,
    /// Where each group begins.
    starts: Vec<usize>,
}

impl Order {
    /// That of a campaign; `scales` tells of each key whether the solution is the same for all its values.
    pub fn new(campaign: &Campaign, scales: &[bool]) -> Order {
        let varied = &campaign.runs;
        let solves: Vec<usize> = (0..scales.len()).filter(|&k| !scales[k]).collect();
        // in a list the same value may stand at several places
        let of_grid = |run: usize| solves.iter().map(|&k| (varied.indices(run)[k], "")).collect::<Vec<_>>();
        let of_list = |run: usize| solves.iter().map(|&k| (0, varied.of(run)[k].toml.as_str())).collect::<Vec<_>>();
        let group = |run: usize| if varied.is_grid() { of_grid(run) } else { of_list(run) };
        let mut runs: Vec<usize> = (0..varied.count()).collect();
        if !(varied.is_grid() && scales.is_sorted()) {
            runs.sort_by_cached_key(|&run| group(run));
        }
        let is_start = |&k: &usize| k == 0 || group(runs[k]) != group(runs[k - 1]);
        let starts = (0..runs.len()).filter(is_start).collect();
        Order { runs, starts }
    }

    /// The groups of a share, none larger than so many threads need to have one each.
    pub fn groups(&self, part: Part, threads: usize) -> Vec<&[usize]> {
        let share = part.share(self.runs.len());
        let most = share.len().div_ceil(threads.max(1)).max(1);
        let ends = self.starts.iter().skip(1).copied().chain([self.runs.len()]);
        let within = self.starts.iter().zip(ends).map(|(&start, end)| start.max(share.start)..end.min(share.end));
        within.filter(|group| !group.is_empty()).flat_map(|group| self.runs[group].chunks(most)).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_are_whole_and_nearly_equal() {
        for (runs, of) in [(10, 3), (1000, 40), (7, 7), (3, 8), (0, 2)] {
            let shares: Vec<Range<usize>> = (1..=of).map(|number| Part { number, of }.share(runs)).collect();
            assert_eq!((shares[0].start, shares[of - 1].end), (0, runs));
            assert!(shares.windows(2).all(|pair| pair[0].end == pair[1].start));
            let sizes: Vec<usize> = shares.iter().map(Range::len).collect();
            assert!(sizes.iter().max().unwrap() - sizes.iter().min().unwrap() <= 1, "{sizes:?}");
        }
    }

    fn order(vary: &str, scales: &[bool]) -> Order {
        let folder = tempfile::tempdir().unwrap();
        let file = |name: &str, text: &str| {
            let path = folder.path().join(name);
            std::fs::write(&path, text).unwrap();
            path
        };
        let case = "[cell]\nlength = 2\nwidth = 1\ngap = 1e-3\n[fluid]\nname = 'water'\ntemperature = '20 degC'\n[drive]\n\
                    mean_speed = 1e-3\n";
        file("pier.toml", case);
        let plan = file("plan.toml", &format!("case = 'pier.toml'\nmeasure = 'drive.head'\n{vary}"));
        Order::new(&Campaign::read(&plan).unwrap(), scales)
    }

    #[test]
    fn runs_that_share_a_solution_are_neighbours() {
        let grid = "[vary]\n'drive.mean_speed' = [1, 2, 3]\n'cell.gap' = [1e-3, 2e-3]\n";
        // speed scales the solution, the gap does not; the gap changes fastest in the plan
        let order = order(grid, &[true, false]);
        assert_eq!((order.runs.as_slice(), order.starts.as_slice()), (&[0, 2, 4, 1, 3, 5][..], &[0, 3][..]));
        assert_eq!(order.groups(Part::WHOLE, 2), [&[0, 2, 4][..], &[1, 3, 5]]);
        assert_eq!(order.groups(Part { number: 1, of: 3 }, 1), [&[0, 2][..]]);
        assert_eq!(order.groups(Part { number: 2, of: 3 }, 1), [&[4][..], &[1]]);
        let zip = "combine = 'zip'\n[vary]\n'drive.mean_speed' = [1, 2, 3]\n'cell.gap' = [1e-3, 2e-3, 1e-3]\n";
        let order = super::tests::order(zip, &[true, false]);
        assert_eq!((order.runs.as_slice(), order.starts.as_slice()), (&[0, 2, 1][..], &[0, 2][..]));
    }

    #[test]
    fn a_group_is_split_so_that_every_thread_has_a_share() {
        let order = order("[vary]\n'drive.mean_speed' = { from = 1, to = 7, steps = 7 }\n", &[true]);
        assert_eq!(order.groups(Part::WHOLE, 3).iter().map(|group| group.len()).collect::<Vec<_>>(), [3, 3, 1]);
    }
}
