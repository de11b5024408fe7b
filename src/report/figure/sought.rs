//! The way of a search: its runs, and the place that it found.

use super::axes::{Axes, Entry, Mark, legend, shortened};
use super::canvas::Canvas;
use super::frame::Classes;
use super::lettering::{Anchor, Lettering};
use super::scale::Scale;
use super::style::{Ink, LETTER, Pen, SMALL, Style};
use crate::base::Result;

/// Classes of colours over two keys, about.
const CLASSES: usize = 8;
/// Ratio of the largest to the least value beyond which scales and classes are by ratio.
const RATIO: f64 = 12.0;
/// Radius of a run over two keys, and of the ring round the place that was found, mm.
const RUN: f64 = 1.3;
const FOUND: f64 = 2.3;
/// Half the length of the ends of the lines of errors, mm.
const END: f64 = 0.9;

/// A run of a search.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stop<const N: usize> {
    /// The values of the keys.
    pub at: [f64; N],
    /// The row; none if the run failed.
    pub row: Option<f64>,
    /// By how much a limit is passed, over its size; below zero within all limits, none without limits.
    pub beyond: Option<f64>,
}

/// The place that was found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Found<const N: usize> {
    /// The values of the keys.
    pub at: [f64; N],
    /// How far they may be off, where that is known.
    pub off: [Option<f64>; N],
    /// The row there.
    pub row: f64,
    /// Its error.
    pub error: Option<f64>,
}

/// A search over some keys.
#[derive(Debug, Clone, PartialEq)]
pub struct Search<'a, const N: usize> {
    /// Name of the files.
    pub name: &'a str,
    /// What it shows, for readers who cannot see it.
    pub title: &'a str,
    /// The keys with their units.
    pub keys: [&'a str; N],
    /// Their ranges, and whether equal lengths are equal ratios.
    pub ranges: [([f64; 2], bool); N],
    /// The row with its unit.
    pub row: &'a str,
    /// The value that was wanted, if it was a value.
    pub wanted: Option<f64>,
    /// All runs, in order of the first key.
    pub stops: &'a [Stop<N>],
    /// The place.
    pub found: Found<N>,
}

impl<const N: usize> Search<'_, N> {
    /// The scale of a key, with room at both ends.
    fn scale(&self, key: usize) -> Scale {
        let ([from, to], log) = self.ranges[key];
        if log {
            let room = (to / from).powf(0.03);
            return Scale { from: from / room, to: to * room, log };
        }
        let room = 0.03 * (to - from);
        Scale { from: from - room, to: to + room, log }
    }

    fn entries(&self, run: Option<(Mark, Ink)>) -> Vec<Entry> {
        let entry = |text: &str, mark: Option<(Mark, Ink)>| Entry { text: text.to_owned(), pen: None, mark };
        let passes = |stop: &Stop<N>| stop.row.is_some() && stop.beyond.is_some_and(|beyond| beyond > 0.0);
        let mut entries = vec![entry("a run", run)];
        if self.stops.iter().any(passes) {
            entries.push(entry("a run that passes a limit", Some((Mark::Cross, Ink::Limit))));
        }
        if self.stops.iter().any(|stop| stop.row.is_none()) {
            entries.push(entry("a run that failed", Some((Mark::Triangle, Ink::Soft))));
        }
        entries
    }
}

