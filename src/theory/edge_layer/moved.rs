//! The shape factor between solids grown by the displacement thickness: a second-order variant of the edge layer.
//!
//! For a post the dipole of the true flow is (a + 0.315 b)² within 0.1 % even at b/a = 0.4 (azimuthal Stokes solutions), so that
//! the difference of this variant to the first-order term, over that term, is a fair measure of what first order neglects.

use super::EdgeLayer;
use crate::base::bisect::{TO_ROUNDING, bisected};
use crate::base::plane;
use crate::base::{Point, Result};
use crate::geometry::Wall;
use crate::geometry::part::bulge_arc;
use crate::geometry::{Curve, Piece, Plan, Side};
use crate::input::case::Case;
use crate::numerics::fem::Space;
use crate::theory::ideal::{Goal, Solved, solve_ideal};
use cavalier_contours::polyline::{PlineSource, PlineSourceMut, Polyline};
use std::f64::consts::PI;
use std::sync::Arc;

/// Largest turn of one arc along a curve that is not an arc of a circle, rad. Arcs through points of the curve that turn as it does
/// are off it by some TURN³/50 of the radius.
const TURN: f64 = 0.06;
/// Most halvings of a piece.
const HALVINGS: u32 = 10;

/// The shape factor between grown solids.
#[derive(Debug, Clone, Copy)]
pub struct Moved {
    /// Shape factor.
    pub shape_factor: f64,
    /// Half the distance of its bounds.
    pub half_width: f64,
}

/// Solves the ideal pattern with every solid edge moved into the fluid by the displacement thickness, on about as many triangles as
/// `space` has.
///
/// # Errors
/// [`crate::base::Error::Failed`] if grown solids meet, [`crate::base::Error::Mesh`] if no mesh can be made between them.
pub fn solve_moved(case: &Case, plan: &Plan, space: &Space, layer: &EdgeLayer) -> Result<Moved> {
    let grown = Arc::new(grown_plan(plan, layer.displacement_thickness)?);
    let Solved { pair, .. } = solve_ideal(&grown, case, Goal::Triangles(space.mesh.triangles.len()), &|_| {})?;
    Ok(Moved { shape_factor: 0.5 * (pair.upper + pair.lower), half_width: 0.5 * (pair.upper - pair.lower) })
}

/// The plan with every solid edge moved into the fluid by a distance, m: side walls and obstacles grow, ends stay.
pub fn grown_plan(plan: &Plan, distance: f64) -> Result<Plan> {
    let outer = plan.loops.first().cloned().unwrap_or(0..0);
    let mut pieces = grown_outer(&plan.pieces[outer], distance)?;
    let mut loops = Vec::with_capacity(plan.loops.len());
    loops.push(0..pieces.len());
    for range in plan.loops.iter().skip(1) {
        let own = &plan.pieces[range.clone()];
        let Some(side) = own.first().map(|piece| piece.side) else { continue };
        let start = pieces.len();
        let grown = offset(&polyline(own, Course::Closed), distance)?;
        pieces.extend(as_pieces(&grown, side));
        loops.push(start..pieces.len());
    }
    Ok(Plan { pieces, loops, obstacles: plan.obstacles.clone(), notes: vec![] })
}

/// The outer loop: from the inlet along the lower solids to the outlet, and back along the upper ones.
fn grown_outer(pieces: &[Piece], distance: f64) -> Result<Vec<Piece>> {
    let (mut lower, mut upper) = (Vec::new(), Vec::new());
    let mut behind_outlet = false;
    let first = pieces.iter().position(|piece| piece.side == Side::Inlet).unwrap_or(0);
    for piece in pieces[first..].iter().chain(&pieces[..first]) {
        match piece.side {
            Side::Inlet => {}
            Side::Outlet => behind_outlet = true,
            _ if behind_outlet => upper.push(piece.clone()),
            _ => lower.push(piece.clone()),
        }
    }
    let low = grown_wall(&lower, distance, Wall::Lower)?;
    let high = grown_wall(&upper, distance, Wall::Upper)?;
    let line = |from: Point, to: Point, side| Piece { curve: Curve::Line { from, to }, from: 0.0, to: 1.0, side };
    let (Some(a), Some(b), Some(c), Some(d)) = (low.first(), low.last(), high.first(), high.last()) else {
        return Err(unfit("the plan has no side walls"));
    };
    let outlet = line(b.end(), c.start(), Side::Outlet);
    let inlet = line(d.end(), a.start(), Side::Inlet);
    Ok(low.iter().cloned().chain([outlet]).chain(high.iter().cloned()).chain([inlet]).collect())
}

