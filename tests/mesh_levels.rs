//! Nested levels, point location and wall distance.

mod plans;

use plans::{check_invariants, generate, plans};
use proptest::prelude::*;
use twinplate::Point;
use twinplate::geometry::Side;
use twinplate::numerics::mesh::{BoundaryEdge, Locator, Mesh};

#[test]
fn refined_levels_are_nested_and_stay_on_the_curves() {
    for (name, plan) in plans() {
        let coarse = generate(&plan);
        let (middle, held_back) = coarse.clone().refine_uniform();
        assert_eq!(held_back, 0, "{name}");
        let fine = middle.refined();
        for (mesh, level) in [(&middle, 1usize), (&fine, 2)] {
            check_invariants(name, mesh);
            assert_eq!(mesh.coarser.len(), level);
            assert_eq!(mesh.triangles.len(), coarse.triangles.len() << (2 * level));
            assert_eq!(mesh.parents.len(), mesh.points.len() - mesh.coarser[0].vertices);
            // Circles of 25 edges and more lose little; 10 degrees is what the refinement itself promises.
            assert!(mesh.quality().least_angle > 15f64.to_radians(), "{name}: {}", mesh.quality().least_angle);
        }
        assert_eq!(fine.points[..coarse.points.len()], coarse.points[..]);
        assert_eq!(fine.points[..middle.points.len()], middle.points[..]);
        assert_eq!(fine.coarser[0].triangles, coarse.triangles);
        assert_eq!(fine.coarser[1].triangles, middle.triangles);
        // Inner vertices halve the edge of their parents, which come before them.
        let on_boundary: std::collections::HashSet<u32> = fine.boundary.iter().flat_map(|edge| edge.vertices).collect();
        for (k, &[a, b]) in fine.parents.iter().enumerate() {
            let v = (fine.coarser[0].vertices + k) as u32;
            assert!(a < v && b < v);
            let [p, q, m] = [a, b, v].map(|v| fine.points[v as usize]);
            if !on_boundary.contains(&v) {
                assert_eq!(m, [0.5 * (p[0] + q[0]), 0.5 * (p[1] + q[1])], "{name}");
            }
        }
        for (t, &[a, b, c]) in middle.triangles.iter().enumerate() {
            assert_eq!(
                [fine.triangles[4 * t][0], fine.triangles[4 * t + 1][1], fine.triangles[4 * t + 2][2]],
                [a, b, c]
            );
        }
    }
}

fn brute_force(mesh: &Mesh, p: Point) -> bool {
    mesh.triangles.iter().any(|t| {
        let c = t.map(|v| mesh.points[v as usize]);
        (0..3).all(|k| {
            let (a, b) = (c[k], c[(k + 1) % 3]);
            (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0]) >= 0.0
        })
    })
}

#[test]
fn locator_agrees_with_brute_force() {
    let mesh = generate(&plans().swap_remove(2).1);
    let locator = Locator::new(&mesh);
    let count = mesh.triangles.len() as u32;
    let check = |p: Point, found: Option<(u32, [f64; 3])>| {
        if let Some((t, weights)) = found {
            let c = mesh.triangles[t as usize].map(|v| mesh.points[v as usize]);
            assert!(weights.iter().all(|&w| w >= 0.0));
            for k in 0..2 {
                let x = weights[0] * c[0][k] + weights[1] * c[1][k] + weights[2] * c[2][k];
                // The tolerance outside is 1e-9 of the diagonal, 2.24.
                assert!((x - p[k]).abs() < 3e-9, "{p:?}");
            }
        }
        found.is_some()
    };
    let mut runner = proptest::test_runner::TestRunner::new(ProptestConfig {
        failure_persistence: None,
        ..ProptestConfig::default()
    });
    let strategy = ((-0.1..2.1, -0.1..1.1), 0..count, 0..count);
    runner
        .run(&strategy, |((x, y), hint, t)| {
            let p = [x, y];
            let inside = brute_force(&mesh, p);
            assert_eq!(check(p, locator.find(p, None)), inside, "{p:?}");
            assert_eq!(check(p, locator.find(p, Some(hint))), inside, "{p:?} from {hint}");
            // Vertices, points of edges and points just outside.
            let [a, b, c] = mesh.triangles[t as usize].map(|v| mesh.points[v as usize]);
            for p in [a, [0.5 * (a[0] + b[0]), 0.5 * (a[1] + b[1])], [0.3 * b[0] + 0.7 * c[0], 0.3 * b[1] + 0.7 * c[1]]]
            {
                for hint in [None, Some(hint), Some(u32::MAX)] {
                    assert!(check(p, locator.find(p, hint)), "{p:?}");
                }
            }
            let edge = &mesh.boundary[t as usize % mesh.boundary.len()];
            let [a, b] = edge.vertices.map(|v| mesh.points[v as usize]);
            let length = (b[0] - a[0]).hypot(b[1] - a[1]);
            let outward = [(b[1] - a[1]) / length, (a[0] - b[0]) / length];
            let off = |d: f64| [0.5 * (a[0] + b[0]) + d * outward[0], 0.5 * (a[1] + b[1]) + d * outward[1]];
            assert!(check(off(1e-10), locator.find(off(1e-10), Some(hint))));
            assert!(!check(off(1e-7), locator.find(off(1e-7), Some(hint))) || brute_force(&mesh, off(1e-7)));
            Ok(())
        })
        .unwrap();
    assert_eq!(locator.find([f64::NAN, 0.5], Some(0)), None);
    assert_eq!(locator.find([0.6, 0.5], Some(0)), None, "inside an obstacle");
}

#[test]
fn wall_distance_agrees_with_brute_force() {
    let mesh = generate(&plans().swap_remove(1).1);
    for limit in [0.05, f64::INFINITY] {
        let distances = mesh.wall_distance(limit);
        for (&p, &distance) in mesh.points.iter().zip(&distances) {
            let to_edge = |edge: &BoundaryEdge| {
                let [a, b] = edge.vertices.map(|v| mesh.points[v as usize]);
                let d = [b[0] - a[0], b[1] - a[1]];
                let s = (((p[0] - a[0]) * d[0] + (p[1] - a[1]) * d[1]) / (d[0] * d[0] + d[1] * d[1])).clamp(0.0, 1.0);
                (a[0] + s * d[0] - p[0]).hypot(a[1] + s * d[1] - p[1])
            };
            let solid = mesh.boundary.iter().filter(|edge| !matches!(mesh.side(edge), Side::Inlet | Side::Outlet));
            let exact = solid.map(to_edge).fold(f64::INFINITY, f64::min);
            if exact < limit {
                assert!((distance - exact).abs() < 1e-14, "{p:?}: {distance} {exact}");
            } else {
                assert_eq!(distance, f64::INFINITY);
            }
        }
    }
}
