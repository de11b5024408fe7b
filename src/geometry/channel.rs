//! Outer boundaries of cells of ready shapes: the rectangle, two channels of different widths in line, and two at a right angle.

use super::{Curve, Piece, Side, Wall};
use crate::base::Point;
use std::f64::consts::{FRAC_PI_2, PI};

/// Cubics along one wall of a cosine.
const CUBICS: usize = 24;

/// How the width of a contraction changes from the one to the other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Taper {
    /// Straight walls.
    Straight,
    /// Walls along half a wave of a cosine, by 24 cubics that are off it by less than 4e-7 of the step.
    Cosine,
    /// Walls of two equal arcs each, along the flow at both ends.
    Arc,
}

/// Two channels in line, joined by a part in which the width changes; all of it symmetric about `y = width_in/2`. The second may be the wider.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Contraction {
    /// Length of the channel behind the inlet, m.
    pub length_in: f64,
    /// Width of the inlet, m.
    pub width_in: f64,
    /// Length of the part in which the width changes, m; zero for a step.
    pub length: f64,
    /// Length of the channel before the outlet, m.
    pub length_out: f64,
    /// Width of the outlet, m.
    pub width_out: f64,
    /// How the width changes.
    pub shape: Taper,
}

/// The way a bend goes, seen along the flow.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Turn {
    /// To the left, towards larger y.
    Left,
    /// To the right, towards smaller y.
    Right,
}

/// Two channels at a right angle. The first goes along x from the inlet at x = 0, between y = 0 and `width_in`; the outer corner is sharp.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bend {
    /// Length of the inner wall of the first channel up to the inner corner, m.
    pub length_in: f64,
    /// Width of the first channel, m.
    pub width_in: f64,
    /// Length of the inner wall of the second channel from the inner corner on, m.
    pub length_out: f64,
    /// Width of the second channel, m.
    pub width_out: f64,
    /// Radius of the inner corner, m; zero for a sharp one.
    pub inner_radius: f64,
    /// Where it turns.
    pub towards: Turn,
}

fn line(from: Point, to: Point) -> Curve {
    Curve::Line { from, to }
}

fn circle(centre: Point, radius: f64, [start, end]: [f64; 2]) -> Curve {
    Curve::Arc { centre, semi_axes: [radius; 2], rotation: 0.0, start, end }
}

/// Tags the boundary: the right wall from the inlet to the outlet, the outlet, the left wall back, the inlet; the fluid on the left of each.
fn tagged(lower: Vec<Curve>, outlet: Curve, upper: Vec<Curve>, inlet: Curve) -> Vec<Piece> {
    let piece = |curve, side| Piece { curve, from: 0.0, to: 1.0, side };
    let lower = lower.into_iter().map(|curve| piece(curve, Side::Wall(Wall::Lower)));
    let upper = upper.into_iter().map(|curve| piece(curve, Side::Wall(Wall::Upper)));
    lower.chain([piece(outlet, Side::Outlet)]).chain(upper).chain([piece(inlet, Side::Inlet)]).collect()
}

/// The boundary of a rectangle, counter-clockwise from its lower left corner, m.
pub(crate) fn rectangle(length: f64, width: f64) -> Vec<Piece> {
    let [a, b, c, d] = [[0.0, 0.0], [length, 0.0], [length, width], [0.0, width]];
    tagged(vec![line(a, b)], line(b, c), vec![line(c, d)], line(d, a))
}

impl Contraction {
    /// Half of what the width grows by, m; below zero where it shrinks.
    fn step(&self) -> f64 {
        0.5 * (self.width_out - self.width_in)
    }

    /// Length of the whole cell, m.
    pub fn whole(&self) -> f64 {
        self.length_in + self.length + self.length_out
    }

    /// Least length over which two arcs can join the widths, m: |width_out − width_in|/2, where each is a quarter of a circle.
    pub fn least_arc(&self) -> f64 {
        self.step().abs()
    }

    /// How far a wall has moved from that of the first channel a fraction s of the way along the change, as a fraction of the step.
    fn share(&self, s: f64) -> f64 {
        match self.shape {
            Taper::Straight => s,
            Taper::Cosine => 0.5 * (1.0 - (PI * s).cos()),
            Taper::Arc => {
                let (length, step) = (self.length, self.step().abs());
                let radius = (length * length + step * step) / (4.0 * step);
                let fallen = |x: f64| radius - (radius * radius - x * x).max(0.0).sqrt();
                let x = s * length;
                if s < 0.5 { fallen(x) / step } else { 1.0 - fallen(length - x) / step }
            }
        }
    }

    /// The width a fraction s of the way along the change, m.
    pub fn width_at(&self, s: f64) -> f64 {
        self.width_in + 2.0 * self.step() * if self.step() == 0.0 { 0.0 } else { self.share(s) }
    }

