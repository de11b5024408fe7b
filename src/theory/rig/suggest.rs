//! What to change so that every departure stays within its tolerance, the easiest first. Each suggestion has been tried by scaling.

use super::{Judge, Limit, Outlook, State};
use crate::base::bisect::bisected;
use crate::base::units::fluid::glycerol_water;
use crate::base::units::{Dimension, rounded, significant};
use crate::input::case::FluidKind;
use crate::theory::edge_layer::Margin;

/// Widths of the edge band that are tried, over the present one.
const BANDS: [f64; 5] = [1.5, 2.0, 3.0, 4.0, 6.0];

/// Suggestions for a cell, the easiest first; the first says where it stands. `largest_speed` and `thickest_gap` are over those of the case.
pub fn suggestions(
    state: &State,
    outlook: &Outlook<'_>,
    largest_speed: Option<f64>,
    thickest_gap: Option<f64>,
) -> Vec<String> {
    let Some(column) = outlook.column(1.0) else {
        return vec!["The edge bands leave no fluid to observe: widen the channel or thin the gap.".into()];
    };
    let now = column.ratios(1.0, Judge::Share);
    let mut list = Vec::new();
    let speed = |factor: f64| Dimension::Speed.show(round(factor * outlook.speed));
    let flow = |factor: f64| Dimension::FlowRate.show(round(factor * state.flow));
    let slowest = outlook.dye.slowest();
    match largest_speed {
        Some(factor) if factor >= 1.0 => list.push(format!(
            "All departures are within their tolerances: the cell may run up to {} times faster, {} or {}.",
            significant(factor, 3),
            speed(factor),
            flow(factor)
        )),
        Some(factor) => {
            list.push(format!("Lower the flow to {} ({}): {} times slower.", flow(factor), speed(factor), significant(1.0 / factor, 3)));
            viscosity(state, factor, &mut list);
        }
        None => list.push(format!(
            "No speed brings the {} within reach: it is exceeded {} times even without inertia. Turning down the pump does not help.",
            now.binding_departure().name(),
            significant(without_inertia(outlook), 3)
        )),
    }
    if 1.01 * outlook.speed < slowest {
        list.push(format!(
            "Dye lines merge below {}: take fewer lines, or raise the flow to {}.",
            Dimension::Speed.show(round(slowest)),
            flow(slowest / outlook.speed)
        ));
    }
    if largest_speed.is_some_and(|factor| factor >= 1.0) {
        if let Some(factor) = thickest_gap.filter(|factor| *factor > 1.0) {
            list.push(format!(
                "Or the gap may be up to {} thick at this speed, which is easier to fill and to keep even.",
                Dimension::Length.show(round(factor * outlook.gap))
            ));
        }
    } else {
        band(outlook, &mut list);
        loosen(state, outlook, &mut list);
        gap(outlook, thickest_gap, &mut list);
        list.push(
            "Build larger: at the same gap a plan twice as large halves b/L, the edge layer's share, and at the same speed halves Re*.".into(),
        );
    }
    list
}

fn without_inertia(outlook: &Outlook<'_>) -> f64 {
    let ratios = outlook.column(1.0).map(|column| column.ratios(1e-9, Judge::Share));
    ratios.map_or(f64::NAN, |r| r.all[..3].iter().map(|(_, x)| *x).fold(0.0, f64::max))
}

/// Glycerol that raises ν as much as the speed would have to fall.
fn viscosity(state: &State, factor: f64, list: &mut Vec<String>) {
    let (least, t) = match state.fluid.kind {
        FluidKind::Stated => return,
        FluidKind::Water { temperature } => (0.0, temperature),
        FluidKind::GlycerolWater { fraction, temperature } => (fraction, temperature),
    };
    let wanted = state.nu() / factor;
    let nu = |c: f64| glycerol_water(c, t).map_or(0.0, |p| p.viscosity / p.density);
    if nu(1.0) < wanted {
        return;
    }
    let [_, enough] = bisected([least, 1.0], 50, |c| nu(c) < wanted);
    list.push(format!(
        "Or keep the speed and use glycerol-water with {} % of glycerol by mass (Cheng 2008), whose kinematic viscosity is {} times higher; \
         the head rises as much.",
        significant(100.0 * enough, 3),
        significant(1.0 / factor, 3)
    ));
}

fn band(outlook: &Outlook<'_>, list: &mut Vec<String>) {
    let now = outlook.region.margin.widest(outlook.space);
    let enough = BANDS.into_iter().find(|factor| {
        let wider = outlook.with_margin(Margin::Length(factor * now));
        let column = wider.column(1.0);
        column.is_some_and(|column| {
            let ratios = column.ratios(1.0, Judge::Share);
            ratios.all[..5].iter().all(|(_, ratio)| *ratio <= 1.0)
        })
    });
    list.push(match enough {
        Some(factor) => format!(
            "Leave out the fluid nearer than {} to solid edges ([departure] edge_band) instead of {}: beyond it all departures are within.",
            Dimension::Length.show(factor * now),
            Dimension::Length.show(now)
        ),
        None => format!(
            "Leaving out more of the fluid near edges does not help alone: even {} from them a departure is too large.",
            Dimension::Length.show(BANDS[BANDS.len() - 1] * now)
        ),
    });
}

fn loosen(state: &State, outlook: &Outlook<'_>, list: &mut Vec<String>) {
    let Some(column) = outlook.column(1.0) else { return };
    let over = column.ratios(1.0, Judge::Share).all.into_iter().filter(|(_, ratio)| *ratio > 1.0);
    let shown = over.filter_map(|(limit, ratio)| match limit {
        Limit::Speed => Some(format!("speed {} %", up(100.0 * ratio * state.tolerance.speed))),
        Limit::Direction => Some(format!("direction {} deg", up(ratio * state.tolerance.direction.to_degrees()))),
        Limit::Shift => Some(format!("shift {} mm", up(1e3 * ratio * state.tolerance.shift))),
        _ => None,
    });
    let shown: Vec<String> = shown.collect();
    if !shown.is_empty() {
        list.push(format!(
            "Live with more: tolerances that this cell meets at its worst place are {}; root mean squares are lower, see above.",
            shown.join(", ")
        ));
    }
}

fn gap(outlook: &Outlook<'_>, thickest: Option<f64>, list: &mut Vec<String>) {
    list.push(match thickest {
        Some(factor) => format!(
            "A thinner spacer: at this speed every departure is within for gaps up to {}.",
            Dimension::Length.show(round(factor * outlook.gap))
        ),
        None => format!(
            "A thinner spacer alone does not do: down to {} a departure is too large.",
            Dimension::Length.show(round(super::NARROWEST * outlook.gap))
        ),
    });
}

/// Three significant digits.
fn round(value: f64) -> f64 {
    rounded(value, 3)
}

/// Two significant digits, rounded up.
fn up(value: f64) -> String {
    let unit = 10f64.powf(value.log10().floor() - 1.0);
    significant((value / unit).ceil() * unit, 2)
}

#[cfg(test)]
mod tests {
    use super::up;

    /// A tolerance is loosened to the next number of two digits, never to one below.
    #[test]
    fn tolerances_are_rounded_up() {
        for (value, text) in [(1.21, "1.3"), (0.0341, "0.035"), (99.5, "100"), (7.0, "7.0"), (2.0, "2.0")] {
            assert_eq!(up(value), text);
        }
    }
}
