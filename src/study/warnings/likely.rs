//! Sizes and numbers that no cell of this kind has: mostly a unit that was forgotten.

use crate::base::units::{Dimension, significant};
use crate::base::warning::{Code, Warning};
use crate::input::case::Reynolds;
use crate::theory::streaklines::{FIRST_ORDER, is_beyond_first_order};

/// Largest gap, fraction of the width.
const GAP_TO_WIDTH: f64 = 0.2;
/// Largest b/L.
const GAP_TO_LENGTH: f64 = 0.2;
/// Largest Re_b; flow between plates is turbulent from some 1400 on (S. J. Davies & C. M. White 1928, Proc. R. Soc. A 119, 92, from
/// memory, by mean speed and gap), and ends and edges disturb it earlier.
const GAP_REYNOLDS: f64 = 500.0;
/// Largest side of a cell, m.
const SIDE: f64 = 10.0;
/// Largest length of a cell, widths.
const WIDTHS: f64 = 50.0;
/// Largest tolerance of the speed, fraction of the mean speed.
const TOLERANCE: f64 = 0.5;

/// What is looked at; lengths in m.
#[derive(Debug, Clone)]
pub(super) struct Likely {
    pub sides: [f64; 2],
    pub gap: f64,
    /// The smallest extent of an obstacle across the flow, and its name.
    pub smallest: Option<(String, f64)>,
    pub reynolds: Reynolds,
    /// Tolerance of the speed, fraction of the mean speed.
    pub tolerance: f64,
}

const UNITS: &str = "was a unit forgotten? Plain numbers are metres and SI; write them as in \"0.8 mm\"";

/// What is unlikely.
pub(super) fn unlikely(cell: &Likely) -> Vec<Warning> {
    let Likely { sides: [length, width], gap, ref smallest, reynolds: re, tolerance } = *cell;
    let show = |x: f64| Dimension::Length.show_to(x, 3);
    let mut list = Vec::new();
    let mut say = |code, due: bool, value: f64, message: String, remedy: &str| {
        if due {
            list.push(Warning::new(code, message, remedy).value(value));
        }
    };
    let message = format!("the cell is {} long and {} wide, more than {SIDE} m", show(length), show(width));
    say(Code::UnlikelySize, length.max(width) > SIDE, length.max(width), message, UNITS);
    let message = format!("the cell is {} long, more than {WIDTHS} times its width of {}", show(length), show(width));
    say(Code::UnlikelySize, length > WIDTHS * width, length / width, message, UNITS);
    let message = format!("the gap of {} is more than a fifth of the cell's width of {}", show(gap), show(width));
    say(Code::UnlikelyGap, gap > GAP_TO_WIDTH * width, gap / width, message, UNITS);
    if let Some((name, size)) = smallest {
        let message = format!("the gap of {} is more than the size of \"{name}\", {}", show(gap), show(*size));
        say(Code::UnlikelyGap, gap > *size, gap / size, message, UNITS);
    }
    let ratio = gap / re.reference_length;
    let message = format!(
        "b/L = {} is above {GAP_TO_LENGTH}: obstacles hardly wider than the gap show no ideal pattern",
        significant(ratio, 3)
    );
    say(Code::UnlikelyGap, ratio > GAP_TO_LENGTH, ratio, message, "use a thinner gap or larger obstacles");
    let message = format!(
        "Re* = {} is above {FIRST_ORDER}: inertia bends the pattern and the first-order corrections do not hold",
        significant(re.reduced, 3)
    );
    let remedy = "use a slower flow, a thinner gap or a thicker fluid, or check the units of speed and gap";
    say(Code::UnlikelyFlow, is_beyond_first_order(re.reduced), re.reduced, message, remedy);
    let message = format!(
        "Re_b = {} is above {GAP_REYNOLDS}: the flow between the plates need not be laminar",
        significant(re.gap, 3)
    );
    let remedy = "use a slower flow, or check the units of speed and viscosity";
    say(Code::UnlikelyFlow, re.gap.abs() > GAP_REYNOLDS, re.gap, message, remedy);
    let message = format!(
        "the tolerance of the speed is {} % of the mean speed, which any pattern meets",
        significant(100.0 * tolerance, 3)
    );
    let remedy = "was a percentage meant? Write 2 % as 0.02 or \"2 %\"";
    say(Code::LooseTolerance, tolerance > TOLERANCE, tolerance, message, remedy);
    list
}

#[cfg(test)]
mod tests {
    use super::*;

    fn calm() -> Likely {
        Likely {
            sides: [0.4, 0.2],
            gap: 1e-3,
            smallest: Some(("pier".into(), 0.04)),
            reynolds: Reynolds { obstacle: 10.0, gap: 0.2, reduced: 0.003, reference_length: 0.06 },
            tolerance: 0.02,
        }
    }

    type Change = fn(&mut Likely);

