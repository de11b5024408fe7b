//! What the targets that read files have in common.

use std::path::PathBuf;
use twinplate::geometry::survey::Survey;
use twinplate::input::drawing::{ReadOptions, read_drawing};

/// Writes the bytes into a file of that name, in a folder of this process.
pub fn file(name: &str, content: &[u8]) -> Option<PathBuf> {
    let folder = std::env::temp_dir().join(format!("twinplate-fuzz-{}", std::process::id()));
    std::fs::create_dir_all(&folder).ok()?;
    let file = folder.join(name);
    std::fs::write(&file, content).ok()?;
    Some(file)
}

/// Reads the bytes as a drawing of the kind that the name tells; every outline that comes out can be measured.
#[allow(dead_code)]
pub fn drawing(name: &str, content: &[u8]) {
    let Some(file) = file(name, content) else { return };
    if let Ok(drawing) = read_drawing(&file, &ReadOptions::default()) {
        for outline in &drawing.loops {
            assert!(Survey::of(&outline.curves).is_some_and(|survey| survey.area >= 0.0));
        }
    }
}
