//! Charts of the departure budget and of a sweep.

use super::axes::{Axes, Entry, Mark, legend};
use super::canvas::Canvas;
use super::lettering::{Anchor, Lettering};
use super::scale::{Scale, short};
use super::style::{Column, Ink, LETTER, Pen, SMALL, Style};
use crate::base::Result;

/// One measure of departures with its limit.
#[derive(Debug, Clone, PartialEq)]
pub struct Panel {
    /// Name with unit.
    pub name: String,
    /// What the user can live with.
    pub tolerance: f64,
    /// Root mean square and 99 % value of each effect; the order is that of the names.
    pub values: Vec<[f64; 2]>,
    /// Estimated numerical error of each effect, where there is one.
    pub errors: Vec<Option<f64>>,
}

/// The budget: for each measure a panel, for each effect a bar from its root mean square to what 99 % of the area are below, on a logarithmic scale, against
/// the tolerance.
///
/// # Errors
/// [`crate::base::Error::Failed`] if the font lacks a character.
pub fn budget_bars(style: Style, effects: &[String], panels: &[Panel]) -> Result<Canvas> {
    let lettering = Lettering::label(Anchor::End);
    let mut names = 0.0_f64;
    for effect in effects {
        names = names.max(lettering.width(effect)?);
    }
    let row = 1.9 * LETTER;
    let entries = budget_legend(panels);
    let width = style.column.width() - 3.0;
    let above = 1.0 + legend(None, [0.0; 2], width, &entries)?;
    let frame_height = row * effects.len() as f64 + 1.5;
    let panel_height = frame_height + 4.2 * LETTER + 3.0;
    let side_by_side = style.column == Column::Double;
    let rows = if side_by_side { 1 } else { panels.len() };
    let height = above + panel_height * rows as f64 + 1.0;
    let mut canvas = Canvas::new("budget", "Every effect against the tolerances", height, style);
    legend(Some(&mut canvas), [1.5, 1.0], width, &entries)?;
    let left = 3.0 + names;
    let columns = if side_by_side { panels.len().max(1) } else { 1 };
    let each = (style.column.width() - left - 3.0) / columns as f64;
    for (k, panel) in panels.iter().enumerate() {
        let (i, j) = if side_by_side { (k, 0) } else { (0, k) };
        let top = above + 1.2 * LETTER + panel_height * j as f64;
        let frame = [left + each * i as f64 + 1.5, top, each - 5.0, frame_height];
        draw_panel(&mut canvas, panel, frame, row)?;
        if i == 0 {
            for (n, effect) in effects.iter().enumerate() {
                let y = top + 0.75 + row * (n as f64 + 0.5) + 0.36 * LETTER;
                canvas.text([left - 1.2, y], effect, lettering)?;
            }
        }
    }
    Ok(canvas)
}

fn budget_legend(panels: &[Panel]) -> Vec<Entry> {
    let mut entries = vec![
        Entry { text: "root mean square".into(), pen: None, mark: Some((Mark::Disc, Ink::Series(0))) },
        Entry { text: "99 % of the area".into(), pen: None, mark: Some((Mark::Ring, Ink::Series(0))) },
        Entry {
            text: "tolerance, its value above it".into(),
            pen: Some(Pen::new(0.35, Ink::Limit).dashed(1.8, 0.9)),
            mark: None,
        },
    ];
    if panels.iter().any(|p| p.errors.iter().any(Option::is_some)) {
        entries.push(Entry {
            text: "estimated numerical error".into(),
            pen: None,
            mark: Some((Mark::Triangle, Ink::Soft)),
        });
    }
    entries
}

fn draw_panel(canvas: &mut Canvas, panel: &Panel, frame: [f64; 4], row: f64) -> Result<()> {
    let [left, top, width, height] = frame;
    let numbers = panel.values.iter().flatten().chain(panel.errors.iter().flatten()).chain([&panel.tolerance]);
    // what is a ten-thousandth of the tolerance is as good as nothing
    let least = 1e-4 * panel.tolerance;
    let scale = Scale::logarithmic(numbers.map(|x| x.max(least)));
    let x = |value: f64| left + width * scale.part(value.max(scale.from));
    let mut edge = f64::NEG_INFINITY;
    let small = Lettering::small(Anchor::Middle);
    for tick in scale.ticks((width / 8.5).max(2.0) as usize) {
        let at = x(tick.value);
        canvas.line(&[[at, top + height], [at, top + height + 0.9]], Pen::new(0.2, Ink::Soft));
        if !tick.label.is_empty() {
            canvas.line(&[[at, top], [at, top + height]], Pen::new(0.12, Ink::Grid));
            let half = 0.5 * small.width(&tick.label)?;
            if at - half > edge + 0.8 {
                canvas.text([at, top + height + 1.2 + SMALL], &tick.label, small)?;
                edge = at + half;
            }
        }
    }
    for (n, (value, error)) in panel.values.iter().zip(&panel.errors).enumerate() {
        let y = top + 0.75 + row * (n as f64 + 0.5);
        let [rms, largest] = value.map(|v| x(v.abs()));
        canvas.line(&[[rms, y], [largest, y]], Pen::new(0.7, Ink::Series(0)));
        super::axes::draw_mark(canvas, [largest, y], Mark::Ring, Ink::Series(0));
        super::axes::draw_mark(canvas, [rms, y], Mark::Disc, Ink::Series(0));
        if let Some(error) = error {
            super::axes::draw_mark(canvas, [x(*error), y + 1.6], Mark::Triangle, Ink::Soft);
        }
    }
    let limit = x(panel.tolerance);
    canvas.line(&[[limit, top], [limit, top + height]], Pen::new(0.35, Ink::Limit).dashed(1.8, 0.9));
    let value = short(panel.tolerance, 3);
    let half = 0.5 * small.width(&value)?;
    canvas.text([limit.clamp(left + half, left + width - half), top - 0.9], &value, small.ink(Ink::Limit))?;
    canvas.line(&[[left, top + height], [left + width, top + height]], Pen::new(0.25, Ink::Soft));
    canvas.text([left + 0.5 * width, top + height + 2.2 + 2.1 * LETTER], &panel.name, Lettering::label(Anchor::Middle))
}

