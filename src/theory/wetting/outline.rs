//! The outline of an obstacle as a filling front meets it: how round it is, what faces up and downstream, and its hollows.

use crate::base::Point;
use crate::base::plane::{Rect, between, distance, distance_to_segment, left, polygon_area, unit, way};
use crate::geometry::span::spans;
use crate::geometry::{Plan, Side, Wall};

/// Points of an outline stand at most this part of its extent apart.
const STEP: f64 = 1.0 / 60.0;
/// A hollow begins this part of the extent below the hull.
const SHALLOW: f64 = 0.02;
/// Cosine of the most that a face may be turned out of the way across the flow: 10 degrees.
const ACROSS: f64 = 0.984_807_753;
/// Cosine of the angle to which a face counts as flat and straight across: 1 degree.
const STRAIGHT: f64 = 0.999_847_695;
/// Part of the extent along the flow in which the faces at an end stand.
const AT_END: f64 = 0.05;
/// Cosine of the most that the mouth of a hollow may be turned out of its facing up or downstream: 45 degrees.
const FACING: f64 = std::f64::consts::FRAC_1_SQRT_2;

/// An end of an obstacle along the flow.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum End {
    /// The end that the liquid meets first.
    Front,
    /// The one it leaves last.
    Rear,
}

impl End {
    fn sign(self) -> f64 {
        match self {
            End::Front => -1.0,
            End::Rear => 1.0,
        }
    }
}

/// A face across the flow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Face {
    /// Half its extent across the flow, m.
    pub half_width: f64,
    /// Its middle.
    pub middle: Point,
    /// Whether it is straight and turned by less than a degree.
    pub is_straight: bool,
}

/// A hollow below the hull.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hollow {
    /// Its area below its mouth, m2.
    pub area: f64,
    /// Width of the mouth, m.
    pub mouth: f64,
    /// Its depth below the mouth, m.
    pub depth: f64,
    /// Middle of the mouth.
    pub at: Point,
    /// The end it opens towards; none if it opens sideways.
    pub towards: Option<End>,
}

/// The outline of an obstacle, of one on a wall with its mirror image.
#[derive(Debug, Clone, PartialEq)]
pub struct Outline {
    /// The wall it stands on.
    pub on_wall: Option<Wall>,
    /// Corners of the outline, clockwise.
    pub points: Vec<Point>,
    /// Its box.
    pub rect: Rect,
}

impl Outline {
    /// The outline of an obstacle of a plan; none if the plan has no piece of it.
    pub fn of(plan: &Plan, obstacle: usize) -> Option<Outline> {
        let on_wall = plan.obstacles.get(obstacle)?.on_wall;
        let side = Side::Obstacle(u32::try_from(obstacle).ok()?);
        let own: Vec<_> = plan.pieces.iter().filter(|piece| piece.side == side).collect();
        let mut corners: Vec<Point> = Vec::new();
        for piece in &own {
            for span in spans(&piece.curve, piece.from, piece.to) {
                let parts = if span.sag > 0.0 { 6 } else { 1 };
                let at = |k: i32| span.t[0] + (span.t[1] - span.t[0]) * f64::from(k) / f64::from(parts);
                corners.extend((0..parts).map(|k| piece.curve.point(at(k))));
            }
        }
        if let (Some(wall), Some(last)) = (on_wall, own.last()) {
            corners.push(last.end());
            let [low, high] = plan.bounds()?;
            let axis = if wall == Wall::Lower { low[1] } else { high[1] };
            let mirrored: Vec<Point> = corners.iter().rev().map(|&[x, y]| [x, 2.0 * axis - y]).collect();
            corners.extend(mirrored);
        }
        let rect = Rect::of(corners.iter().copied());
        let extent = rect.extent();
        let near = |p: Point, q: Point| distance(p, q) <= 1e-9 * extent;
        corners.dedup_by(|p, q| near(*p, *q));
        if corners.len() > 1 && near(corners[0], corners[corners.len() - 1]) {
            corners.pop();
        }
        if corners.len() < 3 || !extent.is_finite() || extent <= 0.0 {
            return None;
        }
        let mut points = Vec::new();
        for (k, &p) in corners.iter().enumerate() {
            let q = corners[(k + 1) % corners.len()];
            let parts = (distance(p, q) / (STEP * extent)).ceil().max(1.0) as usize;
            points.extend((0..parts).map(|j| between(p, q, j as f64 / parts as f64)));
        }
        Some(Outline { on_wall, points, rect })
    }

