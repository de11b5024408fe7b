//! From the shape an obstacle has in the case to a closed chain of curves.

use super::number::{Fault, finite, positive};
use super::placing::{pixel_note, placed_loops};
use crate::base::Point;
use crate::base::error::Problems;
use crate::base::plane::stepped;
use crate::geometry::measure::enclosed;
use crate::geometry::span::Extent;
use crate::geometry::{ChordPart, Curve, FourDigitSurface, JoukowskiMap, Surface, Wall, periodic_spline};
use crate::input::case::{InputFile, Obstacle, Shape};
use crate::input::drawing::affine::Affine;
use crate::input::drawing::{MOST_CURVES, read_drawing};
use std::f64::consts::{FRAC_PI_2, PI};
use std::path::{Path, PathBuf};

/// A closed outline, counter-clockwise.
#[derive(Debug, Clone, PartialEq)]
pub struct Outline {
    /// The obstacle's name.
    pub name: String,
    /// Its curves in order, end to start.
    pub curves: Vec<Curve>,
    /// The side wall it may touch.
    pub on_wall: Option<Wall>,
    /// What was repaired, chosen and left out of its file; of several from one file the first has it.
    pub notes: Vec<String>,
    /// The file it was read from; of several from one file the first has it.
    pub input: Option<InputFile>,
}

impl Outline {
    /// The outline of an obstacle; several only of a file of which `every` outline is asked for.
    ///
    /// A teardrop of length L and diameter D is x = L s^2, y = (3 sqrt 3/4) D s (1 - s^2), s from -1 to 1: thickest at L/3, nose
    /// radius 27 D^2/(32 L), half the tail's angle atan(3 sqrt 3 D/(4 L)).
    ///
    /// `case_file` is the file mistakes are reported in; outline files are looked for in its folder.
    ///
    /// # Errors
    /// Numbers that make no shape, and unreadable outline files.
    pub fn of(obstacle: &Obstacle, case_file: &Path) -> Result<Vec<Self>, Problems> {
        Outline::within(obstacle, case_file, None)
    }

    /// The same; length and width of its cell tell which unit a file without one is likely in.
    pub(super) fn within(obstacle: &Obstacle, case_file: &Path, cell: Option<[f64; 2]>) -> Result<Vec<Self>, Problems> {
        let fail = |(message, remedy): Fault| {
            let mut problems = Problems::default();
            let message = format!("\"{}\": {message}", obstacle.name);
            problems.add(case_file, Some(obstacle.place.clone()), message, &remedy);
            problems
        };
        let Shape::OutlineFile { file, placing, reading } = &obstacle.shape else {
            let curves = curves(&obstacle.shape).map_err(fail)?;
            let (name, on_wall) = (obstacle.name.clone(), obstacle.on_wall);
            return Ok(vec![Outline { name, curves, on_wall, notes: vec![], input: None }]);
        };
        let path: PathBuf = case_file.parent().unwrap_or(Path::new("")).join(file);
        let drawing = read_drawing(&path, reading).map_err(|problems| placed(problems, obstacle, case_file, &path))?;
        let loops = placed_loops(&drawing, *placing, cell).map_err(fail)?;
        let many = reading.every && loops.len() > 1;
        let mut outlines: Vec<Outline> = loops
            .into_iter()
            .zip(&drawing.loops)
            .map(|(curves, l)| Outline {
                name: if many { format!("{} {}", obstacle.name, l.name) } else { obstacle.name.clone() },
                curves,
                on_wall: obstacle.on_wall,
                notes: vec![],
                input: None,
            })
            .collect();
        if let Some(first) = outlines.first_mut() {
            let unit = pixel_note(&drawing, &first.curves, file);
            first.input = Some(InputFile { file: file.clone(), sha256: drawing.sha256.clone() });
            first.notes = drawing
                .notes
                .iter()
                .chain(&unit)
                .map(|note| format!("\"{}\": {}: {note}", obstacle.name, file.display()))
                .collect();
        }
        Ok(outlines)
    }
}