/// One side of the channel, offset into the fluid and cut off again at both ends.
fn grown_wall(pieces: &[Piece], distance: f64, wall: Wall) -> Result<Vec<Piece>> {
    let (Some(first), Some(last)) = (pieces.first(), pieces.last()) else {
        return Err(unfit("the plan has no side walls"));
    };
    let (start, end) = (first.start()[0], last.end()[0]);
    let mut path = polyline(pieces, Course::Open);
    let away = (end - start).signum() * 10.0 * distance;
    let (a, b) = (first.start(), last.end());
    let mut extended = Polyline::new();
    extended.add(a[0] - away, a[1], 0.0);
    for k in 0..path.vertex_count() {
        let v = path.at(k);
        extended.add(v.x, v.y, v.bulge);
    }
    extended.add(b[0] + away, b[1], 0.0);
    path = extended;
    let grown = as_pieces(&offset(&path, distance)?, Side::Wall(wall));
    let between = |x: f64| (x - start) * (end - start).signum() >= 0.0 && (end - x) * (end - start).signum() >= 0.0;
    let mut kept: Vec<Piece> = Vec::new();
    for piece in grown {
        let (p, q) = (piece.start(), piece.end());
        if !between(p[0]) && !between(q[0]) && (p[0] - start) * (q[0] - start) > 0.0 {
            continue;
        }
        if let Curve::Line { .. } = piece.curve {
            let clip = |at: Point, other: Point| -> Point {
                let x = at[0].clamp(start.min(end), start.max(end));
                if x == at[0] { at } else { [x, at[1] + (x - at[0]) / (other[0] - at[0]) * (other[1] - at[1])] }
            };
            let (from, to) = (clip(p, q), clip(q, p));
            if from != to {
                kept.push(Piece { curve: Curve::Line { from, to }, from: 0.0, to: 1.0, side: piece.side });
            }
        } else {
            // an arc round what stands beside an end
            let cut = |s: f64| {
                let x = piece.point(s)[0];
                let limit = x.clamp(start.min(end), start.max(end));
                let beyond = |s: f64| (piece.point(s)[0] - limit) * (x - limit) > 0.0;
                if x == limit { s } else { bisected([s, 1.0 - s], TO_ROUNDING, beyond)[1] }
            };
            let (from, to) = (piece.parameter(cut(0.0)), piece.parameter(cut(1.0)));
            kept.push(Piece { from, to, ..piece });
        }
    }
    Ok(kept)
}

/// Whether the last piece ends where the first one starts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Course {
    Open,
    Closed,
}

fn polyline(pieces: &[Piece], course: Course) -> Polyline<f64> {
    let mut path = match course {
        Course::Open => Polyline::new(),
        Course::Closed => Polyline::new_closed(),
    };
    for piece in pieces {
        match &piece.curve {
            Curve::Line { .. } => path.add(piece.start()[0], piece.start()[1], 0.0),
            Curve::Arc { semi_axes, start, end, .. } if semi_axes[0] == semi_axes[1] => {
                let sweep = (end - start) * (piece.to - piece.from);
                let count = (sweep.abs() / (0.5 * PI)).ceil().max(1.0);
                for k in 0..count as usize {
                    let p = piece.point(k as f64 / count);
                    path.add(p[0], p[1], (0.25 * sweep / count).tan());
                }
            }
            _ => {
                let parts = (16 / pieces.len()).max(1);
                for k in 0..parts {
                    add_arcs(&mut path, piece, [k as f64 / parts as f64, (k + 1) as f64 / parts as f64], HALVINGS);
                }
            }
        }
    }
    if let (Course::Open, Some(last)) = (course, pieces.last()) {
        path.add(last.end()[0], last.end()[1], 0.0);
    }
    path
}

