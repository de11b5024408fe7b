//! Fronts against closed forms, and what must hold on any mesh.

mod exact;
mod plane;
mod pockets;
mod post;

use super::*;
use crate::base::Point;
use crate::geometry::{Plan, Side, Wall};
use crate::input::case::{CutOff, Gap, Snapshots};
use crate::numerics::fem::Space;
use crate::numerics::mesh::{BoundaryEdge, Mesh, SizeField};
use std::sync::Arc;

const VISCOSITY: f64 = 1e-3;
const GAP: f64 = 1e-3;
const DROP: f64 = 100.0;

/// Mobility b²/(12 μ) of the gap above, m2/(Pa s).
fn mobility() -> f64 {
    GAP * GAP / (12.0 * VISCOSITY)
}

const SIDES: [Side; 4] = [Side::Wall(Wall::Lower), Side::Outlet, Side::Wall(Wall::Upper), Side::Inlet];

fn box_plan(length: f64, width: f64, holes: &[Vec<Point>]) -> Arc<Plan> {
    let corners = [[0.0, 0.0], [length, 0.0], [length, width], [0.0, width]];
    Arc::new(Plan::polygon(&corners, &SIDES, holes).unwrap())
}

/// Columns of vertices at the places `xs`, rows at `ys`, every rectangle cut in two: a plane front sees one dimension.
fn columns(xs: &[f64], ys: &[f64]) -> Mesh {
    let (nx, ny) = (xs.len() - 1, ys.len() - 1);
    let (length, width) = (xs[nx], ys[ny]);
    let at = |i: usize, j: usize| (i * (ny + 1) + j) as u32;
    let points = xs.iter().flat_map(|&x| ys.iter().map(move |&y| [x, y])).collect();
    let mut triangles = Vec::new();
    for i in 0..nx {
        for j in 0..ny {
            triangles.push([at(i, j), at(i + 1, j), at(i + 1, j + 1)]);
            triangles.push([at(i, j), at(i + 1, j + 1), at(i, j + 1)]);
        }
    }
    let mut boundary = Vec::new();
    let mut side = |piece: u32, list: Vec<(u32, f64)>| {
        for pair in list.windows(2) {
            let vertices = [pair[0].0, pair[1].0];
            let has = |t: &[u32; 3]| vertices.iter().all(|v| t.contains(v));
            let triangle = triangles.iter().position(has).unwrap() as u32;
            boundary.push(BoundaryEdge { vertices, triangle, piece, parameters: [pair[0].1, pair[1].1] });
        }
    };
    side(0, (0..=nx).map(|i| (at(i, 0), xs[i] / length)).collect());
    side(1, (0..=ny).map(|j| (at(nx, j), ys[j] / width)).collect());
    side(2, (0..=nx).rev().map(|i| (at(i, ny), 1.0 - xs[i] / length)).collect());
    side(3, (0..=ny).rev().map(|j| (at(0, j), 1.0 - ys[j] / width)).collect());
    Mesh { plan: box_plan(length, width, &[]), points, triangles, boundary, coarser: vec![], parents: vec![] }
}

fn even(length: f64, parts: usize) -> Vec<f64> {
    (0..=parts).map(|k| length * k as f64 / parts as f64).collect()
}

fn space(mesh: Mesh) -> Space {
    Space::new(Arc::new(mesh), &Gap::Uniform(GAP), GAP)
}

fn setup(space: &Space, snapshots: Snapshots) -> Setup<'_> {
    Setup {
        space,
        viscosity: VISCOSITY,
        source: Source::Inlet,
        drive: Drive::Pressure(DROP),
        front: FrontPressure::Uniform(0.0),
        snapshots,
        pockets: CutOff::Pinned,
    }
}

fn filled(setup: &Setup) -> Filling {
    fill(setup, &|_| ()).unwrap()
}

/// A round hole of so many sides.
fn round(at: Point, radius: f64, sides: usize) -> Vec<Point> {
    let angle = |k: usize| std::f64::consts::TAU * k as f64 / sides as f64;
    (0..sides).map(|k| [at[0] + radius * angle(k).cos(), at[1] + radius * angle(k).sin()]).collect()
}

/// The post of the tables: a channel 2 by 1, diameter 0.4 at (0.8, 0.5), on a graded base refined so many times.
fn post(size: f64, times: usize) -> Space {
    let plan = box_plan(2.0, 1.0, &[round([0.8, 0.5], 0.2, 256)]);
    let mesh = Mesh::generate(&plan, &SizeField::new(size, 0.3, vec![]), 1_000_000).unwrap();
    space((0..times).fold(mesh, |mesh, _| mesh.refined()))
}
