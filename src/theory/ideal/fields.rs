//! The ideal pattern as fields of a file.

use super::{Pair, Pattern};
use crate::base::field::{Field, Fields};
use crate::numerics::fem::Space;

impl Pattern {
    /// Pressure, stream function, velocity and what follows from it; on triangles the velocity and the share of the bracket.
    pub fn fields<'a>(&'a self, space: &Space, pair: &'a Pair) -> Fields<'a> {
        Fields {
            vertices: vec![
                Field::scalar("pressure", "Pa", &self.pressure),
                Field::scalar("stream_function", "m3/s", &self.stream_function),
                Field::plane("velocity", "m/s", &self.velocity),
                Field::scalar("speed_ratio", "1", self.speed_ratio()),
                Field::scalar("pressure_coefficient", "1", self.pressure_coefficient()),
            ],
            triangles: vec![
                Field::plane("velocity_cell", "m/s", self.velocity_of_cells(space)),
                Field::scalar("error_share", "1", &pair.bracket_density),
                // the name of version 0.1.0, written for one release
                Field::scalar("bracket_density", "1", &pair.bracket_density),
            ],
            meaning: vec!["error_share: computable error of each triangle; bracket_density is its older name"],
        }
    }
}
