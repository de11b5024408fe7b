//! Any bytes as an outline file of each kind: the first byte chooses the kind.
#![no_main]

use libfuzzer_sys::fuzz_target;
use twinplate::input::drawing::{ReadOptions, read_drawing};
use twinplate::geometry::survey::Survey;

fuzz_target!(|data: &[u8]| {
    let Some((kind, content)) = data.split_first() else { return };
    let name = ["a.csv", "a.svg", "a.dxf", "a.png", "a.jpg"][usize::from(*kind) % 5];
    let Ok(folder) = tempfile::tempdir() else { return };
    let file = folder.path().join(name);
    if std::fs::write(&file, content).is_err() {
        return;
    }
    if let Ok(drawing) = read_drawing(&file, &ReadOptions::default()) {
        for l in &drawing.loops {
            let survey = Survey::of(&l.curves);
            assert!(survey.is_some_and(|s| s.area >= 0.0));
        }
    }
});
