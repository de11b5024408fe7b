//! What variances come from: bars divided by shares.

use super::axes::shortened;
use super::canvas::Canvas;
use super::lettering::{Anchor, Lettering};
use super::style::{Column, Ink, LETTER, Palette, Pen, SMALL, Style};
use crate::base::Result;

/// Most sources that are told apart.
pub const MOST_SOURCES: usize = 6;
/// Greys of the sources: neighbours differ by a sixth of the way from black to white.
const GREYS: [u8; MOST_SOURCES] = [40, 130, 220, 85, 175, 245];
/// Least share that is written in its part, mm wide.
const WRITTEN: f64 = 8.5;

/// A bar.
#[derive(Debug, Clone, PartialEq)]
pub struct Bar {
    /// What it is of.
    pub name: String,
    /// Share of each source in the whole, 0 to 1.
    pub shares: Vec<f64>,
    /// What is no single source's.
    pub rest: f64,
    /// What is written at its end.
    pub end: String,
}

/// Bars of equal length, one below another.
#[derive(Debug, Clone, PartialEq)]
pub struct Bars<'a> {
    /// Name of the files.
    pub name: &'a str,
    /// What it shows, for readers who cannot see it.
    pub title: &'a str,
    /// The sources, at most [`MOST_SOURCES`] of them.
    pub sources: &'a [String],
    /// What the rest of a bar is.
    pub rest: &'a str,
    /// What is written at the ends of bars.
    pub ends: &'a str,
    /// The bars.
    pub bars: &'a [Bar],
}

/// Draws them: parts by colour, in grey by lightness and strokes, with the share written in where there is room; the legend above.
///
/// # Errors
/// [`crate::base::Error::Failed`] if the font lacks a character.
pub fn share_bars(style: Style, of: &Bars) -> Result<Canvas> {
    let width = style.column.width();
    let small = Lettering::small(Anchor::Start).ink(Ink::Text);
    let most = if style.column == Column::Double { 62.0 } else { 30.0 };
    let mut names = Vec::new();
    let [mut left, mut right] = [0.0_f64; 2];
    for bar in of.bars {
        let name = shortened(&bar.name, most, small)?;
        left = left.max(small.width(&name)?);
        right = right.max(small.width(&bar.end)?);
        names.push(name);
    }
    let left = left + 3.0;
    let length = width - left - right - 3.0;
    let has_rest = of.bars.iter().any(|bar| bar.rest > 0.0);
    let kinds: Vec<(Option<usize>, &str)> = of
        .sources
        .iter()
        .enumerate()
        .map(|(k, name)| (Some(k), name.as_str()))
        .chain(has_rest.then_some((None, of.rest)))
        .collect();
    let above = key(None, width, &kinds)?;
    let row = 1.75 * LETTER;
    let top = above + 1.6 * LETTER;
    let height = top + row * of.bars.len() as f64 + 1.5;
    let mut canvas = Canvas::new(of.name, of.title, height, style);
    key(Some(&mut canvas), width, &kinds)?;
    canvas.text([left, top - 1.2], "share of the variance", Lettering::small(Anchor::Start))?;
    canvas.text([width - 1.0, top - 1.2], of.ends, Lettering::small(Anchor::End))?;
    for (k, (bar, name)) in of.bars.iter().zip(&names).enumerate() {
        let y = top + row * k as f64;
        let base = y + 0.5 * row + 0.36 * SMALL;
        canvas.text([left - 1.5, base], name, Lettering { anchor: Anchor::End, ..small })?;
        let whole = bar.shares.iter().sum::<f64>() + bar.rest;
        let mut x = left;
        let parts = bar.shares.iter().enumerate().map(|(k, share)| (Some(k), *share)).chain([(None, bar.rest)]);
        for (source, share) in parts.filter(|(_, share)| *share > 0.0) {
            let part = share / whole.max(f64::MIN_POSITIVE);
            let w = length * part;
            fill(&mut canvas, [x, y + 0.4, w, row - 0.8], source)?;
            let text = format!("{:.0} %", 100.0 * part);
            if w > WRITTEN {
                let lettering = Lettering::small(Anchor::Middle).ink(on(source, style.palette));
                // over strokes on a rim of paper
                let lettering = if source.is_none() { lettering.rimmed() } else { lettering };
                canvas.text([x + 0.5 * w, base], &text, lettering)?;
            }
            x += w;
        }
        canvas.text([left + length + 1.5, base], &bar.end, small)?;
    }
    Ok(canvas)
}

