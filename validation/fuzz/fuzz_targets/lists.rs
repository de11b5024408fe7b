//! Any bytes as a list of points.
#![no_main]

#[path = "../reading/mod.rs"]
mod reading;

libfuzzer_sys::fuzz_target!(|content: &[u8]| reading::drawing("a.csv", content));
