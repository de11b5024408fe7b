//! Pixels in grey.

/// A picture in grey, row by row from the top.
pub(super) struct Raster {
    pub width: usize,
    pub height: usize,
    /// Luminance as encoded (not linear in light), 0 to 65535, by Recommendation BT.709 for colours.
    pub grey: Vec<u16>,
    /// Opacity, 0 to 65535, if the picture has any that is not full.
    pub opacity: Option<Vec<u16>>,
}
