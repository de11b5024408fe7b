//! Places along an edge of the plan, and the step of light across it at each.
//!
//! Every 2 mm, at most some hundreds of an edge, where the map is known, the picture reaches and no mark is near. Light is the brightest
//! of the three channels, in which dye of any colour is pale and dark solids stay dark, sampled every half pixel along the normal and
//! averaged over five profiles a pixel apart, which follow the curvature of the edge. Most places tell whether the solid is darker or
//! brighter than the fluid; steps the other way are the rims of dye lines and of other solids.

use super::step::{FLANK, Step, step};
use crate::base::Point;
use crate::base::plane::{Rect, Segment, Vector, cross, distance_to_segment, left, length, stepped, way};
use crate::bench::photo::{Calibration, Pixel};
use crate::geometry::{Piece, Plan, Side};
use crate::input::measured::Photo;
use rayon::prelude::*;

/// Distance of places, m, and most of them along an edge.
const SPACING: f64 = 2e-3;
const MOST: f64 = 600.0;

/// How far an edge is sought at most and at least, m, and as a part of the extent of its solid.
const REACH: f64 = 5e-3;
const LEAST_REACH: f64 = 1e-3;
const PART: f64 = 0.25;

/// How far a profile keeps from the middle of a mark: m, and sizes of the mark.
const OFF_MARKS: f64 = 3e-3;
const OFF_MARK: f64 = 0.6;

/// Profiles on either side that are averaged, a pixel apart.
const BESIDE: i32 = 2;

/// How far those may turn, rad; a sharper edge has no mean profile.
const BENT: f64 = 0.3;

/// Pixels between samples.
const PITCH: f64 = 0.5;

/// A place of a drawn edge and how the picture shows its normal.
#[derive(Debug, Clone, Copy)]
pub struct Place {
    /// Where, m.
    pub at: Point,
    /// Unit normal into the fluid.
    pub normal: Vector,
    /// Signed curvature, 1/m: negative where the solid bulges.
    curvature: f64,
    /// How far the edge is sought, m.
    reach: f64,
    /// Pixel of the place, and its first and second derivatives by the offset along the normal, px/m and px/m2.
    pixels: [Pixel; 3],
    /// Pixels for a metre along the edge.
    along: Vector,
}

/// An edge that was seen.
#[derive(Debug, Clone, Copy)]
pub struct Spot {
    /// Where it is drawn, m.
    pub at: Point,
    /// Unit normal into the fluid.
    pub normal: Vector,
    /// How much further into the fluid it is seen, m.
    pub offset: f64,
}

/// The places of a side.
pub fn places(photo: &Photo, map: &Calibration, plan: &Plan, side: Side) -> Vec<Place> {
    let pieces: Vec<(&Piece, f64)> =
        plan.pieces.iter().filter(|piece| piece.side == side).map(|piece| (piece, piece.length())).collect();
    let total: f64 = pieces.iter().map(|(_, length)| length).sum();
    let spacing = SPACING.max(total / MOST);
    let mut found = Vec::new();
    let (mut walked, mut next) = (0.0, 0.5 * spacing);
    for (piece, length) in pieces {
        while next < walked + length {
            let s = (next - walked) / length;
            found.push((piece.point(s), left(piece.direction(s)), piece.curvature(s)));
            next += spacing;
        }
        walked += length;
    }
    let reach = match side {
        Side::Obstacle(_) => (PART * Rect::of(found.iter().map(|(at, ..)| *at)).extent()).clamp(LEAST_REACH, REACH),
        _ => REACH,
    };
    let marks: Vec<(Pixel, f64)> =
        map.sought.iter().filter_map(|sought| Some((sought.seen.ok()?.at, sought.size))).collect();
    let place = |&(at, normal, curvature): &(Point, Vector, f64)| Place::new(map, at, normal, curvature, reach);
    let is_free = |place: &Place| {
        let off = |size: f64| (OFF_MARKS * length(place.pixels[1])).max(OFF_MARK * size);
        marks.iter().all(|(mark, size)| distance_to_segment(*mark, place.segment()) > off(*size))
    };
    let is_shown = |place: &Place| {
        place.segment().into_iter().all(|end| photo.between(end).is_some()) && photo.between(place.pixels[0]).is_some()
    };
    let known = found.iter().filter(|(at, ..)| map.is_known_at(*at));
    known.filter_map(place).filter(|place| is_free(place) && is_shown(place)).collect()
}

