//! Which of the closed outlines of a file are wanted.

use super::about::About;
use super::drawn::{Found, MOST_FOUND};
use super::names::Names;
use super::stroke::{Stroke, size_of};
use crate::base::Point;
use crate::base::error::Problems;
use crate::base::plane::Rect;
use crate::base::text::shortened;
use crate::geometry::boxes::Boxes;
use crate::geometry::measure::enclosed;
use crate::geometry::span::{Extent, crossings, spans};
use std::collections::BTreeSet;

/// Areas below this fraction of the square of the size are none.
const NO_AREA: f64 = 1e-12;

/// Most names listed in a message.
const MOST_NAMES: usize = 10;

/// The strokes the keys `id` and `layer` ask for.
///
/// # Errors
/// None, with the names that are there.
pub(super) fn wanted(mut strokes: Vec<Stroke>, about: &About<'_>) -> Result<Vec<Stroke>, Problems> {
    let keys = [("id", &about.options.id), ("layer", &about.options.layer)];
    for (index, (key, chosen)) in keys.into_iter().enumerate() {
        let Some(chosen) = chosen else { continue };
        let names = |stroke: &Stroke| if index == 0 { stroke.ids.clone() } else { stroke.layers.clone() };
        let of_strokes: Vec<Names> = strokes.iter().map(names).collect();
        let known = Names::of_all(of_strokes.iter());
        if !known.contains(&**chosen) {
            let there = if known.is_empty() {
                format!("there is no {key} in the file; leave the key out")
            } else {
                let more = if known.len() > MOST_NAMES {
                    format!(" and {} more", known.len() - MOST_NAMES)
                } else {
                    String::new()
                };
                let first: Vec<String> = known.iter().take(MOST_NAMES).map(|name| shortened(name)).collect();
                format!("there are: {}{more}", first.join(", "))
            };
            return Err(Problems::one(about.file, format!("no outline has the {key} \"{chosen}\""), &there));
        }
        strokes.retain(|stroke| names(stroke).contains(chosen));
    }
    Ok(strokes)
}

/// A closed outline with what is asked about it.
struct Candidate {
    stroke: Stroke,
    area: f64,
    rect: Rect,
}

impl Candidate {
    fn new(stroke: Stroke) -> Option<Self> {
        let rect = Extent::whole(&stroke.curves)?.rect();
        let area = enclosed(&stroke.curves).abs();
        Some(Candidate { stroke, area, rect })
    }

    /// Whether the middle of the first curve of `other` lies inside.
    fn holds(&self, other: &Candidate) -> bool {
        let Some(first) = other.stroke.curves.first().filter(|_| self.rect.holds(&other.rect)) else { return false };
        let at = first.point(0.5);
        let turns = |curve| -> i32 { spans(curve, 0.0, 1.0).iter().map(|span| crossings(at, curve, span, 50)).sum() };
        self.stroke.curves.iter().map(turns).sum::<i32>() != 0
    }
}

