//! The size a plan asks for: curvature, narrow passages, short sides and corners.

use super::SizeField;
use super::corner::{corners, normal};
use super::sample::{arc_length, parts};
use super::size::near;
use crate::base::error::MeshFault;
use crate::base::plane::{Rect, Vector, distance, dot, foot, length, middle, square, way};
use crate::base::units::significant;
use crate::base::{Error, Point, Result};
use crate::geometry::boxes::Boxes;
use crate::geometry::{Corner, Curve, Plan, Side};
use rayon::prelude::*;
use std::collections::HashMap;
use std::f64::consts::PI;

/// Fluid angle below which the sides of a corner are not taken for the sides of a passage, rad.
const WEDGE: f64 = 1.75;
/// Turning above which a junction is a corner and not a smooth joint, rad.
const TURN: f64 = 0.35;
/// Most boundary cells the rule looks at; passages still unresolved then are left to the growth of the field.
const MOST_CELLS: usize = 200_000;
/// What to do about a plan that asks for more triangles than allowed.
pub(crate) const TOO_MANY: &str = "thin out the points of ragged outlines, widen the narrowest passages, or allow more";
/// Triangles beside a boundary for each edge on it, at least: those 0.433 h^2 large in a strip 2 h wide, which the widths of
/// passages leave room for, are 2.9 while h grows by 0.3 per length, less where strips overlap at corners.
const PER_EDGE: f64 = 2.0;

/// Size at a re-entrant corner, m, from its fluid angle, rad, and the size the other rules give there, m.
pub type CornerSize = Box<dyn Fn(f64, f64) -> f64 + Send + Sync>;

/// What the size field of a plan depends on.
pub struct SizeOptions {
    /// Growth of the size per length.
    pub growth: f64,
    /// Largest edge the user allows, m.
    pub max_edge: Option<f64>,
    /// Largest edge by default, as a fraction of the extent of the plan across the flow.
    pub largest: f64,
    /// Largest edge over the radius of curvature.
    pub curvature: f64,
    /// Edges across the narrowest part of a passage.
    pub across: f64,
    /// Edges along a side between two corners.
    pub along: f64,
    /// Width below which passages are not refined any further, as a fraction of the extent across the flow.
    pub smallest_passage: f64,
    /// Size at corners of a fluid angle above pi; none leaves them as the other rules have them.
    pub corner_size: Option<CornerSize>,
    /// Triangles above which boundaries too long to be followed all along are refused.
    pub most_triangles: f64,
}

impl Default for SizeOptions {
    fn default() -> Self {
        SizeOptions {
            growth: 0.3,
            max_edge: None,
            largest: 1.0 / 30.0,
            curvature: 0.125,
            across: 4.0,
            along: 3.0,
            smallest_passage: 1e-6,
            corner_size: None,
            most_triangles: f64::INFINITY,
        }
    }
}

/// A part of a piece short enough to have one size.
#[derive(Clone, Copy)]
struct Cell {
    piece: usize,
    t: [f64; 2],
    length: f64,
    /// Its middle and the size wanted there; none yet for a new cell.
    middle: Point,
    wanted: Option<f64>,
}