    /// Half the extent across the flow, m: of one on a wall its height.
    pub fn half_width(&self) -> f64 {
        0.5 * self.rect.size()[1]
    }

    /// How far it is from a circle about the middle of its box, (largest − least radius)/(their sum), and the mean of both radii, m. An ellipse has (p − q)/(p + q).
    pub fn roundness(&self) -> (f64, f64) {
        let middle = self.rect.middle();
        let radii = self.points.iter().map(|&p| distance(p, middle));
        let (least, most) = radii.fold((f64::INFINITY, 0.0f64), |(low, high), r| (low.min(r), high.max(r)));
        ((most - least) / (most + least), 0.5 * (most + least))
    }

    fn next(&self, k: usize) -> Point {
        self.points[(k + 1) % self.points.len()]
    }

    /// How far the normal of the chord from point k points towards an end: 1 straight at it.
    fn facing(&self, k: usize, end: End) -> f64 {
        unit(left(way(self.points[k], self.next(k)))).map_or(0.0, |normal| end.sign() * normal[0])
    }

    /// Where an end stands along the flow.
    fn end(&self, end: End) -> f64 {
        match end {
            End::Front => self.rect.low[0],
            End::Rear => self.rect.high[0],
        }
    }

    /// The widest face at an end that lies across the flow within 10 degrees.
    pub fn face(&self, end: End) -> Option<Face> {
        let n = self.points.len();
        let reach = AT_END * self.rect.size()[0] + 1e-9 * self.rect.extent();
        let is_part = |k: usize| {
            let middle = 0.5 * (self.points[k][0] + self.next(k)[0]);
            self.facing(k, end) >= ACROSS && (middle - self.end(end)).abs() <= reach
        };
        // a run of chords starts where the chord before is none of it
        let starts = (0..n).filter(|&k| is_part(k) && !is_part((k + n - 1) % n));
        let faces = starts.map(|start| {
            let run: Vec<usize> = (start..start + n).map(|k| k % n).take_while(|&k| is_part(k)).collect();
            let (from, to) = (self.points[start], self.next(run[run.len() - 1]));
            Face {
                half_width: 0.5 * (to[1] - from[1]).abs(),
                middle: between(from, to, 0.5),
                is_straight: run.iter().all(|&k| self.facing(k, end) >= STRAIGHT),
            }
        });
        faces.max_by(|a, b| a.half_width.total_cmp(&b.half_width))
    }

    /// The foremost or rearmost point.
    pub fn tip(&self, end: End) -> Point {
        let ahead = |p: &&Point, q: &&Point| (end.sign() * p[0]).total_cmp(&(end.sign() * q[0]));
        self.points.iter().max_by(ahead).copied().unwrap_or(self.rect.middle())
    }

    /// Radius of the rear as far as it faces downstream within an angle, rad, m: its half-width over the angle's sine; 0 of a sharp tail.
    pub fn rear_radius(&self, within: f64) -> f64 {
        let n = self.points.len();
        let tip = self.tip(End::Rear);
        let Some(start) = self.points.iter().position(|p| *p == tip) else { return 0.0 };
        let limit = within.cos();
        let across = |k: usize| (self.next(k)[1] - self.points[k][1]).abs();
        let ahead = (0..n).map(|j| (start + j) % n).take_while(|&k| self.facing(k, End::Rear) >= limit);
        let behind = (1..n).map(|j| (start + n - j) % n).take_while(|&k| self.facing(k, End::Rear) >= limit);
        let width: f64 = ahead.map(across).sum::<f64>() + behind.map(across).sum::<f64>();
        (0.5 * width / within.sin()).min(self.rect.extent())
    }

