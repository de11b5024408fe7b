//! Entities of a DXF file as curves.

use super::super::affine::{Affine, ellipse_arc};
use super::pairs::{Entity, Fault, number};
use super::spline::Spline;
use crate::base::Point;
use crate::base::plane::left;
use crate::geometry::Curve;
use crate::geometry::part::bulge_arc;
use std::f64::consts::TAU;

/// The curves of an entity, and whether they close by themselves.
pub(super) struct Drawn {
    pub curves: Vec<Curve>,
    pub closed: bool,
}

fn open(curves: Vec<Curve>) -> Drawn {
    Drawn { curves, closed: false }
}

/// The curves of an entity that is neither a polyline with vertices of its own nor an insert; none if its kind is not used.
///
/// # Errors
/// Values that are no numbers, splines that do not fit together.
pub(super) fn drawn(entity: &Entity<'_, '_>) -> Result<Option<Drawn>, Fault> {
    let found = match entity.kind {
        "LINE" => open(vec![Curve::Line { from: entity.point(10)?, to: entity.point(11)? }]),
        "CIRCLE" => {
            let radius = entity.number(40, 0.0)?;
            let whole = round(entity.point(10)?, radius, 0.0, TAU);
            Drawn { curves: quarters(&whole), closed: true }
        }
        "ARC" => {
            let (start, end) = (entity.number(50, 0.0)?.to_radians(), entity.number(51, 360.0)?.to_radians());
            open(vec![round(entity.point(10)?, entity.number(40, 0.0)?, start, after(start, end))])
        }
        "ELLIPSE" => ellipse(entity)?,
        "LWPOLYLINE" => {
            let closed = entity.whole(70)? & 1 != 0;
            Drawn { curves: bulged(&light_vertices(entity)?, closed), closed }
        }
        "SPLINE" => match spline(entity)? {
            Some(spline) => open(spline.cubics()),
            None => return Ok(None),
        },
        _ => return Ok(None),
    };
    Ok(Some(found))
}

/// The curves of a POLYLINE from its VERTEX entities; none if it is a mesh.
pub(super) fn polyline(entity: &Entity<'_, '_>, vertices: &[Entity<'_, '_>]) -> Result<Option<Drawn>, Fault> {
    let flags = entity.whole(70)?;
    const MESH: i64 = 16 | 64;
    if flags & MESH != 0 {
        return Ok(None);
    }
    let closed = flags & 1 != 0;
    let mut corners = Vec::new();
    for vertex in vertices {
        // Control points of a frame are no part of the line.
        if vertex.whole(70)? & 16 == 0 {
            corners.push((vertex.point(10)?, vertex.number(42, 0.0)?));
        }
    }
    Ok(Some(Drawn { curves: bulged(&corners, closed), closed }))
}

/// The map from the coordinates of a flat entity to those of the drawing: mirrored if it is seen from below; none if tilted.
pub(super) fn seen_from(entity: &Entity<'_, '_>) -> Result<Option<Affine>, Fault> {
    let upright = Affine::scale(1.0, 1.0);
    // These are given in the coordinates of the drawing, whatever their normal.
    if matches!(entity.kind, "LINE" | "SPLINE") {
        return Ok(Some(upright));
    }
    let normal = [entity.number(210, 0.0)?, entity.number(220, 0.0)?, entity.number(230, 1.0)?];
    if normal[0].abs().max(normal[1].abs()) > 1e-9 * normal[2].abs() {
        return Ok(None);
    }
    let mirrored = normal[2] < 0.0 && entity.kind != "ELLIPSE";
    Ok(Some(if mirrored { Affine::scale(-1.0, 1.0) } else { upright }))
}

/// The end angle above the start angle.
fn after(start: f64, end: f64) -> f64 {
    let turn = (end - start).rem_euclid(TAU);
    start + if turn <= 1e-12 { TAU } else { turn }
}

fn round(centre: Point, radius: f64, start: f64, end: f64) -> Curve {
    Curve::Arc { centre, semi_axes: [radius.abs(); 2], rotation: 0.0, start, end }
}

