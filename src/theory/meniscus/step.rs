//! One implicit step: pressure in the wet region, curvature of the front and its move, in one linear system.
//!
//! Front nodes X_i with normals summed over half edges, `w_i = Σ (dy, −dx)/2`, moves d_i (at an end one number s along the side's tangent
//! t, into the dry). With the stiffness A, the inlet's load f, `q = S κ` and P the front's further pressure:
//! 1. `A p = f` off the front, `(A p)_i + w_i·d_i/δt = 0` on it, where `p_i = q_i + P(X_i) + ∇P·d_i`;
//! 2. `q_i w_i·e − S Σ (d_i − d_j)·e/h_ij = S [Σ (X_i − X_j)·e/h_ij − cos θ t·e]` for both directions e, at ends for `e = t` alone and
//!    only there with the angle θ.
//!
//! The second is the curve's weak form, `κ n = −X_ss`, which also spreads nodes evenly (Barrett, Garcke & Nürnberg 2007, J. Comput. Phys.
//! 222, 441; recalled). An end that would go back is held: its s and its equation go; one whose front
//! has come to lie on the wet side, nearer than a receding angle of 10 degrees, goes back under that angle.

use super::line::Line;
use super::setup::{Drive, Setup};
use super::sides::{Place, Sides};
use super::state::State;
use super::wet::Wet;
use crate::base::plane::{Vector, cross, distance, dot, turn, way};
use crate::base::{Point, Result};
use crate::geometry::Side;
use crate::numerics::fem::{Entry, solve_sparse};

/// Ends that go back by less than this times h are not held.
const BACK: f64 = 1e-10;
/// The receding angle, rad: a front that lies on the side it has wetted draws its end back.
const RECEDING: f64 = 10.0 * std::f64::consts::PI / 180.0;
/// Corners that turn away by less than this are none, rad.
const SHORT: f64 = 0.3;
/// Most times that ends are held and the step solved again.
const HOLDS: usize = 4;

/// What a step brings.
#[derive(Debug)]
pub(super) struct Moves {
    /// Moves of all nodes of all fronts; those of ends along the tangent.
    pub nodes: Vec<Vec<Vector>>,
    /// Ways of the ends along their sides; below zero where they recede.
    pub ends: Vec<[f64; 2]>,
    /// Area that flows in per time.
    pub flow: f64,
    /// Mean pressure at the inlet.
    pub inlet_pressure: f64,
    /// Systems solved.
    pub solves: usize,
}

impl Moves {
    /// A part of the step: all moves by a factor.
    pub fn scale(&mut self, factor: f64) {
        self.nodes.iter_mut().flatten().for_each(|d| *d = d.map(|d| factor * d));
        self.ends.iter_mut().flatten().for_each(|s| *s *= factor);
    }
}

/// What a node of a moving front is.
#[derive(Debug, Clone, Copy)]
enum Freedom {
    /// Inside: two unknowns from this one on.
    Free(u32),
    /// An end that slides along a tangent: one unknown.
    Slides(u32, Vector),
    /// An end that is held.
    Held,
}

impl Freedom {
    /// The unknowns with their share in the move's component along e.
    fn along(self, e: Vector) -> impl Iterator<Item = (u32, f64)> {
        let pairs = match self {
            Freedom::Free(k) => [(k, e[0]), (k + 1, e[1])],
            Freedom::Slides(k, t) => [(k, dot(t, e)), (k, 0.0)],
            Freedom::Held => [(0, 0.0); 2],
        };
        pairs.into_iter().filter(|(_, share)| *share != 0.0)
    }
}

/// What an end may do.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Hold {
    /// It advances under its angle.
    Advances,
    /// It stays.
    Stays,
    /// It goes back under the receding angle.
    Recedes,
}

