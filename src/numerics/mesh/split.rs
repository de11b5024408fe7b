//! Halving long sides alone, for drawing: a side is halved for both its triangles or for none, so that the mesh stays conforming.

use super::refine::settle;
use super::sample::{clean, middle_parameter};
use super::{BoundaryEdge, Mesh};
use crate::base::Point;
use crate::base::plane::{distance, middle};
use std::collections::HashMap;

/// Rounds of halving: sides shrink to less than a millionth.
const ROUNDS: usize = 20;

impl Mesh {
    /// A single mesh without sides longer than `longest`, m, and for each vertex added the ends of the side that it halves, which come
    /// before it. Old vertices keep their numbers.
    ///
    /// A triangle is cut into two, three or four by the middles of its long sides; on the boundary they move onto the curve as in
    /// [`Mesh::refine_uniform`]. The shapes are good enough to draw on, not to solve on.
    pub fn split_longer(&self, longest: f64) -> (Mesh, Vec<[u32; 2]>) {
        let mut mesh = Mesh {
            plan: self.plan.clone(),
            points: self.points.clone(),
            triangles: self.triangles.clone(),
            boundary: self.boundary.clone(),
            coarser: Vec::new(),
            parents: Vec::new(),
        };
        let mut halved = Vec::new();
        for _ in 0..ROUNDS {
            let added = split_once(&mut mesh, longest);
            if added.is_empty() {
                break;
            }
            halved.extend(added);
        }
        (mesh, halved)
    }
}

/// Halves every side longer than a limit once; the ends of those sides, in the order of the vertices added.
fn split_once(mesh: &mut Mesh, longest: f64) -> Vec<[u32; 2]> {
    let mut middles: HashMap<[u32; 2], u32> = HashMap::new();
    let mut ends = Vec::new();
    let mut triangles = Vec::with_capacity(mesh.triangles.len());
    let mut starts = Vec::with_capacity(mesh.triangles.len() + 1);
    for &corners in &mesh.triangles {
        // the middle of the side from corner k on, if it is long
        let cut: [Option<u32>; 3] = std::array::from_fn(|k| {
            let (a, b) = (corners[k], corners[(k + 1) % 3]);
            let side = [a.min(b), a.max(b)];
            let [p, q] = side.map(|v| mesh.points[v as usize]);
            (distance(p, q) > longest).then(|| {
                *middles.entry(side).or_insert_with(|| {
                    mesh.points.push(middle(p, q));
                    ends.push(side);
                    mesh.points.len() as u32 - 1
                })
            })
        });
        starts.push(triangles.len());
        cut_up(&mesh.points, corners, cut, &mut triangles);
    }
    starts.push(triangles.len());
    let mut boundary = Vec::with_capacity(mesh.boundary.len());
    for edge in &mesh.boundary {
        let t = edge.triangle as usize;
        let children = starts[t]..starts[t + 1];
        let [a, b] = edge.vertices;
        let owner = |p: u32, q: u32| {
            let holds = |&k: &usize| triangles[k].contains(&p) && triangles[k].contains(&q);
            children.clone().find(holds).unwrap_or(children.start) as u32
        };
        let Some(&m) = middles.get(&[a.min(b), a.max(b)]) else {
            boundary.push(BoundaryEdge { triangle: owner(a, b), ..*edge });
            continue;
        };
        let curve = &mesh.plan.pieces[edge.piece as usize].curve;
        let parameter = middle_parameter(curve, edge.parameters);
        settle(&mut mesh.points, &triangles[children.clone()], m as usize, clean(curve.point(parameter)));
        let [from, to] = edge.parameters;
        boundary.push(BoundaryEdge { vertices: [a, m], triangle: owner(a, m), parameters: [from, parameter], ..*edge });
        boundary.push(BoundaryEdge { vertices: [m, b], triangle: owner(m, b), parameters: [parameter, to], ..*edge });
    }
    (mesh.triangles, mesh.boundary) = (triangles, boundary);
    ends
}

