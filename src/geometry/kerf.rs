//! Outlines as lines and circular arcs, and moved by half the width of a cut.

use super::Curve;
use super::part::bulge_arc;
use crate::base::plane::{self, distance, dot, left, middle, way};
use crate::base::{Error, Point, Result};
use cavalier_contours::polyline::{PlineSource, PlineSourceMut, Polyline};
use std::f64::consts::PI;

/// Arcs keep within this distance of the curves they stand for, m: half a micrometre.
pub const ARC_ERROR: f64 = 5e-7;

/// A vertex of a chain of lines and circular arcs: the place, and the tangent of a quarter of the angle of the arc to the next vertex, positive
/// counter-clockwise, zero for a line (the bulge of drawing interchange files).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bulge {
    /// The place, m.
    pub at: Point,
    /// tan(angle/4).
    pub bulge: f64,
}

/// A closed chain of curves as lines and arcs: exact for lines and circular arcs, within [`ARC_ERROR`] for others.
pub fn bulged(curves: &[Curve]) -> Vec<Bulge> {
    let mut found = Vec::new();
    for curve in curves {
        match curve {
            Curve::Line { from, .. } => found.push(Bulge { at: *from, bulge: 0.0 }),
            Curve::Arc { semi_axes, start, end, .. }
                if (semi_axes[0] - semi_axes[1]).abs() <= 1e-12 * semi_axes[0].abs() =>
            {
                let parts = ((end - start).abs() / (0.99 * PI)).ceil().max(1.0) as u32;
                let bulge = ((end - start) / f64::from(4 * parts)).tan();
                found.extend((0..parts).map(|k| Bulge { at: curve.point(f64::from(k) / f64::from(parts)), bulge }));
            }
            other => {
                // A part that begins and ends at one place, or mirrors itself, must not pass for straight.
                [0.0, 0.25, 0.5, 0.75].iter().for_each(|t| divide(other, *t, t + 0.25, 14, &mut found));
            }
        }
    }
    found
}

/// The arc through both ends and the middle of a part of a curve, halved until it keeps within the limit.
fn divide(curve: &Curve, from: f64, to: f64, depth: u32, found: &mut Vec<Bulge>) {
    let at = |w: f64| curve.point((1.0 - w) * from + w * to);
    let (a, m, b) = (at(0.0), at(0.5), at(1.0));
    let turn = plane::turn(way(a, m), way(m, b));
    let bulge = (0.5 * turn).tan();
    let fits = [0.125, 0.25, 0.75, 0.875].iter().all(|w| off(a, b, bulge, at(*w)) <= ARC_ERROR);
    if depth == 0 || (fits && turn.abs() < 1.0) {
        found.push(Bulge { at: a, bulge });
    } else {
        let half_way = 0.5 * (from + to);
        divide(curve, from, half_way, depth - 1, found);
        divide(curve, half_way, to, depth - 1, found);
    }
}

/// Distance of a point from the circle of an arc.
fn off(a: Point, b: Point, bulge: f64, p: Point) -> f64 {
    let half = 0.5 * distance(a, b);
    if half == 0.0 {
        return distance(p, a);
    }
    let chord = way(a, b).map(|x| x / (2.0 * half));
    let v = way(middle(a, b), p);
    let (along, across) = (dot(v, chord), dot(v, left(chord)));
    // The arc is {x^2 + y^2 - 2 c y = half^2}, its middle at y = -bulge half; written so that a straight one is no exception.
    let doubled = half * (1.0 / bulge - bulge);
    if bulge.abs() < 1e-9 {
        return across.abs();
    }
    let radius = half * (1.0 / bulge + bulge).abs() / 2.0;
    let square = along * along + across * across - doubled * across - half * half;
    square.abs() / (radius + (square + radius * radius).max(0.0).sqrt())
}