/// The largest outline, or with `every` all that do not stand inside another, in the order of the file; and all that were found.
///
/// # Errors
/// No outline with an area, or too many.
pub(super) fn choose(
    strokes: Vec<Stroke>,
    about: &About<'_>,
    notes: &mut Vec<String>,
) -> Result<(Vec<Stroke>, Vec<Found>), Problems> {
    let found = strokes.len();
    if found > MOST_FOUND {
        let message = format!("the file has {found} closed outlines, more than the {MOST_FOUND} that are taken");
        return Err(Problems::one(about.file, message, "keep the outline only, or choose by id or layer"));
    }
    let corners = strokes.first().map_or(0, distinct);
    let size = size_of(strokes.iter().flat_map(|stroke| &stroke.curves));
    let area = strokes.iter().map(|stroke| enclosed(&stroke.curves).abs()).fold(0.0, f64::max);
    let mut candidates: Vec<Candidate> = strokes.into_iter().filter_map(Candidate::new).collect();
    candidates.retain(|c| c.area > NO_AREA * size_of(&c.stroke.curves).powi(2));
    if candidates.len() < found && !candidates.is_empty() {
        notes.push(format!("left out: {} outlines without area", found - candidates.len()));
    }
    if candidates.is_empty() {
        let message = match found {
            0 => "the file has no closed outline".to_owned(),
            1 if corners < 3 => format!("an outline needs three distinct points, found {corners}"),
            _ => format!("the outline encloses no area ({area:.3e} on an extent of {size:.3e}, in the file's units)"),
        };
        return Err(Problems::one(about.file, message, "the outline must go round the obstacle once"));
    }
    let order: Vec<usize> = by_area(&candidates);
    let largest = order[0];
    let chosen: BTreeSet<usize> =
        if about.options.every { outermost(&candidates, &order).into_iter().collect() } else { [largest].into() };
    let (mut holes, mut others) = (0, Vec::new());
    for (k, candidate) in candidates.iter().enumerate() {
        if chosen.contains(&k) {
        } else if chosen.iter().any(|c| candidates[*c].holds(candidate)) {
            holes += 1;
        } else {
            others.push(name(candidate, k));
        }
    }
    if holes > 0 {
        let (what, verb) = if holes == 1 { ("hole", "is") } else { ("holes", "are") };
        notes.push(format!("{holes} {what} inside the outline {verb} filled: no fluid reaches there"));
    }
    if !others.is_empty() {
        let count = others.len();
        let taken = name(&candidates[largest], largest);
        others.truncate(MOST_NAMES);
        notes.push(format!(
            "of {} outlines the largest, {taken}, is taken; left out: {}{}; choose by id or layer, or take all with every = true",
            count + 1,
            others.join(", "),
            if count > MOST_NAMES { ", .." } else { "" }
        ));
    }
    let list = list(&candidates, &order, &chosen);
    let taken = candidates.into_iter().enumerate().filter(|(k, _)| chosen.contains(k));
    Ok((taken.map(|(_, candidate)| candidate.stroke).collect(), list))
}

/// Every outline by falling area, with what stands directly inside it.
fn list(candidates: &[Candidate], order: &[usize], chosen: &BTreeSet<usize>) -> Vec<Found> {
    let mut around: Vec<Option<usize>> = vec![None; candidates.len()];
    Boxes::new(candidates.iter().map(|candidate| candidate.rect)).pairs(|i, j| {
        let (outer, inner) = if candidates[i].area >= candidates[j].area { (i, j) } else { (j, i) };
        let is_nearer = around[inner].is_none_or(|known| candidates[outer].area < candidates[known].area);
        if is_nearer && candidates[outer].holds(&candidates[inner]) {
            around[inner] = Some(outer);
        }
        true
    });
    let mut holes = vec![0; candidates.len()];
    around.iter().flatten().for_each(|outer| holes[*outer] += 1);
    let found = |&k: &usize| Found {
        name: if candidates[k].stroke.name.is_empty() {
            format!("{}", k + 1)
        } else {
            candidates[k].stroke.name.clone()
        },
        layer: candidates[k].stroke.layers.innermost(),
        bounds: [candidates[k].rect.low, candidates[k].rect.high],
        holes: holes[k],
        is_taken: chosen.contains(&k),
    };
    order.iter().map(found).collect()
}

fn name(candidate: &Candidate, index: usize) -> String {
    let name = &candidate.stroke.name;
    if name.is_empty() { format!("number {}", index + 1) } else { format!("\"{name}\"") }
}

/// Indices by falling area, equal ones in their order.
fn by_area(candidates: &[Candidate]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..candidates.len()).collect();
    order.sort_by(|&a, &b| candidates[b].area.total_cmp(&candidates[a].area).then(a.cmp(&b)));
    order
}

/// Those that stand in no other.
fn outermost(candidates: &[Candidate], order: &[usize]) -> Vec<usize> {
    let mut outer: Vec<usize> = Vec::new();
    for &k in order {
        if !outer.iter().any(|o| candidates[*o].holds(&candidates[k])) {
            outer.push(k);
        }
    }
    outer
}

/// Distinct starts of curves, counted up to three.
fn distinct(stroke: &Stroke) -> usize {
    if stroke.curves.iter().any(|curve| !curve.is_straight()) {
        return 3;
    }
    let mut known: Vec<Point> = Vec::new();
    for curve in &stroke.curves {
        let p = curve.point(0.0);
        if !known.contains(&p) {
            known.push(p);
        }
        if known.len() == 3 {
            break;
        }
    }
    known.len()
}
