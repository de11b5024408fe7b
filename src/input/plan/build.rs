//! From a case to the plan of its fluid, with every check that needs geometry.

use super::Outline;
use super::walls::{EDGE, with_bumps};
use super::{discs, lines};
use crate::base::Point;
use crate::base::error::Problems;
use crate::base::plane;
use crate::base::plane::Rect;
use crate::base::units::Dimension;
use crate::geometry::boxes::Boxes;
use crate::geometry::cut::{Bump, WallLine};
use crate::geometry::meet::{Body, MOST_MEETINGS, Meeting, NARROWEST, Part, Spans, THIN_OUT, winding};
use crate::geometry::span::{Extent, is_near};
use crate::geometry::{Curve, Piece, Plan, PlanObstacle, SLIGHT, Side, TailChoice, Wall};
use crate::input::case::{Case, InputFile, Obstacle, StreaklineSettings};
use std::collections::{BTreeMap, BTreeSet};
use std::f64::consts::PI;

/// A named tail stands so near its corner, over the height of the obstacle.
const NEAR_TAIL: f64 = 0.1;

impl Plan {
    /// The plan of a case: the cell's boundary with what stands on the side walls of a rectangle (lower wall, outlet, upper wall,
    /// inlet, counter-clockwise), then each free obstacle (clockwise).
    ///
    /// Every mistake is added to `problems` at the obstacle or probe it belongs to: numbers that make no shape; outlines that
    /// cross themselves, one another, a wall or an end, stand inside one another, leave the cell or close it; passages
    /// narrower than 1e-6 of the inlet's width; probes outside the fluid. None if there is any.
    pub fn new(case: &Case, problems: &mut Problems) -> Option<Plan> {
        Plan::read(case, problems).map(|(plan, _)| plan)
    }

    /// The same with the files that the outlines were read from.
    pub(crate) fn read(case: &Case, problems: &mut Problems) -> Option<(Plan, Vec<InputFile>)> {
        let before = problems.list.len();
        let mut outlines = Vec::new();
        let cell = Some(case.cell.size());
        for (k, obstacle) in case.obstacles.iter().enumerate() {
            match Outline::within(obstacle, &case.file, cell) {
                Ok(found) => outlines.extend(found.into_iter().map(|outline| (k, outline))),
                Err(found) => problems.merge(found),
            }
        }
        let inputs = outlines.iter().filter_map(|(_, outline): &(usize, Outline)| outline.input.clone()).collect();
        let mut builder = Builder { case, outlines, problems, limit: NARROWEST * case.cell.inlet_width() };
        let plan = builder.build();
        if builder.problems.list.len() > before { None } else { plan.map(|plan| (plan, inputs)) }
    }
}

/// An obstacle on its way into the plan.
pub(super) struct Standing {
    curves: Vec<Curve>,
    parts: Vec<Part>,
    bumps: Vec<Bump>,
    on_wall: Option<Wall>,
    pub extent: Extent,
}

pub(super) struct Builder<'a> {
    pub case: &'a Case,
    /// Outlines, each with the obstacle of the case it belongs to; everything else counts outlines.
    pub outlines: Vec<(usize, Outline)>,
    pub problems: &'a mut Problems,
    /// Narrowest passage, m.
    pub limit: f64,
}

/// An obstacle inside another.
#[derive(Debug, Clone, Copy)]
struct Nested {
    inner: usize,
    outer: usize,
    at: Point,
}

/// Obstacles that stand inside one another, save the pairs passed over; at most so many.
fn nested(
    standing: &[Option<Standing>],
    spans: &Spans,
    passed_over: impl Fn((usize, usize)) -> bool,
    most: usize,
) -> Vec<Nested> {
    let mut found = Vec::new();
    let extent = |s: &Option<Standing>| s.as_ref().map_or(Rect::EMPTY, |s| s.extent.rect());
    Boxes::new(standing.iter().map(extent)).pairs(|i, j| {
        if found.len() < most && !passed_over((i, j)) {
            let mut either = [(i, j), (j, i)].into_iter();
            found.extend(either.find_map(|(inner, outer)| {
                stands_inside(standing, spans, inner, outer).map(|at| Nested { inner, outer, at })
            }));
        }
        found.len() < most
    });
    found
}

