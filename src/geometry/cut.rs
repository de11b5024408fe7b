//! Outlines that stand on a side wall, cut along it.

use super::meet::Part;
use super::span::{Extent, extremes, root};
use super::{Curve, Piece, Side, Wall};
use crate::base::Point;

/// A part of an outline inside the cell, from foot to foot.
#[derive(Debug, Clone)]
pub(crate) struct Bump {
    /// Where it starts and ends on the wall, counted in the walking sense of the outer loop, m.
    pub feet: [f64; 2],
    /// Its pieces, the fluid on the left.
    pub pieces: Vec<Piece>,
}

/// An outline cut along its wall.
pub(crate) struct Cut {
    /// All parts of the outline in order, those in the cell marked as inside.
    pub parts: Vec<Part>,
    /// What stands in the cell, in walking order.
    pub bumps: Vec<Bump>,
}

/// Why an outline cannot stand on its wall.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum CutFault {
    /// Its nearest point is that far from the wall.
    Apart(f64),
    /// It is on the wrong side of the wall.
    Outside,
    /// It touches the wall at a point.
    PointContact(Point),
    /// It hangs over the wall, nearer than the narrowest passage: where, and how near.
    Narrow(Point, f64),
    /// It encloses fluid with its wall.
    Pocket(Point),
}

/// A side wall of the rectangle.
#[derive(Debug, Clone, Copy)]
pub(crate) struct WallLine {
    pub wall: Wall,
    pub length: f64,
    pub width: f64,
}

impl WallLine {
    /// Height over the wall, into the cell.
    pub fn height(&self, p: Point) -> f64 {
        match self.wall {
            Wall::Lower => p[1],
            Wall::Upper => self.width - p[1],
        }
    }

    /// Distance walked along the wall, the fluid on the left.
    pub fn walked(&self, p: Point) -> f64 {
        match self.wall {
            Wall::Lower => p[0],
            Wall::Upper => self.length - p[0],
        }
    }

    /// The point of the wall after a distance walked.
    pub fn point(&self, walked: f64) -> Point {
        match self.wall {
            Wall::Lower => [walked, 0.0],
            Wall::Upper => [self.length - walked, self.width],
        }
    }

    /// Heights below this are rounding errors of zero.
    fn rounding(&self) -> f64 {
        1e-12 * self.length.max(self.width)
    }

    /// Moves ends of lines that miss the wall by rounding onto it.
    pub fn snap(&self, curves: &mut [Curve]) {
        for curve in curves {
            if let Curve::Line { from, to } = curve {
                for p in [from, to] {
                    if self.height(*p).abs() <= self.rounding() {
                        p[1] = self.point(0.0)[1];
                    }
                }
            }
        }
    }

    /// Cuts a counter-clockwise outline; its contacts must be longer than `limit`.
    pub fn cut(&self, curves: &[Curve], limit: f64, side: Side) -> Result<Cut, CutFault> {
        let (parts, grounded) = self.parts(curves);
        let count = parts.len();
        if !parts.iter().any(|part| part.inside) {
            return Err(CutFault::Outside);
        }
        let Some(first) = (0..count).find(|&k| grounded[k] && parts[k].inside) else {
            // No part rises from the wall.
            let nearest =
                Extent::whole(curves).map_or(f64::INFINITY, |e| self.height(e.low[1]).min(self.height(e.high[1])));
            return Err(CutFault::Apart(nearest));
        };
        for k in (0..count).filter(|&k| parts[k].inside && !grounded[k]) {
            let (part, previous) = (&parts[k], &parts[(k + count - 1) % count]);
            let at = curves[part.curve].point(part.from);
            let (p, q) = (middle(curves, previous), middle(curves, part));
            // The fluid is below where the outline runs along with the wall, and above where it runs against it.
            let hangs = self.walked(q) > self.walked(p) && self.height(at) <= self.height(p).min(self.height(q));
            if hangs && self.height(at) < limit {
                return Err(CutFault::Narrow(at, self.height(at)));
            }
        }
        let mut chains: Vec<Vec<Part>> = Vec::new();
        for k in (first..first + count).map(|k| k % count) {
            if !parts[k].inside {
                continue;
            }
            match chains.last_mut() {
                Some(chain) if !grounded[k] => match chain.last_mut() {
                    Some(last) if last.curve == parts[k].curve && last.to == parts[k].from => last.to = parts[k].to,
                    _ => chain.push(parts[k]),
                },
                _ => chains.push(vec![parts[k]]),
            }
        }
        let mut bumps = Vec::new();
        for chain in chains {
            let pieces: Vec<Piece> = chain
                .iter()
                .rev()
                .map(|p| Piece { curve: curves[p.curve].clone(), from: p.to, to: p.from, side })
                .collect();
            let (Some(start), Some(end)) = (pieces.first().map(Piece::start), pieces.last().map(Piece::end)) else {
                continue;
            };
            let feet = [self.walked(start), self.walked(end)];
            if (feet[1] - feet[0]).abs() <= limit {
                return Err(CutFault::PointContact(start));
            }
            if feet[1] < feet[0] {
                return Err(CutFault::Pocket([0.5 * (start[0] + end[0]), start[1]]));
            }
            bumps.push(Bump { feet, pieces });
        }
        bumps.sort_by(|a, b| a.feet[0].total_cmp(&b.feet[0]));
        Ok(Cut { parts, bumps })
    }

    /// Parts that are wholly inside or outside, in order; for each, whether it starts on the wall.
    fn parts(&self, curves: &[Curve]) -> (Vec<Part>, Vec<bool>) {
        let (mut parts, mut grounded) = (Vec::new(), Vec::new());
        for (k, curve) in curves.iter().enumerate() {
            let height = |t: f64| self.height(curve.point(t));
            let snapped = |t: f64| {
                let h = height(t);
                if h.abs() <= self.rounding() { 0.0 } else { h }
            };
            let mut ends = vec![0.0];
            ends.extend(extremes(curve, 1));
            ends.push(1.0);
            for pair in ends.windows(2) {
                let (a, b) = (pair[0], pair[1]);
                let (at_a, at_b) = (snapped(a), snapped(b));
                let mut add = |from: f64, to: f64, inside: bool, on_wall: bool| {
                    parts.push(Part { curve: k, from, to, inside });
                    grounded.push(on_wall);
                };
                if at_a * at_b < 0.0 {
                    let t = root(a, b, at_a, height);
                    add(a, t, at_a > 0.0, false);
                    add(t, b, at_b > 0.0, true);
                } else {
                    add(a, b, at_a > 0.0 || at_b > 0.0, at_a == 0.0);
                }
            }
        }
        (parts, grounded)
    }
}

fn middle(curves: &[Curve], part: &Part) -> Point {
    curves[part.curve].point(0.5 * (part.from + part.to))
}
