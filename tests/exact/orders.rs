//! How the bracket closes on uniform meshes: as h^2 where the pattern is smooth, else as the strongest corner says.
//!
//! A corner of fluid angle omega has the energy order 2 pi/omega between walls and pi/omega where a wall meets a held end
//! (Grisvard 1985, Elliptic Problems in Nonsmooth Domains).

use crate::cells::{Grid, cell, circle, orders, uniform_ladder};
use std::sync::Arc;
use twinplate::Point;
use twinplate::geometry::Wall::{Lower, Upper};
use twinplate::geometry::{Plan, Side};
use twinplate::input::case::Ends::HeldPressure;

fn widths(grids: &[Grid]) -> Vec<f64> {
    grids.iter().map(Grid::width).collect()
}

fn closes_as(name: &str, grids: &[Grid], expected: f64) {
    let widths = widths(grids);
    let orders = orders(&widths);
    println!("{name}: {widths:.3?} orders {orders:.3?}");
    // the smooth part of the error, of order 2, still shows in the coarse meshes
    let last = orders[orders.len() - 1];
    assert!((last - expected).abs() < 0.15, "{name}: {orders:?} instead of {expected}");
}

#[test]
fn smooth_outline_closes_at_second_order() {
    let (_, plan) = cell(2.0, 1.0, HeldPressure, &circle([1.0, 0.5], 0.5));
    closes_as("circle", &uniform_ladder(&plan, 0.08, 4), 2.0);
}

#[test]
fn re_entrant_corners_close_as_their_angle_says() {
    // omega = 3 pi/2: 4/3; a knife edge, omega = 2 pi: 1
    let corners = [[0.0, 0.0], [2.0, 0.0], [2.0, 1.0], [1.0, 1.0], [1.0, 2.0], [0.0, 2.0]];
    let sides = [Lower, Lower, Upper, Upper, Upper, Lower].map(Side::Wall);
    let mut sides = sides.to_vec();
    (sides[1], sides[4]) = (Side::Outlet, Side::Inlet);
    let plan = Arc::new(Plan::polygon(&corners, &sides, &[]).unwrap());
    closes_as("right angle", &uniform_ladder(&plan, 0.15, 5), 4.0 / 3.0);
    let post = "[[obstacle]]\npolygon = { points = [[0.8, 0.3], [1.2, 0.3], [1.2, 0.7], [0.8, 0.7]] }\n";
    let (_, plan) = cell(2.0, 1.0, HeldPressure, post);
    closes_as("square post", &uniform_ladder(&plan, 0.1, 5), 4.0 / 3.0);
}

#[test]
fn an_obtuse_corner_of_wall_and_end_closes_as_its_angle_says() {
    let sides = [Side::Wall(Lower), Side::Outlet, Side::Wall(Upper), Side::Inlet];
    // parallelograms with the angle omega at two of four places where walls meet ends
    for omega in [0.75 * std::f64::consts::PI, 5.0 / 6.0 * std::f64::consts::PI] {
        let shift = -1.0 / omega.tan();
        let corners: [Point; 4] = [[0.0, 0.0], [1.0, 0.0], [1.0 + shift, 1.0], [shift, 1.0]];
        let plan = Arc::new(Plan::polygon(&corners, &sides, &[]).unwrap());
        closes_as("obtuse", &uniform_ladder(&plan, 0.1, 5), std::f64::consts::PI / omega);
    }
}
