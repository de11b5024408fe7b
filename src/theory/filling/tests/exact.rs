//! What holds to rounding.

use super::*;

/// One step and eighty to the same impulse give the same fills, on one level and on nested ones.
#[test]
fn snapshots_are_no_steps() {
    for times in [0, 2] {
        let space = post(0.12, times);
        let last = |n: usize| {
            let impulses = (1..=n).map(|k| 0.8 * k as f64 / n as f64).collect();
            let mut filling = filled(&setup(&space, Snapshots::Impulses(impulses)));
            filling.snapshots.pop().unwrap().fill
        };
        let (one, many) = (last(1), last(80));
        let worst = one.iter().zip(&many).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
        assert!(worst < 1e-12, "{times}: {worst}");
    }
}

/// The same cell, and the obstacle, turned by half a turn and filled from its other end.
#[test]
fn a_mirrored_mesh_fills_in_mirror_image() {
    let mesh = columns(&even(1.0, 16), &even(1.0, 16).iter().map(|y| y * (0.6 + 0.4 * y)).collect::<Vec<_>>());
    let mut mirrored = mesh.clone();
    mirrored.points.iter_mut().for_each(|p| p[1] = 1.0 - p[1]);
    mirrored.triangles.iter_mut().for_each(|t| t.swap(1, 2));
    mirrored.boundary.iter_mut().for_each(|edge| edge.vertices.swap(0, 1));
    // a port off the middle breaks the symmetry of the cell
    let port = |y: f64| Source::Port(Port { at: [0.25, y], diameter: 0.2 });
    let of = |mesh: Mesh, y: f64| {
        let space = space(mesh);
        filled(&Setup { source: port(y), ..setup(&space, Snapshots::Impulses(vec![0.02, 0.1])) })
    };
    let (one, other) = (of(mesh, 0.3), of(mirrored, 0.7));
    for (a, b) in one.snapshots.iter().zip(&other.snapshots) {
        assert!(a.fill.iter().zip(&b.fill).all(|(a, b)| (a - b).abs() < 1e-12));
        assert!((a.outflow_m3 - b.outflow_m3).abs() < 1e-15);
    }
    assert!(one.snapshots[1].outflow_m3 >= 0.0);
}

/// Two runs give the same bytes, also with one thread.
#[test]
fn the_number_of_threads_changes_nothing() {
    let space = post(0.15, 1);
    let run = || filled(&setup(&space, Snapshots::Count(6)));
    let one = rayon::ThreadPoolBuilder::new().num_threads(1).build().unwrap().install(run);
    let other = run();
    let bits = |f: &Filling| -> Vec<u64> {
        let moments = f.snapshots.iter().flat_map(|m| m.fill.iter().chain(m.front.iter().flatten().flatten()));
        moments.chain(&f.arrival).map(|x| x.to_bits()).collect()
    };
    assert_eq!(bits(&one), bits(&other));
}
