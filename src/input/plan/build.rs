//! From a case to the plan of its fluid, with every check that needs geometry.

use super::Outline;
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
use crate::input::case::{Case, InputFile, Obstacle, Seeding};
use std::collections::{BTreeMap, BTreeSet};
use std::f64::consts::PI;

/// A named tail stands so near its corner, over the height of the obstacle.
const NEAR_TAIL: f64 = 0.1;

impl Plan {
    /// The plan of a case: the rectangle's boundary with what stands on the side walls (lower wall, outlet, upper wall,
    /// inlet, counter-clockwise), then each free obstacle (clockwise).
    ///
    /// Every mistake is added to `problems` at the obstacle or probe it belongs to: numbers that make no shape; outlines that
    /// cross themselves, one another, a wall or an end, stand inside one another, leave the cell or close it; passages
    /// narrower than 1e-6 of the cell's width; probes outside the fluid. None if there is any.
    pub fn new(case: &Case, problems: &mut Problems) -> Option<Plan> {
        Plan::read(case, problems).map(|(plan, _)| plan)
    }

    /// The same with the files that the outlines were read from.
    pub(crate) fn read(case: &Case, problems: &mut Problems) -> Option<(Plan, Vec<InputFile>)> {
        let before = problems.list.len();
        let mut outlines = Vec::new();
        let cell = Some([case.cell.length, case.cell.width]);
        for (k, obstacle) in case.obstacles.iter().enumerate() {
            match Outline::within(obstacle, &case.file, cell) {
                Ok(found) => outlines.extend(found.into_iter().map(|outline| (k, outline))),
                Err(found) => problems.merge(found),
            }
        }
        let inputs = outlines.iter().filter_map(|(_, outline): &(usize, Outline)| outline.input.clone()).collect();
        let mut builder = Builder { case, outlines, problems, limit: NARROWEST * case.cell.width };
        let plan = builder.build();
        if builder.problems.list.len() > before { None } else { plan.map(|plan| (plan, inputs)) }
    }
}

/// An obstacle on its way into the plan.
struct Standing {
    curves: Vec<Curve>,
    parts: Vec<Part>,
    bumps: Vec<Bump>,
    on_wall: Option<Wall>,
    extent: Extent,
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
        let cell = &self.case.cell;
        if !(cell.length.is_finite() && cell.width.is_finite() && cell.length > 0.0 && cell.width > 0.0) {
            let message = format!("the cell of length {} m and width {} m is no rectangle", cell.length, cell.width);
            self.problems.add(&self.case.file, None, message, "give a length and a width above zero");
            return None;
        }
        let standing: Vec<Option<Standing>> = (0..self.outlines.len()).map(|k| self.stand(k)).collect();
        // Indices of the bodies are those of the outlines; unusable ones have no parts.
        let bodies = standing
            .iter()
            .map(|s| match s {
                Some(s) => Body { curves: &s.curves, parts: s.parts.clone() },
                None => Body { curves: &[], parts: Vec::new() },
            })
            .collect();
        let spans = Spans::new(bodies);
        // rings inside one another are n^2 pairs to compare, few of which meet
        if !self.is_heap(&standing, &spans) {
            let met = self.check_meetings(&standing, &spans);
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
        Some(plan)
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
                "\"{}\" is {:.3e} mm large, less than the smallest size of {:.3e} mm (1e-6 of the cell's width)",
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
        let Some(wall) = on_wall else {
            return self.fits(k, &extent, None).then_some(Standing {
                curves,
                parts: whole,
                bumps: vec![],
                on_wall,
                extent,
            });
        };
        let cell = &self.case.cell;
        let line = WallLine { wall, length: cell.length, width: cell.width };
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
            let message = crowd.message(&format!("\"{}\"", self.name(crowd.body)), &self.place(crowd.at));
            self.add(crowd.body, message, THIN_OUT);
            BTreeMap::new()
        });
        for ((i, j), Meeting { at, distance, crosses }) in meetings {
            met.insert((i, j));
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
                     cell's width)",
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
        for wall in [Wall::Lower, Wall::Upper] {
            let line = WallLine { wall, length: self.case.cell.length, width: self.case.cell.width };
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
        let (case, edge) = (self.case, self.case.cell.edge());
        let probes = case.probes.iter().map(|probe| (format!("the probe \"{}\"", probe.name), probe.at, &probe.place));
        let nowhere = 0..0;
        let (needles, start) = match &case.streaklines.seeding {
            Seeding::At { needles, place } => (needles.as_slice(), place),
            _ => (&[][..], &nowhere),
        };
        let needles = needles.iter().enumerate().map(|(k, &at)| (format!("needle {}", k + 1), at, start));
        let discs = discs::discs(case).into_iter().map(|disc| (disc.name, disc.centre, disc.place));
        for (name, at, place) in probes.chain(needles).chain(discs) {
            let inside = at[0] >= 0.0 && at[0] <= case.cell.length && at[1] >= 0.0 && at[1] <= case.cell.width;
            if !inside {
                let message = format!("{name} at {} is outside the cell", self.place(at));
                self.problems.add(&case.file, Some(place.clone()), message, "move it into the fluid");
                continue;
            }
            let in_reach = |s: &Standing| s.extent.rect().holds(&Rect::of([at]));
            let covers = |k: &usize| {
                standing[*k].as_ref().is_some_and(in_reach)
                    && winding(spans, *k, at) != 0
                    && !spans.ranges[*k].clone().any(|s| is_near(at, spans.curve(s), &spans.spans[s], edge, 60))
            };
            if let Some(k) = (0..standing.len()).find(covers) {
                let message = format!("{name} at {} is inside \"{}\"", self.place(at), self.name(k));
                self.problems.add(&case.file, Some(place.clone()), message, "move it into the fluid");
            }
        }
    }

    fn assemble(&self, standing: Vec<Standing>) -> Plan {
        let cell = &self.case.cell;
        let (l, w) = (cell.length, cell.width);
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
        let line =
            |from: Point, to: Point, side: Side| Piece { curve: Curve::Line { from, to }, from: 0.0, to: 1.0, side };
        let mut pieces = Vec::new();
        for (wall, mut bumps) in [(Wall::Lower, lower), (Wall::Upper, upper)] {
            let on = WallLine { wall, length: l, width: w };
            let mut walked = 0.0;
            bumps.sort_by(|a, b| a.feet[0].total_cmp(&b.feet[0]));
            for bump in bumps {
                pieces.push(line(on.point(walked), on.point(bump.feet[0]), Side::Wall(wall)));
                pieces.extend(bump.pieces);
                walked = bump.feet[1];
            }
            pieces.push(line(on.point(walked), on.point(l), Side::Wall(wall)));
            pieces.push(match wall {
                Wall::Lower => line([l, 0.0], [l, w], Side::Outlet),
                Wall::Upper => line([0.0, w], [0.0, 0.0], Side::Inlet),
            });
        }
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
