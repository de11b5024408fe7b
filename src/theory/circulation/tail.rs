//! Sharp tails and the singular part of a stream function there.
//!
//! Round a tail of fluid angle ω, ψ less its value on the obstacle is `Σ_n K_n r^(n α) sin(n α θ)`, α = π/ω.
//! On rings of growing radius the first three terms are fitted to the vertex values. The singular element solution near the tail
//! is the same multiple of K_1 for every ψ on one mesh, so that ratios of K_1 are as good as the mesh as a whole; curved sides
//! change them by a multiple of r^(2 α), which is extrapolated to r = 0.

use crate::base::plane::distance;
use crate::base::{Error, Point, Result};
use crate::geometry::{Corner, Plan, SLIGHT, Side, Solid, TailChoice};
use crate::numerics::fem::Space;
use std::f64::consts::PI;

/// Fluid angle above which a corner is a sharp tail: a solid angle below 75 degrees, rad.
pub const SHARP: f64 = 285.0 / 180.0 * PI;

/// A tail stands clear of every other sharp corner, and the outline behind it ends, within this part of the chord.
const CLEAR: f64 = 0.1;
/// A sharp corner within this part of the extent along the stream behind the foremost place is a nose.
const FRONT: f64 = 0.1;

/// Terms fitted on a ring.
const TERMS: usize = 3;
/// Fewest vertices on a ring.
const FEWEST: usize = 8;
/// Each ring is so many times as wide as the one inside it, and reaches over so much of it.
const GROWTH: f64 = 1.5;
/// Largest ring over the chord.
const REACH: f64 = 0.1;

/// The sharp tail of a free obstacle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tail {
    /// Index of the obstacle in the plan.
    pub obstacle: u32,
    /// Where, m.
    pub at: Point,
    /// Its vertex.
    pub vertex: u32,
    /// Angle of the fluid, rad; 2 π at a cusp.
    pub fluid_angle: f64,
    /// Direction of the bisector of the tail, into the fluid, rad from +x in (-π, π].
    pub bisector: f64,
    /// Whether the obstacle has a second sharp edge at its front, such as the nose of a lens: a real stream parts from it
    /// unless it runs straight at it.
    pub sharp_nose: bool,
    /// Radius of the largest ring, m.
    pub(super) reach: f64,
}

/// An obstacle with sharp corners of which none is clearly its tail.
#[derive(Debug, Clone, PartialEq)]
pub struct NoTail {
    /// Index of the obstacle in the plan.
    pub obstacle: u32,
    /// Its name.
    pub name: String,
    /// Why it has none.
    pub reason: NoTailReason,
    /// Its sharp corners, the most downstream one first, m.
    pub corners: Vec<Point>,
}

/// Why an obstacle with sharp corners has no tail.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoTailReason {
    /// The case says so.
    Given,
    /// Another sharp corner stands nearly as far downstream.
    SeveralCorners,
    /// The outline goes on behind the corner.
    OutlineGoesOn,
}

impl NoTailReason {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            NoTailReason::Given => "the case says that it has no tail",
            NoTailReason::SeveralCorners => {
                "no sharp corner is the most downstream one by more than a tenth of the chord"
            }
            NoTailReason::OutlineGoesOn => {
                "the outline reaches more than a tenth of the chord further downstream than its sharp corner"
            }
        }
    }
}

/// The tails of a plan.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Tails {
    /// One of each free obstacle that has one, in the order of the obstacles.
    pub found: Vec<Tail>,
    /// Obstacles with sharp corners but no tail.
    pub left_out: Vec<NoTail>,
}

/// The tail of every free obstacle that is no bubble: the corner the case names, else the one with a fluid angle above 285 degrees that stands further
/// downstream than any other of that kind by more than a tenth of the chord, and behind which the outline goes on by no more than that.
/// Which of two tips nearly abreast leads the flow off would decide the sign of the lift, so that neither is taken.
pub fn sharp_tails(space: &Space) -> Tails {
    let plan = &space.mesh.plan;
    let mut tails = Tails::default();
    for k in 0..plan.obstacles.len() as u32 {
        if plan.solid(Side::Obstacle(k)) != Some(Solid::Obstacle(k)) || plan.rim(k).is_some() {
            continue;
        }
        match tail_of(space, plan, k) {
            Ok(tail) => tails.found.extend(tail),
            Err(left_out) => tails.left_out.push(left_out),
        }
    }
    tails
}

/// The corner that is the tail, if there is one among the corners of an obstacle.
fn choose<'a>(
    choice: TailChoice,
    own: &[&'a Corner],
    chord: impl Fn(&Corner) -> f64,
    last: f64,
) -> std::result::Result<Option<&'a Corner>, NoTailReason> {
    let mut sharp: Vec<&Corner> = own.iter().copied().filter(|corner| corner.fluid_angle > SHARP).collect();
    sharp.sort_by(|a, b| b.at[0].total_cmp(&a.at[0]).then(a.at[1].total_cmp(&b.at[1])));
    match (choice, &sharp[..]) {
        (TailChoice::At(place), _) => {
            let turns = own.iter().filter(|corner| corner.fluid_angle > PI + SLIGHT);
            Ok(turns.min_by(|a, b| distance(a.at, place).total_cmp(&distance(b.at, place))).copied())
        }
        (_, []) => Ok(None),
        (TailChoice::None, _) => Err(NoTailReason::Given),
        (_, [tail, others @ ..]) => {
            let clear = CLEAR * chord(tail);
            if others.first().is_some_and(|other| tail.at[0] - other.at[0] <= clear) {
                Err(NoTailReason::SeveralCorners)
            } else if last - tail.at[0] > clear {
                Err(NoTailReason::OutlineGoesOn)
            } else {
                Ok(Some(tail))
            }
        }
    }
}

