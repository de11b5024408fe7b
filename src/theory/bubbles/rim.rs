//! The edge layer of a bubble's rim: nearly none.
//!
//! A clean surface is free of shear, so that the plates alone hold the flow back beside it. In the cross-section the speed along the rim solves
//! `∇²u = −12`, u = 0 on the plates, `∂u/∂n = 0` on the meniscus, an arc that meets the plates at the contact angle θ (through the liquid);
//! lengths in gaps. What is missing in the flow there, `∫∫ (1 − u) dA` over the liquid, is how far the line without flux of the ideal pattern stands
//! ahead of the rim of the bubble's volume, its mean over the gap. From above one sees the apex at mid-gap, which stands ahead as well: a
//! rim drawn as photographed needs no edge layer. A rim that surfactant or dirt makes stiff holds the liquid back as a solid does (u = 0 on
//! it); the truth is between. Derived here; the tests solve the cross-section.
//!
//! Range: θ up to 90 degrees, radius well above the gap.

use std::f64::consts::FRAC_PI_2;

/// Contact angle in degrees and, in gaps, the layer ahead of the volume rim, free and stiff; to 1e-4.
const LAYERS: [[f64; 3]; 8] = [
    [0.0, 0.1182, 0.3868],
    [10.0, 0.1149, 0.3837],
    [20.0, 0.1071, 0.3767],
    [30.0, 0.0968, 0.3678],
    [45.0, 0.0784, 0.3534],
    [60.0, 0.0567, 0.3394],
    [75.0, 0.0312, 0.3265],
    [90.0, 0.0, 0.3151],
];

/// How far the apex of the meniscus, the rim seen from above, stands ahead of the volume rim, in gaps: `r − (√(r² − 1/4)/2 + r² arcsin(1/(2r)))`,
/// r = 1/(2 cos θ); an arc's mean. `angle` θ in rad, kept within 0 and 90 degrees.
pub fn volume_rim(angle: f64) -> f64 {
    let cosine = angle.clamp(0.0, FRAC_PI_2).cos();
    if cosine < 1e-4 {
        // to second order: a parabola of height cos(θ)/4
        return cosine / 12.0;
    }
    let r = 0.5 / cosine;
    r - (0.5 * (r * r - 0.25).max(0.0).sqrt() + r * r * (0.5 / r).min(1.0).asin())
}

/// The layer ahead of the volume rim, in gaps: 0.118 at θ = 0, none at 90 degrees; between the angles of the table by a cubic through four of
/// them, to 2e-4. `angle` as in [`volume_rim`].
pub fn rim_layer(angle: f64) -> f64 {
    between(angle, 1)
}

/// The same from the rim as seen from above, at most 0.014 gaps: what a rim drawn as photographed lacks.
pub fn rim_layer_from_apex(angle: f64) -> f64 {
    rim_layer(angle) - volume_rim(angle)
}

/// The layer ahead of the volume rim where the surface is stiff and holds the liquid back as a solid: 0.387 gaps at θ = 0, 0.315 at 90 degrees.
pub fn stiff_rim_layer(angle: f64) -> f64 {
    between(angle, 2)
}

