//! Spots to lines, in the plane of potential and stream function where dye lines are nearly level.
//!
//! A spot belongs to the level that it is within 0.4 of the spacing of. No line can so be swapped for its neighbour
//! where lines cross glare or each other's shade, and where nothing is seen nothing is made up. Then along each line
//! strays are dropped: what is off the running median over 15 mm by more than four median deviations, three times over.
//!
//! Range: lines that depart from the ideal pattern by less than 0.4 of their spacing. Where a line leaves that band,
//! its neighbour comes in from the other side: a step of more than half the spacing over the running median's window
//! says so.

use super::along::{Mile, arc_of};
use super::choice::Spot;
use crate::bench::statistics::median;

/// Share of the spacing that a line may be off its level.
pub const BAND: f64 = 0.4;

/// Window of the running median, m.
const WINDOW: f64 = 15e-3;

/// Knots of the running median in a window.
const KNOTS: f64 = 10.0;

/// Median deviations that a spot may be off, and rounds.
const STRAY: f64 = 4.0;
const ROUNDS: usize = 3;

/// A median absolute deviation of a normal variable times this is its standard deviation.
const NORMAL: f64 = 1.482_602_22;

/// The share of the spacing by which a line that is its neighbour further on steps.
const STEP: f64 = 0.5;

/// A spot of a line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Linked {
    /// Length of the ideal line up to it, m.
    pub arc: f64,
    /// The spot.
    pub spot: Spot,
}

/// Distance from each level to the one below and the one above, m, no more than a limit; a lone level has the limit.
pub fn spacings(levels: &[f64], limit: f64) -> Vec<[f64; 2]> {
    let gap = |a: Option<&f64>, b: Option<&f64>| a.zip(b).map(|(a, b)| b - a);
    let of = |k: usize| {
        let below = gap(k.checked_sub(1).and_then(|k| levels.get(k)), levels.get(k));
        let above = gap(levels.get(k), levels.get(k + 1));
        [below.or(above), above.or(below)].map(|gap| gap.map_or(limit, |gap| gap.min(limit)))
    };
    (0..levels.len()).map(of).collect()
}

/// The spots of each level, in their order.
pub fn shared(spots: &[Spot], levels: &[f64], spacings: &[[f64; 2]]) -> Vec<Vec<Spot>> {
    let mut lines = vec![Vec::new(); levels.len()];
    for spot in spots {
        let next = levels.partition_point(|level| *level < spot.psi);
        let near = [next.checked_sub(1), Some(next)].into_iter().flatten().filter(|k| *k < levels.len());
        let fits = |&k: &usize| {
            let off = spot.psi - levels[k];
            off.abs() <= BAND * spacings[k][usize::from(off > 0.0)]
        };
        if let Some(k) =
            near.filter(fits).min_by(|&i, &j| (spot.psi - levels[i]).abs().total_cmp(&(spot.psi - levels[j]).abs()))
        {
            lines[k].push(*spot);
        }
    }
    lines
}

/// The spots of a line along its ideal course, without strays; `least` is the least median deviation of psi, m.
pub fn along_line(spots: &[Spot], course: &[Mile], least: f64) -> Vec<Linked> {
    let linked = |spot: &Spot| arc_of(course, spot.phi).map(|arc| Linked { arc, spot: *spot });
    let mut line: Vec<Linked> = spots.iter().filter_map(linked).collect();
    line.sort_by(|a, b| a.arc.total_cmp(&b.arc).then(a.spot.psi.total_cmp(&b.spot.psi)));
    for _ in 0..ROUNDS {
        let middle = running(&line, &psi(&line));
        // from the running median and not from its window's: a line that departs slowly is no noise
        let off = |linked: &Linked| between(&middle, linked.arc).map_or(f64::INFINITY, |m| (linked.spot.psi - m).abs());
        let off: Vec<f64> = line.iter().map(off).collect();
        let deviation = running(&line, &off);
        let keeps = |(linked, off): &(&Linked, &f64)| {
            let usual = NORMAL * between(&deviation, linked.arc).unwrap_or(0.0);
            **off <= STRAY * usual.max(least * linked.spot.speed)
        };
        let kept: Vec<Linked> = line.iter().zip(&off).filter(keeps).map(|(linked, _)| *linked).collect();
        let is_done = kept.len() == line.len();
        line = kept;
        if is_done {
            break;
        }
    }
    line
}

/// Where a line steps by more than half the spacing from one stretch to the next: the length up to it, m.
pub fn step(line: &[Linked], spacing: f64) -> Option<f64> {
    let knots = running(line, &psi(line));
    let pairs = knots.iter().zip(knots.iter().skip(KNOTS as usize));
    let far = pairs.map(|(a, b)| (0.5 * (a[0] + b[0]), (b[1] - a[1]).abs()));
    far.filter(|(_, step)| *step > STEP * spacing).map(|(arc, _)| arc).next()
}

