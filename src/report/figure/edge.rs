//! The boundary of a cell as drawings show it: heavy walls, open ends.

use crate::base::Point;
use crate::base::plane::Vector;
use crate::geometry::{Curve, Piece, Plan, Side};

/// Straight parts of a curved wall.
const PARTS: usize = 24;

/// Walls, ends and outline of a cell, m; what stands on a side wall is left out, as if the wall went on straight.
#[derive(Debug, Clone, PartialEq)]
pub struct Edge {
    /// The walls, each a chain of places.
    pub walls: Vec<Vec<Point>>,
    /// The ends.
    pub ends: Vec<Vec<Point>>,
    /// All of it in one closed chain.
    pub outline: Vec<Point>,
    /// The direction in which the flow enters, of length 1.
    pub inflow: Vector,
}

impl Edge {
    /// That of a plan.
    pub fn of(plan: &Plan) -> Edge {
        let outer = plan.loops.first().map_or(&[][..], |range| &plan.pieces[range.clone()]);
        let is_end = |piece: &Piece| matches!(piece.side, Side::Inlet | Side::Outlet);
        let (mut walls, mut ends, mut outline): (Vec<Vec<Point>>, Vec<Vec<Point>>, Vec<Point>) = Default::default();
        for run in outer.chunk_by(|a, b| is_end(a) == is_end(b) && (!is_end(a) || a.side == b.side)) {
            let line = chain(run);
            outline.extend_from_slice(&line[..line.len().saturating_sub(1)]);
            if is_end(&run[0]) { ends.push(line) } else { walls.push(line) }
        }
        // a wall that the walk begins within
        if let (true, Some(first), Some(last)) = (walls.len() > 1, outer.first(), outer.last())
            && !is_end(first)
            && !is_end(last)
            && let Some(mut tail) = walls.pop()
        {
            tail.pop();
            tail.append(&mut walls[0]);
            walls[0] = tail;
        }
        let inflow = plan.end(Side::Inlet).map_or([1.0, 0.0], |end| end.outwards.map(|x| -x));
        Edge { walls, ends, outline, inflow }
    }
}

#[cfg(test)]
impl Edge {
    /// That of a rectangle with its lower left corner at the origin, m.
    pub(crate) fn of_rectangle([length, width]: [f64; 2]) -> Edge {
        let pieces = crate::geometry::channel::rectangle(length, width);
        Edge::of(&Plan { pieces, loops: std::iter::once(0..4).collect(), obstacles: vec![], notes: vec![] })
    }
}

/// Places along pieces of one wall or end, with a straight line in place of what stands on it.
fn chain(run: &[Piece]) -> Vec<Point> {
    let mut line: Vec<Point> = run.first().map(Piece::start).into_iter().collect();
    for piece in run {
        match (piece.side, &piece.curve) {
            // the wall goes on behind it
            (Side::Obstacle(_), _) => {}
            (_, Curve::Line { .. }) => line.push(piece.end()),
            _ => line.extend((1..=PARTS).map(|k| piece.point(k as f64 / PARTS as f64))),
        }
    }
    line
}

#[cfg(test)]
mod tests {
    use super::*;

    fn edge(cell: &str, more: &str) -> Edge {
        let text = format!(
            "[cell]\ngap = 1e-3\n{cell}\n[fluid]\ndensity = 1000\nviscosity = 1e-3\n[drive]\nmean_speed = 1e-3\n{more}\n"
        );
        let case = crate::input::case::parse(&text, "case.toml".as_ref()).into_result().unwrap();
        Edge::of(&Plan::new(&case, &mut Default::default()).unwrap())
    }

    /// A rectangle has two straight walls whatever stands on them; a bend has one of two lines and one of two lines and an arc.
    #[test]
    fn walls_go_from_end_to_end() {
        let pier = "[[obstacle]]\non_wall = \"lower\"\ncircle = { centre = [0.2, 0.0], diameter = 0.1 }\n";
        let found = edge("length = 0.4\nwidth = 0.2", pier);
        assert_eq!(found.walls.len(), 2);
        assert!(found.walls.iter().all(|wall| wall.windows(2).all(|p| p[0][1] == p[1][1])), "{:?}", found.walls);
        assert_eq!((found.ends.len(), found.inflow), (2, [1.0, 0.0]));
        assert!((crate::base::plane::polygon_area(&found.outline) - 0.08).abs() < 1e-15);
        let bend = "bend = { length_in = 0.2, width_in = 0.1, length_out = 0.2, width_out = 0.1, inner_radius = 0.05 }";
        let found = edge(bend, "");
        let lengths: Vec<usize> = found.walls.iter().map(Vec::len).collect();
        assert_eq!(lengths, [3, 3 + PARTS]);
    }
}
