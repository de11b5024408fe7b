//! Any bytes as a table of measured gaps, and the gap wherever it says it knows it.
#![no_main]

#[path = "../reading/mod.rs"]
mod reading;

use twinplate::input::case::GapTable;

libfuzzer_sys::fuzz_target!(|content: &[u8]| {
    let Some(file) = reading::file("gaps.csv", content) else { return };
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
