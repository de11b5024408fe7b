//! The boundary of a rectangle with what stands on its side walls.

use crate::base::Point;
use crate::geometry::cut::{Bump, WallLine};
use crate::geometry::{Curve, Piece, Side, Wall};

/// What the boundary of a cell is called in messages.
pub(super) const EDGE: &str = "the edge of the cell";

/// The boundary of a rectangle with what stands on its side walls, each in the order walked.
pub(super) fn with_bumps([length, width]: [f64; 2], walls: [(Wall, Vec<Bump>); 2]) -> Vec<Piece> {
    let line = |from: Point, to: Point, side: Side| Piece { curve: Curve::Line { from, to }, from: 0.0, to: 1.0, side };
    let mut pieces = Vec::new();
    for (wall, mut bumps) in walls {
        let on = WallLine { wall, length, width };
        let mut walked = 0.0;
        bumps.sort_by(|a, b| a.feet[0].total_cmp(&b.feet[0]));
        for bump in bumps {
            pieces.push(line(on.point(walked), on.point(bump.feet[0]), Side::Wall(wall)));
            pieces.extend(bump.pieces);
            walked = bump.feet[1];
        }
        pieces.push(line(on.point(walked), on.point(length), Side::Wall(wall)));
        pieces.push(match wall {
            Wall::Lower => line([length, 0.0], [length, width], Side::Outlet),
            Wall::Upper => line([0.0, width], [0.0, 0.0], Side::Inlet),
        });
    }
    pieces
}
