//! From the face of the plate that the camera sees down to the dye: rays bend at every face.
//!
//! The camera stands at a height h above the outer face over its foot F. A ray that meets the face at a distance rho from F has the angle theta
//! to the normal, `tan(theta) = rho/h`, and runs on in the same vertical plane; in a layer of thickness d and index n it goes outwards by
//! `d tan(theta_n)`, `sin(theta_n) = sin(theta)/n` (Snell), whatever lies above the layer, for the faces are parallel. Outer face to
//! inner face: d = t, the plate's thickness. Inner face to dye at the height zeta: `d = (b/2)(1 - zeta)`, index of the fluid.
//!
//! So every layer moves each point by another amount, and no single pinhole sees a plane through a plate (Treibitz et al. 2012, IEEE PAMI
//! 34, 51). Marks on the inner face are therefore lifted to where their rays leave the outer face, where the camera is a pinhole. Marks
//! taken for those of the other face err by `t tan(theta_p)`, to first order `t theta/n_p`, less what the frame absorbs.

use crate::base::Point;
use crate::base::plane::{distance, stepped, unit, way};

/// Newton steps; the sum is so nearly straight that four reach rounding.
const ROUNDS: usize = 50;

/// A clear layer between parallel faces.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Layer {
    /// Thickness, m.
    pub thickness: f64,
    /// Refractive index over that of air.
    pub index: f64,
}

/// Index of water with a mass fraction w of glycerol, `1.333 + 0.14 w` (yellow light, 20 C; from memory of tables: pure glycerol 1.473).
pub fn fluid_index(glycerol: f64) -> f64 {
    1.333 + 0.14 * glycerol
}

/// Where the camera stands over the outer face.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stand {
    /// Its foot, m.
    pub foot: Point,
    /// Its height, m.
    pub height: f64,
}

impl Stand {
    /// tan(theta) of the ray that meets the outer face at a point.
    pub fn slope(&self, point: Point) -> f64 {
        distance(self.foot, point) / self.height
    }

    /// How far a ray that meets the outer face with a slope goes outwards in a layer, m.
    pub fn outwards(slope: f64, layer: Layer) -> f64 {
        let sine = slope / slope.hypot(1.0) / layer.index;
        layer.thickness * sine / (1.0 - sine * sine).sqrt()
    }

    /// The point below all layers on the ray that meets the outer face at a point.
    pub fn lowered(&self, point: Point, layers: &[Layer]) -> Point {
        let slope = self.slope(point);
        let total: f64 = layers.iter().map(|layer| Stand::outwards(slope, *layer)).sum();
        match unit(way(self.foot, point)) {
            Some(outwards) => stepped(point, total, outwards),
            None => point,
        }
    }

    /// Where the ray of a point below all layers leaves the outer face: [`Stand::lowered`] backwards, to rounding.
    pub fn lifted(&self, point: Point, layers: &[Layer]) -> Point {
        let Some(outwards) = unit(way(self.foot, point)) else { return point };
        let goal = distance(self.foot, point);
        let reach = |rho: f64| rho + layers.iter().map(|layer| Stand::outwards(rho / self.height, *layer)).sum::<f64>();
        let mut rho = goal;
        for _ in 0..ROUNDS {
            let step = 1e-6 * self.height;
            let slope = (reach(rho + step) - reach(rho)) / step;
            let change = (reach(rho) - goal) / slope;
            rho -= change;
            if change.abs() <= 1e-15 * self.height {
                break;
            }
        }
        stepped(self.foot, rho, outwards)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_are_those_of_the_hand_and_lead_back() {
        let stand = Stand { foot: [0.1, -0.2], height: 0.5 };
        let plate = Layer { thickness: 5e-3, index: 1.49 };
        let fluid = Layer { thickness: 0.5e-3, index: fluid_index(0.0) };
        // 45 degrees: sin(theta_p) = 0.70711/1.49, tan = 0.539149; sin(theta_f) = 0.53046, tan = 0.625756
        let point = [0.1 + 0.3, -0.2 + 0.4];
        let low = stand.lowered(point, &[plate, fluid]);
        let step = distance(point, low);
        assert!((step - (5e-3 * 0.539_149 + 0.5e-3 * 0.625_756)).abs() < 1e-8, "{step}");
        // away from the foot, along (3, 4)/5
        assert!(((low[0] - point[0]) / step - 0.6).abs() < 1e-12);
        let back = stand.lifted(low, &[plate, fluid]);
        assert!(distance(back, point) < 1e-14, "{back:?}");
        assert_eq!(stand.lowered(stand.foot, &[plate]), stand.foot);
        assert!((fluid_index(1.0) - 1.473).abs() < 1e-12);
    }
}
