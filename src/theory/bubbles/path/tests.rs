//! Paths in streams that are known.

use super::*;
use crate::geometry::{Curve, Piece, Plan, Side, Wall};
use crate::input::case::{Fluid, FluidKind, Gap};
use crate::numerics::mesh::{Mesh, SizeField};
use crate::theory::ideal::{DriveState, ShapeFactor};
use std::f64::consts::PI;
use std::sync::Arc;

const VISCOSITY: f64 = 1e-3;
const GAP: f64 = 1e-3;
const SPEED: f64 = 2e-3;
/// Radius of the post in the middle of the cell, m.
const POST: f64 = 0.03;

/// A cell 0.4 m by 0.2 m with a post in its middle, if wanted.
fn cell(post: bool, size: f64, gap: &Gap) -> Space {
    let sides = [Side::Wall(Wall::Lower), Side::Outlet, Side::Wall(Wall::Upper), Side::Inlet];
    let mut plan = Plan::polygon(&[[0.0, 0.0], [0.4, 0.0], [0.4, 0.2], [0.0, 0.2]], &sides, &[]).unwrap();
    if post {
        let curve = Curve::Arc { centre: [0.2, 0.1], semi_axes: [POST; 2], rotation: 0.0, start: 0.0, end: 2.0 * PI };
        plan.pieces.push(Piece { curve, from: 1.0, to: 0.0, side: Side::Obstacle(0) });
        plan.loops.push(4..5);
    }
    let mesh = Mesh::generate(&Arc::new(plan), &SizeField::new(size, 0.3, vec![]), 100_000).unwrap();
    Space::new(Arc::new(mesh), gap, gap.at([0.2, 0.1]))
}

/// The pattern of a given velocity.
fn pattern(space: &Space, velocity: impl Fn(Point) -> [f64; 2]) -> Pattern {
    let n = space.mesh.points.len();
    Pattern {
        shape_factor: ShapeFactor {
            value: 0.5,
            lower: 0.5,
            upper: 0.5,
            relative_half_width: 0.0,
            outline_allowance: 0.0,
        },
        drive: DriveState { mean_speed: SPEED, flow_rate: 0.2 * GAP * SPEED, pressure_drop: 1.0, head: 1e-4 },
        fluid: Fluid { name: "made up".into(), density: 1e3, viscosity: VISCOSITY, kind: FluidKind::Stated },
        pressure: vec![0.0; n],
        stream_function: vec![0.0; n],
        velocity: space.mesh.points.iter().map(|&p| velocity(p)).collect(),
    }
}

const AIR: Air = Air { tension: 0.05, density_difference: 1e3, tilt: [0.0; 2], films: true };

fn bubble(centre: Point, diameter: f64) -> Bubble {
    Bubble { name: "pearl".into(), centre, diameter }
}

/// Linear velocities are held exactly, so a straight path at a steady speed is exact.
#[test]
fn in_an_even_stream_it_goes_straight_at_the_speed_of_the_film_law() {
    let space = cell(false, 0.03, &Gap::Uniform(GAP));
    let pattern = pattern(&space, |_| [SPEED, 0.0]);
    let start = bubble([0.05, 0.08], 0.012);
    let k = film::film_number(GAP, 0.006, VISCOSITY * SPEED / 0.05);
    for (films, ratio) in [(true, film::speed_ratio(k)), (false, 2.0)] {
        let path = follow(&space, &pattern, &start, &Air { films, ..AIR }).unwrap();
        assert_eq!(path.ended, Ended::Outlet);
        assert!((path.speed_ratio - ratio).abs() < 1e-12, "{path:?}");
        assert!((path.time_to_leave.unwrap() * ratio * SPEED / 0.35 - 1.0).abs() < 1e-10, "{path:?}");
        assert!(path.points.iter().all(|p| (p[1] - 0.08).abs() < 1e-12) && path.angle.abs() < 1e-12);
        assert_eq!(path.film_number, if films { k } else { 0.0 });
        assert_eq!([path.times.len(), path.speeds.len()], [path.points.len(); 2]);
        let number = 12.0 * VISCOSITY * SPEED * 36e-6 / (0.05 * 1e-6);
        assert!((path.capillary_shape_number / number - 1.0).abs() < 1e-12);
    }
}

