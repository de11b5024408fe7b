//! A quantity over two things that were varied: coloured fields with a colour bar.

use super::axes::shortened;
use super::canvas::Canvas;
use super::frame::Classes;
use super::lettering::{Anchor, Lettering};
use super::named_ticks::NamedTicks;
use super::scale::short;
use super::style::{Column, Ink, LETTER, Pen, SMALL, Style};
use crate::base::Result;

/// Classes of colours, about.
const CLASSES: usize = 9;
/// Ratio of the largest to the least value beyond which classes are by ratio.
const RATIO: f64 = 12.0;
/// Most fields along a side with lines between them.
const LINED: usize = 40;
/// Digits of values in fields.
const DIGITS: usize = 3;
/// Distance of the strokes over fields without a value, mm.
const STROKES: f64 = 1.3;

/// A quantity over two things that were varied.
#[derive(Debug, Clone, PartialEq)]
pub struct Mosaic<'a> {
    /// Name of the files.
    pub name: &'a str,
    /// What it shows, for readers who cannot see it.
    pub title: &'a str,
    /// What is varied to the right, with its unit, and its values.
    pub x: (&'a str, &'a [String]),
    /// What is varied upwards, with its unit, and its values.
    pub y: (&'a str, &'a [String]),
    /// What is shown, with its unit.
    pub bar: &'a str,
    /// Its values, a row for each value of y from the lowest; none is a gap.
    pub values: &'a [Vec<Option<f64>>],
}

/// Draws it. Fields without a value are hatched; where there is room the values stand in the fields.
///
/// # Errors
/// [`crate::base::Error::Failed`] if the font lacks a character.
pub fn mosaic(style: Style, of: &Mosaic) -> Result<Canvas> {
    let [columns, rows] = [of.x.1.len(), of.y.1.len()];
    let width = style.column.width();
    let most = if style.column == Column::Double { 92.0 } else { 66.0 };
    let beside = NamedTicks::beside(of.y.1, most)?;
    let left = 1.5 + beside.depth;
    let frame_width = width - left - 3.0;
    let height = (0.62 * frame_width * rows as f64 / columns.max(1) as f64).clamp(0.45 * most, most);
    let beside = NamedTicks::beside(of.y.1, height)?;
    let below = NamedTicks::below(of.x.1, frame_width)?;
    let frame = [left, 1.0 + 2.0 * LETTER, frame_width, height];
    let x_base = frame[1] + height + below.depth + 0.4 - SMALL + 2.1 * LETTER;
    let bar_top = x_base + 1.6 * LETTER + SMALL;
    let mut canvas = Canvas::new(of.name, of.title, bar_top + 2.2 + 1.2 + SMALL + 1.0, style);
    let known = || of.values.iter().flatten().flatten().copied();
    let classes = Classes::of_values(&canvas, super::cell::extremes(known()), RATIO, CLASSES);
    fields(&mut canvas, frame, of.values, &classes)?;
    if columns.max(rows) <= LINED {
        values(&mut canvas, frame, of.values, &classes)?;
    }
    below.draw_below(&mut canvas, frame)?;
    beside.draw_beside(&mut canvas, frame)?;
    let label = Lettering::label(Anchor::Middle);
    let middle = left + 0.5 * frame_width;
    let x_name = shortened(of.x.0, 2.0 * (width - 1.0 - middle), label)?;
    canvas.text([middle, x_base], &x_name, label)?;
    let y_name = shortened(of.y.0, 0.9 * width, label)?;
    canvas.text([1.5, frame[1] - 2.2], &y_name, Lettering::label(Anchor::Start))?;
    let bar_width = frame_width.min(90.0);
    // what the strokes mean stands left of the bar, where there are any
    let strokes = of.values.iter().flatten().any(Option::is_none);
    let bar_left = width - 5.0 - bar_width;
    if strokes {
        let text = Lettering::small(Anchor::Start).ink(Ink::Text);
        let words = "no value";
        // in a narrow drawing beside the name of x
        let at = match bar_left > 30.0 {
            true => [1.5, bar_top],
            false => [width - 8.5 - text.width(words)?, x_base - SMALL + 0.6],
        };
        let key = square([at[0], at[1], 5.0, 2.2]);
        canvas.hatch(std::slice::from_ref(&key), STROKES, Pen::new(0.15, Ink::Soft))?;
        canvas.edges([&key[..]], Pen::new(0.15, Ink::Soft));
        canvas.text([at[0] + 6.0, at[1] + 1.1 + 0.36 * SMALL], words, text)?;
    }
    let bar = shortened(of.bar, bar_width, Lettering::small(Anchor::Start))?;
    classes.bar(&mut canvas, [bar_left, bar_top, bar_width, 2.2], &bar)?;
    Ok(canvas)
}

fn square([x, y, w, h]: [f64; 4]) -> Vec<[f64; 2]> {
    vec![[x, y], [x + w, y], [x + w, y + h], [x, y + h]]
}

