//! The figure of a convergence study: errors against the Richardson value over the size of the mesh.

use super::Origin;
use crate::base::Result;
use crate::base::text::in_words;
use crate::report::figure::{Canvas, Course, Style, Weight, convergence, text_width};
use crate::study::Ladder;
use crate::theory::convergence::Standing;

/// Most quantities drawn, so that lines stay apart.
const MOST: usize = 5;
/// Errors below this part of a value are rounding and are left out.
const LEAST: f64 = 1e-13;

impl Ladder {
    /// Relative errors over the size of the mesh in logarithmic scales: the guaranteed half-width of the shape factor, and every
    /// quantity (five at most) against its Richardson value, with a triangle for each expected order.
    ///
    /// # Errors
    /// [`crate::base::Error::Failed`] if the font lacks a character.
    pub fn figure(&self, style: Style) -> Result<Canvas> {
        let courses: Vec<Course> = (0..self.quantities.len()).filter_map(|k| self.course(k)).take(MOST).collect();
        let of = self.rungs.iter().map(|rung| {
            let [lower, upper] = rung.bounds;
            [rung.size, (upper - lower) / (upper + lower)]
        });
        let figure = convergence(style, &courses, &of.filter(|p| p[1] > LEAST).collect::<Vec<_>>())?;
        Ok(figure.stamped(&Origin::of(&self.finest.case)))
    }

    /// Errors against the Richardson value; none where nothing could be extrapolated or where a bound would repeat the half-width.
    fn course(&self, k: usize) -> Option<Course> {
        let quantity = &self.quantities[k];
        let judgement = &quantity.judgement;
        let extrapolates = judgement.observed_order.is_some() && judgement.standing != Standing::Rounding;
        let repeats = quantity.name == "shape_factor.lower" || quantity.name == "shape_factor.upper";
        if !extrapolates || repeats || judgement.extrapolated == 0.0 {
            return None;
        }
        let limit = judgement.extrapolated;
        let of = self.rungs.iter().map(|rung| [rung.size, ((rung.values[k] - limit) / limit).abs()]);
        let points: Vec<[f64; 2]> = of.filter(|p| p[1] > LEAST).collect();
        // a name in letters the font lacks is no reason to draw nothing
        let name = in_words(&quantity.name);
        let drawn = text_width(&name, Weight::Regular).is_ok();
        let name = if drawn { name } else { format!("quantity {}", k + 1) };
        let (expected_order, observed_order) = (quantity.expected, judgement.observed_order);
        (!points.is_empty()).then_some(Course { name, points, expected_order, observed_order })
    }
}
