//! The flow to expect before anything is solved: that of the empty cell, `dp = 12 μ U L_c/b²` (G. K. Batchelor 1967, sec. 4.8).
//!
//! Where the case gives speed or flow, obstacles raise the drop beyond this one; where it gives drop or head, they lower the flow.

use super::reference_length;
use crate::base::row::{Kind, Row, Section};
use crate::base::units::{Dimension, GRAVITY};
use crate::geometry::Plan;
use crate::input::case::{Case, CellShape, DriveQuantity, Reynolds, estimated_drop};
use crate::theory::ideal::{Goal, solve_ideal};
use std::sync::Arc;

/// The flow through the empty cell.
#[derive(Debug, Clone, PartialEq)]
pub struct Expected {
    /// Mean speed, m/s.
    pub speed: f64,
    /// Flow rate, m3/s.
    pub flow: f64,
    /// Pressure drop, Pa.
    pub drop: f64,
    /// Head, m.
    pub head: f64,
    /// Time from end to end at the mean speed, s.
    pub transit: f64,
    /// The Reynolds numbers.
    pub reynolds: Reynolds,
    /// Whether the case gives the drop, so that speed and flow are the estimate.
    pub drop_given: bool,
    /// Where the reference length comes from: the name of an obstacle, the case, or the width.
    pub length_of: String,
}

/// Estimates the flow of a case.
pub fn expected(case: &Case, plan: &Plan) -> Expected {
    let width = case.cell.inlet_width();
    let length = like_channel(case);
    let gap = case.cell.middle_gap();
    let reference = reference_length(case, plan);
    let fluid = &case.fluid;
    // the reference length is known, so that there always is an estimate
    let drop = estimated_drop(&case.drive, fluid, [length, width], gap, Some(reference)).unwrap_or_default();
    let speed = drop * gap * gap / (12.0 * fluid.viscosity * length);
    let length_of = match (case.drive.reference_length, plan.widest()) {
        (Some(_), _) => "stated in the case".to_owned(),
        (None, Some(obstacle)) => format!("\"{}\"", obstacle.name),
        (None, None) => "the width of the inlet".to_owned(),
    };
    Expected {
        speed,
        flow: speed * width * gap,
        drop,
        head: drop / (fluid.density * GRAVITY),
        transit: case.cell.mean_way() / speed,
        reynolds: Reynolds::new(speed, reference, gap, fluid),
        drop_given: matches!(case.drive.quantity, DriveQuantity::PressureDrop(_) | DriveQuantity::Head(_)),
        length_of,
    }
}

/// Triangles on which a drawn cell is solved without its obstacles.
const COARSE: usize = 1500;

/// Squares of the empty cell: those of its shape, which are a guess for a drawn one, and that is solved on a coarse mesh in their place.
pub(super) fn empty_squares(case: &Case) -> f64 {
    let guess = case.cell.shape.squares();
    if !matches!(case.cell.shape, CellShape::Outlined(_)) {
        return guess;
    }
    let pieces = case.cell.shape.boundary();
    let all = 0..pieces.len();
    let plan = Arc::new(Plan { pieces, loops: vec![all], obstacles: vec![], notes: vec![] });
    solve_ideal(&plan, case, Goal::Triangles(COARSE), &|_| {})
        .map_or(guess, |solved| 2.0 / (solved.pair.lower + solved.pair.upper))
}

/// Length of the straight channel as wide as the inlet that resists as much as the empty cell, m.
fn like_channel(case: &Case) -> f64 {
    case.cell.shape.rectangle().map_or_else(|| empty_squares(case) * case.cell.inlet_width(), |[length, _]| length)
}

impl Expected {
    /// As rows.
    pub fn sections(&self) -> Vec<Section> {
        let row = |key: &'static str, name: &'static str, value: f64, dimension| {
            Row::new(key, name, value, Kind::Of(dimension)).digits(4)
        };
        let rows = vec![
            row("mean_speed_m_per_s", "mean speed", self.speed, Dimension::Speed),
            row("flow_rate_m3_per_s", "flow rate", self.flow, Dimension::FlowRate),
            Row::new("pressure_drop_pa", "pressure drop", self.drop, Kind::Pressure).digits(4),
            row("head_m", "head", self.head, Dimension::Length),
            row("transit_time_s", "transit time", self.transit, Dimension::Time),
            Row::new("reference_length_of", "L is that of", self.length_of.clone(), Kind::Number),
        ];
        let lower = if self.drop_given { "lower speed and flow" } else { "raise drop and head" };
        let flow = Section::finite("expected", format!("Flow of the empty cell; obstacles {lower}"), rows);
        vec![flow, self.reynolds.section()]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 2e-7 m3/s over 0.2 m by 1 mm is 1 mm/s; drop 12 * 1e-3 * 1e-3 * 0.4/1e-6 = 4.8 Pa; 400 s; Re* = 1e-3 * 1e-6/(1e-6 * 0.06) = 1/60.
    /// The same by its drop, and where 1 mm is the gap in the middle.
    #[test]
    fn the_empty_cell_is_computed_by_hand() {
        for (drive, given, gap) in [
            ("flow_rate = 2e-7", false, "1e-3"),
            ("flow_rate = 2e-7", false, "{ at = 1e-3, slope = [1e-4, 2e-4] }"),
            ("pressure_drop = 4.8", true, "1e-3"),
            ("reduced_reynolds = 0.016666666666666666", false, "1e-3"),
        ] {
            let text = format!(
                "[cell]\nlength = 0.4\nwidth = 0.2\ngap = {gap}\n[fluid]\ndensity = 1000\nviscosity = 1e-3\n[drive]\n{drive}\n\
                 [[obstacle]]\nname = 'buoy'\ncircle = {{ centre = [0.1, 0.1], diameter = 0.03 }}\n\
                 [[obstacle]]\nname = 'pier'\ncircle = {{ centre = [0.3, 0.1], diameter = 0.06 }}\n"
            );
            let case = crate::input::case::parse(&text, "case.toml".as_ref()).into_result().unwrap();
            let found = expected(&case, &Plan::new(&case, &mut Default::default()).unwrap());
            let close = |a: f64, b: f64| (a / b - 1.0).abs() < 1e-9;
            assert!(close(found.speed, 1e-3) && close(found.flow, 2e-7) && close(found.drop, 4.8), "{found:?}");
            assert!(close(found.transit, 400.0) && close(found.head, 4.8 / 9806.65), "{found:?}");
            assert!(close(found.reynolds.reduced, 1.0 / 60.0) && found.drop_given == given, "{found:?}");
            assert_eq!(found.length_of, "\"pier\"");
            let [flow, _] = &found.sections()[..] else { panic!("{found:?}") };
            assert!(flow.rows.iter().all(|row| row.digits == 4), "{flow:?}");
            let lower = if given { "obstacles lower speed and flow" } else { "obstacles raise drop and head" };
            assert!(flow.title.ends_with(lower), "{}", flow.title);
        }
    }
}
