//! Delaunay refinement to a size field (Ruppert 1995, J. Algorithms 18, 548), on curves.

use super::sample::clean;
use super::work::{Face, Work};
use super::{Mesh, SizeField, assemble};
use crate::base::plane::{cross, distance_squared, dot, square, stepped, way};
use crate::base::{Point, Result};
use crate::geometry::Plan;
use spade::{Point2, Triangulation};
use std::sync::Arc;

/// Circumradius over h above which a triangle is too large: the triangles then average 0.433 h^2.
const RADIUS: f64 = 0.757;
/// Squared shortest edge over squared circumradius at an angle of 28 degrees, (2 sin 28)^2.
const SLENDER: f64 = 0.881_611_8;
/// Edges shorter than this times h are not made shorter for the sake of an angle.
const SHORTEST: f64 = 0.3;

impl Mesh {
    /// Triangulates the fluid of a plan with edges of about the wanted size.
    ///
    /// Outlines are sampled on the true curves, circumcentres are inserted where a triangle is larger than wanted or has
    /// an angle below 28 degrees, inner vertices are then moved where that widens the least angle. Angles at corners of
    /// the plan sharper than 60 degrees stay as they are. Fails if more than `max_vertices` would be needed or if outlines
    /// cross or touch.
    pub fn generate(plan: &Arc<Plan>, size: &SizeField, max_vertices: usize) -> Result<Mesh> {
        let mut work = Work::start(plan, size, max_vertices, false)?;
        work.refine(false)?;
        work.refine(true)?;
        let triangles = work.inside_triangles();
        let points = work.points();
        assemble::assemble(plan, points, triangles, &work.boundary)
    }
}

/// Where the walk towards a new point ended.
enum Walk {
    /// In this face.
    Face(Face),
    /// At this boundary edge, named by its first vertex.
    Edge(usize),
    /// It did not end.
    Lost,
}

