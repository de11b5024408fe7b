//! The steps of the comparison in their order: smooth, hold against the pattern, reject, find heights and speed, take a taper out.

use super::direction::{Direction, OnLines, direction, on_lines};
use super::effects::{Amplitude, Effect, Seen, amplitudes};
use super::flow::{Flow, Local};
use super::heights::{Found, Heights, find, first_estimate};
use super::likelihood::Measured;
use super::reject::{Ensemble, Reason};
use super::smooth::{Smooth, smooth};
use super::speed::{Speed, speed, through};
use super::taper::{Along, Trend, trend};
use crate::base::plane::{Point, distance, length};
use crate::input::measured::Track;
use crate::{base::Error, base::Result};
use rayon::prelude::*;

/// Fewest tracks that tell of heights.
pub const FEWEST: usize = 10;
/// Speed over U below which a place counts as none of the flow: V divides.
const AT_REST: f64 = 1e-6;
/// Rounds after which rejection and speed agree or never will.
const ROUNDS: usize = 4;
/// Room for the first estimate of the speed before tracks count as too fast.
const ROOM: f64 = 1.05;

/// A track, judged.
#[derive(Debug, Clone, PartialEq)]
pub struct Judged {
    /// Its name in the table.
    pub name: String,
    /// Its speed over that of the ideal pattern at mid-gap; none if it was left out before.
    pub speed: Option<Speed>,
    /// |zeta| at which it runs, where its speed is one of the fluid.
    pub height: Option<f64>,
    /// Its direction.
    pub direction: Option<Direction>,
    /// Why it is left out.
    pub fault: Option<Reason>,
}

/// What the tracks say.
#[derive(Debug)]
pub struct Compared {
    /// The tracks, in the order given.
    pub tracks: Vec<Judged>,
    /// Heights and speed, with a taper taken out if there is one.
    pub found: Found,
    /// Mean speed over the inlet for the gap at the reference place, m/s; a lower bound where heights are unknown.
    pub mean_speed: f64,
    /// Its standard error, m/s.
    pub mean_speed_sigma: f64,
    /// Trend of ln s.
    pub trend: Trend,
    /// Heights and speed before the trend was taken out; none if it was not.
    pub before: Option<Found>,
    /// Noise of places, m.
    pub noise: f64,
    /// Root mean square of the shifts of places from lines of the ideal pattern, noise included, m.
    pub shift_rms: f64,
    prepared: Vec<Option<Prepared>>,
    flow_speed: f64,
}

/// A track beside the pattern.
#[derive(Debug)]
struct Prepared {
    smooth: Smooth,
    pattern: Vec<Local>,
    /// The pattern as quadratics see it, for speeds.
    seen: Vec<Local>,
    places: Vec<OnLines>,
}

/// Compares tracks with the ideal pattern; the mean speed is the one that belongs to the gap at the reference place, m.
///
/// # Errors
/// [`Error::Failed`] if fewer than ten tracks are left.
pub fn compare(tracks: &[Track], flow: &Flow<'_>, reference: Point) -> Result<Compared> {
    let prepared: Vec<Option<Prepared>> = tracks.par_iter().map(|track| prepare(track, flow)).collect();
    let mut state = Round::new(&prepared);
    let found = state.settle()?;
    let mut trend = state.trend([true, true]);
    let (mut last, mut before, mut of_trend) = (found, None, 0.0);
    if trend.is_clear(0) {
        // an unclear trend across would only add its noise
        let axes = [true, trend.is_clear(1)];
        trend = state.trend(axes);
        state.take_out(&trend, reference);
        // what the first order has left of it
        let rest = state.trend(axes);
        trend = Trend { slope: [trend.slope[0] + rest.slope[0], rest.slope[1]], ..rest };
        state.take_out(&trend, reference);
        last = state.settle()?;
        last.passes += found.passes;
        (before, of_trend) = (Some(found), state.error_of(&trend, reference));
    }
    let judged = tracks.iter().enumerate().map(|(k, track)| state.judge(k, &track.name, last.kappa)).collect();
    Ok(Compared {
        tracks: judged,
        found: last,
        mean_speed: last.kappa * flow.mean_speed,
        mean_speed_sigma: flow.mean_speed * last.sigma.hypot(last.kappa * of_trend),
        trend,
        before,
        noise: state.ensemble.noise,
        shift_rms: state.shift_rms(),
        prepared,
        flow_speed: flow.mean_speed,
    })
}

