//! Any bytes as a DXF.
#![no_main]

#[path = "../reading/mod.rs"]
mod reading;

libfuzzer_sys::fuzz_target!(|content: &[u8]| reading::drawing("a.dxf", content));
