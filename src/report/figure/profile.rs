//! Values along a line of the cell.

use super::axes::{Axes, Entry, legend};
use super::canvas::Canvas;
use super::scale::Scale;
use super::style::{Column, LETTER, Style};
use crate::base::Result;

/// Height of a chart, mm.
const CHART: f64 = 40.0;

/// One quantity along a line.
#[derive(Debug, Clone, PartialEq)]
pub struct Along {
    /// Its name with unit.
    pub name: String,
    /// Number of the curve in the names, and pairs of way and value; not a number where there is no fluid.
    pub curves: Vec<(usize, Vec<[f64; 2]>)>,
}

/// Charts of quantities along a line, one for each; `x_name` is what the way along it is called, with its unit, and `names` are those of the
/// curves in all of them.
///
/// # Errors
/// [`crate::base::Error::Failed`] if the font lacks a character.
pub fn profile(
    style: Style,
    name: &str,
    title: &str,
    x_name: &str,
    names: &[&str],
    charts: &[Along],
) -> Result<Canvas> {
    let entry = |(k, name): (usize, &&str)| Entry { text: (*name).to_owned(), pen: Some(style.series(k)), mark: None };
    let entries: Vec<Entry> = names.iter().enumerate().map(entry).collect();
    let width = style.column.width();
    let above = 1.0 + legend(None, [0.0; 2], width - 3.0, &entries)?;
    let columns = if style.column == Column::Double { 2 } else { 1 };
    let (each, row) = (width / columns as f64, CHART + 5.2 * LETTER);
    let rows = charts.len().div_ceil(columns);
    let mut canvas = Canvas::new(name, title, above + row * rows as f64 + 1.0, style);
    legend(Some(&mut canvas), [1.5, 1.0], width - 3.0, &entries)?;
    let pairs = || charts.iter().flat_map(|chart| &chart.curves).flat_map(|(_, pairs)| pairs);
    let x = Scale::linear(pairs().map(|pair| pair[0]), 5);
    for (k, chart) in charts.iter().enumerate() {
        let (i, j) = (k % columns, k / columns);
        let known = chart.curves.iter().flat_map(|(_, pairs)| pairs).map(|pair| pair[1]).filter(|y| y.is_finite());
        let top = above + 1.9 * LETTER + row * j as f64;
        let axes = Axes { frame: [each * i as f64 + 15.5, top, each - 19.0, CHART], x, y: Scale::linear(known, 4) };
        axes.draw(&mut canvas, x_name, &chart.name)?;
        // the first in the foreground
        for (curve, pairs) in chart.curves.iter().rev() {
            axes.line(&mut canvas, pairs, style.series(*curve))?;
        }
    }
    Ok(canvas)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::figure::{Ink, Palette};

    /// A curve that is cut in the middle is drawn in two parts, and no text overlaps another in either width.
    #[test]
    fn a_solid_cuts_a_curve() {
        let value = |k: usize| if (4..7).contains(&k) { f64::NAN } else { (k as f64).sin() };
        let pairs: Vec<[f64; 2]> = (0..=10).map(|k| [10.0 * k as f64, value(k)]).collect();
        let chart = |name: &str| Along { name: name.into(), curves: vec![(0, pairs.clone())] };
        let charts = [chart("speed over U (1)"), chart("direction, degrees"), chart("pressure, Pa")];
        for (palette, column) in [(Palette::Colour, Column::Double), (Palette::Grey, Column::Single)] {
            let style = Style { palette, column };
            let canvas = profile(style, "profile_a", "Along a", "s, mm", &["ideal"], &charts).unwrap();
            assert!(canvas.crowded().is_empty(), "{:?}", canvas.crowded());
            let ink = Ink::Series(0).css(palette, false);
            let svg = canvas.svg();
            let drawn: Vec<&str> = svg
                .lines()
                .filter(|line| line.contains(&format!("stroke=\"{ink}\"")) && line.contains("d=\"M"))
                .collect();
            // the legend has one more
            let parts: Vec<usize> = drawn.iter().map(|line| line.matches('M').count()).collect();
            assert_eq!(parts, [1, 2, 2, 2], "{svg}");
        }
    }
}
