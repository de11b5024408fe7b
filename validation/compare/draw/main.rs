//! Draws photographs and tracks with known truth: `draw FOLDER [NAME...]`, `--fine` for 12 megapixels.

#[path = "mod.rs"]
mod draw;

use draw::{case_text, scenarios, tracks, truth::Truth};
use std::fs;
use std::path::Path;
use std::process::ExitCode;

fn photo(folder: &Path, scenario: &scenarios::Scenario) -> std::io::Result<()> {
    let name = scenario.name;
    let truth = Truth::new(&scenario.scene);
    let picture = scenario.scene.draw(&truth);
    let mut file = std::io::BufWriter::new(fs::File::create(folder.join(format!("{name}.png")))?);
    picture.write_png(&mut file)?;
    let texts = [
        (format!("{name}.toml"), case_text::photo_case(scenario, &truth)),
        (format!("{name}_truth.csv"), truth.lines_csv()),
        (format!("{name}_shares.csv"), truth.shares_csv()),
        (format!("{name}_marks.csv"), truth.marks_csv()),
        (format!("{name}_map.csv"), truth.map_csv()),
    ];
    texts.iter().try_for_each(|(name, text)| fs::write(folder.join(name), text))
}

fn film(folder: &Path, scenario: &scenarios::FilmScenario) -> std::io::Result<()> {
    let name = scenario.name;
    let tracks = scenario.film.tracks();
    let texts = [
        (format!("{name}.toml"), case_text::film_case(scenario)),
        (format!("{name}.csv"), tracks::tracks_csv(&scenario.film, &tracks)),
        (format!("{name}_truth.csv"), tracks::truth_csv(&tracks)),
    ];
    texts.iter().try_for_each(|(name, text)| fs::write(folder.join(name), text))
}

fn main() -> ExitCode {
    let (options, names): (Vec<_>, Vec<_>) = std::env::args().skip(1).partition(|word| word.starts_with("--"));
    let factor = if options.iter().any(|word| word == "--fine") { 2.5 } else { 1.0 };
    let Some((folder, wanted)) = names.split_first() else {
        eprintln!("draw FOLDER [NAME...] [--fine]");
        return ExitCode::from(2);
    };
    let folder = Path::new(folder);
    let known = scenarios::PHOTOS.iter().chain(&scenarios::FILMS).map(|(name, _)| *name);
    let names: Vec<&str> =
        if wanted.is_empty() { known.collect() } else { wanted.iter().map(String::as_str).collect() };
    for name in names {
        let done = match (scenarios::photo(name, factor), scenarios::film(name)) {
            (Some(scenario), _) => photo(folder, &scenario),
            (None, Some(scenario)) => film(folder, &scenario),
            (None, None) => {
                eprintln!("there is no {name}");
                return ExitCode::from(2);
            }
        };
        if let Err(error) = done {
            eprintln!("{name}: {error}");
            return ExitCode::FAILURE;
        }
    }
    ExitCode::SUCCESS
}