/// The places at which the edge is seen, as most of them see it: darker or brighter than the fluid.
pub fn spots(photo: &Photo, places: &[Place]) -> Vec<Spot> {
    let steps: Vec<[Option<Step>; 2]> = places.par_iter().map(|place| place.steps(photo)).collect();
    let height = |step: Option<Step>| step.map_or(0.0, |step| step.height);
    let votes = |[darker, brighter]: &[Option<Step>; 2]| {
        let [darker, brighter] = [height(*darker), height(*brighter)];
        (darker - brighter).partial_cmp(&0.0).map_or(0, |order| order as i32)
    };
    let kind = usize::from(steps.iter().map(votes).sum::<i32>() < 0);
    let spot = |(place, steps): (&Place, &[Option<Step>; 2])| {
        steps[kind].map(|step| Spot { at: place.at, normal: place.normal, offset: step.at })
    };
    places.iter().zip(&steps).filter_map(spot).collect()
}

impl Place {
    fn new(map: &Calibration, at: Point, normal: Vector, curvature: f64, reach: f64) -> Option<Place> {
        let to = |count: f64, step: Vector| map.pixel(stepped(at, count, step)).filter(|p| p[0].is_finite());
        let middle = map.pixel(at)?;
        let [behind, ahead] = [to(-reach, normal)?, to(reach, normal)?];
        let tangent = [normal[1], -normal[0]];
        let along = way(to(-reach, tangent)?, to(reach, tangent)?).map(|x| 0.5 * x / reach);
        let first = way(behind, ahead).map(|x| 0.5 * x / reach);
        let second = [0, 1].map(|k| (ahead[k] - 2.0 * middle[k] + behind[k]) / (reach * reach));
        // an edge seen along itself, or bent within a pixel, has no profile
        let is_clear = cross(first, along).abs() > 0.0 && (curvature * f64::from(BESIDE)).abs() < BENT * length(along);
        is_clear.then_some(Place { at, normal, curvature, reach, pixels: [middle, first, second], along })
    }

    /// The pixel of an offset along the normal.
    fn pixel(&self, offset: f64) -> Pixel {
        let [at, first, second] = self.pixels;
        [0, 1].map(|k| at[k] + offset * (first[k] + 0.5 * offset * second[k]))
    }

    fn segment(&self) -> Segment {
        [self.pixel(-self.reach), self.pixel(self.reach)]
    }

    /// The strongest steps to brighter and to darker light on the way into the fluid, if clear: of a dark and of a bright solid.
    fn steps(&self, photo: &Photo) -> [Option<Step>; 2] {
        let pitch = PITCH / length(self.pixels[1]);
        let count = (self.reach / pitch).ceil() as i32 + FLANK as i32;
        let profile = |beside: i32| -> Option<Vec<f64>> {
            // on the circle of curvature: further along, further in, the normal turned
            let x = f64::from(beside) / length(self.along);
            let sagitta = 0.5 * self.curvature * x * x;
            let light = |k: i32| {
                let offset = f64::from(k) * pitch;
                let at = stepped(self.pixel(offset + sagitta), x * (1.0 - self.curvature * offset), self.along);
                photo.between(at).map(|channels| f64::from(channels.into_iter().fold(0, u8::max)))
            };
            (-count..=count).map(light).collect()
        };
        let profiles: Option<Vec<Vec<f64>>> = (-BESIDE..=BESIDE).map(profile).collect();
        let Some(profiles) = profiles else { return [None; 2] };
        [1.0, -1.0]
            .map(|sign| step(&profiles, sign).map(|step| Step { at: (step.at - f64::from(count)) * pitch, ..step }))
    }
}
