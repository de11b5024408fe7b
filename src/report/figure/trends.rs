//! A quantity over what was varied, with its errors: lines with marks over numbers, marks over words.

use super::axes::{Axes, Entry, Mark, legend, shortened};
use super::canvas::Canvas;
use super::lettering::{Anchor, Lettering};
use super::named_ticks::NamedTicks;
use super::scale::Scale;
use super::style::{Ink, LETTER, SMALL, Style};
use crate::base::Result;

/// Most steps that have marks and errors of their own; of more the errors are a band.
const MARKED: usize = 60;
/// Ratio of the largest to the least value beyond which a scale is logarithmic.
const RATIO: f64 = 12.0;
/// How far curves over words stand apart, in steps.
const APART: f64 = 0.12;

/// What stands along the axis.
#[derive(Debug, Clone, PartialEq)]
pub enum Steps {
    /// Numbers, rising.
    Numbers(Vec<f64>),
    /// Words.
    Names(Vec<String>),
}

impl Steps {
    /// How many there are.
    pub fn count(&self) -> usize {
        match self {
            Steps::Numbers(numbers) => numbers.len(),
            Steps::Names(names) => names.len(),
        }
    }
}

/// A value with its error.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// The value.
    pub value: f64,
    /// Its estimated error.
    pub error: Option<f64>,
}

/// One curve.
#[derive(Debug, Clone, PartialEq)]
pub struct Trend {
    /// Its name in the legend.
    pub name: String,
    /// What was found at each step; none is a gap.
    pub readings: Vec<Option<Reading>>,
}

/// A quantity over what was varied.
#[derive(Debug, Clone, PartialEq)]
pub struct Trends<'a> {
    /// Name of the files.
    pub name: &'a str,
    /// What it shows, for readers who cannot see it.
    pub title: &'a str,
    /// What is varied, with its unit.
    pub x_name: &'a str,
    /// What is shown, with its unit.
    pub y_name: &'a str,
    /// The steps.
    pub steps: &'a Steps,
    /// What tells the curves apart; empty if there is but one.
    pub by: &'a str,
    /// The curves, six at most to be told apart.
    pub curves: &'a [Trend],
}

/// Draws it. Curves differ by marks, in grey also by dashes; the legend stands above the frame.
///
/// # Errors
/// [`crate::base::Error::Failed`] if the font lacks a character.
pub fn trends(style: Style, of: &Trends) -> Result<Canvas> {
    let Trends { steps, curves, .. } = *of;
    let (over_numbers, marked) = (matches!(steps, Steps::Numbers(_)), steps.count() <= MARKED);
    let pen = |k: usize| over_numbers.then(|| style.series(k));
    let mark = |k: usize| marked.then_some((Mark::series(k), Ink::Series(k)));
    let mut entries = Vec::new();
    if !of.by.is_empty() {
        entries.push(Entry { text: format!("{}:", of.by), pen: None, mark: None });
        let of_curve = |(k, c): (usize, &Trend)| Entry { text: c.name.clone(), pen: pen(k), mark: mark(k) };
        entries.extend(curves.iter().enumerate().map(of_curve));
    }
    let width = style.column.width();
    let above = 1.0 + legend(None, [0.0; 2], width - 3.0, &entries)?;
    let [frame_left, frame_width] = [17.0, width - 24.0];
    let height = (0.42 * width).clamp(48.0, 72.0);
    let ticks = match steps {
        Steps::Numbers(_) => None,
        Steps::Names(names) => Some(NamedTicks::below(names, frame_width)?),
    };
    let depth = ticks.as_ref().map_or(1.2 + SMALL, |ticks| ticks.depth);
    let top = above + 2.0 * LETTER;
    let whole = top + height + depth + 0.4 - SMALL + 2.1 * LETTER + 0.3 * LETTER + 1.0;
    let mut canvas = Canvas::new(of.name, of.title, whole, style);
    legend(Some(&mut canvas), [1.5, 1.0], width - 3.0, &entries)?;
    let ends = |r: &Reading| {
        let error = r.error.unwrap_or(0.0);
        [r.value - error, r.value, r.value + error]
    };
    let values = || curves.iter().flat_map(|curve| curve.readings.iter().flatten());
    let above_zero = values().all(|r| r.value > 0.0);
    let by_value = Scale::by_ratio(values().map(|r| r.value), RATIO, 5);
    let y = if by_value.log && above_zero {
        Scale::logarithmic(values().flat_map(ends).filter(|x| *x > 0.1 * by_value.from))
    } else {
        Scale::linear(values().flat_map(ends), 5)
    };
    let axes = Axes { frame: [frame_left, top, frame_width, height], x: along(steps), y };
    axes.ticks_upwards(&mut canvas)?;
    match &ticks {
        Some(ticks) => ticks.draw_below(&mut canvas, axes.frame)?,
        None => axes.ticks_along(&mut canvas)?,
    }
    let label = Lettering::label(Anchor::Middle);
    let x_name = shortened(of.x_name, 2.0 * (width - 1.0 - frame_left - 0.5 * frame_width), label)?;
    let y_name = shortened(of.y_name, width - frame_left + 10.0, label)?;
    axes.named(&mut canvas, &x_name, &y_name, depth)?;
    // the first in the foreground
    for (k, curve) in curves.iter().enumerate().rev() {
        let middle = 0.5 * curves.len().saturating_sub(1) as f64;
        let aside = if over_numbers { 0.0 } else { APART * (k as f64 - middle) };
        draw(&mut canvas, &axes, (steps, aside), curve, k, marked)?;
    }
    Ok(canvas)
}

