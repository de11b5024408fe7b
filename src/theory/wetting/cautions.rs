//! What a filling is to be warned of.

use super::conditions::Conditions;
use super::law::wicks;
use crate::base::units::significant;
use crate::base::warning::{Code, Warning};

/// Capillary number from which on the contact angle depends on the speed.
pub const FAST: f64 = 1e-3;

/// What leaves the model, or breaks the front, in a cell of a width, m: corners that wick, a contact line too fast for an
/// angle at rest (Ca above 1e-3; Voinov 1976, recalled), a front that breaks into fingers downhill ([`Conditions::unstable_width`]).
pub fn cautions(conditions: &Conditions, width: f64) -> Vec<Warning> {
    let Conditions { side_angle, seal_angle, plate_angle, .. } = *conditions;
    let mut found = Vec::new();
    for (name, angle) in [("obstacles", side_angle), ("side walls", seal_angle)] {
        if wicks(angle, plate_angle) {
            let sum = (angle + plate_angle).to_degrees();
            let matter = format!(
                "liquid wicks ahead along the feet of the {name}: their angle and that of the plates make {} deg together, less than 90, and \
                 what stays is outside this model",
                significant(sum, 3)
            );
            let remedy = "a fillet of glue holds the liquid back; else fill slowly and look";
            found.push(Warning::new(Code::Wicks, matter, remedy).value(sum));
        }
    }
    let number = conditions.capillary_number();
    if number > FAST {
        let matter = format!(
            "the contact line is fast (Ca = {}, above {FAST}): the angle of the plates grows to some {} deg in motion, and the verdicts are \
             those of the angle at rest",
            significant(number, 2),
            significant(conditions.moving_angle().to_degrees(), 3)
        );
        found
            .push(Warning::new(Code::FastFront, matter, "fill more slowly, or give the angle in motion").value(number));
    }
    if let Some(limit) = conditions.unstable_width().filter(|limit| *limit < width) {
        let matter = format!(
            "the front runs downhill, or into a gap that narrows, faster than the flow follows: in cells wider than {} mm it breaks into \
             fingers, and this one is {} mm wide",
            significant(1e3 * limit, 3),
            significant(1e3 * width, 3)
        );
        found.push(Warning::new(Code::FrontUnstable, matter, "fill uphill").value(limit));
    }
    found
}

#[cfg(test)]
mod tests {
    use super::super::conditions::tests::water;
    use super::*;

    /// Both sides of every threshold: 90 degrees in sum, Ca = 1e-3, the width of `unstable_width` (239 mm at twice the stable slope).
    #[test]
    fn cautions_come_and_go_at_their_limits() {
        let degrees = f64::to_radians;
        let count = |conditions: Conditions, width: f64, word: &str| {
            let all = cautions(&conditions, width);
            (all.len(), all.iter().filter(|one| one.message.contains(word)).count())
        };
        assert_eq!(count(water(), 0.2, ""), (0, 0));
        let side = |angle: f64| Conditions { side_angle: degrees(angle), ..water() };
        assert_eq!((count(side(30.1), 0.2, "obstacles"), count(side(29.9), 0.2, "obstacles")), ((0, 0), (1, 1)));
        let seal = |angle: f64| Conditions { seal_angle: degrees(angle), ..water() };
        assert_eq!((count(seal(30.1), 0.2, "side walls"), count(seal(29.9), 0.2, "side walls")), ((0, 0), (1, 1)));
        let fast = |number: f64| Conditions { speed: number * 72.7e-3 / 1e-3, ..water() };
        assert_eq!((count(fast(0.99e-3), 0.2, "Ca"), count(fast(1.01e-3), 0.2, "Ca")), ((0, 0), (1, 1)));
        let slope = 24.0 / (998.0 * crate::base::units::GRAVITY);
        let downhill = Conditions { tilt: [-slope, 0.0], ..water() };
        assert_eq!((count(downhill, 0.238, "fingers"), count(downhill, 0.240, "fingers")), ((0, 0), (1, 1)));
    }
}