/// The tangent of a side at an end of a front, into the dry, and the cosine of the angle there.
fn end(setup: &Setup, sides: &Sides, place: Place, last: bool, hold: Hold) -> (Vector, f64) {
    let outline = &sides.outlines[place.on];
    if hold == Hold::Recedes {
        let t = outline.tangent(place.at, last, setup.size);
        return (if last { [-t[0], -t[1]] } else { t }, RECEDING.cos());
    }
    let t = outline.tangent(place.at, !last, setup.size);
    let side = outline.chords[outline.chord(place.at, !last)].side;
    let angle = if matches!(side, Side::Obstacle(_)) { setup.obstacle_angle } else { setup.seal_angle };
    (if last { [-t[0], -t[1]] } else { t }, angle.cos())
}

/// Whether a front lies on the wet side behind its end: nearer to it than the receding angle.
fn is_flat(sides: &Sides, line: &Line, which: usize) -> bool {
    let Some(ends) = line.ends else { return false };
    let last = which == 1;
    let Place { on, at } = ends[which];
    let t = sides.outlines[on].tangent(at, last, 0.0);
    let back = if last { t } else { [-t[0], -t[1]] };
    let count = line.nodes.len();
    let [end, next] = if last { [count - 1, count - 2] } else { [0, 1] };
    let edge = way(line.nodes[end], line.nodes[next]);
    // the liquid stands to the left of the front: seen from its start to the left, from its end to the right
    let across = if last { -cross(back, edge) } else { cross(back, edge) };
    across.abs().atan2(dot(back, edge)) < RECEDING || (across > 0.0 && dot(back, edge) > 0.0)
}

/// Whether an end rests on a corner that the front has yet to turn about: its angle with the side ahead would be below zero.
fn is_short_of_corner(sides: &Sides, line: &Line, which: usize) -> bool {
    let Some(ends) = line.ends else { return false };
    let last = which == 1;
    let Place { on, at } = ends[which];
    let [ahead, behind] = [!last, last].map(|forward| sides.outlines[on].tangent(at, forward, 0.0));
    // how far the side turns away from the liquid there
    let corner = if last { turn(ahead, behind) } else { turn(behind, ahead) };
    let corner = -corner;
    let back = if last { behind } else { [-behind[0], -behind[1]] };
    let count = line.nodes.len();
    let [end, next] = if last { [count - 1, count - 2] } else { [0, 1] };
    let edge = way(line.nodes[end], line.nodes[next]);
    let angle = if last { turn(back, edge) } else { -turn(back, edge) };
    let angle = if angle < -0.5 * std::f64::consts::PI { angle + std::f64::consts::TAU } else { angle };
    corner > SHORT && angle < corner
}

/// Solves a step of the length `dt`.
///
/// # Errors
/// [`crate::base::Error::Failed`] if the system cannot be solved.
pub(super) fn solve(setup: &Setup, sides: &Sides, state: &State, wet: &Wet, dt: f64) -> Result<Moves> {
    let hold =
        |line: &Line, which: usize| if is_short_of_corner(sides, line, which) { Hold::Stays } else { Hold::Advances };
    let mut held: Vec<[Hold; 2]> = state.lines.iter().map(|line| [hold(line, 0), hold(line, 1)]).collect();
    let mut solves = 0;
    loop {
        let mut moves = solve_held(setup, sides, state, wet, dt, &held)?;
        solves += 1;
        let mut back = false;
        for (k, ends) in moves.ends.iter().enumerate() {
            for which in 0..2 {
                let step = ends[which] / (BACK * setup.size);
                let hold = &mut held[k][which];
                let next = match *hold {
                    Hold::Advances if step < -1.0 && is_flat(sides, &state.lines[k], which) => Hold::Recedes,
                    Hold::Advances if step < -1.0 => Hold::Stays,
                    Hold::Recedes if step > 1.0 => Hold::Stays,
                    same => same,
                };
                back |= next != *hold;
                *hold = next;
            }
        }
        if !back || solves > HOLDS {
            for (k, ends) in moves.ends.iter_mut().enumerate() {
                for which in 0..2 {
                    let wrong = if held[k][which] == Hold::Recedes { ends[which] > 0.0 } else { ends[which] < 0.0 };
                    if wrong {
                        let nodes = &mut moves.nodes[k];
                        let node = if which == 0 { 0 } else { nodes.len() - 1 };
                        nodes[node] = [0.0; 2];
                        ends[which] = 0.0;
                    }
                }
            }
            return Ok(Moves { solves, ..moves });
        }
    }
}