/// Draws a part of a bar.
fn fill(canvas: &mut Canvas, area: [f64; 4], source: Option<usize>) -> Result<()> {
    let [x, y, w, h] = area;
    let corners = vec![[x, y], [x + w, y], [x + w, y + h], [x, y + h]];
    let edge = Pen::new(0.2, Ink::Soft);
    match source {
        Some(k) => canvas.rectangle(area, ink(k, canvas.style.palette), Some(edge)),
        None => {
            canvas.rectangle(area, Ink::Paper, Some(edge));
            canvas.hatch(&[corners], 1.2, Pen::new(0.2, Ink::Soft))?;
        }
    }
    Ok(())
}

fn ink(source: usize, palette: Palette) -> Ink {
    match palette {
        Palette::Colour => Ink::Series(source),
        Palette::Grey => Ink::Rgb([GREYS[source % MOST_SOURCES]; 3]),
    }
}

/// The ink that reads on a part.
fn on(source: Option<usize>, palette: Palette) -> Ink {
    match (source, palette) {
        (Some(k), Palette::Grey) if GREYS[k % MOST_SOURCES] > 120 => Ink::Text,
        (Some(_), _) => Ink::Paper,
        (None, _) => Ink::Text,
    }
}

/// Draws the kinds of parts in rows; returns the height that they take, mm. With no canvas it only measures.
fn key(mut canvas: Option<&mut Canvas>, width: f64, kinds: &[(Option<usize>, &str)]) -> Result<f64> {
    let lettering = Lettering::small(Anchor::Start).ink(Ink::Text);
    let row = 1.5 * LETTER;
    let (mut x, mut y) = (1.5, 1.0);
    for (source, name) in kinds {
        let name = shortened(name, width - 10.0, lettering)?;
        let needs = 6.2 + lettering.width(&name)?;
        if x > 1.5 && x + needs > width - 1.5 {
            (x, y) = (1.5, y + row);
        }
        if let Some(canvas) = canvas.as_deref_mut() {
            fill(canvas, [x, y + 0.6, 5.0, row - 1.6], *source)?;
            canvas.text([x + 6.2, y + 0.5 * row + 0.36 * SMALL - 0.2], &name, lettering)?;
        }
        x += needs + 4.0;
    }
    Ok(y + row)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Parts are as long as their shares: of a bar of 0.5, 0.25 and 0.25, of which the last is no single source's, the first is twice as long as the
    /// second; every share and every end is written, and no text overlaps. In grey six sources have six greys that differ by a tenth of the way
    /// from black to white or more.
    #[test]
    fn parts_are_as_long_as_their_shares() {
        let bar = |name: &str| Bar { name: name.into(), shares: vec![0.5, 0.25], rest: 0.25, end: "± 2.5 %".into() };
        let bars = [bar("head (drive)"), bar(&"a name that goes on and on ".repeat(4))];
        let sources = ["cell.gap".to_owned(), "drive.flow_rate".to_owned()];
        let (rest, ends) = ("together", "one standard uncertainty");
        for palette in [Palette::Colour, Palette::Grey] {
            for column in [Column::Double, Column::Single] {
                let of = Bars { name: "a", title: "b", sources: &sources, rest, ends, bars: &bars };
                let canvas = share_bars(Style { palette, column }, &of).unwrap();
                assert!(canvas.crowded().is_empty(), "{:?}", canvas.crowded());
                let count = |text: &str| canvas.texts().iter().filter(|t| t.text == text).count();
                assert_eq!([count("50 %"), count("± 2.5 %"), count("together")], [2, 2, 1], "{:?}", canvas.texts());
                let svg = canvas.svg();
                let widths = |k: usize| -> Vec<f64> {
                    let fill = format!("fill=\"{}\"", ink(k, palette).css(palette, false));
                    let lines = svg.lines().filter(|l| l.contains("d=\"M") && l.contains(&fill));
                    // M x y l w 0 ...: the first is that of the legend
                    let first = |l: &str| l.split('l').nth(2).unwrap().split([' ', '-']).find_map(|x| x.parse().ok());
                    lines.skip(1).map(|l| first(&l.replace("class", "")).unwrap()).collect()
                };
                let (one, two) = (widths(0), widths(1));
                assert_eq!([one.len(), two.len()], [2, 2], "{svg}");
                assert!(one.iter().zip(&two).all(|(a, b)| (a - 2.0 * b).abs() < 3e-3), "{one:?} {two:?}");
            }
        }
        let mut greys = GREYS;
        greys.sort_unstable();
        assert!(greys.windows(2).all(|w| w[1] - w[0] > 24));
    }
}
