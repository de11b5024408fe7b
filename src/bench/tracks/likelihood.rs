//! kappa by maximum likelihood: measured s of a distribution of heights, each smeared by its own error, and a share of strays.
//!
//! log L = sum ln((1 - e) p(s; sigma, kappa) + e c), strays uniform on [0, 2 kappa_0], c = 1/(2 kappa_0), kappa_0 the first estimate.
//! The share e is the best for each kappa. The error of kappa is how far log L has fallen by one half, on both sides.

use super::profile::Profile;
use rayon::prelude::*;
use std::cell::Cell;
use std::ops::ControlFlow;

/// Largest share of strays.
const MOST_STRAYS: f64 = 0.3;
/// Steps of the scan for kappa on both sides of the first estimate, as a fraction of it.
const STEP: f64 = 0.005;
const STEPS: i32 = 40;
/// Tracks that are scanned, about: their kappa is known to a tenth of a step.
const SCANNED: usize = 1000;
/// Widths of focused heights that are looked for.
const WIDTHS: [f64; 2] = [0.01, 0.5];
/// Steps of a golden section: a ten-thousandth of the interval.
const SECTIONS: usize = 20;

/// A measured s with its standard error.
pub type Measured = (f64, f64);

/// What fits best.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fit {
    /// Heights.
    pub profile: Profile,
    /// Speed over that of the case.
    pub kappa: f64,
    /// Standard error of kappa.
    pub sigma: f64,
    /// Share of strays.
    pub strays: f64,
    /// Logarithm of the likelihood.
    pub log_likelihood: f64,
    /// Passes over all tracks that it took.
    pub passes: usize,
}

/// Fits kappa for uniform or crossing heights.
pub(crate) fn fit(profile: Profile, measured: &[Measured], first: f64) -> Fit {
    let passes = Cell::new(0);
    let at = |kappa: f64| Level::new(profile, measured, kappa, first, &passes);
    // where to look is seen from some of the tracks
    let some: Vec<Measured> = measured.iter().step_by(measured.len().div_ceil(SCANNED).max(1)).copied().collect();
    let scan = |kappa: f64| Level::new(profile, &some, kappa, first, &passes);
    let best = (-STEPS..=STEPS).map(|k| scan(first * (1.0 + STEP * f64::from(k)))).reduce(Level::better);
    let start = best.map_or(first, |level| level.kappa);
    let reach = if some.len() < measured.len() { 3.0 * STEP * first } else { STEP * first };
    Fit { passes: passes.get(), ..finish(at, [start - reach, start + reach]) }
}

/// Fits kappa and the width of heights near mid-gap.
pub(crate) fn fit_focused(measured: &[Measured], first: f64) -> Fit {
    let passes = Cell::new(0);
    let at = |kappa: f64| {
        let of = |log: f64| Level::new(Profile::Focused { width: log.exp() }, measured, kappa, first, &passes);
        golden(of, WIDTHS.map(f64::ln))
    };
    Fit { passes: passes.get(), ..finish(at, [0.95 * first, 1.1 * first]) }
}

/// Narrows kappa down and finds its error.
fn finish(at: impl Fn(f64) -> Level, interval: [f64; 2]) -> Fit {
    let top = golden(&at, interval);
    let fallen = |kappa: f64| (top.log_likelihood - at(kappa).log_likelihood).max(0.0);
    let side = |sign: f64| {
        // as if log L were a parabola, until it has fallen by about one half
        let mut step = 0.1 * (interval[1] - interval[0]);
        let _ = (0..4).try_for_each(|_| {
            let fall = fallen(top.kappa + sign * step);
            step *= (0.5 / fall.max(0.005)).sqrt();
            if (0.45..0.55).contains(&fall) { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
        });
        step
    };
    let sigma = 0.5 * (side(-1.0) + side(1.0));
    let Level { profile, kappa, strays, log_likelihood } = top;
    Fit { profile, kappa, sigma, strays, log_likelihood, passes: 0 }
}

/// The likelihood at one kappa.
#[derive(Debug, Clone, Copy)]
struct Level {
    profile: Profile,
    kappa: f64,
    strays: f64,
    log_likelihood: f64,
}

impl Level {
    fn new(profile: Profile, measured: &[Measured], kappa: f64, first: f64, passes: &Cell<usize>) -> Level {
        passes.set(passes.get() + 1);
        // collected in order, summed in order: the same for any number of threads
        let densities: Vec<f64> =
            measured.par_iter().with_min_len(64).map(|(s, sigma)| profile.measured(*s, *sigma, kappa)).collect();
        let stray = 0.5 / first;
        let mixed = |share: f64, p: f64| (1.0 - share) * p + share * stray;
        // the slope in the share falls, so its zero is found by halving
        let rises = |share: f64| {
            densities.iter().map(|p| (stray - p) / mixed(share, *p).max(f64::MIN_POSITIVE)).sum::<f64>() > 0.0
        };
        let (mut low, mut high) = (1e-6, MOST_STRAYS);
        for _ in 0..20 {
            let middle = 0.5 * (low + high);
            if rises(middle) { low = middle } else { high = middle }
        }
        let strays = 0.5 * (low + high);
        let log_likelihood = densities.iter().map(|p| mixed(strays, *p).ln()).sum();
        Level { profile, kappa, strays, log_likelihood }
    }

    fn better(self, other: Level) -> Level {
        if other.log_likelihood > self.log_likelihood { other } else { self }
    }
}

/// The best of an interval with one maximum.
fn golden(at: impl Fn(f64) -> Level, [mut low, mut high]: [f64; 2]) -> Level {
    const PART: f64 = 0.618_033_988_749_894_9;
    let inner = |low: f64, high: f64| [high - PART * (high - low), low + PART * (high - low)];
    let [a, b] = inner(low, high);
    let (mut left, mut right) = (at(a), at(b));
    for _ in 0..SECTIONS {
        if left.log_likelihood > right.log_likelihood {
            (high, right) = (inner(low, high)[1], left);
            left = at(inner(low, high)[0]);
        } else {
            (low, left) = (inner(low, high)[0], right);
            right = at(inner(low, high)[1]);
        }
    }
    left.better(right)
}
