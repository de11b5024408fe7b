//! Rows of a report by the words a user has for them.

use crate::base::row::{Followed, Row, Section, Value, walk};

/// A number taken from a report.
#[derive(Debug, Clone, PartialEq)]
pub struct Measured {
    /// Its path in the report.
    pub path: String,
    /// Its unit in files, empty for plain numbers.
    pub unit: &'static str,
    /// Its value; yes is 1, no is 0.
    pub value: f64,
    /// Its estimated error, in the same unit.
    pub error: Option<f64>,
}

/// Why a report has no number under some words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Unfound {
    /// Nothing is like it; the nearest path, if any.
    Unknown(Option<String>),
    /// Several are like it.
    Several(Vec<String>),
}

/// The parts of a path: between dots and underscores.
fn parts(path: &str) -> Vec<&str> {
    path.split(['.', '_', '/']).filter(|part| !part.is_empty()).collect()
}

/// The value of a row as a number.
fn number(row: &Row) -> Option<f64> {
    match row.value {
        Value::Flag(flag) => Some(f64::from(u8::from(flag))),
        ref value => value.number().filter(|x| x.is_finite()),
    }
}

/// Whether all parts of `short` stand in `long` in this order, the first in the first place.
fn is_within(short: &[&str], long: &[&str]) -> bool {
    let mut rest = long.iter();
    short.first() == long.first() && short.iter().all(|part| rest.any(|other| other == part))
}

/// The number that some words name: the path of a row itself (`drive.head_m`), the name that a convergence study has for it, or parts of
/// its path in their order, between dots or underscores (`departure.total.speed.rms`, `drive.head`); among several the one that leaves
/// out fewest parts.
///
/// # Errors
/// Why there is none.
pub fn measure(report: &[Section], words: &str) -> Result<Measured, Unfound> {
    let wanted = parts(words);
    let mut best: Vec<(usize, Measured)> = Vec::new();
    let mut exact = None;
    let (mut numbers, mut nearest) = (Vec::new(), (usize::MAX, None));
    walk(report, &mut |path, row| {
        let Some(value) = number(row) else { return };
        let unit = row.kind.unit();
        let found = || Measured { path: path.to_owned(), unit, value, error: row.error };
        numbers.push((path.to_owned(), value));
        let is_followed = matches!(&row.followed, Some(Followed { name, .. }) if name == words);
        if exact.is_none() && (path == words || is_followed) {
            exact = Some(found());
        }
        let own = parts(path);
        if is_within(&wanted, &own) {
            best.push((own.len(), found()));
        }
        let apart = strsim::damerau_levenshtein(words, path);
        if apart < nearest.0 {
            nearest = (apart, Some(path.to_owned()));
        }
    });
    let found = match exact {
        Some(found) => found,
        None => {
            let least = best.iter().map(|(parts, _)| *parts).min();
            let mut fits: Vec<Measured> =
                best.into_iter().filter(|(parts, _)| Some(*parts) == least).map(|(_, found)| found).collect();
            match (fits.len(), fits.pop()) {
                (1, Some(found)) => found,
                (_, Some(last)) => {
                    fits.push(last);
                    return Err(Unfound::Several(fits.into_iter().map(|found| found.path).collect()));
                }
                _ => return Err(Unfound::Unknown(nearest.1)),
            }
        }
    };
    let beside = error_beside(&found.path).filter(|_| found.error.is_none());
    let beside = beside.and_then(|path| numbers.iter().find(|(other, _)| *other == path));
    Ok(Measured { error: found.error.or(beside.map(|(_, error)| *error)), ..found })
}

/// The path of the row beside one that holds its error: `speed_error` beside `speed_rms`, `error_m` beside `value_m`.
pub(super) fn error_beside(path: &str) -> Option<String> {
    let (above, key) = path.rsplit_once('.').unwrap_or(("", path));
    let mut parts: Vec<&str> = key.split('_').collect();
    let at = parts.iter().position(|part| ["rms", "q99", "max", "value"].contains(part))?;
    parts[at] = "error";
    let key = parts.join("_");
    Some(if above.is_empty() { key } else { format!("{above}.{key}") })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::row::Kind;
    use crate::base::units::Dimension;

    fn report() -> Vec<Section> {
        let effect = |name: &'static str, speed: f64| {
            vec![
                Row::new("name", "effect", name, Kind::Number),
                Row::script("speed_rms", speed),
                Row::script("speed_max", 2.0 * speed),
                Row::script("speed_error", 0.1 * speed),
            ]
        };
        let effects = || Section::table("contributions", "", [effect("inertia", 0.1), effect("total", 0.3)]);
        let mean = Section::table("gap_mean", "", [effect("total", 7.0)]);
        let verdict = Section::new("verdict", "", vec![Row::script("decided", true)]);
        let head = Row::new("head_m", "head", 0.5, Kind::Of(Dimension::Length)).error(0.01).followed("height", None);
        vec![
            Section::new("departure", "", vec![]).with(vec![effects(), mean, verdict]),
            Section::new("drive", "", vec![head, Row::script("fluid", "water")]),
        ]
    }

    #[test]
    fn rows_are_found_by_their_path_or_by_parts_of_it() {
        let found = |words: &str| measure(&report(), words).map(|found| (found.path, found.value, found.error));
        let total = "departure.contributions.total.speed_rms".to_owned();
        let rms = Ok((total.clone(), 0.3, Some(0.1 * 0.3)));
        assert_eq!(found(&total), rms);
        // the list of contributions leaves out fewer parts than that of the gap mean
        assert_eq!(found("departure.total.speed.rms"), rms);
        let head = Ok(("drive.head_m".to_owned(), 0.5, Some(0.01)));
        for words in ["drive.head_m", "drive.head", "height"] {
            assert_eq!(found(words), head, "{words}");
        }
        assert_eq!(found("departure.decided"), Ok(("departure.verdict.decided".to_owned(), 1.0, None)));
    }

    #[test]
    fn what_is_not_there_is_told_with_the_nearest() {
        assert_eq!(measure(&report(), "drive.heed_m"), Err(Unfound::Unknown(Some("drive.head_m".into()))));
        // a word is no number
        assert!(matches!(measure(&report(), "drive.fluid"), Err(Unfound::Unknown(_))));
        let Err(Unfound::Several(paths)) = measure(&report(), "departure.speed.max") else { panic!("one") };
        assert_eq!(paths.len(), 2);
    }
}
