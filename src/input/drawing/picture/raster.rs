//! Pixels in grey.

use crate::input::picture::Picture;

/// A picture in grey, row by row from the top.
pub(super) struct Raster {
    pub width: usize,
    pub height: usize,
    /// Luminance as encoded (not linear in light), 0 to 65535, by Recommendation BT.709 for colours.
    pub grey: Vec<u16>,
    /// Opacity, 0 to 65535, if the picture has any that is not full.
    pub opacity: Option<Vec<u16>>,
}

impl Raster {
    /// The greys of a picture.
    pub fn of(picture: &Picture) -> Raster {
        let Picture { width, height, .. } = *picture;
        Raster { width, height, grey: picture.grey(), opacity: picture.opacity() }
    }
}