fn draw(
    canvas: &mut Canvas,
    axes: &Axes,
    (steps, aside): (&Steps, f64),
    curve: &Trend,
    k: usize,
    marked: bool,
) -> Result<()> {
    let x = |step: usize| match steps {
        Steps::Numbers(numbers) => numbers.get(step).copied().unwrap_or(f64::NAN),
        Steps::Names(_) => step as f64 + aside,
    };
    let of = |(step, reading): (usize, &Option<Reading>)| match reading {
        Some(Reading { value, error }) => [x(step), *value, error.unwrap_or(0.0)],
        None => [x(step), f64::NAN, 0.0],
    };
    let places: Vec<[f64; 3]> = curve.readings.iter().enumerate().map(of).collect();
    let pairs: Vec<[f64; 2]> = places.iter().map(|[x, y, _]| [*x, *y]).collect();
    if marked {
        axes.errors(canvas, &places, Ink::Series(k))?;
    } else {
        for run in places.split(|[_, y, _]| y.is_nan()) {
            let side = |sign: f64| run.iter().map(|[x, y, e]| [*x, y + sign * e]).collect::<Vec<_>>();
            axes.between(canvas, &side(-1.0), &side(1.0), Ink::Grid)?;
        }
    }
    if matches!(steps, Steps::Numbers(_)) {
        axes.line(canvas, &pairs, canvas.style.series(k))?;
    }
    if marked || matches!(steps, Steps::Names(_)) {
        axes.marks(canvas, &pairs, Mark::series(k), Ink::Series(k));
    }
    Ok(())
}

