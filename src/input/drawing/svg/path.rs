//! Path data of SVG as lines, arcs and cubics (SVG 2, chapter 9: Paths).

use super::super::affine::ellipse_arc;
use super::super::stroke::size_of;
use crate::base::Point;
use crate::base::plane::distance;
use crate::geometry::Curve;
use crate::geometry::part::bezier;
use svgtypes::{PathParser, PathSegment};

/// A subpath in its own coordinates, y down.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Subpath {
    pub curves: Vec<Curve>,
    pub closed: bool,
}

/// The pen on its way along a path.
#[derive(Default)]
struct Pen {
    done: Vec<Subpath>,
    drawn: Subpath,
    start: Point,
    at: Point,
    /// Control point that the next smooth cubic, or smooth quadratic, reflects.
    cubic: Option<Point>,
    quadratic: Option<Point>,
}

/// The subpaths of path data, at most `most` curves.
///
/// # Errors
/// Data that is not path data, with the byte position if it is known, and too many curves.
pub(super) fn subpaths(data: &str, most: usize) -> Result<Vec<Subpath>, (String, Option<usize>)> {
    let mut pen = Pen::default();
    let mut count = 0;
    for segment in PathParser::from(data) {
        let segment = segment.map_err(|error| (format!("the path data is broken: {error}"), position(&error)))?;
        count += 1;
        if count > most {
            return Err((format!("the file has more than the {most} curves that are taken"), None));
        }
        pen.follow(segment);
    }
    pen.lift();
    Ok(pen.done)
}

fn position(error: &svgtypes::Error) -> Option<usize> {
    use svgtypes::Error::{InvalidChar, InvalidNumber, InvalidString, UnexpectedData};
    match error {
        InvalidChar(_, p) | InvalidString(_, p) | InvalidNumber(p) | UnexpectedData(p) => Some(p.saturating_sub(1)),
        _ => None,
    }
}

impl Pen {
    fn follow(&mut self, segment: PathSegment) {
        let from = self.at;
        let origin = if segment.is_abs() { [0.0; 2] } else { from };
        let place = |x: f64, y: f64| [origin[0] + x, origin[1] + y];
        let reflected = |control: Option<Point>| control.map_or(from, |c| [2.0 * from[0] - c[0], 2.0 * from[1] - c[1]]);
        let (cubic, quadratic) = (self.cubic.take(), self.quadratic.take());
        match segment {
            PathSegment::MoveTo { x, y, .. } => {
                self.lift();
                self.at = place(x, y);
                self.start = self.at;
            }
            PathSegment::LineTo { x, y, .. } => self.line(place(x, y)),
            PathSegment::HorizontalLineTo { x, .. } => self.line([origin[0] + x, from[1]]),
            PathSegment::VerticalLineTo { y, .. } => self.line([from[0], origin[1] + y]),
            PathSegment::CurveTo { x1, y1, x2, y2, x, y, .. } => self.cubic(place(x1, y1), place(x2, y2), place(x, y)),
            PathSegment::SmoothCurveTo { x2, y2, x, y, .. } => self.cubic(reflected(cubic), place(x2, y2), place(x, y)),
            PathSegment::Quadratic { x1, y1, x, y, .. } => self.quadratic(place(x1, y1), place(x, y)),
            PathSegment::SmoothQuadratic { x, y, .. } => self.quadratic(reflected(quadratic), place(x, y)),
            PathSegment::EllipticalArc { rx, ry, x_axis_rotation, large_arc, sweep, x, y, .. } => {
                let to = place(x, y);
                self.drawn.curves.extend(arc(from, to, [rx, ry], x_axis_rotation, large_arc, sweep));
                self.at = to;
            }
            PathSegment::ClosePath { .. } => self.close(),
        }
    }

    fn line(&mut self, to: Point) {
        self.drawn.curves.push(Curve::Line { from: self.at, to });
        self.at = to;
    }

