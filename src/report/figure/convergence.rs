//! The chart of a convergence study: errors over mesh size with slopes to compare with, and the guaranteed bounds.

use super::axes::{Axes, Entry, Mark, legend};
use super::canvas::Canvas;
use super::lettering::{Anchor, Lettering};
use super::scale::Scale;
use super::style::{Ink, LETTER, Pen, SMALL, Style};
use crate::base::units::significant;
use crate::base::{Point, Result};

/// Most triangles of slopes.
const SLOPES: usize = 3;

/// The errors of one quantity on a ladder of meshes.
#[derive(Debug, Clone, PartialEq)]
pub struct Course {
    /// What it is.
    pub name: String,
    /// Mesh size, m, and the distance of the value from the extrapolated or exact one over the size of that one.
    pub points: Vec<[f64; 2]>,
    /// Order that theory expects.
    pub expected_order: f64,
    /// Order observed.
    pub observed_order: Option<f64>,
}

/// Errors over mesh size in logarithmic scales, with a triangle for each expected slope. `half_widths` are mesh sizes, m, and half the
/// distance of two guaranteed bounds over the value, drawn as a broad line under the others; empty where there are none.
///
/// ```
/// use twinplate::report::figure::{Course, Style, convergence};
/// let course = Course {
///     name: "shape factor".into(),
///     points: vec![[0.04, 1.6e-3], [0.02, 4.1e-4], [0.01, 1.0e-4]],
///     expected_order: 2.0,
///     observed_order: Some(1.98),
/// };
/// let drawing = convergence(Style::default(), &[course], &[[0.04, 4e-3], [0.02, 1e-3], [0.01, 2.5e-4]])?;
/// assert!(drawing.svg().contains("shape factor, observed order 1.98"));
/// # Ok::<(), twinplate::Error>(())
/// ```
///
/// # Errors
/// [`crate::base::Error::Failed`] if the font lacks a character.
pub fn convergence(style: Style, courses: &[Course], half_widths: &[[f64; 2]]) -> Result<Canvas> {
    let broad = Pen::new(1.1, Ink::Pale);
    let mut entries = Vec::new();
    if !half_widths.is_empty() {
        entries.push(Entry {
            text: "shape factor, guaranteed half-width of its bounds".into(),
            pen: Some(broad),
            mark: None,
        });
    }
    for (k, course) in courses.iter().enumerate() {
        let order = match course.observed_order {
            Some(p) if p.is_finite() => format!(", observed order {p:.2}"),
            _ => String::new(),
        };
        let mark = Some((Mark::series(k), Ink::Series(k)));
        entries.push(Entry { text: format!("{}{order}", course.name), pen: Some(style.series(k)), mark });
    }
    let width = style.column.width() - 3.0;
    let above = 1.0 + legend(None, [0.0; 2], width, &entries)?;
    let height = (0.5 * style.column.width()).clamp(50.0, 80.0);
    let mut canvas = Canvas::new("convergence", "Errors over mesh size", above + height + 6.0 * LETTER, style);
    legend(Some(&mut canvas), [1.5, 1.0], width, &entries)?;
    let all = || courses.iter().flat_map(|c| &c.points).chain(half_widths);
    let axes = Axes {
        frame: [17.0, above + 2.0 * LETTER, style.column.width() - 24.0, height],
        x: Scale::logarithmic(all().map(|p| 1e3 * p[0])),
        y: Scale::logarithmic(all().map(|p| p[1].abs())),
    };
    axes.draw(&mut canvas, "mesh size √(area/triangles), mm", "error over the value (1)")?;
    let pairs = |points: &[[f64; 2]]| -> Vec<[f64; 2]> { points.iter().map(|[h, e]| [1e3 * h, e.abs()]).collect() };
    let bounds = pairs(half_widths);
    let drawn: Vec<Vec<[f64; 2]>> = courses.iter().map(|course| pairs(&course.points)).collect();
    let places = drawn.iter().chain([&bounds]).map(|line| line.iter().map(|p| axes.at(p[0], p[1])).collect());
    slopes(&mut canvas, &axes, courses, &places.collect::<Vec<Vec<Point>>>())?;
    axes.line(&mut canvas, &bounds, broad)?;
    for (k, points) in drawn.iter().enumerate() {
        axes.line(&mut canvas, points, style.series(k))?;
        axes.marks(&mut canvas, points, Mark::series(k), Ink::Series(k));
    }
    Ok(canvas)
}