/// The outline moved outwards by a distance, m (inwards if negative), with round joints: the path of a tool whose edge follows it.
///
/// An outline moved inwards may fall into several. The area of a convex one of area A and perimeter P moved outwards by d is
/// A + P d + π d².
///
/// # Errors
/// [`Error::Failed`] if nothing is left of it.
pub fn moved(curves: &[Curve], distance: f64) -> Result<Vec<Vec<Curve>>> {
    const MM: f64 = 1e3;
    let mut polyline = Polyline::new_closed();
    for vertex in bulged(curves) {
        polyline.add(MM * vertex.at[0], MM * vertex.at[1], vertex.bulge);
    }
    let polyline = polyline.remove_repeat_pos(1e-7).unwrap_or(polyline);
    let found = polyline.parallel_offset(-MM * distance);
    if found.is_empty() {
        return Err(Error::failed(
            format!("nothing is left of the outline moved by {} mm", MM * distance),
            "give a smaller kerf: the outline must be wider than it",
        ));
    }
    let vertices = |line: &Polyline| {
        line.iter_vertexes().map(|v| Bulge { at: [v.x / MM, v.y / MM], bulge: v.bulge }).collect::<Vec<_>>()
    };
    Ok(found.iter().map(|line| curves_of(&vertices(line))).collect())
}

fn curves_of(vertices: &[Bulge]) -> Vec<Curve> {
    let next = vertices.iter().cycle().skip(1);
    vertices.iter().zip(next).map(|(from, to)| bulge_arc(from.at, to.at, from.bulge)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::measure::enclosed;
    use crate::geometry::periodic_spline;

    fn ellipse(a: f64, b: f64) -> Vec<Curve> {
        let arc = |k: f64| Curve::Arc {
            centre: [0.1, 0.2],
            semi_axes: [a, b],
            rotation: 0.3,
            start: k * PI,
            end: (k + 1.0) * PI,
        };
        vec![arc(0.0), arc(1.0)]
    }

    /// Errors in area stay below the limit times the perimeter; circles are exact.
    #[test]
    fn arcs_stand_for_curves() {
        let circle = bulged(&ellipse(0.03, 0.03));
        assert_eq!(circle.len(), 4);
        assert!((enclosed(&curves_of(&circle)) / (PI * 9e-4) - 1.0).abs() < 1e-14);
        let arcs = bulged(&ellipse(0.06, 0.02));
        assert!((enclosed(&curves_of(&arcs)) - PI * 12e-4).abs() < ARC_ERROR * 0.28, "{}", arcs.len());
        assert!(arcs.len() < 200, "{}", arcs.len());
    }

    /// A + P d + π d² for convex outlines moved outwards (Steiner), and the square moved inwards.
    #[test]
    fn moving_outwards_adds_a_rim() {
        let square: Vec<Curve> = [[0.0, 0.0], [0.04, 0.0], [0.04, 0.04], [0.0, 0.04]]
            .windows(2)
            .map(|p| Curve::Line { from: p[0], to: p[1] })
            .chain([Curve::Line { from: [0.0, 0.04], to: [0.0, 0.0] }])
            .collect();
        let d = 1e-4;
        let out = moved(&square, d).unwrap();
        assert_eq!(out.len(), 1);
        assert!((enclosed(&out[0]) / (16e-4 + 0.16 * d + PI * d * d) - 1.0).abs() < 1e-9);
        assert!((enclosed(&moved(&square, -d).unwrap()[0]) / (0.04 - 2.0 * d).powi(2) - 1.0).abs() < 1e-9);
        // a smooth convex one: a spline through a circle, whose perimeter is 2 A/R to fourth order
        let points: Vec<Point> =
            (0..40).map(|k| 2.0 * PI * f64::from(k) / 40.0).map(|t| [0.03 * t.cos(), 0.03 * t.sin()]).collect();
        let round = periodic_spline(&points);
        let out = moved(&round, d).unwrap();
        let exact = PI * (0.03 + d) * (0.03 + d);
        // 0.03 * 2.3e-7 (spline) and the arcs' half micrometre, both times the perimeter
        assert!((enclosed(&out[0]) - exact).abs() < 2.0 * PI * 0.03 * ARC_ERROR, "{}", enclosed(&out[0]) - exact);
        assert!(moved(&square, -0.03).is_err());
    }
}
