//! Place and velocity of a particle, by least-squares quadratics over seven frames, and the noise of its places.
//!
//! A quadratic in time through seven places gives the place and the velocity at its middle, near the ends of the track at the frame itself
//! (Savitzky and Golay 1964, Anal. Chem. 36, 1627, for any times). For places with independent noise sigma the residuals of a window have four
//! degrees of freedom in each direction; the mean over all windows is sigma^2 without bias, though windows overlap. The velocity is too large by
//! 1.2 h^2 d3x/dt3 for frames h apart; whoever compares it with theory should see theory through the same quadratics.

use crate::base::plane::{Point, Vector};

/// Frames of a quadratic.
pub const FRAMES: usize = crate::input::measured::LEAST_POINTS;

/// A particle in one frame.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sample {
    /// Its smoothed place, m.
    pub at: Point,
    /// Its velocity, m/s.
    pub velocity: Vector,
    /// The first frame of its quadratic.
    pub first: usize,
    /// What the velocity takes of the place in each of the frames, 1/s.
    pub takes: [f64; FRAMES],
}

/// A smoothed track.
#[derive(Debug, Clone, PartialEq)]
pub struct Smooth {
    /// One for each frame.
    pub samples: Vec<Sample>,
    /// Noise of the places in each direction, m.
    pub noise: f64,
    /// Variance of the places by each window of seven frames, m2.
    pub variances: Vec<f64>,
}

/// Smooths a track of at least seven frames; none if it is shorter or its times are so uneven that no quadratic is determined.
pub fn smooth(times: &[f64], points: &[Point]) -> Option<Smooth> {
    let count = points.len().min(times.len());
    let last = count.checked_sub(FRAMES)?;
    let sample = |k: usize| {
        let first = k.saturating_sub(FRAMES / 2).min(last);
        let window = first..first + FRAMES;
        let [value, rate, _] = takes(&times[window.clone()], times[k])?;
        let sum = |takes: &[f64; FRAMES]| blend(takes, &points[window.clone()]);
        Some(Sample { at: sum(&value), velocity: sum(&rate), first, takes: rate })
    };
    let samples: Vec<Sample> = (0..count).map(sample).collect::<Option<_>>()?;
    let variances: Vec<f64> =
        (0..=last).map(|k| variance(&times[k..k + FRAMES], &points[k..k + FRAMES])).collect::<Option<_>>()?;
    let noise = (variances.iter().sum::<f64>() / variances.len() as f64).sqrt();
    Some(Smooth { samples, noise, variances })
}

fn blend(takes: &[f64; FRAMES], points: &[Point]) -> Vector {
    [0, 1].map(|k| takes.iter().zip(points).map(|(take, point)| take * point[k]).sum())
}

/// Variance of places about their quadratic.
fn variance(times: &[f64], points: &[Point]) -> Option<f64> {
    let middle = times[FRAMES / 2];
    let takes = takes(times, middle)?;
    let [value, rate, bend] = takes.map(|takes| blend(&takes, points));
    let square = |(t, point): (&f64, &Point)| {
        let t = t - middle;
        [0, 1].map(|k| (point[k] - value[k] - t * (rate[k] + t * bend[k])).powi(2)).iter().sum::<f64>()
    };
    let freedom = 2 * (FRAMES - 3);
    Some(times.iter().zip(points).map(square).sum::<f64>() / freedom as f64)
}

/// What value, rate and half the second derivative at a time take of each place.
fn takes(times: &[f64], at: f64) -> Option<[[f64; FRAMES]; 3]> {
    // in units of the window's length the equations are well scaled
    let unit = times[FRAMES - 1] - times[0];
    let steps: [f64; FRAMES] = std::array::from_fn(|k| (times[k] - at) / unit);
    let m: [f64; 5] = std::array::from_fn(|power| steps.iter().map(|u| u.powi(power as i32)).sum());
    // adjoint of the symmetric matrix m[i + k]
    let adjoint = [
        [m[2] * m[4] - m[3] * m[3], m[2] * m[3] - m[1] * m[4], m[1] * m[3] - m[2] * m[2]],
        [m[2] * m[3] - m[1] * m[4], m[0] * m[4] - m[2] * m[2], m[1] * m[2] - m[0] * m[3]],
        [m[1] * m[3] - m[2] * m[2], m[1] * m[2] - m[0] * m[3], m[0] * m[2] - m[1] * m[1]],
    ];
    let determinant = m[0] * adjoint[0][0] + m[1] * adjoint[0][1] + m[2] * adjoint[0][2];
    (determinant > 1e-9).then(|| {
        std::array::from_fn(|i| {
            let row = adjoint[i];
            steps.map(|u| (row[0] + u * (row[1] + u * row[2])) / determinant / unit.powi(i as i32))
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_quadratic_comes_back_exactly_from_uneven_times() {
        let times: Vec<f64> = (0..12).map(|k| 0.02 * f64::from(k) + 0.004 * f64::from(k % 3)).collect();
        let points: Vec<Point> = times.iter().map(|t| [0.1 + 0.3 * t - 2.0 * t * t, 0.05 * t + t * t]).collect();
        let smooth = smooth(&times, &points).unwrap();
        for (t, (sample, point)) in times.iter().zip(smooth.samples.iter().zip(&points)) {
            let exact = [0.3 - 4.0 * t, 0.05 + 2.0 * t];
            assert!(
                (0..2)
                    .all(|k| (sample.at[k] - point[k]).abs() < 1e-12 && (sample.velocity[k] - exact[k]).abs() < 1e-10)
            );
        }
        assert!(smooth.noise < 1e-12);
    }

    #[test]
    fn even_frames_give_the_published_weights() {
        // Savitzky and Golay 1964: first derivative of seven points k / 28, value (-2, 3, 6, 7, 6, 3, -2) / 21
        let [value, rate, _] = takes(&[0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0], 3.0).unwrap();
        for k in 0..FRAMES {
            assert!((rate[k] - (k as f64 - 3.0) / 28.0).abs() < 1e-13);
            assert!((value[k] - [-2.0, 3.0, 6.0, 7.0, 6.0, 3.0, -2.0][k] / 21.0).abs() < 1e-13);
        }
    }

    #[test]
    fn what_determines_no_quadratic_is_refused() {
        assert!(smooth(&[0.0, 1.0, 2.0], &[[0.0; 2]; 3]).is_none());
        let uneven = [0.0, 1e-9, 2e-9, 3e-9, 4e-9, 5e-9, 1.0];
        assert!(smooth(&uneven, &[[0.0; 2]; 7]).is_none());
    }
}