impl Compared {
    /// How much of predicted effects the directions of the tracks show, fitted together; none where these tracks cannot tell them apart.
    pub fn amplitudes<const N: usize>(&self, effects: [Effect<'_>; N]) -> Option<[Amplitude; N]> {
        let kept = self.tracks.iter().zip(&self.prepared).filter(|(judged, _)| judged.fault.is_none());
        let seen: Vec<Seen<'_>> = kept
            .filter_map(|(_, prepared)| prepared.as_ref())
            .map(|p| Seen { smooth: &p.smooth, pattern: &p.pattern, places: &p.places })
            .collect();
        amplitudes(&seen, effects, self.flow_speed)
    }

    /// Tracks that are left.
    pub fn used(&self) -> usize {
        self.tracks.iter().filter(|judged| judged.fault.is_none()).count()
    }
}

/// Smooths a track and looks the pattern up, over the longest stretch of it that lies in the fluid.
fn prepare(track: &Track, flow: &Flow<'_>) -> Option<Prepared> {
    let at = |point: Point| (flow.at)(point).filter(|local| length(local.velocity) > AT_REST * flow.mean_speed);
    let inside = |times: &[f64], points: &[Point]| {
        let smooth = smooth(times, points)?;
        let pattern: Vec<Option<Local>> = smooth.samples.iter().map(|sample| at(sample.at)).collect();
        Some((smooth, pattern))
    };
    let (mut from, mut to) = (0, track.points.len());
    let (smooth, pattern) = loop {
        let (smooth, pattern) = inside(track.times.get(from..to)?, track.points.get(from..to)?)?;
        if pattern.iter().all(Option::is_some) {
            break (smooth, pattern);
        }
        // shorter at each turn
        let [start, end] = longest(&pattern)?;
        (from, to) = (from + start, from + end);
    };
    let pattern: Vec<Local> = pattern.into_iter().collect::<Option<_>>()?;
    let places = on_lines(track.points.get(from..to)?, &smooth, &pattern, flow.mean_speed);
    let seen = through(&smooth, track.times.get(from..to)?, &pattern);
    Some(Prepared { smooth, pattern, seen, places })
}

/// The longest stretch of places in the fluid, the first of several.
fn longest(pattern: &[Option<Local>]) -> Option<[usize; 2]> {
    let mut stretches: Vec<[usize; 2]> = Vec::new();
    for (k, _) in pattern.iter().enumerate().filter(|(_, local)| local.is_some()) {
        match stretches.last_mut() {
            Some([_, end]) if *end == k => *end += 1,
            _ => stretches.push([k, k + 1]),
        }
    }
    stretches.into_iter().rev().max_by_key(|[from, to]| to - from)
}

/// The tracks between rounds.
struct Round<'a> {
    prepared: &'a [Option<Prepared>],
    /// Patterns with the trend in their speed; none before there is one.
    patterns: Option<Vec<Vec<Local>>>,
    ensemble: Ensemble,
    speeds: Vec<Option<Speed>>,
    directions: Vec<Option<Direction>>,
    faults: Vec<Option<Reason>>,
}

impl<'a> Round<'a> {
    fn new(prepared: &'a [Option<Prepared>]) -> Self {
        let noises: Vec<f64> = prepared.iter().flatten().map(|prepared| prepared.smooth.noise).collect();
        let way = |p: &Prepared| {
            let ends = p.smooth.samples.first().zip(p.smooth.samples.last());
            ends.map_or(0.0, |(first, last)| distance(first.at, last.at))
        };
        let ways: Vec<f64> = prepared.iter().flatten().map(way).collect();
        let count = prepared.len();
        let mut round = Round {
            prepared,
            patterns: None,
            ensemble: Ensemble::new(&noises, &ways, &[]),
            speeds: vec![None; count],
            directions: vec![None; count],
            faults: vec![None; count],
        };
        round.measure();
        let angles: Vec<f64> = (round.speeds.iter().zip(&round.directions))
            .filter_map(|(speed, direction)| speed.zip(direction.as_ref()))
            .filter(|(speed, _)| speed.ratio > 4.0 * speed.sigma)
            .map(|(_, direction)| direction.angle / direction.sigma)
            .collect();
        round.ensemble = Ensemble::new(&noises, &ways, &angles);
        round
    }

    fn pattern(&self, k: usize, prepared: &'a Prepared) -> &[Local] {
        self.patterns.as_ref().map_or(&prepared.seen, |patterns| &patterns[k])
    }

    fn noise(&self, prepared: &Prepared) -> f64 {
        self.ensemble.noise_of(&prepared.smooth)
    }

    /// Speed and direction of every track.
    fn measure(&mut self) {
        let of = |k: usize| {
            let prepared = self.prepared[k].as_ref()?;
            let noise = self.noise(prepared);
            Some((speed(&prepared.smooth, self.pattern(k, prepared), noise), direction(&prepared.places, noise)))
        };
        let found: Vec<Option<(Speed, Option<Direction>)>> = (0..self.prepared.len()).into_par_iter().map(of).collect();
        for (k, found) in found.into_iter().enumerate() {
            (self.speeds[k], self.directions[k]) =
                found.map_or((None, None), |(speed, direction)| (Some(speed), direction));
        }
    }

