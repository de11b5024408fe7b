//! Exact shape factors must lie between the bounds, the allowance for curved outlines added.

use crate::cells::{Grid, cell, circle, ellipse, graded, study};
use std::f64::consts::PI;
use std::sync::Arc;
use twinplate::Point;
use twinplate::geometry::Wall::{Lower, Upper};
use twinplate::geometry::{Plan, Side};
use twinplate::input::case::Ends::HeldPressure;
use twinplate::theory::ideal::ShapeFactor;

/// The exact value lies within the bounds, widened below by the allowance. Chords of a convex post leave the fluid a little
/// more room, which can only raise the conductance: the upper bound holds as it stands.
fn encloses(name: &str, shape: &ShapeFactor, exact: f64, widest: f64) {
    println!("{name}: {exact} in {} to {}, allowance {:.1e}", shape.lower, shape.upper, shape.outline_allowance);
    assert!(shape.lower - shape.outline_allowance <= exact, "{name}: {exact} below {shape:?}");
    assert!(exact <= shape.upper, "{name}: {exact} above {shape:?}");
    assert!(shape.relative_half_width < widest, "{name}: {shape:?}");
    assert!(shape.outline_allowance < 2.0 * widest * exact, "{name}: {shape:?}");
}

/// Circle of diameter D centred in a channel of width W: added length dL/W of a long channel from rows of images of multipoles
/// (series evaluated to the digits given).
const ADDED_LENGTH: [(f64, f64); 5] =
    [(0.1, 0.0158382275), (0.2, 0.0649692654), (0.3, 0.152673417), (0.5, 0.494479592), (0.8, 2.17115594)];

/// What the circle changes decays as exp(-2 pi |x|/W), and held ends half a length L = 3 W away mirror it: the shape factor of
/// the finite cell differs by the order of dL/W exp(-2 pi L/W), below 2e-8, far less than any bracket here.
#[test]
fn circle_in_a_channel() {
    for (diameter, added) in ADDED_LENGTH {
        let (case, plan) = cell(3.0, 1.0, HeldPressure, &circle([1.5, 0.5], diameter));
        let study = study(case, plan, 6000, false);
        encloses(&format!("circle {diameter}"), &study.pattern.shape_factor, 1.0 / (3.0 + added), 2e-3);
    }
}

/// Half-round pier on a wall: the mirror image of half a channel, so the same added length over twice the width.
#[test]
fn half_circle_on_a_wall() {
    for (wall, y) in [("lower", 0.0), ("upper", 0.5)] {
        let pier =
            format!("[[obstacle]]\non_wall = \"{wall}\"\ncircle = {{ centre = [1.5, {y:?}], diameter = 0.5 }}\n");
        let (case, plan) = cell(3.0, 0.5, HeldPressure, &pier);
        let study = study(case, plan, 6000, false);
        encloses(wall, &study.pattern.shape_factor, 0.5 / (3.0 + 0.494479592), 2e-3);
    }
}

/// Square array of insulating posts of area fraction f, one unit cell with held ends: by Keller's duality (Keller 1964, J. Math.
/// Phys. 5, 548) the shape factor is 1/sigma, sigma the conductivity of the array of perfect conductors (Perrins, McKenzie &
/// McPhedran 1979, Proc. R. Soc. A 369, 207; digits by Rayleigh's multipoles).
#[test]
fn square_array_of_posts() {
    let sigma = [
        (0.1, 1.22222977),
        (0.2, 1.50030604),
        (0.3, 1.86018831),
        (0.4, 2.35099827),
        (0.5, 3.08019783),
        (0.6, 4.34182407),
        (0.7, 7.43270933),
    ];
    for (f, sigma) in sigma {
        let diameter = 2.0 * (f / PI).sqrt();
        let (case, plan) = cell(1.0, 1.0, HeldPressure, &circle([0.5, 0.5], diameter));
        let study = study(case, plan, 6000, false);
        encloses(&format!("fraction {f}"), &study.pattern.shape_factor, 1.0 / sigma, 2e-3);
    }
}

/// The plan inside a polygon with ends on two edges, the first wall after the outlet being the upper one.
fn plan(corners: &[Point], outlet: usize, inlet: usize) -> Arc<Plan> {
    let side = |k: usize| match k {
        k if k == outlet => Side::Outlet,
        k if k == inlet => Side::Inlet,
        k if k > outlet && k < inlet => Side::Wall(Upper),
        _ => Side::Wall(Lower),
    };
    let sides: Vec<Side> = (0..corners.len()).map(side).collect();
    Arc::new(Plan::polygon(corners, &sides, &[]).unwrap())
}