/// One triangle for each expected order, where no line passes: from the right lower corner on to the left and up.
fn slopes(canvas: &mut Canvas, axes: &Axes, courses: &[Course], lines: &[Vec<Point>]) -> Result<()> {
    let mut orders: Vec<f64> = courses.iter().map(|c| c.expected_order).filter(|p| *p > 0.0 && p.is_finite()).collect();
    orders.sort_by(f64::total_cmp);
    orders.dedup_by(|a, b| (*a - *b).abs() < 0.05);
    let [left, top, width, height] = axes.frame;
    let across = |scale: Scale, part: f64| scale.from * (scale.to / scale.from).powf(part);
    let mut taken: Vec<[f64; 4]> = Vec::new();
    for order in orders.iter().take(SLOPES) {
        let name = format!("slope {}", significant(*order, 2));
        let label = 0.8 + Lettering::small(Anchor::Start).width(&name)?;
        let factor = (axes.x.to / axes.x.from).powf(0.1);
        let rise = height * (axes.y.part(across(axes.y, 0.0) * factor.powf(*order))).max(1.2 * SMALL / height);
        let size = [0.1 * width + label, rise];
        let corners = (0..30).flat_map(|j| (0..30).map(move |i| [i, j])).map(|[i, j]| {
            let [dx, dy] = [i, j].map(|k| f64::from(k) / 30.0);
            [left + (width - size[0] - 2.0) * (1.0 - dx), top + (height - size[1] - 2.0) * (1.0 - dy)]
        });
        let fits = |&[x, y]: &Point| {
            let area = [x - 1.5, y - 1.5, x + size[0] + 1.5, y + size[1] + 1.5];
            let apart = |b: &[f64; 4]| area[2] <= b[0] || b[2] <= area[0] || area[3] <= b[1] || b[3] <= area[1];
            y >= top && taken.iter().all(apart) && !lines.iter().any(|line| passes(line, area))
        };
        // nothing is better than a triangle over the lines
        let Some([x, y]) = corners.into_iter().find(fits) else { continue };
        taken.push([x, y, x + size[0], y + size[1]]);
        let corner = [across(axes.x, (x - left) / width), across(axes.y, 1.0 - (y + rise - top) / height)];
        axes.slope(canvas, corner, factor, *order, &name)?;
    }
    Ok(())
}

/// Whether a line has places inside a box: left, top, right, bottom.
fn passes(line: &[Point], [left, top, right, bottom]: [f64; 4]) -> bool {
    line.windows(2).any(|w| {
        (0..=64).any(|k| {
            let s = f64::from(k) / 64.0;
            let [x, y] = [0, 1].map(|i| w[0][i] + s * (w[1][i] - w[0][i]));
            left <= x && x <= right && top <= y && y <= bottom
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::figure::{Column, Palette};

    /// Errors of exact order 2 and 1: the triangles have the slopes of the lines on the drawing, stand off them, and nothing overlaps.
    #[test]
    fn triangles_have_the_slopes_of_exact_orders_and_stand_clear() {
        for (palette, column) in [(Palette::Colour, Column::Double), (Palette::Grey, Column::Single)] {
            let sizes: [f64; 4] = [0.02, 0.01, 0.005, 0.0025];
            let course = |order: f64, factor: f64| Course {
                name: format!("of order {order}"),
                points: sizes.iter().map(|h| [*h, factor * h.powf(order)]).collect(),
                expected_order: order,
                observed_order: Some(order),
            };
            // the second falls so far that it runs through the right lower corner
            let courses = [course(2.0, 1.0), course(1.0, 1e-8)];
            let canvas = convergence(Style { palette, column }, &courses, &[]).unwrap();
            assert!(canvas.crowded().is_empty(), "{:?}", canvas.crowded());
            let svg = canvas.svg();
            let triangles: Vec<f64> = svg
                .lines()
                .filter(|line| line.contains("fill-rule") && line.contains("stroke="))
                .filter_map(steepness)
                .collect();
            let all = || courses.iter().flat_map(|c| &c.points);
            let (x, y) = (Scale::logarithmic(all().map(|p| 1e3 * p[0])), Scale::logarithmic(all().map(|p| p[1])));
            let [_, _, width, height] = [0.0, 0.0, column.width() - 24.0, (0.5 * column.width()).clamp(50.0, 80.0)];
            let unit = (height / (y.to / y.from).ln()) / (width / (x.to / x.from).ln());
            // drawn to a micrometre on sides of some millimetres
            for (found, order) in triangles.iter().zip([1.0, 2.0]) {
                assert!((found / (order * unit) - 1.0).abs() < 2e-3, "{found} {order} {unit}");
            }
            assert_eq!(triangles.len(), 2, "{svg}");
        }
    }

    /// Rise over run of a triangle path `M x y l dx 0 l 0 -dy z`.
    fn steepness(line: &str) -> Option<f64> {
        let data = line.split("d=\"M").nth(1)?.split('"').next()?.trim_end_matches('z');
        let steps: Vec<Vec<f64>> = data
            .split('l')
            .skip(1)
            .map(|step| step.replace('-', " -").split_whitespace().filter_map(|x| x.parse().ok()).collect())
            .collect();
        match steps.as_slice() {
            [across, up] if across.len() == 2 && up.len() == 2 && across[1] == 0.0 && up[0] == 0.0 => {
                Some(-up[1] / across[0])
            }
            _ => None,
        }
    }
}
