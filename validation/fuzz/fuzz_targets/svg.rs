//! Any bytes as an SVG.
#![no_main]

#[path = "../reading/mod.rs"]
mod reading;

libfuzzer_sys::fuzz_target!(|content: &[u8]| reading::drawing("a.svg", content));
