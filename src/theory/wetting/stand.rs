//! How an obstacle stands in its cell: passages on both sides, what is beside and behind it.

use super::law::Effective;
use super::outline::Outline;
use super::pockets::Channel;
use super::shape::NEARLY_ROUND;
use crate::base::Point;
use crate::geometry::{Plan, Wall};
use std::f64::consts::FRAC_PI_2;

/// Off the middle by more than this part of the half-width counts.
const CENTRED: f64 = 0.02;
/// Passages narrower than this part of the half-width are taken as it.
const NARROWEST: f64 = 0.01;
/// Posts in a row may differ in radius by this factor and stand off the axis by this part of a radius.
const ALIKE: f64 = 1.25;
const IN_LINE: f64 = 0.25;

/// How an obstacle stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stand {
    /// The symmetric cell it is taken to stand in: mean half-width and mean wall.
    pub channel: Channel,
    /// The narrower side and the wider one.
    pub sides: [Channel; 2],
    /// The axis, m: its middle across the flow, or the wall it stands on.
    pub axis: f64,
    /// +1 if the passage above is the narrower, -1 if the one below; none in the middle and on a wall.
    pub narrower: Option<f64>,
    /// Whether another obstacle stands beside it or close behind.
    pub is_crowded: bool,
}

impl Stand {
    /// How obstacle k stands between walls that meet the front at `seal`. A neighbour whose extent along the flow overlaps its own ends the
    /// cell in the middle of the passage, where the front stands upright.
    pub fn of(plan: &Plan, outlines: &[Option<Outline>], k: usize, seal: Effective) -> Option<Stand> {
        let own = outlines.get(k)?.as_ref()?;
        let [low, high] = plan.bounds()?;
        let rect = own.rect;
        let half = own.half_width();
        let axis = match own.on_wall {
            Some(Wall::Lower) => low[1],
            Some(Wall::Upper) => high[1],
            None => rect.middle()[1],
        };
        let wall = |at: f64| Channel { half_width: (at - axis).abs(), wall: seal };
        // below, above
        let mut sides = [wall(low[1]), wall(high[1])];
        let mut is_crowded = false;
        let others = outlines.iter().enumerate().filter(|(j, _)| *j != k).filter_map(|(_, other)| other.as_ref());
        for other in others {
            let there = other.rect;
            let beside = there.low[0] < rect.high[0] && rect.low[0] < there.high[0];
            let behind = there.low[0] >= rect.high[0] && there.low[0] < rect.high[0] + half;
            let across = there.low[1] < rect.high[1] && rect.low[1] < there.high[1];
            is_crowded |= beside || (behind && across);
            if !beside {
                continue;
            }
            let [below, above] = [0.5 * (there.high[1] + rect.low[1]), 0.5 * (there.low[1] + rect.high[1])];
            let (side, at) = if there.low[1] + there.high[1] > 2.0 * axis { (1, above) } else { (0, below) };
            let middle = Channel { half_width: (at - axis).abs(), wall: Effective::Angle(FRAC_PI_2) };
            if middle.half_width < sides[side].half_width {
                sides[side] = middle;
            }
        }
        for side in &mut sides {
            side.half_width = side.half_width.max((1.0 + NARROWEST) * half);
        }
        let [below, above] = sides;
        if own.on_wall.is_some() {
            let inner = if own.on_wall == Some(Wall::Lower) { above } else { below };
            return Some(Stand { channel: inner, sides: [inner; 2], axis, narrower: None, is_crowded });
        }
        let off = above.half_width - below.half_width;
        let narrower = (off.abs() > 2.0 * CENTRED * half).then_some(if off < 0.0 { 1.0 } else { -1.0 });
        let cosine = 0.5 * (below.wall.cosine() + above.wall.cosine());
        let same = below.wall == above.wall;
        let channel = Channel {
            half_width: 0.5 * (below.half_width + above.half_width),
            wall: if same { below.wall } else { Effective::Angle(cosine.acos()) },
        };
        let sides = if off < 0.0 { [above, below] } else { [below, above] };
        Some(Stand { channel, sides, axis, narrower, is_crowded })
    }
}

