//! Calibration marks of a plate: crosses or dots at known places of the cell, by which a photograph is measured.

use crate::base::error::Usage;
use crate::base::plane::{Rect, Segment, cross, distance, way};
use crate::base::{Error, Point, Result};
use crate::geometry::Plan;
use std::fmt::Write as _;

/// Layer of what is engraved.
pub const ENGRAVING: &str = "engraving";

/// Fewest and most marks: with fewer no map can be found, and more are hardly better.
pub const MARK_COUNTS: [usize; 2] = [4, 12];
/// Marks where no number is asked for.
pub const USUAL_MARKS: usize = 8;

/// Distance of the middle of a mark from walls, obstacles and ends, mark sizes: its own half and one free.
const CLEAR: f64 = 1.5;
/// Least distance of two marks, mark sizes.
const APART: f64 = 3.0;
/// Three of the first four marks span a triangle higher than this share of the extent: flatter ones count as three in a line.
const FLAT: f64 = 0.06;
/// Most places that are tried along either side of the cell.
const MOST_STEPS: f64 = 400.0;
/// Height of a letter, mark sizes: so small that nobody takes it for a mark.
const LETTER: f64 = 0.36;
/// Distance of a letter from the middle of its mark, mark sizes.
const BESIDE: f64 = 0.8;

/// What a mark looks like.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MarkShape {
    /// Two strokes as long as a mark is wide.
    Cross,
    /// A filled circle.
    Dot,
}

/// Which marks a plate gets.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MarkSettings {
    /// How many, four to twelve or none; where it is not said, eight, or as many from four on as there is room for.
    pub count: Option<usize>,
    /// Width of a cross, diameter of a dot, m.
    pub size: f64,
    /// What they look like.
    pub shape: MarkShape,
}

impl Default for MarkSettings {
    fn default() -> Self {
        MarkSettings { count: None, size: 0.007, shape: MarkShape::Cross }
    }
}

/// A mark.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    /// A small letter.
    pub name: char,
    /// Its place in the cell, x from the inlet along the flow and y from the lower side wall, mm.
    pub at: Point,
}

/// The marks of a plate.
#[derive(Debug, Clone, PartialEq)]
pub struct Marks {
    /// What they look like.
    pub shape: MarkShape,
    /// Width of a cross, diameter of a dot, mm.
    pub size: f64,
    /// The marks, whole millimetres; none where there is no room for four.
    pub list: Vec<Mark>,
    /// x of the middle of the cell, mm: letters stand on its side of a mark.
    middle: f64,
}

impl Marks {
    /// The marks of a cell in a box: in its corners, in the middles of its sides, then between these, or as near there as
    /// they stand clear of obstacles, walls and ends by a mark size and of each other by two.
    ///
    /// # Errors
    /// [`Error::Usage`] if more are asked for than there is room for.
    pub fn of(plan: &Plan, cell: Rect, settings: &MarkSettings) -> Result<Marks> {
        let most = settings.count.unwrap_or(USUAL_MARKS);
        let mut places = places(plan, cell, settings.size, most);
        if places.len() < most.min(MARK_COUNTS[0]) || (settings.count.is_some() && places.len() < most) {
            if settings.count.is_some() {
                let (size, found) = (settings.size, places.len());
                return Err(Error::Usage(Usage::FewPlaces { asked: most, found, size, cell: cell.size() }));
            }
            places.clear();
        }
        let list = places.into_iter().zip('a'..).map(|(at, name)| Mark { name, at }).collect();
        Ok(Marks { shape: settings.shape, size: rounded(1e3 * settings.size), list, middle: 1e3 * cell.middle()[0] })
    }

    /// The strokes of crosses, mm.
    pub fn crosses(&self) -> Vec<Segment> {
        let arm = 0.5 * self.size;
        let crosses = self.list.iter().filter(|_| self.shape == MarkShape::Cross);
        crosses
            .flat_map(|Mark { at: [x, y], .. }| [[[x - arm, *y], [x + arm, *y]], [[*x, y - arm], [*x, y + arm]]])
            .collect()
    }

    /// The strokes of letters, mm.
    pub fn letters(&self) -> Vec<Segment> {
        let mut strokes = Vec::new();
        for Mark { name, at: [x, y] } in &self.list {
            let unit = LETTER * self.size / 3.0;
            let left = if *x <= self.middle { x + BESIDE * self.size } else { x - BESIDE * self.size - 2.0 * unit };
            let place = |[u, v]: Point| [rounded(left + unit * u), rounded(y + unit * (v - 1.5))];
            for line in letter(*name) {
                strokes.extend(line.windows(2).map(|ends| [place(ends[0]), place(ends[1])]));
            }
        }
        strokes
    }

