//! Grown outlines and walls against their distance from the solids.

use super::*;

#[test]
fn a_grown_circle_is_a_circle() {
    let arc = |from: f64, to: f64| Piece {
        curve: Curve::Arc { centre: [1.0, 0.5], semi_axes: [0.2, 0.2], rotation: 0.0, start: 0.0, end: 2.0 * PI },
        from,
        to,
        side: Side::Obstacle(0),
    };
    for circle in [vec![arc(1.0, 0.0)], vec![arc(1.0, 0.7), arc(0.7, 0.0)]] {
        let grown = as_pieces(&offset(&polyline(&circle, Course::Closed), 0.01).unwrap(), Side::Obstacle(0));
        assert!((grown.iter().map(Piece::length).sum::<f64>() - 2.0 * PI * 0.21).abs() < 1e-12);
        for s in [0.0, 0.3, 0.7] {
            for piece in &grown {
                let p = piece.point(s);
                assert!(((p[0] - 1.0).hypot(p[1] - 0.5) - 0.21).abs() < 1e-12);
            }
        }
    }
}

/// Distance from the ellipse of every place on its offset: its foot by Newton's method. An arc of turn t through points of a curve
/// whose curvature changes by k' over its length is off by 0.008 (k'/k²) t³/k, here 0.008 * 2.3 * 2.2e-4 * 0.8 = 3e-6.
#[test]
fn a_grown_ellipse_is_at_the_distance_with_few_arcs() {
    grown_ellipse(0.4, 0.2, 1);
    grown_ellipse(0.2, 0.4, 1);
    grown_ellipse(0.4, 0.2, 20);
}

fn ellipse(a: f64, b: f64, from: f64, to: f64) -> Piece {
    let curve = Curve::Arc { centre: [0.0; 2], semi_axes: [a, b], rotation: 0.0, start: 0.0, end: 2.0 * PI };
    Piece { curve, from, to, side: Side::Obstacle(0) }
}

fn grown_ellipse(a: f64, b: f64, parts: usize) {
    let d = 0.02;
    let end = |k: usize| (parts - k) as f64 / parts as f64;
    let pieces: Vec<Piece> = (0..parts).map(|k| ellipse(a, b, end(k), end(k + 1))).collect();
    let grown = as_pieces(&offset(&polyline(&pieces, Course::Closed), d).unwrap(), Side::Obstacle(0));
    assert!(!grown.is_empty());
    assert!(grown.len() < 400, "{}", grown.len());
    let distance = |p: Point| {
        let mut t = (p[1] / b).atan2(p[0] / a);
        for _ in 0..30 {
            let (sin, cos) = t.sin_cos();
            let (e, along) = ([a * cos, b * sin], [-a * sin, b * cos]);
            let away = [p[0] - e[0], p[1] - e[1]];
            let slope = -away[0] * e[0] - away[1] * e[1] - along[0] * along[0] - along[1] * along[1];
            t -= (away[0] * along[0] + away[1] * along[1]) / slope;
        }
        (p[0] - a * t.cos()).hypot(p[1] - b * t.sin())
    };
    for piece in &grown {
        for s in [0.0, 0.3, 0.5, 0.8] {
            let off = distance(piece.point(s)) - d;
            assert!(off.abs() < 6e-6, "{:?} {off:.1e}", piece.point(s));
        }
    }
}

/// A caisson with a chamber whose door is narrower than two displacement thicknesses: grown, the door is shut, and of the two outlines
/// left the outer one counts: its box is larger by the distance all round.
#[test]
fn a_door_that_shuts_leaves_the_outer_outline() {
    let (d, corners) = (
        0.01,
        [
            [0.0, 0.0],
            [0.4, 0.0],
            [0.4, 0.14],
            [0.3, 0.14],
            [0.3, 0.05],
            [0.1, 0.05],
            [0.1, 0.25],
            [0.3, 0.25],
            [0.3, 0.155],
            [0.4, 0.155],
            [0.4, 0.3],
            [0.0, 0.3],
        ],
    );
    let side = Side::Obstacle(0);
    // the fluid on the left: clockwise round the solid
    let line = |k: usize| Piece {
        curve: Curve::Line { from: corners[(12 - k) % 12], to: corners[11 - k] },
        from: 0.0,
        to: 1.0,
        side,
    };
    let pieces: Vec<Piece> = (0..12).map(line).collect();
    let path = polyline(&pieces, Course::Closed);
    assert!(path.parallel_offset(d).len() > 1, "the door is open");
    let grown = as_pieces(&offset(&path, d).unwrap(), side);
    let along = |k: usize| grown.iter().map(move |piece| piece.start()[k]);
    for (k, end) in [(0, 0.4), (1, 0.3)] {
        let (low, high) = (along(k).fold(f64::INFINITY, f64::min), along(k).fold(0.0, f64::max));
        assert!((low + d).abs() < 1e-12 && (high - end - d).abs() < 1e-12, "{k}: {low} {high}");
    }
}

