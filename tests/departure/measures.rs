//! Measures of fields for which they are known in closed form.

use crate::given::{Given, SPEED, close, rectangle};
use twinplate::input::case::Tolerance;
use twinplate::theory::departure::{Measure, Measures, Spread};
use twinplate::theory::edge_layer::Margin;

/// Uniform departure from uniform flow: speed, angle and coefficient are the same everywhere, and a line that left the inlet at the same
/// place has moved by `d_y x/U`. The shift is taken at the end of every step, so that its root mean square over x is
/// `(d_y L/U) √(1/3 + s/2 + ...)`, s the step over L, at most 0.4 edges of 0.02.
#[test]
fn a_uniform_departure() {
    let given = Given::uniform(0.02, 0.0);
    for [x, y] in [[0.03, 0.04], [-0.05, 0.01], [0.0, -0.2]] {
        let m = given.measure(|_| [x, y]);
        let fast = (1.0f64 + x).hypot(y);
        for speed in [m.speed.rms, m.speed.largest] {
            close(speed, (fast - 1.0).abs(), 1e-9);
        }
        for direction in [m.direction.rms, m.direction.largest] {
            close(direction, y.atan2(1.0 + x).abs(), 1e-9);
        }
        for coefficient in [m.coefficient.rms, m.coefficient.largest] {
            close(coefficient, (fast * fast - 1.0).abs(), 1e-9);
        }
        close(m.shift.largest, y.abs(), 1e-6);
        close(m.shift.rms, y.abs() / 3f64.sqrt(), 0.012);
    }
    let none = given.measure(|_| [0.0, 0.0]);
    for measure in Measure::ALL {
        assert_eq!((none.of(measure).largest, none.of(measure).rms), (0.0, 0.0));
    }
}

/// The largest change of speed stands where it is largest in size, also where the flow slows down. Over `c x²` the mean of squares is
/// `c² L⁴/5`; on an unstructured mesh of size h the sum over vertices misses that by the order of h², here with second derivatives of
/// 12 c² x² at most.
#[test]
fn a_departure_that_grows_along_the_cell() {
    let given = Given::uniform(0.04, 0.0);
    for c in [0.05, -0.05] {
        let m = given.measure(|p| [c * p[0] * p[0], 0.0]);
        close(m.speed.largest, 0.05, 1e-9);
        assert!((m.speed.largest_at[0] - 1.0).abs() < 1e-9, "{:?}", m.speed.largest_at);
        close(m.speed.rms, 0.05 / 5f64.sqrt(), 12.0 * 0.04 * 0.04);
    }
}

/// Squares count by area, not by vertex: the mesh is four times finer in the left half, where the departure is.
#[test]
fn root_mean_squares_are_by_area() {
    use std::sync::Arc;
    use twinplate::input::case::Gap;
    use twinplate::numerics::fem::Space;
    use twinplate::numerics::mesh::{Mesh, SizeField};
    let plan = rectangle(1.0, 0.5, "1e-3", 0.2).mesh.plan.clone();
    let sources = (0..=10).map(|k| ([0.02 * f64::from(k), 0.25], 0.008)).collect();
    let mesh = Mesh::generate(&plan, &SizeField::new(0.1, 0.3, sources), 100_000).unwrap();
    let space = Space::new(Arc::new(mesh), &Gap::Uniform(1e-3), 1e-3);
    let left = space.mesh.points.iter().filter(|p| p[0] < 0.5).count() as f64 / space.mesh.points.len() as f64;
    assert!(left > 0.7, "{left}");
    let given = Given::new(space, 0.0, |_| [SPEED, 0.0], |p| p[1]);
    // 0.1 up to x = 0.4, then down to nothing at 0.6: 0.01 (0.4 + 0.2/3) over the length; coarse edges of 0.1 miss the kinks by (h/0.2)^2/6
    // of the slope's part
    let m = given.measure(|p| [0.1 * ((0.6 - p[0]) / 0.2).clamp(0.0, 1.0), 0.0]);
    let exact = 0.1 * (0.4f64 + 0.2 / 3.0).sqrt();
    close(m.speed.rms, exact, 0.03);
}