    /// Each limit just above and just below.
    #[test]
    fn every_limit_holds_on_either_side() {
        assert_eq!(unlikely(&calm()), []);
        let cases: [(Code, Change, Change); 8] = [
            (Code::UnlikelySize, |c| c.sides = [10.01, 2.0], |c| c.sides = [9.99, 2.0]),
            (Code::UnlikelySize, |c| c.sides = [10.0, 10.01], |c| c.sides = [10.0, 10.0]),
            (Code::UnlikelySize, |c| c.sides = [5.01, 0.1], |c| c.sides = [4.99, 0.1]),
            (Code::UnlikelyGap, |c| c.sides = [0.02, 4.99e-3], |c| c.sides = [0.02, 5.01e-3]),
            (
                Code::UnlikelyGap,
                |c| c.smallest = Some(("seal".into(), 0.99e-3)),
                |c| c.smallest = Some(("seal".into(), 1.01e-3)),
            ),
            (Code::UnlikelyGap, |c| c.reynolds.reference_length = 4.99e-3, |c| c.reynolds.reference_length = 5.01e-3),
            (Code::UnlikelyFlow, |c| c.reynolds.reduced = 1.01, |c| c.reynolds.reduced = 0.99),
            (Code::UnlikelyFlow, |c| c.reynolds.gap = -501.0, |c| c.reynolds.gap = -499.0),
        ];
        let loose: (Code, Change, Change) = (Code::LooseTolerance, |c| c.tolerance = 0.501, |c| c.tolerance = 0.499);
        for (k, (code, above, below)) in cases.into_iter().chain([loose]).enumerate() {
            let told = |change: Change| {
                let mut cell = calm();
                change(&mut cell);
                unlikely(&cell)
            };
            let found: Vec<Code> = told(above).iter().map(|warning| warning.code).collect();
            assert_eq!(found, [code], "case {k}");
            assert_eq!(told(below), [], "case {k}");
        }
    }

    /// Limits are to be exceeded: 10 m, 50 widths, a fifth of the width, the smallest obstacle, a fifth of L, Re* of 1, Re_b of 500, half
    /// the mean speed.
    #[test]
    fn at_the_limit_itself_nothing_is_said() {
        let cases: [Change; 9] = [
            |c| c.sides = [10.0, 10.0],
            |c| c.sides = [5.0, 0.1],
            |c| (c.sides, c.gap, c.smallest, c.reynolds.reference_length) = ([2.0, 1.0], 0.2, None, 2.0),
            |c| c.smallest = Some(("seal".into(), 1e-3)),
            |c| (c.sides, c.gap, c.smallest, c.reynolds.reference_length) = ([2.0, 2.0], 0.2, None, 1.0),
            |c| c.reynolds.reduced = 1.0,
            |c| c.reynolds.reduced = -1.0,
            |c| c.reynolds.gap = 500.0,
            |c| c.tolerance = 0.5,
        ];
        for (k, change) in cases.into_iter().enumerate() {
            let mut cell = calm();
            change(&mut cell);
            assert_eq!(unlikely(&cell), [], "case {k}");
        }
    }

    /// The number in the record is the one that exceeds the limit, of flows either way along the cell.
    #[test]
    fn the_number_told_is_the_one_that_is_too_large() {
        let cases: [(Code, Change, f64); 9] = [
            (Code::UnlikelySize, |c| c.sides = [12.0, 2.0], 12.0),
            (Code::UnlikelySize, |c| c.sides = [9.0, 11.0], 11.0),
            (Code::UnlikelySize, |c| c.sides = [6.0, 0.1], 60.0),
            (Code::UnlikelyGap, |c| (c.sides, c.reynolds.reference_length) = ([0.02, 4e-3], 1.0), 0.25),
            (Code::UnlikelyGap, |c| c.smallest = Some(("seal".into(), 5e-4)), 2.0),
            (Code::UnlikelyGap, |c| c.reynolds.reference_length = 2.5e-3, 0.4),
            (Code::UnlikelyFlow, |c| c.reynolds.reduced = -3.0, -3.0),
            (Code::UnlikelyFlow, |c| c.reynolds.gap = 800.0, 800.0),
            (Code::LooseTolerance, |c| c.tolerance = 2.0, 2.0),
        ];
        for (k, (code, change, number)) in cases.into_iter().enumerate() {
            let mut cell = calm();
            change(&mut cell);
            let list = unlikely(&cell);
            assert!(list.len() == 1 && list[0].code == code, "case {k}: {list:#?}");
            assert!((list[0].value.unwrap() / number - 1.0).abs() < 1e-12, "case {k}: {list:#?}");
        }
    }

    /// 0.8 written for 0.8 mm: said with what to write.
    #[test]
    fn a_forgotten_unit_is_named() {
        let list = unlikely(&Likely { gap: 0.8, ..calm() });
        assert!(
            list.len() == 3 && list[0].message.contains("800 mm") && list[0].message.contains("\"0.8 mm\""),
            "{list:#?}"
        );
    }
}
