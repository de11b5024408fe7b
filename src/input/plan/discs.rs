//! What is round and stands free in the fluid: a port in a plate, bubbles that drift.

use crate::base::Point;
use crate::base::plane::distance;
use crate::base::units::Dimension;
use crate::geometry::Plan;
use crate::input::case::{Case, FillFrom};
use std::ops::Range;

/// Gaps that a bubble is wide at least to be a disc between the plates.
const DISC: f64 = 3.0;

/// A disc of the case.
pub(super) struct Disc<'a> {
    /// What messages call it.
    pub name: String,
    pub centre: Point,
    diameter: f64,
    pub place: &'a Range<usize>,
}

/// The port of the filling, if there is one, then the free bubbles.
pub(super) fn discs(case: &Case) -> Vec<Disc<'_>> {
    let port = match &case.filling.from {
        FillFrom::Inlet => None,
        FillFrom::Port { at, diameter, place } => {
            Some(Disc { name: "the port".into(), centre: *at, diameter: *diameter, place })
        }
    };
    let bubbles = case.bubbles.iter().map(|bubble| Disc {
        name: format!("the bubble \"{}\"", bubble.name),
        centre: bubble.centre,
        diameter: bubble.diameter,
        place: &bubble.place,
    });
    port.into_iter().chain(bubbles).collect()
}

/// A mistake: its place in the case file, what is wrong, and the remedy.
pub(super) type Mistake = (Range<usize>, String, String);

/// Mistakes of discs in a plan: discs stand clear of walls, ends and obstacles, bubbles clear of one another, and every bubble is wider than
/// three gaps. Of discs whose centre is outside the fluid was told before.
pub(super) fn mistakes(case: &Case, plan: &Plan) -> Vec<Mistake> {
    let show = |x| Dimension::Length.show(x);
    let discs = discs(case);
    let mut found: Vec<Mistake> = Vec::new();
    for disc in &discs {
        if plan.contains(disc.centre) && !plan.is_clear(disc.centre, 0.5 * disc.diameter) {
            let (size, at) = (show(disc.diameter), case.cell.unit.place(disc.centre));
            let message = format!("{} of {size} at {at} touches an edge of the fluid", disc.name);
            let remedy = "move it away from walls, ends and obstacles, or make it smaller";
            found.push((disc.place.clone(), message, remedy.into()));
        }
    }
    let bubbles = &discs[discs.len() - case.bubbles.len()..];
    for (k, bubble) in bubbles.iter().enumerate() {
        let gap = case.cell.gap.at(bubble.centre);
        if bubble.diameter < DISC * gap {
            let (size, less) = (show(bubble.diameter), if bubble.diameter < gap { "" } else { "three times " });
            let message = format!("{} of {size} is smaller than {less}the gap of {}", bubble.name, show(gap));
            let remedy =
                "so small a bubble is no disc between the plates: leave it out, or take it as a tracer (twinplate rig)";
            found.push((bubble.place.clone(), message, remedy.into()));
        }
        for other in &bubbles[..k] {
            if distance(bubble.centre, other.centre) <= 0.5 * (bubble.diameter + other.diameter) {
                let message = format!("{} and {} touch or overlap", other.name, bubble.name);
                found.push((bubble.place.clone(), message, "move them apart, or make one bubble of the two".into()));
            }
        }
    }
    found
}