fn solve_held(setup: &Setup, sides: &Sides, state: &State, wet: &Wet, dt: f64, held: &[[Hold; 2]]) -> Result<Moves> {
    let vertices = wet.region.points.len();
    let tension = setup.tension;
    let middle = sides.inlet_middle();
    let slope = setup.gradient;
    let further = |p: Point| dot(slope, way(middle, p));

    // unknowns: p or q at vertices, then the moves
    let mut count = vertices as u32;
    let mut freedoms: Vec<Vec<Freedom>> = Vec::with_capacity(state.lines.len());
    let mut front: Vec<Option<(usize, usize)>> = vec![None; vertices];
    for (k, line) in state.lines.iter().enumerate() {
        let last = line.nodes.len() - 1;
        let mut own = Vec::new();
        for node in 0..=last {
            if line.frozen {
                break;
            }
            front[wet.vertices[k][node] as usize] = Some((k, node));
            let which = if node == 0 { Some(0) } else { (node == last).then_some(1) };
            own.push(match (which, line.ends) {
                (Some(which), Some(_)) if held[k][which] == Hold::Stays => Freedom::Held,
                (Some(which), Some(places)) => {
                    count += 1;
                    Freedom::Slides(count - 1, end(setup, sides, places[which], which == 1, held[k][which]).0)
                }
                _ => {
                    count += 2;
                    Freedom::Free(count - 2)
                }
            });
        }
        freedoms.push(own);
    }
    let freedom = |vertex: u32| front[vertex as usize].map(|(k, node)| freedoms[k][node]);

    let mut b = vec![0.0; count as usize];
    let mut entries: Vec<Entry> = Vec::with_capacity(wet.stiffness.len() + 20 * count as usize);
    let given = match setup.drive {
        Drive::Flow => None,
        Drive::Head(head) => Some(head),
    };
    let mut is_given = vec![false; vertices];
    if given.is_some() {
        wet.inlet.iter().flatten().for_each(|&v| is_given[v as usize] = true);
    }
    let tilted = slope != [0.0; 2];
    for &(i, j, a) in &wet.stiffness {
        if is_given[i as usize] {
            continue;
        }
        entries.push((i, j, a));
        if tilted && let Some(freedom) = freedom(j) {
            b[i as usize] -= a * further(wet.region.points[j as usize]);
            entries.extend(freedom.along(slope).map(|(k, share)| (i, k, a * share)));
        }
    }
    for &[i, j] in &wet.inlet {
        let length = distance(wet.region.points[i as usize], wet.region.points[j as usize]);
        if given.is_none() {
            b[i as usize] += 0.5 * length;
            b[j as usize] += 0.5 * length;
        }
    }
    if let Some(head) = given {
        for (v, _) in is_given.iter().enumerate().filter(|(_, given)| **given) {
            entries.push((v as u32, v as u32, 1.0));
            b[v] = head;
        }
    }

    for (k, line) in state.lines.iter().enumerate().filter(|(_, line)| !line.frozen) {
        let last = line.nodes.len() - 1;
        let weights = weights(&line.nodes);
        for node in 0..=last {
            let row = wet.vertices[k][node];
            let own = freedoms[k][node];
            let w = weights[node];
            entries.extend(own.along(w).map(|(column, share)| (row, column, share / dt)));
            let tests: &[(u32, Vector, f64)] = &match own {
                Freedom::Free(at) => vec![(at, [1.0, 0.0], 0.0), (at + 1, [0.0, 1.0], 0.0)],
                Freedom::Slides(at, t) => {
                    let which = usize::from(node == last);
                    let place = line.ends.map(|ends| ends[which]);
                    let cosine = |place| end(setup, sides, place, which == 1, held[k][which]).1;
                    vec![(at, t, place.map_or(0.0, cosine))]
                }
                Freedom::Held => vec![],
            };
            for &(at, e, cosine) in tests {
                entries.push((at, row, dot(w, e)));
                b[at as usize] -= tension * cosine;
                let neighbours = [node.checked_sub(1), (node < last).then_some(node + 1)];
                for other in neighbours.into_iter().flatten() {
                    let apart = way(line.nodes[other], line.nodes[node]);
                    let factor = tension / distance(line.nodes[other], line.nodes[node]);
                    b[at as usize] += factor * dot(apart, e);
                    entries.extend(own.along(e).map(|(column, share)| (at, column, -factor * share)));
                    let others = freedoms[k][other].along(e);
                    entries.extend(others.map(|(column, share)| (at, column, factor * share)));
                }
            }
        }
    }
    let x = solve_sparse(&entries, &b)?;

    let value = |freedom: Freedom| match freedom {
        Freedom::Free(k) => [x[k as usize], x[k as usize + 1]],
        Freedom::Slides(k, t) => t.map(|t| t * x[k as usize]),
        Freedom::Held => [0.0; 2],
    };
    let mut moves = Moves { nodes: vec![], ends: vec![], flow: 0.0, inlet_pressure: 0.0, solves: 1 };
    for (line, own) in state.lines.iter().zip(&freedoms) {
        let way_of = |freedom: Option<&Freedom>| match freedom {
            Some(Freedom::Slides(k, _)) => x[*k as usize],
            _ => 0.0,
        };
        moves.ends.push([way_of(own.first()), way_of(own.last())]);
        let nodes: Vec<Vector> = own.iter().map(|&freedom| value(freedom)).collect();
        moves.flow += weights(&line.nodes).iter().zip(&nodes).map(|(&w, &d)| dot(w, d)).sum::<f64>() / dt;
        moves.nodes.push(nodes);
    }
    let (mut sum, mut whole) = (0.0, 0.0);
    for &[i, j] in &wet.inlet {
        let length = distance(wet.region.points[i as usize], wet.region.points[j as usize]);
        sum += 0.5 * length * (x[i as usize] + x[j as usize]);
        whole += length;
    }
    moves.inlet_pressure = sum / whole;
    Ok(moves)
}