fn tail_of(space: &Space, plan: &Plan, k: u32) -> std::result::Result<Option<Tail>, NoTail> {
    let corners = plan.corners();
    let own: Vec<&Corner> =
        corners.iter().filter(|corner| plan.pieces[corner.after].side == Side::Obstacle(k)).collect();
    let points = &space.mesh.points;
    let outline = space.vertices_on(Solid::Obstacle(k));
    let away = |v: u32, at: Point| distance(points[v as usize], at);
    let chord_from = |corner: &Corner| outline.iter().map(|&v| away(v, corner.at)).fold(0.0, f64::max);
    let xs = outline.iter().map(|&v| points[v as usize][0]);
    let (first, last) = xs.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), x| (l.min(x), h.max(x)));
    let is_sharp = |corner: &&&Corner| corner.fluid_angle > SHARP;
    let corner = choose(plan.obstacles[k as usize].tail, &own, chord_from, last).map_err(|reason| {
        let mut places: Vec<Point> = own.iter().filter(is_sharp).map(|corner| corner.at).collect();
        places.sort_by(|a, b| b[0].total_cmp(&a[0]));
        NoTail { obstacle: k, name: plan.obstacles[k as usize].name.clone(), reason, corners: places }
    })?;
    let Some(corner) = corner else { return Ok(None) };
    let apart = |v: u32| away(v, corner.at);
    let Some(vertex) = outline.iter().copied().min_by(|&a, &b| apart(a).total_cmp(&apart(b))) else { return Ok(None) };
    let along = plan.pieces[corner.after].direction(0.0);
    let middle = along[1].atan2(along[0]) + 0.5 * corner.fluid_angle;
    let chord = chord_from(corner);
    let others = space.vertices_where(|side| side != Side::Obstacle(k));
    let clear = others.iter().map(|&v| apart(v)).fold(f64::INFINITY, f64::min);
    // chords of a smooth outline meet in corners that bend the flow no more than the curve itself
    let bends = corners.iter().filter(|other| (other.fluid_angle - PI).abs() > SLIGHT);
    let next = bends.map(|other| distance(other.at, corner.at)).filter(|&d| d > 1e-9 * chord);
    let next = next.fold(f64::INFINITY, f64::min);
    let front = first + FRONT * (last - first);
    Ok(Some(Tail {
        obstacle: k,
        at: corner.at,
        vertex,
        fluid_angle: corner.fluid_angle,
        bisector: middle.sin().atan2(middle.cos()),
        sharp_nose: own.iter().filter(is_sharp).any(|other| other.at[0] <= front && other.at != corner.at),
        reach: (REACH * chord).min(0.5 * clear).min(0.5 * next),
    }))
}

impl Tail {
    /// The angle of a place about the tail, from the bisector, rad in [-ω/2, ω/2].
    pub(super) fn angle(&self, place: Point) -> f64 {
        let (sin, cos) = self.bisector.sin_cos();
        let d = [place[0] - self.at[0], place[1] - self.at[1]];
        let angle = (cos * d[1] - sin * d[0]).atan2(cos * d[0] + sin * d[1]);
        angle.clamp(-0.5 * self.fluid_angle, 0.5 * self.fluid_angle)
    }

    /// Rings of vertices from three edges off the tail outwards.
    pub(super) fn rings(&self, space: &Space) -> Result<Rings> {
        let alpha = PI / self.fluid_angle;
        let mesh = &space.mesh;
        let radius = |v: u32| distance(mesh.points[v as usize], self.at);
        let star = space.stars.of(self.vertex as usize);
        let edge = star.iter().flat_map(|&t| mesh.triangles[t as usize]).filter(|&v| v != self.vertex);
        let shortest = edge.map(radius).fold(f64::INFINITY, f64::min);
        let near: Vec<Sample> = (0..mesh.points.len() as u32)
            .map(|v| (v, radius(v)))
            .filter(|&(v, r)| v != self.vertex && r < GROWTH * self.reach)
            .map(|(v, r)| {
                let area: f64 = space.star_area(v as usize);
                let theta = self.angle(mesh.points[v as usize]) + 0.5 * self.fluid_angle;
                Sample { vertex: v, r, theta, area }
            })
            .collect();
        let mut rings = Vec::new();
        let mut r = (3.0 * shortest).min(self.reach);
        while r <= self.reach {
            let on = near.iter().filter(|s| s.r > r / GROWTH && s.r < r * GROWTH);
            rings.extend(Ring::new(r, alpha, on));
            r *= GROWTH;
        }
        if rings.is_empty() {
            // too coarse for rings: all there is round the tail
            rings.extend(Ring::new(self.reach, alpha, near.iter()));
        }
        if rings.is_empty() {
            return Err(Error::failed(
                format!(
                    "{} vertices within {:.3e} m of the sharp tail at ({:.6}, {:.6}) m: at least {FEWEST} are needed to find the \
                     circulation",
                    near.len(),
                    GROWTH * self.reach,
                    self.at[0],
                    self.at[1]
                ),
                "ask for a smaller error or more triangles",
            ));
        }
        Ok(Rings { rings, tail: self.vertex, exponent: 2.0 * alpha })
    }
}

