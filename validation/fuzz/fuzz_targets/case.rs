//! Any text as a case, as far as its mesh of a thousand triangles.
#![no_main]

#[path = "../meshing/mod.rs"]
mod meshing;

libfuzzer_sys::fuzz_target!(|text: &str| meshing::of(text));