    /// Its hollows, the largest first.
    pub fn hollows(&self) -> Vec<Hollow> {
        let n = self.points.len();
        let hull = hull(&self.points);
        let shallow = SHALLOW * self.rect.extent();
        let mut found = Vec::new();
        for (j, &from) in hull.iter().enumerate() {
            let to = hull[(j + 1) % hull.len()];
            let chord = [self.points[from], self.points[to]];
            let run: Vec<Point> = (from..=from + (to + n - from) % n).map(|k| self.points[k % n]).collect();
            let depth = |p: Point| distance_to_segment(p, chord);
            let mut k = 0;
            while k + 1 < run.len() {
                if depth(run[k + 1]) <= shallow {
                    k += 1;
                    continue;
                }
                let mut end = (k + 1..run.len()).find(|&e| depth(run[e]) <= shallow).unwrap_or(run.len() - 1);
                // from rim to rim, where it is shallowest
                while k > 0 && depth(run[k - 1]) < depth(run[k]) {
                    k -= 1;
                }
                while end + 1 < run.len() && depth(run[end + 1]) < depth(run[end]) {
                    end += 1;
                }
                let [p, q] = [run[k], run[end]];
                let normal = unit(left(way(p, q))).unwrap_or_default();
                let towards = if normal[0] > FACING {
                    Some(End::Rear)
                } else if normal[0] < -FACING {
                    Some(End::Front)
                } else {
                    None
                };
                found.push(Hollow {
                    area: polygon_area(&run[k..=end]).abs(),
                    mouth: distance(p, q),
                    depth: run[k..=end].iter().map(|&r| depth(r)).fold(0.0, f64::max),
                    at: between(p, q, 0.5),
                    towards,
                });
                k = end;
            }
        }
        found.sort_by(|a, b| b.area.total_cmp(&a.area));
        found
    }
}