/// The scale of the steps, with some room at both ends.
fn along(steps: &Steps) -> Scale {
    match steps {
        Steps::Names(names) => Scale { from: -0.5, to: names.len() as f64 - 0.5, log: false },
        Steps::Numbers(numbers) => {
            let scale = Scale::by_ratio(numbers.iter().copied(), RATIO, 5);
            match numbers.as_slice() {
                [first, .., last] if !scale.log && last > first => {
                    let room = 0.03 * (last - first);
                    Scale { from: first - room, to: last + room, log: false }
                }
                _ => scale,
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::figure::{Column, Palette};

    fn reading(value: f64, error: f64) -> Option<Reading> {
        Some(Reading { value, error: Some(error) })
    }

    /// Both widths and palettes.
    fn styles() -> impl Iterator<Item = Style> {
        let palettes = [Palette::Colour, Palette::Grey].into_iter();
        palettes.flat_map(|palette| [Column::Double, Column::Single].map(|column| Style { palette, column }))
    }

    /// The steps of every path of an ink, mm, with its start: `M x y l dx dy ...`.
    fn paths(canvas: &Canvas, ink: Ink) -> Vec<Vec<[f64; 2]>> {
        let ink = ink.css(canvas.style.palette, false);
        let svg = canvas.svg();
        let lines = svg.lines().filter(|line| line.contains(&format!("stroke=\"{ink}\"")) && line.contains("d=\"M"));
        let data = lines.flat_map(|line| line.split("d=\"").nth(1).unwrap().split('"').next().unwrap().split('M'));
        let numbers = |text: &str| -> Vec<f64> {
            let spaced = text.replace('-', " -").replace(['l', 'z'], " ");
            spaced.split_whitespace().map(|x| x.parse().unwrap()).collect()
        };
        data.filter(|d| !d.trim().is_empty()).map(|d| numbers(d).chunks(2).map(|p| [p[0], p[1]]).collect()).collect()
    }

    /// Upright lines are twice the error long in the scale of y, and a gap breaks the curve: five steps, one of them missing, values from 1 to
    /// 5 with errors of 0.5: the frame of y goes from 0 to 6. Paths are written to a micrometre.
    #[test]
    fn errors_have_their_length_and_gaps_break_lines() {
        let readings = vec![reading(1.0, 0.5), reading(2.0, 0.0), None, reading(4.0, 0.25), reading(5.0, 0.5)];
        let steps = Steps::Numbers(vec![0.0, 1.0, 2.0, 3.0, 4.0]);
        let curves = [Trend { name: "a".into(), readings }];
        let of = Trends { name: "a", title: "b", x_name: "x, mm", y_name: "y", steps: &steps, by: "", curves: &curves };
        for style in styles() {
            let canvas = trends(style, &of).unwrap();
            assert!(canvas.crowded().is_empty(), "{:?}", canvas.crowded());
            let height = (0.42 * style.column.width()).clamp(48.0, 72.0);
            let paths = paths(&canvas, Ink::Series(0));
            let upright = |p: &&Vec<[f64; 2]>| p.len() == 2 && p[1][0] == 0.0;
            let mut lengths: Vec<f64> = paths.iter().filter(upright).map(|p| p[1][1].abs()).collect();
            lengths.sort_by(f64::total_cmp);
            assert_eq!(lengths.len(), 3, "{paths:?}");
            for (length, error) in lengths.iter().zip([0.25, 0.5, 0.5]) {
                assert!((length - 2.0 * error * height / 6.0).abs() < 2e-3, "{length} {error}");
            }
            // two stretches of the curve, of two steps each
            let slanted = paths.iter().filter(|p| p.len() == 2 && p[1][0] != 0.0 && p[1][1] != 0.0).count();
            assert_eq!(slanted, 2, "{paths:?}");
        }
    }

    /// Over words there are marks and no lines between them; six curves have six marks, apart from one another, each in the legend; long
    /// names run upwards, and nothing overlaps.
    #[test]
    fn words_have_marks_alone() {
        let names: Vec<String> = (1..=9).map(|k| format!("outlines/seal_with_long_name_{k}.csv")).collect();
        let steps = Steps::Names(names);
        let curve = |k: usize| Trend {
            name: format!("{k} mm/s"),
            readings: (0..9).map(|s| reading((1 + s) as f64 * 10f64.powi(k as i32), 0.0)).collect(),
        };
        let curves: Vec<Trend> = (0..6).map(curve).collect();
        let (x_name, y_name) = ("file (obstacle, seal)", "head (drive), mm");
        let of = Trends { name: "a", title: "b", x_name, y_name, steps: &steps, by: "speed", curves: &curves };
        for style in styles() {
            let canvas = trends(style, &of).unwrap();
            assert!(canvas.crowded().is_empty(), "{:?}", canvas.crowded());
            for k in 0..6 {
                assert!(canvas.texts().iter().any(|t| t.text == format!("{k} mm/s")));
                let long = paths(&canvas, Ink::Series(k)).iter().flatten().skip(1).filter(|p| p[0] > 5.0).count();
                assert!(k == 5 || long == 0, "a line between words, curve {k}");
            }
            assert_eq!(canvas.texts().iter().filter(|t| t.area[3] - t.area[1] > 15.0).count(), 9);
        }
    }

    /// Of many steps each has no mark, errors are a band.
    #[test]
    fn many_steps_have_a_band() {
        let steps = Steps::Numbers((0..200).map(f64::from).collect());
        let readings = (0..200).map(|k| reading(f64::from(k).sin(), 0.1)).collect();
        let curves = [Trend { name: String::new(), readings }];
        let of = Trends { name: "a", title: "b", x_name: "x", y_name: "y", steps: &steps, by: "", curves: &curves };
        let canvas = trends(Style::default(), &of).unwrap();
        let svg = canvas.svg();
        assert!(
            !svg.contains("<circle") && svg.contains(&format!("fill=\"{}\"", Ink::Grid.css(Palette::Colour, false)))
        );
    }
}