impl SizeField {
    /// The one rule for sizes: h is at most `curvature` radii of curvature, 1/`across` of the local width of a passage
    /// between two facing parts of the boundary, 1/`along` of the length of a side between corners, `max_edge`, and
    /// `largest` of the plan's extent across the flow, and it grows by at most `growth` per length.
    ///
    /// The widths are measured from cells of the boundary that are halved until none is longer than the size it asks for,
    /// so that passages of any width down to `smallest_passage` are seen, or until there are 200 000 of them.
    ///
    /// # Errors
    /// [`crate::base::Error::Mesh`] if more cells would be needed and the edges they ask for, two triangles beside each, are
    /// more than `most_triangles`; it names the outline that asks for most, and where it does.
    pub fn from_plan(plan: &Plan, options: &SizeOptions) -> Result<SizeField> {
        let rule = Rule::new(plan, options);
        let mut cells = rule.first_cells();
        let mut field = SizeField::new(rule.largest, options.growth, vec![]);
        loop {
            let tree = Boxes::new(cells.iter().map(|cell| rule.rect(cell)));
            let wanted: Vec<f64> = cells
                .par_iter()
                .map(|cell| cell.wanted.unwrap_or_else(|| rule.wanted(cell, &cells, &tree, &field)))
                .collect();
            cells.iter_mut().zip(wanted).for_each(|(cell, wanted)| cell.wanted = Some(wanted));
            field = rule.field(&cells, &tree);
            // Lengths found in two ways differ by rounding.
            let edges: Vec<f64> = cells.par_iter().map(|cell| cell.length / field.at(cell.middle)).collect();
            let too_long = |(cell, edges): (&Cell, &f64)| *edges > 1.000_001 && cell.t[0] != cell.t[1];
            let long: Vec<bool> = cells.iter().zip(&edges).map(too_long).collect();
            if !long.contains(&true) {
                return Ok(rule.with_corners(field));
            }
            if cells.len() > MOST_CELLS {
                rule.check_demand(&cells, &edges)?;
                return Ok(rule.with_corners(field));
            }
            let mut finer = Vec::with_capacity(cells.len() + long.iter().filter(|long| **long).count());
            for (cell, long) in cells.into_iter().zip(long) {
                let middle = 0.5 * (cell.t[0] + cell.t[1]);
                if !long {
                    finer.push(cell);
                } else if middle != cell.t[0] && middle != cell.t[1] {
                    finer.extend([[cell.t[0], middle], [middle, cell.t[1]]].map(|t| rule.cell(cell.piece, t)));
                } else {
                    finer.push(Cell { t: [middle, middle], ..cell });
                }
            }
            cells = finer;
        }
    }
}

struct Rule<'a> {
    plan: &'a Plan,
    options: &'a SizeOptions,
    /// The corner at the start of every piece, and the one at its end.
    at_ends: Vec<[Option<Corner>; 2]>,
    lengths: Vec<f64>,
    largest: f64,
    least: f64,
}

impl<'a> Rule<'a> {
    fn new(plan: &'a Plan, options: &'a SizeOptions) -> Self {
        let mut at_ends = vec![[None; 2]; plan.pieces.len()];
        for corner in corners(plan) {
            at_ends[corner.after][0] = Some(corner);
            at_ends[corner.before][1] = Some(corner);
        }
        let along = |k: usize, n: usize, piece: &crate::geometry::Piece| {
            piece.from + (piece.to - piece.from) * k as f64 / n as f64
        };
        let mut points = vec![];
        let mut lengths = vec![];
        for piece in &plan.pieces {
            points.extend((0..=16).map(|k| piece.curve.point(along(k, 16, piece))));
            let part = |k| arc_length(&piece.curve, [along(k, 16, piece), along(k + 1, 16, piece)]);
            lengths.push((0..16).map(part).sum());
        }
        let rect = Rect::of(points);
        let [length, width] = rect.size();
        let width = if width > 0.0 && width.is_finite() { width.min(length) } else { 1.0 };
        let largest = (options.largest * width).min(options.max_edge.unwrap_or(f64::INFINITY));
        let least = options.smallest_passage * width / options.across;
        Rule { plan, options, at_ends, lengths, largest, least }
    }

    fn first_cells(&self) -> Vec<Cell> {
        let count = parts(self.plan);
        let mut cells = Vec::with_capacity(count * self.plan.pieces.len());
        for (index, piece) in self.plan.pieces.iter().enumerate() {
            let place = |k: usize| piece.from + (piece.to - piece.from) * k as f64 / count as f64;
            cells.extend((0..count).map(|k| self.cell(index, [place(k), place(k + 1)])));
        }
        cells
    }

    fn cell(&self, piece: usize, t: [f64; 2]) -> Cell {
        let curve = &self.plan.pieces[piece].curve;
        Cell { piece, t, length: arc_length(curve, t), middle: curve.point(0.5 * (t[0] + t[1])), wanted: None }
    }