/// Turn of each arc of a path.
fn turns(path: &Polyline<f64>) -> Vec<f64> {
    (0..path.vertex_count()).map(|k| 4.0 * path.at(k).bulge.atan()).collect()
}

/// Walked either way round, a slender ellipse turns by 2 pi, nearly all of it within b²/a = 0.4 mm of its two tips, and no arc by more
/// than [`TURN`]; every arc starts on the ellipse.
#[test]
fn no_arc_turns_too_far() {
    let (a, b) = (0.4, 0.0126);
    for (from, to, round) in [(1.0, 0.0, -2.0 * PI), (0.0, 1.0, 2.0 * PI)] {
        let path = polyline(&[ellipse(a, b, from, to)], Course::Closed);
        let turns = turns(&path);
        assert!(
            turns.iter().all(|turn| turn.abs() <= TURN),
            "{:?}",
            turns.iter().fold(0.0, |a: f64, b| a.max(b.abs()))
        );
        assert!((turns.iter().sum::<f64>() - round).abs() < 1e-9);
        let off = |k: usize| (path.at(k).x / a).hypot(path.at(k).y / b) - 1.0;
        assert!((0..path.vertex_count()).all(|k| off(k).abs() < 1e-12));
    }
}

/// The cubic (u², u³), u = t - 1/3, turns back at t = 1/3, between the parts that a piece is cut into: halving ends there, after ten
/// times on a part of a sixteenth, with the one arc that turns back.
#[test]
fn halving_ends_at_a_cusp() {
    let third = 1.0 / 3.0_f64;
    let coefficients = [[third * third, -third.powi(3)], [-2.0 * third, 3.0 * third * third], [1.0, -1.0], [0.0, 1.0]];
    let side = Side::Obstacle(0);
    let path = polyline(&[Piece { curve: Curve::Cubic { coefficients }, from: 0.0, to: 1.0, side }], Course::Open);
    let back: Vec<usize> = (0..path.vertex_count()).filter(|&k| turns(&path)[k].abs() > TURN).collect();
    assert_eq!(back.len(), 1);
    // from u to no further than u + h, h = 2^-14: the arc starts within h² of the cusp, and twice as many halvings would start nearer
    let (start, h) = (path.at(back[0]), 0.5f64.powi(14));
    assert!(start.x < h * h && start.x > 1e-3 * h * h, "{} {}", start.x, h * h);
}

