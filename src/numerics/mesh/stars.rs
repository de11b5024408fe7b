//! The triangles round each vertex.

/// The star of every vertex: the triangles that meet there, in ascending order.
#[derive(Debug, Clone)]
pub struct Stars {
    offsets: Vec<u32>,
    triangles: Vec<u32>,
}

impl Stars {
    /// Stars of `vertices` vertices under `triangles`.
    pub fn new(vertices: usize, triangles: &[[u32; 3]]) -> Self {
        let mut offsets = vec![0u32; vertices + 1];
        for &v in triangles.as_flattened() {
            offsets[v as usize + 1] += 1;
        }
        for v in 0..vertices {
            offsets[v + 1] += offsets[v];
        }
        let mut next = offsets.clone();
        let mut list = vec![0u32; 3 * triangles.len()];
        for (t, corners) in triangles.iter().enumerate() {
            for &v in corners {
                list[next[v as usize] as usize] = t as u32;
                next[v as usize] += 1;
            }
        }
        Stars { offsets, triangles: list }
    }

    /// The triangles round a vertex.
    pub fn of(&self, vertex: usize) -> &[u32] {
        &self.triangles[self.offsets[vertex] as usize..self.offsets[vertex + 1] as usize]
    }

    /// Number of vertices.
    pub fn len(&self) -> usize {
        self.offsets.len() - 1
    }

    /// Whether there is no vertex.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }
}
