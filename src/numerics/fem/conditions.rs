//! What is known about each vertex before solving.

/// Conditions of a problem: vertices of given value, and groups of vertices tied to one unknown constant.
#[derive(Debug, Clone)]
pub struct Conditions {
    state: Vec<i32>,
    ties: Vec<Vec<u32>>,
}

const FREE: i32 = -1;
const FIXED: i32 = -2;

impl Conditions {
    /// All vertices free.
    pub fn free(vertices: usize) -> Self {
        Conditions { state: vec![FREE; vertices], ties: Vec::new() }
    }

    /// Gives a vertex its value; a fixed vertex stays fixed.
    pub fn fix(&mut self, vertex: u32) {
        self.state[vertex as usize] = FIXED;
    }

    /// Ties vertices to one unknown; those already fixed or tied keep their state.
    pub fn tie(&mut self, mut vertices: Vec<u32>) {
        let group = self.ties.len() as i32;
        vertices.sort_unstable();
        vertices.dedup();
        vertices.retain(|&v| self.state[v as usize] == FREE);
        if vertices.is_empty() {
            return;
        }
        for &v in &vertices {
            self.state[v as usize] = group;
        }
        self.ties.push(vertices);
    }

    /// Whether a vertex is free.
    #[inline]
    pub fn is_free(&self, vertex: usize) -> bool {
        self.state[vertex] == FREE
    }

    /// Whether a vertex is fixed.
    #[inline]
    pub fn is_fixed(&self, vertex: usize) -> bool {
        self.state[vertex] == FIXED
    }

    /// The group a vertex is tied to.
    pub fn group(&self, vertex: usize) -> Option<usize> {
        usize::try_from(self.state[vertex]).ok()
    }

    /// Whether no vertex is fixed, so that the solution is known up to a constant only.
    pub fn floating(&self) -> bool {
        !self.state.contains(&FIXED)
    }

    /// The tied groups restricted to the first `vertices` vertices.
    pub fn ties(&self, vertices: usize) -> impl DoubleEndedIterator<Item = &[u32]> {
        self.ties.iter().map(move |group| &group[..group.partition_point(|&v| (v as usize) < vertices)])
    }
}
