//! Searches against closed forms.

use twinplate::input::campaign::{Planned, Seek, read_plan};
use twinplate::study::campaign::seek::{Ended, Sought, solve_seek};

const CASE: &str = "[cell]\nlength = '200 mm'\nwidth = '100 mm'\ngap = '1 mm'\n[fluid]\ndensity = 1000\nviscosity = 1e-3\n\
                    [drive]\nflow_rate = '2 mL/min'\n[[obstacle]]\nname = 'fin'\n\
                    ellipse = { centre = ['100 mm', '50 mm'], semi_axes = ['15 mm', '3 mm'], angle = 10 }\n\
                    [streaklines]\ncount = 4\n[tolerance]\nspeed = 0.02\ndirection = '20 deg'\nshift = '20 mm'\n";

fn plan(rest: &str) -> Seek {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("fin.toml"), CASE).unwrap();
    let file = folder.path().join("plan.toml");
    std::fs::write(&file, format!("case = 'fin.toml'\ntriangles = 1000\n{rest}")).unwrap();
    match read_plan(&file).unwrap() {
        Planned::Seek(seek) => *seek,
        Planned::Runs(_) => panic!("runs"),
    }
}

fn search(rest: &str) -> Sought {
    solve_seek(plan(rest), 2, &|_| {}).unwrap()
}

fn value(found: &Sought) -> f64 {
    found.seek.ranges[0].number(found.found.place[0])
}

/// The head goes as the flow: that of 5 mL/min at twice and a half the head of 2. The accuracy is a thousandth of the logarithm of the range.
#[test]
fn a_flow_for_a_head() {
    let one = search(
        "command = 'solve'\n[seek]\nrow = 'drive.head'\nto = 1e-4\n[seek.vary]\n'drive.flow_rate' = { from = '0.5 mL/min', to = '20 mL/min' }\n",
    );
    assert_eq!((one.ended, one.found.unit), (Ended::AtValue, "m"));
    // what one mL/min takes, from another run of the search: the solution is the same but for its scale
    let first = &one.tried[0];
    let exact = 1e-4 / first.row.unwrap() * one.seek.ranges[0].number(first.place[0]);
    let within = (20f64 / 0.5).ln() * one.seek.accuracy;
    assert!((value(&one) / exact).ln().abs() < within, "{} {exact}", value(&one));
    assert!(one.others.is_empty() && one.tried.len() < 25, "{}", one.tried.len());
}

/// A fin along the stream leaves the cell most open: by the symmetry of the cell its angle is zero. Off it the shape factor falls with the
/// square of the angle, so that the numerical error lets the angle be known to a degree or so; the search says how well.
#[test]
fn the_angle_at_which_the_cell_is_most_open() {
    let found = search(
        "command = 'solve'\n[seek]\nrow = 'shape_factor.value'\ngoal = 'largest'\naccuracy = 0.01\n[seek.vary]\n'obstacle.fin.angle' = { from = -40, to = 50 }\n",
    );
    assert_eq!(found.ended, Ended::Turning);
    let off = found.off[0].unwrap_or(0.01) * 90.0;
    assert!(value(&found).abs() < off.max(2.0), "{} +- {off}", value(&found));
    assert!(found.found.row > found.tried[0].row && found.found.row > found.tried.last().unwrap().row);
}

/// The speed departs by the edge layer as the gap: the largest gap within the tolerance is where its measure meets it, and the next run
/// beyond passes it.
#[test]
fn the_thickest_gap_within_the_tolerances() {
    let found = search(
        "[seek]\nrow = 'cell.gap'\ngoal = 'largest'\nwithin_tolerance = true\naccuracy = 0.01\n[seek.vary]\n'cell.gap' = { from = '0.3 mm', to = '2 mm' }\n",
    );
    assert_eq!(found.ended, Ended::AtLimit, "{found:?}");
    assert!(found.found.is_within() && found.found.limit.contains("speed"), "{:?}", found.found);
    assert!(found.found.beyond.unwrap() > -0.1, "{:?}", found.found);
    let passed = found.tried.iter().filter(|tried| tried.beyond > Some(0.0)).map(|tried| tried.place[0]);
    assert!(passed.fold(f64::INFINITY, f64::min) >= found.found.place[0]);
}

/// Two keys: the head of 2 mL/min falls with the gap and rises with the flow; the least is at the thick end of the one and the low end of the
/// other.
#[test]
fn the_least_of_two_keys_lies_in_their_corner() {
    let found = search(
        "command = 'solve'\n[seek]\nrow = 'drive.head'\ngoal = 'smallest'\naccuracy = 0.02\n[seek.vary]\n'cell.gap' = { from = '0.5 mm', to = '2 mm' }\n\
         'drive.flow_rate' = { from = '1 mL/min', to = '3 mL/min' }\n",
    );
    assert_eq!(found.ended, Ended::AtEnd);
    assert!(found.found.place[0] > 0.98 && found.found.place[1] < 0.02, "{:?}", found.found);
}

#[test]
fn a_value_that_is_nowhere_is_told_with_the_range() {
    let error = solve_seek(
        plan(
            "command = 'solve'\n[seek]\nrow = 'drive.head'\nto = 1\n[seek.vary]\n'drive.flow_rate' = { from = '1 mL/min', to = '3 mL/min' }\n",
        ),
        1,
        &|_| {},
    );
    let error = error.unwrap_err();
    assert!(error.what().contains("is 1 nowhere: over the range it goes from"), "{error}");
}
