//! A search: one key or two are varied until a row of the report is where it is wanted.
//!
//! First some places all over the ranges, so that several solutions are seen and failures passed; then, between two of them, a root by
//! Brent's method, the least or largest value by Brent's method, or where a limit is met by Brent's method on that limit; of two keys by
//! Nelder and Mead's, limits as penalties. All runs are on meshes of as many triangles. The error of a key is the accuracy asked for and
//! what the error of the row makes of it by the slope there.

mod rows;
mod solvers;
mod tried;

pub use tried::Tried;

use super::work;
use crate::base::{Error, Result};
use crate::input::campaign::{Aim, Literal, Range, Seek, Work};
use crate::study::{Shared, read_text};
use solvers::{least, least_of_several, root};
use tried::Trials;

/// Places at first, of one key and along each of two.
const FIRST: [usize; 2] = [9, 5];
/// What passing a limit by its own size costs, in sizes of the row.
const PENALTY: f64 = 1e3;

/// What kind of place was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ended {
    /// The row has the value.
    AtValue,
    /// A limit stops it.
    AtLimit,
    /// The row goes no further within the range.
    Turning,
    /// The range ends.
    AtEnd,
}

impl Ended {
    /// Its word in files.
    pub fn word(self) -> &'static str {
        match self {
            Ended::AtValue => "at_value",
            Ended::AtLimit => "at_limit",
            Ended::Turning => "turning",
            Ended::AtEnd => "at_end",
        }
    }
}

/// What a search came to.
#[derive(Debug)]
pub struct Sought {
    /// The search.
    pub seek: Seek,
    /// The run that was found.
    pub found: Tried,
    /// How far each key may be off, over its range; none where no error of the row is known.
    pub off: Vec<Option<f64>>,
    /// What kind of place it is.
    pub ended: Ended,
    /// Further places between which the row has the value, by the first runs.
    pub others: Vec<[f64; 2]>,
    /// All runs, in order of their values.
    pub tried: Vec<Tried>,
}

impl Range {
    /// The value at a part of the range; ranges of more than a decade above zero are taken in equal ratios.
    pub fn number(&self, part: f64) -> f64 {
        let [from, to] = self.ends;
        let x = if self.is_by_ratio() { from * (to / from).powf(part) } else { from + part * (to - from) };
        // to twelve digits, so that cases can be typed again
        format!("{x:.11e}").parse().unwrap_or(x)
    }

    /// Whether its values are taken in equal ratios.
    pub fn is_by_ratio(&self) -> bool {
        let [from, to] = self.ends;
        from > 0.0 && to > 10.0 * from
    }

    /// How far a value at a part of the range is off whose part is off by so much: half of what lies between, within the range.
    pub fn reach(&self, part: f64, off: f64) -> f64 {
        0.5 * (self.number((part + off).min(1.0)) - self.number((part - off).max(0.0)))
    }

    /// The same as a case has it.
    pub(super) fn at(&self, part: f64) -> Literal {
        self.literal(self.number(part))
    }
}

/// Searches. `watch` is told how many runs are done.
///
/// # Errors
/// [`Error::Failed`] if the row has the value nowhere, or nothing keeps the limits; as [`work`].
pub fn solve_seek(mut seek: Seek, threads: usize, watch: &(dyn Fn(usize) + Sync)) -> Result<Sought> {
    if seek.campaign.mesh.triangles.is_none() && seek.campaign.work != Work::Fill {
        // one mesh size for all runs, so that the row is smooth
        let (case, plan) = read_text(&seek.campaign.base.with([]), &seek.campaign.base.file)?;
        let found = work(&seek.campaign, case, plan, &Shared::new(2))?;
        seek.campaign.mesh.triangles = found.triangles();
    }
    let trials = Trials::new(&seek, threads, watch);
    let (place, ended, others) = if seek.ranges.len() == 1 { of_one(&trials)? } else { of_two(&trials)? };
    let found = trials.at(&place)?;
    let mut tried = trials.into_tried();
    tried.sort_by(|a, b| {
        a.place
            .iter()
            .zip(&b.place)
            .map(|(a, b)| a.total_cmp(b))
            .find(|o| o.is_ne())
            .unwrap_or(std::cmp::Ordering::Equal)
    });
    let off = (0..seek.ranges.len()).map(|k| off(&seek, &found, ended, &tried, k)).collect();
    Ok(Sought { seek, found, off, ended, others, tried })
}

/// The row less its wanted value, or the row, or its opposite: what is brought to zero or made least.
fn cost(aim: Aim, row: f64) -> f64 {
    match aim {
        Aim::Value(to) => row - to,
        Aim::Smallest => row,
        Aim::Largest => -row,
    }
}

/// A place with its kind, and other intervals that hold a solution.
type Place = (Vec<f64>, Ended, Vec<[f64; 2]>);

