//! A mesh made ready for computing: its stars, the gap at its vertices, its stiffness matrices.

use super::{Conditions, Levels, Model, Recovery, Stiffness};
use crate::base::Point;
use crate::base::plane::{distance, middle, triangle_area};
use crate::geometry::{Side, Solid};
use crate::input::case::Gap;
use crate::numerics::mesh::{Index, Locator, Mesh, Stars};
use rayon::prelude::*;
use std::sync::{Arc, OnceLock};

/// A boundary edge on a solid, the fluid on its left.
#[derive(Debug, Clone, Copy)]
pub struct SolidEdge {
    /// Its vertices, in its direction.
    pub vertices: [usize; 2],
    /// Its middle, m.
    pub middle: Point,
    /// Its length, m.
    pub length: f64,
    /// Mean gap over it, m.
    pub gap: f64,
    /// The side it lies on.
    pub side: Side,
}

/// Linear elements on a mesh, with the gap between the plates.
#[derive(Debug)]
pub struct Space {
    /// The mesh.
    pub mesh: Arc<Mesh>,
    /// Stars of its vertices.
    pub stars: Stars,
    /// Gap at the vertices, m.
    pub gap: Vec<f64>,
    /// grad b / b at the vertices, 1/m; empty if the gap is uniform.
    pub gap_slope: Vec<[f64; 2]>,
    /// Gap at the middle of the cell, m.
    pub reference_gap: f64,
    /// Stiffness matrices of all levels.
    pub levels: Levels,
    index: OnceLock<Arc<Index>>,
    wall_distance: OnceLock<Vec<f64>>,
}

impl Space {
    /// Assembles everything that does not depend on conditions. `reference_gap` is the gap at the cell's middle, m.
    pub fn new(mesh: Arc<Mesh>, gap: &Gap, reference_gap: f64) -> Self {
        let stars = Stars::new(mesh.points.len(), &mesh.triangles);
        let at_vertices: Vec<f64> = mesh.points.par_iter().map(|&p| gap.at(p)).collect();
        let uniform = gap.is_uniform();
        let ratio: Option<Vec<f64>> = (!uniform).then(|| at_vertices.iter().map(|b| b / reference_gap).collect());
        let levels = Levels::assemble(&mesh, &stars, ratio.as_deref());
        let slope = |(&p, b): (&Point, &f64)| gap.gradient(p).map(|g| g / b);
        let gap_slope =
            if uniform { Vec::new() } else { mesh.points.par_iter().zip(&at_vertices).map(slope).collect() };
        let (index, wall_distance) = Default::default();
        Space { mesh, stars, gap: at_vertices, gap_slope, reference_gap, levels, index, wall_distance }
    }

