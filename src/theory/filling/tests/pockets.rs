//! Air that is cut off.

use super::*;

/// A cup that opens downstream: 0.3 wide and 0.2 deep inside, its bottom against the flow.
fn cup() -> Space {
    let (x, y) = (0.6, 0.5);
    let ring = vec![
        [x, y - 0.2],
        [x + 0.25, y - 0.2],
        [x + 0.25, y - 0.15],
        [x + 0.05, y - 0.15],
        [x + 0.05, y + 0.15],
        [x + 0.25, y + 0.15],
        [x + 0.25, y + 0.2],
        [x, y + 0.2],
    ];
    let plan = box_plan(2.0, 1.0, &[ring]);
    let mesh = Mesh::generate(&plan, &SizeField::new(0.03, 0.3, vec![]), 100_000).unwrap();
    space(mesh)
}

#[test]
fn a_cup_open_downstream_keeps_air() {
    let space = cup();
    let case = setup(&space, Snapshots::Count(25));
    let filling = filled(&case);
    assert_eq!(filling.pockets.len(), 1);
    let pocket = &filling.pockets[0];
    // a good part of the cup, 0.3 by 0.2
    assert!(pocket.area_m2 > 0.02 && pocket.area_m2 < 0.06, "{}", pocket.area_m2);
    assert!((pocket.volume_m3 / (GAP * pocket.area_m2) - 1.0).abs() < 1e-12);
    assert!(pocket.place[0] > 0.65 && pocket.place[0] < 0.95 && (pocket.place[1] - 0.5).abs() < 0.02);
    assert!(!pocket.rim.is_empty() && pocket.time_s > 0.0);
    assert!(filling.full && filling.moment_residual.is_none() && filling.mass_residual < 1e-12);
    // it stays: what is dry at the end is the pocket less what its rim, one triangle wide, has taken
    let last = filling.snapshots.last().unwrap();
    let dry = 2.0 - 0.4 * 0.25 + 0.3 * 0.2 - last.wet_area_m2;
    assert!(dry < pocket.area_m2 && dry > 0.5 * pocket.area_m2, "{dry} {}", pocket.area_m2);
    assert!(
        pocket.vertices.iter().filter(|&&v| filling.arrival[v as usize].is_nan()).count() * 3 > pocket.vertices.len()
    );
    // with twice as many snapshots it is cut off at the same time and place
    let other = filled(&Setup { snapshots: Snapshots::Count(50), ..case.clone() });
    assert!((other.pockets[0].area_m2 / pocket.area_m2 - 1.0).abs() < 0.02);
    assert!((other.pockets[0].impulse_m2 / pocket.impulse_m2 - 1.0).abs() < 0.02);
    // a given flow has brought in what it should, also past the pocket
    let flow = 1e-6;
    let times: Vec<f64> = [0.5, 0.8, 1.2].iter().map(|v| v * GAP / flow).collect();
    let driven =
        filled(&Setup { drive: Drive::Flow(flow), snapshots: Snapshots::Times(times.clone()), ..case.clone() });
    assert_eq!(driven.pockets.len(), 1);
    for (moment, time) in driven.snapshots.iter().zip(times) {
        assert!((moment.time_s / time - 1.0).abs() < 1e-10 && (moment.inflow_m3 / (flow * time) - 1.0).abs() < 1e-10);
    }
    // where it drains, the last place lies in the cup
    let vented = filled(&Setup { pockets: CutOff::Vented, ..case });
    assert_eq!(vented.pockets.len(), 1);
    assert!(vented.full && vented.moment_residual.unwrap() < 1e-11);
    let [x, y] = vented.latest[0].at;
    assert!(x > 0.64 && x < 0.95 && (y - 0.5).abs() < 0.16, "{x} {y}");
}
