//! Whether one obstacle fits into the rectangle.

use super::build::Builder;
use crate::base::units::{Dimension, likely_unit};
use crate::geometry::Wall;
use crate::geometry::cut::CutFault;
use crate::geometry::span::Extent;

/// Obstacles beyond this multiple of the cell's sides tell of a forgotten unit.
const FAR: f64 = 10.0;

impl Builder<'_> {
    /// Why an obstacle cannot stand on its wall.
    pub fn report_cut(&mut self, k: usize, wall: Wall, fault: CutFault) {
        let (name, wall) = (self.name(k), wall.name());
        let (message, remedy) = match fault {
            CutFault::Apart(distance) => (
                format!("\"{name}\" should stand on the {wall} but is {:.6} mm away from it", 1e3 * distance),
                "move it so that it overlaps the wall, or remove on_wall",
            ),
            CutFault::Outside => (
                format!("\"{name}\" should stand on the {wall} but lies wholly outside the cell"),
                "move it into the cell",
            ),
            CutFault::PointContact(at) => (
                format!("\"{name}\" touches the {wall} only at a point, near {}", self.place(at)),
                "sink it into the wall so that it stands on a stretch of it",
            ),
            CutFault::Narrow(at, height) => (
                format!(
                    "the passage between \"{name}\" and the {wall} is {:.3e} mm near {}, narrower than {:.3e} mm (1e-6 of \
                     the inlet's width)",
                    1e3 * height,
                    self.place(at),
                    1e3 * self.limit
                ),
                "lift that part off the wall, or fill the passage",
            ),
            CutFault::Pocket(at) => (
                format!("\"{name}\" and the {wall} enclose a pocket of fluid near {}", self.place(at)),
                "fill the pocket, or lift one foot off the wall",
            ),
        };
        self.add(k, message, remedy);
    }

    /// Whether an obstacle is so much larger than the cell that its numbers cannot be metres; notes it.
    pub fn is_in_other_units(&mut self, k: usize, extent: &Extent) -> bool {
        let [length, across] = self.case.cell.size();
        let ([width, height], high) = (extent.rect().size(), extent.rect().high);
        if width <= FAR * length && height <= FAR * across {
            return false;
        }
        let show = |value| Dimension::Length.show(value);
        let message = format!(
            "\"{}\" is {} long and {} wide, and the cell {} and {}: numbers without a unit are in metres",
            self.name(k),
            show(width),
            show(height),
            show(length),
            show(across)
        );
        let reach = (high[0].max(width) / length).max(high[1].max(height) / across);
        let remedy = match likely_unit(&["cm", "mm", "um"], reach, 1.0) {
            Some(unit) => format!(
                "if {unit} are meant, write numbers with their unit, such as \"{} {unit}\"",
                Dimension::Fraction.show(width)
            ),
            None => "write numbers with their unit, such as \"60 mm\"".into(),
        };
        self.add(k, message, &remedy);
        true
    }

    /// Whether an outline keeps clear of the rectangle, save the wall it stands on. In other cells the boundary is one more outline, and
    /// what meets it is found with all others.
    pub fn fits(&mut self, k: usize, extent: &Extent, on_wall: Option<Wall>) -> bool {
        let Some([length, width]) = self.case.cell.shape.rectangle() else { return true };
        let sides = [
            ("inlet", extent.low[0], extent.low[0][0], None),
            ("outlet", extent.high[0], length - extent.high[0][0], None),
            ("lower wall", extent.low[1], extent.low[1][1], Some(Wall::Lower)),
            ("upper wall", extent.high[1], width - extent.high[1][1], Some(Wall::Upper)),
        ];
        let too_near: Vec<_> = sides
            .into_iter()
            .filter(|(.., clearance, wall)| *clearance < self.limit && (wall.is_none() || *wall != on_wall))
            .collect();
        let reached = |w: Wall| on_wall == Some(w) || too_near.iter().any(|(.., wall)| *wall == Some(w));
        if reached(Wall::Lower) && reached(Wall::Upper) {
            let message = format!(
                "\"{}\" reaches both side walls and closes the channel, near {} and {}",
                self.name(k),
                self.place(extent.low[1]),
                self.place(extent.high[1])
            );
            self.add(k, message, "make it smaller or move it, so that the fluid can pass");
            return false;
        }
        for (side, at, clearance, wall) in &too_near {
            let name = self.name(k);
            let (message, remedy) = if *clearance > 0.0 {
                (
                    format!(
                        "the passage between \"{name}\" and the {side} is {:.3e} mm near {}, narrower than {:.3e} mm \
                         (1e-6 of the inlet's width)",
                        1e3 * clearance,
                        self.place(*at),
                        1e3 * self.limit
                    ),
                    if wall.is_some() {
                        "part the two, or let them overlap and add on_wall"
                    } else {
                        "move the obstacle away from the end"
                    },
                )
            } else {
                (
                    format!(
                        "\"{name}\" {} the {side} near {}",
                        if *clearance < 0.0 { "crosses" } else { "touches" },
                        self.place(*at)
                    ),
                    match wall {
                        Some(Wall::Lower) => {
                            "move it into the cell, or add on_wall = \"lower\" if it stands on that wall"
                        }
                        Some(Wall::Upper) => {
                            "move it into the cell, or add on_wall = \"upper\" if it stands on that wall"
                        }
                        None => "move it into the cell: no obstacle may stand in an end",
                    },
                )
            };
            self.add(k, message, remedy);
        }
        too_near.is_empty()
    }
}
