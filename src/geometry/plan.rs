//! The plan of the fluid domain: closed loops of tagged pieces, the fluid on the left of each.

use super::measure::area_of;
use super::span::{Extent, crossings, is_near, spans};
use super::{Curve, Piece, Side, Wall};
use crate::base::Point;
use crate::base::plane::{self, Rect, Vector, cross, way};
use std::f64::consts::PI;

/// A connected solid, on which the stream function is one constant.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Solid {
    /// The lower side wall and all that stands on it.
    Lower,
    /// The upper side wall and all that stands on it.
    Upper,
    /// A free obstacle.
    Obstacle(u32),
}

/// An obstacle of the plan.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanObstacle {
    /// Its name.
    pub name: String,
    /// The side wall it stands on, if any.
    pub on_wall: Option<Wall>,
    /// Extent across the flow, m.
    pub height: f64,
    /// Which of its corners inviscid flow would leave smoothly.
    pub tail: TailChoice,
    /// Its rim, if it is a bubble that is held between the plates.
    pub bubble: Option<Rim>,
}

/// What the rim of a bubble does to the fluid along it.
///
/// The rim lets nothing through and slips: only the plates hold the fluid back. An edge layer is left of 0.01 b from the rim as it is seen
/// from above (0.315 b along a solid edge), which is taken for none. A rim stiff with surfactant or dirt does not slip.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Rim {
    /// Free of shear.
    #[default]
    Free,
    /// At rest, like a solid.
    Solid,
}

/// The corner of an obstacle that inviscid flow with circulation would leave smoothly.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum TailChoice {
    /// The sharp corner that stands clearly behind every other.
    #[default]
    Clear,
    /// The corner at this place.
    At(Point),
    /// None.
    None,
}

/// The fluid domain.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// All pieces; those of one loop stand together, in order, end to start.
    pub pieces: Vec<Piece>,
    /// Ranges of `pieces`: the outer loop first (counter-clockwise), then one per free obstacle (clockwise).
    pub loops: Vec<std::ops::Range<usize>>,
    /// The obstacles.
    pub obstacles: Vec<PlanObstacle>,
    /// What was repaired, chosen and left out of outline files.
    pub notes: Vec<String>,
}

/// Turn below which a corner is one between chords of a smooth outline, rad.
pub const SLIGHT: f64 = 0.2;

/// A junction of two pieces.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Corner {
    /// Where.
    pub at: Point,
    /// Angle of the fluid there, rad, in [0, 2 π].
    pub fluid_angle: f64,
    /// The piece that ends there.
    pub before: usize,
    /// The piece that starts there.
    pub after: usize,
}

/// Junctions that turn by less than this are smooth, rad.
const SMOOTH: f64 = 1e-6;

impl Plan {
    /// The plan with its free obstacles moved by vectors, m, one for each obstacle; those on a wall stay. Whether they still stand free of one
    /// another is not checked: moves are to be small beside passages.
    pub fn with_moved(&self, by: &[Vector]) -> Plan {
        let moved = |piece: &Piece| match piece.side {
            Side::Obstacle(k) if self.obstacles[k as usize].on_wall.is_none() => {
                Piece { curve: piece.curve.moved(by[k as usize]), ..piece.clone() }
            }
            _ => piece.clone(),
        };
        Plan { pieces: self.pieces.iter().map(moved).collect(), ..self.clone() }
    }

    /// The plan as if no bubble stood in it: their outlines are left out, a side wall is straight where one stood on it, and the other
    /// obstacles keep their order.
    pub fn without_bubbles(&self) -> Plan {
        let stays = |k: u32| self.rim(k).is_none();
        let number = |k: u32| (0..k).filter(|&j| stays(j)).count() as u32;
        let (mut pieces, mut loops) = (Vec::new(), Vec::new());
        for range in &self.loops {
            let start = pieces.len();
            let own = &self.pieces[range.clone()];
            for run in own.chunk_by(|a, b| a.side == b.side) {
                match (run, run[0].side) {
                    ([first, .., last] | [first @ last], Side::Obstacle(k)) if !stays(k) => {
                        let wall = self.obstacles[k as usize].on_wall.map(Side::Wall);
                        let (from, to) = (first.start(), last.end());
                        let line = |side| Piece { curve: Curve::Line { from, to }, from: 0.0, to: 1.0, side };
                        pieces.extend(wall.map(line));
                    }
                    (_, Side::Obstacle(k)) => {
                        let side = Side::Obstacle(number(k));
                        pieces.extend(run.iter().map(|piece| Piece { side, ..piece.clone() }));
                    }
                    _ => pieces.extend_from_slice(run),
                }
            }
            if pieces.len() > start {
                loops.push(start..pieces.len());
            }
        }
        let obstacles = self.obstacles.iter().filter(|obstacle| obstacle.bubble.is_none()).cloned().collect();
        Plan { pieces, loops, obstacles, notes: self.notes.clone() }
    }

