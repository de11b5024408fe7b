//! Contributions measured together.

use super::contribution::{Contribution, Effect, Part, View, total_of};
use super::measure::{Measures, Reference};
use super::scale::Scale;
use crate::base::plane;

/// Which way a departure ΔV is gone from the reference pattern V.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Way {
    /// From V to V + ΔV: what an effect makes of the pattern.
    Forth,
    /// From V to V − ΔV: the pattern as it would be without the effect. A bubble is large beside what it changes: its own change is then exact, for
    /// V is the pattern with the bubble. The small changes by other effects are the same both ways.
    Back,
}

impl Way {
    /// Back with a bubble, else forth.
    pub fn of<'a>(contributions: impl IntoIterator<Item = &'a Contribution>) -> Way {
        let is_bubble = |contribution: &Contribution| contribution.effect == Effect::Bubble;
        if contributions.into_iter().any(is_bubble) { Way::Back } else { Way::Forth }
    }

    /// Change of the speed, m/s: |V + ΔV| − |V|, or back |V| − |V − ΔV|.
    pub fn speed_change(self, velocity: [f64; 2], departure: [f64; 2]) -> f64 {
        let other = |sign: f64| plane::length(plane::stepped(velocity, sign, departure));
        match self {
            Way::Forth => other(1.0) - plane::length(velocity),
            Way::Back => plane::length(velocity) - other(-1.0),
        }
    }
}

impl Reference<'_> {
    /// Measures contributions together at a scale, the way that suits them.
    pub fn measure_together<'a>(
        &self,
        contributions: impl IntoIterator<Item = &'a Contribution>,
        scale: Scale,
        view: View,
    ) -> Measures {
        self.measure_some(contributions, scale, view, |_| true)
    }

    /// The same of some of their parts.
    pub(super) fn measure_some<'a>(
        &self,
        contributions: impl IntoIterator<Item = &'a Contribution>,
        scale: Scale,
        view: View,
        counts: impl Fn(&Part) -> bool,
    ) -> Measures {
        let all: Vec<&Contribution> = contributions.into_iter().collect();
        let sum = total_of(all.iter().copied(), self.velocity.len(), scale, view, counts);
        self.measure_way(&sum, Way::of(all))
    }

    /// Measures a departure given at the vertices, m/s, gone one way or the other.
    pub fn measure_way(&self, departure: &[[f64; 2]], way: Way) -> Measures {
        match way {
            Way::Forth => self.measure(departure),
            Way::Back => self.measure(&departure.iter().map(|d| d.map(|x| -x)).collect::<Vec<_>>()),
        }
    }
}
