//! What a photograph of a cell shows: the bench with its light, marks, needles, dye and reflections. Lengths in m,
//! light in grey levels.

use super::camera::Depth;
use super::flow::Pier;

/// A cell between two plates.
#[derive(Debug, Clone)]
pub struct Cell {
    /// Along the flow.
    pub length: f64,
    /// Between the side walls y = 0 and y = width.
    pub width: f64,
    /// Between the plates.
    pub gap: f64,
    /// Round obstacles with their names.
    pub piers: Vec<(&'static str, Pier)>,
}

/// Where dye enters.
#[derive(Debug, Clone)]
pub struct Needles {
    /// Tips of all needles.
    pub x: f64,
    /// One each.
    pub y: Vec<f64>,
    /// Of a needle as seen; 0 for none to be seen.
    pub width: f64,
}

/// Dye: across a line its absorbance is `strength (sigma/s) exp(−d²/(2 s²))`, s = sigma + growth times the arc, and
/// what it takes from each channel is that times the absorptivity (Beer & Lambert).
#[derive(Debug, Clone)]
pub struct Dye {
    /// Standard deviation of the profile at the needle.
    pub sigma: f64,
    /// Its growth for each metre of arc.
    pub growth: f64,
    /// Absorbance in the middle of a line at the needle; 0 for none.
    pub strength: f64,
    /// For red, green and blue light.
    pub absorptivity: [f64; 3],
    /// Light that dye gives where it takes all of the lamp's: fluorescent; zeros for a dark dye.
    pub glow: [f64; 3],
}

/// What stands on the plate.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// Bars a sixth of the width.
    Cross,
    /// A disc.
    Dot,
}

/// Marks of known place.
#[derive(Debug, Clone)]
pub struct Marks {
    /// All alike.
    pub shape: Shape,
    /// Width of a cross, diameter of a dot.
    pub width: f64,
    /// The face they are on.
    pub depth: Depth,
    /// Names and places as the case states them.
    pub stated: Vec<(&'static str, [f64; 2])>,
    /// Standard deviation, in x and in y, of where they really are.
    pub placed_within: f64,
}

impl Marks {
    /// Whether a mark covers a place relative to its middle.
    pub fn covers(&self, off: [f64; 2]) -> bool {
        let [x, y] = off.map(f64::abs);
        match self.shape {
            Shape::Cross => x.max(y) < 0.5 * self.width && x.min(y) < self.width / 12.0,
            Shape::Dot => x.hypot(y) < 0.5 * self.width,
        }
    }
}

/// A lamp mirrored in the plate: an ellipse at a place of the outer face.
#[derive(Debug, Clone, Copy)]
pub struct Glare {
    /// Its middle.
    pub at: [f64; 2],
    /// Half axes.
    pub half: [f64; 2],
    /// Of the first axis from x, degrees.
    pub angle: f64,
}

impl Glare {
    /// What it adds at a place: far beyond white within, a pale skirt outside.
    pub fn light(&self, place: [f64; 2]) -> f64 {
        let (sin, cos) = self.angle.to_radians().sin_cos();
        let [x, y] = [0, 1].map(|k| place[k] - self.at[k]);
        let (a, b) = ((x * cos + y * sin) / self.half[0], (y * cos - x * sin) / self.half[1]);
        let q = a * a + b * b;
        600.0 * (-q * q).exp() + 30.0 * (-0.25 * q).exp()
    }
}

/// The bench: a light panel under plates, a spacer beyond the side walls, clamps across both ends of what is seen.
#[derive(Debug, Clone)]
pub struct Bench {
    /// The panel through clear plates, red, green and blue.
    pub ground: [f64; 3],
    /// Slow relative variation of the panel.
    pub variation: f64,
    /// Share of light that is missing in the corners of the picture.
    pub vignetting: f64,
    /// Share of light through the spacer.
    pub spacer: f64,
    /// Share of light through a pier.
    pub pier: f64,
    /// Between their x the cell is free to be seen.
    pub clamps: [f64; 2],
}

/// Width of the spacer, overhang of the plates and of the panel beyond the side walls.
pub const BEYOND: [f64; 3] = [0.022, 0.034, 0.048];

impl Bench {
    /// The panel's slow variation about 1, some 0.4 m long.
    pub fn unevenness(&self, place: [f64; 2]) -> f64 {
        let [x, y] = place;
        let wave =
            (13.0 * x + 9.0 * y + 0.7).sin() + 0.7 * (17.0 * y - 6.0 * x).cos() - 3.0 * (x - 0.4) - 2.0 * (y - 0.1);
        1.0 + 0.5 * self.variation * wave
    }
}
