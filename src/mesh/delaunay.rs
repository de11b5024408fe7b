//! Constrained Delaunay refinement to a size field (Ruppert 1995, J. Algorithms 18, 548; on curves).

use super::sample::{Samples, clean, middle_parameter, sample};
use super::{Mesh, SizeField, assemble};
use crate::outline::Plan;
use crate::{Error, Point, Result};
use spade::handles::{FixedFaceHandle, FixedVertexHandle, InnerTag};
use spade::{ConstrainedDelaunayTriangulation, Point2, PositionInTriangulation, Triangulation};
use std::collections::VecDeque;
use std::sync::Arc;

type Cdt = ConstrainedDelaunayTriangulation<Point2<f64>>;

type Face = FixedFaceHandle<InnerTag>;

/// No vertex follows: an inner vertex.
pub(super) const NONE: u32 = u32::MAX;
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
        let mut work = Work::start(plan, size, max_vertices)?;
        work.refine(false)?;
        work.refine(true)?;
        let triangles = work.inside_triangles();
        let points = work.points();
        assemble::assemble(plan, points, triangles, &work.boundary)
    }
}

/// The triangles between the sampled outlines, before any inner vertex is added.
pub(super) fn outline_triangles(plan: &Plan, size: &SizeField) -> Result<(Vec<Point>, Vec<[u32; 3]>)> {
    let work = Work::start(plan, size, usize::MAX)?;
    Ok((work.points(), work.inside_triangles()))
}

/// A triangulation of the whole plane around the plan, being refined.
struct Work<'a> {
    plan: &'a Plan,
    size: &'a SizeField,
    cdt: Cdt,
    boundary: Boundary,
    /// The wanted size at every vertex.
    wanted: Vec<f64>,
    /// Whether a face lies in the fluid.
    inside: Vec<bool>,
    queue: VecDeque<Face>,
    queued: Vec<bool>,
    max_vertices: usize,
}

/// What follows every vertex along the boundary.
pub(super) struct Boundary {
    pub next: Vec<u32>,
    pub piece: Vec<u32>,
    pub parameters: Vec<[f64; 2]>,
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

impl<'a> Work<'a> {
    /// Triangulates the sampled outlines. Chords may cross where outlines do not: they are then halved, up to four times.
    fn start(plan: &'a Plan, size: &'a SizeField, max_vertices: usize) -> Result<Self> {
        let mut first = None;
        for halvings in 0..5 {
            let finer = (halvings > 0).then(|| size.scaled(0.5f64.powi(halvings)));
            let samples = sample(plan, finer.as_ref().unwrap_or(size))?;
            if samples.points.len() > max_vertices {
                break;
            }
            match Work::new(plan, size, samples) {
                Ok(work) => return Ok(Work { max_vertices, ..work }),
                Err(error) => {
                    first.get_or_insert(error);
                }
            }
        }
        Err(first.unwrap_or_else(|| too_many(max_vertices)))
    }

    fn new(plan: &'a Plan, size: &'a SizeField, samples: Samples) -> Result<Self> {
        let count = samples.points.len();
        let vertices: Vec<_> = samples.points.iter().map(|p| Point2::new(p[0], p[1])).collect();
        let edges = samples.next.iter().enumerate().map(|(a, &b)| [a, b as usize]).collect();
        let mut crossing = None;
        let cdt = Cdt::try_bulk_load_cdt(vertices, edges, |edge| crossing = Some(edge[0]))
            .map_err(|error| Error::failed(format!("the outlines cannot be triangulated: {error}"), REMEDY))?;
        let place = |v: usize| samples.points.get(v).copied().unwrap_or_default();
        if let Some(v) = crossing {
            return Err(touching(place(v)));
        }
        if cdt.num_vertices() != count {
            let mut sorted = samples.points.clone();
            sorted.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
            let twice = sorted.windows(2).find(|pair| pair[0] == pair[1]).map_or(place(0), |pair| pair[0]);
            return Err(touching(twice));
        }
        // Where curvature makes edges shorter than the field asks, they set the scale.
        let mut wanted: Vec<f64> = samples.points.iter().map(|&p| size.at(p)).collect();
        for (a, &b) in samples.next.iter().enumerate() {
            let b = b as usize;
            let length = distance2(samples.points[a], samples.points[b]).sqrt();
            wanted[a] = wanted[a].min(length);
            wanted[b] = wanted[b].min(length);
        }
        let boundary = Boundary { next: samples.next, piece: samples.piece, parameters: samples.parameters };
        let mut work = Work {
            plan,
            size,
            inside: vec![],
            queue: VecDeque::new(),
            queued: vec![],
            cdt,
            boundary,
            wanted,
            max_vertices: usize::MAX,
        };
        work.flood()?;
        Ok(work)
    }

