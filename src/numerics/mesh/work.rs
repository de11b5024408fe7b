//! The triangulation under refinement: what lies in the fluid, and boundary edges split on their curves.

use super::sample::{Samples, clean, middle_parameter, sample};
use super::size::{SizeField, near};
use crate::base::error::MeshFault;
use crate::base::plane::distance;
use crate::base::{Error, Point, Result};
use crate::geometry::Plan;
use spade::handles::{FixedFaceHandle, FixedVertexHandle, InnerTag};
use spade::{ConstrainedDelaunayTriangulation, Point2, PositionInTriangulation, Triangulation};
use std::collections::VecDeque;

type Cdt = ConstrainedDelaunayTriangulation<Point2<f64>>;
pub(super) type Face = FixedFaceHandle<InnerTag>;

/// No vertex follows: an inner vertex.
pub(super) const NONE: u32 = u32::MAX;

/// A triangulation of the whole plane around the plan, being refined.
pub(super) struct Work<'a> {
    pub(super) plan: &'a Plan,
    pub(super) size: &'a SizeField,
    pub(super) cdt: Cdt,
    pub(super) boundary: Boundary,
    /// The wanted size at every vertex.
    pub(super) wanted: Vec<f64>,
    /// Whether a face lies in the fluid.
    pub(super) inside: Vec<bool>,
    pub(super) queue: VecDeque<Face>,
    pub(super) queued: Vec<bool>,
    pub(super) max_vertices: usize,
}

/// What follows every vertex along the boundary.
pub(super) struct Boundary {
    pub next: Vec<u32>,
    pub piece: Vec<u32>,
    pub parameters: Vec<[f64; 2]>,
}

impl<'a> Work<'a> {
    /// Triangulates the sampled outlines, straight parts of which may stay whole. Chords may cross where outlines do not: they are
    /// then halved, up to four times.
    pub(super) fn start(
        plan: &'a Plan,
        size: &'a SizeField,
        max_vertices: usize,
        straight_whole: bool,
    ) -> Result<Self> {
        let mut first = None;
        for halvings in 0..5 {
            let finer = (halvings > 0).then(|| size.scaled(0.5f64.powi(halvings)));
            let Some(samples) = sample(plan, finer.as_ref().unwrap_or(size), max_vertices, straight_whole)? else {
                break;
            };
            match Work::new(plan, size, samples) {
                Ok(work) => return Ok(Work { max_vertices, ..work }),
                Err(error) => {
                    first.get_or_insert(error);
                }
            }
        }
        Err(first.unwrap_or_else(|| too_many(max_vertices, size)))
    }

    fn new(plan: &'a Plan, size: &'a SizeField, samples: Samples) -> Result<Self> {
        let count = samples.points.len();
        let vertices: Vec<_> = samples.points.iter().map(|p| Point2::new(p[0], p[1])).collect();
        let edges = samples.next.iter().enumerate().map(|(a, &b)| [a, b as usize]).collect();
        let mut crossing = None;
        let cdt = Cdt::try_bulk_load_cdt(vertices, edges, |edge| crossing = Some(edge[0])).map_err(|error| {
            Error::mesh(MeshFault::Outlines, format!("the outlines cannot be triangulated: {error}"), REMEDY)
        })?;
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
            let length = distance(samples.points[a], samples.points[b]);
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

    pub(super) fn enqueue(&mut self, face: Face) {
        if self.queued.len() < self.inside.len() {
            self.queued.resize(self.inside.len(), false);
        }
        if self.inside[face.index()] && !self.queued[face.index()] {
            self.queued[face.index()] = true;
            self.queue.push_back(face);
        }
    }

    /// The first vertex of the boundary edge between two vertices.
    pub(super) fn boundary_edge(&self, a: usize, b: usize) -> Option<usize> {
        let next = &self.boundary.next;
        if next[a] as usize == b {
            Some(a)
        } else if next[b] as usize == a {
            Some(b)
        } else {
            None
        }
    }

    /// Keeps the lists in step with a vertex just inserted, where edges of the size `wanted` are asked for.
    pub(super) fn add(&mut self, wanted: f64) {
        self.boundary.next.push(NONE);
        self.boundary.piece.push(NONE);
        self.boundary.parameters.push([0.0; 2]);
        self.wanted.push(wanted);
    }

    /// Marks the faces round a vertex, if told, and queues those in the fluid.
    pub(super) fn settle(&mut self, v: usize, inside: Option<bool>) {
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
    pub(super) fn split(&mut self, a: usize, shortest: f64) -> bool {
        let b = self.boundary.next[a] as usize;
        let (piece, [ta, tb]) = (self.boundary.piece[a], self.boundary.parameters[a]);
        let curve = &self.plan.pieces[piece as usize].curve;
        let t = middle_parameter(curve, [ta, tb]);
        let c = clean(curve.point(t));
        let at_middle = self.size.at(c);
        let wanted = at_middle.min(self.wanted[a]).min(self.wanted[b]);
        if distance(self.place(a), self.place(b)) < shortest * wanted {
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
        self.add(at_middle);
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

    pub(super) fn place(&self, v: usize) -> Point {
        let p = self.cdt.vertex(vertex(v)).position();
        [p.x, p.y]
    }

    pub(super) fn points(&self) -> Vec<Point> {
        (0..self.cdt.num_vertices()).map(|v| self.place(v)).collect()
    }

    pub(super) fn inside_triangles(&self) -> Vec<[u32; 3]> {
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

const REMEDY: &str = "check the coordinates of the outlines";

fn touching(at: Point) -> Error {
    Error::mesh(
        MeshFault::Outlines,
        format!("outlines cross or touch near {}", near(at)),
        "move them apart, or ask for smaller edges there (mesh.max_edge)",
    )
}

pub(super) fn too_many(limit: usize, size: &SizeField) -> Error {
    Error::mesh(
        MeshFault::TooMany,
        format!("the mesh needs more than the allowed {limit} vertices{}", size.finest()),
        "allow more triangles (mesh.max_triangles), larger edges or faster growth (mesh.growth), or widen the smallest passage",
    )
}
