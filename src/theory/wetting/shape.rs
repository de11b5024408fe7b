//! Which closed form an outline is nearest to.

use super::outline::{End, Hollow, Outline};
use super::speed::Share;
use std::f64::consts::FRAC_PI_2;

/// Roundness up to which an outline is a round post, and up to which it is taken for one.
const ROUND: f64 = 0.01;
pub(super) const NEARLY_ROUND: f64 = 0.12;
/// Part of the height that a face must have to count as a flat end, and as one from edge to edge.
const FLAT: f64 = 0.5;
const WHOLE: f64 = 0.95;
/// Depth over mouth from which a hollow is a cup.
const CUP: f64 = 0.25;
/// Part of the height that the mouth of a cup must have for the closed form as it stands.
const WIDE_MOUTH: f64 = 0.7;
/// A rear rounder than this part of its half-width is no sharp tail.
const SHARP: f64 = 0.02;
/// Least angle within which the rear is looked at, rad.
const LEAST: f64 = 0.09;

/// The closed form for the rear of an obstacle.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// A round post.
    Round,
    /// A rear as round as a post.
    RoundedRear,
    /// A flat rear across the flow.
    FlatRear,
    /// A sharp tail.
    SharpTail,
    /// A cup that opens downstream.
    CupDownstream,
    /// Two round posts in a row: the first of them.
    InRow,
    /// A half-round post on a seal.
    HalfPost,
}

impl Form {
    /// Its name in files.
    pub fn key(self) -> &'static str {
        match self {
            Form::Round => "round_post",
            Form::RoundedRear => "rounded_rear",
            Form::FlatRear => "flat_rear",
            Form::SharpTail => "sharp_tail",
            Form::CupDownstream => "cup_downstream",
            Form::InRow => "posts_in_a_row",
            Form::HalfPost => "half_post",
        }
    }
}

/// How well the outline is the closed form's.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Fit {
    /// It is.
    Same,
    /// Nearly: 40 per cent at least.
    Near,
    /// The nearest there is: from none to twice.
    Far,
}

impl Fit {
    /// A share with a band at least as wide as the fit asks for.
    pub fn widened(self, share: Share) -> Share {
        let off = match self {
            Fit::Same => return share,
            Fit::Near => 0.4,
            Fit::Far => 1.0,
        };
        let Share { value, low, high } = share;
        Share { value, low: low.min(value * (1.0 - off)), high: high.max(value * (1.0 + off)) }
    }
}

/// The closed form for the rear of an outline.
#[derive(Debug, Clone, PartialEq)]
pub struct Choice {
    /// Which.
    pub form: Form,
    /// How well it fits.
    pub fit: Fit,
    /// Its size, m: radius of a round post or rear, half-width of a flat rear or of a cup inside; 0 of a sharp tail.
    pub size: f64,
    /// The cup, if it is one.
    pub cup: Option<Hollow>,
    /// Why the band is wider, if it is.
    pub why: String,
}