    /// The plan with one more bubble in the fluid, clear of all edges: a disc, the last of the obstacles.
    pub fn with_bubble(&self, name: &str, centre: Point, diameter: f64) -> Plan {
        let mut plan = self.clone();
        let curve = Curve::Arc {
            centre,
            semi_axes: [0.5 * diameter; 2],
            rotation: 0.0,
            start: 0.0,
            end: std::f64::consts::TAU,
        };
        let side = Side::Obstacle(plan.obstacles.len() as u32);
        plan.loops.push(plan.pieces.len()..plan.pieces.len() + 1);
        plan.pieces.push(Piece { curve, from: 1.0, to: 0.0, side });
        plan.obstacles.push(PlanObstacle {
            name: name.to_owned(),
            on_wall: None,
            height: diameter,
            tail: TailChoice::None,
            bubble: Some(Rim::Free),
        });
        plan
    }

    /// What a side is called in messages.
    pub fn name_of(&self, side: Side) -> String {
        match side {
            Side::Inlet => "the inlet".into(),
            Side::Outlet => "the outlet".into(),
            Side::Wall(wall) => format!("the {}", wall.name()),
            Side::Obstacle(k) => {
                self.obstacles.get(k as usize).map_or("an obstacle".into(), |o| format!("\"{}\"", o.name))
            }
        }
    }

    /// The solid a side belongs to; none for the ends.
    pub fn solid(&self, side: Side) -> Option<Solid> {
        match side {
            Side::Inlet | Side::Outlet => None,
            Side::Wall(Wall::Lower) => Some(Solid::Lower),
            Side::Wall(Wall::Upper) => Some(Solid::Upper),
            Side::Obstacle(k) => match self.obstacles.get(k as usize).and_then(|obstacle| obstacle.on_wall) {
                Some(Wall::Lower) => Some(Solid::Lower),
                Some(Wall::Upper) => Some(Solid::Upper),
                None => Some(Solid::Obstacle(k)),
            },
        }
    }

    /// Whether a side holds back the fluid along it: side walls and obstacles do, ends and the free rims of bubbles do not. Every effect of
    /// the edge layer asks this.
    pub fn holds_back(&self, side: Side) -> bool {
        match side {
            Side::Inlet | Side::Outlet => false,
            Side::Wall(_) => true,
            Side::Obstacle(k) => self.rim(k) != Some(Rim::Free),
        }
    }

    /// The rim of an obstacle that is a bubble.
    pub fn rim(&self, obstacle: u32) -> Option<Rim> {
        self.obstacles.get(obstacle as usize).and_then(|obstacle| obstacle.bubble)
    }

    /// Whether a side is the rim of a bubble.
    pub fn is_bubble(&self, side: Side) -> bool {
        matches!(side, Side::Obstacle(k) if self.rim(k).is_some())
    }

    /// The bubbles among the obstacles, each with its number.
    pub fn bubbles(&self) -> impl Iterator<Item = (u32, &PlanObstacle)> {
        (0..).zip(&self.obstacles).filter(|(_, obstacle)| obstacle.bubble.is_some())
    }

    /// Area of the fluid, m2, to about 1e-13 of the cell's.
    pub fn area(&self) -> f64 {
        let chain = |range: &std::ops::Range<usize>| {
            area_of(self.pieces[range.clone()].iter().map(|piece| (&piece.curve, piece.from, piece.to)))
        };
        self.loops.iter().map(chain).sum()
    }