    /// The middles of dots, mm.
    pub fn dots(&self) -> impl Iterator<Item = Point> {
        self.list.iter().filter(|_| self.shape == MarkShape::Dot).map(|mark| mark.at)
    }

    /// What whoever engraves them should know.
    pub fn remarks(&self) -> Vec<String> {
        let size = self.size;
        let (Some(first), Some(last)) = (self.list.first(), self.list.last()) else {
            return vec![format!(
                "No calibration marks: the cell has no room for four of {size} mm that stand clear of walls and obstacles."
            )];
        };
        let shape = match self.shape {
            MarkShape::Cross => "crosses",
            MarkShape::Dot => "filled dots",
        };
        vec![
            format!(
                "Layer {ENGRAVING}: calibration marks {} to {}, {shape} of {size} mm, each with its letter; to be engraved into a plate, \
                 not cut, and not into the spacer.",
                first.name, last.name
            ),
            "They are drawn as the camera sees them: a face that is turned away from the camera is engraved mirrored. Dark paint rubbed \
             in makes them show."
                .to_owned(),
        ]
    }

    /// The places in one sentence; empty without marks.
    pub fn places(&self) -> String {
        let places: Vec<String> =
            self.list.iter().map(|Mark { name, at: [x, y] }| format!("{name} ({x}, {y})")).collect();
        match places.is_empty() {
            true => String::new(),
            false => {
                format!("Their middles, mm, x from the inlet and y from the lower side wall: {}.", places.join(", "))
            }
        }
    }

    /// What the case says of a photograph of them, to be completed by hand; `file` is where they are drawn.
    pub fn block(&self, file: &str) -> String {
        let mut text = format!(
            "# The calibration marks of {file}, for the case file. The pixels and what is said beside them are yours to fill in.\n\
             [photo]\n\
             file = \"evening.jpg\"          # your photograph\n\
             # Decide this yourself: \"inner face\" (towards the fluid) or \"outer face\" (towards the camera), whichever you engraved, of the\n\
             # plate that the picture is taken through. Nothing in the picture tells; the wrong one shifts places by about a millimetre.\n\
             marks_on = \"inner face\"\n\
             mark_size = \"{} mm\"\n",
            self.size
        );
        for (k, Mark { name, at: [x, y] }) in self.list.iter().enumerate() {
            let hint = match k {
                0 => {
                    "            # click at the mark in your photograph and write its pixel here, from the upper left corner"
                }
                _ => "",
            };
            let _ = write!(
                text,
                "\n[[photo.mark]]\nname = \"{name}\"\nat = [\"{x} mm\", \"{y} mm\"]\npixel = [0, 0]{hint}\n"
            );
        }
        text
    }
}

/// Without what arithmetic leaves behind a millionth of a millimetre.
fn rounded(x: f64) -> f64 {
    (1e6 * x).round() / 1e6
}

/// Up to so many places for marks, mm, the wanted ones first.
fn places(plan: &Plan, cell: Rect, size: f64, most: usize) -> Vec<Point> {
    let clear = CLEAR * size;
    // whole millimetres are easily measured
    let ends = [0, 1].map(|k| [(1e3 * (cell.low[k] + clear)).ceil(), (1e3 * (cell.high[k] - clear)).floor()]);
    if most == 0 || ends.iter().any(|[low, high]| low > high) {
        return Vec::new();
    }
    let [xs, ys] = ends.map(steps);
    let grid: Vec<Point> = ys.iter().flat_map(|&y| xs.iter().map(move |&x| [x, y])).collect();
    let extent = distance([ends[0][0], ends[1][0]], [ends[0][1], ends[1][1]]);
    let mut found: Vec<Point> = Vec::new();
    for (target, weights) in wanted(ends) {
        let off = |p: Point| {
            let [u, v] = [0, 1].map(|k| weights[k] * (p[k] - target[k]));
            u.hypot(v)
        };
        let mut order: Vec<(f64, Point)> = grid.iter().map(|&p| (off(p), p)).collect();
        order.sort_by(|a, b| a.0.total_cmp(&b.0));
        let fits = |p: Point| {
            found.iter().all(|&q| distance(p, q) >= APART * 1e3 * size)
                && (found.len() >= MARK_COUNTS[0] || !is_in_line(p, &found, FLAT * extent))
                // a hair less: whole millimetres may stand at this very distance
                && plan.is_clear([p[0] / 1e3, p[1] / 1e3], clear * (1.0 - 1e-9))
        };
        let best = order.into_iter().map(|(_, p)| p).find(|&p| fits(p));
        found.extend(best);
        if found.len() == most {
            break;
        }
    }
    found
}