    /// Rejects tracks and finds heights and speed until both agree.
    fn settle(&mut self) -> Result<Found> {
        let sound: Vec<Measured> = (0..self.prepared.len())
            .filter(|k| self.fault(*k, f64::INFINITY, 0.0).is_none())
            .filter_map(|k| self.speeds[k].map(|speed| (speed.ratio, speed.sigma)))
            .collect();
        let first = first_estimate(&sound).ok_or_else(|| too_few(0, self.prepared.len()))?;
        self.reject(ROOM * first, first);
        let mut found = self.find()?;
        for _ in 1..ROUNDS {
            let before = self.faults.clone();
            // of unknown heights the speed at mid-gap is not known
            let limit = if found.heights == Heights::Unknown { ROOM * first } else { found.kappa };
            self.reject(limit, found.kappa);
            if self.faults == before {
                break;
            }
            let next = self.find()?;
            found = Found { passes: found.passes + next.passes, ..next };
        }
        Ok(found)
    }

    fn reject(&mut self, limit: f64, kappa: f64) {
        self.faults = (0..self.prepared.len()).map(|k| self.fault(k, limit, kappa)).collect();
    }

    /// What is wrong with a track where none may be faster than the limit.
    fn fault(&self, k: usize, limit: f64, kappa: f64) -> Option<Reason> {
        let (Some(prepared), Some(speed)) = (&self.prepared[k], &self.speeds[k]) else { return Some(Reason::TooShort) };
        let noisy = self.ensemble.noise_fault(&prepared.smooth);
        noisy.or_else(|| self.ensemble.motion_fault(speed, self.directions[k].as_ref(), limit, kappa))
    }

    fn find(&self) -> Result<Found> {
        let kept = self.faults.iter().zip(&self.speeds).filter(|(fault, _)| fault.is_none());
        let measured: Vec<Measured> = kept.filter_map(|(_, speed)| speed.map(|s| (s.ratio, s.sigma))).collect();
        if measured.len() < FEWEST {
            return Err(too_few(measured.len(), self.prepared.len()));
        }
        find(&measured).ok_or_else(|| too_few(0, self.prepared.len()))
    }

    fn kept(&self) -> impl Iterator<Item = (usize, &'a Prepared)> {
        let kept = self.faults.iter().enumerate().filter(|(_, fault)| fault.is_none());
        kept.filter_map(|(k, _)| self.prepared[k].as_ref().map(|prepared| (k, prepared)))
    }

    fn trend(&self, axes: [bool; 2]) -> Trend {
        let along = |(k, prepared): (usize, &'a Prepared)| {
            let (pattern, noise) = (self.pattern(k, prepared), self.noise(prepared));
            self.speeds[k].map(|speed| Along { smooth: &prepared.smooth, pattern, speed, noise })
        };
        let tracks: Vec<Along<'_>> = self.kept().filter_map(along).collect();
        trend(&tracks, axes)
    }

    fn take_out(&mut self, trend: &Trend, reference: Point) {
        let corrected = |prepared: &Option<Prepared>| {
            let pairs = prepared.iter().flat_map(|p| p.smooth.samples.iter().zip(&p.seen));
            pairs.map(|(sample, local)| trend.put_into(local, sample.at, reference)).collect()
        };
        self.patterns = Some(self.prepared.iter().map(corrected).collect());
        self.measure();
    }

    /// Relative error of the speed from that of the trend: its lever is the way from the reference to the middle of all places.
    fn error_of(&self, trend: &Trend, reference: Point) -> f64 {
        let places: Vec<Point> =
            self.kept().flat_map(|(_, p)| p.smooth.samples.iter().map(|sample| sample.at)).collect();
        let middle = places.iter().map(|place| place[0]).sum::<f64>() / places.len() as f64;
        (middle - reference[0]).abs() * trend.sigma[0].unwrap_or(0.0)
    }

    fn shift_rms(&self) -> f64 {
        let shifts =
            self.kept().filter_map(|(k, _)| self.directions[k].as_ref()).flat_map(|d| d.shifts.iter().flatten());
        let (count, sum) = shifts.fold((0_usize, 0.0), |(count, sum), shift| (count + 1, sum + shift * shift));
        (sum / count.max(1) as f64).sqrt()
    }

    fn judge(&self, k: usize, name: &str, kappa: f64) -> Judged {
        let (speed, fault) = (self.speeds[k], self.faults[k]);
        let part = speed.filter(|_| fault.is_none()).map(|speed| speed.ratio / kappa);
        let height = part.map(|q| (1.0 - q).clamp(0.0, 1.0).sqrt());
        Judged { name: name.to_owned(), speed, height, direction: self.directions[k].clone(), fault }
    }
}

fn too_few(left: usize, all: usize) -> Error {
    let what = format!("{left} of {all} tracks are left, but {FEWEST} are needed to know how tracers stand in the gap");
    Error::failed(
        what,
        "follow more particles, or check calibration and frame rate: tracks that do not follow the flow are left out",
    )
}