/// A place of one obstacle inside another, if it stands there; those on one wall stand side by side.
fn stands_inside(standing: &[Option<Standing>], spans: &Spans, inner: usize, outer: usize) -> Option<Point> {
    let (small, large) = (standing[inner].as_ref()?, standing[outer].as_ref()?);
    let share_wall = small.on_wall.is_some() && small.on_wall == large.on_wall;
    if share_wall || !large.extent.rect().holds(&small.extent.rect()) {
        return None;
    }
    let part = small.parts.iter().find(|part| part.inside)?;
    let at = small.curves[part.curve].point(0.5 * (part.from + part.to));
    (winding(spans, outer, at) != 0).then_some(at)
}

impl Builder<'_> {
    fn build(&mut self) -> Option<Plan> {
        if !self.case.cell.shape.is_known() {
            let remedy = "read the case by twinplate::input::read or read_text, which draws it";
            self.problems.add(&self.case.file, None, "the outline of the cell has not been drawn yet", remedy);
            return None;
        }
        let [length, width] = self.case.cell.size();
        if !(length.is_finite() && width.is_finite() && length > 0.0 && width > 0.0) {
            let message = format!("the cell of length {length} m and width {width} m has no area");
            self.problems.add(&self.case.file, None, message, "give lengths and widths above zero");
            return None;
        }
        let standing: Vec<Option<Standing>> = (0..self.outlines.len()).map(|k| self.stand(k)).collect();
        // Indices of the bodies are those of the outlines; unusable ones have no parts. The boundary of a cell that is no rectangle is
        // the last.
        let edge: Vec<Piece> = match self.case.cell.shape.rectangle() {
            Some(_) => Vec::new(),
            None => self.case.cell.shape.boundary(),
        };
        let edge_parts = (0..edge.len()).map(|k| Part { curve: k, from: edge[k].from, to: edge[k].to, inside: true });
        let edge_parts: Vec<Part> = edge_parts.collect();
        let edge: Vec<Curve> = edge.into_iter().map(|piece| piece.curve).collect();
        let mut bodies: Vec<Body> = standing
            .iter()
            .map(|s| match s {
                Some(s) => Body { curves: &s.curves, parts: s.parts.clone() },
                None => Body { curves: &[], parts: Vec::new() },
            })
            .collect();
        bodies.push(Body { curves: &edge, parts: edge_parts });
        let spans = Spans::new(bodies);
        // rings inside one another are n^2 pairs to compare, few of which meet
        if !self.is_heap(&standing, &spans) {
            let met = self.check_meetings(&standing, &spans);
            self.check_within(&standing, &spans, &met);
            self.check_nesting(&standing, &spans, &met);
            self.check_feet(&standing, &met);
        }
        self.check_probes(&standing, &spans);
        let standing: Vec<Standing> = standing.into_iter().collect::<Option<_>>()?;
        let plan = self.assemble(standing);
        self.check_tails(&plan);
        let mistakes = discs::mistakes(self.case, &plan).into_iter().chain(lines::mistakes(self.case, &plan));
        for (place, message, remedy) in mistakes {
            self.problems.add(&self.case.file, Some(place), message, remedy);
        }
        self.check_needles(&plan);
        Some(plan)
    }

    /// Needles with a diameter stand clear of walls and obstacles. Of those outside the fluid was told before.
    fn check_needles(&mut self, plan: &Plan) {
        let case = self.case;
        let StreaklineSettings { seeding, needle: Some(needle), .. } = &case.streaklines else { return };
        let Some(starts) = seeding.starts().filter(|_| self.problems.is_empty()) else { return };
        for (k, &at) in starts.places.iter().enumerate() {
            if plan.is_solid_near(at, 0.5 * needle.diameter) {
                let size = Dimension::Length.show(needle.diameter);
                let message = format!("needle {} of {size} at {} touches a wall or an obstacle", k + 1, self.place(at));
                starts.blame(k, &case.file, self.problems, message, "move it away, or take a thinner one");
            }
        }
    }

    /// A tail that the case names stands at a corner.
    fn check_tails(&mut self, plan: &Plan) {
        let corners = plan.corners();
        for (k, obstacle) in plan.obstacles.iter().enumerate() {
            let TailChoice::At(at) = obstacle.tail else { continue };
            let own = corners.iter().filter(|corner| plan.pieces[corner.after].side == Side::Obstacle(k as u32));
            let mut own: Vec<Point> =
                own.filter(|corner| corner.fluid_angle > PI + SLIGHT).map(|corner| corner.at).collect();
            own.sort_by(|a, b| plane::distance(*a, at).total_cmp(&plane::distance(*b, at)));
            if own.first().is_some_and(|&nearest| plane::distance(nearest, at) <= NEAR_TAIL * obstacle.height) {
                continue;
            }
            let listed = own.iter().take(4).map(|&corner| self.place(corner)).collect::<Vec<_>>().join(", ");
            let nearest = if own.is_empty() {
                "it has no corner that could be one".into()
            } else {
                format!("its nearest corners are {listed}")
            };
            let message =
                format!("the tail of \"{}\" at {} is not at a corner of it: {nearest}", obstacle.name, self.place(at));
            self.add(k, message, "give the place of a corner, or tail = false");
        }
    }

    pub fn add(&mut self, obstacle: usize, message: String, remedy: &str) {
        let place = self.case.obstacles[self.outlines[obstacle].0].place.clone();
        self.problems.add(&self.case.file, Some(place), message, remedy);
    }

    /// A place as messages have it: in the case's own unit.
    pub fn place(&self, at: Point) -> String {
        self.case.cell.unit.place(at)
    }

    pub fn name(&self, obstacle: usize) -> &str {
        &self.outlines[obstacle].1.name
    }

    /// The outline of one obstacle, checked against the cell and cut along its wall.
    fn stand(&mut self, k: usize) -> Option<Standing> {
        let outline = &mut self.outlines[k].1;
        let (mut curves, on_wall) = (std::mem::take(&mut outline.curves), outline.on_wall);
        let whole = Body::whole(&curves).parts;
        let extent = Extent::whole(&curves)?;
        let size = extent.rect().extent();
        if size < self.limit {
            let message = format!(
                "\"{}\" is {:.3e} mm large, less than the smallest size of {:.3e} mm (1e-6 of the inlet's width)",
                self.name(k),
                1e3 * size,
                1e3 * self.limit
            );
            self.add(k, message, "check its units, or leave it out");
            return None;
        }
        if self.is_in_other_units(k, &extent) || self.is_small_bubble(k, &extent) {
            return None;
        }
        let rectangle = self.case.cell.shape.rectangle();
        if let (Some(_), None) = (on_wall, rectangle) {
            let message =
                format!("\"{}\" should stand on a wall, which obstacles do in a rectangular cell only", self.name(k));
            self.add(k, message, "let it stand free, clear of the walls, and remove on_wall");
            return None;
        }
        let Some((wall, [length, width])) = on_wall.zip(rectangle) else {
            return self.fits(k, &extent, None).then_some(Standing {
                curves,
                parts: whole,
                bumps: vec![],
                on_wall,
                extent,
            });
        };
        let line = WallLine { wall, length, width };
        line.snap(&mut curves);
        match line.cut(&curves, self.limit, Side::Obstacle(k as u32)) {
            Ok(cut) => {
                let inside = cut.parts.iter().filter(|part| part.inside);
                let extent = Extent::of(inside.map(|part| (&curves[part.curve], part.from, part.to)))?;
                let fits = self.fits(k, &extent, Some(wall));
                fits.then_some(Standing { curves, parts: cut.parts, bumps: cut.bumps, on_wall, extent })
            }
            Err(fault) => {
                self.report_cut(k, wall, fault);
                None
            }
        }
    }

    /// Whether an outline is that of a bubble smaller than the gap.
    fn is_small_bubble(&mut self, k: usize, extent: &Extent) -> bool {
        let rect = extent.rect();
        let (size, gap) = (rect.extent(), self.case.cell.gap.at(rect.middle()));
        let is_small = self.is_bubble(k) && size < gap;
        if is_small {
            let [size, gap] = [size, gap].map(|x| Dimension::Length.show(x));
            let message = format!(
                "\"{}\" is a bubble {size} large in a gap of {gap}: it spans the gap nowhere, and is no obstacle",
                self.name(k)
            );
            self.add(k, message, "leave it out, for it drifts with the fluid; or check its units");
        }
        is_small
    }

    fn is_bubble(&self, k: usize) -> bool {
        self.case.obstacles[self.outlines[k].0].bubble.is_some()
    }

    /// What to do about two outlines that meet.
    fn parting(&self, i: usize, j: usize) -> &'static str {
        if self.is_bubble(i) || self.is_bubble(j) {
            "part them by a tenth of the gap: fluid stays between a bubble and what it sits at"
        } else {
            "part them, or merge them into one outline"
        }
    }

    /// Outlines that cross or nearly touch; returns the pairs.
    fn check_meetings(&mut self, standing: &[Option<Standing>], spans: &Spans) -> BTreeSet<(usize, usize)> {
        let mut met = BTreeSet::new();
        let meetings = spans.meetings(self.limit).unwrap_or_else(|crowd| {
            let name =
                if crowd.body == standing.len() { EDGE.into() } else { format!("\"{}\"", self.name(crowd.body)) };
            let message = crowd.message(&name, &self.place(crowd.at));
            match crowd.body == standing.len() {
                true => self.add_edge(message, THIN_OUT),
                false => self.add(crowd.body, message, THIN_OUT),
            }
            BTreeMap::new()
        });
        for ((i, j), Meeting { at, distance, crosses }) in meetings {
            met.insert((i, j));
            if j == standing.len() {
                self.meets_edge(i, at, distance);
                continue;
            }
            let (a, b) = (self.name(i), self.name(j));
            if i == j {
                let meets = if crosses { "crosses" } else { "meets" };
                let message = format!("the outline of \"{a}\" {meets} itself near {}", self.place(at));
                self.add(i, message, "check the order of its points: they must go round once");
            } else if distance == 0.0 {
                let wall = |k: usize| standing[k].as_ref().and_then(|s| s.on_wall);
                let closed = wall(i).is_some() && wall(j).is_some() && wall(i) != wall(j);
                let end = if closed { " and close the channel" } else { "" };
                let meet = if crosses { "cross" } else { "meet" };
                let message = format!("\"{a}\" and \"{b}\" {meet} near {}{end}", self.place(at));
                self.add(j, message, self.parting(i, j));
            } else {
                let message = format!(
                    "the passage between \"{a}\" and \"{b}\" is {:.3e} mm near {}, narrower than {:.3e} mm (1e-6 of the \
                     inlet's width)",
                    1e3 * distance,
                    self.place(at),
                    1e3 * self.limit
                );
                self.add(j, message, self.parting(i, j));
            }
        }
        met
    }

    /// An obstacle that meets no other may still stand inside one.
    fn check_nesting(&mut self, standing: &[Option<Standing>], spans: &Spans, met: &BTreeSet<(usize, usize)>) {
        let nested = nested(standing, spans, |pair| met.contains(&pair), MOST_MEETINGS - met.len());
        self.report_nested(&nested);
        self.report_most(met.len() + nested.len());
    }

    /// Whether so many obstacles stand inside one another, clear of each other's boxes, that it is all there is to say.
    fn is_heap(&mut self, standing: &[Option<Standing>], spans: &Spans) -> bool {
        let extent = |k: usize| standing[k].as_ref().map_or(Rect::EMPTY, |s| s.extent.rect());
        let is_close = |(i, j): (usize, usize)| {
            let (a, b) = (extent(i), extent(j));
            (0..2).any(|k| a.low[k] == b.low[k] || a.high[k] == b.high[k])
        };
        let nested = nested(standing, spans, is_close, MOST_MEETINGS);
        let is_heap = nested.len() == MOST_MEETINGS;
        if is_heap {
            self.report_nested(&nested);
            self.report_most(nested.len());
        }
        is_heap
    }

    fn report_nested(&mut self, nested: &[Nested]) {
        for &Nested { inner, outer, at } in nested {
            let message =
                format!("\"{}\" stands inside \"{}\", at {}", self.name(inner), self.name(outer), self.place(at));
            self.add(inner, message, "remove it or move it into the fluid");
        }
    }

    fn report_most(&mut self, found: usize) {
        if found >= MOST_MEETINGS {
            let message =
                format!("{MOST_MEETINGS} obstacles that meet one another were found, and no more were looked for");
            self.problems.add(&self.case.file, None, message, "mend these first");
        }
    }

    /// Obstacles on one wall stand side by side, between the ends.
    fn check_feet(&mut self, standing: &[Option<Standing>], met: &BTreeSet<(usize, usize)>) {
        let Some([length, width]) = self.case.cell.shape.rectangle() else { return };
        for wall in [Wall::Lower, Wall::Upper] {
            let line = WallLine { wall, length, width };
            let mut feet: Vec<([f64; 2], usize)> = Vec::new();
            for (k, s) in standing.iter().enumerate() {
                let Some(s) = s.as_ref().filter(|s| s.on_wall == Some(wall)) else { continue };
                feet.extend(s.bumps.iter().map(|bump| (bump.feet, k)));
            }
            feet.sort_by(|a, b| a.0[0].total_cmp(&b.0[0]).then(a.1.cmp(&b.1)));
            let mut reach: Option<([f64; 2], usize)> = None;
            for &(next, k) in &feet {
                let clash = reach.filter(|(last, _)| next[0] < last[1] + self.limit);
                if let Some((last, j)) = clash.filter(|&(_, j)| !met.contains(&(j.min(k), j.max(k)))) {
                    let message = format!(
                        "\"{}\" and \"{}\" overlap or meet on the {} near {}",
                        self.name(j),
                        self.name(k),
                        wall.name(),
                        self.place(line.point(next[0].max(last[0])))
                    );
                    self.add(k, message, self.parting(j, k));
                }
                if reach.is_none_or(|(last, _)| next[1] > last[1]) {
                    reach = Some((next, k));
                }
            }
        }
    }

    fn check_probes(&mut self, standing: &[Option<Standing>], spans: &Spans) {
        let case = self.case;
        let probes = case.probes.iter().map(|probe| (format!("the probe \"{}\"", probe.name), probe.at, &probe.place));
        let discs = discs::discs(case).into_iter().map(|disc| (disc.name, disc.centre, disc.place));
        let remedy = "move it into the fluid";
        for (name, at, place) in probes.chain(discs) {
            if let Some(message) = self.out_of_fluid(&name, at, standing, spans) {
                self.problems.add(&case.file, Some(place.clone()), message, remedy);
            }
        }
        let Some(starts) = case.streaklines.seeding.starts() else { return };
        for (k, &at) in starts.places.iter().enumerate() {
            if let Some(message) = self.out_of_fluid(&format!("needle {}", k + 1), at, standing, spans) {
                starts.blame(k, &case.file, self.problems, message, remedy);
            }
        }
    }

    /// What is wrong with something that stands outside the fluid.
    fn out_of_fluid(&self, name: &str, at: Point, standing: &[Option<Standing>], spans: &Spans) -> Option<String> {
        let edge = self.case.cell.edge();
        let boundary = spans.ranges[standing.len()].clone();
        let is_near_one =
            |mut range: std::ops::Range<usize>| range.any(|s| is_near(at, spans.curve(s), &spans.spans[s], edge, 60));
        let beyond = winding(spans, standing.len(), at) == 0 && !boundary.is_empty() && !is_near_one(boundary.clone());
        let is_within = at.iter().all(|x| x.is_finite()) && self.case.cell.bounds().holds(&Rect::of([at]));
        if !is_within && !is_near_one(boundary) || beyond {
            return Some(format!("{name} at {} is outside the cell", self.place(at)));
        }
        let in_reach = |s: &Standing| s.extent.rect().holds(&Rect::of([at]));
        let covers = |k: &usize| {
            standing[*k].as_ref().is_some_and(in_reach)
                && winding(spans, *k, at) != 0
                && !is_near_one(spans.ranges[*k].clone())
        };
        let inside = (0..standing.len()).find(covers)?;
        Some(format!("{name} at {} is inside \"{}\"", self.place(at), self.name(inside)))
    }

    fn assemble(&self, standing: Vec<Standing>) -> Plan {
        let (mut lower, mut upper) = (Vec::new(), Vec::new());
        let (mut obstacles, mut holes) = (Vec::new(), Vec::new());
        for (k, s) in standing.into_iter().enumerate() {
            let name = self.name(k).to_owned();
            let Obstacle { tail, bubble, .. } = self.case.obstacles[self.outlines[k].0];
            obstacles.push(PlanObstacle { name, on_wall: s.on_wall, height: s.extent.size()[1], tail, bubble });
            match s.on_wall {
                Some(Wall::Lower) => lower.extend(s.bumps),
                Some(Wall::Upper) => upper.extend(s.bumps),
                None => holes.push((k, s.curves)),
            }
        }
        let mut pieces = match self.case.cell.shape.rectangle() {
            Some(sides) => with_bumps(sides, [(Wall::Lower, lower), (Wall::Upper, upper)]),
            None => self.case.cell.shape.boundary(),
        };
        let outer_loop = 0..pieces.len();
        let mut loops = vec![outer_loop];
        for (k, curves) in holes {
            let start = pieces.len();
            let side = Side::Obstacle(k as u32);
            pieces.extend(curves.into_iter().rev().map(|curve| Piece { curve, from: 1.0, to: 0.0, side }));
            loops.push(start..pieces.len());
        }
        Plan {
            pieces,
            loops,
            obstacles,
            notes: self.outlines.iter().flat_map(|(_, outline)| outline.notes.clone()).collect(),
        }
    }
}
