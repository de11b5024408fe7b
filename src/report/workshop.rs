//! What a workshop cuts: outlines, and the frame of the cell with its ports.

use crate::base::{Point, Result};
use crate::geometry::Wall;
use crate::geometry::kerf::moved;
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
/// The frame's opening is the cell with what stands on its side walls, longer at both ends by a plenum twice as long as a port is wide;
/// in the middle of each plenum a port of the plates is marked. For ends of held pressure the plenum must be much deeper than the gap.
/// Calibration marks for a plate stand along the border of the cell.
///
/// # Errors
/// A kerf that leaves nothing; more marks asked for than there is room for.
pub fn case_sheet(case: &Case, plan: &Plan, settings: &CutSettings) -> Result<CutSheet> {
    // nobody cuts a bubble
    let plan = &plan.without_bubbles();
    let (length, width, plenum) = (case.cell.length, case.cell.width, 2.0 * settings.port);
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
        add(&mut sheet.paths, "opening", &opening(&plan.pieces[range.clone()], length, width, plenum), -0.5, settings)?;
    }
    let (low, high) =
        ([-plenum - settings.frame, -settings.frame], [length + plenum + settings.frame, width + settings.frame]);
    add(&mut sheet.paths, "frame", &rectangle(low, high), 0.5, settings)?;
    for x in [-0.5 * plenum, length + 0.5 * plenum] {
        let arc = |k: f64| Curve::Arc {
            centre: [x, 0.5 * width],
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
        sheet.marks = Some(Marks::of(plan, [length, width], &settings.marks)?);
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

/// The outer loop of a plan with a plenum in the place of each end.
fn opening(pieces: &[Piece], length: f64, width: f64, plenum: f64) -> Vec<Curve> {
    let line = |from: Point, to: Point| Curve::Line { from, to };
    let mut curves = Vec::new();
    for piece in pieces {
        match piece.side {
            Side::Outlet | Side::Inlet => {
                let (x, e) = if piece.side == Side::Outlet { (length, length + plenum) } else { (0.0, -plenum) };
                let (from, to) = (piece.start(), piece.end());
                let at = |y: f64| if y > 0.5 * width { [e, width] } else { [e, 0.0] };
                curves.extend([line(from, at(from[1])), line(at(from[1]), at(to[1])), line(at(to[1]), [x, to[1]])]);
            }
            Side::Wall(Wall::Lower | Wall::Upper) | Side::Obstacle(_) => {
                curves.push(piece.curve.part(piece.from, piece.to))
            }
        }
    }
    curves
}
