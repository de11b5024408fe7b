//! Tracks that are none of the fluid, each by the name of what is wrong with it.

use super::direction::Direction;
use super::smooth::{FRAMES, Smooth};
use super::speed::Speed;
use crate::bench::statistics::median;

/// Standard errors beyond which a track is none of the fluid.
const FAR: f64 = 4.0;
/// Noise over that of most tracks.
const NOISY: f64 = 4.0;
/// Mean square deviation of s along a track over its variance.
const CHANGING: f64 = 9.0;
/// Part of the speed at mid-gap below which a particle is stuck, however well that is known.
const STUCK: f64 = 0.01;

/// Angle by which edge layer or inertia may turn a whole track past an obstacle, rad.
const TURNED: f64 = 0.01;
/// Noise of places over the way of most tracks that is always allowed: what the pattern itself is good for.
const LEAST_NOISE: f64 = 1e-4;
/// The same for a single track.
const CALM: f64 = 2e-3;

/// What is wrong with a track.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Reason {
    /// Fewer than seven places of it stand in the fluid, or its times determine no velocity.
    TooShort,
    /// Its places scatter about a smooth path.
    Noisy,
    /// It changes from one particle to another.
    Mislinked,
    /// It does not move.
    Stuck,
    /// It does not follow the flow, as a rising bubble.
    OffDirection,
    /// It is faster than mid-gap.
    TooFast,
}

impl Reason {
    /// All of them, in the order looked for.
    pub const ALL: [Reason; 6] =
        [Reason::TooShort, Reason::Noisy, Reason::Mislinked, Reason::Stuck, Reason::OffDirection, Reason::TooFast];

    /// Its name in files.
    pub fn key(self) -> &'static str {
        match self {
            Reason::TooShort => "too_short",
            Reason::Noisy => "noisy",
            Reason::Mislinked => "mislinked",
            Reason::Stuck => "stuck",
            Reason::OffDirection => "off_direction",
            Reason::TooFast => "too_fast",
        }
    }

    /// What it says of tracks.
    pub fn words(self) -> &'static str {
        match self {
            Reason::TooShort => "too short in the fluid",
            Reason::Noisy => "noisy",
            Reason::Mislinked => "linked from one particle to another",
            Reason::Stuck => "stuck",
            Reason::OffDirection => "off the direction of the flow, as bubbles are",
            Reason::TooFast => "faster than mid-gap, as bubbles are",
        }
    }
}

/// What most tracks are like.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Ensemble {
    /// Noise of places, m.
    pub noise: f64,
    /// Noise of places that no track is left out for, m: what a quadratic misses of a bend past an obstacle.
    calm: f64,
    /// Angles against the ideal direction over their standard errors, as a spread; at least 1, since theory leaves out what turns all tracks.
    pub angle: f64,
}

impl Ensemble {
    /// Of the tracks' noises and ways from end to end, m, and angles over their errors.
    pub fn new(noises: &[f64], ways: &[f64], angles: &[f64]) -> Ensemble {
        let sizes: Vec<f64> = angles.iter().map(|angle| angle.abs()).collect();
        // of a normal distribution half lies within 0.6745 standard deviations
        let angle = (median(&sizes).unwrap_or(0.0) / 0.6745).max(1.0);
        let way = median(ways).unwrap_or(0.0);
        let noise = median(noises).unwrap_or(0.0).max(LEAST_NOISE * way);
        Ensemble { noise, calm: CALM * way, angle }
    }

    /// Noise of a track's places: its own, held to that of most tracks as if these added twenty values to it.
    pub fn noise_of(&self, smooth: &Smooth) -> f64 {
        let own = 2.0 * smooth.samples.len().saturating_sub(FRAMES - 4) as f64;
        let others = 20.0;
        ((own * smooth.noise.powi(2) + others * self.noise.powi(2)) / (own + others)).sqrt()
    }

    /// Whether a track is noisy, or quiet but for one jump.
    pub fn noise_fault(&self, smooth: &Smooth) -> Option<Reason> {
        let limit = (NOISY * self.noise).max(self.calm);
        if smooth.noise <= limit {
            return None;
        }
        let worst = smooth.variances.iter().enumerate().max_by(|a, b| a.1.total_cmp(b.1)).map_or(0, |(k, _)| k);
        // a jump shows in the windows that hold it
        let calm: Vec<f64> = smooth
            .variances
            .iter()
            .enumerate()
            .filter(|(k, _)| k.abs_diff(worst) >= FRAMES - 1)
            .map(|(_, v)| *v)
            .collect();
        let rest = calm.iter().sum::<f64>() / calm.len() as f64;
        Some(if rest.sqrt() <= 0.5 * limit { Reason::Mislinked } else { Reason::Noisy })
    }

    /// What is wrong with the motion of a track, where mid-gap runs at kappa and nothing is faster than a limit.
    pub fn motion_fault(&self, speed: &Speed, direction: Option<&Direction>, limit: f64, kappa: f64) -> Option<Reason> {
        let Speed { ratio, sigma, chi2 } = *speed;
        if ratio.abs() < (FAR * sigma).max(STUCK * kappa) {
            return Some(Reason::Stuck);
        }
        let turned = direction.is_some_and(|d| d.angle.abs() > FAR * self.angle * d.sigma + TURNED);
        if chi2 > CHANGING {
            return Some(Reason::Mislinked);
        }
        if turned || ratio < 0.0 {
            return Some(Reason::OffDirection);
        }
        (ratio > limit + FAR * sigma).then_some(Reason::TooFast)
    }
}
