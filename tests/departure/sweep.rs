//! Scales of a sweep and its rows on made-up contributions.

use crate::given::{Given, close};
use twinplate::base::units::fluid::glycerol_water;
use twinplate::input::case::{Sweep, SweepQuantity};
use twinplate::theory::departure::{
    Effect, Numbers, Origin, Scale, Series, Suffices, SweepRow, Swept, View, scales, total,
};

const ORIGIN: Origin =
    Origin { reduced_reynolds: 0.02, mean_speed: 2e-3, gap: 1e-3, kinematic_viscosity: 1e-6, temperature: 293.15 };

fn scale(quantity: SweepQuantity, value: f64) -> Scale {
    let sweep = Sweep { quantity, values: vec![value] };
    let list = scales(&sweep, &ORIGIN).unwrap();
    assert!(list.len() == 1 && list[0].value == value);
    list[0].scale
}

/// Re* and U raise U/nu in proportion, the gap leaves it; glycerol-water lowers it by its kinematic viscosity, mu/rho.
#[test]
fn scales_of_all_quantities() {
    for (quantity, value, inertia, gap) in [
        (SweepQuantity::ReducedReynolds, 0.05, 2.5, 1.0),
        (SweepQuantity::MeanSpeed, 5e-3, 2.5, 1.0),
        (SweepQuantity::Gap, 2.5e-3, 1.0, 2.5),
    ] {
        let found = scale(quantity, value);
        close(found.inertia, inertia, 1e-12);
        close(found.gap, gap, 1e-12);
    }
    let mixture = glycerol_water(0.6, 293.15).unwrap();
    let found = scale(SweepQuantity::GlycerolMassFraction, 0.6);
    close(found.inertia, 1e-6 / (mixture.viscosity / mixture.density), 1e-12);
    // Cheng 2008: some ten times the viscosity of water, 15 % denser
    assert!(found.inertia < 0.15 && found.gap == 1.0, "{found:?}");
    let beyond = Sweep { quantity: SweepQuantity::GlycerolMassFraction, values: vec![0.5, 1.5] };
    let error = scales(&beyond, &ORIGIN).unwrap_err().to_string();
    assert!(error.contains("1.5"), "{error}");
}

/// Parts go with their powers of speed over viscosity and gap, each by itself; the gap mean leaves out what only layers do.
#[test]
fn parts_go_with_their_powers() {
    let given = Given::uniform(0.2, 0.0);
    let mut one = given.effect(Effect::Inertia, &[([1.0, 0.0], 1, 2), ([0.0, 1.0], 1, 3)]);
    one.parts[1].gap_mean = given.field(|_| [0.0; 2]);
    let other = given.effect(Effect::EdgeLayer, &[([1.0, 1.0], 0, 1)]);
    let scale = Scale { inertia: 3.0, gap: 2.0 };
    let of = |list: &[_], view| total(list, given.velocity.len(), scale, view)[0].map(|x| x / crate::given::SPEED);
    let pair = [one, other];
    for (view, exact) in [(View::AtHeight, [14.0, 26.0]), (View::GapMean, [14.0, 2.0])] {
        let found = of(&pair, view);
        close(found[0], exact[0], 1e-12);
        close(found[1], exact[1], 1e-12);
    }
    close(scale.reduced(), 12.0, 1e-12);
    assert_eq!(Scale::ONE.reduced(), 1.0);
    assert!(total(&[], 3, scale, View::AtHeight) == vec![[0.0; 2]; 3]);
}

/// A row: all effects at its scale; first order ends where the largest local inertia number, which goes as U b²/nu, passes one.
#[test]
fn rows_measure_everything_together() {
    let given = Given::uniform(0.1, 0.0);
    let list = [
        given.effect(Effect::EdgeLayer, &[([0.01, 0.0], 0, 1)]),
        given.effect(Effect::Inertia, &[([0.0, 0.002], 1, 2)]),
        given.effect(Effect::Confinement, &[([0.02, 0.0], 0, 0)]),
    ];
    let row = |inertia: f64, gap: f64, number: f64| {
        let swept = Swept { value: 7.0, scale: Scale { inertia, gap } };
        SweepRow::new(&given.reference(), &list, swept, Numbers { reduced: 0.02, local: number, edge: 0.0 })
    };
    let one = row(3.0, 2.0, 0.05);
    assert_eq!((one.value, one.scale), (7.0, Scale { inertia: 3.0, gap: 2.0 }));
    let [x, y] = [1.04f64, 0.024];
    close(one.reduced_reynolds, 0.24, 1e-12);
    close(one.total.speed.largest, x.hypot(y) - 1.0, 1e-9);
    close(one.total.speed.rms, x.hypot(y) - 1.0, 1e-9);
    close(one.total.direction.largest, y.atan2(x), 1e-9);
    close(one.total.shift.largest, y, 1e-6);
    close(one.cell_alone.speed.largest, 1.02f64.hypot(y) - 1.0, 1e-9);
    let sizes = [0.02, 1f64.hypot(0.024) - 1.0, 0.02];
    for (((effect, measures), size), wanted) in one.effects.iter().zip(sizes).zip(&list) {
        assert_eq!(*effect, wanted.effect);
        close(measures.speed.largest, size, 1e-9);
    }
    assert!(one.first_order);
    assert!(row(3.0, 2.0, 0.083).first_order && !row(3.0, 2.0, 0.084).first_order);
}

/// Second over first order as the powers have it: with V1 along the stream, 0.01 (U/nu) b^2, and V2, 0.004 (U/nu)^2 b^4, the share is
/// 0.4 (U/nu) b^2. A row without a second order says nothing of it.
#[test]
fn the_second_order_is_told_beside_the_first() {
    let given = Given::uniform(0.1, 0.0);
    let numbers = Numbers { reduced: 0.02, local: 0.05, edge: 0.04 };
    let row = |parts: &[([f64; 2], i32, i32)], inertia: f64, gap: f64| {
        let list = [given.effect(Effect::Inertia, parts)];
        SweepRow::new(&given.reference(), &list, Swept { value: 1.0, scale: Scale { inertia, gap } }, numbers).series
    };
    let both = [([0.01, 0.0], 1, 2), ([0.004, 0.0], 2, 4)];
    for (inertia, gap) in [(1.0, 1.0), (3.0, 1.0), (1.0, 2.0)] {
        close(row(&both, inertia, gap).unwrap().second_share, 0.4 * inertia * gap * gap, 1e-9);
    }
    assert_eq!(row(&both[..1], 1.0, 1.0), None);
}

/// The second below what is tolerated: the first suffices; beyond Re* = 0.6, a local number of 2 or an edge number of 1.5 neither does, however
/// small the second.
#[test]
fn the_order_that_suffices() {
    let calm = Numbers { reduced: 0.59, local: 2.0, edge: 1.5 };
    let judge = |second: f64, at: Numbers| Series::judge(0.1, second, 0.02, at).suffices;
    assert_eq!((judge(0.019, calm), judge(0.02, calm)), (Suffices::First, Suffices::Second));
    for beyond in [Numbers { reduced: 0.6, ..calm }, Numbers { local: 2.01, ..calm }, Numbers { edge: 1.51, ..calm }] {
        assert_eq!((judge(0.02, beyond), judge(0.019, beyond)), (Suffices::Neither, Suffices::Neither));
    }
    assert_eq!([Suffices::First, Suffices::Second, Suffices::Neither].map(Suffices::number), [1, 2, 0]);
    assert_eq!(Series::judge(0.0, 0.0, 0.02, calm).second_share, 0.0);
}
