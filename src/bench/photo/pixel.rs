//! Places in a picture.

/// A place in a picture, pixels: rightwards and downwards from its upper left corner, so that the middle of the first pixel is
/// [0.5, 0.5].
pub type Pixel = [f64; 2];