/// 1 degree against the flow: V_g/2 with V_g = 1e3 · 9.80665 sin(1 deg) 1e-6/0.012 = 14.26 mm/s beats 2 mm/s; across, it goes along the sum.
#[test]
fn tilt_drives_it_up_the_slope() {
    let space = cell(false, 0.03, &Gap::Uniform(GAP));
    let pattern = pattern(&space, |_| [SPEED, 0.0]);
    let sine = 1f64.to_radians().sin();
    let rise = 1e3 * 9.80665 * sine * 1e-6 / 0.012;
    let of = |tilt| follow(&space, &pattern, &bubble([0.2, 0.1], 0.012), &Air { tilt, films: false, ..AIR }).unwrap();
    let back = of([-sine, 0.0]);
    assert_eq!(back.ended, Ended::Inlet);
    assert!((back.speed - (rise - 2.0 * SPEED)).abs() < 1e-12 && (back.angle.abs() - PI).abs() < 1e-12, "{back:?}");
    assert!((back.time_to_leave.unwrap() * back.speed / 0.2 - 1.0).abs() < 1e-9);
    let up = of([0.0, sine]);
    assert_eq!(up.ended, Ended::NearEdge);
    assert!((up.angle - rise.atan2(2.0 * SPEED)).abs() < 1e-12 && up.time_to_leave.is_none(), "{up:?}");
    // the rim half a radius from the wall
    assert!((up.points.last().unwrap()[1] - (0.2 - 1.5 * 0.006)).abs() < 1e-9, "{up:?}");
    let films = follow(&space, &pattern, &bubble([0.2, 0.1], 0.012), &Air { tilt: [0.0, sine], ..AIR }).unwrap();
    let driving = SPEED.hypot(0.5 * rise);
    let ratio = film::speed_ratio(film::film_number(GAP, 0.006, VISCOSITY * driving / 0.05));
    assert!((films.speed - ratio * driving).abs() < 1e-12 && (films.angle - (0.5 * rise).atan2(SPEED)).abs() < 1e-12);
}

/// Past a post, V = U (1 − a²/z²) conjugated: the stream function `y − a² y/r²` of its path stays. Velocities that are linear on triangles
/// of size h are off by h² V''/8 with V'' up to 6 U/a² (2e-3 U at h = 3.5 mm), for the time of the pass, 2 a/U: 1e-4 m.
#[test]
fn past_a_post_it_follows_the_streamline_of_its_centre() {
    let space = cell(true, 3.5e-3, &Gap::Uniform(GAP));
    let pattern = pattern(&space, |p| {
        let (x, y) = (p[0] - 0.2, p[1] - 0.1);
        let square = (POST / (x * x + y * y)).powi(2);
        [SPEED * (1.0 - square * (x * x - y * y)), -SPEED * square * 2.0 * x * y]
    });
    let level = |p: &Point| {
        let (x, y) = (p[0] - 0.2, p[1] - 0.1);
        y - POST * POST * y / (x * x + y * y)
    };
    let path = follow(&space, &pattern, &bubble([0.05, 0.13], 0.008), &AIR).unwrap();
    assert_eq!(path.ended, Ended::Outlet);
    let start = level(&path.points[0]);
    assert!(path.points.iter().all(|p| (level(p) - start).abs() < 1e-4), "{path:?}");
    // with films f depends on the speed: faster beside the post in ratio as well
    let fastest = path.speeds.iter().fold(0.0, |a: f64, &b| a.max(b));
    assert!(fastest / path.speed > 1.6, "{fastest} {}", path.speed);
    // twice as fast as the liquid without films, which takes the integral of ds/V
    let free = follow(&space, &pattern, &bubble([0.05, 0.13], 0.008), &Air { films: false, ..AIR }).unwrap();
    let taken: f64 = free
        .points
        .windows(2)
        .zip(free.speeds.windows(2))
        .map(|(p, v)| plane::distance(p[0], p[1]) / (0.5 * (v[0] + v[1])))
        .sum();
    assert!((free.time_to_leave.unwrap() / taken - 1.0).abs() < 1e-3, "{taken}");
    // straight at the post it stops before it: its rim half a radius away
    let onto = follow(&space, &pattern, &bubble([0.05, 0.1], 0.008), &AIR).unwrap();
    assert_eq!(onto.ended, Ended::NearEdge);
    let gone = plane::distance(*onto.points.last().unwrap(), [0.2, 0.1]);
    assert!((gone - POST - 0.006).abs() < 1e-8, "{gone}");
}

