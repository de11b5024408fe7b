//! The inverse question on a made-up outlook: uniform departures over an empty cell, whose scaling is known in closed form.

use super::state::tests::example;
use super::*;
use crate::geometry::Plan;
use crate::input::case::{Gap, Tolerance};
use crate::numerics::fem::Space;
use crate::numerics::mesh::{Mesh, SizeField};
use crate::theory::departure::{Contribution, Effect, Part, Region, still_part};
use crate::theory::edge_layer::Margin;
use std::path::Path;
use std::sync::Arc;

/// Mean speed, m/s, and edge band, m, of the outlook.
const SPEED: f64 = 1e-3;
const BAND: f64 = 0.05;
/// Gap, m, and gap Reynolds number.
const GAP: f64 = 1e-3;
const GAP_REYNOLDS: f64 = 2.0;
/// Local inertia number beyond the first band.
const NUMBER: f64 = 0.05;

struct Given {
    space: Space,
    velocity: Vec<[f64; 2]>,
    number: Vec<f64>,
    contributions: Vec<Contribution>,
    tolerance: Tolerance,
    dye: DyeLines,
}

/// How far a place of the cell, 1 m by 0.5 m, is from the side walls.
fn away(p: [f64; 2]) -> f64 {
    p[1].min(0.5 - p[1])
}

impl Given {
    /// Along x the edge layer departs by `edge` of U (as b), across it inertia by `inertia` of U (as U b²/ν); both in what `part` leaves of
    /// them at a distance from the walls.
    fn new(edge: f64, inertia: f64, tolerance: Tolerance, part: impl Fn(f64) -> f64) -> Given {
        let text = "[cell]\nlength = 1.0\nwidth = 0.5\ngap = 1e-3\n[fluid]\nname = \"water\"\ntemperature = \"20 degC\"\n[drive]\n\
                    mean_speed = 1e-3\n";
        let case = crate::input::case::parse(text, Path::new("case.toml")).into_result().unwrap();
        let plan = Arc::new(Plan::new(&case, &mut crate::base::error::Problems::default()).unwrap());
        let mesh = Mesh::generate(&plan, &SizeField::new(0.025, 0.3, vec![]), 100_000).unwrap();
        let space = Space::new(Arc::new(mesh), &Gap::Uniform(GAP), GAP);
        let field = |v: [f64; 2]| -> Vec<[f64; 2]> {
            space.mesh.points.iter().map(|&p| v.map(|x| x * SPEED * part(away(p)))).collect()
        };
        let of = |effect, field, inertia_power, gap_power| Contribution {
            effect,
            parts: vec![Part { inertia_power, ..still_part(field, gap_power) }],
            numerical_error: 0.0,
            neglected: None,
        };
        let contributions =
            vec![of(Effect::EdgeLayer, field([edge, 0.0]), 0, 1), of(Effect::Inertia, field([0.0, inertia]), 1, 2)];
        let velocity = vec![[SPEED, 0.0]; space.mesh.points.len()];
        // twice the number in the first band, which is not observed
        let number = space.mesh.points.iter().map(|&p| if away(p) < BAND { 2.0 * NUMBER } else { NUMBER }).collect();
        let dye = DyeLines { diffusivity: 5e-10, length: 1.0, spacing: 0.02 };
        Given { space, velocity, number, contributions, tolerance, dye }
    }

    fn uniform(edge: f64, inertia: f64, tolerance: Tolerance) -> Given {
        Given::new(edge, inertia, tolerance, |_| 1.0)
    }

    fn outlook(&self) -> Outlook<'_> {
        let stream: Vec<f64> = self.space.mesh.points.iter().map(|p| p[1] * SPEED * GAP).collect();
        let region = Region::new(&self.space, Margin::Gaps(BAND / GAP), &self.velocity, &stream);
        Outlook {
            space: &self.space,
            region,
            velocity: &self.velocity,
            number: &self.number,
            contributions: self.contributions.iter().collect(),
            speed: SPEED,
            gap: GAP,
            tolerance: &self.tolerance,
            gap_reynolds: GAP_REYNOLDS,
            dye: self.dye,
        }
    }

    /// Suggestions with the limits the outlook has itself, for the example's cell of water at 20 degC.
    fn suggestions(&self, outlook: &Outlook<'_>) -> Vec<String> {
        let mut state = example("");
        state.tolerance = self.tolerance.clone();
        let [speed, gap] = [outlook.largest_speed(Judge::Share), outlook.thickest_gap(Judge::Share)];
        suggestions(&state, outlook, speed, gap)
    }
}

