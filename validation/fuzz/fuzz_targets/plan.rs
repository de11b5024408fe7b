//! Obstacles made up from bytes, on a lattice so that they touch, share corners and lie on one another, as far as the mesh.
#![no_main]

#[path = "../meshing/mod.rs"]
mod meshing;

use std::fmt::Write;

/// The cell is 64 by 32 steps of the lattice.
const STEP: f64 = 1e-3;

fn length(byte: u8) -> f64 {
    STEP * f64::from(byte) / 4.0
}

libfuzzer_sys::fuzz_target!(|data: &[u8]| {
    let mut text = String::from(
        "title = \"t\"\n[cell]\nlength = 0.064\nwidth = 0.032\ngap = 5e-4\n[fluid]\nname = \"water\"\n\
         temperature = \"20 degC\"\n[drive]\nmean_speed = 0.001\n",
    );
    for shape in data.chunks(8).take(12) {
        let [kind, x, y, rest @ ..] = shape else { break };
        let (at, rest): ([f64; 2], Vec<f64>) = ([length(*x), length(*y)], rest.iter().map(|b| length(*b)).collect());
        let wall = ["", "on_wall = \"lower\"\n", "on_wall = \"upper\"\n"][usize::from(kind / 64) % 3];
        text += "[[obstacle]]\n";
        text += wall;
        let written = match (kind % 5, rest.as_slice()) {
            (0, [d, ..]) => writeln!(text, "circle = {{ centre = {at:?}, diameter = {d:?} }}"),
            (1, [a, b, turn, ..]) => {
                let angle = turn / STEP;
                writeln!(text, "ellipse = {{ centre = {at:?}, semi_axes = [{a:?}, {b:?}], angle = {angle:?} }}")
            }
            (2, [a, b, c, d, ..]) => writeln!(text, "polygon = {{ points = [{at:?}, [{a:?}, {b:?}], [{c:?}, {d:?}]] }}"),
            (3, [a, b, c, d, ..]) => {
                writeln!(text, "outline = {{ points = [{at:?}, [{a:?}, {b:?}], [{c:?}, {d:?}]], smooth = true }}")
            }
            (_, [long, thick, turn, ..]) => {
                let angle = turn / STEP;
                writeln!(text, "teardrop = {{ length = {long:?}, diameter = {thick:?}, nose = {at:?}, angle = {angle:?} }}")
            }
            _ => break,
        };
        assert!(written.is_ok());
    }
    meshing::of(&text);
});
