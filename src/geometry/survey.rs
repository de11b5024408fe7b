//! What someone who cuts an outline wants to know of it: size, necks, corners, bends, and the passages it leaves.

pub use super::neck::Width;

use super::boxes::Boxes;
use super::measure::enclosed;
use super::neck::{CORNER, neck};
use super::plan::turn;
use super::span::{Extent, Span, spans};
use super::{Curve, Piece, Plan, Side, Solid, Wall};
use crate::base::Point;
use crate::base::plane::{Rect, Segment, distance, middle, nearest_points, segments_meet, way};
use std::collections::{BTreeSet, HashMap};
use std::f64::consts::PI;

/// A corner of a solid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SolidCorner {
    /// Where.
    pub at: Point,
    /// The angle of the solid there, rad: below π where it juts out.
    pub angle: f64,
}

/// Measures of a closed outline; lengths in the unit of its coordinates.
#[derive(Debug, Clone, PartialEq)]
pub struct Survey {
    /// Least x and y.
    pub low: Point,
    /// Largest x and y.
    pub high: Point,
    /// Enclosed area.
    pub area: f64,
    /// Length all round.
    pub perimeter: f64,
    /// The thinnest place that is thicker on either side of it, or a finger as thick half way to its tip; none if the outline narrows
    /// towards its ends only. Found from every chord of the outline, 1200 places at least.
    pub neck: Option<Width>,
    /// Corners that turn by more than 5 degrees, the sharpest first.
    pub corners: Vec<SolidCorner>,
    /// The tightest bend of a smooth part, at nine places of each curve: radius and place.
    pub bend: Option<(f64, Point)>,
}

/// The narrowest passage between two solids.
#[derive(Debug, Clone, PartialEq)]
pub struct Passage {
    /// Names of the two.
    pub between: [String; 2],
    /// Where, and how wide.
    pub width: Width,
}

impl Survey {
    /// Measures a closed counter-clockwise outline; none if it has no curves.
    pub fn of(curves: &[Curve]) -> Option<Survey> {
        let rect = Extent::whole(curves)?.rect();
        let pieces: Vec<Piece> =
            curves.iter().map(|c| Piece { curve: c.clone(), from: 0.0, to: 1.0, side: Side::Obstacle(0) }).collect();
        let perimeter: f64 = pieces.iter().map(Piece::length).sum();
        let corner = |k: usize| {
            let before = &pieces[if k == 0 { pieces.len() - 1 } else { k - 1 }];
            SolidCorner { at: pieces[k].start(), angle: PI - turn(before, &pieces[k]) }
        };
        let mut corners: Vec<SolidCorner> = (0..pieces.len()).map(corner).collect();
        corners.retain(|corner| (PI - corner.angle).abs() > CORNER);
        corners.sort_by(|a, b| (PI - b.angle).abs().total_cmp(&(PI - a.angle).abs()));
        let bends = curves
            .iter()
            .filter(|c| !c.is_straight())
            .flat_map(|c| (0..=8).map(|k| f64::from(k) / 8.0).map(|t| (1.0 / c.curvature(t).abs(), c.point(t))));
        let bend = bends.filter(|(r, _)| r.is_finite()).min_by(|a, b| a.0.total_cmp(&b.0));
        Some(Survey {
            low: rect.low,
            high: rect.high,
            area: enclosed(curves),
            perimeter,
            neck: neck(&flattened(curves.iter().map(|curve| (curve, 0.0, 1.0)), 1e-5 * rect.extent())),
            corners,
            bend,
        })
    }

    /// Extent along x and y.
    pub fn size(&self) -> [f64; 2] {
        way(self.low, self.high)
    }
}

/// Chords that keep within a distance of parts of curves.
fn flattened<'a>(parts: impl IntoIterator<Item = (&'a Curve, f64, f64)>, within: f64) -> Vec<Segment> {
    fn divide(curve: &Curve, span: Span, within: f64, depth: u32, found: &mut Vec<Segment>) {
        if depth == 0 || span.sag <= within {
            found.push(span.ends);
        } else {
            span.halves(curve).into_iter().for_each(|half| divide(curve, half, within, depth - 1, found));
        }
    }
    let mut found = Vec::new();
    for (curve, from, to) in parts {
        spans(curve, from, to).into_iter().for_each(|span| divide(curve, span, within, 12, &mut found));
    }
    found
}