/// A value at a length of a line, m.
type Knot = [f64; 2];

/// The running median of some values of a line, at knots that have spots about them.
fn running(line: &[Linked], values: &[f64]) -> Vec<Knot> {
    let pitch = WINDOW / KNOTS;
    let (Some(first), Some(last)) = (line.first(), line.last()) else { return Vec::new() };
    let (mut from, mut to) = (0, 0);
    let mut knots = Vec::new();
    for k in (first.arc / pitch).floor() as i64..=(last.arc / pitch).ceil() as i64 {
        let arc = k as f64 * pitch;
        while from < line.len() && line[from].arc < arc - 0.5 * WINDOW {
            from += 1;
        }
        while to < line.len() && line[to].arc <= arc + 0.5 * WINDOW {
            to += 1;
        }
        knots.extend(median(&values[from..to.max(from)]).map(|middle| [arc, middle]));
    }
    knots
}

/// The value between knots.
fn between(knots: &[Knot], arc: f64) -> Option<f64> {
    let next = knots.partition_point(|knot| knot[0] < arc);
    let (a, b) = (knots.get(next.saturating_sub(1))?, knots.get(next).or(knots.last())?);
    let share = if b[0] > a[0] { ((arc - a[0]) / (b[0] - a[0])).clamp(0.0, 1.0) } else { 0.0 };
    Some(a[1] + share * (b[1] - a[1]))
}

fn psi(line: &[Linked]) -> Vec<f64> {
    line.iter().map(|linked| linked.spot.psi).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn spot(psi: f64, phi: f64) -> Spot {
        Spot { pixel: [0.0; 2], normal: [0.0, 1.0], place: [phi, psi], psi, phi, speed: 1.0, strength: 1.0 }
    }

    fn course() -> Vec<Mile> {
        let mile = |k: usize| {
            let phi = 1e-3 * k as f64;
            Mile { at: [phi, 0.0], triangle: 0, phi, arc: phi }
        };
        (0..300).map(mile).collect()
    }

    #[test]
    fn spots_go_to_the_level_within_the_band() {
        let levels = [0.01, 0.02, 0.05];
        let spacings = spacings(&levels, 0.02);
        assert_eq!(
            spacings.iter().map(|s| s.map(|v| (v * 1e3).round())).collect::<Vec<_>>(),
            [[10.0; 2], [10.0, 20.0], [20.0; 2]]
        );
        let spots: Vec<Spot> = [0.0065, 0.0139, 0.0141, 0.0159, 0.0161, 0.0279, 0.0281, 0.0421, 0.058, 0.0581]
            .map(|psi| spot(psi, 0.0))
            .to_vec();
        let shared = shared(&spots, &levels, &spacings);
        let psi: Vec<Vec<f64>> = shared.iter().map(|line| line.iter().map(|spot| spot.psi).collect()).collect();
        assert_eq!(psi, [vec![0.0065, 0.0139], vec![0.0161, 0.0279], vec![0.0421, 0.058]]);
        assert!(super::shared(&spots, &[], &[]).is_empty());
    }

    #[test]
    fn strays_are_dropped_and_a_slow_departure_stays() {
        let mut state = 5u64;
        let mut noise = || {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            ((state >> 40) as f64 / (1u64 << 24) as f64 - 0.5) * 2e-5
        };
        let mut spots: Vec<Spot> =
            (0..1000).map(|k| 2.5e-4 * f64::from(k) + 1e-3).map(|phi| spot(0.03 + 0.01 * phi + noise(), phi)).collect();
        for k in 0..40 {
            spots.push(spot(0.031, 0.1 + 1e-3 * f64::from(k) + 5e-4));
        }
        let line = along_line(&spots, &course(), 1e-6);
        // four deviations of the noise are 3e-5, with a fifth of strays twice that; where they cross the line some stay
        let off = |linked: &&Linked| (linked.spot.psi - 0.03 - 0.01 * linked.spot.phi).abs() > 8e-5;
        assert_eq!(line.iter().filter(off).count(), 0);
        assert!(line.len() >= 990, "{}", line.len());
        assert!(step(&line, 0.01).is_none());
    }

    #[test]
    fn a_swap_of_lines_is_a_step() {
        let spots: Vec<Spot> = (0..1000)
            .map(|k| 2.5e-4 * f64::from(k) + 1e-3)
            .map(|phi| spot(if phi < 0.1 { 0.034 } else { 0.026 }, phi))
            .collect();
        let line = along_line(&spots, &course(), 1e-6);
        let arc = step(&line, 0.01).unwrap();
        assert!((arc - 0.1).abs() < 0.015, "{arc}");
    }
}
