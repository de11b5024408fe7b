//! Which runs of a campaign a figure shows, and where: over one key or two.

use super::labels::{labelled, shown, words};
use crate::base::text::in_words;
use crate::input::campaign::{Literal, Runs, numbers};
use crate::report::figure::Steps;
use std::collections::BTreeMap;

/// Most curves in one figure.
const MOST_CURVES: usize = 6;
/// Most values along an axis.
const MOST_STEPS: usize = 400;

/// A key that a figure shows.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Shown {
    /// Its name with its unit.
    pub label: String,
    /// Its name alone.
    pub name: String,
    /// Its values in their order, as they are written, with their unit.
    pub values: Vec<String>,
    /// The same along an axis.
    pub steps: Steps,
    /// Which of the values of the key these are.
    places: Vec<usize>,
}

/// The runs that a figure shows.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Layout {
    /// Along the axis.
    pub along: Shown,
    /// What tells curves apart, or stands upwards.
    pub across: Option<Shown>,
    /// The run of each value across and along, from 0; none where the plan has no such run.
    pub runs: Vec<Vec<Option<usize>>>,
    /// What holds for all of them.
    pub said: Vec<String>,
}

impl Layout {
    /// Whether the values across are few enough for curves.
    pub fn has_curves(&self) -> bool {
        self.across.as_ref().is_none_or(|across| across.values.len() <= MOST_CURVES)
    }

    /// The layout of the runs of a plan; none if no key takes two values.
    pub fn new(runs: &Runs) -> Option<Layout> {
        let keys: Vec<Distinct> = (0..runs.keys.len()).map(|key| Distinct::of(runs.values(key))).collect();
        let varying: Vec<usize> = (0..keys.len()).filter(|&k| keys[k].first.len() > 1).collect();
        let first = *varying.first()?;
        let mut said = Vec::new();
        let second = match runs.is_grid() {
            true => varying.get(1).copied(),
            // a key that has one value for each of the first tells nothing apart
            false => varying.iter().skip(1).copied().find(|&k| !goes_along(&keys, &[first], k)),
        };
        let shown: Vec<usize> = [first].into_iter().chain(second).collect();
        let mut fixed = Vec::new();
        for (k, key) in runs.keys.iter().enumerate().filter(|(k, _)| !shown.contains(k)) {
            let name = in_words(&key.typed);
            if keys[k].first.len() > 1 && !runs.is_grid() && goes_along(&keys, &shown, k) {
                said.push(format!("{name} goes along with it"));
            } else {
                fixed.push(k);
                let value = runs.values(k).first().map_or("", |value| &value.shown);
                said.push(format!("{name} is {value}"));
            }
        }
        let [along, across] = axes(&keys, first, second, varying.len());
        let (along, across) = (along?, across);
        let along_shown = Shown::of(runs, &keys, along);
        let across_shown = across.map(|key| Shown::of(runs, &keys, key));
        for (key, shown) in [(Some(along), Some(&along_shown)), (across, across_shown.as_ref())] {
            if let (Some(key), Some(shown)) = (key, shown)
                && keys[key].first.len() > shown.values.len()
            {
                said.push(format!("of the {} values of {} some are shown", keys[key].first.len(), shown.name));
            }
        }
        let places = Places { runs, keys: &keys, fixed: &fixed };
        let table = places.table((along, &along_shown), across.zip(across_shown.as_ref()));
        Some(Layout { along: along_shown, across: across_shown, runs: table, said })
    }
}

/// Which key stands along and which across. Of two keys that with fewer values is told apart by curves, if it has few enough; of more the
/// first stands along where that leaves few enough curves.
fn axes(keys: &[Distinct], first: usize, second: Option<usize>, varying: usize) -> [Option<usize>; 2] {
    let Some(second) = second else { return [Some(first), None] };
    let [m, n] = [first, second].map(|key| keys[key].first.len());
    let swapped = if varying > 2 { n > MOST_CURVES && m <= MOST_CURVES } else { m < n && m <= MOST_CURVES };
    if swapped { [Some(second), Some(first)] } else { [Some(first), Some(second)] }
}

/// The different values of a key.
struct Distinct {
    /// Where each first stands in the list of values.
    first: Vec<usize>,
    /// Which of them each value of the list is.
    of: Vec<usize>,
}

impl Distinct {
    fn of(values: &[Literal]) -> Distinct {
        let mut known: BTreeMap<&str, usize> = BTreeMap::new();
        let (mut first, mut of) = (Vec::new(), Vec::with_capacity(values.len()));
        for (k, value) in values.iter().enumerate() {
            let next = first.len();
            let place = *known.entry(&value.toml).or_insert(next);
            if place == next {
                first.push(k);
            }
            of.push(place);
        }
        Distinct { first, of }
    }
}

