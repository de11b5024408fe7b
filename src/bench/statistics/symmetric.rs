//! Small symmetric matrices: all that least squares with a dozen unknowns needs.
//!
//! Cyclic Jacobi rotations (Golub and Van Loan, Matrix Computations, sec. 8.5) find every eigenvalue to rounding of the largest, the same
//! on every machine and for any number of threads; with twelve unknowns it takes some microseconds. Solutions, inverses, null vectors
//! and modes of a covariance are then sums over eigenvectors.

/// An eigenvalue of a matrix with ones on its diagonal below which unknowns cannot be told apart.
const SINGULAR: f64 = 1e-9;

/// Sweeps after which rotations have long met rounding: convergence is quadratic.
const SWEEPS: usize = 60;

/// Eigenvalues, ascending, and the eigenvector of each.
#[derive(Debug, Clone)]
pub struct Eigen {
    /// Eigenvalues, ascending.
    pub values: Vec<f64>,
    /// Unit eigenvectors in the same order.
    pub vectors: Vec<Vec<f64>>,
}

impl Eigen {
    /// Of a symmetric matrix, row by row; the upper half counts.
    pub fn of(matrix: &[Vec<f64>]) -> Eigen {
        let n = matrix.len();
        let mut a: Vec<Vec<f64>> = (0..n).map(|i| (0..n).map(|j| matrix[i.min(j)][i.max(j)]).collect()).collect();
        let mut v: Vec<Vec<f64>> = (0..n).map(|i| (0..n).map(|j| f64::from(u8::from(i == j))).collect()).collect();
        for _ in 0..SWEEPS {
            let mut is_done = true;
            for p in 0..n {
                for q in p + 1..n {
                    if a[p][q].abs() <= f64::EPSILON * 1e-3 * (a[p][p] * a[q][q]).abs().sqrt() {
                        continue;
                    }
                    is_done = false;
                    let theta = 0.5 * (a[q][q] - a[p][p]) / a[p][q];
                    let t = 1f64.copysign(theta) / (theta.abs() + theta.hypot(1.0));
                    let c = 1.0 / t.hypot(1.0);
                    let s = t * c;
                    for row in &mut a {
                        (row[p], row[q]) = (c * row[p] - s * row[q], s * row[p] + c * row[q]);
                    }
                    turn(&mut a, [p, q], [c, s]);
                    (a[p][q], a[q][p]) = (0.0, 0.0);
                    // rows of v are the eigenvectors
                    turn(&mut v, [p, q], [c, s]);
                }
            }
            if is_done {
                break;
            }
        }
        let mut order: Vec<usize> = (0..n).collect();
        order.sort_by(|&i, &j| a[i][i].total_cmp(&a[j][j]));
        Eigen {
            values: order.iter().map(|&k| a[k][k]).collect(),
            vectors: order.iter().map(|&k| v[k].clone()).collect(),
        }
    }
}

/// A symmetric positive system, its diagonal scaled to one, which keeps unknowns of unlike reach apart from rounding.
#[derive(Debug, Clone)]
pub struct System {
    scale: Vec<f64>,
    eigen: Eigen,
}

impl System {
    /// Of a matrix, row by row.
    pub fn new(matrix: &[Vec<f64>]) -> System {
        let n = matrix.len();
        let scale: Vec<f64> = (0..n).map(|k| matrix[k][k].max(f64::MIN_POSITIVE).sqrt()).collect();
        let scaled: Vec<Vec<f64>> =
            (0..n).map(|i| (0..n).map(|j| matrix[i][j] / (scale[i] * scale[j])).collect()).collect();
        System { scale, eigen: Eigen::of(&scaled) }
    }

    /// Whether all unknowns are determined: none a sum of others to within a billionth.
    pub fn is_determined(&self) -> bool {
        self.eigen.values.iter().all(|&value| value > SINGULAR)
    }

    /// The solution x of `A x = b`; parts along eigenvalues below rounding of the largest are left out.
    pub fn solve(&self, b: &[f64]) -> Vec<f64> {
        let least = self.eigen.values.last().map_or(0.0, |value| value.abs() * f64::EPSILON);
        let b: Vec<f64> = b.iter().zip(&self.scale).map(|(b, s)| b / s).collect();
        let mut x = vec![0.0; b.len()];
        for (value, vector) in self.eigen.values.iter().zip(&self.eigen.vectors).filter(|(value, _)| **value > least) {
            let part = vector.iter().zip(&b).map(|(v, b)| v * b).sum::<f64>() / value;
            x.iter_mut().zip(vector).for_each(|(x, v)| *x += part * v);
        }
        x.iter().zip(&self.scale).map(|(x, s)| x / s).collect()
    }

    /// The inverse.
    pub fn inverse(&self) -> Vec<Vec<f64>> {
        let n = self.scale.len();
        let unit = |k: usize| (0..n).map(|i| f64::from(u8::from(i == k))).collect::<Vec<f64>>();
        (0..n).map(|k| self.solve(&unit(k))).collect()
    }
}

/// Two rows turned into each other by an angle of a cosine and a sine.
fn turn(rows: &mut [Vec<f64>], [p, q]: [usize; 2], [c, s]: [f64; 2]) {
    let (before, after) = rows.split_at_mut(q);
    for (x, y) in before[p].iter_mut().zip(&mut after[0]) {
        (*x, *y) = (c * *x - s * *y, s * *x + c * *y);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_matrix_comes_back_and_systems_are_solved() {
        // Hilbert's matrix, whose inverse consists of whole numbers: condition 5e5 for n = 5
        let n = 5;
        let a: Vec<Vec<f64>> = (0..n).map(|i| (0..n).map(|j| 1.0 / (i + j + 1) as f64).collect()).collect();
        let eigen = Eigen::of(&a);
        for (i, row) in a.iter().enumerate() {
            for (j, entry) in row.iter().enumerate() {
                let sum: f64 = (0..n).map(|k| eigen.values[k] * eigen.vectors[k][i] * eigen.vectors[k][j]).sum();
                assert!((sum - entry).abs() < 1e-15, "{i} {j} {sum}");
            }
        }
        let system = System::new(&a);
        let x = system.solve(&[1.0, 0.0, 0.0, 0.0, 0.0]);
        for (found, exact) in x.iter().zip([25.0, -300.0, 1050.0, -1400.0, 630.0]) {
            assert!((found - exact).abs() < 1e-8, "{found} {exact}");
        }
        assert!(system.is_determined() && (system.inverse()[4][4] - 44_100.0).abs() < 1e-6);
        assert!(!System::new(&[vec![1.0, 1.0], vec![1.0, 1.0]]).is_determined());
    }
}
