//! Plans with straight sides and ends of the user's choice.

use super::measure::enclosed;
use super::meet::{Body, NARROWEST, Spans, THIN_OUT, winding};
use super::{Curve, Piece, Plan, PlanObstacle, Side, TailChoice};
use crate::base::plane::Rect;
use crate::base::units::LengthUnit;
use crate::base::{Error, Point, Result};

impl Plan {
    /// The plan inside a polygon and outside the polygons in `holes`, each in either orientation; `sides[i]` says what the
    /// edge from point i to the next is: an end or a side wall.
    ///
    /// ```
    /// use twinplate::geometry::Wall::{Lower, Upper};
    /// use twinplate::geometry::{Plan, Side};
    /// let corners = [[0.0, 0.0], [2.0, 0.0], [2.0, 1.0], [0.0, 1.0]];
    /// let sides = [Side::Wall(Lower), Side::Outlet, Side::Wall(Upper), Side::Inlet];
    /// let plan = Plan::polygon(&corners, &sides, &[])?;
    /// assert_eq!(plan.area(), 2.0);
    /// # Ok::<(), twinplate::Error>(())
    /// ```
    ///
    /// # Errors
    /// [`Error::Usage`] if points are not finite, a polygon has fewer than three, the numbers of points and sides differ, a
    /// side is an obstacle, polygons cross, touch or come nearer than 1e-6 of the smaller extent of the outer one, or a hole
    /// stands outside or inside another.
    pub fn polygon(points: &[Point], sides: &[Side], holes: &[Vec<Point>]) -> Result<Plan> {
        if points.len() != sides.len() {
            let what = format!("{} points, but {} sides: each edge needs one", points.len(), sides.len());
            return Err(Error::argument(what, "give one side per point, for the edge that starts there"));
        }
        if sides.iter().any(|side| matches!(side, Side::Obstacle(_))) {
            return Err(Error::argument(
                "an edge of the outer polygon is an obstacle",
                "make it a side wall or a hole",
            ));
        }
        let outer = closed(points, "the outer polygon")?;
        let holes: Vec<Vec<Curve>> =
            holes.iter().enumerate().map(|(k, hole)| closed(hole, &hole_name(k))).collect::<Result<_>>()?;
        check(&outer, &holes)?;
        let piece = |curve: Curve, left: bool, side: Side| {
            let (from, to) = if left { (0.0, 1.0) } else { (1.0, 0.0) };
            Piece { curve, from, to, side }
        };
        let left = enclosed(&outer) > 0.0;
        let mut pieces: Vec<Piece> =
            outer.into_iter().zip(sides).map(|(curve, &side)| piece(curve, left, side)).collect();
        if !left {
            pieces.reverse();
        }
        let outer_loop = 0..pieces.len();
        let mut loops = vec![outer_loop];
        let mut obstacles = Vec::new();
        for (k, hole) in holes.into_iter().enumerate() {
            let (start, left) = (pieces.len(), enclosed(&hole) < 0.0);
            let [_, height] = corners(&hole).size();
            pieces.extend(hole.into_iter().map(|curve| piece(curve, left, Side::Obstacle(k as u32))));
            if !left {
                pieces[start..].reverse();
            }
            loops.push(start..pieces.len());
            obstacles.push(PlanObstacle {
                name: hole_name(k),
                on_wall: None,
                height,
                tail: TailChoice::Clear,
                bubble: None,
            });
        }
        Ok(Plan { pieces, loops, obstacles, notes: vec![] })
    }
}

fn hole_name(k: usize) -> String {
    format!("hole {}", k + 1)
}

/// The box of the corners.
fn corners(outline: &[Curve]) -> Rect {
    Rect::of(outline.iter().map(|curve| curve.point(0.0)))
}

fn closed(points: &[Point], name: &str) -> Result<Vec<Curve>> {
    if points.as_flattened().iter().any(|v| !v.is_finite()) {
        return Err(Error::argument(format!("{name} has a coordinate that is not finite"), "give finite numbers"));
    }
    if points.len() < 3 {
        let what = format!("{name} has {} points, but needs three", points.len());
        return Err(Error::argument(what, "give its corners in order"));
    }
    let next = points.iter().skip(1).chain(points.first());
    let curves: Vec<Curve> = points.iter().zip(next).map(|(&from, &to)| Curve::Line { from, to }).collect();
    if let Some(repeated) = points.iter().zip(points.iter().skip(1).chain(points.first())).find(|(a, b)| a == b) {
        let what = format!("{name} repeats the point {}", in_metres(*repeated.0));
        return Err(Error::argument(what, "give each corner once"));
    }
    if enclosed(&curves).abs() > 0.0 {
        return Ok(curves);
    }
    Err(Error::argument(format!("{name} has no area"), "give its corners in order"))
}

/// A place in a message: nobody said which unit the corners are measured in.
fn in_metres(at: Point) -> String {
    LengthUnit::metre().place(at)
}

fn check(outer: &[Curve], holes: &[Vec<Curve>]) -> Result<()> {
    let mut bodies = vec![Body::whole(outer)];
    bodies.extend(holes.iter().map(|hole| Body::whole(hole)));
    let spans = Spans::new(bodies);
    let corner = |curves: &[Curve]| curves.first().map_or([0.0; 2], |curve| curve.point(0.0));
    let [along, across] = corners(outer).size();
    let limit = NARROWEST * along.min(across);
    let name = |k: usize| if k == 0 { "the outer polygon".to_owned() } else { hole_name(k - 1) };
    let meetings = spans
        .meetings(limit)
        .map_err(|crowd| Error::argument(crowd.message(&name(crowd.body), &in_metres(crowd.at)), THIN_OUT))?;
    if let Some(((i, j), meeting)) = meetings.into_iter().next() {
        let what = if i == j {
            let meets = if meeting.crosses { "crosses" } else { "meets" };
            format!("{} {meets} itself near {}", name(i), in_metres(meeting.at))
        } else {
            format!(
                "{} and {} are {:.3e} mm apart near {}, nearer than {:.3e} mm",
                name(i),
                name(j),
                1e3 * meeting.distance,
                in_metres(meeting.at),
                1e3 * limit
            )
        };
        return Err(Error::argument(what, "part the polygons, or merge them into one"));
    }
    for (k, hole) in holes.iter().enumerate() {
        let at = corner(hole);
        if winding(&spans, 0, at) == 0 {
            let what = format!("{} stands outside the outer polygon, at {}", hole_name(k), in_metres(at));
            return Err(Error::argument(what, "move it inside or leave it out"));
        }
        if let Some(j) = (0..holes.len()).find(|&j| j != k && winding(&spans, j + 1, at) != 0) {
            let what = format!("{} stands inside {}, at {}", hole_name(k), hole_name(j), in_metres(at));
            return Err(Error::argument(what, "leave the inner one out"));
        }
    }
    Ok(())
}