impl Work<'_> {
    /// Inserts points until every triangle is small enough and, if asked, has angles of at least 28 degrees.
    fn refine(&mut self, angles: bool) -> Result<()> {
        self.queued = vec![false; self.inside.len()];
        let faces: Vec<Face> = self.cdt.inner_faces().map(|face| face.fix()).collect();
        faces.into_iter().for_each(|face| self.enqueue(face));
        while let Some(face) = self.queue.pop_front() {
            self.queued[face.index()] = false;
            if self.inside[face.index()] {
                self.improve(face, angles);
            }
            if self.cdt.num_vertices() > self.max_vertices {
                return Err(super::work::too_many(self.max_vertices, self.size));
            }
        }
        Ok(())
    }

    fn improve(&mut self, face: Face, angles: bool) {
        let corners = self.cdt.face(face).vertices().map(|v| v.index());
        let points = corners.map(|v| self.place(v));
        let Some((centre, radius2)) = circumcircle(points) else { return };
        let radius = radius2.sqrt();
        let wanted = corners.map(|v| self.wanted[v]);
        let bound = wanted[0].max(wanted[1]).max(wanted[2]) - self.size.growth() * radius;
        let most = radius / RADIUS;
        let at_centre = if most > bound { self.size.at_most(centre, most) } else { most };
        let large = at_centre < most;
        let slender = angles && self.is_slender(corners, points, radius2);
        if !large && !slender {
            return;
        }
        let blocking = match self.walk(face, centre) {
            Walk::Edge(a) => vec![a],
            Walk::Face(start) => {
                let blocking = self.encroached(start, centre);
                if blocking.is_empty() {
                    let wanted = if large { at_centre } else { self.size.at(centre) };
                    self.insert(start, centre, wanted);
                    return;
                }
                blocking
            }
            Walk::Lost => return,
        };
        let shortest = if angles { SHORTEST } else { 1.1 };
        let mut split = false;
        for a in blocking {
            split |= self.split(a, shortest);
        }
        if split {
            self.enqueue(face);
        }
    }

    /// Whether the least angle is below 28 degrees and can be widened.
    fn is_slender(&self, corners: [usize; 3], p: [Point; 3], radius2: f64) -> bool {
        let length2 = [0, 1, 2].map(|k| distance_squared(p[(k + 1) % 3], p[(k + 2) % 3]));
        let k = (0..3).min_by(|&i, &j| length2[i].total_cmp(&length2[j])).unwrap_or(0);
        let (apex, left, right) = (corners[k], corners[(k + 1) % 3], corners[(k + 2) % 3]);
        let next = &self.boundary.next;
        let corner_of_plan = next[apex] as usize == left && next[right] as usize == apex;
        let least = SHORTEST * self.wanted[left].min(self.wanted[right]);
        length2[k] < SLENDER * radius2 && length2[k] > least * least && !corner_of_plan
    }

    /// Walks from a face in the fluid towards a point.
    fn walk(&self, face: Face, p: Point) -> Walk {
        let target = Point2::new(p[0], p[1]);
        let mut face = self.cdt.face(face);
        'steps: for _ in 0..10_000 {
            for edge in face.adjacent_edges() {
                if edge.side_query(target).is_on_right_side() {
                    if edge.is_constraint_edge() {
                        return self
                            .boundary_edge(edge.from().index(), edge.to().index())
                            .map_or(Walk::Lost, Walk::Edge);
                    }
                    match edge.rev().face().as_inner() {
                        Some(neighbour) => face = neighbour,
                        None => return Walk::Lost,
                    }
                    continue 'steps;
                }
            }
            return Walk::Face(face.fix());
        }
        Walk::Lost
    }

    /// Boundary edges that can be seen from p, which lies in `start`, and whose diametral circle holds it.
    fn encroached(&self, start: Face, p: Point) -> Vec<usize> {
        let mut found = vec![];
        let mut seen = vec![start];
        let mut k = 0;
        while k < seen.len() && seen.len() < 300 {
            for edge in self.cdt.face(seen[k]).adjacent_edges() {
                let ends = [edge.from().index(), edge.to().index()];
                if edge.is_constraint_edge() {
                    let [a, b] = ends.map(|v| self.place(v));
                    if dot(way(p, a), way(p, b)) <= 0.0 {
                        found.extend(self.boundary_edge(ends[0], ends[1]));
                    }
                    continue;
                }
                let Some(face) = edge.rev().face().as_inner() else { continue };
                let index = face.fix();
                let corners = face.vertices().map(|v| self.place(v.index()));
                let holds_p =
                    circumcircle(corners).is_some_and(|(centre, radius2)| distance_squared(centre, p) < radius2);
                if holds_p && !seen.contains(&index) {
                    seen.push(index);
                }
            }
            k += 1;
        }
        found
    }

    /// Inserts an inner vertex, where edges of the size `wanted` are asked for, in a face of the fluid.
    fn insert(&mut self, face: Face, p: Point, wanted: f64) {
        let hint = self.cdt.face(face).vertices()[0].fix();
        let p = clean(p);
        let count = self.cdt.num_vertices();
        let Ok(v) = self.cdt.insert_with_hint(Point2::new(p[0], p[1]), hint) else { return };
        if self.cdt.num_vertices() > count {
            self.add(wanted);
            self.settle(v.index(), Some(true));
        }
    }
}

/// Centre and squared radius of the circle through three points; none if they lie on a line.
fn circumcircle(p: [Point; 3]) -> Option<(Point, f64)> {
    let (b, c) = (way(p[0], p[1]), way(p[0], p[2]));
    let doubled = 2.0 * cross(b, c);
    let (b2, c2) = (square(b), square(c));
    let to = [(c[1] * b2 - b[1] * c2) / doubled, (b[0] * c2 - c[0] * b2) / doubled];
    to.iter().all(|x| x.is_finite()).then(|| (stepped(p[0], 1.0, to), square(to)))
}