/// The narrowest passage of each solid that stands in the fluid to any other: by falling need, at most one for each pair. Within 1e-5 of
/// the cell's width.
pub fn passages(plan: &Plan) -> Vec<Passage> {
    let Some([low, high]) = plan.bounds() else { return Vec::new() };
    let within = 1e-5 * (high[1] - low[1]);
    let mut solids: Vec<Solid> = vec![Solid::Lower, Solid::Upper];
    solids.extend(
        (0..plan.obstacles.len()).filter(|k| plan.obstacles[*k].on_wall.is_none()).map(|k| Solid::Obstacle(k as u32)),
    );
    let mut pieces: HashMap<Solid, Vec<&Piece>> = HashMap::new();
    for piece in &plan.pieces {
        if let Some(solid) = plan.solid(piece.side) {
            pieces.entry(solid).or_default().push(piece);
        }
    }
    let chords = solids.iter().map(|solid| {
        let own = pieces.get(solid).into_iter().flatten();
        Chords::new(flattened(own.map(|piece| (&piece.curve, piece.from, piece.to)), within))
    });
    let chords: Vec<Chords> = chords.collect();
    let tree = Boxes::new(chords.iter().map(|chords| chords.tree.all()));
    let mut found: Vec<Passage> = Vec::new();
    let mut known = BTreeSet::new();
    for i in 0..solids.len() {
        // Of each solid the nearest neighbour only, looked for from the middle of its box: no other one is nearer to that than half
        // the box less.
        let all = chords[i].tree.all();
        let half = 0.5 * all.diagonal();
        let mut best: Option<(Width, usize)> = None;
        tree.nearest(middle(all.low, all.high), f64::INFINITY, |j| {
            let known = best.as_ref().map_or(f64::INFINITY, |(width, _)| width.length);
            let width = (i != j).then(|| chords[i].nearest(&chords[j], known)).flatten()?;
            let length = width.length;
            best = Some((width, j));
            Some(length + half)
        });
        let Some((width, j)) = best else { continue };
        if known.insert((i.min(j), i.max(j))) {
            found.push(Passage { between: [i, j].map(|k| name(plan, solids[k])), width });
        }
    }
    found.sort_by(|a, b| a.width.length.total_cmp(&b.width.length));
    found
}

fn name(plan: &Plan, solid: Solid) -> String {
    let wall = match solid {
        Solid::Lower => Wall::Lower,
        Solid::Upper => Wall::Upper,
        Solid::Obstacle(k) => return plan.name_of(Side::Obstacle(k)),
    };
    let name = plan.name_of(Side::Wall(wall));
    let stands = plan.obstacles.iter().any(|o| o.on_wall == Some(wall));
    if stands { name + " with what stands on it" } else { name }
}

/// The chords of a solid, found by their boxes.
struct Chords {
    chords: Vec<Segment>,
    tree: Boxes,
}

impl Chords {
    fn new(chords: Vec<Segment>) -> Self {
        let tree = Boxes::new(chords.iter().map(|chord| Rect::of(*chord)));
        Chords { chords, tree }
    }