fn of_one(trials: &Trials) -> Result<Place> {
    let seek = trials.seek;
    let first: Vec<Vec<f64>> = (0..FIRST[0]).map(|k| vec![k as f64 / (FIRST[0] - 1) as f64]).collect();
    let first = trials.at_all(&first)?;
    let row = |place: f64| -> Result<Tried> { done(trials.at(&[place])?) };
    if let Aim::Value(to) = seek.aim {
        let value = |tried: &Tried| tried.row.map(|row| row - to);
        let between = |pair: &[Tried]| {
            let (a, b) = (value(&pair[0])?, value(&pair[1])?);
            (a == 0.0 || a * b < 0.0).then_some([pair[0].place[0], pair[1].place[0]])
        };
        let mut found: Vec<[f64; 2]> = first.windows(2).filter_map(between).collect();
        if found.is_empty() {
            return match first.last().filter(|last| value(last) == Some(0.0)) {
                Some(last) => Ok((last.place.clone(), Ended::AtValue, Vec::new())),
                None => Err(nowhere(seek, &first, to)),
            };
        }
        let interval = found.remove(0);
        let place = root(interval, seek.accuracy, &|t| Ok(cost(seek.aim, row(t)?.row.unwrap_or(f64::NAN))))?;
        return Ok((vec![place], Ended::AtValue, found));
    }
    let of = |tried: &Tried| tried.row.filter(|_| tried.is_within()).map(|row| cost(seek.aim, row));
    let best = (0..first.len()).filter(|&k| of(&first[k]).is_some());
    let Some(best) = best.min_by(|&a, &b| of(&first[a]).unwrap_or(0.0).total_cmp(&of(&first[b]).unwrap_or(0.0))) else {
        return Err(none_within(&first));
    };
    // on the side where the row would go on but a limit stops it
    let stopped = [best.checked_sub(1), Some(best + 1)].into_iter().flatten().find(|&k| {
        first.get(k).is_some_and(|next| {
            let goes_on = next.row.map(|row| cost(seek.aim, row)) < of(&first[best]);
            goes_on && next.row.is_some() && !next.is_within()
        })
    });
    if let Some(beside) = stopped {
        let beyond = |t: f64| Ok(row(t)?.beyond.unwrap_or(-1.0));
        let place = root([first[best].place[0], first[beside].place[0]], seek.accuracy, &beyond)?;
        return Ok((vec![within(trials, place, first[best].place[0])?], Ended::AtLimit, Vec::new()));
    }
    let end = |k: usize| first[k].place[0];
    let around = [end(best.saturating_sub(1)), end((best + 1).min(first.len() - 1))];
    let place = least(around, seek.accuracy, &|t| {
        let tried = trials.at(&[t])?;
        Ok(of(&tried).unwrap_or(f64::MAX))
    })?;
    let (found, start) = (trials.at(&[place])?, &first[best]);
    let better = if of(&found) < of(start) { found.place } else { start.place.clone() };
    let at_end = better[0] < seek.accuracy || better[0] > 1.0 - seek.accuracy;
    Ok((better, if at_end { Ended::AtEnd } else { Ended::Turning }, Vec::new()))
}

/// The place nearest to a limit that is within it: Brent's method ends on either side.
fn within(trials: &Trials, place: f64, inside: f64) -> Result<f64> {
    if trials.at(&[place])?.is_within() {
        return Ok(place);
    }
    let nearest = trials.all().into_iter().filter(Tried::is_within).map(|tried| tried.place[0]);
    Ok(nearest.min_by(|a, b| (a - place).abs().total_cmp(&(b - place).abs())).unwrap_or(inside))
}

fn of_two(trials: &Trials) -> Result<Place> {
    let seek = trials.seek;
    let n = FIRST[1];
    let at = |k: usize| k as f64 / (n - 1) as f64;
    let places: Vec<Vec<f64>> = (0..n * n).map(|k| vec![at(k / n), at(k % n)]).collect();
    let first = trials.at_all(&places)?;
    let size = first.iter().filter_map(|tried| tried.row).map(f64::abs).fold(0.0, f64::max).max(f64::MIN_POSITIVE);
    let price = |tried: &Tried| {
        let Some(row) = tried.row else { return f64::MAX };
        let cost = match seek.aim {
            Aim::Value(_) => cost(seek.aim, row).abs(),
            aim => cost(aim, row),
        };
        cost + PENALTY * size * tried.beyond.unwrap_or(0.0).max(0.0)
    };
    let Some(best) = first.iter().min_by(|a, b| price(a).total_cmp(&price(b))).filter(|best| best.row.is_some()) else {
        return Err(none_within(&first));
    };
    // a corner for each key, inside the ranges
    let step = 1.0 / (n - 1) as f64;
    let corner = |k: usize| {
        let mut corner = best.place.clone();
        corner[k] += if corner[k] + step <= 1.0 { step } else { -step };
        corner
    };
    let outside = |place: &[f64]| place.iter().map(|t| (t - t.clamp(0.0, 1.0)).abs()).sum::<f64>();
    let of = |place: &[f64]| -> Result<f64> {
        let inside: Vec<f64> = place.iter().map(|t| t.clamp(0.0, 1.0)).collect();
        Ok(price(&trials.at(&inside)?) + PENALTY * size * outside(place))
    };
    least_of_several(vec![best.place.clone(), corner(0), corner(1)], seek.accuracy * seek.accuracy * size, &of)?;
    let all = trials.all();
    let found = all.iter().min_by(|a, b| price(a).total_cmp(&price(b))).cloned().unwrap_or_else(|| best.clone());
    if !found.is_within() {
        return Err(none_within(&first));
    }
    let is_end = found.place.iter().any(|t| *t < seek.accuracy || *t > 1.0 - seek.accuracy);
    let ended = match seek.aim {
        Aim::Value(to) => {
            let near = found
                .row
                .is_some_and(|row| (row - to).abs() <= (10.0 * seek.accuracy * size).max(found.error.unwrap_or(0.0)));
            if !near {
                return Err(nowhere(seek, &all, to));
            }
            Ended::AtValue
        }
        _ if found.beyond.is_some_and(|beyond| beyond > -10.0 * seek.accuracy) => Ended::AtLimit,
        _ if is_end => Ended::AtEnd,
        _ => Ended::Turning,
    };
    Ok((found.place, ended, Vec::new()))
}

