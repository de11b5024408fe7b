//! Interpolation on a grid of rows and columns: cubic Hermite pieces along x and y, with slopes of the parabola through three
//! neighbours (one-sided at the rim).
//!
//! Continuous with its gradient, exact at the nodes and for polynomials of degree two in x and in y; error h³ elsewhere.

use crate::base::Point;

/// Values on a grid.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Lattice {
    x: Vec<f64>,
    y: Vec<f64>,
    /// Value, its derivatives along x and y, and the mixed one; those of one x together.
    nodes: Vec<[f64; 4]>,
}

impl Lattice {
    /// A grid, if the points fill one: at least two rows and two columns, each crossing once.
    pub fn of(points: &[[f64; 3]]) -> Option<Lattice> {
        let axis = |k: usize| {
            let mut all: Vec<f64> = points.iter().map(|p| p[k]).collect();
            all.sort_by(f64::total_cmp);
            all.dedup();
            all
        };
        let (x, y) = (axis(0), axis(1));
        if x.len() < 2 || y.len() < 2 || x.len().checked_mul(y.len()) != Some(points.len()) {
            return None;
        }
        let mut sorted: Vec<&[f64; 3]> = points.iter().collect();
        sorted.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
        // as many distinct places as crossings: each crossing is there
        if sorted.windows(2).any(|pair| pair[0][..2] == pair[1][..2]) {
            return None;
        }
        let (nx, ny) = (x.len(), y.len());
        let mut nodes: Vec<[f64; 4]> = sorted.iter().map(|p| [p[2], 0.0, 0.0, 0.0]).collect();
        let along_y = |nodes: &mut [[f64; 4]], from: usize, to: usize| {
            for column in nodes.chunks_exact_mut(ny) {
                let values: Vec<f64> = column.iter().map(|node| node[from]).collect();
                column.iter_mut().zip(slopes(&y, &values)).for_each(|(node, slope)| node[to] = slope);
            }
        };
        for j in 0..ny {
            let values: Vec<f64> = (0..nx).map(|i| nodes[i * ny + j][0]).collect();
            slopes(&x, &values).into_iter().enumerate().for_each(|(i, slope)| nodes[i * ny + j][1] = slope);
        }
        along_y(&mut nodes, 0, 2);
        along_y(&mut nodes, 1, 3);
        Some(Lattice { x, y, nodes })
    }

    /// Value and gradient; beyond the rim the cubic of the rim goes on.
    pub fn value(&self, [x, y]: Point) -> (f64, [f64; 2]) {
        let (i, j) = (piece(&self.x, x), piece(&self.y, y));
        let (x, y) = (Weights::new(&self.x, i, x), Weights::new(&self.y, j, y));
        let (mut value, mut slope) = (0.0, [0.0; 2]);
        for a in 0..2 {
            for b in 0..2 {
                let [f, fx, fy, fxy] = self.nodes[(i + a) * self.y.len() + j + b];
                let along = |weights: &[[f64; 2]; 2]| {
                    (weights[a][0] * f + weights[a][1] * fx, weights[a][0] * fy + weights[a][1] * fxy)
                };
                let (of, slope_of) = along(&x.value);
                let (of_x, slope_of_x) = along(&x.slope);
                value += y.value[b][0] * of + y.value[b][1] * slope_of;
                slope[0] += y.value[b][0] * of_x + y.value[b][1] * slope_of_x;
                slope[1] += y.slope[b][0] * of + y.slope[b][1] * slope_of;
            }
        }
        (value, slope)
    }
}

/// Cubic Hermite weights of value and slope at both ends of a piece, and their derivatives.
struct Weights {
    value: [[f64; 2]; 2],
    slope: [[f64; 2]; 2],
}

impl Weights {
    fn new(axis: &[f64], i: usize, at: f64) -> Weights {
        let h = axis[i + 1] - axis[i];
        let t = (at - axis[i]) / h;
        let s = 1.0 - t;
        Weights {
            value: [[s * s * (1.0 + 2.0 * t), s * s * t * h], [t * t * (1.0 + 2.0 * s), -t * t * s * h]],
            slope: [[-6.0 * s * t / h, s * (s - 2.0 * t)], [6.0 * s * t / h, t * (t - 2.0 * s)]],
        }
    }
}

/// The piece a coordinate falls into.
fn piece(axis: &[f64], at: f64) -> usize {
    axis.partition_point(|&node| node <= at).clamp(1, axis.len() - 1) - 1
}

/// Slopes of the parabola through each node and its two neighbours, or the nearest three at the ends.
fn slopes(axis: &[f64], values: &[f64]) -> Vec<f64> {
    let n = axis.len();
    let rise = |i: usize| (values[i + 1] - values[i]) / (axis[i + 1] - axis[i]);
    if n == 2 {
        return vec![rise(0); 2];
    }
    let slope = |i: usize| {
        let k = i.clamp(1, n - 2);
        let (before, after) = (axis[k] - axis[k - 1], axis[k + 1] - axis[k]);
        let bend = (rise(k) - rise(k - 1)) / (before + after);
        // the parabola's slope at node k, carried on to node i
        let middle = rise(k - 1) + before * bend;
        middle + 2.0 * bend * (axis[i] - axis[k])
    };
    (0..n).map(slope).collect()
}
