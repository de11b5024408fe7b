//! The feasibility map of a cell: which limit binds at which gap and speed.

use super::pixels::encoded;
use super::{Anchor, Axes, Canvas, Entry, Ink, LETTER, Lettering, Mark, Palette, Pen, Scale, Style, draw_mark, legend};
use crate::base::plane;
use crate::base::{Point, Result};
use crate::theory::rig::{Judge, Limit, Map, Ratios};

/// Pixels of the coloured area along each side.
const PIXELS: usize = 360;
/// Distance of the strokes along a line, and their length, mm.
const STROKES: f64 = 4.0;
const STROKE: f64 = 1.3;
/// Least part of the area whose name may stand on lines; the legend names the lines of smaller ones.
const WRITTEN_OVER: f64 = 0.1;
/// Least part of the area that gets a name.
const NAMED: f64 = 0.03;

const LIMITS: [Limit; 6] =
    [Limit::Speed, Limit::Direction, Limit::Shift, Limit::FirstOrder, Limit::Laminar, Limit::Dye];

/// What holds at a place of the map.
#[derive(Debug, Clone, Copy, PartialEq)]
enum State {
    Within,
    Bound(Limit),
    /// The edge bands leave nothing to observe.
    Empty,
}

/// Draws the map over gap and mean speed in logarithmic scales. Areas are coloured by the limit that binds, lines show where each departure
/// reaches its limit, the disc is the cell at its own gap (m) and mean speed (m/s). `name` becomes that of the files.
///
/// # Errors
/// [`crate::base::Error::Failed`] if the font lacks a character or the picture cannot be made.
pub fn feasible(name: &str, map: &Map, [gap, speed]: [f64; 2], style: Style) -> Result<Canvas> {
    let judge = match map.judge {
        Judge::Share => "departures over nearly all of the area",
        Judge::MeanSquare => "root mean square departures",
    };
    let title = format!("Which limit binds at which gap and mean speed, by {judge}");
    let lines = LIMITS.into_iter().enumerate().map(|(k, limit)| (limit, limit_pen(style, k), reached(map, limit)));
    let lines: Vec<_> = lines.filter(|(_, _, lines)| !lines.is_empty()).collect();
    let mut entries: Vec<Entry> = lines
        .iter()
        .map(|(limit, pen, _)| Entry { text: limit.name().to_owned(), pen: Some(*pen), mark: None })
        .collect();
    if !entries.is_empty() {
        entries.push(Entry { text: "short strokes point to what is not allowed".to_owned(), pen: None, mark: None });
    }
    let width = style.column.width();
    let judged = format!("judged by {judge}");
    let right = Lettering::small(Anchor::End);
    // above the name of the axis where there is no room beside it
    let above = if right.width(&judged)? > 0.5 * width { 1.5 * LETTER } else { 0.0 };
    let frame = [17.0, 9.0 + above, width - 24.0, (0.45 * width).clamp(60.0, 78.0)];
    let under = frame[1] + frame[3] + 4.2 * LETTER;
    let taken = legend(None, [1.5, under], width - 3.0, &entries)?;
    let mut canvas = Canvas::new(name, &title, under + taken + 1.0, style);
    let ends = |values: &[f64]| match values {
        [first, .., last] => Scale { from: 1e3 * first, to: 1e3 * last, log: true },
        _ => Scale::logarithmic([]),
    };
    let axes = Axes { frame, x: ends(&map.gaps), y: ends(&map.speeds) };
    let states = states(map);
    canvas.picture(frame, picture(&states, style.palette)?);
    axes.draw(&mut canvas, "gap, mm", "mean speed, mm/s")?;
    canvas.text([frame[0] + frame[2], frame[1] - 2.2 - above], &judged, right)?;
    for (limit, pen, lines) in &lines {
        let places: Vec<Vec<_>> =
            lines.iter().map(|line| line.iter().map(|p| axes.at(1e3 * p[0], 1e3 * p[1])).collect()).collect();
        let strokes: Vec<[Point; 2]> = places.iter().flat_map(|line| strokes(map, *limit, frame, line)).collect();
        axes.inside(&mut canvas, |canvas| {
            canvas.lines(places.iter().map(Vec::as_slice), *pen);
            canvas.lines(strokes.iter().map(|stroke| &stroke[..]), Pen { dash: None, width: 0.25, ..*pen });
            Ok(())
        })?;
    }
    let here = axes.at(1e3 * gap, 1e3 * speed);
    let (dx, anchor) = if here[0] > frame[0] + 0.8 * frame[2] { (-1.6, Anchor::End) } else { (1.6, Anchor::Start) };
    draw_mark(&mut canvas, here, Mark::Disc, Ink::Text);
    // at the upper edge below its mark
    let dy = if here[1] < frame[1] + 2.0 * LETTER { 1.0 + 0.72 * LETTER } else { -1.0 };
    canvas.text([here[0] + dx, here[1] + dy], "this cell", Lettering::label(anchor).bold().rimmed())?;
    if !states.contains(&State::Within) {
        let [left, top, width, _] = frame;
        // beside the name of the axis, off everything that is drawn
        let (x, anchor) = match above > 0.0 {
            true => (left + width, Anchor::End),
            false => (left + 0.42 * width, Anchor::Middle),
        };
        let lettering = Lettering::label(anchor).bold().ink(Ink::Limit);
        canvas.text([x, top - 2.2], "no allowed region", lettering)?;
    }
    let drawn = |line: &Vec<[f64; 2]>| line.iter().map(|p| axes.at(1e3 * p[0], 1e3 * p[1])).collect::<Vec<_>>();
    let lines: Vec<Vec<Point>> = lines.iter().flat_map(|(_, _, lines)| lines.iter().map(drawn)).collect();
    name_areas(&mut canvas, frame, &states, &lines)?;
    legend(Some(&mut canvas), [1.5, under], width - 3.0, &entries)?;
    Ok(canvas)
}