/// The row over the one key of a search: runs as marks, the place that was found with its errors, the wanted value as a line, and the part
/// of the range in which runs pass a limit shaded.
///
/// # Errors
/// [`crate::base::Error::Failed`] if the font lacks a character.
pub fn sought(style: Style, of: &Search<1>) -> Result<Canvas> {
    let mut entries = of.entries(Some((Mark::Ring, Ink::Series(0))));
    let found = Pen::new(0.45, Ink::Series(1));
    entries.push(Entry { text: "found".into(), pen: Some(found), mark: Some((Mark::Diamond, Ink::Series(1))) });
    if of.wanted.is_some() {
        let pen = Pen::new(0.35, Ink::Limit).dashed(1.8, 0.9);
        entries.push(Entry { text: "wanted".into(), pen: Some(pen), mark: None });
    }
    let shaded = passed(of.stops, of.ranges[0].0);
    if !shaded.is_empty() {
        let text = "a limit is passed".to_owned();
        entries.push(Entry { text, pen: Some(Pen::new(2.2, Ink::Grid)), mark: None });
    }
    let width = style.column.width();
    let above = 1.0 + legend(None, [0.0; 2], width - 3.0, &entries)?;
    let top = above + 2.0 * LETTER;
    let height = (0.42 * width).clamp(48.0, 72.0);
    let rows = of.stops.iter().filter_map(|stop| stop.row).chain(of.wanted);
    let error = of.found.error.unwrap_or(0.0);
    let scale = Scale::by_ratio(rows.clone(), RATIO, 5);
    let y = match scale.log {
        true => scale,
        false => Scale::linear(rows.chain([of.found.row - error, of.found.row + error]), 5),
    };
    let axes = Axes { frame: [17.0, top, width - 24.0, height], x: of.scale(0), y };
    let mut canvas = Canvas::new(of.name, of.title, top + height + 1.6 + 2.4 * LETTER + 1.0, style);
    legend(Some(&mut canvas), [1.5, 1.0], width - 3.0, &entries)?;
    for ends in shaded {
        let [[left, _], [right, _]] = ends.map(|x| axes.at(x, axes.y.from));
        canvas.rectangle([left, top, right - left, height], Ink::Grid, None);
    }
    let (x_name, y_name) = names(of.keys[0], of.row, width)?;
    axes.draw(&mut canvas, &x_name, &y_name)?;
    if let Some(wanted) = of.wanted {
        axes.limit(&mut canvas, wanted, "")?;
    }
    for stop in of.stops {
        let (mark, ink) = match (stop.row, stop.beyond) {
            (None, _) => (Mark::Triangle, Ink::Soft),
            (_, Some(beyond)) if beyond > 0.0 => (Mark::Cross, Ink::Limit),
            _ => (Mark::Ring, Ink::Series(0)),
        };
        // those that failed at the foot
        axes.marks(&mut canvas, &[[stop.at[0], stop.row.unwrap_or(axes.y.from)]], mark, ink);
    }
    let [x] = of.found.at;
    let at = axes.at(x, of.found.row);
    if let Some(off) = of.found.off[0] {
        let ends = [x - off, x + off].map(|x| x.clamp(of.ranges[0].0[0], of.ranges[0].0[1]));
        bar(&mut canvas, ends.map(|x| axes.at(x, of.found.row)), found);
    }
    if of.found.error.is_some() {
        let low = if axes.y.log { (of.found.row - error).max(axes.y.from) } else { of.found.row - error };
        axes.inside(&mut canvas, |canvas| {
            bar(canvas, [axes.at(x, low), axes.at(x, of.found.row + error)], found);
            Ok(())
        })?;
    }
    super::axes::draw_mark(&mut canvas, at, Mark::Diamond, Ink::Series(1));
    Ok(canvas)
}

