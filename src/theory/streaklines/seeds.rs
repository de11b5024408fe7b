//! Where the dye enters.

use crate::base::Point;
use crate::base::plane;
use crate::geometry::Side;
use crate::input::case::Seeding;
use crate::numerics::fem::Space;
use crate::numerics::mesh::Gate;
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

/// Start points: on the inlet, from the lower wall to the upper, or at needles in their order.
///
/// With a count, each line carries the middle of an equal share of the flux, found by inverting the stream function, linear
/// on every inlet edge. With a spacing, lines stand that far apart along the inlet, the same distance left over at both walls.
pub fn seeds(space: &Space, stream: &[f64], seeding: &Seeding) -> Vec<Seed> {
    let gate = Gate::of(&space.mesh, Side::Inlet);
    let inlet = gate.vertices();
    let (Some(&first), Some(&last)) = (inlet.first(), inlet.last()) else { return Vec::new() };
    match *seeding {
        Seeding::At(ref starts) => starts.places.iter().map(|&at| Seed::at(space, stream, at)).collect(),
        Seeding::Count(count) => {
            let values: Vec<f64> = inlet.iter().map(|&v| stream[v as usize]).collect();
            let (low, flux) = (stream[first as usize], stream[last as usize] - stream[first as usize]);
            let levels = (0..count).map(|k| low + (k as f64 + 0.5) / count as f64 * flux);
            levels.filter_map(|psi| crossing(space, stream, inlet, &values, psi)).collect()
        }
        Seeding::Spacing(spacing) => {
            let at = |v: u32| space.mesh.points[v as usize];
            let mut walked = vec![0.0];
            for pair in inlet.windows(2) {
                walked.push(walked[walked.len() - 1] + plane::distance(at(pair[0]), at(pair[1])));
            }
            let width = walked[walked.len() - 1];
            let count = (width / spacing).floor().max(1.0) as usize;
            let margin = 0.5 * (width - (count as f64 - 1.0) * spacing);
            let places = (0..count).map(|k| margin + k as f64 * spacing);
            places.filter_map(|s| crossing(space, stream, inlet, &walked, s)).collect()
        }
    }
}

/// The first place along the inlet at which a quantity linear on its edges takes a value.
fn crossing(space: &Space, stream: &[f64], inlet: &[u32], values: &[f64], value: f64) -> Option<Seed> {
    inlet.windows(2).zip(values.windows(2)).find_map(|(pair, ends)| {
        let (a, b) = (ends[0], ends[1]);
        if !(a <= value && value <= b && b > a) {
            return None;
        }
        let s = (value - a) / (b - a);
        let [p, q] = [pair[0], pair[1]].map(|v| space.mesh.points[v as usize]);
        let [f, g] = [pair[0], pair[1]].map(|v| stream[v as usize]);
        Some(Seed { at: [p[0] + s * (q[0] - p[0]), p[1] + s * (q[1] - p[1])], stream_function: f + s * (g - f) })
    })
}
