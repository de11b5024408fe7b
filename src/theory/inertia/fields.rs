//! Inertia as fields of a file.

use super::Inertia;
use super::layers::NEUTRAL_HEIGHT;
use crate::base::field::{Field, Fields};
use crate::numerics::fem::Space;
use crate::theory::edge_layer::profile;

/// What is said of the layer velocities inside the edge layer.
const COMPOSITE: &str = "velocity_midplane, velocity_near_plate, plate_drift: within the edge layer the parabola over the gap gives way \
to the exact profile of slow flow along a straight edge, zero on the edge itself; inertia is not quantitative where validity is 1";
/// The same without the edge layer.
const OUTER: &str = "velocity_midplane, velocity_near_plate, plate_drift: outside the edge layer; not valid within three gaps of a solid \
edge, where validity is 1";

/// What layer velocities are near solid edges.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NearEdges {
    /// Those of the outer flow.
    Outer,
    /// Slowed by the exact profile of a straight edge.
    Slowed,
}

impl Inertia {
    /// Pressure, the mean over the gap, layers at mid-gap and near the plates, the drift between them where it is largest, and the local inertia number.
    pub fn fields(&self, space: &Space, near: NearEdges) -> Fields<'_> {
        let (mut midplane, mut plate, mut drift) =
            (self.layer(0.0), self.near_plate(), self.drift(space, NEUTRAL_HEIGHT));
        if near == NearEdges::Slowed {
            for (v, n) in profile::distances(space).into_iter().enumerate() {
                let slowed = |zeta: f64| profile::slowing(n, zeta);
                midplane[v] = midplane[v].map(|x| slowed(0.0) * x);
                plate[v] = plate[v].map(|x| slowed(1.0) * x);
                drift[v] *= slowed(NEUTRAL_HEIGHT);
            }
        }
        Fields {
            vertices: vec![
                Field::scalar("inertia_pressure", "Pa", &self.pressure),
                Field::plane("velocity_gap_mean", "m/s", self.mean_velocity()),
                Field::plane("velocity_midplane", "m/s", midplane),
                Field::plane("velocity_near_plate", "m/s", plate),
                Field::scalar("plate_drift", "m/s", drift),
                Field::scalar("inertia_number", "1", &self.number),
            ],
            triangles: Vec::new(),
            meaning: vec![if near == NearEdges::Slowed { COMPOSITE } else { OUTER }],
        }
    }
}
