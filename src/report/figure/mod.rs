//! Drawings from fields: figures for print and for the page of a report. This module computes no physics.
//!
//! - [`Canvas`]: a drawing in millimetres, written as SVG, PDF or PNG with its fonts inside; the same drawing gives the same bytes;
//! - [`Style`], [`Palette`], [`Column`], [`Pen`], [`Ink`]: how it looks, in colour or in greys that print;
//! - [`Axes`], [`Scale`]: charts; [`MapFrame`], [`Classes`]: maps of the cell in true proportions;
//! - [`region`], [`iso_lines`]: contours of a linear field, exactly; [`evenly_spaced`]: lines about equally far apart.
//!
//! ```
//! use twinplate::report::figure::{Anchor, Axes, Canvas, Column, Ink, Lettering, Palette, Pen, Scale, Style};
//!
//! let style = Style { palette: Palette::Colour, column: Column::Single };
//! let mut canvas = Canvas::new("drop", "Head over flow", 60.0, style);
//! let axes = Axes { frame: [14.0, 8.0, 68.0, 38.0], x: Scale::linear([0.0, 5.0], 5), y: Scale::linear([0.0, 12.0], 4) };
//! axes.draw(&mut canvas, "flow, mL/min", "head, mm of water")?;
//! axes.line(&mut canvas, &[[0.0, 0.0], [5.0, 12.0]], style.series(0))?;
//! assert!(canvas.svg().starts_with("<svg"));
//! # Ok::<(), twinplate::Error>(())
//! ```

mod axes;
mod bench;
mod canvas;
mod cell;
mod charts;
mod colour;
mod convergence;
mod departure;
mod edge;
mod export;
mod feasible;
mod filling;
mod flow;
mod font;
mod frame;
mod item;
mod layers;
mod lettering;
mod levels;
mod mosaic;
mod named_ticks;
mod names;
mod paint;
mod paths;
mod pdf;
mod pdf_font;
mod pixels;
mod placing;
mod preview;
mod profile;
mod raster;
mod rulers;
mod scale;
mod shares;
mod simplify;
mod sought;
mod spacing;
mod style;
mod svg;
mod time_lines;
mod trends;

pub use crate::numerics::contour::{Chain, Crossing, iso_lines, region, regions};
pub use axes::{Axes, Entry, Mark, draw_mark, legend};
pub use bench::{Enlarged, Left, Overlay, Tiles, Traced, marks, residual_along};
pub use canvas::{Canvas, Placed};
pub use cell::{CellMap, Marked, outlines};
pub use charts::{Curve, FirstOrder, Panel, budget_bars, sweep_curves};
pub use colour::ColourMap;
pub use convergence::{Course, convergence};
pub use departure::DepartureMap;
pub use edge::Edge;
pub use feasible::feasible;
pub use filling::FillingMap;
pub use flow::Streaks;
pub use font::{FAMILY, Weight, text_width};
pub use frame::{Classes, MapFrame};
pub use lettering::{Anchor, Lettering};
pub use mosaic::{Mosaic, mosaic};
pub use pdf::pdf_of;
pub use placing::Placing;
pub use preview::{Preview, preview};
pub use profile::{Along, profile};
pub use raster::{Shade, shaded};
pub use scale::{Scale, Tick};
pub use shares::{Bar, Bars, MOST_SOURCES, share_bars};
pub use simplify::{simplified, simplified_outline};
pub use sought::{Found, Search, Stop, sought, sought_of_two};
pub use spacing::{CLOSEST, evenly_spaced};
pub use style::{Column, Ink, LETTER, Palette, Pen, SMALL, Style, page_inks};
pub use svg::font_face;
pub use trends::{Reading, Steps, Trend, Trends, trends};
