//! When to warn: judged from plain numbers, so that every warning can be tried without a solve.

use crate::base::Point;
use crate::base::warning::{Code, Warning};
use crate::input::case::Order;
use crate::theory::departure::NEGLIGIBLE;
use crate::theory::edge_layer::{Band, Margin, THICK};
use crate::theory::ideal::{Goal, KNIFE_EDGE, ShapeFactor};
use crate::theory::inertia::{LIMIT, SMALL, TESTED, UNDECIDED, second};
use crate::theory::streaklines::{Ending, FIRST_ORDER, HIGHEST, is_beyond_first_order};

/// What warnings are judged by.
#[derive(Debug, Clone)]
pub(super) struct Facts {
    /// What reading the drawings had to say.
    pub drawing: Vec<String>,
    /// What was wanted, and whether it was reached.
    pub goal: Goal,
    pub reached: bool,
    pub shape_factor: ShapeFactor,
    /// Obstacles with a sharp tail.
    pub tails: Vec<Tail>,
    /// Gap over reference length.
    pub gap_over_length: f64,
    pub probes: Vec<Probe>,
    /// Corners of solids.
    pub corners: Vec<Corner>,
    /// Why there is no variant with moved edges, where it was asked for and could not be solved.
    pub no_moved_edges: Option<String>,
    /// Where the edge-layer term is switched off.
    pub edge_bands: Vec<Band>,
    pub reduced_reynolds: f64,
    /// None if the inertia departure was not asked for.
    pub inertia: Option<Inertial>,
    pub endings: Vec<Ending>,
    pub dye_height: f64,
    pub reference: Reference,
}

/// An obstacle with a sharp tail.
#[derive(Debug, Clone)]
pub(super) struct Tail {
    pub name: String,
    pub at: Point,
}

/// A probe, its distance from the nearest solid edge and the gap there, m.
#[derive(Debug, Clone)]
pub(super) struct Probe {
    pub name: String,
    pub at: Point,
    pub distance: f64,
    pub gap: f64,
}

/// A corner of a solid and the angle of the fluid there, rad.
#[derive(Debug, Clone, Copy)]
pub(super) struct Corner {
    pub at: Point,
    pub fluid_angle: f64,
}

/// What is to be known of the inertia departure.
#[derive(Debug, Clone)]
pub(super) struct Inertial {
    /// The order it was computed to.
    pub order: Order,
    /// `b² max|dV_s/ds|/ν` along solid edges.
    pub edge_number: f64,
    /// Largest local inertia number beyond reach of the edge layer, and where.
    pub number: f64,
    pub at: Point,
    /// Where the edge term is switched off, and what the length of that matters.
    pub bands: Vec<Band>,
    pub band_sensitivity: Option<f64>,
    /// Root mean square of the gap-mean departure, and what the case tolerates of the speed; over the mean speed.
    pub gap_mean: f64,
    pub tolerated: f64,
}

/// What length the Reynolds numbers use.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Reference {
    /// One that the case states, or that of an obstacle.
    Given,
    /// The width of the cell, for want of another.
    Width,
}

/// All warnings that the facts give reason for.
pub(super) fn judge(facts: &Facts) -> Vec<Warning> {
    let mut list: Vec<Warning> = facts.drawing.iter().map(|text| Warning::note(Code::Drawing, text)).collect();
    list.extend(of_goal(facts));
    list.extend(of_outline(&facts.shape_factor));
    list.extend(facts.tails.iter().map(of_tail));
    list.extend(of_gap(facts.gap_over_length));
    list.extend(facts.probes.iter().filter_map(of_probe));
    list.extend(of_knives(&facts.corners));
    list.extend(facts.no_moved_edges.as_deref().map(of_moved));
    list.extend(of_edge_bands(&facts.edge_bands));
    match &facts.inertia {
        None => list.extend(of_inertia_left_out(facts.reduced_reynolds)),
        Some(inertia) => {
            list.extend(of_reduced(inertia.order, facts.reduced_reynolds));
            list.extend(of_ideal_lines(facts.reduced_reynolds));
            list.extend(of_number(inertia));
            list.extend(of_edge_number(inertia));
            list.extend(of_inertia_bands(inertia));
        }
    }
    list.extend(of_rest(&facts.endings));
    list.extend(of_corner(&facts.endings));
    list.extend(of_cut(&facts.endings));
    list.extend(of_height(facts.dye_height));
    list.extend((facts.reference == Reference::Width).then(|| {
        Warning::note(Code::NoObstacle, "there is no obstacle: the Reynolds numbers use the width of the cell")
    }));
    list
}