/// Short strokes from a line on which a limit is reached towards the side beyond it; places on the drawing.
fn strokes(map: &Map, limit: Limit, frame: [f64; 4], line: &[Point]) -> Vec<[Point; 2]> {
    let mut list = Vec::new();
    // half a distance from the end of the line to the first
    let mut left = 0.5 * STROKES;
    for w in line.windows(2) {
        let length = plane::distance(w[0], w[1]);
        while left <= length && length > 0.0 {
            let foot = plane::between(w[0], w[1], left / length);
            let across = plane::left(plane::way(w[0], w[1])).map(|x| STROKE * x / length);
            let [one, other] = [1.0, -1.0].map(|side| plane::stepped(foot, side, across));
            let [a, b] = [one, other].map(|p| excess(map, limit, frame, p));
            if let (Some(a), Some(b)) = (a, b) {
                list.push([foot, if a > b { one } else { other }]);
            }
            left += STROKES;
        }
        left -= length;
    }
    list
}

/// Logarithm of a departure over its limit at a place of the drawing; none beyond the map.
fn excess(map: &Map, limit: Limit, [left, top, width, height]: [f64; 4], [x, y]: Point) -> Option<f64> {
    let node = |part: f64, nodes: usize| {
        let at = part * nodes.saturating_sub(1) as f64;
        (0.0..=1.0).contains(&part).then_some(((at as usize).min(nodes.saturating_sub(2)), at))
    };
    let (i, u) = node((x - left) / width, map.gaps.len())?;
    let (j, v) = node(1.0 - (y - top) / height, map.speeds.len())?;
    let (u, v) = (u - i as f64, v - j as f64);
    let log = |i: usize, j: usize| Some(cell(map, i, j)?.of(limit).max(1e-9).ln());
    let [low, high] = [j, j + 1].map(|j| Some((1.0 - u) * log(i, j)? + u * log(i + 1, j)?));
    Some((1.0 - v) * low? + v * high?)
}

/// Pen of the line on which a limit is reached, counted from 0.
fn limit_pen(style: Style, k: usize) -> Pen {
    match LIMITS[k] {
        Limit::FirstOrder => Pen::new(0.45, Ink::Limit).dashed(1.8, 0.9),
        _ => Pen { width: 0.45, ..style.series(k) },
    }
}

