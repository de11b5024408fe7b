//! `figures/uncertainty.*`: what the variance of each number comes from.

use super::labels::{shown, words};
use crate::base::Result;
use crate::base::units::significant;
use crate::input::campaign::shown as shown_difference;
use crate::report::figure::{Bar, Bars, Canvas, MOST_SOURCES, Style, share_bars};
use crate::report::{FigureSettings, Origin};
use crate::study::campaign::uncertainty::{Known, Uncertainties};

/// Most bars.
const MOST_BARS: usize = 32;
/// Least share of what is no single input's that is shown.
const LEAST: f64 = 0.005;

impl Uncertainties {
    /// The figure; none if the tolerances change nothing of what matters most.
    ///
    /// # Errors
    /// [`crate::base::Error::Failed`] if it cannot be drawn.
    pub fn figures(&self, settings: &FigureSettings) -> Result<Vec<Canvas>> {
        let main: Vec<&Known> = self.main().collect();
        if main.is_empty() {
            return Ok(Vec::new());
        }
        let order = self.order(&main);
        let (single, others) = match order.len() > MOST_SOURCES {
            true => order.split_at(MOST_SOURCES - 1),
            false => (order.as_slice(), &[][..]),
        };
        let name = |k: &usize| {
            let input = &self.inputs[*k];
            shown(&format!("{} (±\u{a0}{})", input.key.typed, shown_difference(input.dimension, input.tolerance)))
        };
        let mut sources: Vec<String> = single.iter().map(name).collect();
        if !others.is_empty() {
            sources.push(format!("{} others", others.len()));
        }
        let bars: Vec<Bar> = main.iter().take(MOST_BARS).map(|row| bar(row, single, others)).collect();
        let mut title = "What the uncertainty of each number comes from".to_owned();
        if main.len() > MOST_BARS {
            title += &format!("; of {} numbers the first {MOST_BARS}", main.len());
        }
        let drawn = self.drawn(settings.style, &title, &sources, &bars)?;
        Ok(vec![drawn.stamped(&Origin::of(&self.case))])
    }

    fn drawn(&self, style: Style, title: &str, sources: &[String], bars: &[Bar]) -> Result<Canvas> {
        let ends = "one standard uncertainty";
        share_bars(style, &Bars { name: "uncertainty", title, sources, rest: "several together", ends, bars })
    }

    /// The inputs, that with the largest share in all numbers first.
    fn order(&self, main: &[&Known]) -> Vec<usize> {
        let weight = |k: usize| main.iter().map(|row| row.first[k].max(0.0)).sum::<f64>();
        let mut order: Vec<usize> = (0..self.inputs.len()).collect();
        order.sort_by(|&a, &b| weight(b).total_cmp(&weight(a)));
        order
    }
}

/// The shares of single inputs, of the others, and what only several together make.
fn bar(row: &Known, single: &[usize], others: &[usize]) -> Bar {
    let share = |k: usize| row.first[k].max(0.0);
    let mut shares: Vec<f64> = single.iter().map(|&k| share(k)).collect();
    if !others.is_empty() {
        shares.push(others.iter().map(|&k| share(k)).sum());
    }
    let rest = 1.0 - shares.iter().sum::<f64>();
    let end = match row.relative() {
        Some(relative) => format!("±\u{a0}{} %", significant(100.0 * relative, 2)),
        None => format!("±\u{a0}{} {}", significant(row.standard, 2), row.unit),
    };
    Bar { name: words(&row.path), shares, rest: if rest > LEAST { rest } else { 0.0 }, end: shown(end.trim()) }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Of six inputs or fewer each has its share, of more the small ones are put together; what first-order shares leave of the variance is
    /// that of several together, and rounding is none.
    #[test]
    fn shares_add_up_to_the_variance() {
        let row = |first: Vec<f64>| Known {
            path: "drive.head_m".into(),
            unit: "m",
            value: 2.0,
            is_main: true,
            numerical: None,
            standard: 0.05,
            interval: [1.9, 2.1],
            total: first.clone(),
            first,
            curved: 0.0,
            left: 0.0,
        };
        let of = bar(&row(vec![0.5, 0.3]), &[1, 0], &[]);
        assert_eq!((of.shares, (10.0 * of.rest).round()), (vec![0.3, 0.5], 2.0));
        assert_eq!((of.name.as_str(), of.end.as_str()), ("head (drive)", "±\u{a0}2.5 %"));
        let of = bar(&row(vec![0.5, 0.3, 0.1, 0.0999]), &[0, 1], &[2, 3]);
        assert!((of.shares[2] - 0.1999).abs() < 1e-12 && of.rest == 0.0);
        let zero = Known { value: 0.0, ..row(vec![1.0]) };
        assert_eq!(bar(&zero, &[0], &[]).end, "±\u{a0}0.050 m");
    }
}
