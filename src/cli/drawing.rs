//! Options of figures.

use crate::base::Error;
use crate::base::units::{Dimension, parse};
use crate::report::figure::{Column, Palette, Style};
use crate::report::{FigureSettings, Format};
use clap::{Args, ValueEnum};

/// Figures by option.
#[derive(Debug, Args)]
#[command(next_help_heading = "Figures")]
pub struct Figures {
    /// Draw the figures of the study and write report.html as well.
    #[arg(long)]
    figures: bool,
    #[command(flatten)]
    drawing: Drawing,
}

/// How maps of the cell and charts are drawn.
#[derive(Debug, Default, PartialEq, Args)]
#[command(next_help_heading = "Figures")]
pub struct Drawing {
    #[command(flatten)]
    print: Print,
    /// Coloured areas as pictures inside the vector figures; smaller files for rough fields.
    #[arg(long)]
    raster: bool,
    /// One more figure with lines about so far apart everywhere, such as "20 mm".
    #[arg(long, value_name = "LENGTH", value_parser = length)]
    even_lines: Option<f64>,
    /// Rulers round the maps, in mm of the cell.
    #[arg(long)]
    axes: bool,
    /// The names of obstacles and probes in the maps, where there is room.
    #[arg(long)]
    names: bool,
}

/// How any figure is printed.
#[derive(Debug, PartialEq, Args)]
#[command(next_help_heading = "Figures")]
pub struct Print {
    /// Pixels per inch of PNG files.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(30..=2400), default_value_t = 300)]
    dpi: u32,
    /// Width: one column of a journal (85 mm) or the page (175 mm).
    #[arg(long, value_enum, default_value_t = Width::Double)]
    column: Width,
    /// Greys only, for print without colour.
    #[arg(long)]
    grey: bool,
    /// Formats, separated by commas.
    #[arg(long, value_enum, value_delimiter = ',', default_values_t = [Shape::Svg, Shape::Pdf, Shape::Png])]
    formats: Vec<Shape>,
}

/// Width of figures.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Width {
    /// 85 mm.
    Single,
    /// 175 mm.
    Double,
}

/// Format of figures.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Shape {
    /// Lines and areas for pages and drawing programs.
    Svg,
    /// For print.
    Pdf,
    /// Pixels.
    Png,
}

impl Default for Print {
    fn default() -> Self {
        let formats = vec![Shape::Svg, Shape::Pdf, Shape::Png];
        Print { dpi: 300, column: Width::Double, grey: false, formats }
    }
}

impl Figures {
    /// The settings of the library where figures are wanted.
    ///
    /// # Errors
    /// [`Error::Usage`] if it says how to draw, but not that anything is to be drawn.
    pub fn settings(&self) -> crate::base::Result<Option<FigureSettings>> {
        if !self.figures && self.drawing != Drawing::default() {
            return Err(nothing_drawn(", or use twinplate figure"));
        }
        Ok(self.figures.then(|| self.drawing.settings()))
    }
}

impl Drawing {
    /// The settings of the library.
    pub fn settings(&self) -> FigureSettings {
        let Drawing { raster, axes, names, .. } = *self;
        FigureSettings { raster, axes, names, spacing: self.even_lines, ..self.print.settings() }
    }
}

impl Print {
    /// The settings of the library where a figure is wanted.
    ///
    /// # Errors
    /// As [`Figures::settings`].
    pub fn if_wanted(&self, figures: bool) -> crate::base::Result<Option<FigureSettings>> {
        if !figures && *self != Print::default() {
            return Err(nothing_drawn(""));
        }
        Ok(figures.then(|| self.settings()))
    }

    /// The settings of the library.
    pub fn settings(&self) -> FigureSettings {
        let palette = if self.grey { Palette::Grey } else { Palette::Colour };
        let column = match self.column {
            Width::Single => Column::Single,
            Width::Double => Column::Double,
        };
        let mut formats = Vec::new();
        for shape in &self.formats {
            let format = match shape {
                Shape::Svg => Format::Svg,
                Shape::Pdf => Format::Pdf,
                Shape::Png => Format::Png,
            };
            if !formats.contains(&format) {
                formats.push(format);
            }
        }
        let style = Style { palette, column };
        FigureSettings { style, formats, dpi: self.dpi.into(), ..FigureSettings::default() }
    }
}

fn nothing_drawn(or: &str) -> Error {
    let what = "options of figures say how to draw, but nothing is to be drawn";
    Error::argument(what, format!("add --figures{or}"))
}

fn length(text: &str) -> Result<f64, String> {
    match parse(text, Dimension::Length) {
        Ok(x) if x > 0.0 && x.is_finite() => Ok(x),
        Ok(_) => Err("must be more than zero, such as \"20 mm\"".into()),
        Err(e) => Err(format!("{e}; {}", e.remedy(Dimension::Length))),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::Parser;

    #[derive(Parser)]
    struct Line {
        #[command(flatten)]
        drawing: Drawing,
    }

    #[test]
    fn rulers_and_names_are_options() {
        let of = |words: &[&str]| {
            let settings = Line::try_parse_from(words).map(|line| line.drawing.settings()).unwrap_or_default();
            (settings.axes, settings.names)
        };
        assert_eq!(of(&["figure"]), (false, false));
        assert_eq!(of(&["figure", "--axes"]), (true, false));
        assert_eq!(of(&["figure", "--names", "--column", "single"]), (false, true));
    }
}
