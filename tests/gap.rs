//! Gaps that are not even: bowed plates and tables of measured gaps.

use std::path::Path;
use std::sync::Arc;
use twinplate::input::case::*;

fn case_text(gap: &str, drive: &str, rig: &str) -> String {
    format!(
        "[cell]\nlength = 0.6\nwidth = 0.4\ngap = {gap}\n[fluid]\ndensity = 1000\nviscosity = 1e-3\n[drive]\n{drive}\n[rig]\n{rig}\n"
    )
}

fn read_gap(gap: &str, drive: &str, rig: &str) -> Result<Gap, String> {
    let case = parse(&case_text(gap, drive, rig), Path::new("case.toml")).into_result();
    case.map(|case| case.cell.gap).map_err(|e| e.to_string())
}

/// Random numbers in [0, 1), the same every time (linear congruence of Knuth, MMIX).
fn random(seed: u64) -> impl FnMut() -> f64 {
    let mut state = seed;
    move || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 11) as f64 / (1u64 << 53) as f64
    }
}

/// Places over the cell and a little beyond: a grid, or scattered with the corners among them.
fn places(n: usize, scattered: bool) -> Vec<[f64; 2]> {
    let mut next = random(7);
    let mut all = Vec::new();
    for i in 0..=n {
        for j in 0..=n {
            let inner = i % n != 0 && j % n != 0;
            let mut shake = || if scattered && inner { 0.7 * (next() - 0.5) } else { 0.0 };
            let (u, v) = ((i as f64 + shake()) / n as f64, (j as f64 + shake()) / n as f64);
            all.push([-0.05 + 0.7 * u, -0.05 + 0.5 * v]);
        }
    }
    all
}

fn table(places: &[[f64; 2]], gap: impl Fn([f64; 2]) -> f64) -> Gap {
    let rows = places.iter().map(|&p| [p[0], p[1], gap(p)]).collect();
    Gap::Table(Arc::new(GapTable::new(rows).unwrap()))
}

/// Largest error of gap and gradient at places of the cell, against exact ones.
fn errors(gap: &Gap, exact: impl Fn([f64; 2]) -> (f64, [f64; 2])) -> [f64; 2] {
    let mut next = random(3);
    (0..2000).fold([0.0; 2], |worst: [f64; 2], _| {
        let p = [0.6 * next(), 0.4 * next()];
        let (b, slope) = exact(p);
        let found = gap.gradient(p);
        let off = (found[0] - slope[0]).hypot(found[1] - slope[1]);
        [worst[0].max((gap.at(p) - b).abs()), worst[1].max(off)]
    })
}