fn wide() -> Tolerance {
    Tolerance { speed: 0.5, direction: 0.5, shift: 0.5, share: 1e-9, ..Tolerance::default() }
}

fn close(found: f64, exact: f64, relative: f64) {
    assert!((found - exact).abs() <= relative * exact.abs(), "{found} instead of {exact}");
}

/// Every ratio at three times the speed and twice the gap, over its limit: departures 2 x 0.01 and 3 x 4 x 0.002 of U, the local inertia number
/// 12 times that of the case, the gap Reynolds number 6 times, four spreads of the dye with the square root of the time.
#[test]
fn ratios_scale_as_their_formulas() {
    let given = Given::uniform(
        0.01,
        0.002,
        Tolerance { speed: 0.04, direction: 0.05, shift: 0.06, share: 1e-9, ..Tolerance::default() },
    );
    let outlook = given.outlook();
    let at = |speed, gap, judge| outlook.column(gap).unwrap().ratios(speed, judge);
    let ratios = at(3.0, 2.0, Judge::Share);
    let [x, y] = [1.02f64, 0.024];
    for (limit, exact) in [
        (Limit::Speed, (x.hypot(y) - 1.0) / 0.04),
        (Limit::Direction, y.atan2(x) / 0.05),
        (Limit::Shift, y / 0.06),
        (Limit::FirstOrder, 12.0 * NUMBER),
        (Limit::Laminar, 6.0 * GAP_REYNOLDS / LAMINAR),
        (Limit::Dye, (32.0 * 5e-10 / (0.02f64 * 0.02) / 3e-3).sqrt()),
    ] {
        close(ratios.of(limit), exact, 1e-6);
    }
    assert_eq!(ratios.binding().0, Limit::FirstOrder);
    // by root mean square only the shift, which grows along the cell, is less: by √3, up to the steps of 0.4 edges
    let mean = at(3.0, 2.0, Judge::MeanSquare);
    close(mean.of(Limit::Shift), ratios.of(Limit::Shift) / 3f64.sqrt(), 0.02);
    close(mean.of(Limit::Speed), ratios.of(Limit::Speed), 1e-9);
    close(mean.of(Limit::Direction), ratios.of(Limit::Direction), 1e-9);
    // at the slowest speed for lines apart the spreads just meet; at four times that they fill half the spacing
    let slowest = outlook.dye.slowest() / SPEED;
    for (times, exact) in [(1.0, 1.0), (4.0, 0.5)] {
        let ratios = at(times * slowest, 1.0, Judge::Share);
        close(ratios.of(Limit::Dye), exact, 1e-12);
    }
    // where the flow is slow the dye binds, but never as a departure
    let slow = at(0.25 * slowest, 1.0, Judge::Share);
    assert!(slow.binding() == (Limit::Dye, 2.0) && slow.binding_departure() == Limit::Speed, "{slow:?}");
}

/// The largest speed is where the first limit is met: the shift 0.002 s at 0.02, the end of first order 1/0.05, laminar flow 1000/2, or the
/// speed tolerance that the edge layer exceeds at any speed.
#[test]
fn the_largest_speed_is_at_the_first_limit() {
    let speed = |edge, inertia, tolerance, gap| {
        let given = Given::uniform(edge, inertia, tolerance);
        let outlook = given.outlook();
        outlook.column(gap).unwrap().largest_speed(Judge::Share)
    };
    let shift = Tolerance { shift: 0.02, ..wide() };
    close(speed(0.01, 0.002, shift.clone(), 1.0).unwrap(), 10.0, 2e-4);
    // in a gap twice as wide inertia is four times as large
    close(speed(0.01, 0.002, shift.clone(), 2.0).unwrap(), 2.5, 2e-4);
    close(speed(0.01, 1e-5, wide(), 1.0).unwrap(), 1.0 / NUMBER, 2e-4);
    // in one half as wide the first band with its double number is observed
    close(speed(0.01, 1e-5, wide(), 0.5).unwrap(), 4.0 / (2.0 * NUMBER), 2e-4);
    // Re_b s g = 1000 before 2 n s g² = 1: at an eightieth of the gap
    close(speed(0.01, 1e-5, wide(), 0.0125).unwrap(), LAMINAR / (GAP_REYNOLDS * 0.0125), 2e-4);
    assert_eq!(speed(0.01, 1e-5, Tolerance { speed: 0.009, ..wide() }, 1.0), None);
    let given = Given::uniform(0.01, 0.002, shift);
    close(given.outlook().largest_speed(Judge::Share).unwrap(), 10.0, 2e-4);
    // the mean square of the shift is √3 less, up to the steps along the lines
    close(given.outlook().largest_speed(Judge::MeanSquare).unwrap(), 10.0 * 3f64.sqrt(), 0.02);
}