/// Whole numbers from end to end, both of them, not too many.
fn steps([low, high]: [f64; 2]) -> Vec<f64> {
    let step = ((high - low) / MOST_STEPS).ceil().max(1.0);
    let count = ((high - low) / step).ceil() as usize;
    (0..count).map(|k| low + step * k as f64).chain([high]).collect()
}

/// Where marks are wanted, in this order, and how much a step along x and along y counts against a place: marks rather leave their
/// place along the border than away from it.
fn wanted(ends: [[f64; 2]; 2]) -> [(Point, [f64; 2]); MARK_COUNTS[1]] {
    let span = ends.map(|[low, high]| high - low);
    let long = usize::from(span[1] > span[0]);
    let corners = [[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]];
    let middles = [[0.5, 0.0], [0.5, 1.0], [0.0, 0.5], [1.0, 0.5]];
    let between = [[0.25, 0.0], [0.75, 1.0], [0.75, 0.0], [0.25, 1.0]];
    let all = [corners, middles, between];
    std::array::from_fn(|n| {
        // along the longer side and across it
        let share = all[n / 4][n % 4];
        let is_inner = share.map(|s: f64| s > 0.0 && s < 1.0);
        let weight = |k: usize| if is_inner[1 - k] { 2.0 } else { 1.0 };
        let turned = |k: usize| if long == 0 { k } else { 1 - k };
        let place = [0, 1].map(|k| (ends[k][0] + span[k] * share[turned(k)]).round());
        (place, [0, 1].map(|k| weight(turned(k))))
    })
}

/// Whether a place stands in a line with two others, the triangle of the three being no higher than a limit.
fn is_in_line(p: Point, others: &[Point], limit: f64) -> bool {
    let is_flat = |a: Point, b: Point| {
        let longest = distance(a, b).max(distance(b, p)).max(distance(p, a));
        cross(way(p, a), way(p, b)).abs() <= limit * longest
    };
    (0..others.len()).any(|i| (0..i).any(|j| is_flat(others[i], others[j])))
}

/// A letter in strokes, two wide and three high.
fn letter(name: char) -> Vec<Vec<Point>> {
    let lines: &[&[[f64; 2]]] = match name {
        'a' => &[&[[0.0, 3.0], [2.0, 3.0], [2.0, 0.0], [0.0, 0.0], [0.0, 1.5], [2.0, 1.5]]],
        'b' => &[&[[0.0, 3.0], [0.0, 0.0], [2.0, 0.0], [2.0, 1.5], [0.0, 1.5]]],
        'c' => &[&[[2.0, 3.0], [0.0, 3.0], [0.0, 0.0], [2.0, 0.0]]],
        'd' => &[&[[2.0, 3.0], [2.0, 0.0], [0.0, 0.0], [0.0, 1.5], [2.0, 1.5]]],
        'e' => &[&[[0.0, 1.5], [2.0, 1.5], [2.0, 3.0], [0.0, 3.0], [0.0, 0.0], [2.0, 0.0]]],
        'f' => &[&[[2.0, 3.0], [1.0, 3.0], [1.0, 0.0]], &[[0.0, 1.5], [2.0, 1.5]]],
        'g' => &[&[[2.0, 1.0], [0.0, 1.0], [0.0, 3.0], [2.0, 3.0], [2.0, 0.0], [0.0, 0.0]]],
        'h' => &[&[[0.0, 3.0], [0.0, 0.0]], &[[0.0, 1.5], [2.0, 1.5], [2.0, 0.0]]],
        'i' => &[&[[1.0, 1.8], [1.0, 0.0]], &[[1.0, 3.0], [1.0, 2.6]]],
        'j' => &[&[[1.5, 1.8], [1.5, 0.0], [0.2, 0.0]], &[[1.5, 3.0], [1.5, 2.6]]],
        'k' => &[&[[0.0, 3.0], [0.0, 0.0]], &[[2.0, 2.0], [0.0, 1.0], [2.0, 0.0]]],
        _ => &[&[[0.5, 3.0], [0.5, 0.0], [1.5, 0.0]]],
    };
    lines.iter().map(|line| line.to_vec()).collect()
}