/// Normals into the air summed over half edges, `Σ (dy, −dx)/2`.
pub(super) fn weights(nodes: &[Point]) -> Vec<Vector> {
    let mut weights = vec![[0.0; 2]; nodes.len()];
    for (k, pair) in nodes.windows(2).enumerate() {
        let [x, y] = way(pair[0], pair[1]);
        for w in &mut weights[k..k + 2] {
            w[0] += 0.5 * y;
            w[1] -= 0.5 * x;
        }
    }
    weights
}

/// Flow through the wet region at unit pressure between the inlet and the moving fronts.
///
/// # Errors
/// As [`solve`].
pub(super) fn conductance(state: &State, wet: &Wet) -> Result<f64> {
    let mut given: Vec<Option<f64>> = vec![None; wet.region.points.len()];
    for (line, vertices) in state.lines.iter().zip(&wet.vertices) {
        if !line.frozen {
            vertices.iter().for_each(|&v| given[v as usize] = Some(0.0));
        }
    }
    wet.inlet.iter().flatten().for_each(|&v| given[v as usize] = Some(1.0));
    let free = wet.stiffness.iter().filter(|(i, _, _)| given[*i as usize].is_none());
    let mut entries: Vec<Entry> = free.copied().collect();
    let held = given.iter().enumerate().filter(|(_, given)| given.is_some());
    entries.extend(held.map(|(v, _)| (v as u32, v as u32, 1.0)));
    let b: Vec<f64> = given.iter().map(|given| given.unwrap_or(0.0)).collect();
    let p = solve_sparse(&entries, &b)?;
    let at_inlet = wet.stiffness.iter().filter(|(i, _, _)| given[*i as usize] == Some(1.0));
    Ok(at_inlet.map(|&(_, j, a)| a * p[j as usize]).sum())
}
