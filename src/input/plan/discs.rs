//! What is round and stands free in the fluid: a port in a plate, bubbles that drift.

use super::build::Builder;
use crate::base::Point;
use crate::base::plane::distance;
use crate::base::units::Dimension;
use crate::geometry::Plan;
use crate::input::case::{Case, FillFrom};
use std::ops::Range;

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

impl Builder<'_> {
    /// Discs stand clear of walls, ends and obstacles, bubbles clear of one another, and no bubble is smaller than the gap; of discs whose
    /// centre is outside the fluid was told before.
    pub fn check_discs(&mut self, plan: &Plan) {
        let case = self.case;
        let show = |x| Dimension::Length.show(x);
        let discs = discs(case);
        for disc in &discs {
            if plan.contains(disc.centre) && !plan.is_clear(disc.centre, 0.5 * disc.diameter) {
                let (size, at) = (show(disc.diameter), self.place(disc.centre));
                let message = format!("{} of {size} at {at} touches an edge of the fluid", disc.name);
                self.tell(disc, message, "move it away from walls, ends and obstacles, or make it smaller");
            }
        }
        let bubbles = &discs[discs.len() - case.bubbles.len()..];
        for (k, bubble) in bubbles.iter().enumerate() {
            let gap = case.cell.gap.at(bubble.centre);
            if bubble.diameter < gap {
                let (size, gap) = (show(bubble.diameter), show(gap));
                let message = format!("{} of {size} is smaller than the gap of {gap}", bubble.name);
                let remedy = "so small a bubble is a sphere between the plates: leave it out, or take it as a tracer (twinplate rig)";
                self.tell(bubble, message, remedy);
            }
            for other in &bubbles[..k] {
                if distance(bubble.centre, other.centre) <= 0.5 * (bubble.diameter + other.diameter) {
                    let message = format!("{} and {} touch or overlap", other.name, bubble.name);
                    self.tell(bubble, message, "move them apart, or make one bubble of the two");
                }
            }
        }
    }

    fn tell(&mut self, disc: &Disc<'_>, message: String, remedy: &str) {
        self.problems.add(&self.case.file, Some(disc.place.clone()), message, remedy);
    }
}