/// One measure along a sweep.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    /// Name with unit.
    pub name: String,
    /// What the user can live with.
    pub tolerance: f64,
    /// Its values, one per step of the sweep, of each effect; the order is that of the names, all of them together last.
    pub values: Vec<Vec<f64>>,
    /// Inertia by its first order alone, where there is a second.
    pub by_first: Option<FirstOrder>,
}

/// What the second order of inertia is seen beside.
#[derive(Debug, Clone, PartialEq)]
pub struct FirstOrder {
    /// Which of the effects has both.
    pub effect: usize,
    /// Values with the first alone.
    pub values: Vec<f64>,
    /// What the orders after the second may change.
    pub next: Vec<f64>,
}

/// Curves of a sweep against their tolerances. Steps at which first order is no longer quantitative are marked by rings.
///
/// # Errors
/// [`crate::base::Error::Failed`] if the font lacks a character.
pub fn sweep_curves(
    style: Style,
    x_name: &str,
    steps: &[f64],
    quantitative: &[bool],
    effects: &[String],
    curves: &[Curve],
) -> Result<Canvas> {
    let of_effect = |(n, name): (usize, &String)| Entry {
        text: name.clone(),
        pen: Some(style.series(n)),
        mark: Some((Mark::Disc, Ink::Series(n))),
    };
    let mut entries: Vec<Entry> = effects.iter().enumerate().map(of_effect).collect();
    entries.push(Entry {
        text: "tolerance".into(),
        pen: Some(Pen::new(0.35, Ink::Limit).dashed(1.8, 0.9)),
        mark: None,
    });
    if let Some(first) = curves.iter().find_map(|curve| curve.by_first.as_ref()) {
        let name = effects.get(first.effect).map_or("", String::as_str);
        entries.push(Entry { text: format!("{name}, first order"), pen: Some(thin(style, first.effect)), mark: None });
        let band = Some(Pen::new(2.2, Ink::Grid));
        entries.push(Entry { text: "what orders after the second may change".into(), pen: band, mark: None });
    }
    if quantitative.iter().any(|q| !q) {
        let text = "a local inertia number above 1".to_owned();
        entries.push(Entry { text, pen: None, mark: Some((Mark::Ring, Ink::Series(0))) });
    }
    let width = style.column.width() - 3.0;
    let above = 1.0 + legend(None, [0.0; 2], width, &entries)?;
    let side_by_side = style.column == Column::Double;
    let each = if side_by_side { style.column.width() / curves.len().max(1) as f64 } else { style.column.width() };
    let panel = 46.0 + 5.2 * LETTER;
    let rows = if side_by_side { 1 } else { curves.len() };
    let mut canvas = Canvas::new("sweep", "Departures along the sweep", above + panel * rows as f64 + 1.0, style);
    legend(Some(&mut canvas), [1.5, 1.0], width, &entries)?;
    let x = Scale::by_ratio(steps.iter().copied(), 8.0, 4);
    for (k, curve) in curves.iter().enumerate() {
        let (i, j) = if side_by_side { (k, 0) } else { (0, k) };
        // what is a ten-thousandth of the tolerance is as good as nothing
        let least = 1e-4 * curve.tolerance;
        let by_first = curve.by_first.iter().flat_map(|first| &first.values);
        let values = curve.values.iter().flatten().chain(by_first).map(|v| v.max(least)).chain([curve.tolerance]);
        let [low, high] = super::cell::extremes(values.clone());
        let y = if low > 0.0 && high > 12.0 * low {
            Scale::logarithmic(values)
        } else {
            Scale::linear(values.chain([0.0]), 4)
        };
        let top = above + 1.9 * LETTER + panel * j as f64;
        let axes = Axes { frame: [each * i as f64 + 13.5, top, each - 17.0, 46.0], x, y };
        axes.draw(&mut canvas, x_name, &curve.name)?;
        if let Some((first, whole)) = curve.by_first.as_ref().and_then(|f| Some((f, curve.values.get(f.effect)?))) {
            let side = |sign: f64| -> Vec<[f64; 2]> {
                let of = whole.iter().zip(&first.next).map(|(v, next)| (v + sign * next).max(least));
                steps.iter().copied().zip(of).map(|(x, y)| [x, y]).collect()
            };
            axes.between(&mut canvas, &side(-1.0), &side(1.0), Ink::Grid)?;
            let points: Vec<[f64; 2]> = steps.iter().zip(&first.values).map(|(x, y)| [*x, y.max(least)]).collect();
            axes.line(&mut canvas, &points, thin(style, first.effect))?;
        }
        axes.limit(&mut canvas, curve.tolerance, "")?;
        for (n, values) in curve.values.iter().enumerate() {
            let points: Vec<[f64; 2]> = steps.iter().zip(values).map(|(x, y)| [*x, y.max(least)]).collect();
            axes.line(&mut canvas, &points, style.series(n))?;
            for (wanted, mark) in [(true, Mark::Disc), (false, Mark::Ring)] {
                let chosen = points.iter().zip(quantitative).filter(|(_, q)| **q == wanted).map(|(p, _)| *p);
                axes.marks(&mut canvas, &chosen.collect::<Vec<_>>(), mark, Ink::Series(n));
            }
        }
    }
    Ok(canvas)
}