/// The state of every pixel, rows from the top, the ratios interpolated in their logarithms between the nodes of the map.
fn states(map: &Map) -> Vec<State> {
    let [columns, rows] = [map.gaps.len(), map.speeds.len()];
    let place = |pixel: usize, nodes: usize| {
        let at = (pixel as f64 + 0.5) / PIXELS as f64 * nodes.saturating_sub(1) as f64;
        let node = (at as usize).min(nodes.saturating_sub(2));
        (node, at - node as f64)
    };
    let mut all = Vec::with_capacity(PIXELS * PIXELS);
    for y in 0..PIXELS {
        let (j, v) = place(PIXELS - 1 - y, rows);
        for x in 0..PIXELS {
            let (i, u) = place(x, columns);
            let corners = [(i, j), (i + 1, j), (i, j + 1), (i + 1, j + 1)].map(|(i, j)| cell(map, i, j));
            let weights = [(1.0 - u) * (1.0 - v), u * (1.0 - v), (1.0 - u) * v, u * v];
            all.push(between(&corners, weights));
        }
    }
    all
}

fn cell(map: &Map, i: usize, j: usize) -> Option<Ratios> {
    map.cells.get(i).and_then(|column| column.get(j).copied().flatten())
}

fn between(corners: &[Option<Ratios>; 4], weights: [f64; 4]) -> State {
    let [Some(a), Some(b), Some(c), Some(d)] = corners else { return State::Empty };
    let log = |limit: Limit| -> f64 {
        [a, b, c, d].iter().zip(weights).map(|(ratios, w)| w * ratios.of(limit).max(1e-9).ln()).sum()
    };
    let most = LIMITS
        .into_iter()
        .map(|limit| (limit, log(limit)))
        .fold((Limit::Speed, f64::MIN), |most, one| if one.1 > most.1 { one } else { most });
    if most.1 <= 0.0 { State::Within } else { State::Bound(most.0) }
}

/// Lines where a limit is reached, (gap, speed) in SI, by linear interpolation of the logarithm on halved cells of the map.
fn reached(map: &Map, limit: Limit) -> Vec<Vec<[f64; 2]>> {
    let node = |i: usize, j: usize| -> Option<([f64; 2], f64)> {
        let value = cell(map, i, j)?.of(limit).max(1e-9).ln();
        Some(([map.gaps.get(i)?.ln(), map.speeds.get(j)?.ln()], value))
    };
    let mut lines = Vec::new();
    for i in 1..map.gaps.len() {
        for j in 1..map.speeds.len() {
            for [p, q, r] in [[(i - 1, j - 1), (i, j - 1), (i, j)], [(i - 1, j - 1), (i, j), (i - 1, j)]] {
                let (Some(p), Some(q), Some(r)) = (node(p.0, p.1), node(q.0, q.1), node(r.0, r.1)) else { continue };
                let cuts: Vec<[f64; 2]> = [(p, q), (q, r), (r, p)]
                    .into_iter()
                    .filter(|(a, b)| (a.1 > 0.0) != (b.1 > 0.0))
                    .map(|(a, b)| {
                        let t = a.1 / (a.1 - b.1);
                        [0, 1].map(|k| (a.0[k] + t * (b.0[k] - a.0[k])).exp())
                    })
                    .collect();
                if let [a, b] = cuts[..] {
                    lines.push([a, b]);
                }
            }
        }
    }
    joined(lines)
}

/// Joins short lines at the ends they share, so that dashes run on.
fn joined(mut short: Vec<[[f64; 2]; 2]>) -> Vec<Vec<[f64; 2]>> {
    // shared ends were computed from the same side of a cell, perhaps the other way round
    let same = |p: [f64; 2], q: [f64; 2]| (0..2).all(|k| (p[k] / q[k] - 1.0).abs() < 1e-9);
    // where a node lies on the line
    short.retain(|[a, b]| !same(*a, *b));
    let mut lines = Vec::new();
    while let Some([a, b]) = short.pop() {
        let mut line = std::collections::VecDeque::from([a, b]);
        loop {
            let [first, last] = [line[0], line[line.len() - 1]];
            let next = short.iter().position(|pair| pair.iter().any(|&p| same(p, first) || same(p, last)));
            let Some([p, q]) = next.map(|k| short.swap_remove(k)) else { break };
            match () {
                () if same(p, last) => line.push_back(q),
                () if same(q, last) => line.push_back(p),
                () if same(p, first) => line.push_front(q),
                () => line.push_front(p),
            }
        }
        lines.push(line.into());
    }
    lines
}

