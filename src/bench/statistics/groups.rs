//! Least squares over groups of rows that have levels of their own.

use super::System;

/// The inverse of a symmetric positive matrix; none where two unknowns cannot be told apart within rounding.
fn inverse<const N: usize>(matrix: &[[f64; N]; N]) -> Option<[[f64; N]; N]> {
    let system = System::new(&matrix.iter().map(|row| row.to_vec()).collect::<Vec<_>>());
    let inverse = system.is_determined().then(|| system.inverse())?;
    Some(std::array::from_fn(|i| std::array::from_fn(|k| inverse[i][k])))
}

/// Matrix times vector.
fn product<const N: usize>(matrix: &[[f64; N]; N], vector: &[f64; N]) -> [f64; N] {
    std::array::from_fn(|i| (0..N).map(|k| matrix[i][k] * vector[k]).sum())
}

/// Weight, factors of the unknowns and value of a row.
pub type Row<const N: usize> = (f64, [f64; N], f64);

/// Least squares in which each group has a level of its own: what the groups add to the equations, solved with errors that hold
/// whatever the noise within a group is like (White 1980, Econometrica 48, 817; by groups as Liang and Zeger 1986, Biometrika 73, 13).
#[derive(Debug, Clone, Copy)]
pub struct Group<const N: usize> {
    matrix: [[f64; N]; N],
    side: [f64; N],
}

impl<const N: usize> Group<N> {
    /// A group of rows (weight, unknowns' factors, value), its weighted means taken out.
    pub fn new(rows: &[Row<N>]) -> Self {
        let total: f64 = rows.iter().map(|(weight, ..)| weight).sum();
        let mean = |of: &dyn Fn(&Row<N>) -> f64| {
            if total > 0.0 { rows.iter().map(|row| row.0 * of(row)).sum::<f64>() / total } else { 0.0 }
        };
        let factors: [f64; N] = std::array::from_fn(|k| mean(&|row| row.1[k]));
        let value = mean(&|row| row.2);
        let mut group = Group { matrix: [[0.0; N]; N], side: [0.0; N] };
        for row in rows {
            let f: [f64; N] = std::array::from_fn(|k| row.1[k] - factors[k]);
            for i in 0..N {
                for k in 0..N {
                    group.matrix[i][k] += row.0 * f[i] * f[k];
                }
                group.side[i] += row.0 * f[i] * (row.2 - value);
            }
        }
        group
    }
}

/// The unknowns and the covariance of their errors; none where they are not determined.
pub fn solve<const N: usize>(groups: &[Group<N>]) -> Option<([f64; N], [[f64; N]; N])> {
    let mut matrix = [[0.0; N]; N];
    let mut side = [0.0; N];
    for group in groups {
        for i in 0..N {
            side[i] += group.side[i];
            matrix[i].iter_mut().zip(group.matrix[i]).for_each(|(sum, own)| *sum += own);
        }
    }
    let inverse = inverse(&matrix)?;
    let found = product(&inverse, &side);
    let mut covariance = [[0.0; N]; N];
    for group in groups {
        let own = product(&group.matrix, &found);
        let left = product(&inverse, &std::array::from_fn(|k| group.side[k] - own[k]));
        for i in 0..N {
            for k in 0..N {
                covariance[i][k] += left[i] * left[k];
            }
        }
    }
    Some((found, covariance))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn small_systems_are_solved() {
        let matrix = [[4.0, 1.0], [1.0, 3.0]];
        let inverse = inverse(&matrix).unwrap();
        assert!((inverse[0][0] - 3.0 / 11.0).abs() < 1e-15 && (inverse[0][1] + 1.0 / 11.0).abs() < 1e-15);
        assert!(super::inverse(&[[1.0, 1.0], [1.0, 1.0]]).is_none());
        // two groups of their own levels on one slope
        let group = |level: f64| Group::new(&[0.0, 1.0, 3.0].map(|x| (2.0, [x], level + 0.5 * x)));
        let (slope, covariance) = solve(&[group(7.0), group(-2.0)]).unwrap();
        assert!((slope[0] - 0.5).abs() < 1e-14 && covariance[0][0] < 1e-28);
    }
}
