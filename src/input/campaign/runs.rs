//! Which values go together in each run.

use super::key::Key;
use super::values::Literal;
use crate::base::error::Problems;
use crate::base::hash::sha256;
use crate::input::near::check_name;
use crate::input::plain::{self, Unread};
use std::path::Path;

/// Most runs of a campaign.
pub const MOST_RUNS: usize = 100_000_000;

/// How the values of several keys go together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Combine {
    /// Each with each; the last key changes fastest.
    Grid,
    /// The first of each, the second of each, and so on.
    Zip,
}

/// The runs, numbered from 0.
#[derive(Debug, Clone, PartialEq)]
pub struct Runs {
    /// The varied keys.
    pub keys: Vec<Key>,
    /// Values of each key.
    values: Vec<Vec<Literal>>,
    combine: Combine,
    count: usize,
}

impl Runs {
    /// The runs of keys with their values; none, with the reason, if they do not go together.
    pub(super) fn new(keys: Vec<Key>, values: Vec<Vec<Literal>>, combine: Combine) -> Result<Runs, String> {
        let lengths = values.iter().map(Vec::len);
        let count = match combine {
            Combine::Grid => lengths.clone().try_fold(1usize, usize::checked_mul).unwrap_or(usize::MAX),
            Combine::Zip => lengths.clone().next().unwrap_or(1),
        };
        if combine == Combine::Zip && lengths.clone().any(|n| n != count) {
            let said: Vec<String> = keys.iter().zip(lengths).map(|(key, n)| format!("{} has {n}", key.typed)).collect();
            return Err(format!("keys that go together one by one need as many values each: {}", said.join(", ")));
        }
        if count > MOST_RUNS {
            return Err(format!("the values make {count} runs, and a campaign has at most {MOST_RUNS}"));
        }
        Ok(Runs { keys, values, combine, count })
    }

    /// No keys and no runs.
    pub(super) fn none() -> Runs {
        Runs { keys: Vec::new(), values: Vec::new(), combine: Combine::Zip, count: 0 }
    }

    /// How many there are.
    pub fn count(&self) -> usize {
        self.count
    }

    /// Which of its values each key has in a run.
    pub fn indices(&self, run: usize) -> Vec<usize> {
        match self.combine {
            Combine::Zip => vec![run; self.values.len()],
            Combine::Grid => {
                let mut rest = run;
                let mut indices: Vec<usize> = self
                    .values
                    .iter()
                    .rev()
                    .map(|values| {
                        let index = rest % values.len();
                        rest /= values.len();
                        index
                    })
                    .collect();
                indices.reverse();
                indices
            }
        }
    }

    /// The run in which each key has one of its values; none if they never meet.
    pub fn run(&self, indices: &[usize]) -> Option<usize> {
        if indices.len() != self.values.len() || indices.iter().zip(&self.values).any(|(k, values)| *k >= values.len())
        {
            return None;
        }
        match self.combine {
            Combine::Zip => indices.first().copied().filter(|first| indices.iter().all(|k| k == first)),
            Combine::Grid => Some(indices.iter().zip(&self.values).fold(0, |run, (k, values)| run * values.len() + k)),
        }
    }

    /// The values of a run, in the order of the keys.
    pub fn of(&self, run: usize) -> Vec<&Literal> {
        self.indices(run).into_iter().zip(&self.values).map(|(index, values)| &values[index]).collect()
    }

    /// All values of a key.
    pub fn values(&self, key: usize) -> &[Literal] {
        &self.values[key]
    }

    /// Whether every value of a key meets every value of the others.
    pub fn is_grid(&self) -> bool {
        self.combine == Combine::Grid
    }
}

/// Columns of a table of runs: the keys in its header, each with its place, and their values, row by row; and the hash of its bytes.
pub(super) struct Listed {
    pub keys: Vec<(String, std::ops::Range<usize>)>,
    pub values: Vec<Vec<Literal>>,
    pub sha256: String,
    pub text: String,
}

/// Reads a table of runs (CSV): keys in the header, one run a row.
pub(super) fn listed(file: &Path) -> Result<Listed, Problems> {
    const LARGEST: u64 = 1 << 30;
    let mut problems = Problems::default();
    let fail = |mut problems: Problems, place, message: String, remedy: &str| {
        problems.add(file, place, message, remedy);
        Err(problems)
    };
    let text = match plain::text(file, LARGEST) {
        Ok(text) => text,
        Err(Unread::Failed(error)) => {
            problems.add(file, None, format!("the table of runs cannot be read: {error}"), check_name(file, &error));
            return Err(problems);
        }
        Err(_) => {
            let remedy = "name a table of text with the keys in its first line and one run a line below";
            return fail(problems, None, "this is no table of runs".into(), remedy);
        }
    };
    problems.add_text(file, &text);
    let mut table = ::csv::ReaderBuilder::new().comment(Some(b'#')).trim(::csv::Trim::All).from_reader(text.as_bytes());
    let heads = match table.headers() {
        Ok(heads) => heads.clone(),
        Err(error) => {
            return fail(problems, None, format!("the table of runs: {error}"), "write keys in its first line");
        }
    };
    let start = heads.position().map_or(0, |at| at.byte() as usize);
    let keys = heads.iter().map(|key| {
        let at = text.get(start..).and_then(|rest| rest.find(key)).map_or(start, |at| start + at);
        (key.to_owned(), at..at + key.len())
    });
    let keys: Vec<_> = keys.collect();
    let mut values = vec![Vec::new(); keys.len()];
    for row in table.records() {
        match row {
            Ok(row) => row.iter().zip(&mut values).for_each(|(field, values)| values.push(Literal::typed(field))),
            Err(error) => {
                let at = error.position().map_or(0, |at| at.byte() as usize);
                let end = text.get(at..).and_then(|rest| rest.find('\n')).map_or(text.len(), |end| at + end);
                let remedy = "write as many values in each row as there are keys in the first";
                return fail(problems, Some(at..end), format!("a row of the table of runs: {error}"), remedy);
            }
        }
    }
    if values.first().is_none_or(Vec::is_empty) {
        return fail(problems, None, "the table of runs names no run".into(), "write one run a line below the keys");
    }
    Ok(Listed { keys, values, sha256: sha256(text.as_bytes()), text })
}