/// A file that cannot be read at all is a mistake of the case, which names it.
fn placed(mut problems: Problems, obstacle: &Obstacle, case_file: &Path, file: &Path) -> Problems {
    for problem in problems.list.iter_mut().filter(|problem| problem.span.is_none()) {
        problem.file = case_file.to_owned();
        problem.span = Some(obstacle.place.clone());
        problem.message = format!("\"{}\": {}: {}", obstacle.name, file.display(), problem.message);
    }
    problems
}

fn curves(shape: &Shape) -> Result<Vec<Curve>, Fault> {
    match shape {
        Shape::Circle { centre, diameter } => {
            positive("diameter", *diameter)?;
            finite(&[centre[0], centre[1]])?;
            Ok(ellipse(*centre, [0.5 * diameter; 2], 0.0))
        }
        Shape::Ellipse { centre, semi_axes, angle } => {
            positive("first semi-axis", semi_axes[0])?;
            positive("second semi-axis", semi_axes[1])?;
            finite(&[centre[0], centre[1], *angle])?;
            Ok(ellipse(*centre, *semi_axes, *angle))
        }
        Shape::Polygon { points } => joined(points, false),
        Shape::RegularPolygon { sides, centre, width, angle } => {
            positive("width", *width)?;
            finite(&[centre[0], centre[1], *angle])?;
            if !(3..=1000).contains(sides) {
                return Err((
                    format!("a polygon of {sides} sides is none that is drawn"),
                    "give 3 to 1000 sides".into(),
                ));
            }
            joined(&regular(*sides, *centre, *width, *angle), false)
        }
        Shape::OutlinePoints { points, smooth } => joined(points, *smooth),
        Shape::OutlineFile { .. } => Err(("the outline's points are in a file".into(), "read the file first".into())),
        Shape::FourDigit { camber, camber_place, thickness, chord, nose, angle, closed_tail } => {
            positive("chord", *chord)?;
            positive("thickness", *thickness)?;
            finite(&[*camber, *camber_place, nose[0], nose[1], *angle])?;
            if *camber != 0.0 && !(*camber_place > 0.0 && *camber_place < 1.0) {
                return Err((
                    format!("the place of largest camber, {camber_place} of the chord, is not between nose and tail"),
                    "give a second digit from 1 to 9, or no camber".into(),
                ));
            }
            let (sin, cos) = angle.sin_cos();
            let surface = FourDigitSurface {
                camber: *camber,
                camber_place: *camber_place,
                thickness: *thickness,
                closed_tail: *closed_tail,
                surface: Surface::Upper,
                part: ChordPart::Fore,
                nose: *nose,
                chord: [chord * cos, chord * sin],
            };
            Ok(surface.section())
        }
        Shape::Joukowski { chord, thickness, camber, nose, angle } => {
            positive("chord", *chord)?;
            positive("thickness", *thickness)?;
            finite(&[*camber, nose[0], nose[1], *angle])?;
            let out_of_reach = || {
                (
                    format!("no Joukowski section has thickness {thickness} and camber {camber} of its chord"),
                    "choose a thickness below 0.6 and a camber within 0.3 either way".into(),
                )
            };
            if *thickness > 0.9 || camber.abs() > 0.5 {
                return Err(out_of_reach());
            }
            let map = JoukowskiMap::section(*chord, *thickness, *camber, *nose, *angle).ok_or_else(out_of_reach)?;
            Ok(map.curves())
        }
        Shape::Teardrop { length, diameter, nose, angle } => {
            positive("length", *length)?;
            positive("diameter", *diameter)?;
            finite(&[nose[0], nose[1], *angle])?;
            Ok(teardrop(*length, *diameter, *nose, *angle))
        }
    }
}

fn ellipse(centre: Point, semi_axes: [f64; 2], rotation: f64) -> Vec<Curve> {
    let quarter = |k: f64| Curve::Arc { centre, semi_axes, rotation, start: k * FRAC_PI_2, end: (k + 1.0) * FRAC_PI_2 };
    [0.0, 1.0, 2.0, 3.0].map(quarter).to_vec()
}

