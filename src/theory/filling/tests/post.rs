//! The front past a post in a channel.

use super::*;

/// Wet areas of a far finer computation (implicit fill factors on three nested meshes, carried on to h = 0), good to 5e-5 to 9e-5; the first is
/// exact: the front just touches the post.
const AREAS: [(f64, f64); 7] =
    [(0.18, 0.6), (0.25, 0.69765), (0.35, 0.79998), (0.45, 0.88330), (0.6, 0.99378), (1.0, 1.25340), (1.6, 1.58099)];

/// Volume is of second order: what the last refinement changed is three times what is left. The post of 256 sides is 2e-5 smaller than round.
#[test]
fn wet_areas_of_the_post() {
    let impulses: Vec<f64> = AREAS.iter().map(|row| row.0).collect();
    let [coarse, fine] = [1, 2].map(|times| {
        let space = post(0.08, times);
        let filling = filled(&setup(&space, Snapshots::Impulses(impulses.clone())));
        assert!(filling.mass_residual < 1e-12 && filling.moment_residual.unwrap() < 1e-11);
        assert!(filling.pockets.is_empty());
        filling.snapshots.iter().map(|m| m.wet_area_m2).collect::<Vec<f64>>()
    });
    for (k, (impulse, area)) in AREAS.iter().enumerate() {
        let estimate = (fine[k] - coarse[k]).abs() + 1.1e-4;
        assert!((fine[k] - area).abs() < estimate, "{impulse}: {} {area} {estimate}", fine[k]);
        assert!(estimate < 2e-3, "{estimate}");
    }
}

/// The moment identity with the potential of a mesh refined twice more, on three nested meshes: the miss falls as h².
#[test]
fn the_moment_identity_holds_to_second_order() {
    let impulse = 1.0;
    let finest = post(0.16, 5);
    let pair = crate::theory::ideal::solve_pair(&finest, crate::input::case::Ends::HeldPressure, 1e-7).unwrap();
    let shape = 0.5 * (pair.lower + pair.upper);
    let misses: Vec<f64> = [1, 2, 3]
        .iter()
        .map(|&times| {
            let space = post(0.16, times);
            let filling = filled(&setup(&space, Snapshots::Impulses(vec![impulse])));
            let moment = &filling.snapshots[0];
            let mut sum = moment.outflow_m3 / GAP;
            for v in 0..space.mesh.points.len() {
                sum += (1.0 - pair.pressure[v]) * moment.fill[v] * space.star_area(v) / 3.0;
            }
            (sum / (shape * impulse) - 1.0).abs()
        })
        .collect();
    let orders: Vec<f64> = misses.windows(2).map(|pair| (pair[0] / pair[1]).log2()).collect();
    assert!(misses[2] < 1e-3 && orders.iter().all(|order| *order > 1.4), "{misses:?} {orders:?}");
}

/// Behind a smooth convex obstacle the two fronts close from the obstacle outwards: no air stays, and they meet on the axis.
#[test]
fn no_air_stays_behind_a_smooth_post() {
    let space = post(0.08, 1);
    let filling = filled(&setup(&space, Snapshots::Count(30)));
    assert!(filling.pockets.is_empty() && filling.full, "{:?}", filling.pockets);
    assert!(filling.arrival.iter().all(|t| t.is_finite()));
    let axis = filling.welds.iter().filter(|p| (p[1] - 0.5).abs() < 0.06 && p[0] > 1.0 && p[0] < 1.4).count();
    assert!(axis >= 2 && 2 * axis > filling.welds.len(), "{:?}", filling.welds);
    // a few systems for each snapshot, each in a few cycles, on any mesh
    let work = filling.work;
    assert!(work.solves <= 8 * filling.snapshots.len() && work.cycles <= 20 * work.solves, "{work:?}");
    // no place but the outlet is the last
    assert!(filling.latest.is_empty(), "{:?}", filling.latest);
}
