//! Triangles between given polygons whose edges stay as they are: for regions that are meshed anew at every step.

use super::sample::clean;
use crate::base::error::MeshFault;
use crate::base::plane::triangle_area;
use crate::base::{Error, Point, Result};
use spade::{AngleLimit, ConstrainedDelaunayTriangulation, Point2, RefinementParameters, Triangulation};

/// Least angle asked for, degrees; beside edges that are too long for it, and at sharp corners, angles may be smaller.
const ANGLE: f64 = 25.0;
/// What can be done about outlines that cross.
const REMEDY: &str = "smaller edges make room between outlines";

/// A triangulated region.
#[derive(Debug, Clone, Default)]
pub struct Region {
    /// Vertices: those of the loops first, in their order.
    pub points: Vec<Point>,
    /// Triangles, counter-clockwise.
    pub triangles: Vec<[u32; 3]>,
}

/// Triangulates what lies inside an odd number of the closed loops. No point is added on their edges, so that triangles grow from the
/// lengths of those edges inwards, up to `largest`, an area; `most` limits the number of points.
///
/// # Errors
/// [`Error::Mesh`] if edges cross or points fall together, or if triangles do not fill the loops to 1e-9 of their area.
pub fn fill(loops: &[Vec<Point>], largest: f64, most: usize) -> Result<Region> {
    let given: Vec<Point> = loops.iter().flatten().map(|&p| clean(p)).collect();
    let mut edges = Vec::with_capacity(given.len());
    let mut start = 0;
    for points in loops {
        let count = points.len();
        edges.extend((0..count).map(|k| [start + k, start + (k + 1) % count]));
        start += count;
    }
    let fault = |what: String| Error::mesh(MeshFault::Outlines, what, REMEDY);
    let vertices = given.iter().map(|p| Point2::new(p[0], p[1])).collect();
    let mut crossing = None;
    let mut cdt = ConstrainedDelaunayTriangulation::<Point2<f64>>::try_bulk_load_cdt(vertices, edges, |edge| {
        crossing = Some(edge[0]);
    })
    .map_err(|error| fault(format!("the region cannot be triangulated: {error}")))?;
    if let Some(v) = crossing {
        let [x, y] = given.get(v).copied().unwrap_or_default();
        return Err(fault(format!("outlines of the region cross at ({x}, {y})")));
    }
    if cdt.num_vertices() != given.len() {
        return Err(fault("two points of the region's outline fall together".into()));
    }
    let wish = RefinementParameters::new()
        .exclude_outer_faces(true)
        .keep_constraint_edges()
        .with_angle_limit(AngleLimit::from_deg(ANGLE))
        .with_max_allowed_area(largest)
        .with_max_additional_vertices(most);
    let outside = cdt.refine(wish).excluded_faces;
    let mut is_outside = vec![false; cdt.num_all_faces()];
    outside.iter().for_each(|face| is_outside[face.index()] = true);
    let points: Vec<Point> = cdt.vertices().map(|v| [v.position().x, v.position().y]).collect();
    let inside = cdt.inner_faces().filter(|face| !is_outside[face.fix().index()]);
    let triangles: Vec<[u32; 3]> = inside.map(|face| face.vertices().map(|v| v.index() as u32)).collect();
    let whole: f64 = loops.iter().map(|points| crate::base::plane::polygon_area(points)).sum();
    let filled: f64 = triangles.iter().map(|t| triangle_area(t.map(|v| points[v as usize]))).sum();
    if (filled - whole).abs() > 1e-9 * whole.abs() {
        return Err(fault(format!("triangles fill {filled} of the region's area {whole}")));
    }
    Ok(Region { points, triangles })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::plane::{distance, polygon_area};

    fn square(side: f64, count: usize) -> Vec<Point> {
        let at = |k: usize| {
            let x = side * (k % count) as f64 / count as f64;
            [[x, 0.0], [side, x], [side - x, side], [0.0, side - x]][k / count]
        };
        (0..4 * count).map(at).collect()
    }

    /// A frame of area 4 - 1: the hole is no part of it, given points keep their order, and edges of the outlines stay whole.
    #[test]
    fn loops_stay_as_they_are() {
        let mut hole: Vec<Point> = square(1.0, 7).iter().map(|p| [p[0] + 0.5, p[1] + 0.5]).collect();
        hole.reverse();
        let outer = square(2.0, 5);
        let region = fill(&[outer.clone(), hole.clone()], 1.0, 10_000).unwrap();
        let given: Vec<Point> = outer.into_iter().chain(hole).collect();
        assert_eq!(region.points[..given.len()], given);
        let area: f64 = region.triangles.iter().map(|t| polygon_area(&t.map(|v| region.points[v as usize]))).sum();
        assert!((area - 3.0).abs() < 1e-12, "{area}");
        let on_edge = |p: &Point| p[0] < 1e-9 || p[1] < 1e-9 || p[0] > 2.0 - 1e-9 || p[1] > 2.0 - 1e-9;
        assert_eq!(region.points.iter().filter(|p| on_edge(p)).count(), 20);
        let longest = region.triangles.iter().flat_map(|t| [[t[0], t[1]], [t[1], t[2]], [t[2], t[0]]]);
        let longest = longest.map(|e| e.map(|v| region.points[v as usize])).map(|[a, b]| distance(a, b));
        assert!(longest.fold(0.0, f64::max) < 1.5);
    }

    #[test]
    fn crossing_loops_are_errors() {
        let bow = vec![[0.0, 0.0], [1.0, 1.0], [1.0, 0.0], [0.0, 1.0]];
        assert!(fill(&[bow], 1.0, 1000).is_err());
        let twice = vec![[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [1.0, 0.0]];
        assert!(fill(&[twice], 1.0, 1000).is_err());
    }
}
