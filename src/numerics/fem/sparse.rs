//! Any square sparse system by LU factorisation, for couplings that are neither symmetric nor definite.

use crate::base::{Error, Result};
use faer::Mat;
use faer::prelude::Solve;
use faer::sparse::{SparseColMat, Triplet};

/// An entry of a matrix: row, column, value. Entries at one place are added in their order.
pub type Entry = (u32, u32, f64);

/// Solves `A x = b` by sparse LU with row pivoting and a column order that keeps the fill low; b has one number for each row.
///
/// # Errors
/// [`Error::Failed`] if an entry lies outside, if the matrix is singular or if the solution is not finite.
pub fn solve_sparse(entries: &[Entry], b: &[f64]) -> Result<Vec<f64>> {
    let count = b.len();
    let broken = |why: String| {
        Error::failed(
            format!("a sparse system with {count} unknowns could not be solved: {why}"),
            "report this case: two of its points may fall together",
        )
    };
    let triplets: Vec<_> = entries.iter().map(|&(row, column, value)| Triplet::new(row, column, value)).collect();
    let matrix = SparseColMat::<u32, f64>::try_new_from_triplets(count, count, &triplets)
        .map_err(|e| broken(format!("{e:?}")))?;
    let factor = matrix.sp_lu().map_err(|e| broken(format!("{e:?}")))?;
    let mut x = Mat::<f64>::from_fn(count, 1, |row, _| b[row]);
    factor.solve_in_place(&mut x);
    let x: Vec<f64> = (0..count).map(|row| x[(row, 0)]).collect();
    match x.iter().position(|value| !value.is_finite()) {
        None => Ok(x),
        Some(row) => Err(broken(format!("unknown {row} is {}", x[row]))),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A saddle point with zeros on its diagonal, which needs row exchanges: x = (1, -2, 3), b multiplied out by hand.
    #[test]
    fn rows_are_exchanged_and_entries_added() {
        let entries = [(0, 0, 1.0), (0, 0, 1.0), (0, 2, 1.0), (1, 2, 4.0), (2, 0, 1.0), (2, 1, 4.0)];
        let x = solve_sparse(&entries, &[5.0, 12.0, -7.0]).unwrap();
        for (got, exact) in x.iter().zip([1.0, -2.0, 3.0]) {
            assert!((got - exact).abs() < 1e-14, "{x:?}");
        }
    }

    #[test]
    fn singular_matrices_and_strange_places_are_errors() {
        let singular = [(0, 0, 1.0), (0, 1, 2.0), (1, 0, 2.0), (1, 1, 4.0)];
        assert!(solve_sparse(&singular, &[1.0, 1.0]).is_err());
        assert!(solve_sparse(&[(0, 0, 1.0), (2, 1, 1.0)], &[1.0, 1.0]).is_err());
    }
}
