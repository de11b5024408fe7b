//! Closed lines along which a picture is half covered: marching squares (Lorensen & Cline 1987, in the plane).

use super::tone::Coverage;
use crate::base::Point;
use crate::base::error::Problems;
use crate::base::plane::polygon_area;
use std::path::Path;

/// A crossing keeps this fraction of their distance from the two pixels, so that lines past a pixel that is just half covered stay apart.
const CLEAR: f64 = 0.005;

/// Most crossings of the grid by the half-tone line.
const MOST_CROSSINGS: usize = 10_000_000;

/// A closed half-tone line, the obstacle on its left, in pixels from the lower left corner of the picture, y up.
pub(super) struct Contour {
    pub points: Vec<Point>,
    /// The enclosed area, positive for the outside of a blob, negative for a hole.
    pub area: f64,
    /// Whether it reaches the border of the picture.
    pub at_border: bool,
    /// The share of its crossings without an intermediate tone on either side.
    pub abrupt: f64,
}

/// The coverage averaged over each pixel and its neighbours with the weights 1, 2, 1 along both axes.
///
/// A box-filtered edge is a ramp of one pixel, over which linear interpolation errs by up to 0.086 pixels; after this average it errs by
/// (7 - 4 sqrt 3)/2 = 0.036, along the grid, and less in other directions. An edge of radius R moves by 1/(4 R) pixels.
struct Smoothed {
    width: usize,
    values: Vec<f32>,
}

impl Smoothed {
    /// Two pixels wider than the picture on each side.
    fn new(coverage: &Coverage) -> Self {
        let (width, height) = (coverage.width + 4, coverage.height + 4);
        let mut values = Vec::with_capacity(width * height);
        let across = |y: isize| -> Vec<f64> {
            let row: Vec<f64> = (-1..=width as isize).map(|x| coverage.at(x - 2, y).clamp(-1.0, 1.0)).collect();
            row.windows(3).map(|v| 0.25 * (v[0] + 2.0 * v[1] + v[2])).collect()
        };
        let mut rows = [across(-3), across(-2), across(-1)];
        for y in 0..height as isize {
            let [above, here, below] = &rows;
            values.extend((0..width).map(|x| (0.25 * (above[x] + 2.0 * here[x] + below[x])) as f32));
            rows.rotate_left(1);
            rows[2] = across(y);
        }
        Smoothed { width, values }
    }

    fn at(&self, x: usize, y: usize) -> f64 {
        f64::from(self.values[y * self.width + x])
    }
}

/// A crossing of the line between two neighbouring pixels: the pixel, and 0 if the other is on its right, 1 if below.
type Edge = u64;

/// All half-tone lines, largest area first.
///
/// # Errors
/// None, or far too many.
pub(super) fn contours(coverage: &Coverage, file: &Path) -> Result<Vec<Contour>, Problems> {
    let field = Smoothed::new(coverage);
    let (width, height) = (coverage.width + 4, coverage.height + 4);
    let mut steps: Vec<[Edge; 2]> = Vec::new();
    for y in 0..height - 1 {
        for x in 0..width - 1 {
            cell(&field, x, y, &mut steps);
        }
        if steps.len() > MOST_CROSSINGS {
            let message = format!("the picture has more than {MOST_CROSSINGS} edges: it is no silhouette but noise");
            return Err(Problems::one(file, message, "smooth the picture first, or give a threshold"));
        }
    }
    steps.sort_unstable();
    let mut used = vec![false; steps.len()];
    let mut found = Vec::new();
    for first in 0..steps.len() {
        let (mut edges, mut k) = (Vec::new(), first);
        while !used[k] {
            used[k] = true;
            edges.push(steps[k][0]);
            match steps.binary_search_by(|step| step[0].cmp(&steps[k][1])) {
                Ok(next) => k = next,
                Err(_) => break,
            }
        }
        if edges.len() > 2 {
            found.push(contour(&field, coverage, &edges));
        }
    }
    found.sort_by(|a, b| b.area.abs().total_cmp(&a.area.abs()));
    Ok(found)
}

/// The steps of the line through the square between four pixels, the obstacle on the left with y up.
fn cell(field: &Smoothed, x: usize, y: usize, steps: &mut Vec<[Edge; 2]>) {
    let corners = [field.at(x, y), field.at(x + 1, y), field.at(x + 1, y + 1), field.at(x, y + 1)];
    let inside = corners.map(|v| v > 0.0);
    if inside.iter().all(|i| *i == inside[0]) {
        return;
    }
    let edge = |x: usize, y: usize, down: u64| 2 * (y * field.width + x) as u64 + down;
    let sides = [edge(x, y, 0), edge(x + 1, y, 1), edge(x, y + 1, 0), edge(x, y, 1)];
    // Walking the corners clockwise as seen (y down), the line enters where it goes from outside to inside.
    let crosses = |from: bool, to: bool| move |k: &usize| inside[*k] == from && inside[(*k + 1) % 4] == to;
    let ins: Vec<usize> = (0..4).filter(crosses(false, true)).collect();
    let outs: Vec<usize> = (0..4).filter(crosses(true, false)).collect();
    if ins.len() == 1 {
        steps.push([sides[ins[0]], sides[outs[0]]]);
        return;
    }
    // A saddle: its middle says which corners hang together.
    let joined = corners.iter().sum::<f64>() > 0.0;
    for out in outs {
        let other = if joined { (out + 1) % 4 } else { (out + 3) % 4 };
        steps.push([sides[other], sides[out]]);
    }
}

fn contour(field: &Smoothed, coverage: &Coverage, edges: &[Edge]) -> Contour {
    let height = coverage.height as f64;
    let (mut abrupt, mut at_border) = (0usize, false);
    let points: Vec<Point> = edges
        .iter()
        .map(|edge| {
            let (place, down) = ((edge / 2) as usize, (edge % 2) as usize);
            let (x, y) = (place % field.width, place / field.width);
            let (a, b) = (field.at(x, y), field.at(x + 1 - down, y + down));
            let t = (a / (a - b)).clamp(CLEAR, 1.0 - CLEAR);
            let (px, py) = (x as isize - 2, y as isize - 2);
            let ends = [coverage.at(px, py), coverage.at(px + 1 - down as isize, py + down as isize)];
            abrupt += usize::from(ends.iter().all(|v| v.abs() > 0.9));
            at_border |= px < 0
                || py < 0
                || px + 1 - down as isize >= coverage.width as isize
                || py + down as isize >= coverage.height as isize;
            let along = |k: usize| if k == down { t } else { 0.0 };
            [px as f64 + 0.5 + along(0), height - (py as f64 + 0.5 + along(1))]
        })
        .collect();
    Contour { area: polygon_area(&points), at_border, abrupt: abrupt as f64 / edges.len() as f64, points }
}