    /// The search for triangles, prepared when it is first asked for.
    pub fn locator(&self) -> Locator<'_> {
        let index = self.index.get_or_init(|| Arc::new(Index::new(&self.mesh)));
        Locator::with(&self.mesh, index.clone())
    }

    /// Distance of every vertex from the nearest edge that holds fluid back, m, found when it is first asked for.
    pub fn wall_distance(&self) -> &[f64] {
        self.wall_distance.get_or_init(|| self.mesh.holding_distance(f64::INFINITY))
    }

    /// The stiffness matrix of a uniform gap on the finest level.
    pub fn stiffness(&self) -> &Stiffness {
        &self.levels.stream[self.levels.stream.len() - 1]
    }

    /// Area of the triangles round a vertex, m2; a third of it is what the vertex stands for.
    pub fn star_area(&self, vertex: usize) -> f64 {
        self.stars.of(vertex).iter().map(|&t| self.area(t as usize)).sum()
    }

    /// Side of the triangles round a vertex, m, as if they were six equilateral ones: their area is then `2.598 side²`.
    pub fn side_at(&self, vertex: usize) -> f64 {
        (self.star_area(vertex) / 2.598).sqrt()
    }

    /// Root mean square of a value over some vertices, each counted by the area it stands for; zero where there are none.
    pub fn root_mean_square(&self, vertices: impl IntoIterator<Item = usize>, of: impl Fn(usize) -> f64) -> f64 {
        let (sum, total) = vertices.into_iter().fold((0.0, 0.0), |(sum, total), v| {
            let area = self.star_area(v);
            (sum + area * of(v).powi(2), total + area)
        });
        if total > 0.0 { f64::sqrt(sum / total) } else { 0.0 }
    }

    /// Whether the gap is the same everywhere.
    pub fn uniform_gap(&self) -> bool {
        self.gap_slope.is_empty()
    }

    /// Corner places of a triangle.
    pub fn corners(&self, triangle: usize) -> [Point; 3] {
        self.mesh.triangles[triangle].map(|v| self.mesh.points[v as usize])
    }

    /// Area of a triangle, m2.
    pub fn area(&self, triangle: usize) -> f64 {
        triangle_area(self.corners(triangle))
    }

    /// Model of a field that solves div(b^n grad u) = 0.
    pub fn conserved(&self, n: f64) -> Model<'_> {
        if self.uniform_gap() { Model::Harmonic } else { Model::Conserved(n, &self.gap_slope) }
    }

    /// Model of a field that is harmonic if the gap is uniform.
    pub fn harmonic_if_uniform(&self) -> Model<'_> {
        if self.uniform_gap() { Model::Harmonic } else { Model::Any }
    }

    /// Patches for nodal gradients.
    pub fn recovery(&self) -> Recovery<'_> {
        Recovery::new(&self.mesh, &self.stars)
    }

    /// Vertices on a solid, in ascending order, each once.
    pub fn vertices_on(&self, solid: Solid) -> Vec<u32> {
        self.vertices_where(|side| self.mesh.plan.solid(side) == Some(solid))
    }

    /// Ties the vertices of each obstacle to one unknown.
    pub fn tie_obstacles(&self, conditions: &mut Conditions) {
        for k in 0..self.mesh.plan.obstacles.len() as u32 {
            conditions.tie(self.vertices_on(Solid::Obstacle(k)));
        }
    }

    /// The boundary edges of side walls and obstacles.
    pub fn solid_edges(&self) -> impl Iterator<Item = SolidEdge> {
        let on_solid = self.mesh.boundary.iter().filter(|edge| self.mesh.plan.solid(self.mesh.side(edge)).is_some());
        on_solid.map(|edge| {
            let vertices @ [i, j] = edge.vertices.map(|v| v as usize);
            let (p, q) = (self.mesh.points[i], self.mesh.points[j]);
            let gap = 0.5 * (self.gap[i] + self.gap[j]);
            SolidEdge { vertices, middle: middle(p, q), length: distance(p, q), gap, side: self.mesh.side(edge) }
        })
    }

    /// Those of them that hold back the fluid along them: all but the free rims of bubbles.
    pub fn holding_edges(&self) -> impl Iterator<Item = SolidEdge> {
        self.solid_edges().filter(|edge| self.mesh.plan.holds_back(edge.side))
    }

    /// `∫ f dt/ds ds` of fluxes f along edges: what leaves their first vertices and comes to their second, all together nothing.
    pub fn flux_loads(&self, fluxes: impl IntoIterator<Item = (SolidEdge, f64)>) -> Vec<f64> {
        let mut loads = vec![0.0; self.mesh.points.len()];
        for (SolidEdge { vertices: [i, j], .. }, flux) in fluxes {
            loads[j] += flux;
            loads[i] -= flux;
        }
        loads
    }

    /// Vertices on a side, in ascending order, each once.
    pub fn vertices_where(&self, wanted: impl Fn(Side) -> bool) -> Vec<u32> {
        let edges = self.mesh.boundary.iter().filter(|edge| wanted(self.mesh.side(edge)));
        let mut vertices: Vec<u32> = edges.flat_map(|edge| edge.vertices).collect();
        vertices.sort_unstable();
        vertices.dedup();
        vertices
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::{Plan, Wall};
    use crate::numerics::mesh::SizeField;

    fn square() -> Space {
        let sides = [Side::Wall(Wall::Lower), Side::Outlet, Side::Wall(Wall::Upper), Side::Inlet];
        let plan = Plan::polygon(&[[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]], &sides, &[]).unwrap();
        let mesh = Mesh::generate(&Arc::new(plan), &SizeField::new(0.1, 0.3, vec![]), 10_000).unwrap();
        Space::new(Arc::new(mesh), &Gap::Uniform(0.01), 0.01)
    }

    #[test]
    fn search_and_distances_are_prepared_once() {
        let space = square();
        assert!(space.index.get().is_none() && space.wall_distance.get().is_none());
        let found = space.locator().find([0.31, 0.77], None).unwrap();
        let kept = Arc::as_ptr(space.index.get().unwrap());
        assert_eq!(space.locator().find([0.31, 0.77], None), Some(found));
        assert_eq!(Arc::as_ptr(space.index.get().unwrap()), kept);
        let first = space.wall_distance().as_ptr();
        assert_eq!(space.wall_distance().as_ptr(), first);
        // the ends are no solids
        for (p, d) in space.mesh.points.iter().zip(space.wall_distance()) {
            assert!((d - p[1].min(1.0 - p[1])).abs() < 1e-15, "{p:?} {d}");
        }
    }

    /// x over the unit square has the mean square 1/3; the rule of three vertices is off by x²'s second derivative times h²/12 each way.
    #[test]
    fn means_are_taken_by_area() {
        let space = square();
        let all = || 0..space.mesh.points.len();
        let x = |v: usize| space.mesh.points[v][0];
        assert!((space.root_mean_square(all(), |_| -2.0) - 2.0).abs() < 1e-14);
        assert!((space.root_mean_square(all(), x).powi(2) - 1.0 / 3.0).abs() < 0.1f64.powi(2) / 3.0);
        assert!((all().map(|v| space.star_area(v)).sum::<f64>() - 3.0).abs() < 1e-13);
        let right = all().filter(|&v| x(v) > 0.999);
        assert!((space.root_mean_square(right, x) - 1.0).abs() < 1e-14);
        assert_eq!(space.root_mean_square([], x), 0.0);
    }

    /// The free rim of a bubble holds nothing back: the nearest edge is a wall, and of the solid edges those of the rim are left out.
    #[test]
    fn free_rims_are_passed_over() {
        use crate::geometry::Rim;
        let sides = [Side::Wall(Wall::Lower), Side::Outlet, Side::Wall(Wall::Upper), Side::Inlet];
        let hole = vec![[0.4, 0.4], [0.6, 0.4], [0.6, 0.6], [0.4, 0.6]];
        for (rim, holds) in [(None, true), (Some(Rim::Solid), true), (Some(Rim::Free), false)] {
            let outer = [[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]];
            let mut plan = Plan::polygon(&outer, &sides, std::slice::from_ref(&hole)).unwrap();
            plan.obstacles[0].bubble = rim;
            let mesh = Mesh::generate(&Arc::new(plan), &SizeField::new(0.1, 0.3, vec![]), 10_000).unwrap();
            let space = Space::new(Arc::new(mesh), &Gap::Uniform(0.01), 0.01);
            let on_rim = space.solid_edges().filter(|edge| edge.side == Side::Obstacle(0)).count();
            assert_eq!(space.solid_edges().count() - space.holding_edges().count(), if holds { 0 } else { on_rim });
            let corner = space.mesh.points.iter().position(|p| *p == [0.4, 0.4]).unwrap();
            assert_eq!(space.wall_distance()[corner], if holds { 0.0 } else { 0.4 });
        }
    }
}
