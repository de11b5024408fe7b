//! The log-log figure of a convergence study: errors against the Richardson value over the size of the mesh.

use super::ladder::Ladder;
use crate::Result;
use crate::convergence::Verdict;
use crate::figure::{Axes, Canvas, Column, Entry, Ink, Mark, Palette, Scale, Style, Weight, legend, text_width};

/// Most quantities drawn, so that lines stay apart.
const MOST: usize = 6;
/// Errors below this part of a value are rounding and are left out.
const LEAST: f64 = 1e-13;
const MARKS: [Mark; 4] = [Mark::Disc, Mark::Ring, Mark::Square, Mark::Triangle];

/// One line of the chart.
struct Course {
    name: String,
    /// Size, mm, and relative error.
    points: Vec<[f64; 2]>,
}

impl Ladder {
    /// Relative errors over the size of the mesh in logarithmic scales: the guaranteed half-width of the shape factor, and every
    /// quantity (six at most) against its Richardson value, with a triangle of the expected order.
    ///
    /// # Errors
    /// [`crate::Error::Failed`] if the font lacks a character of a name.
    pub fn figure(&self) -> Result<Canvas> {
        let style = Style { palette: Palette::Colour, column: Column::Double };
        let mut courses = vec![self.half_widths()];
        courses.extend((0..self.quantities.len()).filter_map(|k| self.course(k)).take(MOST - 1));
        courses.retain(|course| !course.points.is_empty());
        let entries: Vec<Entry> = courses
            .iter()
            .enumerate()
            .map(|(k, course)| Entry {
                text: course.name.clone(),
                pen: Some(style.series(k)),
                mark: Some((MARKS[k % 4], Ink::Series(k))),
            })
            .collect();
        let (left, top, width, height) = (18.0, 10.0, Column::Double.width() - 30.0, 82.0);
        let under = top + height + 14.0;
        let taken = legend(None, [left, under], width, &entries)?;
        let mut canvas = Canvas::new("convergence", "Errors over the size of the mesh", under + taken + 2.0, style);
        let all = || courses.iter().flat_map(|course| &course.points);
        let axes = Axes {
            frame: [left, top, width, height],
            x: Scale::logarithmic(all().map(|p| p[0])),
            y: Scale::logarithmic(all().map(|p| p[1])),
        };
        axes.draw(&mut canvas, "mesh size sqrt(area/N), mm", "relative error, 1")?;
        self.draw_slope(&mut canvas, &axes)?;
        for (k, course) in courses.iter().enumerate() {
            axes.line(&mut canvas, &course.points, style.series(k))?;
            axes.marks(&mut canvas, &course.points, MARKS[k % 4], Ink::Series(k));
        }
        legend(Some(&mut canvas), [left, under], width, &entries)?;
        Ok(canvas)
    }

    fn half_widths(&self) -> Course {
        let of = self.rungs.iter().map(|rung| {
            let [lower, upper] = rung.bounds;
            [1e3 * rung.size, (upper - lower) / (upper + lower)]
        });
        Course { name: "guaranteed half-width".into(), points: of.filter(|p| p[1] > LEAST).collect() }
    }

    /// Errors against the Richardson value; none where nothing could be extrapolated or where a bound would repeat the half-width.
    fn course(&self, k: usize) -> Option<Course> {
        let quantity = &self.quantities[k];
        let judgement = &quantity.judgement;
        let extrapolates = judgement.observed_order.is_some() && judgement.verdict != Verdict::Rounding;
        let repeats = quantity.name == "shape_factor.lower" || quantity.name == "shape_factor.upper";
        if !extrapolates || repeats || judgement.extrapolated == 0.0 {
            return None;
        }
        let limit = judgement.extrapolated;
        let of = self.rungs.iter().map(|rung| [1e3 * rung.size, ((rung.values[k] - limit) / limit).abs()]);
        // a name in letters the font lacks is no reason to draw nothing
        let drawn = text_width(&quantity.name, Weight::Regular).is_ok();
        let name = if drawn { quantity.name.clone() } else { format!("quantity {}", k + 1) };
        Some(Course { name, points: of.filter(|p| p[1] > LEAST).collect() })
    }

    /// The triangle of the order expected of the pattern, low in the right half of the frame.
    fn draw_slope(&self, canvas: &mut Canvas, axes: &Axes) -> Result<()> {
        let Some(order) = self.quantities.first().map(|q| q.expected) else { return Ok(()) };
        let factor = (axes.x.to / axes.x.from).powf(0.16);
        let x = axes.x.from * (axes.x.to / axes.x.from).powf(0.74);
        let y = axes.y.from * (axes.y.to / axes.y.from).powf(0.08);
        let rises = axes.y.part(y * factor.powf(order)) < 0.9;
        if rises { axes.slope(canvas, [x, y], factor, order, &format!("{order:.2}")) } else { Ok(()) }
    }
}
