//! What a workshop cuts: outlines, and the frame of the cell with its ports.

use crate::base::plane::{left, stepped, unit, way};
use crate::base::{Point, Result};
use crate::geometry::kerf::moved;
use crate::geometry::span::Extent;
use crate::geometry::{Curve, Piece, Plan, Side};
use crate::input::case::Case;
use crate::report::cut::{CutPath, CutSheet};
use crate::report::marks::{MarkSettings, Marks};
use std::f64::consts::PI;

/// Which part of what is cut must come out true to size.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kept {
    /// The piece that falls out.
    Piece,
    /// The sheet with the hole.
    Hole,
}

impl Kept {
    /// Kerfs by which the path moves outwards.
    fn kerfs(self) -> f64 {
        match self {
            Kept::Piece => 0.5,
            Kept::Hole => -0.5,
        }
    }
}

/// How outlines are cut.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CutSettings {
    /// Width of the material the tool takes away, m; zero for paths on the outlines themselves.
    pub kerf: f64,
    /// What is kept.
    pub kept: Kept,
    /// Width of the frame's bars, m.
    pub frame: f64,
    /// Diameter of the ports, m.
    pub port: f64,
    /// Calibration marks; only a case has them.
    pub marks: MarkSettings,
}

impl Default for CutSettings {
    fn default() -> Self {
        CutSettings { kerf: 0.0, kept: Kept::Piece, frame: 0.02, port: 0.006, marks: MarkSettings::default() }
    }
}

/// The sheet for outlines alone.
///
/// # Errors
/// A kerf that leaves nothing.
pub fn outline_sheet(title: &str, outlines: &[Vec<Curve>], settings: &CutSettings) -> Result<CutSheet> {
    let mut sheet =
        CutSheet { title: title.to_owned(), remarks: vec![kerf_remark(settings)], paths: Vec::new(), marks: None };
    for outline in outlines {
        add(&mut sheet.paths, "outline", outline, settings.kept.kerfs(), settings)?;
    }
    Ok(sheet)
}

/// The sheet for a case: its obstacles where they stand, and round them the spacer frame.
///
/// The frame's opening is the cell with what stands on its side walls, longer at both ends, square to each, by a plenum twice as long as a
/// port is wide; in the middle of each plenum a port of the plates is marked. For ends of held pressure the plenum must be much deeper than the gap.
/// Calibration marks for a plate stand along the border of the cell.
///
/// # Errors
/// A kerf that leaves nothing; more marks asked for than there is room for.
pub fn case_sheet(case: &Case, plan: &Plan, settings: &CutSettings) -> Result<CutSheet> {
    // nobody cuts a bubble
    let plan = &plan.without_bubbles();
    let ([length, width], plenum) = (case.cell.size(), 2.0 * settings.port);
    let mut sheet =
        CutSheet { title: case.title.clone(), remarks: vec![kerf_remark(settings)], paths: Vec::new(), marks: None };
    sheet.remarks.push(format!(
        "Cell {} x {} mm; frame bars {} mm; a plenum of {} mm and a port of {} mm in the plates at each end.",
        1e3 * length,
        1e3 * width,
        1e3 * settings.frame,
        1e3 * plenum,
        1e3 * settings.port
    ));
    for range in plan.loops.iter().skip(1) {
        let outline: Vec<Curve> = plan.pieces[range.clone()].iter().rev().map(backwards).collect();
        add(&mut sheet.paths, "obstacle", &outline, settings.kept.kerfs(), settings)?;
    }
    if let Some(range) = plan.loops.first() {
        let opening = opening(&plan.pieces[range.clone()], plenum);
        let around = Extent::whole(&opening).map_or(case.cell.bounds(), |extent| extent.rect()).grown(settings.frame);
        add(&mut sheet.paths, "opening", &opening, -0.5, settings)?;
        add(&mut sheet.paths, "frame", &rectangle(around.low, around.high), 0.5, settings)?;
    }
    for end in [Side::Inlet, Side::Outlet].into_iter().filter_map(|side| plan.end(side)) {
        let centre = stepped(end.middle(), 0.5 * plenum, end.outwards);
        let arc = |k: f64| Curve::Arc {
            centre,
            semi_axes: [0.5 * settings.port; 2],
            rotation: 0.0,
            start: k * PI,
            end: (k + 1.0) * PI,
        };
        add(&mut sheet.paths, "port", &[arc(0.0), arc(1.0)], -0.5, settings)?;
    }
    let on_wall = plan.obstacles.iter().filter(|o| o.on_wall.is_some()).map(|o| o.name.as_str()).collect::<Vec<_>>();
    if !on_wall.is_empty() {
        sheet.remarks.push(format!("Part of the frame: {}.", on_wall.join(", ")));
    }
    if settings.marks.count != Some(0) {
        sheet.marks = Some(Marks::of(plan, case.cell.bounds(), &settings.marks)?);
    }
    Ok(sheet)
}

fn kerf_remark(settings: &CutSettings) -> String {
    if settings.kerf == 0.0 {
        return "No allowance for the kerf: paths lie on the outlines.".into();
    }
    let (kept, side) = match settings.kept {
        Kept::Hole => ("the sheet with the hole", "inwards"),
        Kept::Piece => ("the piece", "outwards"),
    };
    format!(
        "Outlines moved {side} by half the kerf of {} mm, so that {kept} comes out true to size.",
        1e3 * settings.kerf
    )
}

/// Adds a path moved outwards by so many kerfs.
fn add(
    paths: &mut Vec<CutPath>,
    layer: &'static str,
    outline: &[Curve],
    kerfs: f64,
    settings: &CutSettings,
) -> Result<()> {
    if settings.kerf == 0.0 {
        paths.push(CutPath { layer, curves: outline.to_vec() });
    } else {
        let moved = moved(outline, kerfs * settings.kerf)?;
        paths.extend(moved.into_iter().map(|curves| CutPath { layer, curves }));
    }
    Ok(())
}

/// A piece as a curve, walked against the plan.
fn backwards(piece: &Piece) -> Curve {
    piece.curve.part(piece.to, piece.from)
}

fn rectangle(low: Point, high: Point) -> Vec<Curve> {
    let corners = [low, [high[0], low[1]], high, [low[0], high[1]]];
    (0..4).map(|k| Curve::Line { from: corners[k], to: corners[(k + 1) % 4] }).collect()
}

/// The outer loop of a plan with a plenum in the place of each end, square to it and as wide.
fn opening(pieces: &[Piece], plenum: f64) -> Vec<Curve> {
    let line = |from: Point, to: Point| Curve::Line { from, to };
    let is_end = |piece: &Piece| matches!(piece.side, Side::Outlet | Side::Inlet);
    let mut curves = Vec::new();
    for run in pieces.chunk_by(|a, b| is_end(a) && a.side == b.side) {
        let (from, to) = (run[0].start(), run[run.len() - 1].end());
        match unit(left(way(to, from))).filter(|_| is_end(&run[0])) {
            Some(outwards) => {
                let [a, b] = [from, to].map(|p| stepped(p, plenum, outwards));
                curves.extend([line(from, a), line(a, b), line(b, to)]);
            }
            None => curves.extend(run.iter().map(|piece| piece.curve.part(piece.from, piece.to))),
        }
    }
    curves
}
