//! Any bytes as a table of measured gaps, and the gap wherever it says it knows it.
#![no_main]

use libfuzzer_sys::fuzz_target;
use twinplate::input::case::GapTable;

fuzz_target!(|content: &[u8]| {
    let Ok(folder) = tempfile::tempdir() else { return };
    let file = folder.path().join("gaps.csv");
    if std::fs::write(&file, content).is_err() {
        return;
    }
    let Ok(table) = GapTable::read(&file) else { return };
    let [least, largest] = table.range();
    assert!(least > 0.0 && largest.is_finite());
    for k in 0..64 {
        let at = [f64::from(k % 8), f64::from(k / 8)].map(|v| 0.05 * v - 0.05);
        if let Some((gap, slope)) = table.gap(at) {
            assert!(!gap.is_nan() && slope.iter().all(|s| !s.is_nan()));
        }
    }
});
