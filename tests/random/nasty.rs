//! Plans that are legal and unpleasant, or nearly legal: a valid mesh or an error with a place, of bounded size.

use proptest::prelude::*;
use std::f64::consts::PI;
use std::fmt::Write;
use std::path::Path;
use std::sync::Arc;
use twinplate::Error;
use twinplate::base::error::Problems;
use twinplate::geometry::Plan;
use twinplate::input::case::{Case, parse};
use twinplate::theory::ideal::first_mesh;

/// Triangles a mesh may have before the plan counts as too fine.
const MOST: usize = 1_000_000;

/// Meshes a cell of a length and half that width: true if there is a mesh, false if there is an error.
fn meshes(length: f64, obstacles: &str) -> bool {
    let text = format!(
        "title = \"t\"\n[cell]\nlength = {length:?}\nwidth = {:?}\ngap = {:?}\n[fluid]\nname = \"water\"\ntemperature = \"20 degC\"\n[drive]\n\
         mean_speed = 0.001\n{obstacles}",
        0.5 * length,
        1e-3 * length
    );
    let loaded = parse(&text, Path::new("case.toml"));
    let mut problems = loaded.problems;
    let plan = loaded.case.as_ref().and_then(|case| Plan::new(case, &mut problems));
    match (loaded.case, plan) {
        (Some(case), Some(plan)) if problems.is_empty() => mesh(&case, &Arc::new(plan)),
        _ => {
            assert_has_place(&problems);
            false
        }
    }
}

fn assert_has_place(problems: &Problems) {
    assert!(!problems.is_empty());
    assert!(problems.list.iter().all(|p| p.span.is_some() && !p.remedy.is_empty()), "{}", problems.render(false));
}

fn mesh(case: &Case, plan: &Arc<Plan>) -> bool {
    let mut case = case.clone();
    case.mesh.max_triangles = MOST;
    match first_mesh(plan, &case, None, &|_| ()) {
        Ok(mesh) => {
            assert!(mesh.triangles.len() <= MOST);
            let area: f64 = mesh.areas().iter().sum();
            assert!(mesh.areas().iter().all(|a| *a > 0.0));
            // chords in place of curves take or add little
            assert!((area / plan.area() - 1.0).abs() < 0.05, "{area} {}", plan.area());
            true
        }
        Err(error) => explained(&error),
    }
}

fn explained(error: &Error) -> bool {
    let text = error.to_string();
    assert!(text.contains("near (") && text.contains("help: "), "{text}");
    false
}

fn post(x: f64, y: f64, diameter: f64) -> String {
    format!("[[obstacle]]\ncircle = {{ centre = [{x:?}, {y:?}], diameter = {diameter:?} }}\n")
}

fn polygon(points: &[[f64; 2]]) -> String {
    format!("[[obstacle]]\npolygon = {{ points = {points:?} }}\n")
}

#[test]
fn nearly_touching_posts() {
    for gap in [1e-2, 1e-4, 1e-5, 2e-6, 1e-7, 0.0, -1e-9] {
        let two = post(0.8, 0.5, 0.2) + &post(1.0 + gap, 0.5, 0.2);
        // the narrowest passage is 1e-6 of the width
        assert_eq!(meshes(2.0, &two), gap >= 1e-6, "{gap}");
    }
}

#[test]
fn necks_slivers_and_spikes() {
    for thin in [1e-2, 1e-4, 1e-6] {
        meshes(2.0, &polygon(&[[0.5, 0.5], [1.5, 0.5], [1.5, 0.5 + thin]]));
        meshes(2.0, &polygon(&[[0.5, 0.4], [0.9, 0.5], [1.3, 0.4], [1.3, 0.6], [0.9, 0.5 + thin], [0.5, 0.6]]));
        // a slit of the fluid
        let slit = [[0.5, 0.4], [1.0, 0.4], [1.0, 0.7], [1.0 + thin, 0.4], [1.5, 0.4], [1.5, 0.8], [0.5, 0.8]];
        meshes(2.0, &polygon(&slit));
    }
}

#[test]
fn many_obstacles() {
    let mut text = String::new();
    for k in 0..200 {
        text += &post(0.08 + 0.09 * f64::from(k % 20), 0.06 + 0.09 * f64::from(k / 20), 0.05);
    }
    assert!(meshes(2.0, &text));
}

/// 10^5 points on a circle, on one with a thousand waves, and at random by a thousandth of the radius, which asks for more triangles
/// than there may be.
#[test]
fn many_points() {
    let mut state = 7u64;
    let mut random = || {
        state = state.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407);
        (state >> 40) as f64 / (1u64 << 24) as f64
    };
    // 1e-3 of noise on sides of 1.3e-5 folds them into passages of nanometres
    for (rough, waves, is_meshed) in [(0.0, true, true), (1e-3, true, true), (1e-3, false, false)] {
        let mut points = String::new();
        for k in 0..100_000 {
            let t = 2.0 * PI * f64::from(k) / 1e5;
            let r = 0.2 * (1.0 + rough * if waves { (1000.0 * t).sin() } else { random() });
            let _ = write!(points, "[{:?}, {:?}], ", 1.0 + r * t.cos(), 0.5 + r * t.sin());
        }
        assert_eq!(meshes(2.0, &format!("[[obstacle]]\npolygon = {{ points = [{points}] }}\n")), is_meshed);
    }
}

/// Passages that would take 10^10 triangles, and a tenth of the allowed.
#[test]
fn combs() {
    let comb = |teeth: u32| {
        let tooth = |k: u32| {
            let [a, b] = [0.0, 0.5].map(|side| 0.6 + 0.8 * (f64::from(k) + side) / f64::from(teeth));
            format!("[{a:?}, 0.4], [{a:?}, 0.8], [{b:?}, 0.8], [{b:?}, 0.4], ")
        };
        let teeth: String = (0..teeth).map(tooth).collect();
        format!("[[obstacle]]\npolygon = {{ points = [[0.6, 0.3], {teeth}[1.4, 0.3]] }}\n")
    };
    assert!(!meshes(2.0, &comb(25_000)));
    assert!(!meshes(2.0, &comb(2500)));
    assert!(meshes(2.0, &comb(50)));
}

#[test]
fn large_and_small_cells() {
    for scale in [1e-6, 1e-3, 1e3, 1e6] {
        let two = post(0.8 * scale, 0.5 * scale, 0.2 * scale) + &post(1.2 * scale, 0.6 * scale, 0.3 * scale);
        // the case may refuse the size, at its line; what it takes must mesh
        meshes(2.0 * scale, &two);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, failure_persistence: None, ..ProptestConfig::default() })]

    /// Stars with random rays: corners of every angle, crossings, points outside.
    #[test]
    fn stars(rays in prop::collection::vec(0.001..0.6f64, 3..40), turn in 0.0..6.0f64, shift in -0.1..0.1f64) {
        let n = rays.len() as f64;
        let points: Vec<[f64; 2]> = rays
            .iter()
            .enumerate()
            .map(|(k, r)| {
                let t = turn + 2.0 * PI * (k as f64) / n;
                [1.0 + r * t.cos(), 0.5 + shift + r * t.sin()]
            })
            .collect();
        meshes(2.0, &polygon(&points));
    }
}