/// Arcs from one parameter of a piece to another, halved until each turns little.
fn add_arcs(path: &mut Polyline<f64>, piece: &Piece, [from, to]: [f64; 2], halvings: u32) {
    let turn = |a: f64, b: f64| plane::turn(piece.direction(a), piece.direction(b));
    let middle = 0.5 * (from + to);
    let (first, second) = (turn(from, middle), turn(middle, to));
    if halvings > 0 && first.abs().max(second.abs()) > 0.5 * TURN {
        add_arcs(path, piece, [from, middle], halvings - 1);
        add_arcs(path, piece, [middle, to], halvings - 1);
    } else {
        let p = piece.point(from);
        path.add(p[0], p[1], (0.25 * (first + second)).tan());
    }
}

/// The offset to the left, which is into the fluid: the longest of its parts.
fn offset(path: &Polyline<f64>, distance: f64) -> Result<Polyline<f64>> {
    path.parallel_offset(distance)
        .into_iter()
        .max_by(|a, b| a.path_length().total_cmp(&b.path_length()))
        .ok_or_else(|| unfit("an outline vanishes when it is moved by the displacement thickness"))
}

fn as_pieces(path: &Polyline<f64>, side: Side) -> Vec<Piece> {
    let count = path.vertex_count();
    let segments = if path.is_closed() { count } else { count.saturating_sub(1) };
    (0..segments)
        .map(|k| {
            let (a, b) = (path.at(k), path.at((k + 1) % count));
            let (from, to) = ([a.x, a.y], [b.x, b.y]);
            Piece { curve: bulge_arc(from, to, a.bulge), from: 0.0, to: 1.0, side }
        })
        .collect()
}

