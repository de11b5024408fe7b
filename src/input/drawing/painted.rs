//! Outlines as they are painted: open ones closed, those of one element that cross one another united.

use super::stroke::{Painted, Stroke};
use crate::geometry::Curve;
use crate::geometry::meet::{Body, Spans};
use crate::geometry::unite::united;
use std::collections::BTreeMap;

/// Closes the open lines whose insides are painted; those that are left.
pub(super) fn close_painted(open: Vec<Stroke>, closed: &mut Vec<Stroke>, notes: &mut Vec<String>) -> Vec<Stroke> {
    let (painted, open): (Vec<Stroke>, Vec<Stroke>) = open.into_iter().partition(goes_round);
    if !painted.is_empty() {
        let count = painted.len();
        let (what, verb) = if count == 1 { ("line whose inside is", "is") } else { ("lines whose insides are", "are") };
        notes.push(format!("{count} open {what} painted {verb} closed by a straight line, as painted"));
        closed.extend(painted.into_iter().filter_map(closed_straight));
    }
    open
}

/// Unites the outlines of each painted element that cross or touch themselves or one another: what a picture of the drawing shows. All
/// others stay as they are.
pub(super) fn unite_painted(closed: Vec<Stroke>, notes: &mut Vec<String>) -> Vec<Stroke> {
    let mut elements: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (k, stroke) in closed.iter().enumerate() {
        if stroke.painted == Painted::Inside {
            elements.entry(stroke.element).or_default().push(k);
        }
    }
    let mut replaced: BTreeMap<usize, Vec<Stroke>> = BTreeMap::new();
    for own in elements.into_values() {
        let outlines: Vec<&[Curve]> = own.iter().map(|k| closed[*k].curves.as_slice()).collect();
        let spans = Spans::new(outlines.iter().map(|outline| Body::whole(outline)).collect());
        if spans.meetings(0.0).map_or(true, |met| met.is_empty()) {
            continue;
        }
        let Some(found) = united(&outlines) else { continue };
        let first = &closed[own[0]];
        let called = if first.name.is_empty() { "of an element".to_owned() } else { format!("of \"{}\"", first.name) };
        notes.push(format!(
            "outlines {called} that cross are united, as painted: {} of {} left",
            found.len(),
            own.len()
        ));
        let stroke = |curves: Vec<Curve>| Stroke {
            places: first.places.first().map_or_else(Vec::new, |place| vec![place.clone(); curves.len()]),
            curves,
            ..first.clone()
        };
        replaced.insert(own[0], found.into_iter().map(stroke).collect());
        own[1..].iter().for_each(|k| drop(replaced.insert(*k, Vec::new())));
    }
    closed.into_iter().enumerate().flat_map(|(k, stroke)| replaced.remove(&k).unwrap_or_else(|| vec![stroke])).collect()
}

/// Whether a line is painted inside and has one.
fn goes_round(stroke: &Stroke) -> bool {
    stroke.painted == Painted::Inside && (stroke.curves.len() > 1 || stroke.curves.iter().any(|c| !c.is_straight()))
}

/// A line closed from its end to its start.
fn closed_straight(mut stroke: Stroke) -> Option<Stroke> {
    let [start, end] = stroke.ends()?;
    stroke.curves.push(Curve::Line { from: end, to: start });
    stroke.places.extend(stroke.places.last().cloned());
    stroke.closed = true;
    Some(stroke)
}
