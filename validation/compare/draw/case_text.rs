//! The case file that goes with a photograph or a film.

use super::camera::Depth;
use super::flow::Pier;
use super::parts::Cell;
use super::scenarios::{FLOW_RATE, FilmScenario, Scenario};
use super::truth::Truth;
use std::fmt::Write;

/// In mm without needless digits.
fn mm(x: f64) -> String {
    let text = format!("{:.3}", 1e3 * x);
    format!("{} mm", text.trim_end_matches('0').trim_end_matches('.'))
}

fn head(about: &str, name: &str, cell: &Cell, piers: &[(&str, Pier)]) -> String {
    let mut text = format!(
        "# Origin: drawn with known truth for checks; invented data.\n#\n# {}.\n\ntitle = \"Harbour model: {}\"\n\n",
        about.replacen(|_: char| true, &about[..1].to_uppercase(), 1),
        name.replace('_', " "),
    );
    let _ = write!(
        text,
        "[cell]\nlength = \"{}\"\nwidth = \"{}\"\ngap = \"{}\"\n\n\
         [fluid]\nname = \"water\"\ntemperature = \"20 degC\"\n\n\
         [drive]\nflow_rate = \"{:.3} mL/min\"\nends = \"held-pressure\"\nreference_length = \"60 mm\"\n\n",
        mm(cell.length),
        mm(cell.width),
        mm(cell.gap),
        FLOW_RATE * 60e6,
    );
    for (name, Pier { centre: [x, y], radius }) in piers {
        let (x, y, diameter) = (mm(*x), mm(*y), mm(2.0 * radius));
        let circle = format!("circle = {{ centre = [\"{x}\", \"{y}\"], diameter = \"{diameter}\" }}");
        let _ = write!(text, "[[obstacle]]\nname = \"{name}\"\n{circle}\n\n");
    }
    text + "[mesh]\nerror = 1e-4\n"
}

/// Of a photograph NAME.png.
pub fn photo_case(scenario: &Scenario, truth: &Truth) -> String {
    let Scenario { name, about, scene, stated, lens, placed_within } = scenario;
    let mut text = head(about, name, &scene.cell, stated);
    let starts: Vec<String> = scene.needles.y.iter().map(|y| format!("\"{}\"", mm(*y))).collect();
    let face = if scene.marks.depth == Depth::Outer { "outer face" } else { "inner face" };
    let dye = if scene.dye.glow == [0.0; 3] { "dark" } else { "bright" };
    let [thickness, index] = scene.camera.plate;
    let _ = write!(
        text,
        "\n[streaklines]\nheight = 0.0\nstarts = {{ x = \"{}\", y = [{}] }}\n\n[photo]\nfile = \"{name}.png\"\n\
         marks_on = \"{face}\"\nplate_thickness = \"{}\"\nplate_index = {index}\nmark_placed_within = \"{}\"\n\
         mark_size = \"{}\"\nlens = \"{lens}\"\ndye = \"{dye}\"\n",
        mm(scene.needles.x),
        starts.join(", "),
        mm(thickness),
        mm(*placed_within),
        mm(scene.marks.width),
    );
    for mark in &truth.marks {
        let ([x, y], [u, v]) = (mark.stated.map(mm), mark.click);
        let _ =
            write!(text, "\n[[photo.mark]]\nname = \"{}\"\nat = [\"{x}\", \"{y}\"]\npixel = [{u}, {v}]\n", mark.name);
    }
    text
}

/// Of a film.
pub fn film_case(scenario: &FilmScenario) -> String {
    head(scenario.about, scenario.name, &scenario.film.cell, &scenario.film.cell.piers)
}
