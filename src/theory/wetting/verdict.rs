//! What a filling front leaves at every obstacle, by the closed form nearest to its outline.

use super::conditions::Conditions;
use super::half_post::half_post_foot;
use super::kept::{Kept, NONE, OUTSIDE, Place, Pocket};
use super::law::{Effective, wicks};
use super::outline::Outline;
use super::pockets::{Cup, cup_downstream, flat_front, flat_rear, round_rear};
use super::row_of_two::{InRow, in_row};
use super::shape::{Choice, Facing, Fit, Form, choose, facing};
use super::speed::{MIDDLE, Share, before, behind, between, cup_loss, left_at, stall_lead};
use super::stand::{Stand, second_in_row};
use crate::base::{Point, Result};
use crate::geometry::Plan;
use std::f64::consts::FRAC_PI_2;

/// What stays at one obstacle.
#[derive(Debug, Clone, PartialEq)]
pub struct Verdict {
    /// Its index in the plan.
    pub obstacle: usize,
    /// Its name.
    pub name: String,
    /// The closed form of its rear.
    pub form: Form,
    /// How well that fits.
    pub fit: Fit,
    /// Half its extent across the flow, m; the height of one on a wall.
    pub half_width: f64,
    /// N_r of the law, with tilt and taper in it ([`Conditions::levelling`]).
    pub levelling: f64,
    /// What stays behind it, between it and the next, or in it.
    pub kept: Kept,
    /// What stays before it.
    pub front_pocket: Kept,
    /// How far the front on its wide side leads, m, where it stands off the middle and air stays behind it.
    pub lead: Option<f64>,
    /// What follows, in plain sentences.
    pub words: Vec<String>,
}

/// The verdicts of all obstacles of a plan, in its order; flow along +x. None in a cell that is no rectangle.
///
/// # Errors
/// [`crate::base::Error::Usage`] for senseless conditions ([`Conditions::checked`]).
pub fn verdicts(plan: &Plan, conditions: &Conditions) -> Result<Vec<Verdict>> {
    let conditions = conditions.checked()?;
    if plan.rectangle().is_none() {
        return Ok(Vec::new());
    }
    let outlines: Vec<Option<Outline>> = (0..plan.obstacles.len()).map(|k| Outline::of(plan, k)).collect();
    Ok((0..outlines.len()).filter_map(|k| Case::of(plan, &outlines, k, &conditions)).map(Case::verdict).collect())
}

/// One obstacle under judgement.
struct Case<'a> {
    conditions: &'a Conditions,
    name: String,
    index: usize,
    outline: &'a Outline,
    choice: Choice,
    stand: Stand,
    /// Pitch and radius of a row of two, m, and the middle between its posts.
    row: Option<(f64, f64, Point)>,
    side: Effective,
    words: Vec<String>,
}