    /// Finds the faces in the fluid: those left of boundary edges and all that hang together with them.
    fn flood(&mut self) -> Result<()> {
        self.inside = vec![false; self.cdt.num_all_faces()];
        for a in 0..self.boundary.next.len() {
            let b = self.boundary.next[a];
            if b == NONE {
                continue;
            }
            let edge = self.cdt.get_edge_from_neighbors(vertex(a), vertex(b as usize));
            match edge.filter(|edge| edge.is_constraint_edge() && !edge.is_outer_edge()) {
                Some(edge) => {
                    let face = edge.face().as_inner().map(|face| face.fix());
                    self.mark(face, true);
                }
                None => {
                    let p = self.cdt.vertex(vertex(a)).position();
                    return Err(touching([p.x, p.y]));
                }
            }
        }
        Ok(())
    }

    /// Marks a face and all that can be reached from it without crossing a constraint.
    fn mark(&mut self, face: Option<Face>, inside: bool) {
        self.inside.resize(self.cdt.num_all_faces().max(self.inside.len()), false);
        let mut stack: Vec<Face> = face.into_iter().collect();
        while let Some(face) = stack.pop() {
            if self.inside[face.index()] == inside {
                continue;
            }
            self.inside[face.index()] = inside;
            for edge in self.cdt.face(face).adjacent_edges() {
                if !edge.is_constraint_edge() {
                    stack.extend(edge.rev().face().as_inner().map(|face| face.fix()));
                }
            }
        }
    }

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
                return Err(too_many(self.max_vertices));
            }
        }
        Ok(())
    }

    fn enqueue(&mut self, face: Face) {
        if self.queued.len() < self.inside.len() {
            self.queued.resize(self.inside.len(), false);
        }
        if self.inside[face.index()] && !self.queued[face.index()] {
            self.queued[face.index()] = true;
            self.queue.push_back(face);
        }
    }

    fn improve(&mut self, face: Face, angles: bool) {
        let corners = self.cdt.face(face).vertices().map(|v| v.index());
        let points = corners.map(|v| self.place(v));
        let Some((centre, radius2)) = circumcircle(points) else { return };
        let radius = radius2.sqrt();
        let wanted = corners.map(|v| self.wanted[v]);
        let bound = wanted[0].max(wanted[1]).max(wanted[2]) - self.size.growth() * radius;
        let large = radius > RADIUS * bound && radius > RADIUS * self.size.at(centre);
        if !large && !(angles && self.is_slender(corners, points, radius2)) {
            return;
        }
        let blocking = match self.walk(face, centre) {
            Walk::Edge(a) => vec![a],
            Walk::Face(start) => {
                let blocking = self.encroached(start, centre);
                if blocking.is_empty() {
                    self.insert(start, centre);
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
        let length2 = [0, 1, 2].map(|k| distance2(p[(k + 1) % 3], p[(k + 2) % 3]));
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

    /// The first vertex of the boundary edge between two vertices.
    fn boundary_edge(&self, a: usize, b: usize) -> Option<usize> {
        let next = &self.boundary.next;
        if next[a] as usize == b {
            Some(a)
        } else if next[b] as usize == a {
            Some(b)
        } else {
            None
        }
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
                    let dot = (a[0] - p[0]) * (b[0] - p[0]) + (a[1] - p[1]) * (b[1] - p[1]);
                    if dot <= 0.0 {
                        found.extend(self.boundary_edge(ends[0], ends[1]));
                    }
                    continue;
                }
                let Some(face) = edge.rev().face().as_inner() else { continue };
                let index = face.fix();
                let corners = face.vertices().map(|v| self.place(v.index()));
                let holds_p = circumcircle(corners).is_some_and(|(centre, radius2)| distance2(centre, p) < radius2);
                if holds_p && !seen.contains(&index) {
                    seen.push(index);
                }
            }
            k += 1;
        }
        found
    }

    /// Inserts an inner vertex in a face of the fluid.
    fn insert(&mut self, face: Face, p: Point) {
        let hint = self.cdt.face(face).vertices()[0].fix();
        let p = clean(p);
        let count = self.cdt.num_vertices();
        let Ok(v) = self.cdt.insert_with_hint(Point2::new(p[0], p[1]), hint) else { return };
        if self.cdt.num_vertices() > count {
            self.add(p);
            self.settle(v.index(), Some(true));
        }
    }

    /// Keeps the lists in step with a vertex just inserted.
    fn add(&mut self, p: Point) {
        self.boundary.next.push(NONE);
        self.boundary.piece.push(NONE);
        self.boundary.parameters.push([0.0; 2]);
        self.wanted.push(self.size.at(p));
    }

    /// Marks the faces round a vertex, if told, and queues those in the fluid.
    fn settle(&mut self, v: usize, inside: Option<bool>) {
        self.inside.resize(self.cdt.num_all_faces().max(self.inside.len()), false);
        let edges = self.cdt.vertex(vertex(v)).out_edges();
        let faces: Vec<Face> = edges.filter_map(|edge| edge.face().as_inner().map(|face| face.fix())).collect();
        for face in faces {
            if let Some(inside) = inside {
                self.inside[face.index()] = inside;
            }
            self.enqueue(face);
        }
    }

    /// Splits the boundary edge that starts at `a` at a point of its true curve, unless it is shorter than `shortest` h.
    fn split(&mut self, a: usize, shortest: f64) -> bool {
        let b = self.boundary.next[a] as usize;
        let (piece, [ta, tb]) = (self.boundary.piece[a], self.boundary.parameters[a]);
        let curve = &self.plan.pieces[piece as usize].curve;
        let t = middle_parameter(curve, [ta, tb]);
        let c = clean(curve.point(t));
        let wanted = self.size.at(c).min(self.wanted[a]).min(self.wanted[b]);
        if distance2(self.place(a), self.place(b)).sqrt() < shortest * wanted {
            return false;
        }
        let target = Point2::new(c[0], c[1]);
        let Some(chord) = self.cdt.get_edge_from_neighbors(vertex(a), vertex(b)) else { return false };
        let chord_index = chord.fix().as_undirected();
        let (side, on_chord) = match self.cdt.locate_with_hint(target, vertex(a)) {
            PositionInTriangulation::OnFace(face) => (self.inside[face.index()], false),
            PositionInTriangulation::OnEdge(edge) => {
                let edge = self.cdt.directed_edge(edge);
                let on_chord = edge.fix().as_undirected() == chord_index;
                if edge.is_constraint_edge() && !on_chord {
                    return false;
                }
                (self.inside[edge.face().fix().index()], on_chord)
            }
            PositionInTriangulation::OutsideOfConvexHull(_) => (false, false),
            PositionInTriangulation::OnVertex(_) | PositionInTriangulation::NoTriangulation => return false,
        };
        let count = self.cdt.num_vertices();
        let Ok(v) = self.cdt.insert_with_hint(target, vertex(a)) else { return false };
        if self.cdt.num_vertices() == count {
            return false;
        }
        self.add(c);
        if !on_chord {
            self.settle(v.index(), Some(side));
            if !self.cdt.can_add_constraint(vertex(a), v) || !self.cdt.can_add_constraint(v, vertex(b)) {
                return false;
            }
            self.cdt.add_constraint(vertex(a), v);
            self.cdt.add_constraint(v, vertex(b));
            // The sliver between chord and curve changes sides.
            if let Some(chord) = self.cdt.get_edge_from_neighbors(vertex(a), vertex(b)) {
                let sliver = if side { chord } else { chord.rev() };
                let (sliver, chord) = (sliver.face().as_inner().map(|face| face.fix()), chord.fix().as_undirected());
                self.mark(sliver, !side);
                if !side {
                    self.cdt.remove_constraint_edge(chord);
                }
            }
        }
        self.boundary.next[a] = v.index() as u32;
        self.boundary.parameters[a] = [ta, t];
        self.boundary.next[v.index()] = b as u32;
        self.boundary.piece[v.index()] = piece;
        self.boundary.parameters[v.index()] = [t, tb];
        if on_chord {
            self.mark_both_sides(v.index(), b);
        }
        for v in [a, b, v.index()] {
            self.settle(v, None);
        }
        true
    }

    /// Marks the faces round a vertex inserted exactly on a boundary edge; those left of v -> b lie in the fluid.
    fn mark_both_sides(&mut self, v: usize, b: usize) {
        self.inside.resize(self.cdt.num_all_faces().max(self.inside.len()), false);
        let Some(start) = self.cdt.get_edge_from_neighbors(vertex(v), vertex(b)) else { return };
        let (mut edge, mut inside) = (start, true);
        loop {
            self.inside[edge.face().fix().index()] = inside && !edge.is_outer_edge();
            edge = edge.ccw();
            if edge == start {
                break;
            }
            inside &= !edge.is_constraint_edge();
        }
    }

    fn place(&self, v: usize) -> Point {
        let p = self.cdt.vertex(vertex(v)).position();
        [p.x, p.y]
    }

    fn points(&self) -> Vec<Point> {
        (0..self.cdt.num_vertices()).map(|v| self.place(v)).collect()
    }

    fn inside_triangles(&self) -> Vec<[u32; 3]> {
        self.cdt
            .inner_faces()
            .filter(|face| self.inside[face.fix().index()])
            .map(|face| face.vertices().map(|v| v.index() as u32))
            .collect()
    }
}