    /// A box that holds the curve of a cell.
    fn rect(&self, cell: &Cell) -> Rect {
        let curve = &self.plan.pieces[cell.piece].curve;
        let [a, b] = cell.t.map(|t| curve.point(t));
        let sag = distance(cell.middle, middle(a, b));
        Rect::of([a, b, cell.middle]).grown(0.5 * sag)
    }

    /// The size of a cell; passages that would not lower the field found so far are not looked for.
    fn wanted(&self, cell: &Cell, cells: &[Cell], tree: &Boxes, field: &SizeField) -> f64 {
        let piece = &self.plan.pieces[cell.piece];
        let t = 0.5 * (cell.t[0] + cell.t[1]);
        let mut h = self.largest;
        for curvature in [cell.t[0], t, cell.t[1]].map(|t| piece.curve.curvature(t).abs()) {
            // A radius below the least size is the cusp of a section, whose curvature is rounding, and no curve to follow.
            let size = self.options.curvature / curvature;
            if size > self.least {
                h = h.min(size);
            }
        }
        let sharp = |corner: &Option<Corner>| corner.is_some_and(|corner| (corner.fluid_angle - PI).abs() > TURN);
        let [start, end] = &self.at_ends[cell.piece];
        let parts = if sharp(start) && sharp(end) { self.options.along } else { 1.0 };
        h = h.min(self.lengths[cell.piece] / parts);
        let facing = [normal(piece, t); 2];
        let limit = self.options.across * h.min(field.at(cell.middle));
        match self.width(cell.middle, facing, 0.5, cell.piece, cells, tree, limit) {
            Some(width) => h.min((width / self.options.across).max(self.least)),
            None => h,
        }
    }

    /// Width of the passage from p across the fluid to a part of the boundary that faces it, if below `limit`.
    ///
    /// The way must make an angle with cosine above `cosine` with one of the normals `facing` at p.
    #[allow(clippy::too_many_arguments)]
    fn width(
        &self,
        p: Point,
        facing: [Vector; 2],
        cosine: f64,
        own: usize,
        cells: &[Cell],
        tree: &Boxes,
        limit: f64,
    ) -> Option<f64> {
        let width_to = |index: usize| {
            let other = &cells[index];
            if self.share_wedge(own, other.piece) {
                return None;
            }
            let piece = &self.plan.pieces[other.piece];
            let t = nearest_parameter(&piece.curve, other.t, p);
            let q = piece.curve.point(t);
            let across = way(p, q);
            let width = length(across);
            let towards = |n: Vector| dot(across, n) / width;
            let leaves = facing.iter().any(|&n| towards(n) > cosine);
            (width > 0.0 && leaves && (towards(normal(piece, t)) < -0.9 || self.meets_edge(other.piece, t, across)))
                .then_some(width)
        };
        tree.nearest(p, limit, width_to).map(|(_, width)| width)
    }

    /// Whether two pieces adjoin at a sharp corner of the fluid.
    fn share_wedge(&self, i: usize, j: usize) -> bool {
        i != j
            && self.at_ends[i].iter().flatten().any(|corner| {
                corner.fluid_angle < WEDGE
                    && [corner.before, corner.after].iter().all(|&piece| piece == i || piece == j)
            })
    }

    /// Whether a way that ends at t of a piece meets an edge of the solid there, from the fluid.
    fn meets_edge(&self, piece: usize, t: f64, way: Vector) -> bool {
        let ends = [self.plan.pieces[piece].from, self.plan.pieces[piece].to];
        (0..2).any(|end| {
            t == ends[end]
                && self.at_ends[piece][end].is_some_and(|corner| {
                    let comes_from = |n: Vector| dot(way, n) < 0.0;
                    corner.fluid_angle > PI + 1e-3 && self.normals(&corner).into_iter().any(comes_from)
                })
        })
    }