/// A gap that widens by 1e-5 across the cell: γ/(6 μ) 1e-5 = 83 μm/s towards the wide side in liquid at rest. Linear ∇b/b times linear b is off
/// by (1e-5 · 0.03/1e-3)²/4 = 2e-8 at most.
#[test]
fn in_a_wedge_it_goes_to_the_wide_end() {
    let gap = Gap::Linear { at: GAP, slope: [0.0, 1e-5], middle: [0.2, 0.1] };
    let space = cell(false, 0.03, &gap);
    let pattern = pattern(&space, |_| [0.0; 2]);
    let path = follow(&space, &pattern, &bubble([0.2, 0.1], 0.012), &Air { films: false, ..AIR }).unwrap();
    assert_eq!(path.ended, Ended::NearEdge);
    assert!(
        (path.speed / (0.05 * 1e-5 / 6e-3) - 1.0).abs() < 2e-8 && (path.angle - 0.5 * PI).abs() < 1e-12,
        "{path:?}"
    );
    assert!(path.speed_ratio.is_infinite());
}

/// Both sides of each limit: three gaps, the reach into a wall, the start near one, rest.
#[test]
fn what_is_no_path_is_refused_or_ends_at_once() {
    let space = cell(false, 0.03, &Gap::Uniform(GAP));
    let even = pattern(&space, |_| [SPEED, 0.0]);
    let of = |centre, diameter| follow(&space, &even, &bubble(centre, diameter), &AIR);
    assert!(of([0.1, 0.1], 2.99e-3).is_err() && of([0.1, 0.1], 3.01e-3).is_ok());
    assert!(of([0.1, 5.9e-3], 0.012).is_err());
    let near = of([0.1, 8.9e-3], 0.012).unwrap();
    assert!(near.ended == Ended::NearEdge && near.points.len() == 1 && near.time_to_leave.is_none(), "{near:?}");
    assert_eq!(of([0.1, 9.1e-3], 0.012).unwrap().ended, Ended::Outlet);
    for (centre, diameter) in [([0.5, 0.1], 0.01), ([0.1, 0.1], 0.0), ([0.1, 0.1], f64::NAN), ([f64::NAN, 0.1], 0.01)] {
        assert!(of(centre, diameter).is_err(), "{centre:?} {diameter}");
    }
    let one = bubble([0.1, 0.1], 0.012);
    for air in [
        Air { tension: 0.0, ..AIR },
        Air { tension: f64::NAN, ..AIR },
        Air { density_difference: f64::INFINITY, ..AIR },
        Air { tilt: [1.0, 0.1], ..AIR },
        Air { tilt: [f64::NAN, 0.0], ..AIR },
    ] {
        assert!(follow(&space, &even, &one, &air).is_err(), "{air:?}");
    }
    let still = follow(&space, &pattern(&space, |_| [0.0; 2]), &one, &AIR).unwrap();
    assert_eq!((still.ended, still.speed), (Ended::Rest, 0.0));
    // a stream that comes to rest on a line
    let slowing = pattern(&space, |p| [SPEED * (1.0 - p[0] / 0.3), 0.0]);
    let path = follow(&space, &slowing, &one, &Air { films: false, ..AIR }).unwrap();
    assert_eq!(path.ended, Ended::Rest);
    assert!((path.points.last().unwrap()[0] - 0.3).abs() < 1e-3, "{path:?}");
}

/// Words on both sides of the limits of the shape number.
#[test]
fn a_table_says_what_a_path_is_worth() {
    use super::super::{section, shape_words};
    assert!(shape_words(0.3).is_none() && shape_words(0.301) == shape_words(3.0));
    assert_ne!(shape_words(3.0), shape_words(3.01));
    let space = cell(false, 0.03, &Gap::Uniform(GAP));
    // 12 μ V R²/(γ b²) = 0.012 (R/mm)² at 50 mm/s: 0.19, 0.43 and 3.5
    let swift = pattern(&space, |_| [0.05, 0.0]);
    let of = |diameter| follow(&space, &swift, &bubble([0.1, 0.1], diameter), &AIR).unwrap();
    let [small, middle, large] = [of(8e-3), of(0.012), of(0.034)];
    let table = section(&[small.clone(), middle, large.clone()]);
    assert_eq!(table.number("pearl.speed_m_per_s"), Some(small.speed));
    assert_eq!(table.number("2.time_to_leave_s"), large.time_to_leave);
    assert!(small.notes().is_empty() && table.notes.len() == 2, "{:?}", table.notes);
    assert!(table.notes[0].contains("few per cent") && table.notes[1].contains("stretches"), "{:?}", table.notes);
    // thin films up to Ca = 1e-2, of the bubble's own speed: 20 V μ/γ
    let fast = |v: f64| {
        let swift = pattern(&space, |_| [v, 0.0]);
        follow(&space, &swift, &bubble([0.1, 0.1], 0.012), &Air { films: false, ..AIR }).unwrap().notes().join(" ")
    };
    assert!(!fast(0.249).contains("thin") && fast(0.251).contains("thin"));
}
