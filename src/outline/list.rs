//! Outlines from files: two columns of numbers.

use crate::Point;
use crate::error::Problems;
use std::path::Path;

/// Most points an outline may have.
pub(super) const MAX_POINTS: usize = 1_000_000;

/// Largest file read, bytes: room for the largest outline with long comments.
const MAX_BYTES: u64 = 256 << 20;

/// Bad rows reported before giving up.
const MAX_REPORTED: usize = 10;

/// Reads the points of an outline: one point a line, x and y separated by a comma, a semicolon or white space, `#` starts a
/// comment, one header line may stand first.
///
/// Neighbours that repeat a point, and a closing point that repeats the first, are dropped.
///
/// # Errors
/// Every bad row with its place, or what else is wrong with the file.
pub(super) fn read_points(file: &Path) -> Result<Vec<Point>, Problems> {
    let fail = |message: String, remedy: &str| {
        let mut problems = Problems::default();
        problems.add(file, None, message, remedy);
        problems
    };
    let text = read_text(file).map_err(|(message, remedy)| fail(message, remedy))?;
    let mut problems = Problems::default();
    let mut points: Vec<Point> = Vec::new();
    let mut is_first = true;
    let mut start = 0;
    for line in text.split_inclusive('\n') {
        let content = line.split('#').next().unwrap_or("");
        let content = content.trim_start_matches('\u{feff}');
        let row = content.trim();
        let offset = start + (row.as_ptr() as usize - line.as_ptr() as usize);
        start += line.len();
        if row.is_empty() {
            continue;
        }
        let fields = fields(row);
        let is_header = is_first && fields.iter().all(|field| field.parse::<f64>().is_err());
        is_first = false;
        if is_header {
            continue;
        }
        match point(&fields) {
            Ok(point) => push_distinct(&mut points, point),
            Err((message, remedy)) => problems.add(file, Some(offset..offset + row.len()), message, remedy),
        }
        if points.len() > MAX_POINTS + 1 {
            return Err(fail(
                format!("the outline has more than {MAX_POINTS} points"),
                "thin the points out, or join fewer of them by `smooth = true`",
            ));
        }
        if problems.list.len() >= MAX_REPORTED {
            break;
        }
    }
    if !problems.is_empty() {
        problems.add_text(file, &text);
        return Err(problems);
    }
    while points.len() > 1 && points.first() == points.last() {
        points.pop();
    }
    Ok(points)
}

/// Drops neighbours that repeat a point, and a closing point that repeats the first.
pub(super) fn distinct(points: &[Point]) -> Vec<Point> {
    let mut kept = Vec::with_capacity(points.len());
    for &point in points {
        push_distinct(&mut kept, point);
    }
    while kept.len() > 1 && kept.first() == kept.last() {
        kept.pop();
    }
    kept
}

fn push_distinct(points: &mut Vec<Point>, point: Point) {
    if points.last() != Some(&point) {
        points.push(point);
    }
}

fn read_text(file: &Path) -> Result<String, (String, &'static str)> {
    let reading = |error: std::io::Error| {
        (format!("cannot read the outline file: {error}"), "check the name; it is relative to the case file's folder")
    };
    let about = std::fs::metadata(file).map_err(reading)?;
    if about.is_dir() {
        return Err(("the outline file is a folder".into(), "name a file with two columns of numbers"));
    }
    if about.len() > MAX_BYTES {
        return Err((
            format!("the outline file has {} bytes, more than the {MAX_BYTES} that are read", about.len()),
            "thin the points out",
        ));
    }
    let bytes = std::fs::read(file).map_err(reading)?;
    String::from_utf8(bytes).map_err(|error| {
        (
            format!("the outline file is not UTF-8 text: bad byte at {}", error.utf8_error().valid_up_to()),
            "save it as plain text with two columns of numbers",
        )
    })
}

fn fields(row: &str) -> Vec<&str> {
    let separator = [';', ','].into_iter().find(|c| row.contains(*c));
    match separator {
        Some(c) => row.split(c).map(|field| field.trim().trim_matches('"')).collect(),
        None => row.split_whitespace().collect(),
    }
}

fn point(fields: &[&str]) -> Result<Point, (String, &'static str)> {
    let [x, y] = fields else {
        return Err((
            format!(
                "expected two numbers, found {} {}",
                fields.len(),
                if fields.len() == 1 { "entry" } else { "entries" }
            ),
            "write x and y of one point, separated by a comma or a space",
        ));
    };
    let number = |field: &str| match field.parse::<f64>() {
        Ok(value) if value.is_finite() => Ok(value),
        Ok(_) => Err((format!("`{field}` is not a finite number"), "write a finite coordinate or remove the row")),
        Err(_) => Err((format!("`{field}` is not a number"), "write a plain number such as 12.5 or 1.25e1")),
    };
    Ok([number(x)?, number(y)?])
}
