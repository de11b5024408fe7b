//! How a cell fills: arrival of the front all over it, fronts at equal times, air that stays, places for vents.

use super::canvas::Canvas;
use super::cell::CellMap;
use super::flow::ROW;
use super::frame::{Classes, MapFrame};
use super::lettering::{Anchor, Lettering};
use super::scale::short;
use super::simplify::simplified_outline;
use super::style::{Column, Ink, Pen, SMALL};
use crate::base::plane::Rect;
use crate::base::units::Dimension;
use crate::base::{Point, Result};
use crate::numerics::contour::{iso_lines, region};
use crate::study::Kept;

/// Fronts drawn on the map.
const FRONTS: usize = 10;
/// Moments of the strip.
const MOMENTS: usize = 6;
/// Radius of the mark of a vent, mm.
const VENT: f64 = 1.1;
/// What outlines of air may be off, mm.
const FINE: f64 = 0.02;
/// Distance of the strokes over air, mm.
const HATCH: f64 = 0.9;

/// A filling, as it is drawn.
#[derive(Debug, Clone, Copy)]
pub struct FillingMap<'a> {
    /// When the front comes to the vertices, s; not a number where it never does.
    pub arrival: &'a [f64],
    /// When the filling ends, s.
    pub end: f64,
    /// Air that stays.
    pub kept: &'a [Kept],
    /// Where a vent would let the last air out, m.
    pub vents: &'a [Point],
    /// The port that the fluid comes in by: its centre and diameter, m.
    pub port: Option<(Point, f64)>,
}

