//! Bubbles that the model of a held one hardly holds for.

use crate::base::units::Dimension;
use crate::base::warning::{Code, Warning};
use crate::theory::bubbles::Held;

/// Least diameter, gaps: below, the rim bends over its own width and the fluid beside it is no longer that of a thin gap.
pub(super) const LEAST: f64 = 3.0;

/// What is amiss with a bubble in a gap, m, at a mean speed, m/s.
pub(super) fn amiss(bubble: &Held, gap: f64, mean_speed: f64) -> Vec<Warning> {
    let mut list = Vec::new();
    let diameter = 2.0 * bubble.radius;
    if diameter < LEAST * gap {
        let [diameter, gap] = [diameter, gap].map(|x| Dimension::Length.show_to(x, 3));
        let matter = format!("the bubble \"{}\" is {diameter} across, less than {LEAST} gaps of {gap}", bubble.name);
        let remedy = "take what it changes as a sign, not a measure";
        list.push(Warning::new(Code::SmallBubble, matter, remedy).at(bubble.middle).value(2.0 * bubble.radius));
    }
    let stays = bubble.behind.as_ref().map_or(bubble.travel_speed, |(_, speed)| *speed);
    if mean_speed.abs() > stays {
        let [speed, stays] = [mean_speed.abs(), stays].map(|x| Dimension::Speed.show_to(x, 3));
        let matter = format!("the bubble \"{}\" travels from {stays} on, and the flow has {speed}", bubble.name);
        let remedy = "it will not stay where the case has it: leave it out, or look at the contact angles of [rig]";
        list.push(Warning::new(Code::BubbleTravels, matter, remedy).at(bubble.middle).value(mean_speed));
    }
    list
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Rim;

    /// On both sides of three gaps and of the speed; behind a post the higher one counts.
    #[test]
    fn small_and_loose_bubbles_are_told_of() {
        let bubble = |radius: f64, behind: Option<f64>| Held {
            name: "b".into(),
            rim: Rim::Free,
            middle: [0.1, 0.05],
            radius,
            slip_speed: 4e-3,
            travel_speed: 5e-3,
            tilt: None,
            behind: behind.map(|speed| ("post".to_owned(), speed)),
        };
        let codes =
            |bubble: &Held, speed: f64| amiss(bubble, 1e-3, speed).into_iter().map(|w| w.code).collect::<Vec<_>>();
        assert_eq!(codes(&bubble(1.51e-3, None), 4.9e-3), []);
        assert_eq!(codes(&bubble(1.49e-3, None), 4.9e-3), [Code::SmallBubble]);
        assert_eq!(codes(&bubble(5e-3, None), -5.1e-3), [Code::BubbleTravels]);
        assert_eq!(codes(&bubble(5e-3, Some(8e-3)), 7.9e-3), []);
        assert_eq!(codes(&bubble(5e-3, Some(8e-3)), 8.1e-3), [Code::BubbleTravels]);
    }
}
