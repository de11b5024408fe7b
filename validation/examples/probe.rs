//! Reads the pattern at places of one's own, and any row of the report by its path: `cargo run --release --example probe`.

use twinplate::base::row::row_at;
use twinplate::study::{Settings, Study, read};

fn main() -> twinplate::Result<()> {
    let (case, plan) = read("meshes/seal.toml".as_ref())?;
    let study = Study::solve(case, plan, Settings { edge_layer: true, ..Settings::default() }, &|_| {})?;

    for x in [0.05, 0.10, 0.15, 0.20] {
        // none in a solid or outside the cell
        match study.value_at([x, 0.145]) {
            Some(value) => println!("x = {x} m: V = {:?} m/s, p = {} Pa", value.velocity, value.pressure),
            None => println!("x = {x} m: no fluid"),
        }
    }

    let report = study.sections();
    for path in ["drive.head_m", "probes.above the back.angle_deg", "edge_layer.shape_factor"] {
        if let Some(row) = row_at(&report, path) {
            println!("{path}: {} {}", row.name, row.si());
        }
    }
    Ok(())
}