impl<'a> Case<'a> {
    fn of(plan: &Plan, outlines: &'a [Option<Outline>], k: usize, conditions: &'a Conditions) -> Option<Case<'a>> {
        let outline = outlines.get(k)?.as_ref()?;
        let side = conditions.side();
        let choice = choose(outline, side.angle());
        let stand = Stand::of(plan, outlines, k, conditions.seal())?;
        let row = (choice.form == Form::Round).then(|| second_in_row(outlines, k)).flatten();
        let name = plan.obstacles[k].name.clone();
        Some(Case { conditions, name, index: k, outline, choice, stand, row, side, words: Vec::new() })
    }

    fn verdict(mut self) -> Verdict {
        let radius = self.stand.channel.radius().unwrap_or(f64::INFINITY);
        let levelling = self.conditions.levelling(radius);
        let is_outside = self.is_outside();
        let (kept, front_pocket) =
            if is_outside { (Kept::Outside, Kept::Outside) } else { (self.rear(levelling), self.front(levelling)) };
        let mut form = self.choice.form;
        if let (Form::Round, Kept::Pocket(Pocket { place: Place::Between, .. })) = (form, kept) {
            form = Form::InRow;
        }
        let lead = if is_outside { None } else { self.lead(&kept) };
        self.say(&kept, &front_pocket);
        let fit = self.fit();
        Verdict {
            obstacle: self.index,
            name: self.name,
            form,
            fit,
            half_width: self.outline.half_width(),
            levelling,
            kept,
            front_pocket,
            lead,
            words: self.words,
        }
    }

    /// Whether liquid runs ahead along obstacle or seals.
    fn is_outside(&mut self) -> bool {
        let Conditions { side_angle, seal_angle, plate_angle, .. } = *self.conditions;
        let runs = |angle: f64, effective: Effective| wicks(angle, plate_angle) || effective == Effective::Wets;
        let sides = [(runs(side_angle, self.side), "sides"), (runs(seal_angle, self.conditions.seal()), "seals")];
        let wetted: Vec<&str> = sides.iter().filter(|side| side.0).map(|side| side.1).collect();
        if wetted.is_empty() {
            return false;
        }
        self.words.push(format!(
            "{OUTSIDE}: liquid runs ahead along the feet of the {}, closes round the obstacle early and can trap air.",
            wetted.join(" and ")
        ));
        true
    }

    fn fit(&self) -> Fit {
        if self.stand.is_crowded { Fit::Far } else { self.choice.fit }
    }

    /// A pocket of the area at rest, m2 of the mirrored cell, of which a share is left.
    fn pocket(&self, area: f64, share: Share, fit: Fit, tip: Point, place: Place) -> Kept {
        let Share { value, low, high } = fit.max(self.crowd()).widened(share);
        let half = if self.outline.on_wall.is_some() { 0.5 } else { 1.0 };
        let [area, band_low, band_high] = [value, low, high].map(|part| half * area * part);
        Kept::Pocket(Pocket { area, band_low, band_high, tip, place })
    }

    fn crowd(&self) -> Fit {
        if self.stand.is_crowded { Fit::Far } else { Fit::Same }
    }

    fn rear(&mut self, n: f64) -> Kept {
        let (channel, side, size) = (self.stand.channel, self.side, self.choice.size);
        let [x, y] = [self.outline.rect.middle()[0], self.stand.axis];
        let end = self.outline.rect.high[0];
        if let Some((pitch, radius, middle)) = self.row
            && let InRow::Between { area, .. } = in_row(radius, pitch, &channel, side)
        {
            return self.pocket(area, between(n), self.choice.fit, middle, Place::Between);
        }
        let share = if self.conditions.bond(1.0) < 0.0 { Fit::Far.widened(behind(n)) } else { behind(n) };
        match self.choice.form {
            Form::Round | Form::HalfPost | Form::InRow => match round_rear(size, &channel, side) {
                Some(air) => {
                    let (tip, place) = self.tip([x + air.tip, y], size);
                    self.pocket(air.area, share, self.choice.fit, tip, place)
                }
                None => Kept::None,
            },
            Form::RoundedRear => match round_rear(size, &channel, side) {
                Some(air) => self.pocket(air.area, share, Fit::Far, [end - size + air.tip, y], Place::Rear),
                None => Kept::None,
            },
            Form::FlatRear => match flat_rear(size, &channel, side) {
                Some(air) => self.pocket(air.area, share, self.choice.fit, [end + air.tip, y], Place::Rear),
                None => Kept::None,
            },
            Form::SharpTail => Kept::None,
            Form::CupDownstream => self.cup(n),
        }
    }

    fn cup(&mut self, n: f64) -> Kept {
        let Some(hollow) = self.choice.cup else { return Kept::None };
        let found = cup_downstream(hollow.area, self.choice.size, &self.stand.channel, self.side);
        let tip = [hollow.at[0] - hollow.depth, hollow.at[1]];
        let (snaps, air) = match found {
            Some(Cup::Closed(air)) => (false, air),
            Some(Cup::Snaps(air)) => (true, air),
            None => return Kept::None,
        };
        let all = hollow.area + (air.area - hollow.area) * left_at(n);
        if snaps {
            self.words.push(
                "The line snaps round the rims into the cup: anything between none and all of it may stay.".into(),
            );
            let share = Share { value: 0.5, low: 0.0, high: 1.0 };
            return self.pocket(all, share, Fit::Same, tip, Place::Cup);
        }
        let share = Share { value: 1.0, low: 1.0 - cup_loss(n), high: 1.05 };
        self.pocket(all, share, self.choice.fit, tip, Place::Cup)
    }

    /// Tip and side behind a round post: on the narrower side for N below 0.1 off the middle, some 57 degrees from the rear, where
    /// runs left it at 49 to 65 degrees.
    fn tip(&self, tip: Point, radius: f64) -> (Point, Place) {
        let slow = self.conditions.number(radius) < MIDDLE;
        match self.stand.narrower {
            Some(sign) if slow => {
                let (sin, cos) = 57f64.to_radians().sin_cos();
                let x = self.outline.rect.middle()[0];
                ([x + radius * cos, self.stand.axis + sign * radius * sin], Place::NarrowerSide)
            }
            _ => (tip, Place::Rear),
        }
    }

    fn front(&mut self, n: f64) -> Kept {
        let channel = self.stand.channel;
        if self.choice.form == Form::HalfPost {
            let seal = self.conditions.seal();
            let foot = half_post_foot(self.choice.size, channel.half_width, seal, channel.wall);
            // the table's one value; nothing is known of speed
            let at = [self.outline.rect.low[0], self.stand.axis];
            return foot.map_or(Kept::None, |area| self.pocket(2.0 * area, behind(n), Fit::Far, at, Place::Foot));
        }
        match facing(self.outline) {
            Facing::Cup(cup) => {
                let share = Share { value: 1.0, low: 0.95, high: 1.05 };
                let tip = [cup.at[0] + cup.depth, cup.at[1]];
                self.pocket(cup.area, share, Fit::Same, tip, Place::Cup)
            }
            Facing::Flat(width, fit) if self.outline.on_wall.is_none() => {
                let level = self.conditions.levelling(channel.half_width);
                let at = [self.outline.rect.low[0], self.stand.axis];
                let air = flat_front(width, &channel);
                air.map_or(Kept::None, |air| self.pocket(air.area, before(level), fit, at, Place::Face))
            }
            _ => Kept::None,
        }
    }

    fn lead(&self, kept: &Kept) -> Option<f64> {
        let is_round = matches!(self.choice.form, Form::Round);
        let off = self.stand.narrower.is_some() && is_round && self.side.angle() > FRAC_PI_2;
        let radius = self.choice.size;
        let [narrow, wide] = self.stand.sides;
        let lead = stall_lead(radius, self.conditions.number(radius), &narrow, &wide, self.side);
        lead.filter(|_| off && kept.pocket().is_some())
    }

    /// The plain sentences.
    fn say(&mut self, kept: &Kept, front: &Kept) {
        if *kept == Kept::Outside {
            return;
        }
        let why = self.choice.why.as_str();
        if !why.is_empty() {
            let wide = if kept.pocket().is_some() { ", so the band is wider" } else { "" };
            self.words.push(format!("Nearest form: {}{wide}.", why));
        }
        if self.stand.is_crowded && kept.pocket().is_some() {
            self.words.push(
                "Another obstacle stands beside or close behind: the passages were taken as a symmetric cell, so the band is wider.".into(),
            );
        }
        let place = |pocket: &Pocket| format!("Air stays {}.", pocket.place.words());
        self.words.push(match kept {
            Kept::Pocket(pocket) => place(pocket),
            _ if self.side.angle() <= FRAC_PI_2 => {
                format!("Rear: {NONE}; sides below a right angle lead the fronts together.")
            }
            _ => format!("Rear: {NONE}."),
        });
        if let Kept::Pocket(pocket) = front {
            self.words.push(place(pocket));
        }
        if self.outline.on_wall.is_some() {
            self.words.push("It stands on a seal: taken as half of a cell mirrored there.".into());
        }
    }
}