    /// The obstacle of the largest extent across the flow, bubbles aside unless there is nothing else; none without obstacles.
    pub fn widest(&self) -> Option<&PlanObstacle> {
        let widest = |bubbles: bool| {
            let counts = self.obstacles.iter().filter(|obstacle| bubbles || obstacle.bubble.is_none());
            counts.max_by(|a, b| a.height.total_cmp(&b.height))
        };
        widest(false).or_else(|| widest(true))
    }

    /// Its extent, m.
    pub fn reference_length(&self) -> Option<f64> {
        self.widest().map(|obstacle| obstacle.height)
    }

    /// Whether a point lies in the fluid. Points on the boundary fall on either side. Takes time in proportion to the pieces.
    pub fn contains(&self, point: Point) -> bool {
        let turns = |piece: &Piece| -> i32 {
            let found = spans(&piece.curve, piece.from, piece.to);
            found.iter().map(|span| crossings(point, &piece.curve, span, 50)).sum()
        };
        self.pieces.iter().map(turns).sum::<i32>() == 1
    }

    /// Whether a point lies in the fluid and no edge, end or wall comes within a distance of it. Takes time in proportion to the pieces.
    pub fn is_clear(&self, point: Point, distance: f64) -> bool {
        !self.is_edge_near(point, distance, |_| true) && self.contains(point)
    }

    /// Whether a point lies in the fluid or within a distance of its edge, m. Takes time in proportion to the pieces.
    pub fn holds(&self, point: Point, distance: f64) -> bool {
        self.contains(point) || self.is_edge_near(point, distance, |_| true)
    }

    /// Whether a side wall or an obstacle comes within a distance of a point. Takes time in proportion to the pieces.
    pub fn is_solid_near(&self, point: Point, distance: f64) -> bool {
        self.is_edge_near(point, distance, |side| !matches!(side, Side::Inlet | Side::Outlet))
    }

    fn is_edge_near(&self, point: Point, distance: f64, counts: impl Fn(Side) -> bool) -> bool {
        let is_near = |piece: &Piece| {
            spans(&piece.curve, piece.from, piece.to)
                .iter()
                .any(|span| is_near(point, &piece.curve, span, distance, 50))
        };
        self.pieces.iter().any(|piece| counts(piece.side) && is_near(piece))
    }

    /// Least and largest x and y of the fluid, m; none without a boundary.
    pub fn bounds(&self) -> Option<[Point; 2]> {
        let outer = self.loops.first()?;
        let parts = self.pieces[outer.clone()].iter().map(|piece| (&piece.curve, piece.from, piece.to));
        let Rect { low, high } = Extent::of(parts)?.rect();
        Some([low, high])
    }

    /// The junctions of two pieces that are not smooth within 1e-6 rad, in the order of the pieces.
    ///
    /// The fluid angle is π less the left turn between the one-sided tangents. At a cusp, where the boundary turns back on
    /// itself, it is 2 π if the solid is the thin side and 0 if the fluid is.
    pub fn corners(&self) -> Vec<Corner> {
        self.junctions().into_iter().filter(|corner| (PI - corner.fluid_angle).abs() > SMOOTH).collect()
    }

    /// All junctions of two pieces, smooth ones among them, in the order of the pieces; angles as of [`Plan::corners`].
    pub fn junctions(&self) -> Vec<Corner> {
        let mut corners = Vec::new();
        for range in &self.loops {
            for after in range.clone() {
                let before = if after == range.start { range.end - 1 } else { after - 1 };
                let turn = turn(&self.pieces[before], &self.pieces[after]);
                let at = self.pieces[after].start();
                corners.push(Corner { at, fluid_angle: PI - turn, before, after });
            }
        }
        corners
    }
}

/// Left turn from one piece into the next, in [-π, π].
pub(crate) fn turn(before: &Piece, after: &Piece) -> f64 {
    let turn = plane::turn(before.direction(1.0), after.direction(0.0));
    if turn.abs() < PI - SMOOTH {
        return turn;
    }
    // Turned back: the side is decided a little way off.
    let (a, b, c) = (before.point(0.99), after.start(), after.point(0.01));
    if cross(way(a, b), way(b, c)) > 0.0 { PI } else { -PI }
}
