//! Basic shapes of SVG in their own coordinates, y down.

use super::path::{Subpath, arc, subpaths};
use super::view::px;
use crate::base::Point;
use crate::geometry::Curve;
use roxmltree::Node;
use std::f64::consts::FRAC_PI_2;
use std::ops::Range;
use svgtypes::NumberListParser;

/// What is wrong with an element, and where if it is known better than the element.
pub(super) type Fault = (String, Option<Range<usize>>);

/// Whether an element of that name is a shape.
pub(super) fn is_shape(name: &str) -> bool {
    matches!(name, "path" | "rect" | "circle" | "ellipse" | "line" | "polyline" | "polygon")
}

/// The subpaths of a shape element; none of any other. Percentages refer to `size`; at most `most` curves.
pub(super) fn shape(node: Node<'_, '_>, size: [f64; 2], most: usize) -> Result<Vec<Subpath>, Fault> {
    let diagonal = (0.5 * (size[0] * size[0] + size[1] * size[1])).sqrt();
    let length = |key: &str, whole: f64| -> Result<Option<f64>, Fault> {
        let Some(attribute) = node.attribute_node(key) else { return Ok(None) };
        if attribute.value().trim() == "auto" {
            return Ok(None);
        }
        let value = px(attribute.value(), whole).map_err(|message| (message, Some(attribute.range_value())))?;
        Ok(Some(value))
    };
    let x = |key| length(key, size[0]).map(|v| v.unwrap_or(0.0));
    let y = |key| length(key, size[1]).map(|v| v.unwrap_or(0.0));
    let found = match node.tag_name().name() {
        "path" => {
            let Some(data) = node.attribute_node("d") else { return Ok(Vec::new()) };
            let range = data.range_value();
            let place = |at: usize| range.start + at.min(range.len().saturating_sub(1));
            subpaths(data.value(), most).map_err(|(message, at)| (message, at.map(|at| place(at)..place(at) + 1)))?
        }
        "rect" => {
            let (w, h) = (x("width")?, y("height")?);
            let radii = [length("rx", size[0])?, length("ry", size[1])?];
            let [rx, ry] = [radii[0].or(radii[1]), radii[1].or(radii[0])].map(|r| r.unwrap_or(0.0));
            rectangle([x("x")?, y("y")?], [w, h], [rx.clamp(0.0, 0.5 * w.max(0.0)), ry.clamp(0.0, 0.5 * h.max(0.0))])
        }
        "circle" => {
            let r = length("r", diagonal)?.unwrap_or(0.0);
            ellipse([x("cx")?, y("cy")?], [r, r])
        }
        "ellipse" => {
            let radii = [length("rx", size[0])?, length("ry", size[1])?];
            let [rx, ry] = [radii[0].or(radii[1]), radii[1].or(radii[0])].map(|r| r.unwrap_or(0.0));
            ellipse([x("cx")?, y("cy")?], [rx, ry])
        }
        "line" => joined(&[[x("x1")?, y("y1")?], [x("x2")?, y("y2")?]], false),
        "polyline" => joined(&points(node, most)?, false),
        "polygon" => joined(&points(node, most)?, true),
        _ => Vec::new(),
    };
    Ok(found)
}

fn points(node: Node<'_, '_>, most: usize) -> Result<Vec<Point>, Fault> {
    let Some(attribute) = node.attribute_node("points") else { return Ok(Vec::new()) };
    let place = Some(attribute.range_value());
    let mut numbers = Vec::new();
    for number in NumberListParser::from(attribute.value()) {
        numbers.push(number.map_err(|error| (format!("the points are broken: {error}"), place.clone()))?);
        if numbers.len() > 2 * most {
            return Err((format!("the file has more than the {most} curves that are taken"), place));
        }
    }
    let (pairs, rest) = numbers.as_chunks::<2>();
    if !rest.is_empty() {
        return Err((format!("the points have an odd count of numbers, {}", numbers.len()), place));
    }
    Ok(pairs.to_vec())
}

fn joined(points: &[Point], closed: bool) -> Vec<Subpath> {
    let lines = points.windows(2).map(|pair| Curve::Line { from: pair[0], to: pair[1] });
    let mut curves: Vec<Curve> = lines.collect();
    if let (true, Some(&from), Some(&to)) = (closed && points.first() != points.last(), points.last(), points.first()) {
        curves.push(Curve::Line { from, to });
    }
    vec![Subpath { curves, closed }]
}

fn ellipse(centre: Point, radii: [f64; 2]) -> Vec<Subpath> {
    if !(radii[0] > 0.0 && radii[1] > 0.0) {
        return Vec::new();
    }
    let quarter = |k: f64| Curve::Arc {
        centre,
        semi_axes: radii,
        rotation: 0.0,
        start: k * FRAC_PI_2,
        end: (k + 1.0) * FRAC_PI_2,
    };
    vec![Subpath { curves: [0.0, 1.0, 2.0, 3.0].map(quarter).to_vec(), closed: true }]
}

fn rectangle([x, y]: Point, [w, h]: [f64; 2], [rx, ry]: [f64; 2]) -> Vec<Subpath> {
    if !(w > 0.0 && h > 0.0) {
        return Vec::new();
    }
    let (right, bottom) = (x + w, y + h);
    let sides = [
        [[x + rx, y], [right - rx, y]],
        [[right, y + ry], [right, bottom - ry]],
        [[right - rx, bottom], [x + rx, bottom]],
        [[x, bottom - ry], [x, y + ry]],
    ];
    let mut curves = Vec::new();
    for k in 0..4 {
        let [from, to] = sides[k];
        if from != to {
            curves.push(Curve::Line { from, to });
        }
        if rx > 0.0 && ry > 0.0 {
            curves.extend(arc(to, sides[(k + 1) % 4][0], [rx, ry], 0.0, false, true));
        }
    }
    vec![Subpath { curves, closed: true }]
}