/// The direction means nothing below 2 % of the mean speed: a slow half does not count, though it turns by a right angle. A speed of
/// 3 % does count.
#[test]
fn slow_places_have_no_direction() {
    let of = |slow: f64| {
        let fast = move |p: [f64; 2]| if p[0] < 0.5 { 1.0 } else { slow };
        let given = Given::new(rectangle(1.0, 0.5, "1e-3", 0.05), 0.0, |p| [SPEED * fast(p), 0.0], |p| p[1]);
        given.measure(|p| if p[0] < 0.5 { [0.0, 0.1] } else { [-slow, 0.1] })
    };
    let turn = 0.1f64.atan2(1.0);
    let m = of(0.019);
    close(m.direction.largest, turn, 1e-9);
    close(m.direction.rms, turn, 1e-9);
    close(of(0.021).direction.largest, std::f64::consts::FRAC_PI_2, 1e-9);
    // half of the cell turns by a right angle, up to one column of triangles
    let both = (0.5 * (turn * turn + std::f64::consts::FRAC_PI_2.powi(2))).sqrt();
    close(of(0.03).direction.rms, both, 0.05);
}

/// Shear flow `V = U (1/2 + y/W)`: a line at y is shifted by `d x/V`, so that the mean of squares over the area is
/// `(d L/U)² (1/3) W⁻¹ ∫ dy/(1/2 + y/W)² = (d L/U)² (1/3)(4/3)`. Lines of equal flux crowd where it is fast: each counts by its distance to the
/// next. 48 of them miss the integral by `(1/48)² f''/24 < 1 %`, the steps along them (0.4 edges of 0.015, L = 1) add 0.5 %.
#[test]
fn shifts_count_by_the_area_between_lines() {
    let (w, d) = (0.5, 0.01);
    let given = Given::new(
        rectangle(1.0, w, "1e-3", 0.015),
        0.0,
        |p| [SPEED * (0.5 + p[1] / w), 0.0],
        |p| p[1] * (0.5 + 0.5 * p[1] / w),
    );
    let m = given.measure(|_| [0.0, d]);
    close(m.shift.rms, d * (4.0f64 / 9.0).sqrt(), 0.015);
    // the lowest line carries 1/96 of the flux: V² = U²/4 + 2 U² (1/96)
    close(m.shift.largest, d / (0.25f64 + 2.0 / 96.0).sqrt(), 1e-3);
}

/// What crosses a line is a flux: in a gap that grows from 3/4 to 5/4 of its mean, the shift at the end is `(d/U) ∫ b dx/b(L) = (d/U) L/1.25`,
/// and the largest is there or earlier: `x (1 + (x - 1)/4 ...)` grows.
#[test]
fn shifts_take_the_gap_along() {
    let gap = "{ at = 1e-3, slope = [5e-4, 0.0] }";
    let given = Given::new(rectangle(1.0, 0.5, gap, 0.05), 0.0, |_| [SPEED, 0.0], |p| p[1]);
    close(given.measure(|_| [0.0, 0.02]).shift.largest, 0.02 / 1.25, 1e-6);
}

/// Three gaps are those of the place: from 3 times 0.0325 m at the inlet to 3 times 0.0675 m at the outlet.
#[test]
fn the_region_keeps_gaps_of_the_place() {
    let space = rectangle(1.0, 0.5, "{ at = 0.05, slope = [0.035, 0.0] }", 0.03);
    let given = Given::new(space, 0.0, |_| [SPEED, 0.0], |p| p[1]);
    let region = given.region.with_margin(&given.space, Margin::REACH);
    let points = &given.space.mesh.points;
    let near = |p: [f64; 2]| away_of(p) < 3.0 * (0.05 + 0.035 * (p[0] - 0.5));
    let expected: Vec<usize> = (0..points.len()).filter(|&v| !near(points[v])).collect();
    assert_eq!(region.vertices, expected);
    // neither the least nor the largest gap everywhere would do
    let with = |gap: f64| points.iter().filter(|&&p| away_of(p) >= 3.0 * gap).count();
    assert!(with(0.0325) > expected.len() && with(0.0675) < expected.len());
}

