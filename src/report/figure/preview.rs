//! An outline, or a cell with its obstacles, with what a cutter looks at marked.

use super::canvas::Canvas;
use super::edge::Edge;
use super::lettering::{Anchor, Lettering};
use super::names::Names;
use super::rulers::Rulers;
use super::style::{Ink, Pen, Style};
use crate::base::plane::Rect;
use crate::base::{Point, Result};
use crate::geometry::survey::{Survey, Width};

/// What a preview shows, in one unit of length.
#[derive(Debug, Clone)]
pub struct Preview<'a> {
    /// What it is.
    pub title: &'a str,
    /// Lower left and upper right corner of what is shown.
    pub area: [Point; 2],
    /// Walls and ends of the cell, where the area is that of one.
    pub cell: Option<Edge>,
    /// Each outline as a chain of places.
    pub outlines: Vec<Vec<Point>>,
    /// Their names, in the same order.
    pub names: Vec<String>,
    /// Name and place of each probe.
    pub probes: Vec<(String, Point)>,
    /// Their measures.
    pub surveys: &'a [Survey],
    /// Narrowest passages, the narrowest first.
    pub passages: Vec<&'a Width>,
    /// The name of the unit.
    pub unit: &'a str,
    /// Value of the unit printed, per unit of the coordinates.
    pub scale: f64,
}

/// Corners that get a number.
const MOST_CORNERS: usize = 5;
/// Passages that are drawn.
const MOST_PASSAGES: usize = 12;
/// Free paper round the drawing, mm.
const RIM: f64 = 8.0;

/// Draws a preview: solids grey with their names, necks red, passages blue, the sharpest corners as numbered rings, rulers round it, a
/// scale bar below, and for a cell the way of the flow.
///
/// # Errors
/// [`crate::base::Error::Failed`] if the font lacks a character.
pub fn preview(p: &Preview<'_>) -> Result<Canvas> {
    let style = Style::default();
    let width = style.column.width();
    let size = [0, 1].map(|k| (p.area[1][k] - p.area[0][k]).max(f64::MIN_POSITIVE));
    let at_scale = |room: f64| ((width - 2.0 * RIM - room) / size[0]).min(110.0 / size[1]);
    let rulers = |scale: f64| Rulers {
        from: p.area[0].map(|x| p.scale * x),
        to: p.area[1].map(|x| p.scale * x),
        scale: scale / p.scale,
        unit: p.unit,
    };
    let [room, below] = rulers(at_scale(0.0)).room()?;
    let scale = at_scale(room);
    let height = scale * size[1] + 2.0 * RIM + 16.0 + below;
    let left = 0.5 * (width + room - scale * size[0]);
    let at = |q: Point| [left + scale * (q[0] - p.area[0][0]), RIM + 5.0 + scale * (p.area[1][1] - q[1])];
    let mut canvas = Canvas::new("preview", p.title, height, style);
    title(&mut canvas, p.title)?;
    let placed: Vec<Vec<Point>> = p.outlines.iter().map(|line| line.iter().map(|q| at(*q)).collect()).collect();
    let drawn = |line: &Vec<Point>| line.iter().map(|&p| at(p)).collect::<Vec<_>>();
    if let Some(edge) = &p.cell {
        edge.walls.iter().for_each(|wall| canvas.line(&drawn(wall), Pen::new(0.7, Ink::Text)));
        edge.ends.iter().for_each(|end| canvas.line(&drawn(end), Pen::new(0.2, Ink::Soft).dashed(1.0, 1.0)));
    }
    let whole =
        [[p.area[0][0], p.area[0][1]], [p.area[1][0], p.area[0][1]], p.area[1], [p.area[0][0], p.area[1][1]]].map(at);
    let solids = |canvas: &mut Canvas| {
        for outline in &placed {
            canvas.area([outline.as_slice()], Ink::Grid, Some(Pen::new(0.25, Ink::Text)));
        }
        Ok(())
    };
    if p.cell.is_some() {
        canvas.clipped([&whole[..]], solids)?
    } else {
        solids(&mut canvas)?
    }
    rulers(scale).draw(&mut canvas, at(p.area[0]))?;
    let printed = |length: f64| format!("{} {}", crate::base::units::significant(p.scale * length, 3), p.unit);
    for passage in p.passages.iter().take(MOST_PASSAGES) {
        span(&mut canvas, passage.ends.map(at), &printed(passage.length), Ink::Series(5))?;
    }
    for neck in p.surveys.iter().filter_map(|s| s.neck.as_ref()) {
        span(&mut canvas, neck.ends.map(at), &printed(neck.length), Ink::Limit)?;
    }
    for survey in p.surveys {
        let middle = [0, 1].map(|k| 0.5 * (survey.low[k] + survey.high[k]));
        for (k, corner) in survey.corners.iter().take(MOST_CORNERS).enumerate() {
            let place = at(corner.at);
            canvas.disc(place, 1.0, Ink::Paper, Some(Pen::new(0.25, Ink::Series(1))));
            let outwards = if corner.at[0] < middle[0] { (Anchor::End, -1.6) } else { (Anchor::Start, 1.6) };
            let label = Lettering::small(outwards.0).ink(Ink::Series(1)).rimmed();
            canvas.text([place[0] + outwards.1, place[1] + 0.9], &format!("{}", k + 1), label)?;
        }
    }
    let said = |name: &String| Lettering::small(Anchor::Middle).known(name);
    let names = Names {
        obstacles: p.names.iter().map(said).zip(placed).collect(),
        probes: p.probes.iter().map(|(name, place)| (said(name), at(*place))).collect(),
        within: Some(Rect::of([at(p.area[0]), at(p.area[1])]).grown(if p.cell.is_some() { 0.0 } else { 0.5 * RIM })),
    };
    names.draw(&mut canvas, |_| Ink::Text)?;
    let mut start = RIM;
    if let Some(edge) = &p.cell {
        let y = height - 6.5;
        let [u, v] = [edge.inflow[0], -edge.inflow[1]];
        let half = if v.abs() > 0.1 { 2.6 } else { 4.1 };
        let along = |s: f64| [start + 4.1 + s * u, y + s * v];
        canvas.line(&[along(-half), along(half - 1.2)], Pen::new(0.4, Ink::Text));
        canvas.arrow_head(along(half), [u, v], 2.2, Ink::Text);
        canvas.text([start + 9.5, height - 5.2], "flow", Lettering::small(Anchor::Start))?;
        start += 22.0;
    }
    bar(&mut canvas, [start, height - 6.0], scale, p)?;
    if !(p.surveys.is_empty() && p.passages.is_empty()) {
        let key = "red: thinnest neck   blue: narrowest passages   rings: sharpest corners";
        canvas.text([width - RIM, height - 5.0], key, Lettering::small(Anchor::End))?;
    }
    Ok(canvas)
}