/// Whether in a list of runs a key has one value wherever some others have the same.
fn goes_along(keys: &[Distinct], others: &[usize], key: usize) -> bool {
    let mut seen: BTreeMap<Vec<usize>, usize> = BTreeMap::new();
    (0..keys[key].of.len()).all(|run| {
        let place = others.iter().map(|&other| keys[other].of[run]).collect();
        *seen.entry(place).or_insert(keys[key].of[run]) == keys[key].of[run]
    })
}

impl Shown {
    fn of(runs: &Runs, keys: &[Distinct], key: usize) -> Shown {
        let (literals, distinct) = (runs.values(key), &keys[key].first);
        let values: Vec<&Literal> = distinct.iter().map(|&k| &literals[k]).collect();
        let name = words(&runs.keys[key].typed);
        let mut order: Vec<usize> = (0..values.len()).collect();
        let found = numbers(&runs.keys[key], &values);
        if let Some((numbers, _)) = &found {
            order.sort_by(|&a, &b| numbers[a].total_cmp(&numbers[b]));
        }
        let every = order.len().div_ceil(MOST_STEPS).max(1);
        let places: Vec<usize> = order.into_iter().step_by(every).collect();
        let (label, unit, steps) = match &found {
            Some((numbers, unit)) => {
                let label = if unit.is_empty() { name.clone() } else { labelled(&name, unit) };
                (label, unit.as_str(), Steps::Numbers(places.iter().map(|&k| numbers[k]).collect()))
            }
            None => {
                let folder = common_folder(&values);
                let names = places.iter().map(|&k| shown(values[k].shown.get(folder..).unwrap_or_default()));
                (name.clone(), "", Steps::Names(names.collect()))
            }
        };
        let value = |&k: &usize| match &found {
            // without a unit of its own
            Some(_) if values[k].shown.parse::<f64>().is_ok() => shown(format!("{} {unit}", values[k].shown).trim()),
            _ => shown(&values[k].shown),
        };
        Shown { label, name, values: places.iter().map(value).collect(), steps, places }
    }

    /// Its values where the unit stands beside.
    pub fn bare(&self) -> Vec<String> {
        match &self.steps {
            Steps::Numbers(numbers) => numbers.iter().map(|x| shown(&x.to_string())).collect(),
            Steps::Names(names) => names.clone(),
        }
    }
}

/// Bytes of the folder that all values name before their files.
fn common_folder(values: &[&Literal]) -> usize {
    let folder = |value: &Literal| value.shown.rfind('/').map_or("", |end| &value.shown[..=end]).to_owned();
    let first = values.first().map(|value| folder(value)).unwrap_or_default();
    if values.iter().all(|value| folder(value) == first) { first.len() } else { 0 }
}

struct Places<'a> {
    runs: &'a Runs,
    keys: &'a [Distinct],
    fixed: &'a [usize],
}

impl Places<'_> {
    /// The run of each value across and along.
    fn table(&self, along: (usize, &Shown), across: Option<(usize, &Shown)>) -> Vec<Vec<Option<usize>>> {
        let rows: Vec<Option<usize>> =
            across.map_or_else(|| vec![None], |(_, shown)| shown.places.iter().copied().map(Some).collect());
        let first_of = |key: usize, place: usize| self.keys[key].first[place];
        if self.runs.is_grid() {
            let run = |row: &Option<usize>, place: usize| {
                let mut indices = vec![0; self.keys.len()];
                indices[along.0] = first_of(along.0, place);
                if let (Some((key, _)), Some(row)) = (across, row) {
                    indices[key] = first_of(key, *row);
                }
                self.runs.run(&indices)
            };
            return rows.iter().map(|row| along.1.places.iter().map(|&place| run(row, place)).collect()).collect();
        }
        // the first run at each place
        let mut there: BTreeMap<(usize, usize), usize> = BTreeMap::new();
        for run in 0..self.runs.count() {
            if self.fixed.iter().all(|&key| self.keys[key].of[run] == self.keys[key].of[0]) {
                let row = across.map_or(0, |(key, _)| self.keys[key].of[run]);
                there.entry((row, self.keys[along.0].of[run])).or_insert(run);
            }
        }
        let at = |row: &Option<usize>, place: usize| there.get(&(row.unwrap_or(0), place)).copied();
        rows.iter().map(|row| along.1.places.iter().map(|&place| at(row, place)).collect()).collect()
    }
}

#[cfg(test)]
mod tests;
