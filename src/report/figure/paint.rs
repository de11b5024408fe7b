//! Drawings as pixels.

use super::canvas::Canvas;
use super::font::Step;
use super::item::{Item, circle};
use super::pixels::{Pixels, decoded, encoded_with};
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
        encoded_with([map.width(), map.height()], png::ColorType::Rgb, &colours, self.origin.known())
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::Point;
    use crate::report::figure::{Anchor, Lettering, Style};
    use std::f64::consts::PI;

    const BLACK: Ink = Ink::Rgb([0; 3]);
    /// Pixels per mm.
    const SCALE: f64 = 20.0;

    /// Blackened area in mm2 within left, top, right, bottom in mm.
    fn black(canvas: &Canvas, [left, top, right, bottom]: [f64; 4]) -> f64 {
        let map = canvas.painted(25.4 * SCALE).unwrap();
        let of = |x: f64| (SCALE * x) as u32;
        let pixels = (of(top)..of(bottom)).flat_map(|y| (of(left)..of(right)).map(move |x| (x, y)));
        let dark: u64 = pixels.map(|(x, y)| 255 - u64::from(map.pixel(x, y).unwrap().red())).sum();
        dark as f64 / 255.0 / (SCALE * SCALE)
    }

    fn all(canvas: &Canvas) -> f64 {
        black(canvas, [0.0, 0.0, canvas.width, canvas.height])
    }

    /// Of a pixel on an edge at most half a step of its four by four samples is wrong, so by mm of edge 1/8 of a pixel's breadth.
    fn allowed(edge: f64) -> f64 {
        edge / 8.0 / SCALE
    }

    fn square([x, y]: Point, side: f64) -> Vec<Point> {
        vec![[x, y], [x + side, y], [x + side, y + side], [x, y + side]]
    }

    fn drawn(draw: impl FnOnce(&mut Canvas)) -> Canvas {
        let mut canvas = Canvas::new("a", "b", 40.0, Style::default());
        draw(&mut canvas);
        canvas
    }

    #[test]
    fn areas_have_their_size_and_holes() {
        let (outer, inner) = (square([10.013, 10.027], 20.0), square([15.0, 15.0], 5.02));
        let canvas = drawn(|canvas| canvas.area([&outer[..], &inner[..]], BLACK, None));
        assert!((all(&canvas) - (400.0 - 5.02 * 5.02)).abs() < allowed(100.0), "{}", all(&canvas));
        // where it stands, and nowhere else
        assert_eq!(all(&canvas), black(&canvas, [10.0, 10.0, 30.05, 30.05]));
        let canvas = drawn(|canvas| canvas.disc([20.0, 20.0], 7.0, BLACK, None));
        assert!((all(&canvas) - 49.0 * PI).abs() < allowed(14.0 * PI) + 6e-4 * 49.0 * PI);
    }

    #[test]
    fn pens_have_their_width_and_dashes() {
        let line = [[10.0, 10.0], [30.0, 10.0]];
        let canvas = drawn(|canvas| canvas.line(&line, Pen::new(0.5, BLACK)));
        assert!((all(&canvas) - 10.0).abs() < allowed(41.0), "{}", all(&canvas));
        // from the start: 3 mm of line, 2 mm of gap, four times
        let canvas = drawn(|canvas| canvas.line(&line, Pen::new(0.5, BLACK).dashed(3.0, 2.0)));
        assert!((all(&canvas) - 6.0).abs() < allowed(28.0), "{}", all(&canvas));
        assert_eq!(black(&canvas, [13.1, 0.0, 14.9, 40.0]), 0.0);
    }

    #[test]
    fn what_is_cut_off_is_off() {
        let whole = square([5.0, 5.0], 30.0);
        let (outer, inner) = (square([10.0, 10.0], 15.0), square([20.0, 20.0], 15.0));
        let canvas = drawn(|canvas| {
            canvas
                .clipped([&outer[..]], |canvas| {
                    canvas.clipped([&inner[..]], |canvas| {
                        canvas.area([&whole[..]], BLACK, None);
                        Ok(())
                    })
                })
                .unwrap();
            canvas.disc([50.0, 20.0], 1.0, BLACK, None);
        });
        // the two squares share 20 to 25 both ways; what comes later is whole again
        assert!((black(&canvas, [0.0, 0.0, 40.0, 40.0]) - 25.0).abs() < allowed(20.0));
        assert!((black(&canvas, [45.0, 0.0, 55.0, 40.0]) - PI).abs() < allowed(2.0 * PI));
    }

    /// Rows of a picture run down; what is clear lets the paper through. Half of each pixel at its rim is drawn by its neighbour's tone.
    #[test]
    fn pictures_stand_in_their_place() {
        let (ink, clear) = ([0, 0, 0, 255], [0, 0, 0, 0]);
        let rows: Vec<u8> = [[ink, clear], [clear, clear]].as_flattened().as_flattened().to_vec();
        let png = encoded_with([2, 2], png::ColorType::Rgba, &rows, None).unwrap();
        let canvas = drawn(|canvas| canvas.picture([10.0, 14.0, 20.0, 20.0], png));
        let quarter = |x: f64, y: f64| black(&canvas, [x, y, x + 5.0, y + 5.0]);
        assert!(quarter(10.0, 14.0) > 24.0 && quarter(25.0, 29.0) < 1.0, "{}", quarter(10.0, 14.0));
        assert!(quarter(25.0, 14.0) < 1.0 && quarter(10.0, 29.0) < 1.0);
        assert_eq!(all(&canvas), black(&canvas, [10.0, 14.0, 30.0, 34.0]));
    }

    /// A letter lies in the box that was measured; upwards it is the same letter, turned a quarter to the left about its start.
    #[test]
    fn letters_stand_where_they_were_measured() {
        let lettering = Lettering { size: 10.0, ink: BLACK, ..Lettering::label(Anchor::Start) };
        let straight = drawn(|canvas| canvas.text([20.0, 30.0], "H", lettering).unwrap());
        let turned = drawn(|canvas| canvas.text([20.0, 30.0], "H", lettering.upwards()).unwrap());
        let area = |canvas: &Canvas| canvas.texts()[0].area;
        for canvas in [&straight, &turned] {
            let [left, top, right, bottom] = area(canvas);
            assert!(all(canvas) > 10.0 && all(canvas) - black(canvas, [left, top, right, bottom]) < allowed(20.0));
        }
        assert!((all(&straight) - all(&turned)).abs() < 2.0 * allowed(60.0));
        let [legs, bar] = [[20.0, 22.8, 23.0, 30.0], [23.0, 25.0, 25.0, 28.0]];
        let quarter = |[left, top, right, bottom]: [f64; 4]| {
            let left_of = |y: f64| 20.0 - (30.0 - y);
            [left_of(top), 30.0 - (right - 20.0), left_of(bottom), 30.0 - (left - 20.0)]
        };
        for part in [legs, bar] {
            let (one, other) = (black(&straight, part), black(&turned, quarter(part)));
            assert!(one > 1.0 && (one - other).abs() < 2.0 * allowed(20.0), "{one} {other}");
        }
    }

    /// A bold full stop has 72043 square units of ink within 952 units of outline, of 2000 a size (fontTools, areaPen).
    #[test]
    fn round_shapes_are_round() {
        let lettering = Lettering { size: 60.0, ink: BLACK, ..Lettering::label(Anchor::Start).bold() };
        let canvas = drawn(|canvas| canvas.text([20.0, 30.0], ".", lettering).unwrap());
        let unit = 60.0 / 2000.0;
        assert!((all(&canvas) - 72_043.0 * unit * unit).abs() < allowed(952.0 * unit), "{}", all(&canvas));
    }

    /// A rim of paper takes from what lies under the letters, all round, not from the letters.
    #[test]
    fn rims_part_letters_from_what_they_cover() {
        let lettering = Lettering { size: 10.0, ink: BLACK, ..Lettering::label(Anchor::Start) };
        let letter = drawn(|canvas| canvas.text([20.0, 30.0], "I", lettering).unwrap());
        let ground = square([10.0, 10.0], 25.0);
        let rimmed = drawn(|canvas| {
            canvas.area([&ground[..]], BLACK, None);
            canvas.text([20.0, 30.0], "I", lettering.rimmed()).unwrap();
        });
        // an upright bar of height 0.717 and breadth b: the rim's outer half, 1.1 mm wide, goes round with rounded corners
        let height = 7.165;
        let breadth = all(&letter) / height;
        let rim = 2.0 * 1.1 * (height + breadth) + PI * 1.1 * 1.1;
        assert!((625.0 - all(&rimmed) - rim).abs() < allowed(150.0), "{} {rim}", 625.0 - all(&rimmed));
    }

    #[test]
    fn too_many_pixels_are_refused() {
        let canvas = drawn(|_| {});
        assert!(canvas.png(1e9).is_err() && canvas.png(f64::NAN).is_err() && canvas.png(30.0).is_ok());
    }
}