    /// One wall of the change from the first channel to the second, the wall at `y`; `outwards` is -1 for the lower and 1 for the upper.
    fn change(&self, y: f64, outwards: f64) -> Vec<Curve> {
        let (x, length, step) = (self.length_in, self.length, outwards * self.step());
        let (from, to) = ([x, y], [x + length, y + step]);
        if step == 0.0 {
            return if length > 0.0 { vec![line(from, to)] } else { Vec::new() };
        }
        match self.shape {
            Taper::Straight => vec![line(from, to)],
            Taper::Cosine => {
                let h = 1.0 / CUBICS as f64;
                let rise = |s: f64| step * 0.5 * (1.0 - (PI * s).cos());
                let slope = |s: f64| step * 0.5 * PI * (PI * s).sin();
                let cubic = |k: usize| {
                    let [a, b] = [k, k + 1].map(|k| k as f64 * h);
                    let (p, q, u, v) = (y + rise(a), y + rise(b), h * slope(a), h * slope(b));
                    Curve::Cubic {
                        coefficients: [
                            [x + a * length, p],
                            [h * length, u],
                            [0.0, 3.0 * (q - p) - 2.0 * u - v],
                            [0.0, 2.0 * (p - q) + u + v],
                        ],
                    }
                };
                (0..CUBICS).map(cubic).collect()
            }
            Taper::Arc => {
                let up = step.signum();
                let radius = (length * length + step * step) / (4.0 * step.abs());
                // half of the whole turn, that of each arc
                let turn = 2.0 * (step.abs() / length).atan();
                let first = circle([x, y + up * radius], radius, [-up * FRAC_PI_2, up * (turn - FRAC_PI_2)]);
                let centre = [x + length, y + step - up * radius];
                vec![first, circle(centre, radius, [up * (FRAC_PI_2 + turn), up * FRAC_PI_2])]
            }
        }
    }

    /// The boundary, counter-clockwise from the lower end of the inlet.
    pub(crate) fn boundary(&self) -> Vec<Piece> {
        let (step, end, start_out) = (self.step(), self.whole(), self.length_in + self.length);
        let wall = |y: f64, outwards: f64| -> Vec<Curve> {
            let far = y + outwards * step;
            let before = (self.length_in > 0.0).then(|| line([0.0, y], [self.length_in, y]));
            let after = (self.length_out > 0.0).then(|| line([start_out, far], [end, far]));
            before.into_iter().chain(self.change(y, outwards)).chain(after).collect()
        };
        let lower = wall(0.0, -1.0);
        let upper: Vec<Curve> = wall(self.width_in, 1.0).iter().rev().map(Curve::reversed).collect();
        let outlet = line([end, -step], [end, self.width_in + step]);
        tagged(lower, outlet, upper, line([0.0, self.width_in], [0.0, 0.0]))
    }
}

impl Bend {
    /// The boundary, counter-clockwise from the lower end of the inlet.
    pub(crate) fn boundary(&self) -> Vec<Piece> {
        let Bend { length_in, width_in, length_out, width_out, inner_radius: r, towards } = *self;
        let (far, top) = (length_in + width_out, width_in + length_out);
        // turning to the left; to the right is its mirror image, walked backwards
        let outer = vec![line([0.0, 0.0], [far, 0.0]), line([far, 0.0], [far, top])];
        let mut inner = Vec::new();
        if r < length_out {
            inner.push(line([length_in, top], [length_in, width_in + r]));
        }
        if r > 0.0 {
            inner.push(circle([length_in - r, width_in + r], r, [0.0, -FRAC_PI_2]));
        }
        if r < length_in {
            inner.push(line([length_in - r, width_in], [0.0, width_in]));
        }
        let outlet = line([far, top], [length_in, top]);
        let inlet = line([0.0, width_in], [0.0, 0.0]);
        match towards {
            Turn::Left => tagged(outer, outlet, inner, inlet),
            Turn::Right => {
                let mirrored = |curve: &Curve| mirrored(curve, width_in);
                let back = |curves: Vec<Curve>| curves.iter().rev().map(mirrored).collect();
                tagged(back(inner), mirrored(&outlet), back(outer), mirrored(&inlet))
            }
        }
    }
}