/// The place of a field: left, top, width, height.
fn place([left, top, width, height]: [f64; 4], [columns, rows]: [usize; 2], [i, j]: [usize; 2]) -> [f64; 4] {
    let (w, h) = (width / columns.max(1) as f64, height / rows.max(1) as f64);
    [left + w * i as f64, top + h * (rows - 1 - j) as f64, w, h]
}

fn fields(canvas: &mut Canvas, frame: [f64; 4], values: &[Vec<Option<f64>>], classes: &Classes) -> Result<()> {
    let [left, top, width, height] = frame;
    let size = [values.first().map_or(0, Vec::len), values.len()];
    let mut gaps = Vec::new();
    for (j, row) in values.iter().enumerate().rev() {
        for (i, value) in row.iter().enumerate() {
            let [x, y, w, h] = place(frame, size, [i, j]);
            let ink = value.map_or(Ink::Paper, |value| Ink::Rgb(classes.colour(value)));
            // each runs on to the ends, so that no seam shows
            canvas.rectangle([x, y, left + width - x, top + height - y], ink, None);
            if value.is_none() {
                gaps.push(square([x, y, w, h]));
            }
        }
    }
    canvas.hatch(&gaps, STROKES, Pen::new(0.15, Ink::Soft))?;
    if size[0].max(size[1]) <= LINED {
        let pen = Pen::new(0.2, Ink::Paper);
        for i in 1..size[0] {
            let x = left + width * i as f64 / size[0] as f64;
            canvas.line(&[[x, top], [x, top + height]], pen);
        }
        for j in 1..size[1] {
            let y = top + height * j as f64 / size[1] as f64;
            canvas.line(&[[left, y], [left + width, y]], pen);
        }
    }
    canvas.edges([&square(frame)[..]], Pen::new(0.25, Ink::Soft));
    Ok(())
}

/// Writes the values into the fields, if all of them have room.
fn values(canvas: &mut Canvas, frame: [f64; 4], values: &[Vec<Option<f64>>], classes: &Classes) -> Result<()> {
    let size = [values.first().map_or(0, Vec::len), values.len()];
    let lettering = Lettering::small(Anchor::Middle);
    let mut texts = Vec::new();
    for (j, row) in values.iter().enumerate() {
        for (i, value) in row.iter().enumerate().filter_map(|(i, value)| Some((i, (*value)?))) {
            let [x, y, w, h] = place(frame, size, [i, j]);
            let text = short(value, DIGITS);
            if lettering.width(&text)? + 1.0 > w || 1.3 * SMALL > h {
                return Ok(());
            }
            texts.push(([x + 0.5 * w, y + 0.5 * h + 0.36 * SMALL], text, classes.colour(value)));
        }
    }
    for (at, text, [r, g, b]) in texts {
        // the same on any page, as the colours below are
        let light = 0.2126 * f64::from(r) + 0.7152 * f64::from(g) + 0.0722 * f64::from(b);
        let ink = if light > 140.0 { Ink::Rgb([22, 38, 46]) } else { Ink::Rgb([255; 3]) };
        canvas.text(at, &text, lettering.ink(ink))?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::figure::Palette;

    /// Every field has the colour of its value, a gap is hatched and named; no text overlaps, in both widths and palettes.
    #[test]
    fn fields_have_the_colours_of_their_values() {
        let names = |n: usize| -> Vec<String> { (0..n).map(|k| format!("0.{k}")).collect() };
        let (x, y) = (names(12), names(8));
        let mut table: Vec<Vec<Option<f64>>> =
            (0..8).map(|j| (0..12).map(|i| Some(f64::from(i) + 0.1 * f64::from(j))).collect()).collect();
        table[3][4] = None;
        for palette in [Palette::Colour, Palette::Grey] {
            for column in [Column::Double, Column::Single] {
                let of = Mosaic {
                    name: "a",
                    title: "b",
                    x: ("gap (cell), mm", &x),
                    y: ("mean speed (drive), mm/s", &y),
                    bar: "head (drive), mm",
                    values: &table,
                };
                let canvas = mosaic(Style { palette, column }, &of).unwrap();
                assert!(canvas.crowded().is_empty(), "{:?}", canvas.crowded());
                let classes = Classes::rising(&canvas, [0.0, 11.7], [0.0, 11.7], CLASSES);
                let svg = canvas.svg();
                for &value in table.iter().flatten().flatten() {
                    let [r, g, b] = classes.colour(value);
                    assert!(svg.contains(&format!("fill=\"#{r:02x}{g:02x}{b:02x}\"")), "{value}");
                }
                assert!(canvas.texts().iter().any(|t| t.text == "no value"));
            }
        }
        let whole: Vec<Vec<Option<f64>>> = vec![vec![Some(1.0); 12]; 8];
        let of = Mosaic { name: "a", title: "b", x: ("x", &x), y: ("y", &y), bar: "z", values: &whole };
        let canvas = mosaic(Style::default(), &of).unwrap();
        assert!(!canvas.texts().iter().any(|t| t.text == "no value"));
        assert_eq!(canvas.texts().iter().filter(|t| t.text == "1").count(), 96);
    }
}