    /// The shortest line to another set, if shorter than `known`.
    fn nearest(&self, other: &Chords, known: f64) -> Option<Width> {
        if self.tree.all().distance(&other.tree.all()) >= known {
            return None;
        }
        let (mut best, mut limit) = (None, known);
        for &a in &self.chords {
            // A chord is looked for from its middle: no other one is nearer to that than half its length less.
            let half = 0.5 * distance(a[0], a[1]);
            let shortest = |k: usize| {
                let b = other.chords[k];
                if segments_meet(a, b) { 0.0 } else { nearest_points(a, b).2 }
            };
            let found = other.tree.nearest(middle(a[0], a[1]), limit + half, |k| Some(shortest(k) + half));
            if let Some((k, _)) = found
                && shortest(k) < limit
            {
                limit = shortest(k);
                let (p, q, _) = nearest_points(a, other.chords[k]);
                best = Some(Width { length: limit, ends: [p, q] });
            }
        }
        best
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn polygon(points: &[Point]) -> Vec<Curve> {
        let next = points.iter().cycle().skip(1);
        points.iter().zip(next).map(|(&from, &to)| Curve::Line { from, to }).collect()
    }

    /// Two squares of 10 joined by a bar 2 wide and 6 long.
    #[test]
    fn a_dumbbell_has_its_bar_for_a_neck() {
        let half = [[3.0, -1.0], [3.0, -5.0], [13.0, -5.0], [13.0, 5.0], [3.0, 5.0], [3.0, 1.0]];
        let points: Vec<Point> = half.iter().copied().chain(half.iter().map(|p| [-p[0], -p[1]])).collect();
        let survey = Survey::of(&polygon(&points)).unwrap();
        assert_eq!((survey.size(), survey.area), ([26.0, 10.0], 212.0));
        assert!((survey.perimeter - 88.0).abs() < 1e-12);
        let neck = survey.neck.unwrap();
        assert!((neck.length - 2.0).abs() < 1e-9 && neck.ends[0][0].abs() <= 3.0, "{neck:?}");
        // eight corners that jut out, four that do not
        assert_eq!(survey.corners.iter().filter(|c| (c.angle - 0.5 * PI).abs() < 1e-12).count(), 8);
        assert_eq!(survey.corners.len(), 12);
    }

    /// x = 0.5 sin 2t, y = (1 + 0.6 cos 2t...)-like waists: an hourglass bounded by y = +-(1 + x²), its waist is 2.
    #[test]
    fn a_smooth_waist_is_found() {
        let c = |coefficients| Curve::Cubic { coefficients };
        // x = 2 - 4t, y = 1 + x^2 from right to left above; mirrored below
        let above = c([[2.0, 5.0], [-4.0, -16.0], [0.0, 16.0], [0.0, 0.0]]);
        let below = c([[-2.0, -5.0], [4.0, 16.0], [0.0, -16.0], [0.0, 0.0]]);
        let left = Curve::Line { from: [-2.0, 5.0], to: [-2.0, -5.0] };
        let right = Curve::Line { from: [2.0, -5.0], to: [2.0, 5.0] };
        let survey = Survey::of(&[above, left, below, right]).unwrap();
        // 2 (4 + 16/3)
        assert!((survey.area - 2.0 * (4.0 + 16.0 / 3.0)).abs() < 1e-12);
        let neck = survey.neck.unwrap();
        assert!((neck.length - 2.0).abs() < 1e-2, "{neck:?}");
        // curvature 2 at the bottom of the parabola
        assert!((survey.bend.unwrap().0 - 0.5).abs() < 1e-12);
    }

    #[test]
    fn convex_outlines_have_no_neck() {
        let arc =
            |a: f64, b: f64| Curve::Arc { centre: [0.0; 2], semi_axes: [2.0, 1.0], rotation: 0.3, start: a, end: b };
        let survey = Survey::of(&[arc(0.0, PI), arc(PI, 2.0 * PI)]).unwrap();
        assert!(survey.neck.is_none() && survey.corners.is_empty(), "{survey:?}");
        // b^2/a at the ends of the long axis
        assert!((survey.bend.unwrap().0 - 0.5).abs() < 1e-12);
        let square = Survey::of(&polygon(&[[0.0, 0.0], [3.0, 0.0], [3.0, 1.0], [0.0, 1.0]])).unwrap();
        assert!(square.neck.is_none() && square.bend.is_none());
        let wedge = Survey::of(&polygon(&[[0.0, 0.0], [3.0, 0.0], [3.0, 0.5]])).unwrap();
        assert!(wedge.neck.is_none(), "{:?}", wedge.neck);
        assert!((wedge.corners[0].angle - (0.5f64 / 3.0).atan()).abs() < 1e-12);
    }
}
