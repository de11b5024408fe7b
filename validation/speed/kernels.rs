//! Times of the kernels on about 250 000 triangles: `cargo bench`. Two round posts, as in `two_posts.toml` beside this file.

use criterion::{Criterion, criterion_group, criterion_main};
use std::sync::Arc;
use std::time::Duration;
use twinplate::geometry::Plan;
use twinplate::input::case::{Case, Gap};
use twinplate::numerics::fem::Space;
use twinplate::numerics::mesh::Mesh;
use twinplate::report::vtk::{Array, Cells, Data, Encoding, Fields, Grid, Places, write_vtu};
use twinplate::study::read;
use twinplate::theory::ideal::{Goal, Pattern, first_size_field, solve_pair};

const GAP: f64 = 1e-3;

fn plan() -> (Case, Arc<Plan>) {
    let file = concat!(env!("CARGO_MANIFEST_DIR"), "/validation/speed/two_posts.toml");
    read(file.as_ref()).expect("the case beside this file is in order")
}

fn refined(base: &Mesh, times: usize) -> Arc<Mesh> {
    let mut mesh = base.clone();
    for _ in 0..times {
        mesh = mesh.refine_uniform().0;
    }
    Arc::new(mesh)
}

fn kernels(c: &mut Criterion) {
    let (case, plan) = plan();
    let size = first_size_field(&plan, &case, Goal::Triangles(16_000)).unwrap();
    let base = Mesh::generate_with_count(&plan, &size, 16_000).expect("the plan can be meshed");
    let mesh = refined(&base, 2);
    let gap = Gap::Uniform(GAP);
    let space = Space::new(mesh.clone(), &gap, GAP);
    let pair = solve_pair(&space, case.drive.ends, 1e-5).expect("the pair can be solved");
    let recovery = space.recovery();
    let pattern = Pattern::new(&space, &pair, &case, 0.28);
    let folder = std::env::temp_dir().join(format!("twinplate-bench-{}", std::process::id()));
    std::fs::create_dir_all(&folder).expect("a scratch folder");

    c.bench_function("mesh of 16 000 triangles", |b| {
        b.iter(|| Mesh::generate_with_count(&plan, &size, 16_000).expect("the plan can be meshed"))
    });
    c.bench_function("two uniform refinements to 256 000", |b| b.iter(|| refined(&base, 2)));
    c.bench_function("assembly of all levels", |b| b.iter(|| Space::new(mesh.clone(), &gap, GAP)));
    c.bench_function("pressure and stream function", |b| {
        b.iter(|| solve_pair(&space, case.drive.ends, 1e-5).expect("the pair can be solved"))
    });
    c.bench_function("recovery of two gradients", |b| {
        b.iter(|| recovery.gradients(space.conserved(3.0), [&pair.pressure, &pair.stream]))
    });
    for (name, encoding) in [("base64", Encoding::Base64), ("raw", Encoding::Raw)] {
        c.bench_function(&format!("fields.vtu with three arrays, {name}"), |b| {
            let point = [
                Array { name: "pressure", unit: "Pa", data: Data::Scalar(&pattern.pressure) },
                Array { name: "velocity", unit: "m/s", data: Data::Plane(&pattern.velocity) },
            ];
            let cell = [Array { name: "bracket_density", unit: "1", data: Data::Scalar(&pair.bracket_density) }];
            let grid = Grid { points: Places::Plane(&mesh.points), cells: Cells::Triangles(&mesh.triangles) };
            let fields = Fields { point: &point, cell: &cell, encoding, ..Fields::default() };
            b.iter(|| write_vtu(&folder.join("fields.vtu"), &grid, &fields).expect("a file can be written"))
        });
    }
    std::fs::remove_dir_all(&folder).ok();
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(10).measurement_time(Duration::from_secs(4));
    targets = kernels
}
criterion_main!(benches);