fn of_goal(facts: &Facts) -> Option<Warning> {
    let Goal::Error { relative, most_triangles } = facts.goal else { return None };
    let reached = facts.shape_factor.relative_half_width;
    (!facts.reached).then(|| {
        let message = format!(
            "the target was not reached: relative half-width {reached:.2e} instead of {relative:.1e} with the {most_triangles} triangles \
             allowed"
        );
        Warning::new(Code::TargetMissed, message, "raise mesh.max_triangles or mesh.error").value(reached)
    })
}

fn of_outline(shape: &ShapeFactor) -> Option<Warning> {
    let (allowance, half) = (shape.outline_allowance, shape.half_width());
    // without curves both vanish but for rounding
    (allowance > half.max(0.0)).then(|| {
        let message = format!(
            "the outline allowance {allowance:.1e} exceeds half the distance of the bounds {half:.1e}: the bounds hold for the polygon \
             through the outline's points"
        );
        let remedy = "for the curve add the allowance on both sides, or ask for a smaller mesh.error";
        Warning::new(Code::OutlineAllowance, message, remedy).value(allowance)
    })
}

fn of_tail(tail: &Tail) -> Warning {
    let message = format!(
        "{}: the cell shows the ideal flow without circulation, never the one that leaves a sharp tail smoothly; deflected streaklines \
         behind it are no sign of lift",
        tail.name
    );
    let remedy = "the rows on circulation tell what the pattern lacks";
    Warning::new(Code::SharpTail, message, remedy).at(tail.at)
}

fn of_gap(ratio: f64) -> Option<Warning> {
    (ratio > THICK).then(|| {
        let message = format!(
            "the gap is {ratio:.2} of the reference length: the edge layer, of order b/L, changes the pattern by about as much"
        );
        Warning::new(Code::ThickGap, message, "take a thinner gap or a larger obstacle, or count the edge layer in").value(ratio)
    })
}

fn of_probe(probe: &Probe) -> Option<Warning> {
    Margin::REACH.holds(probe.distance, probe.gap).then(|| {
        let message = format!(
            "probe \"{}\" stands within three gaps of a solid edge, where no-slip at the edge slows the real flow: its ideal speed is the \
             one outside that layer",
            probe.name
        );
        Warning::new(Code::ProbeNearEdge, message, "move it away from the edge, or do not compare it with the bench").at(probe.at).value(probe.distance / probe.gap)
    })
}

fn of_knives(corners: &[Corner]) -> Option<Warning> {
    let knives: Vec<&Corner> = corners.iter().filter(|corner| corner.fluid_angle > KNIFE_EDGE).collect();
    let sharpest = knives.iter().max_by(|a, b| a.fluid_angle.total_cmp(&b.fluid_angle))?;
    let message = format!(
        "{} with a fluid angle near 360 degrees: the ideal speed there has no limit, and no correction of first order in the gap exists \
         close to them",
        counted(knives.len(), "sharp edge", "sharp edges")
    );
    let remedy = "round them as the cutter does, or judge the picture three gaps away from them";
    Some(Warning::new(Code::KnifeEdge, message, remedy).at(sharpest.at).value(sharpest.fluid_angle))
}

fn of_moved(why: &str) -> Warning {
    let message = format!("there is no variant with moved edges to judge the edge layer by: {why}");
    Warning::new(Code::NoMovedEdges, message, "part the outlines further, or go by the edge-layer term alone")
}

fn of_edge_bands(bands: &[Band]) -> Option<Warning> {
    let sharpest = sharpest(bands)?;
    let message = format!(
        "the edge-layer term is switched off within one gap of {} sharper than 60 degrees, where first order in the gap has no answer",
        counted(bands.len(), "edge", "edges")
    );
    let remedy = "judge the picture away from there, or round the edges as the cutter does";
    Some(Warning::new(Code::EdgeLayerOff, message, remedy).at(sharpest.at).value(sharpest.fluid_angle))
}

fn of_inertia_left_out(reduced: f64) -> Option<Warning> {
    (reduced > SMALL).then(|| {
        let message = format!(
            "reduced Reynolds number {reduced:.2}: inertia in the gap is not small, and its departure was not asked for"
        );
        Warning::new(Code::InertiaLeftOut, message, "ask for it, or take a slower flow or a thinner gap").value(reduced)
    })
}

fn of_reduced(order: Order, reduced: f64) -> Option<Warning> {
    let (limit, shown) = match order {
        Order::First => (TESTED, "errors of the first-order departure of 11 to 14 % at 0.27 and 23 to 29 % at 0.6"),
        Order::Second => (
            second::LIMIT,
            "errors of the second-order departure of 6 to 10 % at 0.6, which grow fast: the series no longer decides",
        ),
    };
    (reduced > limit).then(|| {
        let message =
            format!("reduced Reynolds number {reduced:.2}: three-dimensional solutions for a post show {shown}");
        Warning::new(Code::ReducedReynolds, message, "count such an error in, or take a slower flow or a thinner gap")
            .value(reduced)
    })
}