    fn cubic(&mut self, q: Point, r: Point, to: Point) {
        self.drawn.curves.push(bezier([self.at, q, r, to]));
        self.cubic = Some(r);
        self.at = to;
    }

    /// A parabola p (1-t)^2 + 2 q t (1-t) + r t^2, which is a cubic without its last term.
    fn quadratic(&mut self, q: Point, r: Point) {
        let p = self.at;
        let term = |f: &dyn Fn(usize) -> f64| [f(0), f(1)];
        let coefficients = [p, term(&|k| 2.0 * (q[k] - p[k])), term(&|k| (p[k] - q[k]) + (r[k] - q[k])), [0.0; 2]];
        self.drawn.curves.push(Curve::Cubic { coefficients });
        self.quadratic = Some(q);
        self.at = r;
    }

    /// Back to the start of the subpath; what rounding left between the two ends needs no line.
    fn close(&mut self) {
        if distance(self.at, self.start) > 1e-9 * size_of(&self.drawn.curves) {
            self.line(self.start);
        }
        self.drawn.closed = true;
        self.lift();
        self.at = self.start;
    }

    fn lift(&mut self) {
        let drawn = std::mem::take(&mut self.drawn);
        if !drawn.curves.is_empty() {
            self.done.push(drawn);
        }
    }
}