/// A line or an arc of a circle mirrored about the middle of a channel so wide, walked backwards.
fn mirrored(curve: &Curve, width: f64) -> Curve {
    let flipped = |[x, y]: Point| [x, width - y];
    match curve {
        Curve::Line { from, to } => line(flipped(*to), flipped(*from)),
        Curve::Arc { centre, semi_axes, start, end, .. } => circle(flipped(*centre), semi_axes[0], [-end, -start]),
        other => other.reversed(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::plane::distance;
    use crate::geometry::Plan;

    fn plan(pieces: Vec<Piece>) -> Plan {
        let all = 0..pieces.len();
        Plan { pieces, loops: std::iter::once(all).collect(), obstacles: vec![], notes: vec![] }
    }

    fn lock(width_out: f64, length: f64, shape: Taper) -> Contraction {
        Contraction { length_in: 0.3, width_in: 0.2, length, length_out: 0.25, width_out, shape }
    }

    /// Every piece starts where the one before ends, to rounding, and inlet and outlet are as wide as they should be.
    fn check_joined(pieces: &[Piece], widths: [f64; 2]) {
        for (k, piece) in pieces.iter().enumerate() {
            let next = &pieces[(k + 1) % pieces.len()];
            assert!(distance(piece.end(), next.start()) < 1e-15, "{k}: {:?} {:?}", piece.end(), next.start());
        }
        for (side, width) in [Side::Inlet, Side::Outlet].into_iter().zip(widths) {
            let found: f64 = pieces.iter().filter(|piece| piece.side == side).map(Piece::length).sum();
            assert!((found - width).abs() < 1e-15, "{side:?}: {found}");
        }
    }

    /// Each of the three shapes is symmetric about its middle, so that it has the area of a trapezium; corners: four of a right angle at the
    /// ends, and where straight walls change their way, by hand; arcs and cosines have none.
    #[test]
    fn contractions_have_their_area_and_corners() {
        for width_out in [0.08, 0.35] {
            for (shape, corners) in [(Taper::Straight, 8), (Taper::Cosine, 4), (Taper::Arc, 4)] {
                let cell = lock(width_out, 0.15, shape);
                let plan = plan(cell.boundary());
                check_joined(&plan.pieces, [0.2, width_out]);
                let area = 0.3 * 0.2 + 0.15 * 0.5 * (0.2 + width_out) + 0.25 * width_out;
                assert!((plan.area() - area).abs() < 1e-13, "{shape:?}: {} {area}", plan.area());
                assert_eq!(plan.corners().len(), corners, "{shape:?} {width_out}");
            }
            let step = plan(lock(width_out, 0.0, Taper::Straight).boundary());
            check_joined(&step.pieces, [0.2, width_out]);
            assert!((step.area() - 0.06 - 0.25 * width_out).abs() < 1e-15);
            let reentrant = step.corners().into_iter().filter(|corner| corner.fluid_angle > PI + 0.1);
            assert_eq!(reentrant.filter(|corner| (corner.fluid_angle - 1.5 * PI).abs() < 1e-12).count(), 2);
        }
    }

    /// Off the cosine by the fourth derivative (pi/24)^4/384 over two of the step, 3.8e-7; each arc meets the widths at its ends, and the
    /// width half way is the mean of both. The walls stand where `width_at` says.
    #[test]
    fn walls_follow_their_shapes() {
        for shape in [Taper::Straight, Taper::Cosine, Taper::Arc] {
            let cell = lock(0.1, 0.12, shape);
            for curve in cell.change(0.0, -1.0) {
                for k in 0..=20 {
                    let [x, y] = curve.point(f64::from(k) / 20.0);
                    let width = cell.width_at((x - 0.3) / 0.12);
                    assert!((0.2 - 2.0 * y - width).abs() < 2.0 * 3.9e-7 * 0.05, "{shape:?}: {x} {y} {width}");
                }
            }
            assert!((cell.width_at(0.5) - 0.15).abs() < 1e-15);
        }
        // a quarter of a circle each
        let quarter = lock(0.1, 0.05, Taper::Arc).boundary();
        let arcs: Vec<&Piece> = quarter.iter().filter(|piece| !piece.curve.is_straight()).collect();
        assert!(arcs.len() == 4 && arcs.iter().all(|arc| (arc.length() - 0.025 * FRAC_PI_2).abs() < 1e-12));
    }

    /// Both turns of a bend are mirror images; the rounded corner takes r^2 (1 - pi/4) off the solid.
    #[test]
    fn bends_turn_either_way() {
        for radius in [0.0, 0.04, 0.1] {
            let bend = Bend {
                length_in: 0.2,
                width_in: 0.1,
                length_out: 0.1,
                width_out: 0.15,
                inner_radius: radius,
                towards: Turn::Left,
            };
            let area = 0.35 * 0.1 + 0.15 * 0.1 + radius * radius * (1.0 - 0.25 * PI);
            for towards in [Turn::Left, Turn::Right] {
                let plan = plan(Bend { towards, ..bend }.boundary());
                check_joined(&plan.pieces, [0.1, 0.15]);
                assert!((plan.area() - area).abs() < 1e-13, "{towards:?} {radius}: {} {area}", plan.area());
                let reentrant = plan.corners().iter().filter(|corner| corner.fluid_angle > PI).count();
                assert_eq!(reentrant, usize::from(radius == 0.0), "{towards:?} {radius}");
                let Some([low, high]) = plan.bounds() else { panic!("no bounds") };
                let y = if towards == Turn::Left { [0.0, 0.2] } else { [-0.1, 0.1] };
                assert!((low[1] - y[0]).abs() + (high[1] - y[1]).abs() < 1e-15 && high[0] == 0.35);
            }
        }
    }
}