/// Indices of the corners of the convex hull, clockwise (Andrew 1979, Inf. Process. Lett. 9, 216).
fn hull(points: &[Point]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..points.len()).collect();
    order.sort_by(|&a, &b| points[a][0].total_cmp(&points[b][0]).then(points[a][1].total_cmp(&points[b][1])));
    let half = |order: &mut dyn Iterator<Item = usize>| {
        let mut chain: Vec<usize> = Vec::new();
        for k in order {
            while let [.., a, b] = chain[..] {
                // a right turn stays
                if crate::base::plane::orientation(points[a], points[b], points[k]) < 0.0 {
                    break;
                }
                chain.pop();
            }
            chain.push(k);
        }
        chain.pop();
        chain
    };
    let mut all = half(&mut order.iter().copied());
    all.extend(half(&mut order.iter().rev().copied()));
    all
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use crate::geometry::Wall::{Lower, Upper};
    use crate::geometry::{Curve, Piece, PlanObstacle, TailChoice};
    use std::f64::consts::PI;

    /// A cell of 20 x 5 with polygons in it, in radii or millimetres as one likes.
    pub fn cell(holes: &[Vec<Point>]) -> Plan {
        let sides = [Side::Wall(Lower), Side::Outlet, Side::Wall(Upper), Side::Inlet];
        Plan::polygon(&[[0.0, 0.0], [20.0, 0.0], [20.0, 5.0], [0.0, 5.0]], &sides, holes).unwrap()
    }

    /// The same with an ellipse more, its semi-axes along and across the flow.
    pub fn with_ellipse(mut plan: Plan, centre: Point, semi_axes: [f64; 2]) -> Plan {
        let (from, k) = (plan.pieces.len(), plan.obstacles.len() as u32);
        let curve = Curve::Arc { centre, semi_axes, rotation: 0.0, start: 0.0, end: 2.0 * PI };
        plan.pieces.push(Piece { curve, from: 1.0, to: 0.0, side: Side::Obstacle(k) });
        plan.loops.push(from..from + 1);
        let name = format!("post {}", k + 1);
        plan.obstacles.push(PlanObstacle {
            name,
            on_wall: None,
            height: 2.0 * semi_axes[1],
            tail: TailChoice::Clear,
            bubble: None,
        });
        plan
    }

    pub fn square(centre: Point) -> Vec<Point> {
        [[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]].map(|[x, y]| [centre[0] + x, centre[1] + y]).to_vec()
    }

    /// A cup of 2 x 2 with walls of 0.2, open at its right.
    pub fn cup(centre: Point) -> Vec<Point> {
        let inner = [[1.0, 0.8], [-0.8, 0.8], [-0.8, -0.8], [1.0, -0.8]];
        let outer = [[1.0, -1.0], [-1.0, -1.0], [-1.0, 1.0], [1.0, 1.0]];
        inner.into_iter().chain(outer).map(|[x, y]| [centre[0] + x, centre[1] + y]).collect()
    }

    pub fn mirrored(points: &[Point], about: f64) -> Vec<Point> {
        points.iter().map(|&[x, y]| [2.0 * about - x, y]).collect()
    }

    /// An ellipse of 1.2 by 1 is (1.2 - 1)/2.2 off a circle; a square (sqrt 2 - 1)/(sqrt 2 + 1); its rear radius is b²/a within the change of
    /// curvature over 10 degrees.
    #[test]
    fn roundness_and_rear_of_ellipses_and_squares() {
        let round = Outline::of(&with_ellipse(cell(&[]), [5.0, 2.5], [1.0; 2]), 0).unwrap();
        assert!(round.roundness().0 < 1e-6 && (round.roundness().1 - 1.0).abs() < 1e-6 && round.hollows().is_empty());
        assert!((round.rear_radius(0.4) - 1.0).abs() < 0.15, "{}", round.rear_radius(0.4));
        let long = Outline::of(&with_ellipse(cell(&[]), [5.0, 2.5], [1.2, 1.0]), 0).unwrap();
        assert!((long.roundness().0 - 0.2 / 2.2).abs() < 1e-3 && (long.half_width() - 1.0).abs() < 1e-9);
        assert!((long.rear_radius(0.4) - 1.0 / 1.2).abs() < 0.15);
        let square = Outline::of(&cell(&[square([5.0, 2.5])]), 0).unwrap();
        let root = 2f64.sqrt();
        assert!((square.roundness().0 - (root - 1.0) / (root + 1.0)).abs() < 1e-3);
        for (end, x) in [(End::Front, 4.0), (End::Rear, 6.0)] {
            let face = square.face(end).unwrap();
            assert!((face.half_width - 1.0).abs() < 1e-9 && face.is_straight && face.middle == [x, 2.5], "{face:?}");
        }
        // a post faces across within 10 degrees only where it is sin 10 wide
        assert!((round.face(End::Rear).unwrap().half_width - 10f64.to_radians().sin()).abs() < 0.03);
        let wedge = Outline::of(&cell(&[vec![[4.0, 2.0], [6.0, 2.5], [4.0, 3.0]]]), 0).unwrap();
        assert_eq!((wedge.rear_radius(0.4), wedge.face(End::Rear)), (0.0, None));
        assert_eq!(wedge.tip(End::Rear), [6.0, 2.5]);
    }

    /// A mouth of 1.6, a depth of 1.8 and an area of 2.88 below it.
    #[test]
    fn cups_are_hollows_that_face_an_end() {
        let down = cup([5.0, 2.5]);
        for (points, end, x) in [(down.clone(), End::Rear, 6.0), (mirrored(&down, 5.0), End::Front, 4.0)] {
            let outline = Outline::of(&cell(&[points]), 0).unwrap();
            let [hollow] = outline.hollows()[..] else { panic!("{:?}", outline.hollows()) };
            assert!((hollow.area - 2.88).abs() < 1e-9 && (hollow.mouth - 1.6).abs() < 1e-9, "{hollow:?}");
            assert!(
                (hollow.depth - 1.8).abs() < 1e-9 && hollow.towards == Some(end) && (hollow.at[0] - x).abs() < 1e-9
            );
            // the bottom of the cup is no face at its end
            assert!(outline.face(end).is_none_or(|face| face.half_width < 0.11), "{:?}", outline.face(end));
        }
        let up: Vec<Point> = down.iter().map(|&[x, y]| [5.0 - (y - 2.5), 2.5 + x - 5.0]).collect();
        assert_eq!(Outline::of(&cell(&[up]), 0).unwrap().hollows()[0].towards, None);
    }

    /// A half post on a wall is mirrored to a whole one.
    #[test]
    fn what_stands_on_a_wall_is_mirrored() {
        let case = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("meshes/wall_pier.toml");
        let (_, plan) = crate::input::read(&case).unwrap();
        let outline = Outline::of(&plan, 0).unwrap();
        assert_eq!(outline.on_wall, Some(Lower));
        assert!(outline.roundness().0 < 1e-6 && (outline.roundness().1 - 0.04).abs() < 1e-8, "{:?}", outline.rect);
        assert!((outline.half_width() - 0.04).abs() < 1e-8);
        assert_eq!(Outline::of(&plan, 9), None);
    }
}