/// A thinner line of a series, dashed.
fn thin(style: Style, series: usize) -> Pen {
    let pen = style.series(series);
    Pen { width: 0.6 * pen.width, ..pen }.dashed(1.0, 0.8)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::figure::Palette;

    /// Every measure has its tolerance in figures at its line, and its error under each bar.
    #[test]
    fn a_budget_shows_errors_and_the_value_of_each_tolerance() {
        let effects = ["edge layer".to_owned(), "inertia".to_owned()];
        let panel = |name: &str, tolerance: f64| Panel {
            name: name.into(),
            tolerance,
            values: vec![[0.3 * tolerance, tolerance], [1e-3 * tolerance, 2e-3 * tolerance]],
            errors: vec![Some(0.05 * tolerance), Some(1e-3 * tolerance)],
        };
        let panels = [panel("speed, % of U", 2.25), panel("direction, degrees", 1.5), panel("shift, mm", 0.125)];
        for column in [Column::Single, Column::Double] {
            let canvas = budget_bars(Style { palette: Palette::Colour, column }, &effects, &panels).unwrap();
            assert!(canvas.crowded().is_empty(), "{:?}", canvas.crowded());
            for value in ["2.25", "1.5", "0.125"] {
                assert_eq!(canvas.texts().iter().filter(|t| t.text == value).count(), 1, "{value}");
            }
            // a triangle for each error, and one in the legend
            let soft = Ink::Soft.css(Palette::Colour, false);
            let svg = canvas.svg();
            let triangles = svg.lines().filter(|l| l.starts_with("<path") && l.contains(&format!("fill=\"{soft}\"")));
            assert_eq!(triangles.count(), 7, "{svg}");
        }
    }

    /// First order beside the second: a dashed line of that effect, a band about the whole, both in the legend; without them neither.
    #[test]
    fn a_sweep_shows_both_orders_of_inertia() {
        let effects = ["edge layer".to_owned(), "inertia".to_owned()];
        let steps = [0.1, 0.2, 0.4];
        let curve = |by_first: Option<FirstOrder>| Curve {
            name: "shift, 99 %, mm".into(),
            tolerance: 0.5,
            values: vec![vec![0.3; 3], vec![0.1, 0.22, 0.5]],
            by_first,
        };
        let drawn = |by_first: Option<FirstOrder>| {
            let style = Style { palette: Palette::Colour, column: Column::Single };
            sweep_curves(style, "Re*", &steps, &[true; 3], &effects, &[curve(by_first)]).unwrap()
        };
        let first = FirstOrder { effect: 1, values: vec![0.1, 0.2, 0.4], next: vec![0.0, 0.01, 0.05] };
        let (with, without) = (drawn(Some(first)), drawn(None));
        let said = |canvas: &Canvas, text: &str| canvas.texts().iter().any(|t| t.text == text);
        for text in ["inertia, first order", "what orders after the second may change"] {
            assert!(said(&with, text) && !said(&without, text), "{text}");
        }
        let shapes = |canvas: &Canvas, ink: Ink| {
            canvas.svg().matches(&format!("fill=\"{}\"", ink.css(Palette::Colour, false))).count()
        };
        assert_eq!(shapes(&with, Ink::Grid), shapes(&without, Ink::Grid) + 1);
        let dashes = |canvas: &Canvas| canvas.svg().matches("stroke-dasharray=\"1 0.8\"").count();
        assert!(dashes(&with) >= 2 && dashes(&without) == 0, "{}", dashes(&with));
        assert!(with.crowded().is_empty(), "{:?}", with.crowded());
    }
}