fn unfit(why: &str) -> crate::base::Error {
    crate::base::Error::failed(
        why,
        "the variant with moved edges needs passages wider than two displacement thicknesses",
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_grown_circle_is_a_circle() {
        let circle = Piece {
            curve: Curve::Arc { centre: [1.0, 0.5], semi_axes: [0.2, 0.2], rotation: 0.0, start: 0.0, end: 2.0 * PI },
            from: 1.0,
            to: 0.0,
            side: Side::Obstacle(0),
        };
        let grown = as_pieces(&offset(&polyline(&[circle], Course::Closed), 0.01).unwrap(), Side::Obstacle(0));
        for s in [0.0, 0.3, 0.7] {
            for piece in &grown {
                let p = piece.point(s);
                assert!(((p[0] - 1.0).hypot(p[1] - 0.5) - 0.21).abs() < 1e-12);
            }
        }
    }

    /// Distance from the ellipse of every place on its offset: its foot by Newton's method. An arc of turn t through points of a curve
    /// whose curvature changes by k' over its length is off by 0.008 (k'/k²) t³/k, here 0.008 * 2.3 * 2.2e-4 * 0.8 = 3e-6.
    #[test]
    fn a_grown_ellipse_is_at_the_distance_with_few_arcs() {
        grown_ellipse(0.4, 0.2, 1);
        grown_ellipse(0.2, 0.4, 1);
        grown_ellipse(0.4, 0.2, 20);
    }

    fn ellipse(a: f64, b: f64, from: f64, to: f64) -> Piece {
        let curve = Curve::Arc { centre: [0.0; 2], semi_axes: [a, b], rotation: 0.0, start: 0.0, end: 2.0 * PI };
        Piece { curve, from, to, side: Side::Obstacle(0) }
    }

    fn grown_ellipse(a: f64, b: f64, parts: usize) {
        let d = 0.02;
        let end = |k: usize| (parts - k) as f64 / parts as f64;
        let pieces: Vec<Piece> = (0..parts).map(|k| ellipse(a, b, end(k), end(k + 1))).collect();
        let grown = as_pieces(&offset(&polyline(&pieces, Course::Closed), d).unwrap(), Side::Obstacle(0));
        assert!(!grown.is_empty());
        assert!(grown.len() < 400, "{}", grown.len());
        let distance = |p: Point| {
            let mut t = (p[1] / b).atan2(p[0] / a);
            for _ in 0..30 {
                let (sin, cos) = t.sin_cos();
                let (e, along) = ([a * cos, b * sin], [-a * sin, b * cos]);
                let away = [p[0] - e[0], p[1] - e[1]];
                let slope = -away[0] * e[0] - away[1] * e[1] - along[0] * along[0] - along[1] * along[1];
                t -= (away[0] * along[0] + away[1] * along[1]) / slope;
            }
            (p[0] - a * t.cos()).hypot(p[1] - b * t.sin())
        };
        for piece in &grown {
            for s in [0.0, 0.3, 0.5, 0.8] {
                let off = distance(piece.point(s)) - d;
                assert!(off.abs() < 6e-6, "{:?} {off:.1e}", piece.point(s));
            }
        }
    }

    /// A caisson with a chamber whose door is narrower than two displacement thicknesses: grown, the door is shut, and of the two outlines
    /// left the outer one counts: its box is larger by the distance all round.
    #[test]
    fn a_door_that_shuts_leaves_the_outer_outline() {
        let (d, corners) = (
            0.01,
            [
                [0.0, 0.0],
                [0.4, 0.0],
                [0.4, 0.14],
                [0.3, 0.14],
                [0.3, 0.05],
                [0.1, 0.05],
                [0.1, 0.25],
                [0.3, 0.25],
                [0.3, 0.155],
                [0.4, 0.155],
                [0.4, 0.3],
                [0.0, 0.3],
            ],
        );
        let side = Side::Obstacle(0);
        // the fluid on the left: clockwise round the solid
        let line = |k: usize| Piece {
            curve: Curve::Line { from: corners[(12 - k) % 12], to: corners[11 - k] },
            from: 0.0,
            to: 1.0,
            side,
        };
        let pieces: Vec<Piece> = (0..12).map(line).collect();
        let path = polyline(&pieces, Course::Closed);
        assert!(path.parallel_offset(d).len() > 1, "the door is open");
        let grown = as_pieces(&offset(&path, d).unwrap(), side);
        let along = |k: usize| grown.iter().map(move |piece| piece.start()[k]);
        for (k, end) in [(0, 0.4), (1, 0.3)] {
            let (low, high) = (along(k).fold(f64::INFINITY, f64::min), along(k).fold(0.0, f64::max));
            assert!((low + d).abs() < 1e-12 && (high - end - d).abs() < 1e-12, "{k}: {low} {high}");
        }
    }
    /// Turn of each arc of a path.
    fn turns(path: &Polyline<f64>) -> Vec<f64> {
        (0..path.vertex_count()).map(|k| 4.0 * path.at(k).bulge.atan()).collect()
    }

    /// Walked either way round, a slender ellipse turns by 2 pi, nearly all of it within b²/a = 0.4 mm of its two tips, and no arc by more
    /// than [`TURN`]; every arc starts on the ellipse.
    #[test]
    fn no_arc_turns_too_far() {
        let (a, b) = (0.4, 0.0126);
        for (from, to, round) in [(1.0, 0.0, -2.0 * PI), (0.0, 1.0, 2.0 * PI)] {
            let path = polyline(&[ellipse(a, b, from, to)], Course::Closed);
            let turns = turns(&path);
            assert!(
                turns.iter().all(|turn| turn.abs() <= TURN),
                "{:?}",
                turns.iter().fold(0.0, |a: f64, b| a.max(b.abs()))
            );
            assert!((turns.iter().sum::<f64>() - round).abs() < 1e-9);
            let off = |k: usize| (path.at(k).x / a).hypot(path.at(k).y / b) - 1.0;
            assert!((0..path.vertex_count()).all(|k| off(k).abs() < 1e-12));
        }
    }

    /// The cubic (u², u³), u = t - 1/3, turns back at t = 1/3, between the parts that a piece is cut into: halving ends there, after ten
    /// times on a part of a sixteenth, with the one arc that turns back.
    #[test]
    fn halving_ends_at_a_cusp() {
        let third = 1.0 / 3.0_f64;
        let coefficients =
            [[third * third, -third.powi(3)], [-2.0 * third, 3.0 * third * third], [1.0, -1.0], [0.0, 1.0]];
        let side = Side::Obstacle(0);
        let path = polyline(&[Piece { curve: Curve::Cubic { coefficients }, from: 0.0, to: 1.0, side }], Course::Open);
        let back: Vec<usize> = (0..path.vertex_count()).filter(|&k| turns(&path)[k].abs() > TURN).collect();
        assert_eq!(back.len(), 1);
        // from u to no further than u + h, h = 2^-14: the arc starts within h² of the cusp, and twice as many halvings would start nearer
        let (start, h) = (path.at(back[0]), 0.5f64.powi(14));
        assert!(start.x < h * h && start.x > 1e-3 * h * h, "{} {}", start.x, h * h);
    }

    /// A round pier 2 mm from one end and a caisson 2 mm from the other, each on a wall, grown by 10 mm reach beyond the ends, where they
    /// are cut off. Seen from every side and with the loop begun anywhere, all places of the grown walls are at that distance from the
    /// solids, and with the ends they close the cell.
    #[test]
    fn grown_walls_keep_their_distance_from_end_to_end() {
        let (d, [l, w]) = (0.01, [0.3, 0.2]);
        for flips in [[false, false], [true, false], [false, true], [true, true]] {
            let at = |p: Point| [if flips[0] { l - p[0] } else { p[0] }, if flips[1] { w - p[1] } else { p[1] }];
            let (low, high) = ([0.198, 0.15], [0.298, 0.22]);
            let corners = [low, [high[0], low[1]], high, [low[0], high[1]]].map(at);
            let walls = if flips[1] { ["upper", "lower"] } else { ["lower", "upper"] };
            let text = format!(
                "[cell]\nlength = {l}\nwidth = {w}\ngap = 0.03\n[fluid]\ndensity = 1000\nviscosity = 1e-3\n[drive]\nmean_speed = 1e-4\n\
                 [[obstacle]]\non_wall = \"{}\"\ncircle = {{ centre = {:?}, diameter = 0.1 }}\n\
                 [[obstacle]]\non_wall = \"{}\"\npolygon = {{ points = {corners:?} }}\n",
                walls[0],
                at([0.052, 0.0]),
                walls[1]
            );
            let case = crate::input::case::parse(&text, "case.toml".as_ref()).into_result().unwrap();
            let plan = Plan::new(&case, &mut Default::default()).unwrap();
            let distance = |p: Point| {
                // where the solids stand without flips
                let [x, y] = at(p);
                let pier = (x - 0.052).hypot(y) - 0.05;
                let caisson = (low[0] - x).max(x - high[0]).max(0.0).hypot((low[1] - y).max(0.0));
                y.min(w - y).min(pier).min(caisson)
            };
            let grown = grown_plan(&plan, d).unwrap();
            let outer = &grown.pieces[grown.loops[0].clone()];
            for (k, piece) in outer.iter().enumerate() {
                let next = &outer[(k + 1) % outer.len()];
                assert!(plane::distance(piece.end(), next.start()) < 1e-12, "{flips:?} {piece:?} {next:?}");
                for s in [0.0, 0.2, 0.5, 0.7, 1.0] {
                    let p = piece.point(s);
                    match piece.side {
                        Side::Inlet => assert!(p[0].abs() < 1e-12 && distance(p) > d - 1e-12, "{flips:?} {p:?}"),
                        Side::Outlet => assert!((p[0] - l).abs() < 1e-12 && distance(p) > d - 1e-12, "{flips:?} {p:?}"),
                        _ => {
                            assert!((distance(p) - d).abs() < 1e-12, "{flips:?} {p:?} {}", distance(p));
                            assert!(p[0] > -1e-12 && p[0] < l + 1e-12, "{flips:?} {p:?}");
                        }
                    }
                }
            }
            let count = |side| outer.iter().filter(|piece| piece.side == side).count();
            assert_eq!([count(Side::Inlet), count(Side::Outlet)], [1, 1]);
            // each wall keeps its name, and is met at its own side
            let lower = outer.iter().filter(|piece| piece.side == Side::Wall(Wall::Lower));
            assert!(lower.flat_map(|piece| [piece.start(), piece.end()]).all(|p| p[1] < 0.5 * w), "{flips:?}");
            for first in 1..plan.loops[0].len() {
                let mut other = plan.clone();
                other.pieces[plan.loops[0].clone()].rotate_left(first);
                assert_eq!(grown_plan(&other, d).unwrap().pieces, grown.pieces, "{flips:?} {first}");
            }
        }
    }
}