fn teardrop(length: f64, diameter: f64, nose: Point, angle: f64) -> Vec<Curve> {
    let (sin, cos) = angle.sin_cos();
    let turned = |v: [f64; 2]| [cos * v[0] + sin * v[1], cos * v[1] - sin * v[0]];
    let k = 0.75 * 3f64.sqrt() * diameter;
    // x = L s^2, y = k (s - s^3); s = 1 - t on the upper surface, s = -t on the lower.
    let upper = [[length, 0.0], [-2.0 * length, 2.0 * k], [length, -3.0 * k], [0.0, k]];
    let lower = [[0.0, 0.0], [0.0, -k], [length, 0.0], [0.0, k]];
    [upper, lower]
        .map(|local| {
            let mut coefficients = local.map(turned);
            coefficients[0] = stepped(nose, 1.0, coefficients[0]);
            Curve::Cubic { coefficients }
        })
        .to_vec()
}

/// Curves through points, counter-clockwise.
fn joined(points: &[Point], smooth: bool) -> Result<Vec<Curve>, Fault> {
    if points.len() > MOST_CURVES + 1 {
        return Err((
            format!("{} points are more than the {MOST_CURVES} allowed", points.len()),
            "thin them out".into(),
        ));
    }
    finite(points.as_flattened())?;
    let mut points = distinct(points);
    if count_distinct(&points) < 3 {
        return Err((
            format!("an outline needs three distinct points, found {}", count_distinct(&points)),
            "give the corners in order, each once".into(),
        ));
    }
    let chain = |points: &[Point]| {
        if smooth {
            return periodic_spline(points);
        }
        let next = points.iter().skip(1).chain(points.first());
        points.iter().zip(next).map(|(&from, &to)| Curve::Line { from, to }).collect()
    };
    let curves: Vec<Curve> = chain(&points);
    let area = enclosed(&curves);
    let size = Extent::whole(&curves).map_or(0.0, |extent| extent.rect().diagonal());
    if area > 1e-12 * size * size {
        return Ok(curves);
    }
    if -area > 1e-12 * size * size {
        points.reverse();
        return Ok(chain(&points));
    }
    Err((
        format!("the outline encloses no area ({:.3e} mm2 on an extent of {:.4} mm)", 1e6 * area.abs(), 1e3 * size),
        "check the order of the points: they must go round the obstacle once".into(),
    ))
}

/// Drops neighbours that repeat a point, and a closing point that repeats the first.
fn distinct(points: &[Point]) -> Vec<Point> {
    let mut kept = points.to_vec();
    kept.dedup();
    while kept.len() > 1 && kept.first() == kept.last() {
        kept.pop();
    }
    kept
}

/// Distinct points, counted up to three.
fn count_distinct(points: &[Point]) -> usize {
    let Some(first) = points.first() else { return 0 };
    let Some(second) = points.iter().find(|p| *p != first) else { return 1 };
    2 + usize::from(points.iter().any(|p| p != first && p != second))
}

/// Corners on a circle about the centre, one side below and along x, turned.
///
/// With n sides and the circle's radius r the corners stand at -pi/2 - pi/n + 2 pi k/n; their extent along x is 2 r max |cos|, which is the
/// width.
fn regular(sides: usize, centre: Point, width: f64, angle: f64) -> Vec<Point> {
    let n = sides as f64;
    let at = |k: usize| -0.5 * PI - PI / n + 2.0 * PI * k as f64 / n;
    let half = (0..sides).map(|k| at(k).cos().abs()).fold(0.0, f64::max);
    let radius = 0.5 * width / half;
    let turn = Affine::turn(angle.rem_euclid(2.0 * PI));
    (0..sides).map(|k| stepped(centre, radius, turn.vector([at(k).cos(), at(k).sin()]))).collect()
}