/// A long title is cut.
fn title(canvas: &mut Canvas, text: &str) -> Result<()> {
    let lettering = Lettering::label(Anchor::Start).bold();
    canvas.text([RIM, 6.0], &lettering.known(&text.chars().take(90).collect::<String>()), lettering)
}

/// A line between two places with its length beside it.
fn span(canvas: &mut Canvas, [a, b]: [Point; 2], text: &str, ink: Ink) -> Result<()> {
    canvas.line(&[a, b], Pen::new(0.5, ink));
    for end in [a, b] {
        canvas.disc(end, 0.5, ink, None);
    }
    let upright = (a[1] - b[1]).abs() > (a[0] - b[0]).abs();
    let middle = [0.5 * (a[0] + b[0]), 0.5 * (a[1] + b[1])];
    let (place, anchor) = if upright {
        ([middle[0] + 1.2, middle[1] + 0.9], Anchor::Start)
    } else {
        ([middle[0], middle[1] - 1.2], Anchor::Middle)
    };
    canvas.text(place, text, Lettering::small(anchor).ink(ink).rimmed())
}

/// A scale bar of a round length.
fn bar(canvas: &mut Canvas, [x, y]: Point, scale: f64, p: &Preview<'_>) -> Result<()> {
    // a round length of the printed unit that takes some 30 mm of paper
    let wanted = 30.0 / scale * p.scale;
    let power = 10f64.powf(wanted.log10().floor());
    let length = [5.0, 2.0, 1.0].into_iter().map(|f| f * power).find(|l| *l <= wanted).unwrap_or(power);
    let on_paper = length / p.scale * scale;
    canvas.line(&[[x, y - 1.0], [x, y], [x + on_paper, y], [x + on_paper, y - 1.0]], Pen::new(0.35, Ink::Text));
    let text = format!("{} {}", crate::base::units::significant(length, 2), p.unit);
    canvas.text([x + on_paper + 1.5, y + 0.8], &text, Lettering::small(Anchor::Start))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A cell of 400 by 200 mm: the way of the flow, figures of the rulers in millimetres, names of pier and probe; a drawing of no known size has
    /// rulers in its own unit and no flow. A letter the font lacks in a name is no reason to draw nothing.
    #[test]
    fn a_preview_says_what_is_where_and_which_way_it_flows() {
        let pier = vec![[0.1, 0.05], [0.2, 0.05], [0.2, 0.15], [0.1, 0.15]];
        let whole = Preview {
            title: "Two piers",
            area: [[0.0, 0.0], [0.4, 0.2]],
            cell: Some(Edge::of_rectangle([0.4, 0.2])),
            outlines: vec![pier],
            names: vec!["large pier 船".to_owned()],
            probes: vec![("shoulder".to_owned(), [0.3, 0.1])],
            surveys: &[],
            passages: Vec::new(),
            unit: "mm",
            scale: 1e3,
        };
        let canvas = preview(&whole).unwrap();
        for text in ["flow", "mm", "400", "200", "large pier ?", "shoulder"] {
            assert!(canvas.texts().iter().any(|t| t.text == text), "{text}: {:?}", canvas.texts());
        }
        assert!(canvas.crowded().is_empty(), "{:?}", canvas.crowded());
        let drawing = Preview { cell: None, unit: "units", scale: 1.0, probes: Vec::new(), ..whole };
        let canvas = preview(&drawing).unwrap();
        assert!(canvas.texts().iter().any(|t| t.text == "units") && canvas.texts().iter().all(|t| t.text != "flow"));
        assert!(canvas.crowded().is_empty(), "{:?}", canvas.crowded());
    }
}