/// Adds the parts of a triangle, given the middles of those of its sides that are halved; side k starts at corner k.
fn cut_up(points: &[Point], corners: [u32; 3], cut: [Option<u32>; 3], parts: &mut Vec<[u32; 3]>) {
    // turned so that the first side is halved, and the last one is not if any is not
    let first = (0..3).find(|&k| cut[k].is_some() && (cut[(k + 2) % 3].is_none() || cut.iter().all(Option::is_some)));
    let Some(k) = first else {
        parts.push(corners);
        return;
    };
    let [a, b, c] = [0, 1, 2].map(|i| corners[(k + i) % 3]);
    match [0, 1, 2].map(|i| cut[(k + i) % 3]) {
        [Some(r), Some(p), Some(q)] => parts.extend([[a, r, q], [r, b, p], [q, p, c], [p, q, r]]),
        [Some(r), Some(p), None] => {
            parts.push([r, b, p]);
            let apart = |i: u32, j: u32| distance(points[i as usize], points[j as usize]);
            if apart(a, p) < apart(r, c) {
                parts.extend([[a, r, p], [a, p, c]]);
            } else {
                parts.extend([[a, r, c], [r, p, c]]);
            }
        }
        [Some(r), ..] => parts.extend([[a, r, c], [r, b, c]]),
        [None, ..] => parts.push(corners),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::plane::triangle_area;
    use crate::geometry::Side;
    use crate::study::read;
    use crate::theory::ideal::{Goal, first_size_field};

    /// The seal's mesh with its long sides halved: none is longer than asked, every side has two triangles or lies on the boundary, each
    /// triangle lies the right way round, and the area comes nearer to that of the fluid, for what is added lies on the curves.
    #[test]
    fn no_side_stays_longer_and_the_mesh_stays_whole() {
        let (case, plan) = read("meshes/two_piers.toml".as_ref()).unwrap();
        let size = first_size_field(&plan, &case, Goal::Triangles(500)).unwrap();
        let mesh = Mesh::generate_with_count(&plan, &size, 500).unwrap();
        let longest = 5e-3;
        let (fine, halved) = mesh.split_longer(longest);
        assert_eq!(fine.points.len(), mesh.points.len() + halved.len());
        let mut sides: HashMap<[u32; 2], i32> = HashMap::new();
        for t in &fine.triangles {
            let places = t.map(|v| fine.points[v as usize]);
            assert!(triangle_area(places) > 0.0, "{places:?}");
            for k in 0..3 {
                let (a, b) = (t[k], t[(k + 1) % 3]);
                assert!(distance(places[k], places[(k + 1) % 3]) <= longest);
                // once each way
                *sides.entry([a.min(b), a.max(b)]).or_default() += if a < b { 1 } else { -1 };
            }
        }
        let mut on_curve = 0;
        for edge in &fine.boundary {
            let [a, b] = edge.vertices;
            assert!([a, b].iter().all(|v| fine.triangles[edge.triangle as usize].contains(v)));
            *sides.get_mut(&[a.min(b), a.max(b)]).unwrap() -= if a < b { 1 } else { -1 };
            let piece = &plan.pieces[edge.piece as usize];
            on_curve += usize::from(matches!(piece.side, Side::Obstacle(_)));
            for (v, parameter) in edge.vertices.iter().zip(edge.parameters) {
                assert!(distance(fine.points[*v as usize], piece.curve.point(parameter)) < 1e-12);
            }
        }
        assert!(on_curve > 40 && sides.values().all(|&count| count == 0));
        let fluid = 0.4 * 0.2 - std::f64::consts::PI * (0.03f64.powi(2) + 0.02f64.powi(2));
        let off = |mesh: &Mesh| (mesh.areas().iter().sum::<f64>() - fluid).abs();
        // chords of 5 mm at most on circles of 20 mm: each leaves c³/(12 r), in all less than c²/12 of 2 pi
        assert!(off(&fine) < off(&mesh) && off(&fine) < 2.0 * std::f64::consts::PI * 2.0 * longest.powi(2) / 12.0);
    }
}
