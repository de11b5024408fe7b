//! The closure with in-plane viscosity: a duct, and the dipole and the edge constant of a round post.

use super::Figure;
use crate::cells::{cell_of_gap, circle};
use std::f64::consts::{PI, TAU};
use std::sync::Arc;
use twinplate::Point;
use twinplate::input::case::Ends::GivenInflow;
use twinplate::input::case::{Ends, Gap};
use twinplate::numerics::fem::Space;
use twinplate::numerics::mesh::{Mesh, SizeField};
use twinplate::theory::closure::mesh::Walls;
use twinplate::theory::closure::series::{Setting, solve_series};
use twinplate::theory::closure::{Closure, solve_closure};

/// Named quantities of the closure.
pub fn figure(what: &str, with: &[f64]) -> Option<Figure> {
    match (what, with) {
        ("duct_centre", &[ratio]) => duct_centre(ratio),
        ("dipole", &[ratio]) => projected(ratio, dipole),
        ("edge_constant", &[ratio]) => projected(ratio, edge_constant),
        _ => None,
    }
}

/// Speed at the middle of an empty duct over its mean, both walls without slip, b/W given. Error: what the last refinement changed, which
/// is three times what is left at second order.
fn duct_centre(ratio: f64) -> Option<Figure> {
    let (case, plan) = cell_of_gap(1.0, 1.0, &format!("{ratio:?}"), Ends::HeldPressure, "");
    let size = SizeField::new(0.25 * ratio, 0.3, vec![]);
    let mut mesh = Mesh::generate(&plan, &size, 400_000).ok()?;
    let mut values = Vec::new();
    for _ in 0..2 {
        let space = Space::new(Arc::new(mesh.clone()), &Gap::Uniform(ratio), ratio);
        let setting =
            Setting { ends: Ends::HeldPressure, fluid: &case.fluid, flow_rate: ratio, gap: ratio, walls: Walls::BOTH };
        let series = solve_series(&space, &setting).ok()?;
        let (t, weights) = space.locator().find([0.5, 0.5], None)?;
        let corners = space.mesh.triangles[t as usize];
        values.push((0..3).map(|k| weights[k] * series.velocities[0][corners[k] as usize][0]).sum::<f64>());
        mesh = mesh.refined();
    }
    Some(Figure { value: values[1], error: (values[1] - values[0]).abs() })
}

const RADIUS: f64 = 1.0 / 60.0;
const CENTRE: Point = [1.0, 0.5];
/// Places of the projections, in radii: so far out that no exponential of the edge is left.
const PLACE: f64 = 3.0;

/// A projection of the closure's field round a post of radius W/60 over 64 places, and of what extrapolation changed of it, its error;
/// images in the walls add (pi^2/3)(a/W)^2.
fn projected(ratio: f64, of: impl Fn(&Closure, [f64; 2], f64) -> [f64; 2]) -> Option<Figure> {
    let gap = ratio * RADIUS;
    let (case, plan) = cell_of_gap(2.0, 1.0, &format!("{gap:?}"), GivenInflow, &circle(CENTRE, 2.0 * RADIUS));
    let speed = 1e-3;
    let closure = solve_closure(&case, &plan, speed * gap, &|_| ()).ok()?;
    let [value, correction] = of(&closure, [gap, speed], case.fluid.viscosity / case.fluid.density);
    Some(Figure { value, error: correction.abs() + PI * PI / 3.0 * RADIUS * RADIUS * value.abs() })
}

/// The mean over a ring of `radial cos(m t) + azimuthal sin(m t)` of a field.
fn part(closure: &Closure, field: &[[f64; 2]], mode: f64) -> f64 {
    let locator = closure.space.locator();
    let at = |k: usize| {
        let t = TAU * (k as f64 + 0.3) / 64.0;
        let place = [CENTRE[0] + PLACE * RADIUS * t.cos(), CENTRE[1] + PLACE * RADIUS * t.sin()];
        let (triangle, weights) = locator.find(place, None)?;
        let corners = closure.space.mesh.triangles[triangle as usize];
        let [x, y] = [0, 1].map(|i| (0..3).map(|k| weights[k] * field[corners[k] as usize][i]).sum::<f64>());
        let (radial, azimuthal) = (x * t.cos() + y * t.sin(), y * t.cos() - x * t.sin());
        Some(radial * (mode * t).cos() + azimuthal * (mode * t).sin())
    };
    (0..64).map(|k| at(k).unwrap_or(f64::NAN)).sum::<f64>() / 64.0
}

/// Dipole over a^2: V = U (1 - D/r^2) cos t, -U (1 + D/r^2) sin t; a uniform stream drops out of the projection.
fn dipole(closure: &Closure, [_, speed]: [f64; 2], _nu: f64) -> [f64; 2] {
    let of = |field: &[[f64; 2]]| -PLACE * PLACE * part(closure, field, 1.0) / speed;
    let beyond: Vec<[f64; 2]> =
        closure.orders[0].iter().zip(&closure.ideal).map(|(v, w)| [v[0] - w[0], v[1] - w[1]]).collect();
    [1.0 + of(&beyond), of(&closure.corrections[0])]
}

/// C1 as the outer flow sees it in the first order of inertia, V1 = -A (a/r)^3 (cos 2t, sin 2t), A = 4 C1 (b^3/nu) U^2/a^2.
fn edge_constant(closure: &Closure, [gap, speed]: [f64; 2], nu: f64) -> [f64; 2] {
    let unit = 4.0 * gap.powi(3) / nu * (speed / RADIUS).powi(2) / PLACE.powi(3);
    let of = |field: &[[f64; 2]]| -part(closure, field, 2.0) / unit;
    [of(&closure.orders[1]), of(&closure.corrections[1])]
}
