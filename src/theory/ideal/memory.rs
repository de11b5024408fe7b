//! What a mesh takes, and what the machine has.

use crate::base::error::Memory;
use crate::base::machine::free_memory;
use crate::base::{Error, Result};

/// Bytes at the peak of a solve for one triangle: mesh, levels, matrices and fields, as measured on 1 million
/// triangles.
pub const BYTES_PER_TRIANGLE: f64 = 240.0;

/// Bytes more for one triangle with the inertia departure, in the unit state and scaled, as measured on 1 million triangles.
pub const BYTES_FOR_INERTIA: f64 = 275.0;

/// Bytes more for one triangle with the edge layer, its variant with moved edges, and inertia, as measured on 1 million triangles.
pub const BYTES_FOR_EDGE_LAYER: f64 = 340.0;

/// Bytes of a run with next to no triangles, as measured.
pub const BYTES_AT_LEAST: f64 = 8e6;

/// Refuses a mesh that would not fit into the memory that is free now for this process, with corrections that take `corrections` bytes more for
/// each triangle. Machines that do not tell are trusted.
///
/// # Errors
/// [`Error::Memory`] with the need, the limit and the largest mesh that fits.
pub fn check_memory(triangles: usize, corrections: f64) -> Result<()> {
    let Some(free) = free_memory() else { return Ok(()) };
    let each = BYTES_PER_TRIANGLE + corrections;
    let needed = BYTES_AT_LEAST + each * triangles as f64;
    if needed <= free {
        return Ok(());
    }
    let most = ((free - BYTES_AT_LEAST) / each).max(0.0) as usize;
    Err(Error::Memory(Memory { triangles, corrections: corrections > 0.0, needed, free, most }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn corrections_count_before_anything_is_solved() {
        let Some(free) = free_memory() else { return };
        // a mesh that fits with room to spare, and not with corrections of nine times its own need
        let triangles = (0.2 * free / BYTES_PER_TRIANGLE) as usize;
        assert!(check_memory(triangles, 0.0).is_ok());
        let refused = check_memory(triangles, 9.0 * BYTES_PER_TRIANGLE).unwrap_err();
        assert!(refused.to_string().contains("with its corrections"), "{refused}");
        // ten times as many bytes for each triangle leave room for a tenth of free memory over that of one
        let Error::Memory(memory) = refused else { panic!("{refused}") };
        let most = (memory.free - BYTES_AT_LEAST) / (10.0 * BYTES_PER_TRIANGLE);
        assert!((memory.most as f64 - most).abs() <= 1.0 && memory.most < triangles, "{memory:?}");
    }
}
