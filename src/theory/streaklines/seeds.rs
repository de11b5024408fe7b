//! Where the dye enters.

use crate::base::Point;
use crate::geometry::Side;
use crate::input::case::Seeding;
use crate::numerics::fem::Space;
use crate::theory::ideal::interpolate;

/// A start point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Seed {
    /// Where, m.
    pub at: Point,
    /// Stream function there, m3/s.
    pub stream_function: f64,
}

impl Seed {
    /// A start at a place of the fluid, m.
    pub(super) fn at(space: &Space, stream: &[f64], at: Point) -> Seed {
        let (triangle, weights) = space.locator().place(at, None);
        Seed { at, stream_function: interpolate(space, triangle, weights, stream) }
    }
}

/// Start points: on the inlet, from the lower wall upwards, or at needles in their order.
///
/// With a count, each line carries the middle of an equal share of the flux, found by inverting the stream function, linear
/// on every inlet edge. With a spacing, lines stand that far apart, the same distance left over at both walls.
pub fn seeds(space: &Space, stream: &[f64], seeding: &Seeding) -> Vec<Seed> {
    let mut inlet = space.vertices_where(|side| side == Side::Inlet);
    inlet.sort_by(|&a, &b| space.mesh.points[a as usize][1].total_cmp(&space.mesh.points[b as usize][1]));
    let (Some(&first), Some(&last)) = (inlet.first(), inlet.last()) else { return Vec::new() };
    let y = |v: u32| space.mesh.points[v as usize][1];
    match *seeding {
        Seeding::At(ref starts) => starts.places.iter().map(|&at| Seed::at(space, stream, at)).collect(),
        Seeding::Count(count) => {
            let flux = stream[last as usize] - stream[first as usize];
            let levels = (0..count).map(|k| stream[first as usize] + (k as f64 + 0.5) / count as f64 * flux);
            levels.filter_map(|psi| crossing(space, stream, &inlet, |v| stream[v as usize], psi)).collect()
        }
        Seeding::Spacing(spacing) => {
            let width = y(last) - y(first);
            let count = (width / spacing).floor().max(1.0) as usize;
            let margin = 0.5 * (width - (count as f64 - 1.0) * spacing);
            let places = (0..count).map(|k| y(first) + margin + k as f64 * spacing);
            places.filter_map(|at| crossing(space, stream, &inlet, y, at)).collect()
        }
    }
}

/// The first place along the inlet at which a quantity linear on its edges takes a value.
fn crossing(space: &Space, stream: &[f64], inlet: &[u32], of: impl Fn(u32) -> f64, value: f64) -> Option<Seed> {
    inlet.windows(2).find_map(|pair| {
        let (a, b) = (of(pair[0]), of(pair[1]));
        if !(a <= value && value <= b && b > a) {
            return None;
        }
        let s = (value - a) / (b - a);
        let [p, q] = [pair[0], pair[1]].map(|v| space.mesh.points[v as usize]);
        let [f, g] = [pair[0], pair[1]].map(|v| stream[v as usize]);
        Some(Seed { at: [p[0] + s * (q[0] - p[0]), p[1] + s * (q[1] - p[1])], stream_function: f + s * (g - f) })
    })
}
