//! A nodal field of one mesh at places of another.

use super::interpolate;
use crate::base::Point;
use crate::numerics::fem::Space;

/// Values of a nodal field that is harmonic where the gap is uniform, at any places, of third order: the slopes recovered at the corners bend
/// what is linear between them. Just outside the mesh the nearest triangle serves; none farther away. Places are best asked for in an order
/// in which neighbours are near each other.
pub(crate) fn sampler<'a>(space: &'a Space, values: &'a [f64]) -> impl FnMut(Point) -> Option<f64> + 'a {
    let locator = space.locator();
    let [slope] = space.recovery().gradients(space.harmonic_if_uniform(), [values]);
    let mut hint = None;
    move |p: Point| {
        let (t, w) = locator.find(p, hint).or_else(|| locator.nearest(p))?;
        hint = Some(t);
        let bend: f64 = (0..3)
            .map(|i| {
                let corner = space.mesh.triangles[t as usize][i] as usize;
                let (q, g) = (space.mesh.points[corner], slope[corner]);
                0.5 * w[i] * (g[0] * (p[0] - q[0]) + g[1] * (p[1] - q[1]))
            })
            .sum();
        Some(interpolate(space, t, w, values) + bend)
    }
}
