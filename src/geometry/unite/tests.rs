//! Unions of outlines against exact areas.

use super::*;
use crate::geometry::measure::enclosed;
use std::f64::consts::PI;

fn circle(centre: Point, r: f64) -> Vec<Curve> {
    let arc = |k: f64| Curve::Arc {
        centre,
        semi_axes: [r; 2],
        rotation: 0.0,
        start: 0.5 * PI * k,
        end: 0.5 * PI * (k + 1.0),
    };
    [0.0, 1.0, 2.0, 3.0].map(arc).to_vec()
}

fn polygon(points: &[Point]) -> Vec<Curve> {
    let next = points.iter().skip(1).chain(points.first());
    points.iter().zip(next).map(|(&from, &to)| Curve::Line { from, to }).collect()
}

fn areas(outlines: &[Vec<Curve>]) -> Vec<f64> {
    let parts: Vec<&[Curve]> = outlines.iter().map(Vec::as_slice).collect();
    let found = united(&parts).unwrap();
    for outline in &found {
        for k in 0..outline.len() {
            let gap = distance(outline[k].point(1.0), outline[(k + 1) % outline.len()].point(0.0));
            assert!(gap < 1e-8, "{gap}");
        }
    }
    found.iter().map(|outline| enclosed(outline)).collect()
}

fn assert_areas(outlines: &[Vec<Curve>], exact: &[f64]) {
    let found = areas(outlines);
    assert_eq!(found.len(), exact.len(), "{found:?}");
    for (found, exact) in found.iter().zip(exact) {
        // places are one within 1e-9 of the size
        assert!((found - exact).abs() < 1e-7 * exact, "{found} {exact}");
    }
}

/// Two circles of radius 1 whose centres are 1 apart share 2 pi/3 - sqrt 3/2.
#[test]
fn circles_unite_whatever_their_sense() {
    let (one, other) = (circle([0.0, 0.0], 1.0), circle([1.0, 0.0], 1.0));
    let exact = 2.0 * PI - (2.0 * PI / 3.0 - 0.5 * 3f64.sqrt());
    assert_areas(&[one.clone(), other.clone()], &[exact]);
    let back: Vec<Curve> = other.iter().rev().map(Curve::reversed).collect();
    assert_areas(&[one.clone(), back], &[exact]);
    // one above the other, and one alone
    let above = circle([0.0, 1.0], 1.0);
    assert_areas(&[one.clone(), above], &[exact]);
    assert_areas(std::slice::from_ref(&one), &[PI]);
    // inside one another, and apart
    assert_areas(&[one.clone(), circle([0.1, 0.0], 0.5)], &[PI, 0.25 * PI]);
    assert_areas(&[one, circle([5.0, 0.3], 1.0)], &[PI, PI]);
}

/// A pentagram in a circle of radius 1: ten triangles from the centre, of sides 1 and sin 18/sin 54 with 36 degrees between.
#[test]
fn a_star_that_crosses_itself_keeps_its_points() {
    let at = |k: usize| {
        let angle = 0.5 * PI + 2.0 * PI * (2 * k) as f64 / 5.0;
        [angle.cos(), angle.sin()]
    };
    let star = polygon(&[at(0), at(1), at(2), at(3), at(4)]);
    let degrees = |d: f64| d.to_radians();
    let inner = degrees(18.0).sin() / degrees(54.0).sin();
    assert_areas(&[star], &[10.0 * 0.5 * inner * degrees(36.0).sin()]);
}

/// Squares that share a side or a part of it, and a cross of two bars: nothing but their union.
#[test]
fn sides_along_one_another_are_one() {
    let rectangle = |x: f64, y: f64, w: f64, h: f64| polygon(&[[x, y], [x + w, y], [x + w, y + h], [x, y + h]]);
    assert_areas(&[rectangle(0.0, 0.0, 1.0, 1.0), rectangle(1.0, 0.0, 1.0, 1.0)], &[2.0]);
    assert_areas(&[rectangle(0.0, 0.0, 1.0, 1.0), rectangle(1.0, 0.25, 1.0, 0.5)], &[1.5]);
    assert_areas(&[rectangle(-2.0, -0.5, 4.0, 1.0), rectangle(-0.5, -2.0, 1.0, 4.0)], &[7.0]);
    assert_areas(&[rectangle(0.0, 0.0, 1.0, 1.0), rectangle(0.0, 0.0, 1.0, 1.0)], &[1.0]);
}

/// A bow of a cubic over a bar.
#[test]
fn a_cubic_across_a_bar_is_parted() {
    let bar = polygon(&[[-1.0, -0.1], [2.0, -0.1], [2.0, 0.1], [-1.0, 0.1]]);
    let bow = vec![
        Curve::Cubic { coefficients: [[0.0, 0.0], [3.0, 3.0], [-3.0, -3.0], [1.0, 0.0]] },
        Curve::Line { from: [1.0, 0.0], to: [0.0, 0.0] },
    ];
    // y = 3 t (1 - t), x = 3 t - 3 t^2 + t^3: above y = 0.1 the area is int (y - 0.1) dx between its two heights
    let root = (1.0f64 - 4.0 * 0.1 / 3.0).sqrt();
    let [a, b] = [0.5 * (1.0 - root), 0.5 * (1.0 + root)];
    let primitive = |t: f64| {
        // (3 t - 3 t^2 - 0.1)(3 - 6 t + 3 t^2) = -0.3 + 9.6 t - 27.3 t^2 + 27 t^3 - 9 t^4
        ((((-9.0 / 5.0 * t + 27.0 / 4.0) * t - 27.3 / 3.0) * t + 9.6 / 2.0) * t - 0.3) * t
    };
    assert_areas(&[bar, bow], &[0.6 + primitive(b) - primitive(a)]);
}