#[derive(Debug, Clone, Copy)]
struct Sample {
    vertex: u32,
    r: f64,
    theta: f64,
    area: f64,
}

/// The weights that give K_1 r^α from the values at the vertices of one ring.
struct Ring {
    r: f64,
    weights: Vec<(u32, f64)>,
}

impl Ring {
    fn new<'a>(r: f64, alpha: f64, samples: impl Iterator<Item = &'a Sample>) -> Option<Ring> {
        let samples: Vec<&Sample> = samples.collect();
        if samples.len() < FEWEST {
            return None;
        }
        let terms = |s: &Sample| -> [f64; TERMS] {
            std::array::from_fn(|n| {
                let order = (n + 1) as f64 * alpha;
                (s.r / r).powf(order) * (order * s.theta).sin()
            })
        };
        // row 0 of the inverse of the normal matrix, by solving for the first unit vector
        let mut system = vec![vec![0.0; TERMS + 1]; TERMS];
        for s in &samples {
            let t = terms(s);
            for i in 0..TERMS {
                for j in 0..TERMS {
                    system[i][j] += s.area * t[i] * t[j];
                }
            }
        }
        system[0][TERMS] = 1.0;
        let row = solve_dense(system)?;
        let weight = |s: &Sample| s.area * terms(s).iter().zip(&row).map(|(t, x)| t * x).sum::<f64>();
        Some(Ring { r, weights: samples.iter().map(|s| (s.vertex, weight(s))).collect() })
    }
}

/// All rings round a tail.
pub(super) struct Rings {
    rings: Vec<Ring>,
    tail: u32,
    exponent: f64,
}

/// A ratio of singular parts: extrapolated to the tail, and on the innermost ring.
pub(super) struct Ratio {
    pub limit: f64,
    pub innermost: f64,
}

impl Rings {
    /// K_1 r^α on every ring.
    pub fn strengths(&self, psi: &[f64]) -> Vec<f64> {
        let base = psi[self.tail as usize];
        let of = |ring: &Ring| ring.weights.iter().map(|&(v, w)| w * (psi[v as usize] - base)).sum();
        self.rings.iter().map(of).collect()
    }

    /// Ratio of two singular parts: a straight line in r^(2 α) by least squares.
    pub fn ratio(&self, of: &[f64], to: &[f64]) -> Ratio {
        let ratios: Vec<f64> = of.iter().zip(to).map(|(a, b)| a / b).collect();
        let largest = self.rings.iter().fold(0.0, |r: f64, ring| r.max(ring.r));
        let s: Vec<f64> = self.rings.iter().map(|ring| (ring.r / largest).powf(self.exponent)).collect();
        let n = ratios.len() as f64;
        let (mean_s, mean) = (s.iter().sum::<f64>() / n, ratios.iter().sum::<f64>() / n);
        let across: f64 = s.iter().zip(&ratios).map(|(s, q)| (s - mean_s) * (q - mean)).sum();
        let square: f64 = s.iter().map(|s| (s - mean_s) * (s - mean_s)).sum();
        let slope = if square > 0.0 { across / square } else { 0.0 };
        Ratio { limit: mean - slope * mean_s, innermost: ratios[0] }
    }
}

/// Solves a small dense system, the right side in the last column, by elimination with row pivots; none if it is singular.
pub(super) fn solve_dense(mut a: Vec<Vec<f64>>) -> Option<Vec<f64>> {
    let n = a.len();
    let size = a.iter().flat_map(|row| &row[..n]).fold(0.0, |m: f64, x| m.max(x.abs()));
    for k in 0..n {
        let pivot = (k..n).max_by(|&i, &j| a[i][k].abs().total_cmp(&a[j][k].abs()))?;
        a.swap(k, pivot);
        if !(a[k][k].abs() > 1e-12 * size && a[k][k].is_finite()) {
            return None;
        }
        for i in k + 1..n {
            let factor = a[i][k] / a[k][k];
            let (above, below) = a.split_at_mut(i);
            below[0].iter_mut().zip(&above[k]).skip(k).for_each(|(x, y)| *x -= factor * y);
        }
    }
    let mut x = vec![0.0; n];
    for k in (0..n).rev() {
        let known: f64 = (k + 1..n).map(|j| a[k][j] * x[j]).sum();
        x[k] = (a[k][n] - known) / a[k][k];
    }
    Some(x)
}
