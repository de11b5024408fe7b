//! What helps: the verdicts as the case is, and with surfactant, tilt and other speeds, side by side.

use super::conditions::Conditions;
use super::kept::Kept;
use super::verdict::{Verdict, verdicts};
use crate::base::Result;
use crate::geometry::Plan;

/// Surface tension with a drop of surfactant, N/m (common practice).
pub const SURFACTANT: f64 = 30e-3;
/// Contact angle of the plates with surfactant, rad: 20 degrees (common practice).
pub const WETTED_PLATES: f64 = std::f64::consts::PI / 9.0;
/// Contact angle of sides and seals with surfactant, degrees: below a right angle, above wicking (common practice).
const WETTED_SIDES: f64 = 80.0;

/// What is done to a filling.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Change {
    /// Nothing.
    AsItIs,
    /// Tension 30 mN/m, plates at most 20 degrees, sides and seals at most 80.
    Surfactant,
    /// Filled uphill at this slope, degrees.
    Uphill(f64),
    /// Filled at so many times the speed.
    Speed(f64),
}

impl Change {
    /// All that are compared.
    pub const ALL: [Change; 7] = [
        Change::AsItIs,
        Change::Surfactant,
        Change::Uphill(1.0),
        Change::Uphill(2.0),
        Change::Uphill(5.0),
        Change::Speed(0.1),
        Change::Speed(10.0),
    ];

    /// Its name in files and for reading.
    pub fn name(self) -> String {
        match self {
            Change::AsItIs => "as it is".into(),
            Change::Surfactant => "with surfactant".into(),
            Change::Uphill(degrees) => format!("uphill {degrees} deg"),
            Change::Speed(times) => format!("speed x {times}"),
        }
    }

    /// The conditions with it.
    pub fn of(self, conditions: &Conditions) -> Conditions {
        let most = |angle: f64, degrees: f64| angle.min(degrees.to_radians());
        let Conditions { plate_angle, side_angle, seal_angle, tension, tilt, speed, .. } = *conditions;
        match self {
            Change::AsItIs => *conditions,
            Change::Surfactant => Conditions {
                tension: tension.min(SURFACTANT),
                plate_angle: plate_angle.min(WETTED_PLATES),
                side_angle: most(side_angle, WETTED_SIDES),
                seal_angle: most(seal_angle, WETTED_SIDES),
                ..*conditions
            },
            Change::Uphill(degrees) => {
                let rise = degrees.to_radians().sin();
                // the slope across stays as far as both together are no steeper than upright
                let across = (1.0 - rise * rise).max(0.0).sqrt();
                Conditions { tilt: [rise, tilt[1].clamp(-across, across)], ..*conditions }
            }
            Change::Speed(times) => Conditions { speed: speed * times, ..*conditions },
        }
    }
}

/// The verdicts with a change.
#[derive(Debug, Clone, PartialEq)]
pub struct Changed {
    /// The change.
    pub change: Change,
    /// Conditions with it.
    pub conditions: Conditions,
    /// Verdict of every obstacle.
    pub verdicts: Vec<Verdict>,
}

/// Air that stays at all obstacles together, m2: best value, least and most.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Total {
    /// The best value.
    pub area: f64,
    /// The least.
    pub low: f64,
    /// The most.
    pub high: f64,
}

impl Changed {
    /// All air together; none where the model does not tell of every obstacle.
    pub fn total(&self) -> Option<Total> {
        let all = || self.verdicts.iter().flat_map(|verdict| [&verdict.kept, &verdict.front_pocket]);
        if all().any(|kept| *kept == Kept::Outside) {
            return None;
        }
        let none = Total { area: 0.0, low: 0.0, high: 0.0 };
        Some(all().filter_map(Kept::pocket).fold(none, |sum, pocket| Total {
            area: sum.area + pocket.area,
            low: sum.low + pocket.band_low,
            high: sum.high + pocket.band_high,
        }))
    }
}

/// The verdicts with every change of [`Change::ALL`], the case as it is first.
///
/// # Errors
/// As [`verdicts`].
pub fn what_helps(plan: &Plan, conditions: &Conditions) -> Result<Vec<Changed>> {
    let changed = |change: Change| -> Result<Changed> {
        let conditions = change.of(conditions);
        Ok(Changed { change, conditions, verdicts: verdicts(plan, &conditions)? })
    };
    Change::ALL.into_iter().map(changed).collect()
}

#[cfg(test)]
mod tests {
    use super::super::conditions::tests::water;
    use super::super::outline::tests::{cell, with_ellipse};
    use super::*;

    /// A post of 40 mm in 200 mm: 20 mm2 as it is, nothing with surfactant, 2.1 mm2 a degree uphill, less the steeper; more when slower.
    #[test]
    fn changes_help_as_the_law_says() {
        let mut plan = with_ellipse(cell(&[]), [0.4, 0.1], [0.02; 2]);
        // the cell of 20 by 5 to one of 0.8 by 0.2
        for piece in &mut plan.pieces {
            if let crate::geometry::Curve::Line { from, to } = &mut piece.curve {
                (*from, *to) = (from.map(|x| 0.04 * x), to.map(|x| 0.04 * x));
            }
        }
        let found = what_helps(&plan, &water()).unwrap();
        let total: Vec<f64> = found.iter().map(|one| 1e6 * one.total().unwrap().area).collect();
        let [as_it_is, soap, one, two, five, slow, fast] = total[..] else { panic!("{total:?}") };
        assert!((as_it_is - 19.96).abs() < 0.05 && soap == 0.0 && (one - 2.117).abs() < 0.01, "{total:?}");
        assert!(two < one && five < two && slow > as_it_is && fast < as_it_is && five > 0.0, "{total:?}");
        let Total { area, low, high } = found[0].total().unwrap();
        assert!((low / area - 0.75).abs() < 1e-9 && (high / area - 1.25).abs() < 1e-9);
        let names: Vec<String> = Change::ALL.map(Change::name).to_vec();
        assert_eq!(names[..3], ["as it is", "with surfactant", "uphill 1 deg"]);
        // a side that wets already wicks once the plates wet as well
        let wetting = Conditions { side_angle: 60f64.to_radians(), ..water() };
        let found = what_helps(&plan, &wetting).unwrap();
        assert!(found[0].total().is_some() && found[1].total().is_none());
        // surfactant makes nothing worse that wets
        let wet = Change::Surfactant.of(&Conditions { tension: 25e-3, plate_angle: 0.1, ..water() });
        assert_eq!((wet.tension, wet.plate_angle), (25e-3, 0.1));
        let across = Change::Uphill(5.0).of(&Conditions { tilt: [0.0, 1.0], ..water() });
        assert!(across.checked().is_ok());
    }
}
