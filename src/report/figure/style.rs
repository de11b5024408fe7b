//! Inks, pens and column widths of figures.

/// Width of a figure.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Column {
    /// 85 mm, one column of a journal.
    Single,
    /// 175 mm, the width of a page.
    Double,
}

impl Column {
    /// Width, mm.
    pub fn width(self) -> f64 {
        match self {
            Column::Single => 85.0,
            Column::Double => 175.0,
        }
    }
}

/// Colours of a figure.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Palette {
    /// For screens and colour print, on white.
    Colour,
    /// Greys only; lines differ by dashes, areas by lightness.
    Grey,
}

/// How figures look.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Style {
    /// Its colours.
    pub palette: Palette,
    /// Its width.
    pub column: Column,
}

impl Default for Style {
    fn default() -> Self {
        Style { palette: Palette::Colour, column: Column::Double }
    }
}

/// Height of lettering, mm: 8 points.
pub const LETTER: f64 = 8.0 * 25.4 / 72.0;
/// Height of small lettering, mm: 7 points.
pub const SMALL: f64 = 7.0 * 25.4 / 72.0;

/// What a line, an area or a letter is coloured with. All but `Rgb` follow light and dark on a page.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ink {
    /// Letters and the lines that matter.
    Text,
    /// Ticks, frames, notes.
    Soft,
    /// Lines to read values by.
    Grid,
    /// What it is drawn on.
    Paper,
    /// Solids.
    Solid,
    /// Broad lines under others, and solids that are written on.
    Pale,
    /// A line of a chart, counted from 0.
    Series(usize),
    /// The limit a user has set.
    Limit,
    /// A colour of its own, the same on any page.
    Rgb([u8; 3]),
}

/// Names and colours (red, green, blue) of the inks that follow the page: colour, grey, and colour on a dark page.
const ROLES: [(&str, [u32; 3]); 13] = [
    ("text", [0x16262e, 0x111111, 0xe9eef0]),
    ("soft", [0x5b6b73, 0x555555, 0xa6b4ba]),
    ("grid", [0xdde3e5, 0xdddddd, 0x2f3b41]),
    ("paper", [0xffffff, 0xffffff, 0x141b1f]),
    ("solid", [0x262e33, 0x2b2b2b, 0x05080a]),
    ("limit", [0xb3282d, 0x000000, 0xff8f87]),
    ("series0", [0x0f6272, 0x111111, 0x5cc3d3]),
    ("series1", [0xc8641b, 0x6e6e6e, 0xf3a35f]),
    ("series2", [0x6b4c8c, 0x3d3d3d, 0xb79ad8]),
    ("series3", [0x7d8f24, 0x949494, 0xc1d25f]),
    ("series4", [0xa03462, 0x262626, 0xea8db2]),
    ("series5", [0x3c6fb0, 0x808080, 0x8db8ee]),
    ("pale", [0x9fcbd4, 0xc4c4c4, 0x33626c]),
];

impl Ink {
    /// Its place among the inks that follow the page, or its own colour.
    fn role(self) -> std::result::Result<usize, [u8; 3]> {
        Ok(match self {
            Ink::Text => 0,
            Ink::Soft => 1,
            Ink::Grid => 2,
            Ink::Paper => 3,
            Ink::Solid => 4,
            Ink::Limit => 5,
            Ink::Series(k) => 6 + k % 6,
            Ink::Pale => 12,
            Ink::Rgb(colour) => return Err(colour),
        })
    }

    /// Its colour on paper: red, green, blue.
    pub(super) fn colour(self, palette: Palette) -> [u8; 3] {
        self.role().map_or_else(|own| own, |role| parts(ROLES[role].1[palette as usize]))
    }

    /// Its colour in a drawing for the web: as on paper, or by the variables of a page.
    pub(super) fn css(self, palette: Palette, page: bool) -> String {
        let [r, g, b] = self.colour(palette);
        match self.role() {
            Ok(role) if page => format!("var(--{},#{r:02x}{g:02x}{b:02x})", ROLES[role].0),
            _ => format!("#{r:02x}{g:02x}{b:02x}"),
        }
    }
}

fn parts(colour: u32) -> [u8; 3] {
    let [_, r, g, b] = colour.to_be_bytes();
    [r, g, b]
}

/// Declarations that set the inks of a page for a light and a dark look, for drawings made by [`super::Canvas::for_page`].
pub fn page_inks() -> [String; 2] {
    [0, 2].map(|look| ROLES.iter().map(|(name, colours)| format!("--{name}:#{:06x};", colours[look])).collect())
}

/// How a line is drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pen {
    /// Width, mm.
    pub width: f64,
    /// Ink.
    pub ink: Ink,
    /// Lengths of dash and gap, mm; none for a whole line.
    pub dash: Option<[f64; 2]>,
}

impl Pen {
    /// A whole line.
    pub fn new(width: f64, ink: Ink) -> Pen {
        Pen { width, ink, dash: None }
    }

    /// The same line, dashed.
    pub fn dashed(self, dash: f64, gap: f64) -> Pen {
        Pen { dash: Some([dash, gap]), ..self }
    }
}

impl Style {
    /// Pen of a chart's line, counted from 0; in grey they differ by dashes.
    pub fn series(&self, k: usize) -> Pen {
        let pen = Pen::new(0.4, Ink::Series(k));
        match (self.palette, k % 6) {
            (Palette::Grey, 1) => pen.dashed(1.6, 0.7),
            (Palette::Grey, 2) => pen.dashed(0.5, 0.6),
            (Palette::Grey, 3) => pen.dashed(2.6, 0.6),
            (Palette::Grey, 4) => pen.dashed(0.9, 0.9),
            (Palette::Grey, 5) => pen.dashed(0.3, 1.0),
            _ => pen,
        }
    }
}