/// Chooses by the outline's own width, corners and hollows, for a front that meets the sides at `angle`, rad: a cup; a round post (also a nearly
/// round one); a flat rear; a rear that is as round as a post within angle − π/2 of facing downstream, for there the fronts meet; else a sharp tail.
pub fn choose(outline: &Outline, angle: f64) -> Choice {
    let half = outline.half_width();
    let hollows = outline.hollows();
    let on_wall = outline.on_wall.is_some();
    let hollow = |fit: Fit, why: String| match hollows.first() {
        Some(first) if !is_cup(first, End::Front) => {
            let more = "its hollows count for nothing here";
            (fit.max(Fit::Far), if why.is_empty() { more.to_owned() } else { format!("{why}; {more}") })
        }
        _ => (fit, why),
    };
    if let Some(&cup) = hollows.iter().find(|hollow| is_cup(hollow, End::Rear)) {
        let middle = outline.rect.middle()[1];
        let is_whole = cup.mouth >= 2.0 * WIDE_MOUTH * half && (cup.at[1] - middle).abs() < 0.1 * half;
        let (fit, why) = match (is_whole && !on_wall, hollows.len()) {
            (true, 1) => (Fit::Same, String::new()),
            _ => (Fit::Far, "a hollow that opens downstream, taken as a cup of its mouth and area".to_owned()),
        };
        return Choice { form: Form::CupDownstream, fit, size: 0.5 * cup.mouth, cup: Some(cup), why };
    }
    let (roundness, radius) = outline.roundness();
    if roundness < NEARLY_ROUND {
        let form = if on_wall { Form::HalfPost } else { Form::Round };
        let (fit, why) = match roundness {
            r if r < ROUND => (Fit::Same, String::new()),
            _ => (Fit::Near, "nearly round, taken as a round post of its mean radius".to_owned()),
        };
        let (fit, why) = hollow(fit, why);
        return Choice { form, fit, size: radius, cup: None, why };
    }
    if let Some((size, fit)) = flat(outline, End::Rear) {
        let why = "its rear is taken as flat across the flow, from edge to edge of what faces downstream";
        let (fit, why) = hollow(fit, if fit == Fit::Same { String::new() } else { why.to_owned() });
        return Choice { form: Form::FlatRear, fit, size, cup: None, why };
    }
    let rear = outline.rear_radius((angle - FRAC_PI_2).max(LEAST));
    if rear > SHARP * half {
        let why = "neither round nor flat: taken as a round post with the radius of its rear, where the fronts meet";
        let (fit, why) = hollow(Fit::Far, why.to_owned());
        return Choice { form: Form::RoundedRear, fit, size: rear, cup: None, why };
    }
    let why = "the fronts run along its flanks to the tail and meet there";
    let (fit, why) = hollow(Fit::Far, why.to_owned());
    Choice { form: Form::SharpTail, fit, size: 0.0, cup: None, why }
}

/// What faces the liquid: a cup, a flat front, or neither.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Facing {
    /// A cup that opens upstream.
    Cup(Hollow),
    /// A flat front of this half-width, m, and whether it is straight from edge to edge.
    Flat(f64, Fit),
    /// Neither.
    Other,
}

/// What of an outline faces the liquid.
pub fn facing(outline: &Outline) -> Facing {
    if let Some(cup) = outline.hollows().into_iter().find(|hollow| is_cup(hollow, End::Front)) {
        return Facing::Cup(cup);
    }
    flat(outline, End::Front).map_or(Facing::Other, |(half_width, fit)| Facing::Flat(half_width, fit))
}

/// Whether a hollow is a cup that opens towards an end.
fn is_cup(hollow: &Hollow, end: End) -> bool {
    hollow.depth >= CUP * hollow.mouth && hollow.towards == Some(end)
}

/// The half-width of a flat end, m, and how well it is one.
fn flat(outline: &Outline, end: End) -> Option<(f64, Fit)> {
    let half = outline.half_width();
    let face = outline.face(end).filter(|face| face.half_width >= FLAT * half)?;
    let is_whole = face.is_straight && face.half_width >= WHOLE * half;
    Some((face.half_width, if is_whole { Fit::Same } else { Fit::Near }))
}

#[cfg(test)]
mod tests {
    use super::super::outline::tests::{cell, cup, mirrored, square, with_ellipse};
    use super::*;
    use crate::base::Point;
    use std::path::Path;

    fn of(points: Vec<Point>) -> Choice {
        choose(&Outline::of(&cell(&[points]), 0).unwrap(), 110f64.to_radians())
    }

    fn ellipse(along: f64, across: f64) -> Choice {
        choose(&Outline::of(&with_ellipse(cell(&[]), [6.0, 2.5], [along, across]), 0).unwrap(), 110f64.to_radians())
    }

