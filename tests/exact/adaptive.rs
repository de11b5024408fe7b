//! The accuracy adaptive meshes buy: with linear elements the squared energy error cannot fall faster than 1/N on smooth parts, and
//! adaptive meshes keep that rate with corners of any angle (Binev, Dahmen & DeVore 2004, Numer. Math. 97, 219; from memory).
//! So the half-width of the bracket times the number of triangles stays level. The factors allowed are what users are promised.

use crate::cells::{cell, circle};
use crate::plans::square;
use std::sync::Arc;
use twinplate::geometry::Plan;
use twinplate::input::case::Case;
use twinplate::input::case::Ends::HeldPressure;
use twinplate::theory::ideal::{Goal, Solved, solve_ideal};

/// A square turned by 8 degrees: four re-entrant corners of 270 degrees of fluid.
fn turned_square() -> (Case, Arc<Plan>) {
    let corners = square([0.9, 0.5], 0.3, 8f64.to_radians());
    cell(2.0, 1.0, HeldPressure, &format!("[[obstacle]]\npolygon = {{ points = {corners:?} }}\n"))
}

/// A section whose closed tail is sharp: nearly 360 degrees of fluid.
fn sharp_tail() -> (Case, Arc<Plan>) {
    let section = "[[obstacle]]\nfour_digit = { section = \"0015\", chord = 0.6, nose = [0.7, 0.5], angle = 6, closed_tail = true }\n";
    cell(2.0, 1.0, HeldPressure, section)
}

fn solve(cell: &(Case, Arc<Plan>), goal: Goal) -> Solved {
    solve_ideal(&cell.1, &cell.0, goal, &|_| {}).unwrap()
}

fn half_width(solved: &Solved) -> f64 {
    (solved.pair.upper - solved.pair.lower) / (solved.pair.upper + solved.pair.lower)
}

#[test]
fn half_width_times_triangles_stays_level() {
    for (name, cell) in [("square", turned_square()), ("section", sharp_tail())] {
        let product = |n: usize| {
            let solved = solve(&cell, Goal::Triangles(n));
            let triangles = solved.space.mesh.triangles.len();
            assert!((triangles as f64 / n as f64).ln().abs() < 0.15, "{name}: {triangles} triangles in place of {n}");
            half_width(&solved) * triangles as f64
        };
        // single meshes, two levels, three levels
        let products = [10_000, 11_900, 12_100, 20_000, 40_000, 95_000, 97_000].map(product);
        println!("{name}: {products:.3?}");
        let (least, most) = products.iter().fold((f64::INFINITY, 0.0f64), |(l, m), &x| (l.min(x), m.max(x)));
        assert!(most < 1.5 * least, "{name}: {products:?}");
    }
}

#[test]
fn corners_and_narrow_passages_reach_the_error_in_few_cycles() {
    // two posts 1/500 of their diameter apart, and one cell of a square array of area fraction 0.78: 0.3 % of the spacing is left
    let pair = circle([1.0, 0.3497], 0.3) + &circle([1.0, 0.6503], 0.3);
    let array = circle([0.5, 0.5], 2.0 * (0.78 / std::f64::consts::PI).sqrt());
    let cases = [
        ("square", turned_square(), 1e-4, 100_000),
        ("section", sharp_tail(), 1e-4, 100_000),
        ("two posts", cell(2.0, 1.0, HeldPressure, &pair), 1e-3, 200_000),
        ("array", cell(1.0, 1.0, HeldPressure, &array), 1e-3, 200_000),
    ];
    for (name, cell, relative, most) in cases {
        let solved = solve(&cell, Goal::Error { relative, most_triangles: 4_000_000 });
        let triangles = solved.space.mesh.triangles.len();
        println!("{name}: {:.2e} on {triangles} triangles in {} cycles", half_width(&solved), solved.cycles.len());
        assert!(solved.reached && half_width(&solved) <= relative, "{name}: {:?}", solved.cycles);
        assert!(triangles <= most && solved.cycles.len() <= 6, "{name}: {:?}", solved.cycles);
    }
}
