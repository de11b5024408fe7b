//! Why no line was found, in sentences: what was looked for, and what to do.

use crate::base::{Error, Point};

/// What a step did not find.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Nothing {
    /// The picture shows no fluid beyond the margin.
    Fluid,
    /// Nothing that is a line at any width.
    Scale {
        /// Share of the fluid that is saturated.
        saturated: f64,
    },
    /// Lines too narrow for a middle.
    Narrow {
        /// Pixels.
        width: f64,
    },
    /// No ridge that runs with the flow.
    Ridges {
        /// Share of the fluid that is saturated.
        saturated: f64,
        /// Ridges of any direction.
        ridges: usize,
    },
    /// No level on which ridges are lined up.
    Levels {
        /// Ridges along the flow.
        spots: usize,
    },
    /// No station.
    Stations {
        /// Ridges along the flow.
        spots: usize,
        /// Levels.
        levels: usize,
    },
    /// Ridges that are on no level.
    Consistent {
        /// On levels.
        taken: usize,
        /// In all.
        sure: usize,
    },
    /// A line that leaves its band.
    Step {
        /// Its number.
        number: usize,
        /// Where, m along it.
        arc: f64,
    },
    /// A needle outside the fluid.
    Needle {
        /// Its number.
        number: usize,
        /// Its place.
        place: Point,
    },
    /// A distance of stations that is none.
    Spacing {
        /// m.
        spacing: f64,
    },
    /// A margin that is none.
    Margin {
        /// m, or gaps.
        width: f64,
    },
}

impl From<Nothing> for Error {
    fn from(nothing: Nothing) -> Error {
        let glare = |saturated: f64| {
            if saturated > 0.02 {
                format!("; {:.0} % of the fluid is saturated", 100.0 * saturated)
            } else {
                String::new()
            }
        };
        let light = "check that the dye is `dark` or `bright` as `photo.dye` says, and photograph with even light \
        behind the cell, no glare, and \
                     lines that stand out from the ground by a tenth or more";
        let traced = "check `streaklines.starts` and the places of the marks, or trace the lines by hand into a \
        table of `line,x,y`";
        match nothing {
            Nothing::Fluid => Error::failed(
                "no line found: the picture shows no fluid farther from solid edges than the margin",
                "check the places of the marks and `compare.edge_band`, and photograph the whole cell",
            ),
            Nothing::Scale { saturated } => Error::failed(
                format!(
                    "no line found: nothing in the fluid stands out as a line of any width from 1 to 150 px{}",
                    glare(saturated)
                ),
                light,
            ),
            Nothing::Narrow { width } => Error::failed(
                format!("lines are narrower than 2 px: {width:.1} px at half their height"),
                "photograph from nearer or with more pixels, so that a line is 3 px wide or more",
            ),
            Nothing::Ridges { saturated, ridges } => Error::failed(
                format!(
                    "no line found: of {ridges} ridges four times above the noise none runs within 35 degrees of the \
                    ideal flow{}",
                    glare(saturated)
                ),
                light,
            ),
            Nothing::Levels { spots } => Error::failed(
                format!(
                    "no line found: {spots} ridges run with the flow, but on no level do they cover a quarter of the \
                    first 15 % of the picture"
                ),
                "give the places of the needles in `streaklines.starts`, or photograph the stretch before the first \
                obstacle",
            ),
            Nothing::Stations { spots, levels } => Error::failed(
                format!(
                    "no line found: {spots} ridges run with the flow, but none lines up on any of {levels} \
                levels"
                ),
                traced,
            ),
            Nothing::Consistent { taken, sure } => Error::failed(
                format!(
                    "no consistent lines: {taken} of {sure} clear ridges are within 0.4 of the spacing of a level; \
                    lines that depart more cannot be \
                     followed"
                ),
                traced,
            ),
            Nothing::Step { number, arc } => Error::failed(
                format!(
                    "no consistent lines: {:.0} mm along it line {number} steps by more than half the spacing; lines \
                    that depart by more than 0.4 of \
                     the spacing cannot be followed",
                    1e3 * arc
                ),
                traced,
            ),
            Nothing::Needle { number, place } => Error::failed(
                format!("needle {number} at x = {} m, y = {} m is not in the fluid", place[0], place[1]),
                "give places inside the cell in `streaklines.starts`",
            ),
            Nothing::Spacing { spacing } => Error::argument(
                format!("stations {spacing} m apart cannot be made"),
                "give `compare.station` as a length of 0.001 mm or more",
            ),
            Nothing::Margin { width } => Error::argument(
                format!("a margin of {width} is none"),
                "give `compare.edge_band` as a length of zero or more",
            ),
        }
    }
}