/// A run that has the row.
fn done(tried: Tried) -> Result<Tried> {
    if tried.row.is_some() {
        return Ok(tried);
    }
    Err(Error::failed(format!("a run between others that went well failed: {}", tried.message), "give a smaller range"))
}

fn nowhere(seek: &Seek, tried: &[Tried], to: f64) -> Error {
    let rows = || tried.iter().filter_map(|tried| tried.row);
    let (least, largest) = (rows().fold(f64::INFINITY, f64::min), rows().fold(f64::NEG_INFINITY, f64::max));
    if least > largest {
        return none_within(tried);
    }
    let what = format!("{} is {to} nowhere: over the range it goes from {least:.6e} to {largest:.6e}", seek.row);
    Error::failed(what, "widen the range, or choose a value that it reaches")
}

fn none_within(tried: &[Tried]) -> Error {
    let worst = tried
        .iter()
        .filter(|tried| tried.row.is_some())
        .min_by(|a, b| a.beyond.unwrap_or(0.0).total_cmp(&b.beyond.unwrap_or(0.0)));
    match (worst, tried.iter().find(|tried| tried.row.is_none())) {
        (Some(nearest), _) => Error::failed(
            format!(
                "nothing in the range keeps all limits; the nearest passes {} by {:.3} of its size",
                nearest.limit,
                nearest.beyond.unwrap_or(0.0)
            ),
            "widen the range, or loosen the limits",
        ),
        (None, Some(failed)) => {
            Error::failed(format!("no run of the search could be done: {}", failed.message), "change the range")
        }
        (None, None) => Error::failed("the search has no runs", "report this as a fault"),
    }
}

/// How far a key may be off, over its range: the accuracy, and the error of what it was found by over the slope of that, from the nearest
/// runs on both sides; where the row turns, the place at which it is its error away from the least.
fn off(seek: &Seek, found: &Tried, ended: Ended, tried: &[Tried], key: usize) -> Option<f64> {
    if tried.first().is_some_and(|tried| tried.place.len() > 1) {
        // runs of two keys lie on no line
        return None;
    }
    let value = |tried: &Tried| if ended == Ended::AtLimit { tried.beyond } else { tried.row };
    // of a row whose error is not known the accuracy alone is told
    let error = if ended == Ended::AtLimit { found.beyond_error } else { found.error }.unwrap_or(0.0);
    let at = found.place[key];
    let others =
        || tried.iter().filter(|other| value(other).is_some() && (other.place[key] - at).abs() > seek.accuracy);
    let below = others().rfind(|other| other.place[key] < at);
    let above = others().find(|other| other.place[key] > at);
    let ends: Vec<&Tried> = [below, Some(found), above].into_iter().flatten().collect();
    let (first, last) = (ends.first()?, ends.last()?);
    let apart = last.place[key] - first.place[key];
    if apart <= 0.0 {
        return None;
    }
    let spread = match ended {
        Ended::AtEnd => return Some(seek.accuracy),
        Ended::Turning => {
            let (below, above) = (below?, above?);
            let (h, g) = (at - below.place[key], above.place[key] - at);
            let [a, b, c] = [value(below)?, value(found)?, value(above)?];
            let curvature = 2.0 * (g * a - (g + h) * b + h * c) / (g * h * (g + h));
            (2.0 * error / curvature.abs()).sqrt()
        }
        Ended::AtValue | Ended::AtLimit => error * apart / (value(last)? - value(first)?).abs(),
    };
    Some(spread.hypot(seek.accuracy)).filter(|off| off.is_finite())
}
