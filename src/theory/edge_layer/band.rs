//! Corners near which a first-order term of an edge is switched off.
//!
//! Near a corner the speed along the edge goes as s^(π/ω - 1), and what a term makes of it may have no sum. It is then zero within a
//! band of local gaps from the corner and comes back smoothly over as much again.

use crate::base::Point;
use crate::base::plane;
use crate::numerics::fem::Space;
use crate::theory::ideal::{WallTangent, wall_tangents};

/// A corner near which a term is switched off.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// The corner.
    pub at: Point,
    /// Fluid angle there, rad.
    pub fluid_angle: f64,
    /// The term is zero up to this distance and complete from twice this distance on, m.
    pub length: f64,
}

impl Band {
    /// What part of the term remains at a place.
    pub fn weight(&self, place: Point) -> f64 {
        let distance = plane::distance(place, self.at);
        let s = (distance / self.length - 1.0).clamp(0.0, 1.0);
        s * s * (3.0 - 2.0 * s)
    }
}

/// Corners of a fluid angle above a limit, rad, each with a band of `gaps` local gaps.
pub fn sharp_bands(space: &Space, gaps: f64, limit: f64) -> Vec<Band> {
    let sharp = |(v, tangent): (u32, WallTangent)| match tangent {
        WallTangent::Corner { fluid_angle } if fluid_angle > limit => {
            Some(Band { at: space.mesh.points[v as usize], fluid_angle, length: gaps * space.gap[v as usize] })
        }
        _ => None,
    };
    wall_tangents(space).into_iter().filter_map(sharp).collect()
}

/// What part of a term all bands leave at a place.
pub fn weight(bands: &[Band], place: Point) -> f64 {
    bands.iter().map(|band| band.weight(place)).product()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A cubic from 0 to 1 without slope at its ends: 1/2 half way, 5/32 a quarter of the way.
    #[test]
    fn a_term_comes_back_smoothly() {
        let band = Band { at: [1.0, 2.0], fluid_angle: 4.0, length: 0.1 };
        for (distance, left) in [
            (0.0, 0.0),
            (0.05, 0.0),
            (0.1, 0.0),
            (0.125, 5.0 / 32.0),
            (0.15, 0.5),
            (0.175, 27.0 / 32.0),
            (0.2, 1.0),
            (3.0, 1.0),
        ] {
            assert!((band.weight([1.0 + 0.6 * distance, 2.0 - 0.8 * distance]) - left).abs() < 1e-12, "{distance}");
        }
        // bands that overlap both take their part
        let other = Band { at: [1.3, 2.0], ..band };
        assert!((weight(&[band, other], [1.15, 2.0]) - 0.25).abs() < 1e-12);
        assert_eq!(weight(&[], [0.0; 2]), 1.0);
    }
}
