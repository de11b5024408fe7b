//! From a list of triangles to a checked mesh, numbered along a Hilbert curve.

use super::smooth::smooth;
use super::work::{Boundary, NONE};
use super::{BoundaryEdge, Mesh};
use crate::base::error::MeshFault;
use crate::base::plane::{Rect, cross};
use crate::base::{Error, Point, Result};
use crate::geometry::Plan;
use std::sync::Arc;

/// Builds the mesh of the fluid; vertices that no triangle uses are dropped.
pub(super) fn assemble(
    plan: &Arc<Plan>,
    mut points: Vec<Point>,
    mut triangles: Vec<[u32; 3]>,
    boundary: &Boundary,
) -> Result<Mesh> {
    let fixed: Vec<bool> = boundary.next.iter().map(|&next| next != NONE).collect();
    smooth(&mut points, &triangles, &fixed, 3);

    let order = hilbert_order(&points, &triangles);
    let mut number = vec![NONE; points.len()];
    for (new, &old) in order.iter().enumerate() {
        number[old as usize] = new as u32;
    }
    for triangle in &mut triangles {
        *triangle = triangle.map(|v| number[v as usize]);
        let k = (0..3).min_by_key(|&k| triangle[k]).unwrap_or(0);
        triangle.rotate_left(k);
    }
    triangles.sort_unstable();

    let mut next = vec![NONE; order.len()];
    let mut edges = vec![];
    for (a, &b) in boundary.next.iter().enumerate() {
        if b == NONE {
            continue;
        }
        let vertices = [number[a], number[b as usize]];
        if vertices.contains(&NONE) {
            return Err(broken("a boundary vertex belongs to no triangle"));
        }
        next[vertices[0] as usize] = vertices[1];
        let (piece, parameters) = (boundary.piece[a], boundary.parameters[a]);
        edges.push(BoundaryEdge { vertices, triangle: NONE, piece, parameters });
    }
    let mut owner = vec![NONE; order.len()];
    for (index, triangle) in triangles.iter().enumerate() {
        for k in 0..3 {
            let (a, b) = (triangle[k] as usize, triangle[(k + 1) % 3]);
            if next[a] == b {
                owner[a] = index as u32;
            }
        }
    }
    for edge in &mut edges {
        edge.triangle = owner[edge.vertices[0] as usize];
        if edge.triangle == NONE {
            return Err(broken("a boundary edge belongs to no triangle"));
        }
    }
    // Along each loop, pieces and parameters in the order they are walked.
    let direction = |edge: &BoundaryEdge| {
        let piece = &plan.pieces[edge.piece as usize];
        if piece.to >= piece.from { edge.parameters[0] } else { -edge.parameters[0] }
    };
    edges.sort_by(|a, b| a.piece.cmp(&b.piece).then(direction(a).total_cmp(&direction(b))));

    let points: Vec<Point> = order.iter().map(|&v| points[v as usize]).collect();
    let mesh = Mesh { plan: plan.clone(), points, triangles, boundary: edges, coarser: vec![], parents: vec![] };
    check_area(&mesh)?;
    Ok(mesh)
}

/// The triangles must fill the polygon of the boundary edges.
fn check_area(mesh: &Mesh) -> Result<()> {
    let polygon: f64 = mesh
        .boundary
        .iter()
        .map(|edge| {
            let [a, b] = edge.vertices.map(|v| mesh.points[v as usize]);
            0.5 * cross(a, b)
        })
        .sum();
    let mut total = 0.0;
    for area in mesh.areas() {
        if area.is_nan() || area <= 0.0 {
            return Err(broken(&format!("a triangle has the area {area:e} m2")));
        }
        total += area;
    }
    if (total - polygon).abs() > 1e-9 * polygon.abs() || polygon.is_nan() {
        return Err(broken(&format!("its triangles cover {total} m2 of {polygon} m2")));
    }
    Ok(())
}

fn broken(what: &str) -> Error {
    Error::mesh(
        MeshFault::Broken,
        format!("the triangulation does not fill the fluid: {what}"),
        "check that outlines neither cross nor touch and that the outer one runs counter-clockwise",
    )
}

/// The used vertices in the order a Hilbert curve passes them.
fn hilbert_order(points: &[Point], triangles: &[[u32; 3]]) -> Vec<u32> {
    let mut used = vec![false; points.len()];
    triangles.iter().flatten().for_each(|&v| used[v as usize] = true);
    let rect = Rect::of(points.iter().copied());
    let (low, extent) = (rect.low, rect.extent().max(f64::MIN_POSITIVE));
    let cell = |x: f64, low: f64| ((x - low) / extent * f64::from(u32::MAX)) as u32;
    let mut order: Vec<(u64, u32)> = (0..points.len())
        .filter(|&v| used[v])
        .map(|v| (hilbert(cell(points[v][0], low[0]), cell(points[v][1], low[1])), v as u32))
        .collect();
    order.sort_unstable();
    order.into_iter().map(|(_, v)| v).collect()
}

/// Distance along the Hilbert curve of order 32 of a cell.
fn hilbert(mut x: u32, mut y: u32) -> u64 {
    let mut distance = 0u64;
    for bit in (0..32).rev() {
        let (rx, ry) = ((x >> bit) & 1, (y >> bit) & 1);
        distance = (distance << 2) | u64::from((3 * rx) ^ ry);
        if ry == 0 {
            if rx == 1 {
                (x, y) = (!x, !y);
            }
            (x, y) = (y, x);
        }
    }
    distance
}
