//! Maps of what is allowed.

use super::*;
use crate::report::figure::Column;

/// A map whose shift goes as the gap and whose first order as speed times gap squared.
fn made() -> Map {
    let gaps: Vec<f64> = (0..9).map(|k| 1e-3 * 2f64.powf(0.5 * f64::from(k - 4))).collect();
    let speeds: Vec<f64> = (0..9).map(|k| 1e-3 * 10f64.powf(0.5 * f64::from(k - 4))).collect();
    let at = |b: f64, u: f64| Ratios {
        all: [
            (Limit::Speed, 0.1),
            (Limit::Direction, 0.1),
            (Limit::Shift, b / 1.1e-3),
            (Limit::FirstOrder, u * b * b / 1e-8),
            (Limit::Laminar, 1e-3),
            (Limit::Dye, (2e-5 / u).sqrt()),
        ],
    };
    let cells = gaps.iter().map(|&b| speeds.iter().map(|&u| Some(at(b, u))).collect()).collect();
    Map { judge: Judge::Share, gaps, speeds, cells, slowest_for_dye: 2e-5 }
}

#[test]
fn lines_stand_where_the_limit_is_reached() {
    let map = made();
    let lines = reached(&map, Limit::FirstOrder);
    // one line from edge to edge of the map, in the order of the gaps, so that its dashes run on
    assert_eq!(lines.len(), 1, "{lines:?}");
    let up = if lines[0][0][0] < lines[0][1][0] { 1.0 } else { -1.0 };
    assert!(lines[0].len() >= 9 && lines[0].windows(2).all(|w| up * (w[1][0] - w[0][0]) > -1e-12), "{lines:?}");
    // the logarithm is linear over the map, so the interpolation is exact
    for [gap, speed] in lines.into_iter().flatten() {
        assert!((speed * gap * gap / 1e-8 - 1.0).abs() < 1e-9, "{gap} {speed}");
    }
    assert!(reached(&map, Limit::Speed).is_empty());
}

#[test]
fn areas_are_those_of_the_binding_limit() {
    let states = states(&made());
    // left upper pixel: thin gap, fast: b = 0.25 mm, u = 100 mm/s: first order 0.625 and all else within; right upper: beyond first order
    assert_eq!(states[0], State::Within);
    assert_eq!(states[PIXELS - 1], State::Bound(Limit::FirstOrder));
    assert_eq!(states[PIXELS * PIXELS - 1], State::Bound(Limit::Shift));
    assert_eq!(states[PIXELS * (PIXELS - 1)], State::Bound(Limit::Dye));
    let drawn = feasible("feasible", &made(), [1e-3, 1e-3], Style::default()).unwrap();
    assert!(drawn.svg().contains("this cell") && drawn.svg().contains("shift of lines"));
    assert!(drawn.svg().contains("allowed: within all tolerances") && !drawn.svg().contains("no allowed region"));
}

/// Strokes end where the departure is larger than where they start, on its line: beyond the limit. The logarithms are linear over the
/// map, so that is exact but for rounding.
#[test]
fn strokes_point_to_what_is_not_allowed() {
    let map = made();
    let frame = [10.0, 10.0, 100.0, 80.0];
    let part = |x: f64, [from, to]: [f64; 2]| (x / from).ln() / (to / from).ln();
    let ends = |values: &[f64]| [values[0], values[values.len() - 1]];
    let mut count = 0;
    for limit in [Limit::Shift, Limit::FirstOrder, Limit::Dye] {
        for line in reached(&map, limit) {
            let at = |p: &[f64; 2]| {
                [10.0 + 100.0 * part(p[0], ends(&map.gaps)), 90.0 - 80.0 * part(p[1], ends(&map.speeds))]
            };
            for [foot, end] in strokes(&map, limit, frame, &line.iter().map(at).collect::<Vec<_>>()) {
                let [on, beyond] = [foot, end].map(|p| excess(&map, limit, frame, p).unwrap());
                assert!(on.abs() < 1e-9 && beyond > 1e-3, "{limit:?}: {on} {beyond}");
                count += 1;
            }
        }
    }
    assert!(count > 30, "{count}");
}

/// A map in which every place is beyond some limit says so.
#[test]
fn a_map_without_an_allowed_region_says_so() {
    let mut map = made();
    for ratios in map.cells.iter_mut().flatten().flatten() {
        ratios.all[1].1 = 1.5;
    }
    for column in [Column::Single, Column::Double] {
        let style = Style { column, ..Style::default() };
        for cell in [[1e-3, 1e-3], [1e-3, 0.099]] {
            let drawn = feasible("feasible", &map, cell, style).unwrap();
            assert!(drawn.texts().iter().any(|t| t.text == "no allowed region"));
            assert!(drawn.texts().iter().all(|t| !t.text.contains("allowed:")));
            assert!(drawn.crowded().is_empty(), "{:?}", drawn.crowded());
        }
    }
}