/// The thickest gap likewise: 0.002 g² at 0.005, or nothing to observe when the band of 0.05 g leaves less than the half width 0.25.
#[test]
fn the_thickest_gap_is_at_the_first_limit() {
    let gap = |edge, inertia, tolerance| Given::uniform(edge, inertia, tolerance).outlook().thickest_gap(Judge::Share);
    close(gap(1e-4, 0.002, Tolerance { shift: 0.005, ..wide() }).unwrap(), 2.5f64.sqrt(), 2e-4);
    // n g² = 1
    close(gap(1e-4, 1e-6, wide()).unwrap(), NUMBER.powf(-0.5), 2e-4);
    // thinner than an eighth is not searched: b^1 brings 0.1 to 0.0125
    assert_eq!(gap(0.1, 1e-6, Tolerance { speed: 0.0124, ..wide() }), None);
    close(gap(0.1, 1e-6, Tolerance { speed: 0.0126, ..wide() }).unwrap(), 0.126, 2e-4);
}

/// The band grows with the gap unless the case states it; with it the largest local inertia number of what is left.
#[test]
fn the_band_follows_the_gap() {
    let given = Given::uniform(0.01, 0.002, wide());
    let outlook = given.outlook();
    let number = |outlook: &Outlook<'_>, gap: f64| {
        outlook.column(gap).map(|column| column.ratios(1.0, Judge::Share).of(Limit::FirstOrder) / (gap * gap))
    };
    close(number(&outlook, 1.0).unwrap(), NUMBER, 1e-9);
    // in a thinner gap more is observed, the first band too
    close(number(&outlook, 0.4).unwrap(), 2.0 * NUMBER, 1e-9);
    assert!(number(&outlook, 4.0).is_some() && number(&outlook, 6.0).is_none());
    let stated = outlook.with_margin(Margin::Length(BAND));
    close(number(&stated, 0.4).unwrap(), NUMBER, 1e-9);
    assert!(number(&stated, 6.0).is_some());
    let wider = outlook.with_margin(Margin::Length(0.2));
    assert!(wider.region.vertices.len() < outlook.region.vertices.len());
    assert_eq!(wider.region.margin, Margin::Length(0.2));
}

/// The map holds the ratios of every gap and speed, in SI on its sides.
#[test]
fn the_map_is_made_of_ratios() {
    let given = Given::uniform(0.01, 0.002, wide());
    let outlook = given.outlook();
    let map = outlook.map(Judge::MeanSquare, &[0.5, 2.0, 6.0], &[1.0, 3.0]);
    assert_eq!((map.judge, map.gaps.len(), map.cells.len()), (Judge::MeanSquare, 3, 3));
    close(map.gaps[1], 2.0 * GAP, 1e-12);
    close(map.speeds[1], 3.0 * SPEED, 1e-12);
    close(map.slowest_for_dye, outlook.dye.slowest(), 1e-12);
    assert_eq!(map.cells[1][1], Some(outlook.column(2.0).unwrap().ratios(3.0, Judge::MeanSquare)));
    assert_eq!(map.cells[2], [None, None]);
}

#[test]
fn limits_have_keys_of_their_own() {
    let all = [Limit::Speed, Limit::Direction, Limit::Shift, Limit::FirstOrder, Limit::Laminar, Limit::Dye];
    assert_eq!(all.map(Limit::key), ["speed", "direction", "shift", "first_order", "laminar", "dye"]);
    let mut names = all.map(Limit::name);
    names.sort_unstable();
    assert!(names.windows(2).all(|pair| pair[0] != pair[1]));
}

/// A cell with room: how much faster, how much thicker, and nothing else. 0.002 s = 0.03 and 0.002 g² = 0.03 (g = √15, √20 ends first order).
#[test]
fn a_cell_with_room_is_told_so() {
    let given = Given::uniform(1e-4, 0.002, Tolerance { shift: 0.03, ..wide() });
    let list = given.suggestions(&given.outlook());
    assert_eq!(list.len(), 2, "{list:#?}");
    assert!(
        list[0].contains("within their tolerances: the cell may run up to 15.0 times faster, 15 mm/s or"),
        "{list:#?}"
    );
    assert!(list[1].contains("up to 3.87 mm thick at this speed"), "{list:#?}");
}