#[test]
fn plates_bow_as_the_plate_formula_says() {
    let rig = "youngs_modulus = 3e9\npoisson_ratio = 0.3\nplate_thickness = 0.01";
    let gap = read_gap(r#"{ at = "1 mm", bowed = true }"#, "pressure_drop = 200", rig).unwrap();
    // w = c q a^4/D, q half the inlet's pressure, c = 0.007724022 for sides 3:2 (Timoshenko & Woinowsky-Krieger, table 8)
    let d = 3e9 * 1e-6 / (12.0 * 0.91);
    let w = 0.007_724_022 * 100.0 * 0.4_f64.powi(4) / d;
    assert!(!gap.is_uniform() && (gap.at([0.3, 0.2]) - 1e-3).abs() < 1e-18);
    for edge in [[0.0, 0.2], [0.6, 0.1], [0.3, 0.0], [0.3, 0.4], [0.0, 0.0]] {
        assert!((gap.at(edge) - (1e-3 - 2.0 * w)).abs() < 1e-7 * w, "{edge:?}");
    }
    let Gap::Bowed(bow) = &gap else { panic!("bowed") };
    assert!((bow.deflection() / w - 1.0).abs() < 1e-7 && bow.load() == 100.0 && bow.middle() == 1e-3);
    // clamped: 0.00220 (same book, table 35, three digits)
    let clamped = read_gap(
        r#"{ at = "1 mm", bowed = true }"#,
        "pressure_drop = 200",
        &format!("{rig}\nplate_edges = \"clamped\""),
    );
    let Ok(Gap::Bowed(clamped)) = clamped else { panic!("bowed") };
    assert!((clamped.deflection() / w * 0.007_724_022 / 0.002_20 - 1.0).abs() < 3e-3);
}

#[test]
fn the_load_follows_from_every_drive() {
    let load = |drive: &str| match read_gap(r#"{ at = "1 mm", bowed = true }"#, drive, "plate_thickness = 0.02") {
        Ok(Gap::Bowed(bow)) => bow.load(),
        other => panic!("{other:?}"),
    };
    // empty cell: dp = 12 mu U L_c/b^2 = 12 1e-3 0.01 0.6/1e-6 = 72 Pa at U = 0.01 m/s
    let drives = [
        "mean_speed = 0.01",
        "flow_rate = 4e-6",
        "pressure_drop = 72",
        "head = 7.341956733237e-3",
        "gap_reynolds = 10",
        "obstacle_reynolds = 4000",
        "reduced_reynolds = 0.025",
        "reduced_reynolds = 0.05\nreference_length = 0.2",
    ];
    for drive in drives {
        assert!((load(drive) / 36.0 - 1.0).abs() < 1e-10, "{drive}: {}", load(drive));
    }
}

#[test]
fn bowing_that_cannot_be_says_why() {
    let obstacle = "[[obstacle]]\ncircle = { centre = [0.3, 0.2], diameter = 0.1 }\n";
    let text = obstacle.to_owned() + &case_text(r#"{ at = "1 mm", bowed = true }"#, "reduced_reynolds = 0.1", "");
    let message = parse(&text, Path::new("case.toml")).into_result().unwrap_err().to_string();
    assert!(message.contains("reference_length") && message.contains("case.toml:6:"), "{message}");
    let soft = read_gap(r#"{ at = "0.1 mm", bowed = true }"#, "head = 1", "plate_thickness = 1e-3").unwrap_err();
    assert!(soft.contains("would meet at the edges") && soft.contains("thicker"), "{soft}");
    for (gap, says) in [
        (r#"{ at = "1 mm", bowed = true, slope = [0, 0] }"#, "both \"slope\" and \"bowed\""),
        (r#"{ at = "1 mm", bowed = "yes" }"#, "must be true or false"),
        ("{ bowed = true }", "lacks the key \"at\""),
        (r#"{ at = "1 mm", table = "gaps.csv" }"#, "both \"at\" and \"table\""),
        (r#"{ bowed = true, table = "gaps.csv" }"#, "both \"bowed\" and \"table\""),
        (r#"{ table = 3 }"#, "must be a text"),
        (r#"{ at = "1 mm", bow = true }"#, "unknown key \"bow\""),
        (r#"{ at = "1 mm", slope = [0.01, 0] }"#, "the gap is -2 mm at (0 m, 0 m)"),
    ] {
        let message = read_gap(gap, "mean_speed = 1e-3", "").unwrap_err();
        assert!(message.contains(says), "{gap}: {message}");
    }
    assert!(matches!(read_gap(r#"{ at = 1e-3, bowed = false }"#, "mean_speed = 1e-3", ""), Ok(Gap::Linear { .. })));
}

#[test]
fn gradients_are_those_of_the_gap() {
    // central differences of step h: error h^2 b'''/6 of a smooth piece, h [b''] across a side of a piece; b'' below 0.1/m here
    let wave = |p: [f64; 2]| 1e-3 + 1e-4 * (9.0 * p[0]).sin() * (7.0 * p[1] + 1.0).cos();
    let bowed = read_gap(r#"{ at = "1 mm", bowed = true }"#, "head = 0.05", "").unwrap();
    for gap in [bowed, table(&places(9, false), wave), table(&places(9, true), wave)] {
        let mut next = random(11);
        let h = 1e-6;
        for _ in 0..500 {
            let p = [0.01 + 0.58 * next(), 0.01 + 0.38 * next()];
            for (k, slope) in gap.gradient(p).into_iter().enumerate() {
                let at = |step: f64| gap.at(if k == 0 { [p[0] + step, p[1]] } else { [p[0], p[1] + step] });
                let difference = (at(h) - at(-h)) / (2.0 * h);
                assert!((slope - difference).abs() < 2e-7, "{p:?} {k}: {slope} {difference}");
            }
        }
    }
}

#[test]
fn the_surface_has_no_kinks() {
    // The gradient is continuous: over a step of h it changes by b'' h, here below 1e-8; a kink would be of order 1e-5 or more.
    let rough = |p: [f64; 2]| 1e-3 + 1e-4 * (40.0 * p[0]).sin() * (30.0 * p[1]).cos();
    for scattered in [false, true] {
        let gap = table(&places(9, scattered), rough);
        let mut next = random(5);
        let (mut worst, mut total): (f64, f64) = (0.0, 0.0);
        for _ in 0..200 {
            let (p, q) = ([0.6 * next(), 0.4 * next()], [0.6 * next(), 0.4 * next()]);
            let at = |s: f64| [p[0] + s * (q[0] - p[0]), p[1] + s * (q[1] - p[1])];
            let mut last = gap.gradient(p);
            // halve the piece of the line whose ends differ most, down to 1e-9 of it
            let (mut low, mut high) = (0.0, 1.0);
            let end = gap.gradient(q);
            total = total.max((end[0] - last[0]).hypot(end[1] - last[1]));
            let mut other = end;
            while high - low > 1e-9 {
                let middle = 0.5 * (low + high);
                let there = gap.gradient(at(middle));
                let change = |a: [f64; 2], b: [f64; 2]| (a[0] - b[0]).hypot(a[1] - b[1]);
                if change(last, there) > change(there, other) {
                    (high, other) = (middle, there);
                } else {
                    (low, last) = (middle, there);
                }
            }
            worst = worst.max((other[0] - last[0]).hypot(other[1] - last[1]));
        }
        assert!(total > 1e-3 && worst < 1e-8, "scattered {scattered}: jump {worst}, changes {total}");
    }
}

#[test]
fn tables_of_planes_and_quadratics_are_exact() {
    let linear = Gap::Linear { at: 1e-3, slope: [1e-4, -2e-4], middle: [0.3, 0.2] };
    let bend = |p: [f64; 2]| {
        let [x, y] = p;
        (1e-3 + 1e-3 * x * x - 2e-3 * x * y + 1.5e-3 * y * y, [2e-3 * x - 2e-3 * y, -2e-3 * x + 3e-3 * y])
    };
    for (n, scattered) in [(1, false), (2, false), (8, false), (5, true), (12, true)] {
        let all = places(n, scattered);
        // rounding: 1e-16 of b = 1e-3, magnified by the fit and the spacing 0.05
        let off = errors(&table(&all, |p| linear.at(p)), |p| (linear.at(p), linear.gradient(p)));
        assert!(off[0] < 1e-16 && off[1] < 1e-14, "plane {n} {scattered}: {off:?}");
        if n >= 2 {
            let off = errors(&table(&all, |p| bend(p).0), bend);
            assert!(off[0] < 1e-15 && off[1] < 1e-13, "quadratic {n} {scattered}: {off:?}");
        }
    }
}

#[test]
fn tables_converge_at_third_order_and_hold_their_values() {
    let wave = |p: [f64; 2]| {
        let (x, y) = (5.0 * p[0], 6.0 * p[1]);
        (1e-3 + 1e-4 * x.sin() * y.cos(), [5e-4 * x.cos() * y.cos(), -6e-4 * x.sin() * y.sin()])
    };
    for scattered in [false, true] {
        let off = [8, 16, 32].map(|n| errors(&table(&places(n, scattered), |p| wave(p).0), wave));
        for pair in off.windows(2) {
            // orders 3 and 2; largest errors on shaken places scatter, so two thirds of an order are granted
            let orders = [0, 1].map(|k| (pair[0][k] / pair[1][k]).log2());
            assert!(orders[0] > 2.3 && orders[1] > 1.3, "scattered {scattered}: {orders:?} {off:?}");
        }
        let all = places(8, scattered);
        let gap = table(&all, |p| wave(p).0);
        for p in all {
            assert!((gap.at(p) - wave(p).0).abs() < 1e-15, "{p:?}");
        }
    }
}

#[test]
fn places_on_lines_but_for_rounding_do_no_harm() {
    // rows read in millimetres and scaled: the rim is straight to rounding only, and survey lines are dense along and wide apart
    let mut rows = Vec::new();
    let b = |x: f64, y: f64| 1e-3 + 1e-4 * x - 2e-4 * y;
    for line in 0..4 {
        for k in 0..=200 {
            let (x, y) =
                (f64::from(line * 200) * 1e-3, f64::from(k) * 2.0 * 1e-3 * (1.0 + f64::EPSILON * f64::from(k % 3)));
            rows.push([x + 1e-16 * f64::from(k % 5), y, b(x, y)]);
        }
    }
    let gap = Gap::Table(Arc::new(GapTable::new(rows).unwrap()));
    let mut next = random(2);
    for _ in 0..2000 {
        let snap = |u: f64, side: f64| {
            if u < 0.1 {
                0.0
            } else if u > 0.9 {
                side
            } else {
                u * side
            }
        };
        let p = [snap(next(), 0.6), snap(next(), 0.4)];
        let slope = gap.gradient(p);
        assert!((gap.at(p) - b(p[0], p[1])).abs() < 1e-11, "{p:?} {}", gap.at(p));
        assert!((slope[0] - 1e-4).abs() < 1e-9 && (slope[1] + 2e-4).abs() < 1e-9, "{p:?} {slope:?}");
    }
}

fn with_file(content: &[u8]) -> Result<Gap, String> {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("gaps.csv"), content).unwrap();
    let case = folder.path().join("case.toml");
    std::fs::write(&case, case_text(r#"{ table = "gaps.csv" }"#, "mean_speed = 1e-3", "")).unwrap();
    load(&case).into_result().map(|case| case.cell.gap).map_err(|e| e.to_string())
}

const CORNERS: &str = "0,0,1e-3\n0.6,0,1.1e-3\n0,0.4,1e-3\n0.6,0.4,1.1e-3\n";

#[test]
fn table_files_are_read_relative_to_the_case() {
    let plain = with_file(CORNERS.as_bytes()).unwrap();
    assert!((plain.at([0.3, 0.1]) - 1.05e-3).abs() < 1e-17 && plain.at([0.7, 0.1]).is_nan());
    let same = [
        "\u{feff}# feeler gauge, autumn\nx,y,gap\n0,0,1e-3 # near the inlet\r\n0.6,0,1.1e-3\r\n\n0,0.4,1e-3\n0.6,0.4,1.1e-3",
        "x_mm;y_cm;gap_um\n0;0;1000\n600;0;1100\n0;40;1000\n600;40;1100\n0;0;1000\n",
        "gap_mm y_m X_mm\n1 0 0\n1.1 0 600\n1 0.4 0\n1.1 0.4 600\n",
    ];
    for text in same {
        let gap = with_file(text.as_bytes()).unwrap();
        assert!((gap.at([0.15, 0.3]) - plain.at([0.15, 0.3])).abs() < 1e-16, "{text}");
    }
    let even = with_file(CORNERS.replace("1.1e-3", "1e-3").as_bytes()).unwrap();
    assert!(even.is_uniform() && !plain.is_uniform());
}

#[test]
fn bad_tables_say_where_and_why() {
    let with = |line: &str| format!("{CORNERS}{line}\n");
    let many = "0 0 1e-3\n".repeat(1_000_002);
    let cases: [(&str, &str); 25] = [
        (&with("0.1,0.1,0"), "gaps.csv:5:1"),
        (&with("0.1,0.1,-1e-3"), "the gap is -1 mm and must be above zero"),
        (&with("0.1,0.1,nan"), "not a finite number"),
        (&with("inf,0.1,1e-3"), "x is `inf`"),
        (&with("0.1,1e999,1e-3"), "y is `1e999`"),
        (&with("0.1,0.1"), "expected three numbers, found 2"),
        (&with("0.1,0.1,1e-3,4"), "found 4"),
        (&with("0.1,0.1,1 mm"), "`1 mm`, which is not a number"),
        (&with("0.6,0.4,1.2e-3"), "0.0011 m in line 4"),
        (&with("-0,0,1.2e-3"), "0.001 m in line 1"),
        ("", "lie on a line"),
        ("0,0,1e-3\n1,1,1e-3\n", "2 places of the gap lie on a line"),
        ("0,0,1e-3\n0.6,0.6,1e-3\n0.3,0.3,1e-3\n0.1,0.1,2e-3\n", "4 places of the gap lie on a line"),
        ("1e308,0,1e-3\n-1e308,0,1e-3\n0,1,1e-3\n", "lie on a line"),
        ("x,y,z\n0,0,1e-3\n", "column 3 is called \"z\""),
        ("x,x,gap\n", "two columns are called \"x\""),
        ("x,y\n", "no column is called \"gap\""),
        ("x_s,y,gap\n", "the header's unit of x"),
        ("0,0,1e-3\n0.6,0,1e-3\n0,0.4,1e-3\n0.5,0.4,1e-3\n", "(600 mm, 400 mm) of the cell lies outside"),
        (
            "0,0,1e-3\n600,0,1e-3\n0,400,1e-3\n",
            "x has no unit and is read in metres: it reaches 600 m, and the cell 600 mm",
        ),
        ("0,0,1e-3\n600,0,1e-3\n0,400,1e-3\n", "if mm are meant, name the columns x_mm and y_mm"),
        ("x,y,gap_um\n0,0,500\n60,0,500\n0,40,500\n", "if cm are meant, name the columns x_cm and y_cm"),
        ("x_mm,y_mm,gap\n0,0,0.5\n600,0,0.5\n0,400,0.5\n", "if mm are meant, name the column gap_mm"),
        ("x_mm,y_mm,gap\n0,0,500\n600,0,500\n0,400,500\n", "if um are meant, name the column gap_um"),
        (&many, "more than 1000000 rows"),
    ];
    for (text, says) in cases {
        let message = with_file(text.as_bytes()).unwrap_err();
        assert!(message.contains(says), "{says}: {message}");
    }
    // between two bowls lies a dip that goes below zero: cubic pieces swing past steep steps
    let steep: String = (0..=6)
        .flat_map(|i| {
            (0..=4).map(move |j| {
                format!("{},{},{}\n", 0.1 * f64::from(i), 0.1 * f64::from(j), if i < 3 { 1e-2 } else { 1e-5 })
            })
        })
        .collect();
    let message = with_file(steep.as_bytes()).unwrap_err();
    assert!(message.contains("the gap is -") && message.contains("dips between"), "{message}");

    assert!(with_file(b"0,0,1e-3\n\xff\xfe\n").unwrap_err().contains("not UTF-8"));
    let folder = tempfile::tempdir().unwrap();
    std::fs::create_dir(folder.path().join("gaps.csv")).unwrap();
    let case = folder.path().join("case.toml");
    let text = case_text(r#"{ table = "gaps.csv" }"#, "mean_speed = 1e-3", "");
    assert!(parse(&text, &case).into_result().unwrap_err().to_string().contains("is a folder"));
    let error = parse(&text, Path::new("/nowhere/case.toml")).into_result().unwrap_err();
    assert!(error.to_string().contains("cannot be read") && matches!(error, twinplate::Error::Input(_)));
}

#[test]
fn a_table_of_a_wedge_solves_like_the_wedge() {
    use twinplate::study::{Settings, Study};
    use twinplate::theory::ideal::Goal;
    let solve = |gap: Gap| {
        let mut case =
            parse(&case_text("1e-3", "mean_speed = 1e-3", ""), Path::new("case.toml")).into_result().unwrap();
        case.cell.gap = gap;
        let mut problems = Default::default();
        let plan = twinplate::geometry::Plan::new(&case, &mut problems).unwrap();
        let settings = Settings { goal: Some(Goal::Triangles(2000)), inertia: true, ..Settings::default() };
        Study::solve(case, Arc::new(plan), settings, &|_| {}).unwrap()
    };
    let wedge = Gap::Linear { at: 1e-3, slope: [5e-4, 0.0], middle: [0.3, 0.2] };
    let measured = table(&places(6, true), |p| wedge.at(p));
    let (exact, read) = (solve(wedge), solve(measured));
    let (a, b) = (exact.pattern.shape_factor, read.pattern.shape_factor);
    // the same mesh; gaps differ by 1e-13 of themselves
    assert!((a.lower - b.lower).abs() < 1e-9 && (a.upper - b.upper).abs() < 1e-9, "{a:?} {b:?}");
    // lubrication theory: int dx/b^3 over the length, S = W/(b0^3 int dx/b^3); b1 = 0.85 mm, b2 = 1.15 mm
    let resistance = (1.0 / (0.85_f64.powi(2)) - 1.0 / (1.15_f64.powi(2))) / (2.0 * 5e-4) * 1e-3;
    let shape = 0.4 / resistance;
    // its stream function is linear in y, so the lower bound is the exact value, to the rounding of a sum over the triangles
    let rounding = exact.solved.space.mesh.triangles.len() as f64 * f64::EPSILON * shape;
    assert!((a.lower - shape).abs() <= rounding && shape <= a.upper, "{shape} {a:?}");
    // bowed plates: the middle is the reference, edges are narrower, so less flows than between even plates
    let bowed = read_gap(r#"{ at = "1 mm", bowed = true }"#, "pressure_drop = 200", "").unwrap();
    let bowed = solve(bowed).pattern.shape_factor;
    assert!(bowed.lower <= bowed.upper && bowed.upper < 0.4 / 0.6, "{bowed:?}");
}