/// The places of a search over two keys, coloured by the row, and that which was found.
///
/// # Errors
/// As [`sought`].
pub fn sought_of_two(style: Style, of: &Search<2>) -> Result<Canvas> {
    let mut entries = of.entries(Some((Mark::Disc, Ink::Soft)));
    entries.push(Entry { text: "found".into(), pen: None, mark: Some((Mark::Ring, Ink::Text)) });
    let width = style.column.width();
    let above = 1.0 + legend(None, [0.0; 2], width - 3.0, &entries)?;
    let top = above + 2.0 * LETTER;
    let height = (0.48 * width).clamp(52.0, 80.0);
    let axes = Axes { frame: [17.0, top, width - 24.0, height], x: of.scale(0), y: of.scale(1) };
    let bar_top = top + height + 1.6 + 2.1 * LETTER + 1.6 * LETTER + SMALL;
    let mut canvas = Canvas::new(of.name, of.title, bar_top + 2.2 + 1.2 + SMALL + 1.0, style);
    legend(Some(&mut canvas), [1.5, 1.0], width - 3.0, &entries)?;
    let (x_name, y_name) = names(of.keys[0], of.keys[1], width)?;
    axes.draw(&mut canvas, &x_name, &y_name)?;
    let rows = of.stops.iter().filter_map(|stop| stop.row).chain([of.found.row]);
    let classes = Classes::of_values(&canvas, super::cell::extremes(rows), RATIO, CLASSES);
    for stop in of.stops {
        let at = axes.at(stop.at[0], stop.at[1]);
        match stop.row {
            None => super::axes::draw_mark(&mut canvas, at, Mark::Triangle, Ink::Soft),
            Some(row) => canvas.disc(at, RUN, Ink::Rgb(classes.colour(row)), Some(Pen::new(0.2, Ink::Soft))),
        }
        if stop.row.is_some() && stop.beyond.is_some_and(|beyond| beyond > 0.0) {
            super::axes::draw_mark(&mut canvas, at, Mark::Cross, Ink::Limit);
        }
    }
    let [x, y] = of.found.at;
    let at = axes.at(x, y);
    let pen = Pen::new(0.5, Ink::Text);
    let fill = Ink::Rgb(classes.colour(of.found.row));
    canvas.disc(at, FOUND, fill, Some(pen));
    let (dx, anchor) = if of.scale(0).part(x) > 0.75 { (-3.0, Anchor::End) } else { (3.0, Anchor::Start) };
    canvas.text([at[0] + dx, at[1] + 0.36 * LETTER], "found", Lettering::label(anchor).bold().rimmed())?;
    let bar_width = (width - 24.0).min(90.0);
    let bar_name = shortened(of.row, bar_width, Lettering::small(Anchor::Start))?;
    classes.bar(&mut canvas, [width - 7.0 - bar_width, bar_top, bar_width, 2.2], &bar_name)?;
    Ok(canvas)
}

/// Names of the axes, cut where they would leave the drawing.
fn names(x: &str, y: &str, width: f64) -> Result<(String, String)> {
    let label = Lettering::label(Anchor::Middle);
    Ok((shortened(x, width - 14.0, label)?, shortened(y, width - 7.0, label)?))
}

/// A line with short ends across it, between two places.
fn bar(canvas: &mut Canvas, [a, b]: [[f64; 2]; 2], pen: Pen) {
    let across = if a[0] == b[0] { [END, 0.0] } else { [0.0, END] };
    let end = |p: [f64; 2]| [[p[0] - across[0], p[1] - across[1]], [p[0] + across[0], p[1] + across[1]]];
    let (first, last) = (end(a), end(b));
    canvas.lines([&[a, b][..], &first, &last], pen);
}

