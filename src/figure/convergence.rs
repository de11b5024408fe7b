//! The chart of a convergence study: errors over mesh size with slopes to compare with, and the guaranteed bracket.

use super::axes::{Axes, Entry, Mark, legend};
use super::canvas::Canvas;
use super::scale::Scale;
use super::style::{Ink, LETTER, Style};
use crate::Result;

/// One quantity on a ladder of meshes.
#[derive(Debug, Clone, PartialEq)]
pub struct Ladder {
    /// What it is.
    pub name: String,
    /// Mesh sizes, m.
    pub sizes: Vec<f64>,
    /// Its error on each mesh: the distance from the extrapolated or exact value over the size of that value.
    pub errors: Vec<f64>,
    /// Half the width of the guaranteed bracket on each mesh over the value, where there is one.
    pub half_widths: Option<Vec<f64>>,
    /// Order that theory expects.
    pub expected_order: f64,
    /// Order observed.
    pub observed_order: Option<f64>,
}

/// Errors over mesh size in logarithmic scales, with a triangle of the expected slope and the bracket as a dashed line.
///
/// ```
/// use twinplate::figure::{Ladder, Style, convergence};
/// let ladder = Ladder {
///     name: "shape factor".into(),
///     sizes: vec![0.04, 0.02, 0.01],
///     errors: vec![1.6e-3, 4.1e-4, 1.0e-4],
///     half_widths: Some(vec![4e-3, 1e-3, 2.5e-4]),
///     expected_order: 2.0,
///     observed_order: Some(1.98),
/// };
/// let drawing = convergence(Style::default(), &[ladder])?;
/// assert!(drawing.svg().contains("shape factor"));
/// # Ok::<(), twinplate::Error>(())
/// ```
///
/// # Errors
/// [`crate::Error::Failed`] if the font lacks a character.
pub fn convergence(style: Style, ladders: &[Ladder]) -> Result<Canvas> {
    const MARKS: [Mark; 4] = [Mark::Disc, Mark::Square, Mark::Triangle, Mark::Ring];
    let mut entries = Vec::new();
    for (k, ladder) in ladders.iter().enumerate() {
        let order = match ladder.observed_order {
            Some(p) if p.is_finite() => format!(", order {}", crate::units::significant(p, 3)),
            _ => String::new(),
        };
        let mark = Some((MARKS[k % 4], Ink::Series(k)));
        entries.push(Entry { text: format!("{}{order}", ladder.name), pen: Some(style.series(k)), mark });
        if ladder.half_widths.is_some() {
            let pen = Some(style.series(k).dashed(1.2, 0.8));
            entries.push(Entry { text: format!("{}: half the guaranteed bracket", ladder.name), pen, mark: None });
        }
    }
    let width = style.column.width() - 3.0;
    let above = 1.0 + legend(None, [0.0; 2], width, &entries)?;
    let height = (0.5 * style.column.width()).clamp(50.0, 75.0);
    let mut canvas = Canvas::new("convergence", "Errors over mesh size", above + height + 6.0 * LETTER, style);
    legend(Some(&mut canvas), [1.5, 1.0], width, &entries)?;
    let sizes = ladders.iter().flat_map(|l| l.sizes.iter().map(|h| 1e3 * h));
    let errors = ladders.iter().flat_map(|l| l.errors.iter().chain(l.half_widths.iter().flatten()).map(|e| e.abs()));
    let axes = Axes {
        frame: [17.0, above + 2.0 * LETTER, style.column.width() - 29.0, height],
        x: Scale::logarithmic(sizes),
        y: Scale::logarithmic(errors),
    };
    axes.draw(&mut canvas, "mesh size, mm", "relative error (1)")?;
    for (k, ladder) in ladders.iter().enumerate() {
        let pairs = |values: &[f64]| -> Vec<[f64; 2]> {
            ladder.sizes.iter().zip(values).map(|(h, e)| [1e3 * h, e.abs()]).collect()
        };
        if let Some(half_widths) = &ladder.half_widths {
            axes.line(&mut canvas, &pairs(half_widths), style.series(k).dashed(1.2, 0.8))?;
        }
        let points = pairs(&ladder.errors);
        axes.line(&mut canvas, &points, style.series(k))?;
        axes.marks(&mut canvas, &points, MARKS[k % 4], Ink::Series(k));
    }
    slopes(&mut canvas, &axes, ladders)?;
    Ok(canvas)
}

/// One triangle for each expected order, in the right lower corner, where errors that fall with the size leave room.
fn slopes(canvas: &mut Canvas, axes: &Axes, ladders: &[Ladder]) -> Result<()> {
    let mut orders: Vec<f64> = ladders.iter().map(|l| l.expected_order).filter(|p| *p > 0.0 && p.is_finite()).collect();
    orders.sort_by(f64::total_cmp);
    orders.dedup_by(|a, b| (*a - *b).abs() < 0.05);
    let (x, y) = (axes.x, axes.y);
    let across = |part: f64| x.from * (x.to / x.from).powf(part);
    for (k, order) in orders.iter().take(3).enumerate() {
        let [from, to] = [0.66 - 0.17 * k as f64, 0.76 - 0.17 * k as f64];
        let factor = across(to) / across(from);
        let corner = [across(from), y.from * (y.to / y.from).powf(0.06)];
        axes.slope(canvas, corner, factor, *order, &format!("slope {}", crate::units::significant(*order, 2)))?;
    }
    Ok(())
}