/// Pitch and mean radius, m, of the row that a round post makes with the next one behind it, and the middle between the two; none without one.
pub fn second_in_row(outlines: &[Option<Outline>], k: usize) -> Option<(f64, f64, Point)> {
    let own = outlines.get(k)?.as_ref()?;
    let (at, radius) = (own.rect.middle(), own.half_width());
    let behind = outlines.iter().enumerate().filter(|(j, _)| *j != k).filter_map(|(_, other)| other.as_ref());
    let behind = behind.filter(|other| {
        let [_, y] = other.rect.middle();
        other.rect.low[0] >= own.rect.high[0] && (y - at[1]).abs() < radius + other.half_width()
    });
    let next = behind.min_by(|p, q| p.rect.low[0].total_cmp(&q.rect.low[0]))?;
    let (there, other) = (next.rect.middle(), next.half_width());
    let alike = (radius / other).max(other / radius) <= ALIKE && (there[1] - at[1]).abs() <= IN_LINE * radius;
    let is_row = alike && next.on_wall.is_none() && next.roundness().0 < NEARLY_ROUND;
    is_row.then(|| {
        let middle = [0.5 * (own.rect.high[0] + next.rect.low[0]), 0.5 * (at[1] + there[1])];
        (there[0] - at[0], 0.5 * (radius + other), middle)
    })
}

#[cfg(test)]
mod tests {
    use super::super::outline::tests::{cell, square, with_ellipse};
    use super::*;

    const UPRIGHT: Effective = Effective::Angle(FRAC_PI_2);

    fn outlines(plan: &Plan) -> Vec<Option<Outline>> {
        (0..plan.obstacles.len()).map(|k| Outline::of(plan, k)).collect()
    }

    /// In a cell 5 wide: in the middle 2.5 both ways; 0.1 above it 2.6 and 2.4.
    #[test]
    fn passages_end_at_walls() {
        let seal = Effective::Angle(1.8);
        for (y, narrower) in [(2.5, None), (2.51, None), (2.6, Some(1.0)), (2.4, Some(-1.0))] {
            let plan = with_ellipse(cell(&[]), [6.0, y], [1.0; 2]);
            let stand = Stand::of(&plan, &outlines(&plan), 0, seal).unwrap();
            assert_eq!((stand.narrower, stand.is_crowded), (narrower, false), "{y}");
            assert!((stand.channel.half_width - 2.5).abs() < 1e-9 && stand.channel.wall == seal);
            let off = (y - 2.5).abs();
            assert!((stand.sides[0].half_width - 2.5 + off).abs() < 1e-6, "{stand:?}");
            assert!((stand.sides[1].half_width - 2.5 - off).abs() < 1e-6, "{stand:?}");
        }
    }

    /// A square beside a post ends its cell in the middle of the passage, where the front is upright.
    #[test]
    fn passages_end_midway_to_a_neighbour() {
        let plan = with_ellipse(cell(&[square([6.0, 3.8])]), [6.0, 1.2], [0.8; 2]);
        let stand = Stand::of(&plan, &outlines(&plan), 1, Effective::Angle(1.8)).unwrap();
        // from the axis at 1.2 down to 0 and up to (2.0 + 2.8)/2
        let [narrow, wide] = stand.sides;
        assert!((narrow.half_width - 1.2).abs() < 1e-6 && (wide.half_width - 1.2).abs() < 1e-6, "{stand:?}");
        assert!(stand.is_crowded && [narrow.wall, wide.wall].contains(&UPRIGHT));
        assert!((stand.channel.wall.cosine() - 0.5 * 1.8f64.cos()).abs() < 1e-12);
    }

    #[test]
    fn rows_are_of_round_posts_alike_and_in_line() {
        let row = |second: Point, size: f64| {
            let plan = with_ellipse(with_ellipse(cell(&[]), [6.0, 2.5], [1.0; 2]), second, [size; 2]);
            second_in_row(&outlines(&plan), 0)
        };
        let (pitch, radius, middle) = row([9.0, 2.5], 1.0).unwrap();
        assert!((pitch - 3.0).abs() < 1e-6 && (radius - 1.0).abs() < 1e-6 && (middle[0] - 7.5).abs() < 1e-6);
        assert!(row([9.0, 2.74], 1.0).is_some() && row([9.0, 2.76], 1.0).is_none());
        assert!(row([9.0, 2.5], 0.81).is_some() && row([9.0, 2.5], 0.79).is_none());
        assert!(row([3.0, 2.5], 1.0).is_none(), "it stands before");
        let plan = cell(&[square([6.0, 2.5]), square([9.0, 2.5])]);
        assert_eq!(second_in_row(&outlines(&plan), 0), None);
    }
}
