//! How good a mesh is.

use super::Mesh;

impl Mesh {
    /// Areas of the triangles, m2.
    pub fn areas(&self) -> Vec<f64> {
        self.triangles
            .iter()
            .map(|t| {
                let [a, b, c] = t.map(|v| self.points[v as usize]);
                0.5 * ((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]))
            })
            .collect()
    }
}