/// Beyond the band there are the vertices that are as far from the walls as that, with a third of every triangle they belong to; shifts
/// count in triangles that lie beyond it with all corners.
#[test]
fn the_region_lies_beyond_the_band() {
    let given = Given::uniform(0.03, 0.1);
    let region = &given.region;
    let points = &given.space.mesh.points;
    let expected: Vec<usize> = (0..points.len()).filter(|&v| away_of(points[v]) >= 0.1).collect();
    assert_eq!(region.vertices, expected);
    assert!(region.margin == Margin::Length(0.1) && expected.len() < points.len());
    // vertices scatter about the limit by half an edge on either side
    let area: f64 = region.areas.iter().sum();
    assert!((area - 0.3).abs() < 0.03, "{area}");
    let whole = region.with_margin(&given.space, Margin::Length(0.0));
    close(whole.areas.iter().sum(), 0.5, 1e-12);
    // a departure inside the band is not seen: neither its speed nor, since lines run along the wall, its shift
    let inside = |p: [f64; 2]| if away_of(p) < 0.05 { [0.3, 0.3] } else { [0.0; 2] };
    let m = given.measure(inside);
    for measure in Measure::ALL {
        assert_eq!(m.of(measure).largest, 0.0, "{measure:?}");
    }
    let all = Given { region: whole, ..given };
    let m = all.measure(inside);
    assert!(Measure::ALL.into_iter().all(|measure| m.of(measure).rms > 0.1 * m.of(measure).largest), "{m:?}");
    // with a band as wide as half the cell nothing is left, and all measures are zero
    let none = Given { region: all.region.with_margin(&all.space, Margin::Length(0.3)), ..all };
    assert!(none.region.vertices.is_empty());
    let m = none.measure(|_| [0.3, 0.3]);
    assert!(Measure::ALL.into_iter().all(|measure| m.of(measure).largest == 0.0 && m.of(measure).rms == 0.0));
}

fn away_of(p: [f64; 2]) -> f64 {
    p[1].min(0.5 - p[1])
}

/// Shifts are positive to the left of the line.
#[test]
fn shifts_have_a_side() {
    let given = Given::uniform(0.1, 0.0);
    for (y, sign) in [(0.1, 1.0), (-0.1, -1.0)] {
        let shifts = given.region.shifts(&given.space, &given.velocity, &given.field(|_| [0.3, y]));
        assert!(!shifts.is_empty() && shifts.iter().all(|shift| shift.shift * sign > 0.0 && shift.weight > 0.0));
    }
}

/// Every measure takes its own numbers and its own tolerance.
#[test]
fn measures_are_not_mixed_up() {
    let of = |k: f64| Spread { rms: k, judged: 10.0 + k, beyond: 0.1 * k, ..Spread::default() };
    let m = Measures { speed: of(1.0), direction: of(2.0), shift: of(3.0), coefficient: of(9.0) };
    let tolerance = Tolerance { speed: 9.0, direction: 10.0, shift: 11.0, ..Tolerance::default() };
    let all = Measure::ALL.map(|x| (x.key(), m.of(x).rms, m.of(x).judged, x.tolerance(&tolerance)));
    assert_eq!(all, [("speed", 1.0, 11.0, 9.0), ("direction", 2.0, 12.0, 10.0), ("shift", 3.0, 13.0, 11.0)]);
    assert!((m.beyond_area() - 0.3).abs() < 1e-15);
    assert_eq!(Measure::Speed.show_with(0.0123, 0.0004), "1.23 +- 0.04 % of the mean speed");
    assert_eq!(Measure::Speed.show(0.0123), "1.23 % of the mean speed");
    assert_eq!(Measure::Direction.show(std::f64::consts::FRAC_PI_6), "30.0 deg");
    assert_eq!(Measure::Shift.show(4.56e-4), "0.456 mm");
}