impl CellMap<'_> {
    /// Time of arrival in classes with fronts at equal times; air that stays is hatched and has its area beside it, the last places to
    /// fill are marked.
    ///
    /// # Errors
    /// [`crate::base::Error::Failed`] if the font lacks a character.
    pub fn arrival(&self, filling: &FillingMap) -> Result<Canvas> {
        let (unit, size) = Dimension::Time.unit_for(filling.end);
        let title = "When the front comes to each place of the dry cell";
        let above = if filling.kept.is_empty() && filling.vents.is_empty() { 0.0 } else { ROW };
        let (mut canvas, frame) = self.start("arrival", title, above, true)?;
        // air that stays counts as filled last, and is painted over
        let values: Vec<f64> =
            filling.arrival.iter().map(|t| if t.is_finite() { t / size } else { filling.end / size }).collect();
        let range = [0.0, filling.end / size];
        let classes = Classes::rising(&canvas, range, range, FRONTS);
        self.fill(&mut canvas, &frame, &values, &classes)?;
        canvas.clipped([&frame.corners()[..]], |canvas| {
            for &limit in classes.limits.iter().skip(1) {
                let fronts = self.fronts(&frame, &values, limit);
                canvas.lines(fronts.iter().map(Vec::as_slice), Pen::new(0.25, Ink::Rgb([24, 32, 36])));
            }
            Ok(())
        })?;
        self.air(&mut canvas, &frame, filling.kept)?;
        self.finish(&mut canvas, &frame)?;
        self.entry(&mut canvas, &frame, filling);
        for at in filling.vents {
            vent(&mut canvas, frame.at(*at));
        }
        self.areas_of(&mut canvas, &frame, filling.kept)?;
        frame.bar(&mut canvas, &classes, &format!("time of arrival ({unit}); lines: the front at these times"))?;
        key(&mut canvas, filling)?;
        Ok(canvas)
    }

    /// Six moments of the filling side by side: wet parts shaded, the front, air that stays.
    ///
    /// # Errors
    /// As [`CellMap::arrival`].
    pub fn filling_strip(&self, filling: &FillingMap) -> Result<Canvas> {
        let columns = if self.style.column == Column::Double { 3 } else { 2 };
        let rows = MOMENTS.div_ceil(columns);
        let (margin, between, words) = (1.5, 3.0, 1.5 * SMALL);
        let width = (self.style.column.width() - 2.0 * margin - (columns - 1) as f64 * between) / columns as f64;
        let extent = self.bounds.size();
        let scale = (width / extent[0]).min(1.4 * width / extent[1]);
        let height = scale * extent[1];
        let full = rows as f64 * (height + words + between) + 1.0;
        let mut canvas = Canvas::new("filling_strip", "Six moments of the filling", full, self.style);
        let turned: Vec<f64> = filling.arrival.iter().map(|t| if t.is_finite() { -t } else { f64::MIN }).collect();
        for k in 0..MOMENTS {
            let time = (k + 1) as f64 / MOMENTS as f64 * filling.end;
            let left = margin + (k % columns) as f64 * (width + between) + 0.5 * (width - scale * extent[0]);
            let top = 1.0 + (k / columns) as f64 * (height + words + between);
            let frame = MapFrame {
                origin: [left, top + words + height],
                scale,
                low: self.bounds.low,
                extent,
                inflow: self.edge.inflow,
                below: 0.0,
            };
            let wet: Vec<Vec<Point>> = region(self.mesh, &turned, -time)
                .iter()
                .map(|chain| chain.points(&self.mesh.points).into_iter().map(|p| frame.at(p)).collect())
                .collect();
            canvas.area(wet.iter().map(Vec::as_slice), Ink::Pale, None);
            let fronts = self.fronts(&frame, &turned, -time);
            canvas.lines(fronts.iter().map(Vec::as_slice), Pen::new(0.35, Ink::Series(0)));
            let cut_off: Vec<Kept> = filling.kept.iter().filter(|air| air.time <= time).cloned().collect();
            self.air(&mut canvas, &frame, &cut_off)?;
            self.solids(&mut canvas, &frame);
            self.entry(&mut canvas, &frame, filling);
            let said = Dimension::Time.show_to(time, 3);
            canvas.text([frame.origin[0], top + 0.8 * SMALL], &said, Lettering::small(Anchor::Start).ink(Ink::Text))?;
        }
        Ok(canvas)
    }

    /// The front at a value of a vertex field.
    fn fronts(&self, frame: &MapFrame, values: &[f64], level: f64) -> Vec<Vec<Point>> {
        let chains = iso_lines(self.mesh, values, level);
        let drawn = |chain: &crate::numerics::contour::Chain| {
            let mut line = self.drawn_line(frame, &chain.points(&self.mesh.points));
            if chain.closed {
                line.extend(line.first().copied());
            }
            line
        };
        chains.iter().map(drawn).collect()
    }

    /// Air that stays: paper with strokes over it, and its rim.
    fn air(&self, canvas: &mut Canvas, frame: &MapFrame, kept: &[Kept]) -> Result<()> {
        for air in kept {
            let drawn = |line: &Vec<Point>| -> Vec<Point> {
                simplified_outline(line, FINE / frame.scale).into_iter().map(|p| frame.at(p)).collect()
            };
            let outlines: Vec<Vec<Point>> = air.outlines.iter().map(drawn).collect();
            canvas.area(outlines.iter().map(Vec::as_slice), Ink::Rgb([255; 3]), None);
            canvas.hatch(&outlines, HATCH, Pen::new(0.15, Ink::Rgb([40; 3])))?;
            canvas.edges(outlines.iter().map(Vec::as_slice), Pen::new(0.3, Ink::Rgb([40; 3])));
        }
        Ok(())
    }

    /// The port, as a ring.
    fn entry(&self, canvas: &mut Canvas, frame: &MapFrame, filling: &FillingMap) {
        if let Some((at, diameter)) = filling.port {
            let radius = (0.5 * diameter * frame.scale).max(0.6);
            canvas.disc(frame.at(at), radius, Ink::Rgb([255; 3]), Some(Pen::new(0.3, Ink::Rgb([24, 32, 36]))));
        }
    }

    /// The area of each piece of air, beside it.
    fn areas_of(&self, canvas: &mut Canvas, frame: &MapFrame, kept: &[Kept]) -> Result<()> {
        let lettering = Lettering::small(Anchor::Start).ink(Ink::Text).rimmed();
        let within = Rect::of(frame.corners());
        for air in kept {
            let text = format!("{} mm\u{b2}", short(1e6 * air.area, 3));
            let around = Rect::of(air.outlines.iter().flatten().map(|&p| frame.at(p)));
            let (width, middle) = (lettering.width(&text)?, around.middle()[1] + 0.36 * SMALL);
            let right = around.high[0] + 1.0;
            let left = around.low[0] - 1.0 - width;
            let x = if right + width < within.high[0] { right } else { left.max(within.low[0]) };
            let taken = |y: f64| {
                let area = Rect { low: [x, y - SMALL], high: [x + width, y + 0.3 * SMALL] };
                canvas.texts().iter().any(|placed| {
                    let [left, top, right, bottom] = placed.area;
                    area.overlaps(&Rect { low: [left, top], high: [right, bottom] })
                })
            };
            let tries = [0.0, -1.4, 1.4, -2.8, 2.8].map(|rows| middle + rows * SMALL);
            if let Some(y) = tries.into_iter().find(|&y| !taken(y)) {
                canvas.text([x, y], &text, lettering)?;
            }
        }
        Ok(())
    }
}

/// What the signs above the map mean.
fn key(canvas: &mut Canvas, filling: &FillingMap) -> Result<()> {
    let lettering = Lettering::small(Anchor::Start).ink(Ink::Text);
    let (base, mut left) = (0.9 + 0.76 * SMALL, 1.5);
    if !filling.kept.is_empty() {
        let [x, y, w, h] = [left, 0.9, 5.0, 0.8 * SMALL];
        let corners = [[x, y], [x + w, y], [x + w, y + h], [x, y + h]];
        canvas.hatch(&[corners.to_vec()], HATCH, Pen::new(0.15, Ink::Text))?;
        canvas.edges([&corners[..]], Pen::new(0.2, Ink::Text));
        let text = "air that stays";
        canvas.text([left + 6.5, base], text, lettering)?;
        left += 6.5 + lettering.width(text)? + 5.0;
    }
    if !filling.vents.is_empty() {
        vent(canvas, [left + VENT, 0.9 + 0.4 * SMALL]);
        canvas.text([left + 2.0 * VENT + 1.5, base], "filled last: place for a vent", lettering)?;
    }
    Ok(())
}

/// The mark of a vent: a ring with a dot.
fn vent(canvas: &mut Canvas, at: Point) {
    canvas.disc(at, VENT, Ink::Rgb([255; 3]), Some(Pen::new(0.35, Ink::Rgb([24, 32, 36]))));
    canvas.disc(at, 0.3 * VENT, Ink::Rgb([24, 32, 36]), None);
}