fn vertex(v: usize) -> FixedVertexHandle {
    FixedVertexHandle::from_index(v)
}

fn distance2(a: Point, b: Point) -> f64 {
    let (dx, dy) = (a[0] - b[0], a[1] - b[1]);
    dx * dx + dy * dy
}

/// Centre and squared radius of the circle through three points; none if they lie on a line.
fn circumcircle(p: [Point; 3]) -> Option<(Point, f64)> {
    let (bx, by) = (p[1][0] - p[0][0], p[1][1] - p[0][1]);
    let (cx, cy) = (p[2][0] - p[0][0], p[2][1] - p[0][1]);
    let d = 2.0 * (bx * cy - by * cx);
    let (b2, c2) = (bx * bx + by * by, cx * cx + cy * cy);
    let (ux, uy) = ((cy * b2 - by * c2) / d, (bx * c2 - cx * b2) / d);
    (ux.is_finite() && uy.is_finite()).then(|| ([p[0][0] + ux, p[0][1] + uy], ux * ux + uy * uy))
}

const REMEDY: &str = "check the coordinates of the outlines";

fn touching(at: Point) -> Error {
    Error::failed(
        format!("outlines cross or touch near ({:.6}, {:.6}) m", at[0], at[1]),
        "move them apart, or ask for smaller edges there (mesh.max_edge)",
    )
}

fn too_many(limit: usize) -> Error {
    Error::failed(
        format!("the mesh needs more than the allowed {limit} vertices"),
        "allow more triangles (mesh.max_triangles), larger edges or faster growth (mesh.growth), or widen the smallest passage",
    )
}