/// A round pier 2 mm from one end and a caisson 2 mm from the other, or two wedges that rise at 45 degrees from 3 mm on, each on a wall:
/// grown by 10 mm they reach beyond the ends, where they are cut off. Seen from every side and with the loop begun anywhere, all places of
/// the grown walls are at that distance from the solids, and with the ends they close the cell.
#[test]
fn grown_walls_keep_their_distance_from_end_to_end() {
    let (d, [l, w]) = (0.01, [0.3, 0.2]);
    let caisson = vec![[0.198, 0.15], [0.298, 0.15], [0.298, 0.22], [0.198, 0.22]];
    let wedge = [[0.002, -0.001], [0.04, 0.037], [0.05, -0.001]];
    let turned: Vec<Point> = wedge.iter().map(|p| [l - p[0], w - p[1]]).collect();
    let wedge = wedge.to_vec();
    let flips = [[false, false], [true, false], [false, true], [true, true]];
    for (flips, [first, second]) in flips
        .into_iter()
        .flat_map(|flips| [(flips, [vec![], caisson.clone()]), (flips, [wedge.clone(), turned.clone()])])
    {
        let at = |p: Point| [if flips[0] { l - p[0] } else { p[0] }, if flips[1] { w - p[1] } else { p[1] }];
        let walls = if flips[1] { ["upper", "lower"] } else { ["lower", "upper"] };
        let shape = |corners: &[Point]| match corners {
            [] => format!("circle = {{ centre = {:?}, diameter = 0.1 }}", at([0.052, 0.0])),
            _ => format!("polygon = {{ points = {:?} }}", corners.iter().map(|&p| at(p)).collect::<Vec<Point>>()),
        };
        let text = format!(
            "[cell]\nlength = {l}\nwidth = {w}\ngap = 0.03\n[fluid]\ndensity = 1000\nviscosity = 1e-3\n[drive]\nmean_speed = 1e-4\n\
             [[obstacle]]\non_wall = \"{}\"\n{}\n[[obstacle]]\non_wall = \"{}\"\n{}\n",
            walls[0],
            shape(&first),
            walls[1],
            shape(&second)
        );
        let case = crate::input::case::parse(&text, "case.toml".as_ref()).into_result().unwrap();
        let plan = Plan::new(&case, &mut Default::default()).unwrap();
        let distance = |p: Point| {
            // where the solids stand without flips
            let p = at(p);
            let from = |corners: &[Point]| {
                let sides = (0..corners.len()).map(|k| [corners[k], corners[(k + 1) % corners.len()]]);
                sides.map(|side| plane::distance_to_segment(p, side)).fold(f64::INFINITY, f64::min)
            };
            let pier = if first.is_empty() { (p[0] - 0.052).hypot(p[1]) - 0.05 } else { from(&first) };
            p[1].min(w - p[1]).min(pier).min(from(&second))
        };
        let grown = grown_plan(&plan, d).unwrap();
        let outer = &grown.pieces[grown.loops[0].clone()];
        for (k, piece) in outer.iter().enumerate() {
            let next = &outer[(k + 1) % outer.len()];
            assert!(plane::distance(piece.end(), next.start()) < 1e-12, "{flips:?} {piece:?} {next:?}");
            for s in [0.0, 0.2, 0.5, 0.7, 1.0] {
                let p = piece.point(s);
                match piece.side {
                    Side::Inlet => assert!(p[0].abs() < 1e-12 && distance(p) > d - 1e-12, "{flips:?} {p:?}"),
                    Side::Outlet => assert!((p[0] - l).abs() < 1e-12 && distance(p) > d - 1e-12, "{flips:?} {p:?}"),
                    _ => {
                        assert!((distance(p) - d).abs() < 1e-12, "{flips:?} {p:?} {}", distance(p));
                        assert!(p[0] > -1e-12 && p[0] < l + 1e-12, "{flips:?} {p:?}");
                    }
                }
            }
        }
        let count = |side| outer.iter().filter(|piece| piece.side == side).count();
        assert_eq!([count(Side::Inlet), count(Side::Outlet)], [1, 1]);
        // each wall keeps its name, and is met at its own side
        let lower = outer.iter().filter(|piece| piece.side == Side::Wall(Wall::Lower));
        assert!(lower.flat_map(|piece| [piece.start(), piece.end()]).all(|p| p[1] < 0.5 * w), "{flips:?}");
        for first in 1..plan.loops[0].len() {
            let mut other = plan.clone();
            other.pieces[plan.loops[0].clone()].rotate_left(first);
            assert_eq!(grown_plan(&other, d).unwrap().pieces, grown.pieces, "{flips:?} {first}");
        }
    }
}

/// The free rim of a bubble stays where it is between grown solids; a stiff one grows as they do, and one on a wall has no such variant.
#[test]
fn free_rims_stay_where_they_are() {
    let plan = |keys: &str, centre: Point| {
        let text = format!(
            "[cell]\nlength = 0.4\nwidth = 0.2\ngap = 0.01\n[fluid]\ndensity = 1000\nviscosity = 1e-3\n[drive]\nmean_speed = 1e-4\n\
             [[obstacle]]\ncircle = {{ centre = [0.1, 0.1], diameter = 0.06 }}\n\
             [[obstacle]]\nbubble = true\n{keys}circle = {{ centre = {centre:?}, diameter = 0.06 }}\n"
        );
        let case = crate::input::case::parse(&text, "case.toml".as_ref()).into_result().unwrap();
        Plan::new(&case, &mut Default::default()).unwrap()
    };
    let (d, radius) = (0.003, 0.03);
    for (keys, kept) in [("", radius), ("edge = \"solid\"\n", radius + d)] {
        let grown = grown_plan(&plan(keys, [0.25, 0.1]), d).unwrap();
        for (of, centre, radius) in [(0, [0.1, 0.1], radius + d), (1, [0.25, 0.1], kept)] {
            let own = grown.pieces.iter().filter(|piece| piece.side == Side::Obstacle(of));
            for p in own.flat_map(|piece| [piece.start(), piece.point(0.3)]) {
                assert!((plane::distance(p, centre) - radius).abs() < 1e-12, "{keys} {of} {p:?}");
            }
        }
    }
    assert!(grown_plan(&plan("on_wall = \"lower\"\n", [0.25, 0.0]), d).is_err());
    assert!(grown_plan(&plan("on_wall = \"lower\"\nedge = \"solid\"\n", [0.25, 0.0]), d).is_ok());
}
