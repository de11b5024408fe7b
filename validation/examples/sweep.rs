//! How the departure grows with the speed, scaled from one solution: `cargo run --release --example sweep`.

use twinplate::input::case::{Sweep, SweepQuantity};
use twinplate::study::{Settings, Study, read};

fn main() -> twinplate::Result<()> {
    let (mut case, plan) = read("meshes/teardrop_buoy.toml".as_ref())?;
    case.sweep = Some(Sweep { quantity: SweepQuantity::MeanSpeed, values: vec![1e-3, 3e-3, 1e-2, 3e-2] });
    let settings = Settings { inertia: true, edge_layer: true, ..Settings::default() };
    let study = Study::solve(case, plan, settings, &|_| {})?;

    println!("     U, mm/s         Re*   largest speed departure, % of U   first order holds");
    for row in study.budget(&|_| {})?.sweep {
        let (speed, percent) = (1e3 * row.value, 100.0 * row.cell_alone.speed.largest);
        println!("{speed:12.1} {:11.4} {percent:33.2}   {}", row.reduced_reynolds, row.first_order);
    }
    Ok(())
}
