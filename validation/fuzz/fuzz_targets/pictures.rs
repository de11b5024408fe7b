//! Any bytes as a picture: the first byte chooses between PNG and JPEG.
#![no_main]

#[path = "../reading/mod.rs"]
mod reading;

libfuzzer_sys::fuzz_target!(|data: &[u8]| {
    let Some((kind, content)) = data.split_first() else { return };
    reading::drawing(["a.png", "a.jpg"][usize::from(*kind) % 2], content);
});