    #[test]
    fn drawn_outlines_find_their_form() {
        let post = ellipse(1.0, 1.0);
        assert_eq!((post.form, post.fit, post.why.as_str()), (Form::Round, Fit::Same, ""));
        assert!((post.size - 1.0).abs() < 1e-6);
        let nearly = ellipse(1.2, 1.0);
        assert_eq!((nearly.form, nearly.fit), (Form::Round, Fit::Near));
        assert!(nearly.why.contains("nearly round"));
        let long = ellipse(3.0, 1.0);
        assert_eq!((long.form, long.fit), (Form::RoundedRear, Fit::Far));
        // b²/a = 1/3; the curvature falls from the end on: within 20 degrees a mean radius up to a third more
        assert!(long.size > 0.33 && long.size < 0.45, "{}", long.size);
        let square = of(square([6.0, 2.5]));
        assert_eq!((square.form, square.fit, square.why.as_str()), (Form::FlatRear, Fit::Same, ""));
        assert!((square.size - 1.0).abs() < 1e-9);
        let trapezium = of(vec![[5.0, 1.0], [8.0, 1.6], [8.0, 3.4], [5.0, 4.0]]);
        assert_eq!((trapezium.form, trapezium.fit), (Form::FlatRear, Fit::Near));
        assert!((trapezium.size - 0.9).abs() < 1e-9);
        let wedge = of(vec![[4.0, 2.0], [7.0, 2.5], [4.0, 3.0]]);
        assert_eq!((wedge.form, wedge.size), (Form::SharpTail, 0.0));
        let cup_down = of(cup([6.0, 2.5]));
        assert_eq!((cup_down.form, cup_down.fit), (Form::CupDownstream, Fit::Same));
        assert!((cup_down.size - 0.8).abs() < 1e-9);
    }

    #[test]
    fn what_faces_the_liquid_is_told() {
        let facing = |points: Vec<Point>| facing(&Outline::of(&cell(&[points]), 0).unwrap());
        assert!(matches!(facing(mirrored(&cup([6.0, 2.5]), 6.0)), Facing::Cup(cup) if (cup.area - 2.88).abs() < 1e-9));
        assert_eq!(facing(cup([6.0, 2.5])), Facing::Flat(1.0, Fit::Same));
        let trapezium = vec![[8.0, 1.0], [5.0, 1.6], [5.0, 3.4], [8.0, 4.0]];
        assert!(matches!(facing(trapezium), Facing::Flat(w, Fit::Near) if (w - 0.9).abs() < 1e-9));
        assert_eq!(facing(vec![[7.0, 2.0], [4.0, 2.5], [7.0, 3.0]]), Facing::Other);
        // the rear of a cup that opens upstream is flat, and the cup no loss to it
        let rear = of(mirrored(&cup([6.0, 2.5]), 6.0));
        assert_eq!((rear.form, rear.fit), (Form::FlatRear, Fit::Same));
    }

    /// The outlines of the demos: piers are round, the one on the wall half of it, buoy and keel end in a tail, the lens between two corners;
    /// the seal is none of these.
    #[test]
    fn demos_find_their_form() {
        let expected: [(&str, &[(Form, Fit)]); 6] = [
            ("two_piers", &[(Form::Round, Fit::Same), (Form::Round, Fit::Same)]),
            ("wall_pier", &[(Form::HalfPost, Fit::Same)]),
            ("teardrop_buoy", &[(Form::SharpTail, Fit::Far)]),
            ("keel_section", &[(Form::SharpTail, Fit::Far)]),
            ("lens_caisson", &[(Form::SharpTail, Fit::Far)]),
            ("tapered_gap", &[(Form::Round, Fit::Same), (Form::Round, Fit::Same)]),
        ];
        let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("meshes");
        let read = |name: &str| crate::input::read(&root.join(format!("{name}.toml"))).unwrap().1;
        for (name, forms) in expected {
            let plan = read(name);
            assert_eq!(plan.obstacles.len(), forms.len());
            for (k, &(form, fit)) in forms.iter().enumerate() {
                let choice = choose(&Outline::of(&plan, k).unwrap(), 110f64.to_radians());
                assert_eq!((choice.form, choice.fit), (form, fit), "{name} {k}: {choice:?}");
            }
        }
        let seal = choose(&Outline::of(&read("seal"), 0).unwrap(), 110f64.to_radians());
        assert!(seal.fit == Fit::Far && !seal.why.is_empty(), "{seal:?}");
    }

    /// Bands never shrink: a fit takes at least its own share of the value.
    #[test]
    fn a_poor_fit_widens_the_band() {
        let share = Share { value: 1.0, low: 0.75, high: 1.25 };
        assert_eq!(Fit::Same.widened(share), share);
        assert_eq!(Fit::Near.widened(share), Share { value: 1.0, low: 0.6, high: 1.4 });
        assert_eq!(Fit::Far.widened(share), Share { value: 1.0, low: 0.0, high: 2.0 });
        let wide = Share { value: 1.0, low: 0.1, high: 3.0 };
        assert_eq!(Fit::Near.widened(wide), wide);
    }
}