    /// Normals of the two pieces that meet at a corner.
    fn normals(&self, corner: &Corner) -> [Vector; 2] {
        let (before, after) = (&self.plan.pieces[corner.before], &self.plan.pieces[corner.after]);
        [normal(before, before.to), normal(after, after.from)]
    }

    /// The field of the sizes found so far, passages at edges of solids included.
    fn field(&self, cells: &[Cell], tree: &Boxes) -> SizeField {
        let sources: Vec<(Point, f64)> = cells
            .iter()
            .filter_map(|cell| cell.wanted.map(|h| (cell.middle, h)))
            .filter(|s| s.1 < self.largest)
            .collect();
        let field = SizeField::new(self.largest, self.options.growth, sources);
        let at_edges = self.at_ends.par_iter().filter_map(|ends| ends[0]).filter(|c| c.fluid_angle > PI + TURN);
        // Seen from the corner, its own sides face away.
        let across = at_edges.filter_map(|corner| {
            let facing = self.normals(&corner);
            let limit = self.options.across * field.at(corner.at);
            let width = self.width(corner.at, facing, 0.0, corner.before, cells, tree, limit)?;
            Some((corner.at, (width / self.options.across).max(self.least)))
        });
        let across: Vec<(Point, f64)> = across.collect();
        if across.is_empty() { field } else { field.with_sources(across) }
    }

    /// Refuses cells that, `edges` on each, ask for more triangles than allowed.
    fn check_demand(&self, cells: &[Cell], edges: &[f64]) -> Result<()> {
        let least = PER_EDGE * edges.iter().sum::<f64>();
        if least <= self.options.most_triangles {
            return Ok(());
        }
        let side = |cell: &Cell| self.plan.pieces[cell.piece].side;
        let mut of_side: HashMap<Side, f64> = HashMap::new();
        for (cell, edges) in cells.iter().zip(edges) {
            *of_side.entry(side(cell)).or_default() += edges;
        }
        let most = cells.iter().zip(edges).max_by(|a, b| {
            let of = |cell| of_side[&side(cell)];
            of(a.0).total_cmp(&of(b.0)).then(a.1.total_cmp(b.1))
        });
        let place = most.map(|(cell, _)| {
            format!(", most of them beside {}, as near {}", self.plan.name_of(side(cell)), near(cell.middle))
        });
        Err(Error::mesh(
            MeshFault::TooMany,
            format!(
                "the outlines ask for at least about {} triangles, more than the {} allowed (mesh.max_triangles){}",
                significant(least, 2),
                self.options.most_triangles,
                place.unwrap_or_default()
            ),
            TOO_MANY,
        ))
    }

    /// The field with the sizes at re-entrant corners.
    fn with_corners(&self, field: SizeField) -> SizeField {
        let Some(size) = &self.options.corner_size else { return field };
        let extra: Vec<(Point, f64)> = self
            .at_ends
            .iter()
            .filter_map(|ends| ends[0])
            .filter(|corner| corner.fluid_angle > PI + 1e-3)
            .map(|corner| (corner.at, size(corner.fluid_angle, field.at(corner.at))))
            .collect();
        field.with_sources(extra)
    }
}

/// The parameter between two others at which a curve is nearest to p.
fn nearest_parameter(curve: &Curve, [t0, t1]: [f64; 2], p: Point) -> f64 {
    let s = foot(p, [curve.point(t0), curve.point(t1)]);
    let mut t = if s == 1.0 { t1 } else { t0 + s * (t1 - t0) };
    if matches!(curve, Curve::Line { .. }) {
        return t;
    }
    for _ in 0..4 {
        let (q, d, e) = (curve.point(t), curve.derivative(t), curve.second_derivative(t));
        let away = way(p, q);
        let (slope, gauss) = (dot(away, d), square(d));
        let bend = gauss + dot(away, e);
        let next = t - slope / if bend > 0.1 * gauss { bend } else { gauss };
        if !next.is_finite() {
            break;
        }
        t = next.clamp(t0.min(t1), t0.max(t1));
    }
    t
}