fn resistance_encloses(name: &str, grid: &Grid, squares: f64, widest: f64) {
    let (low, high) = (1.0 / grid.pair.upper, 1.0 / grid.pair.lower);
    println!("{name}: {squares} squares in {low} to {high}");
    // straight outlines: the bounds are strict, up to rounding
    assert!(
        low <= squares * (1.0 + 1e-12) && squares * (1.0 - 1e-12) <= high,
        "{name}: {squares} not in {low} to {high}"
    );
    assert!(0.5 * (high - low) / squares < widest, "{name}: {low} to {high}");
}

/// Right-angle corner whose two arms have the total length a, end to end: 2 (a - 1) squares of straight channel and the corner,
/// from the conformal map (Schwarz-Christoffel; a = 2, three squares, is 2 K(3/4)/K(1/4) = 2.558523142342013 squares). A long
/// corner counts 1 - (2/pi) ln 2 squares.
#[test]
fn right_angle_corner() {
    for (arm, corner) in [(1.5, 0.5538868212), (2.0, 0.558523142342013), (3.0, 0.5587284159)] {
        let corners = [[0.0, 0.0], [arm, 0.0], [arm, 1.0], [1.0, 1.0], [1.0, arm], [0.0, arm]];
        let grid = graded(&plan(&corners, 1, 4), 10_000);
        // the digits given
        resistance_encloses(&format!("arms {arm}"), &grid, 2.0 * (arm - 1.0) + corner, 2e-3);
    }
}

/// Reciprocity: the resistance of a quadrilateral times that with the other pair of sides as ends is one (Hakula, Rasila &
/// Vuorinen 2018, ETNA 48, 462).
#[test]
fn reciprocity_of_a_quadrilateral() {
    let corners: [Point; 4] = [[0.0, 0.0], [2.0, 0.3], [1.6, 1.4], [-0.2, 0.8]];
    let turned = [corners[1], corners[2], corners[3], corners[0]];
    // unlike meshes for the two, so that the discrete solutions know nothing of each other
    let (one, other) = (graded(&plan(&corners, 1, 3), 6000), graded(&plan(&turned, 1, 3), 4000));
    let (low, high) = (one.pair.lower * other.pair.lower, one.pair.upper * other.pair.upper);
    println!("reciprocity {low} to {high}");
    assert!(low <= 1.0 && 1.0 <= high, "{low} {high}");
    assert!(high - low < 4e-3, "{low} {high}");
    // on one mesh the pressure of the one is the stream function of the other, so the bounds are reciprocal to rounding
    let conjugate = graded(&plan(&turned, 1, 3), 6000);
    if conjugate.space.mesh.points.len() == one.space.mesh.points.len() {
        assert!((one.pair.upper * conjugate.pair.lower - 1.0).abs() < 1e-10);
        assert!((one.pair.lower * conjugate.pair.upper - 1.0).abs() < 1e-10);
    }
}

/// Thin plate of length l across a channel of width W: dL/W = (2/pi) ln sec(pi l/(2 W)), 0.220635600 for l/W = 1/2 (classical,
/// from memory). Ellipses of half-thickness A tend to it as dL0 + c1 A + c2 A^2 + ...; the value for A = 0 from three of them
/// misses by the next term, of the order of what the parabola adds to the straight line times A over the half-length.
#[test]
fn thin_plate_across_a_channel() {
    let half = 0.25;
    let added = |a: f64| {
        let (case, plan) = cell(3.0, 1.0, HeldPressure, &ellipse([1.5, 0.5], [a, half], 0.0));
        let shape = study(case, plan, 30_000, false).pattern.shape_factor;
        let error = (0.5 * (shape.upper - shape.lower) + shape.outline_allowance) / shape.value.powi(2);
        (1.0 / shape.value - 3.0, error)
    };
    let a = 0.01;
    let [(f1, e1), (f2, e2), (f3, e3)] = [a, 2.0 * a, 3.0 * a].map(added);
    let line = 2.0 * f1 - f2;
    let parabola = 3.0 * f1 - 3.0 * f2 + f3;
    let exact = 2.0 / PI * (1.0 / (PI * half).cos()).ln();
    assert!((exact - 0.220635600).abs() < 1e-9);
    let mesh = 3.0 * e1 + 3.0 * e2 + e3;
    let rest = (parabola - line).abs() * 3.0 * a / half;
    println!("plate {parabola} line {line} exact {exact}, mesh {mesh:.1e} rest {rest:.1e}");
    assert!((parabola - exact).abs() < mesh + rest, "{parabola} {exact} {mesh} {rest}");
    assert!(mesh + rest < 0.02 * exact, "{mesh} {rest}");
}