/// Lagrange's cubic through the four angles round a given one.
fn between(angle: f64, column: usize) -> f64 {
    let degrees = angle.clamp(0.0, FRAC_PI_2).to_degrees();
    let above = LAYERS.iter().position(|row| row[0] > degrees).unwrap_or(LAYERS.len());
    let first = above.saturating_sub(2).min(LAYERS.len() - 4);
    let four = &LAYERS[first..first + 4];
    let weight = |j: usize| -> f64 {
        let others = (0..4).filter(|&k| k != j);
        others.map(|k| (degrees - four[k][0]) / (four[j][0] - four[k][0])).product()
    };
    (0..4).map(|j| four[j][column] * weight(j)).sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::{Curve, Piece, Plan, Side, Solid, Wall};
    use crate::input::case::Gap;
    use crate::numerics::fem::{Conditions, Operator, Space};
    use crate::numerics::mesh::{Mesh, SizeField};
    use std::sync::Arc;

    /// Liquid behind the apex, in gaps: what comes from the rim has fallen to exp(−2.5 π) there, and enters squared.
    const LENGTH: f64 = 2.5;
    /// Where the wedge of liquid beside the contact line is cut off: it holds less than 1e-7 of the flow.
    const CUT: f64 = 0.01;

    /// Half the cross-section: mid-gap below, plate above, meniscus on the right as the outlet, apex at the origin.
    fn plan(angle: f64) -> Plan {
        let r = 0.5 / angle.cos();
        let top = ((0.5 - CUT) / r).asin();
        let at = |phi: f64| [r * (1.0 - phi.cos()), r * phi.sin()];
        let [x, y] = at(top);
        let line = |from, to, side| Piece { curve: Curve::Line { from, to }, from: 0.0, to: 1.0, side };
        let pi = std::f64::consts::PI;
        let arc = Curve::Arc { centre: [r, 0.0], semi_axes: [r; 2], rotation: 0.0, start: pi, end: pi - top };
        let pieces = vec![
            line([-LENGTH, 0.0], [0.0, 0.0], Side::Wall(Wall::Lower)),
            Piece { curve: arc, from: 0.0, to: 1.0, side: Side::Outlet },
            line([x, y], [x, 0.5], Side::Wall(Wall::Lower)),
            line([x, 0.5], [-LENGTH, 0.5], Side::Wall(Wall::Upper)),
            line([-LENGTH, 0.5], [-LENGTH, 0.0], Side::Inlet),
        ];
        let outer = 0..pieces.len();
        Plan { loops: vec![outer], pieces, obstacles: vec![], notes: vec![] }
    }

    /// Liquid less flow over the whole gap, on a mesh; its error is of second order.
    fn layer(angle: f64, mesh: &Mesh, stiff: bool) -> f64 {
        let space = Space::new(Arc::new(mesh.clone()), &Gap::Uniform(1.0), 1.0);
        let n = space.mesh.points.len();
        let mut conditions = Conditions::free(n);
        space.vertices_on(Solid::Upper).into_iter().for_each(|v| conditions.fix(v));
        if stiff {
            space.vertices_where(|side| side == Side::Outlet).into_iter().for_each(|v| conditions.fix(v));
        }
        let weights: Vec<f64> = (0..n).map(|v| space.star_area(v) / 3.0).collect();
        let loads: Vec<f64> = weights.iter().map(|w| 12.0 * w).collect();
        let operator = Operator::new(&space.mesh, space.levels.stream.clone(), conditions).unwrap();
        let u = operator.solve(&vec![0.0; n], &loads, 1e-16).unwrap().values;
        let flow: f64 = u.iter().zip(&weights).map(|(u, w)| u * w).sum();
        // from the apex back, and the liquid beside the meniscus
        LENGTH + volume_rim(angle) - 2.0 * flow
    }

    /// Extrapolated from the finer two of three meshes, with a third of the last change for its error.
    fn solved(degrees: f64, stiff: bool) -> [f64; 2] {
        let angle = degrees.to_radians();
        let mut mesh = Mesh::generate(&Arc::new(plan(angle)), &SizeField::new(0.06, 0.3, vec![]), 100_000).unwrap();
        let mut found = Vec::new();
        for _ in 0..3 {
            found.push(layer(angle, &mesh, stiff));
            mesh = mesh.refined();
        }
        let end = |a: f64, b: f64| b + (b - a) / 3.0;
        let [coarse, fine] = [end(found[0], found[1]), end(found[1], found[2])];
        [fine, (fine - coarse).abs()]
    }

    /// At each angle of the table to its digits, between two of them to what interpolation costs.
    #[test]
    fn the_layer_of_a_rim_follows_from_its_cross_section() {
        let all: Vec<[f64; 6]> = [0.0, 5.0, 10.0, 20.0, 30.0, 45.0, 52.0, 60.0, 75.0, 85.0]
            .into_iter()
            .map(|degrees: f64| {
                let angle = degrees.to_radians();
                let [free, free_error] = solved(degrees, false);
                let [stiff, stiff_error] = solved(degrees, true);
                [degrees, free - rim_layer(angle), free_error, stiff, stiff - stiff_rim_layer(angle), stiff_error]
            })
            .collect();
        for &[degrees, free, free_error, _, stiff, stiff_error] in &all {
            let tabled = LAYERS.iter().any(|row| row[0] == degrees);
            let allowed = if tabled { 6e-5 } else { 2e-4 };
            assert!(free_error < 1e-4 && free.abs() < allowed + free_error, "{all:#?}");
            assert!(stiff_error < 1e-4 && stiff.abs() < allowed + stiff_error, "{all:#?}");
        }
    }

    /// A rim of 0, 10, 45 and 75 degrees as seen from above, and the ends; on both sides of what is kept.
    #[test]
    fn seen_from_above_little_is_left() {
        for (degrees, apex, left) in [
            (0.0, 0.1073, 0.0109),
            (10.0, 0.1037, 0.0112),
            (20.0, 0.0952, 0.0119),
            (30.0, 0.0840, 0.0129),
            (45.0, 0.0644, 0.0139),
            (60.0, 0.0434, 0.0133),
            (75.0, 0.0218, 0.0094),
            (90.0, 0.0, 0.0),
        ] {
            let angle = f64::to_radians(degrees);
            assert!((volume_rim(angle) - apex).abs() < 1.1e-4, "{degrees}: {}", volume_rim(angle));
            assert!((rim_layer_from_apex(angle) - left).abs() < 1.6e-4, "{degrees}: {}", rim_layer_from_apex(angle));
        }
        assert_eq!(rim_layer(-1.0), rim_layer(0.0));
        assert_eq!(rim_layer(2.0), rim_layer(FRAC_PI_2));
        // both formulas meet where the arc is nearly straight
        let near = FRAC_PI_2 - 1e-4;
        assert!((volume_rim(near - 1e-6) - volume_rim(near + 1e-6)).abs() < 1e-6);
        assert!((stiff_rim_layer(FRAC_PI_2) - 0.3151).abs() < 1e-12);
    }
}