/// The parts of a range in which a limit is passed: between runs where how far it is passed, taken as linear, has no sign but the one above
/// zero.
fn passed(stops: &[Stop<1>], [from, to]: [f64; 2]) -> Vec<[f64; 2]> {
    let known: Vec<(f64, f64)> = stops.iter().filter_map(|stop| Some((stop.at[0], stop.beyond?))).collect();
    let (Some(first), Some(last)) = (known.first(), known.last()) else { return Vec::new() };
    let ends = [(from, first.1), (to, last.1)];
    let all: Vec<(f64, f64)> = [ends[0]].into_iter().chain(known.iter().copied()).chain([ends[1]]).collect();
    let mut parts: Vec<[f64; 2]> = Vec::new();
    for w in all.windows(2) {
        let [(a, p), (b, q)] = [w[0], w[1]];
        let met = if p == q { b } else { a + (b - a) * p / (p - q) };
        let part = match (p > 0.0, q > 0.0) {
            (true, true) => [a, b],
            (true, false) => [a, met],
            (false, true) => [met, b],
            (false, false) => continue,
        };
        match parts.last_mut() {
            Some(before) if before[1] >= part[0] => before[1] = part[1],
            _ => parts.push(part),
        }
    }
    parts.into_iter().filter(|[a, b]| b > a).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::figure::{Column, Palette};

    fn styles() -> [Style; 2] {
        [(Palette::Colour, Column::Double), (Palette::Grey, Column::Single)]
            .map(|(palette, column)| Style { palette, column })
    }

    /// A limit that is passed by x - 3 is shaded from 3 to the end of the range.
    #[test]
    fn what_passes_a_limit_is_shaded() {
        let stop = |x: f64| Stop { at: [x], row: Some(x * x), beyond: Some(x - 3.0) };
        let stops: Vec<Stop<1>> = [0.0, 2.0, 4.0, 5.0].map(stop).into();
        assert_eq!(passed(&stops, [0.0, 6.0]), [[3.0, 6.0]]);
        let without = stops.iter().map(|stop| Stop { beyond: None, ..*stop }).collect::<Vec<_>>();
        assert!(passed(&without, [0.0, 6.0]).is_empty());
        let found = Found { at: [3.0], off: [Some(0.5)], row: 9.0, error: Some(1.0) };
        let of = Search {
            name: "seek",
            title: "b",
            keys: ["speed, mm/s"],
            ranges: [([0.0, 6.0], false)],
            row: "head, mm",
            wanted: None,
            stops: &stops,
            found,
        };
        for style in styles() {
            let canvas = sought(style, &of).unwrap();
            assert!(canvas.crowded().is_empty(), "{:?}", canvas.crowded());
            let grid = format!("fill=\"{}\"", Ink::Grid.css(style.palette, false));
            assert_eq!(canvas.svg().matches(&grid).count(), 1);
            // errors are lines as long as twice half a unit of 6.36, and twice a unit of 25
            let svg = canvas.svg();
            let ink = format!("stroke=\"{}\"", Ink::Series(1).css(style.palette, false));
            let bars: Vec<Vec<f64>> = svg
                .lines()
                .filter(|l| l.contains(&ink) && l.matches('M').count() == 3)
                .map(|l| {
                    let first = l.split("d=\"M").nth(1).unwrap().split(['M', '"']).next().unwrap();
                    first.replace('-', " -").replace('l', " ").split_whitespace().map(|x| x.parse().unwrap()).collect()
                })
                .collect();
            let width = style.column.width();
            let height = (0.42 * width).clamp(48.0, 72.0);
            let [across, up] = bars.as_slice() else { panic!("{svg}") };
            assert!((across[2] - (width - 24.0) / 6.36).abs() < 3e-3 && across[3] == 0.0, "{across:?}");
            assert!((up[3].abs() - 2.0 * height / 25.0).abs() < 3e-3 && up[2] == 0.0, "{up:?}");
        }
    }

    /// Places in the plane have the colours of the row; those beyond a limit and those that failed are told apart, and nothing overlaps.
    #[test]
    fn places_of_two_keys_are_coloured_by_the_row() {
        let stops: Vec<Stop<2>> = (0..25)
            .map(|k| {
                let [x, y] = [f64::from(k / 5), f64::from(k % 5)];
                Stop { at: [1.0 + x, 1.0 + y], row: (k != 7).then_some(x * y), beyond: Some(x - 3.5) }
            })
            .collect();
        let found = Found { at: [4.0, 5.0], off: [None; 2], row: 12.0, error: None };
        let of = Search {
            name: "seek",
            title: "b",
            keys: ["gap, mm", "speed, mm/s"],
            ranges: [([1.0, 5.0], false), ([1.0, 50.0], true)],
            row: "head, mm",
            wanted: None,
            stops: &stops,
            found,
        };
        for style in styles() {
            let canvas = sought_of_two(style, &of).unwrap();
            assert!(canvas.crowded().is_empty(), "{:?}", canvas.crowded());
            let texts: Vec<&str> = canvas.texts().iter().map(|t| t.text.as_str()).collect();
            for text in ["a run", "a run that passes a limit", "a run that failed"] {
                assert!(texts.contains(&text), "{texts:?}");
            }
            assert_eq!(canvas.svg().matches("r=\"1.3\"").count(), 24);
        }
    }
}