fn of_ideal_lines(reduced: f64) -> Option<Warning> {
    is_beyond_first_order(reduced).then(|| {
        let message = format!(
            "streaklines are those of the ideal pattern: at a reduced Reynolds number of {reduced:.2}, above {FIRST_ORDER}, first order no \
             longer tells where they go"
        );
        Warning::note(Code::IdealLines, message).value(reduced)
    })
}

fn of_number(inertia: &Inertial) -> Option<Warning> {
    let Inertial { number, at, order, .. } = *inertia;
    let (limit, which) = match order {
        Order::First => (LIMIT, "first-order"),
        Order::Second => (second::LOCAL_LIMIT, "second-order"),
    };
    (number > limit).then(|| {
        let message = format!(
            "the local inertia number reaches {number:.2} at x = {:.4} m, y = {:.4} m: above {limit} the {which} departure is no longer \
             quantitative",
            at[0], at[1]
        );
        Warning::new(Code::InertiaNumber, message, "leave that place out, or take a slower flow or a thinner gap").at(at).value(number)
    })
}

fn of_edge_number(inertia: &Inertial) -> Option<Warning> {
    let number = inertia.edge_number;
    (number > second::EDGE_LIMIT).then(|| {
        let message = format!(
            "the edge number b^2 max|dV_s/ds|/nu reaches {number:.2}: above {} the series of the inertia departure no longer decides beside \
             solid edges, whatever Re* is",
            second::EDGE_LIMIT
        );
        Warning::new(Code::EdgeNumber, message, "take a slower flow or a thinner gap, or round the tightest bends").value(number)
    })
}

/// Nothing where all the departure that could change is a small part of what is tolerated.
fn of_inertia_bands(inertia: &Inertial) -> Option<Warning> {
    let Inertial { bands, gap_mean, tolerated, .. } = inertia;
    let (change, sharpest) = (inertia.band_sensitivity?, sharpest(bands)?);
    if change * gap_mean <= NEGLIGIBLE * tolerated {
        return None;
    }
    let message = format!(
        "the edge inertia term is switched off within one gap of {}: halving or doubling that length changes the gap-mean departure by up to \
         {:.0} % (root mean square)",
        counted(bands.len(), "sharp corner", "sharp corners"),
        100.0 * change
    );
    let told = if change <= UNDECIDED {
        Warning::note(Code::EdgeInertiaOff, message + "; the choice matters little")
    } else {
        let remedy =
            "first order does not decide there: judge the picture away from the corners, or take a slower flow";
        Warning::new(Code::EdgeInertiaOff, message, remedy)
    };
    Some(told.at(sharpest.at).value(change))
}

fn of_rest(endings: &[Ending]) -> Option<Warning> {
    let resting = count(endings, Ending::Stagnation);
    (resting > 0).then(|| {
        let message = format!(
            "{resting} of {} streaklines end at a stagnation point, where dye takes for ever to arrive",
            endings.len()
        );
        Warning::new(Code::LineAtRest, message, "other starts avoid them").value(resting as f64)
    })
}

fn of_corner(endings: &[Ending]) -> Option<Warning> {
    let held = count(endings, Ending::Corner);
    (held > 0).then(|| {
        let message = format!(
            "{held} of {} streaklines end beside a corner or an edge, where neither the mesh nor first order tells which way they go; \
             other starts avoid them",
            endings.len()
        );
        Warning::note(Code::LineAtCorner, message).value(held as f64)
    })
}

fn of_cut(endings: &[Ending]) -> Option<Warning> {
    let cut = count(endings, Ending::Steps);
    (cut > 0).then(|| {
        let message = format!("{cut} of {} streaklines were cut: they needed too many steps", endings.len());
        Warning::new(Code::LineCut, message, "take other starts, or dye further from the plates").value(cut as f64)
    })
}

fn of_height(height: f64) -> Option<Warning> {
    (height.abs() > HIGHEST).then(|| {
        let message = format!("dye height {height} lies at a plate, where nothing moves: {HIGHEST} is shown instead");
        Warning::note(Code::DyeAtPlate, message).value(height)
    })
}

fn count(endings: &[Ending], wanted: Ending) -> usize {
    endings.iter().filter(|&&ending| ending == wanted).count()
}

fn sharpest(bands: &[Band]) -> Option<&Band> {
    bands.iter().max_by(|a, b| a.fluid_angle.total_cmp(&b.fluid_angle))
}

fn counted(count: usize, one: &str, many: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { many })
}

#[cfg(test)]
mod tests;
