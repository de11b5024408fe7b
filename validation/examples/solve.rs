//! Solves a case and writes its files: `cargo run --release --example solve`.

use twinplate::report::{Folder, Others};
use twinplate::study::{Settings, Study, read};

fn main() -> twinplate::Result<()> {
    let (case, plan) = read("meshes/two_piers.toml".as_ref())?;
    let settings = Settings { inertia: true, edge_layer: true, ..Settings::default() };
    let study = Study::solve(case, plan, settings, &|_| {})?;

    // the shape factor lies between two bounds, whatever the mesh
    let shape = study.pattern.shape_factor;
    println!("shape factor {} from {} to {}", shape.value, shape.lower, shape.upper);

    let folder = std::env::temp_dir().join("twinplate-example");
    study.write(Folder::open(&folder, &study.case, Others::Replaced)?)?;
    println!("fields, streaklines and report are in {}", folder.display());
    Ok(())
}