/// Too fast by 1.99: less flow, or glycerol-water of so much more kinematic viscosity, or wider tolerances, each of which would do. The edge
/// band does not help where the departure is the same everywhere.
#[test]
fn too_fast_a_cell_is_slowed() {
    let given = Given::uniform(1e-4, 0.0597, Tolerance { shift: 0.03, ..wide() });
    let list = given.suggestions(&given.outlook());
    assert!(
        list[0].starts_with("Lower the flow to") && list[0].ends_with("(0.503 mm/s): 1.99 times slower."),
        "{list:#?}"
    );
    let words = "use glycerol-water with ";
    let percent: f64 = list[1].split(words).nth(1).unwrap().split(' ').next().unwrap().parse().unwrap();
    let state = example("");
    let mixture = crate::base::units::fluid::glycerol_water(0.01 * percent, 293.15).unwrap();
    // three digits of the fraction
    close(mixture.viscosity / mixture.density, 1.99 * state.nu(), 0.005);
    assert!(list[1].contains("is 1.99 times higher"), "{list:#?}");
    let has = |words: &str| list.iter().any(|one| one.contains(words));
    assert!(has("even 300 mm from them a departure is too large"), "{list:#?}");
    // 59.7 mm at the end of the cell, rounded up
    assert!(has("tolerances that this cell meets at its worst place are shift 60 mm; root"), "{list:#?}");
    // 0.0597 g² = 0.03
    assert!(has("every departure is within for gaps up to 0.709 mm"), "{list:#?}");
    assert!(has("Build larger") && !has("Dye lines merge"), "{list:#?}");
}

/// The edge layer alone is beyond: turning down does not help, and the excess without inertia is told; the dye merges besides. Beyond one and
/// a half bands the departure has gone.
#[test]
fn an_edge_layer_beyond_has_other_remedies() {
    let mut given =
        Given::new(0.02, 0.002, Tolerance { speed: 0.01, ..wide() }, |away| if away < 1.4 * BAND { 1.0 } else { 0.1 });
    given.dye.diffusivity = 1e-7;
    let outlook = given.outlook();
    let list = given.suggestions(&outlook);
    let has = |words: &str| list.iter().any(|one| one.contains(words));
    assert!(
        has("No speed brings the speed tolerance within reach: it is exceeded 2.00 times even without inertia"),
        "{list:#?}"
    );
    // 32 D L/spacing² = 8 mm/s, eight times the speed; the flow likewise
    close(outlook.dye.slowest(), 8e-3, 1e-12);
    assert!(has("Dye lines merge below 8 mm/s"), "{list:#?}");
    assert!(
        has("Leave out the fluid nearer than 75 mm to solid edges ([departure] edge_band) instead of 50 mm"),
        "{list:#?}"
    );
    assert!(has("are speed 2.1 %; root"), "{list:#?}");
    // 0.02 g = 0.01, with a band that shrinks along
    assert!(has("for gaps up to 0.5 mm"), "{list:#?}");
}

/// A gap that an eighth would not make thin enough, and a cell whose bands meet.
#[test]
fn what_does_not_help_is_told() {
    let given = Given::uniform(0.4, 0.002, Tolerance { speed: 0.01, ..wide() });
    let list = given.suggestions(&given.outlook());
    assert!(list.iter().any(|one| one.contains("alone does not do: down to 0.125 mm a departure")), "{list:#?}");
    let outlook = given.outlook().with_margin(Margin::Length(0.3));
    let list = suggestions(&example(""), &outlook, None, None);
    assert!(list.len() == 1 && list[0].contains("leave no fluid to observe"), "{list:#?}");
}

/// Without departures the largest speed is the one at which the local inertia number is one, 1/0.05 = 20 times that of the case, or the
/// gap Reynolds number 1000, 500 times that of the case: these are known without a search, to rounding. A number 1e8 times as large allows
/// 2e-7 of that speed, which is far below where a search from the laminar end would begin.
#[test]
fn the_largest_speed_ends_where_first_order_or_laminar_flow_does() {
    let at_gap = |times: f64, gap: f64| {
        let mut given = Given::uniform(0.0, 0.0, wide());
        given.number.iter_mut().for_each(|number| *number *= times);
        let outlook = given.outlook();
        outlook.column(gap).and_then(|column| column.largest_speed(Judge::Share)).unwrap()
    };
    close(at_gap(1.0, 1.0), 20.0, 1e-12);
    // the first band with its double number is observed
    close(at_gap(1.0, 0.5), 40.0, 1e-12);
    close(at_gap(0.01, 1.0), 500.0, 1e-12);
    close(at_gap(0.01, 0.5), 1000.0, 1e-12);
    close(at_gap(1e8, 1.0), 2e-7, 1e-12);
}
