//! Drawings as pixels.

use super::canvas::Canvas;
use super::font::Step;
use super::item::{Item, circle};
use super::pixels::{Pixels, decoded, encoded};
use super::style::{Ink, Palette, Pen};
use crate::base::{Error, Result};
use tiny_skia::{
    Color, FillRule, FilterQuality, IntSize, LineJoin, Mask, Paint, Path, PathBuilder, Pattern, Pixmap, Rect,
    SpreadMode, Stroke, StrokeDash, Transform,
};

/// Most pixels of a picture.
const MOST_PIXELS: f64 = 4e8;

impl Canvas {
    /// The drawing as PNG with so many pixels per inch.
    ///
    /// # Errors
    /// [`Error::Failed`] if a letter would be lost or the picture would have more than 400 million pixels.
    pub fn png(&self, dpi: f64) -> Result<Vec<u8>> {
        let map = self.painted(dpi)?;
        // paper lies under everything
        let colours: Vec<u8> = map.data().chunks_exact(4).flat_map(|pixel| [pixel[0], pixel[1], pixel[2]]).collect();
        encoded([map.width(), map.height()], png::ColorType::Rgb, &colours)
    }

    /// The drawing on paper, in so many pixels per inch.
    pub(super) fn painted(&self, dpi: f64) -> Result<Pixmap> {
        let [width, height] = [self.width, self.height].map(|x| (x / 25.4 * dpi).round().max(1.0));
        if !(dpi > 0.0 && width * height <= MOST_PIXELS) {
            return Err(Error::failed(
                format!("{dpi} pixels per inch make {width} x {height} pixels, more than {MOST_PIXELS:e} in all"),
                "ask for fewer; 300 to 600 are usual",
            ));
        }
        let no_room = || {
            let what = format!("the figure {} cannot be drawn on {width} x {height} pixels", self.name);
            Error::failed(what, "ask for fewer pixels per inch")
        };
        let mut map = Pixmap::new(width as u32, height as u32).ok_or_else(no_room)?;
        let palette = self.style.palette;
        let [r, g, b] = Ink::Paper.colour(palette);
        map.fill(Color::from_rgba8(r, g, b, 255));
        let scale = Transform::from_scale((width / self.width) as f32, (height / self.height) as f32);
        let mut painter = Painter { map, scale, palette };
        painter.items(&self.items, None)?;
        Ok(painter.map)
    }
}

struct Painter {
    map: Pixmap,
    /// Pixels per mm.
    scale: Transform,
    palette: Palette,
}

impl Painter {
    fn items(&mut self, items: &[Item], mask: Option<&Mask>) -> Result<()> {
        for item in items {
            match item {
                Item::Path { path, fill, edge } => self.area(path.steps(), *fill, *edge, mask),
                Item::Disc { at, radius, fill, edge } => self.area(circle(*at, *radius), Some(*fill), *edge, mask),
                Item::Text(words) => {
                    let steps = words.steps()?;
                    if let Some(width) = words.rim() {
                        self.area(steps.iter().copied(), None, Some(Pen::new(width, Ink::Paper)), mask);
                    }
                    if let Some(letters) = path_of(steps) {
                        let paint = self.paint(words.lettering.ink);
                        self.map.fill_path(&letters, &paint, FillRule::Winding, self.scale, mask);
                    }
                }
                Item::Clip { path, items } => {
                    let inside = self.inside(path_of(path.steps()), mask)?;
                    self.items(items, Some(&inside))?;
                }
                Item::Picture { area, png } => self.picture(*area, png, mask)?,
            }
        }
        Ok(())
    }

    fn paint(&self, ink: Ink) -> Paint<'static> {
        let mut paint = Paint::default();
        let [r, g, b] = ink.colour(self.palette);
        paint.set_color_rgba8(r, g, b, 255);
        paint
    }

    fn area(
        &mut self,
        steps: impl IntoIterator<Item = Step>,
        fill: Option<Ink>,
        edge: Option<Pen>,
        mask: Option<&Mask>,
    ) {
        let Some(path) = path_of(steps) else { return };
        if let Some(ink) = fill {
            let paint = self.paint(ink);
            self.map.fill_path(&path, &paint, FillRule::EvenOdd, self.scale, mask);
        }
        if let Some(pen) = edge {
            let dash = pen.dash.and_then(|lengths| StrokeDash::new(lengths.map(|x| x as f32).to_vec(), 0.0));
            let stroke = Stroke { width: pen.width as f32, line_join: LineJoin::Round, dash, ..Stroke::default() };
            let paint = self.paint(pen.ink);
            self.map.stroke_path(&path, &paint, &stroke, self.scale, mask);
        }
    }

    /// What shows inside a path of what showed before.
    fn inside(&self, path: Option<Path>, mask: Option<&Mask>) -> Result<Mask> {
        let no_room = || Error::failed("there is no room for a part of a figure", "ask for fewer pixels per inch");
        let mut inside = Mask::new(self.map.width(), self.map.height()).ok_or_else(no_room)?;
        let Some(path) = path else { return Ok(inside) };
        match mask {
            Some(outer) => {
                inside = outer.clone();
                inside.intersect_path(&path, FillRule::EvenOdd, true, self.scale);
            }
            None => inside.fill_path(&path, FillRule::EvenOdd, true, self.scale),
        }
        Ok(inside)
    }

    fn picture(&mut self, [x, y, w, h]: [f64; 4], png: &[u8], mask: Option<&Mask>) -> Result<()> {
        let Pixels { size: [columns, rows], mut rgba } = decoded(png)?;
        for pixel in rgba.chunks_exact_mut(4) {
            let opacity = u32::from(pixel[3]);
            pixel[..3].iter_mut().for_each(|c| *c = ((u32::from(*c) * opacity + 127) / 255) as u8);
        }
        let whole = Rect::from_xywh(0.0, 0.0, columns as f32, rows as f32);
        let map = IntSize::from_wh(columns, rows).and_then(|size| Pixmap::from_vec(rgba, size));
        let (Some(whole), Some(map)) = (whole, map) else { return Ok(()) };
        let shader = Pattern::new(map.as_ref(), SpreadMode::Pad, FilterQuality::Bicubic, 1.0, Transform::identity());
        let place = Transform::from_row(
            (w / f64::from(columns)) as f32,
            0.0,
            0.0,
            (h / f64::from(rows)) as f32,
            x as f32,
            y as f32,
        );
        let paint = Paint { shader, ..Paint::default() };
        self.map.fill_rect(whole, &paint, self.scale.pre_concat(place), mask);
        Ok(())
    }
}

fn path_of(steps: impl IntoIterator<Item = Step>) -> Option<Path> {
    let mut path = PathBuilder::new();
    for step in steps {
        match step {
            Step::Move([x, y]) => path.move_to(x as f32, y as f32),
            Step::Line([x, y]) => path.line_to(x as f32, y as f32),
            Step::Curve(places) => {
                let [[ax, ay], [bx, by], [x, y]] = places.map(|p| p.map(|x| x as f32));
                path.cubic_to(ax, ay, bx, by, x, y);
            }
            Step::Close => path.close(),
        }
    }
    path.finish()
}