/// A whole turn in four parts.
fn quarters(whole: &Curve) -> Vec<Curve> {
    (0..4).map(|k| whole.part(0.25 * f64::from(k), 0.25 * f64::from(k + 1))).collect()
}

fn ellipse(entity: &Entity<'_, '_>) -> Result<Drawn, Fault> {
    let (major, ratio) = (entity.point(11)?, entity.number(40, 1.0)?);
    let side = if entity.number(230, 1.0)? < 0.0 { -ratio } else { ratio };
    let minor = left(major).map(|x| side * x);
    let (start, end) = (entity.number(41, 0.0)?, entity.number(42, TAU)?);
    let end = after(start, end);
    let arc = ellipse_arc(entity.point(10)?, major, minor, start, end);
    let whole = (end - start - TAU).abs() <= 1e-9;
    Ok(if whole { Drawn { curves: quarters(&arc), closed: true } } else { open(vec![arc]) })
}

/// Corners of a LWPOLYLINE, each with the bulge of the side that starts there.
fn light_vertices(entity: &Entity<'_, '_>) -> Result<Vec<(Point, f64)>, Fault> {
    let mut corners: Vec<(Point, f64)> = Vec::new();
    for pair in entity.pairs {
        match (pair.code, corners.last_mut()) {
            (10, _) => corners.push(([number(pair)?, 0.0], 0.0)),
            (20, Some((corner, _))) => corner[1] = number(pair)?,
            (42, Some((_, bulge))) => *bulge = number(pair)?,
            _ => {}
        }
    }
    Ok(corners)
}

fn bulged(corners: &[(Point, f64)], closed: bool) -> Vec<Curve> {
    let first = if closed { corners.first() } else { None };
    let next = corners.iter().skip(1).chain(first);
    corners.iter().zip(next).map(|((from, bulge), (to, _))| bulge_arc(*from, *to, *bulge)).collect()
}

/// The spline of a SPLINE entity; none if it has no control points.
fn spline(entity: &Entity<'_, '_>) -> Result<Option<Spline>, Fault> {
    let points = entity.points(10)?;
    if points.is_empty() {
        return Ok(None);
    }
    let degree = usize::try_from(entity.whole(71)?).unwrap_or(0);
    let spline = Spline::new(degree, entity.numbers(40)?, &points, &entity.numbers(41)?);
    spline.map(Some).map_err(|message| (message, entity.place()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    /// By hand: a bulge of 1 is half a circle, of tan(pi/8) a quarter, to the right of the way for positive bulges.
    #[test]
    fn bulges_are_arcs() {
        let quarter = (PI / 8.0).tan();
        for (bulge, middle) in [(1.0, [1.0, -1.0]), (-1.0, [1.0, 1.0]), (quarter, [1.0, 1.0 - 2f64.sqrt()])] {
            let curve = bulge_arc([0.0, 0.0], [2.0, 0.0], bulge);
            for (t, wanted) in [(0.0, [0.0, 0.0]), (0.5, middle), (1.0, [2.0, 0.0])] {
                approx::assert_abs_diff_eq!(curve.point(t)[0], wanted[0], epsilon = 1e-14);
                approx::assert_abs_diff_eq!(curve.point(t)[1], wanted[1], epsilon = 1e-14);
            }
        }
        assert_eq!(bulge_arc([0.0; 2], [1.0; 2], 0.0), Curve::Line { from: [0.0; 2], to: [1.0; 2] });
    }

    #[test]
    fn arcs_run_counter_clockwise() {
        approx::assert_abs_diff_eq!(after(6.0, 1.0), 1.0 + TAU, epsilon = 1e-14);
        approx::assert_abs_diff_eq!(after(0.0, TAU), TAU, epsilon = 1e-14);
        approx::assert_abs_diff_eq!(after(1.0, 1.0), 1.0 + TAU, epsilon = 1e-14);
    }
}