/// The elliptical arc between two points: a line if a radius is zero, radii made larger if they do not reach (SVG 2,
/// appendix B.2.4 and B.2.5).
pub(super) fn arc(from: Point, to: Point, radii: [f64; 2], degrees: f64, large: bool, sweep: bool) -> Option<Curve> {
    if from == to {
        return None;
    }
    let [mut rx, mut ry] = radii.map(f64::abs);
    if rx == 0.0 || ry == 0.0 {
        return Some(Curve::Line { from, to });
    }
    let (sin, cos) = degrees.to_radians().sin_cos();
    let half = [0.5 * (from[0] - to[0]), 0.5 * (from[1] - to[1])];
    // The half chord in units of the radii, along the axes of the ellipse.
    let (x, y) = ((cos * half[0] + sin * half[1]) / rx, (cos * half[1] - sin * half[0]) / ry);
    let square = x * x + y * y;
    // Half an ellipse up to rounding is half an ellipse: the root would magnify what rounding leaves.
    let offset = if square > 1.0 - 1e-14 { 0.0 } else { ((1.0 - square) / square).sqrt() };
    if square > 1.0 {
        (rx, ry) = (rx * square.sqrt(), ry * square.sqrt());
    }
    let grown = square.max(1.0).sqrt();
    let (x, y) = (x / grown, y / grown);
    let sign = if large == sweep { -1.0 } else { 1.0 };
    // On the unit circle the half chord (x, y) belongs to the centre `offset` times (y, -x) from its middle.
    let (cx, cy) = (sign * offset * y, -sign * offset * x);
    let (u, v) = ([rx * cos, rx * sin], [-ry * sin, ry * cos]);
    let centre = [0, 1].map(|k| 0.5 * (from[k] + to[k]) + cx * u[k] + cy * v[k]);
    let start = (y - cy).atan2(x - cx);
    let mut turn = (-y - cy).atan2(-x - cx) - start;
    if sweep && turn < 0.0 {
        turn += 2.0 * std::f64::consts::PI;
    } else if !sweep && turn > 0.0 {
        turn -= 2.0 * std::f64::consts::PI;
    }
    Some(ellipse_arc(centre, u, v, start, start + turn))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every arc starts and ends where it should and lies on its ellipse; the four choices of flags give four different arcs.
    #[test]
    fn arcs_go_through_their_ends() {
        let (from, to) = ([10.0, 20.0], [14.0, 21.0]);
        let mut middles = Vec::new();
        for (large, sweep) in [(false, false), (false, true), (true, false), (true, true)] {
            let curve = arc(from, to, [5.0, 3.0], 30.0, large, sweep).unwrap();
            for (t, wanted) in [(0.0, from), (1.0, to)] {
                // Rounding of coordinates near 20.
                approx::assert_abs_diff_eq!(curve.point(t)[0], wanted[0], epsilon = 1e-13);
                approx::assert_abs_diff_eq!(curve.point(t)[1], wanted[1], epsilon = 1e-13);
            }
            let Curve::Arc { semi_axes, start, end, .. } = curve else { panic!("an arc") };
            approx::assert_abs_diff_eq!(semi_axes[0], 5.0, epsilon = 1e-13);
            approx::assert_abs_diff_eq!(semi_axes[1], 3.0, epsilon = 1e-13);
            assert_eq!((end - start).abs() > std::f64::consts::PI, large);
            assert_eq!(end > start, sweep);
            middles.push(curve.point(0.5).map(|v| (v * 1e6) as i64));
        }
        middles.sort_unstable();
        middles.dedup();
        assert_eq!(middles.len(), 4);
    }

    /// From the standard: radii that do not reach are made larger; a half circle of radius 1 then has its middle at distance 1.
    #[test]
    fn short_radii_grow() {
        for radius in [0.3, 1.0] {
            let curve = arc([1.1, 0.0], [3.1, 0.0], [radius, radius], 0.0, false, true).unwrap();
            approx::assert_abs_diff_eq!(curve.point(0.5)[1], -1.0, epsilon = 1e-13);
            approx::assert_abs_diff_eq!(curve.point(0.5)[0], 2.1, epsilon = 1e-13);
        }
        assert_eq!(
            arc([0.0; 2], [1.0; 2], [0.0, 1.0], 0.0, true, true),
            Some(Curve::Line { from: [0.0; 2], to: [1.0; 2] })
        );
    }

    /// All commands, absolute and relative, draw the same two squares with a bulge.
    #[test]
    fn relative_commands_are_absolute_ones() {
        let absolute = "M10 10 L30 10 H40 V20 C40 25 38 30 30 30 S20 32 10 30 Q5 25 10 20 T10 15 A5 5 0 0 0 10 10 Z M50 50L60 50L60 60Z";
        let relative =
            "m10 10 l20 0 h10 v10 c0 5-2 10-10 10 s-10 2-20 0 q-5-5 0-10 t0-5 a5 5 0 0 0 0-5 z m40 40l10 0l0 10z";
        let (a, b) = (subpaths(absolute, 99).unwrap(), subpaths(relative, 99).unwrap());
        assert_eq!((a.len(), a[0].curves.len(), a[0].closed), (2, 8, true));
        for (p, q) in a.iter().zip(&b) {
            for (c, d) in p.curves.iter().zip(&q.curves) {
                for t in [0.0, 0.3, 1.0] {
                    approx::assert_abs_diff_eq!(c.point(t)[0], d.point(t)[0], epsilon = 1e-12);
                    approx::assert_abs_diff_eq!(c.point(t)[1], d.point(t)[1], epsilon = 1e-12);
                }
            }
        }
        // By hand: S reflects (38, 30) at (30, 30) to (22, 30); the cubic's middle is (p + 3q + 3r + s)/8.
        let middle = a[0].curves[4].point(0.5);
        approx::assert_abs_diff_eq!(middle[0], (30.0 + 3.0 * 22.0 + 3.0 * 20.0 + 10.0) / 8.0, epsilon = 1e-13);
        // T reflects (5, 25) at (10, 20) to (15, 15); the parabola's middle is (p + 2q + r)/4.
        let middle = a[0].curves[6].point(0.5);
        approx::assert_abs_diff_eq!(middle[0], (10.0 + 30.0 + 10.0) / 4.0, epsilon = 1e-13);
        assert!(subpaths("M0 0 L1 x", 99).is_err());
        assert!(subpaths("M0 0 L1 1 2 2", 2).is_err());
    }
}
