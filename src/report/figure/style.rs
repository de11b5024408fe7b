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
    /// A line of a chart, counted from 0.
    Series(usize),
    /// The limit a user has set.
    Limit,
    /// A colour of its own, the same on any page.
    Rgb([u8; 3]),
}

/// Names and colours of the inks that follow the page: colour, grey, and colour on a dark page.
const ROLES: [(&str, [&str; 3]); 12] = [
    ("text", ["#16262e", "#111111", "#e9eef0"]),
    ("soft", ["#5b6b73", "#555555", "#a6b4ba"]),
    ("grid", ["#dde3e5", "#dddddd", "#2f3b41"]),
    ("paper", ["#ffffff", "#ffffff", "#141b1f"]),
    ("solid", ["#c9c2b6", "#c4c4c4", "#4b5358"]),
    ("limit", ["#b3282d", "#000000", "#ff8f87"]),
    ("series0", ["#0f6272", "#111111", "#5cc3d3"]),
    ("series1", ["#c8641b", "#6e6e6e", "#f3a35f"]),
    ("series2", ["#6b4c8c", "#3d3d3d", "#b79ad8"]),
    ("series3", ["#7d8f24", "#949494", "#c1d25f"]),
    ("series4", ["#a03462", "#262626", "#ea8db2"]),
    ("series5", ["#3c6fb0", "#808080", "#8db8ee"]),
];

impl Ink {
    /// The token the drawing carries for this ink until it is written: control characters cannot stand in any text.
    pub(super) fn token(self) -> String {
        let name = match self {
            Ink::Text => "text".to_owned(),
            Ink::Soft => "soft".to_owned(),
            Ink::Grid => "grid".to_owned(),
            Ink::Paper => "paper".to_owned(),
            Ink::Solid => "solid".to_owned(),
            Ink::Limit => "limit".to_owned(),
            Ink::Series(k) => format!("series{}", k % 6),
            Ink::Rgb([r, g, b]) => return format!("#{r:02x}{g:02x}{b:02x}"),
        };
        format!("\u{1}{name}\u{2}")
    }
}

/// Puts colours in the place of the inks of a drawing; `page` leaves them to variables of the page it stands in.
pub(super) fn resolve(drawing: &str, palette: Palette, page: bool) -> String {
    let mut text = drawing.to_owned();
    for (name, colours) in ROLES {
        let colour = colours[palette as usize];
        let value = if page { format!("var(--{name},{colour})") } else { colour.to_owned() };
        text = text.replace(&format!("\u{1}{name}\u{2}"), &value);
    }
    text
}

/// Declarations that set the inks of a page for a light and a dark look, for drawings made by [`super::Canvas::for_page`].
pub fn page_inks() -> [String; 2] {
    [0, 2].map(|look| ROLES.iter().map(|(name, colours)| format!("--{name}:{};", colours[look])).collect())
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