fn colour(state: State, palette: Palette) -> [u8; 3] {
    let pair = match state {
        State::Within => ([250, 252, 246], 255),
        State::Bound(Limit::Speed) => ([190, 216, 222], 226),
        State::Bound(Limit::Direction) => ([240, 211, 186], 206),
        State::Bound(Limit::Shift) => ([212, 202, 224], 188),
        State::Bound(Limit::FirstOrder) => ([236, 190, 190], 168),
        State::Bound(Limit::Laminar) => ([205, 205, 215], 178),
        State::Bound(Limit::Dye) => ([222, 228, 196], 240),
        State::Empty => ([200, 200, 200], 150),
    };
    if palette == Palette::Grey { [pair.1; 3] } else { pair.0 }
}

fn picture(states: &[State], palette: Palette) -> Result<Vec<u8>> {
    let bytes: Vec<u8> = states.iter().flat_map(|state| colour(*state, palette)).collect();
    encoded([PIXELS as u32; 2], png::ColorType::Rgb, &bytes)
}

/// Writes the name of each large area at its pixel nearest to its middle that no other text covers, off the lines if there is room.
fn name_areas(
    canvas: &mut Canvas,
    [left, top, width, height]: [f64; 4],
    states: &[State],
    lines: &[Vec<Point>],
) -> Result<()> {
    let names = [
        (State::Within, "allowed: within all tolerances"),
        (State::Bound(Limit::Speed), "speed"),
        (State::Bound(Limit::Direction), "direction"),
        (State::Bound(Limit::Shift), "shift of lines"),
        (State::Bound(Limit::FirstOrder), "beyond first order"),
        (State::Bound(Limit::Laminar), "not laminar"),
        (State::Bound(Limit::Dye), "dye lines merge"),
        (State::Empty, "nothing left to observe"),
    ];
    for (state, name) in names {
        let own: Vec<[f64; 2]> = (0..states.len())
            .filter(|&k| states[k] == state)
            .map(|k| [(k % PIXELS) as f64, (k / PIXELS) as f64])
            .collect();
        if (own.len() as f64) < NAMED * states.len() as f64 {
            continue;
        }
        let middle = [0, 1].map(|k| own.iter().map(|p| p[k]).sum::<f64>() / own.len() as f64);
        let distance = |p: &[f64; 2]| plane::distance(*p, middle);
        let lettering = Lettering::label(Anchor::Middle).rimmed();
        // kept inside the frame
        let half = 0.5 * lettering.width(name)? + 1.0;
        let place = |p: &[f64; 2]| {
            let x = (left + width * p[0] / PIXELS as f64).clamp(left + half, left + width - half);
            [x, (top + height * p[1] / PIXELS as f64).clamp(top + 4.0, top + height - 2.0)]
        };
        let clear = |p: &&[f64; 2]| {
            let [x, y] = place(p);
            let apart = |area: [f64; 4]| {
                x + half <= area[0] || area[2] <= x - half || y + 1.0 <= area[1] || area[3] <= y - LETTER
            };
            canvas.texts().iter().all(|text| apart(text.area))
        };
        let off_lines = |p: &&[f64; 2]| {
            let [x, y] = place(p);
            let middle = [[x - half, y - 0.36 * LETTER], [x + half, y - 0.36 * LETTER]];
            let near = |w: &[Point]| plane::nearest_points(middle, [w[0], w[1]]).2 < LETTER;
            !lines.iter().any(|line| line.windows(2).any(near))
        };
        // every eighth pixel both ways will do
        let few = || own.iter().filter(|p| p.iter().all(|x| (*x as usize).is_multiple_of(8))).filter(clear);
        let nearest = |a: &&[f64; 2], b: &&[f64; 2]| distance(a).total_cmp(&distance(b));
        let large = own.len() as f64 >= WRITTEN_OVER * states.len() as f64;
        let anywhere = || own.iter().filter(|_| large).filter(clear).min_by(nearest);
        let at = few().filter(off_lines).min_by(nearest).or_else(anywhere);
        let Some([x, y]) = at.map(place) else { continue };
        canvas.text([x, y], name, lettering)?;
    }
    Ok(())
}

#[cfg(test)]
mod tests;
