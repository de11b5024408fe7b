//! Small dense systems, for the multipole series.

/// Gauss's elimination with row exchange; the right side becomes the solution.
pub fn solve(mut matrix: Vec<Vec<f64>>, mut right: Vec<f64>) -> Vec<f64> {
    let n = right.len();
    for column in 0..n {
        let largest = |a: &usize, b: &usize| matrix[*a][column].abs().total_cmp(&matrix[*b][column].abs());
        let pivot = (column..n).max_by(largest).unwrap_or(column);
        matrix.swap(column, pivot);
        right.swap(column, pivot);
        let (done, rest) = matrix.split_at_mut(column + 1);
        let row = &done[column];
        for (k, below) in rest.iter_mut().enumerate() {
            let factor = below[column] / row[column];
            below[column..].iter_mut().zip(&row[column..]).for_each(|(x, y)| *x -= factor * y);
            right[column + 1 + k] -= factor * right[column];
        }
    }
    for row in (0..n).rev() {
        let known: f64 = (row + 1..n).map(|k| matrix[row][k] * right[k]).sum();
        right[row] = (right[row] - known) / matrix[row][row];
    }
    right
}
