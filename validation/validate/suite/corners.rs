//! Straight-sided plans: corners, reciprocity, and the order in which brackets close.

use super::{Effort, Figure};
use crate::cells::{Grid, cell, circle, graded, orders, uniform_ladder};
use std::f64::consts::PI;
use std::sync::Arc;
use twinplate::Point;
use twinplate::geometry::Wall::{Lower, Upper};
use twinplate::geometry::{Plan, Side};
use twinplate::input::case::Ends::HeldPressure;

/// Named quantities of straight-sided plans.
pub fn figure(what: &str, with: &[f64], effort: Effort) -> Option<Figure> {
    match (what, with) {
        ("right_angle", &[arm]) => Some(right_angle(arm, effort)),
        ("three_squares", &[]) => right_angle(2.0, effort).plus(2.0),
        ("reciprocity", &[]) => reciprocity(effort),
        ("order_smooth", &[]) => {
            let (_, plan) = cell(2.0, 1.0, HeldPressure, &circle([1.0, 0.5], 0.5));
            Some(order(&uniform_ladder(&plan, 0.08, 4), 2.0))
        }
        ("order_right_angle", &[]) => Some(order(&uniform_ladder(&elbow(2.0)?, 0.15, 5), 4.0 / 3.0)),
        ("order_square_post", &[]) => {
            let post = "[[obstacle]]\npolygon = { points = [[0.8, 0.3], [1.2, 0.3], [1.2, 0.7], [0.8, 0.7]] }\n";
            Some(order(&uniform_ladder(&cell(2.0, 1.0, HeldPressure, post).1, 0.1, 5), 4.0 / 3.0))
        }
        ("order_wall_end", &[over_pi]) => {
            let shift = -1.0 / (over_pi * PI).tan();
            let corners = [[0.0, 0.0], [1.0, 0.0], [1.0 + shift, 1.0], [shift, 1.0]];
            Some(order(&uniform_ladder(&plan(&corners, 1, 3)?, 0.1, 5), 1.0 / over_pi))
        }
        _ => None,
    }
}

impl Figure {
    fn plus(self, value: f64) -> Option<Figure> {
        Some(Figure { value: self.value + value, ..self })
    }
}

/// The plan inside a polygon with ends on two of its edges.
fn plan(corners: &[Point], outlet: usize, inlet: usize) -> Option<Arc<Plan>> {
    let side = |k: usize| match k {
        k if k == outlet => Side::Outlet,
        k if k == inlet => Side::Inlet,
        k if k > outlet && k < inlet => Side::Wall(Upper),
        _ => Side::Wall(Lower),
    };
    let sides: Vec<Side> = (0..corners.len()).map(side).collect();
    Plan::polygon(corners, &sides, &[]).ok().map(Arc::new)
}

/// A right-angle elbow of unit width with two arms.
fn elbow(arm: f64) -> Option<Arc<Plan>> {
    plan(&[[0.0, 0.0], [arm, 0.0], [arm, 1.0], [1.0, 1.0], [1.0, arm], [0.0, arm]], 1, 4)
}

/// Squares that the corner of an elbow counts besides its 2 (arm - 1) squares of straight channel; error: half the bracket.
fn right_angle(arm: f64, effort: Effort) -> Figure {
    let Some(plan) = elbow(arm) else { return Figure { value: f64::NAN, error: 0.0 } };
    let pair = graded(&plan, 8 * effort.triangles).pair;
    let (low, high) = (1.0 / pair.upper, 1.0 / pair.lower);
    Figure { value: 0.5 * (low + high) - 2.0 * (arm - 1.0), error: 0.5 * (high - low) }
}

/// Resistance of a quadrilateral times that with the other pair of sides as ends, on unlike meshes; error: both brackets.
fn reciprocity(effort: Effort) -> Option<Figure> {
    let corners: [Point; 4] = [[0.0, 0.0], [2.0, 0.3], [1.6, 1.4], [-0.2, 0.8]];
    let turned = [corners[1], corners[2], corners[3], corners[0]];
    let one = graded(&plan(&corners, 1, 3)?, 8 * effort.triangles).pair;
    let other = graded(&plan(&turned, 1, 3)?, 5 * effort.triangles).pair;
    let (low, high) = (one.lower * other.lower, one.upper * other.upper);
    Some(Figure { value: 0.5 * (low + high), error: 0.5 * (high - low) })
}

/// Order in which the bracket closes on uniformly halved meshes. The smooth part of the error, of order 2, makes the observed orders
/// approach p with the ratio r = 2^-(2-p) (1/2 where p is 2: the next term is of order 3): what is left is r/(1-r) times the last
/// change, or r times the one before if that is larger, for terms of unlike sign may cancel in a single change; a quarter more for the terms
/// after that, as in the grid convergence index.
fn order(grids: &[Grid], p: f64) -> Figure {
    let widths: Vec<f64> = grids.iter().map(Grid::width).collect();
    let observed = orders(&widths);
    let [.., first, before, last] = observed[..] else { return Figure { value: f64::NAN, error: 0.0 } };
    let r = if p < 2.0 { 2f64.powf(p - 2.0) } else { 0.5 };
    let change = (last - before).abs().max(r * (before - first).abs());
    Figure { value: last, error: 1.25 * r / (1.0 - r) * change }
}
