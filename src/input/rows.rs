//! Rows of numbers in a text: the one reader of coordinate lists and of tables of gaps.
//!
//! Files of many programs and hands are read alike: fields stand between semicolons or commas or else white space, chosen anew in each
//! row; `#` starts a comment anywhere in a line; blank lines, quotes round a field and a byte order mark do no harm. (A reader of
//! comma-separated values in the sense of RFC 4180 knows one separator for the whole file, no runs of blanks and no comment behind
//! a row.)

use std::ops::Range;

/// A row that is neither blank nor a comment.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Row<'t> {
    /// Its fields, without blanks and quotes round them.
    pub fields: Vec<&'t str>,
    /// Its bytes in the text.
    pub place: Range<usize>,
    /// Whether it is the first row and no field of it is a number.
    pub is_header: bool,
}

/// The rows of a text, in order.
pub(super) fn rows(text: &str) -> impl Iterator<Item = Row<'_>> {
    let (mut start, mut is_first) = (0, true);
    text.split_inclusive('\n').filter_map(move |line| {
        let content = line.split('#').next().unwrap_or("").trim_start_matches('\u{feff}');
        let row = content.trim();
        let from = start + (row.as_ptr() as usize - line.as_ptr() as usize);
        start += line.len();
        if row.is_empty() {
            return None;
        }
        let fields = fields(row);
        let is_header = std::mem::take(&mut is_first) && fields.iter().all(|field| field.parse::<f64>().is_err());
        Some(Row { fields, place: from..from + row.len(), is_header })
    })
}

fn fields(row: &str) -> Vec<&str> {
    match [';', ','].into_iter().find(|separator| row.contains(*separator)) {
        Some(separator) => row.split(separator).map(|field| field.trim().trim_matches('"')).collect(),
        None => row.split_whitespace().collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_of_every_hand_are_read_with_their_places() {
        let text = "\u{feff}# pier 3\n\"x [mm]\"; \"y [mm]\"\r\n 1.5 ,\"2\" # bollard\n\n3 \t 4\n5;6,7\nx y";
        let found: Vec<Row> = rows(text).collect();
        let fields: Vec<&[&str]> = found.iter().map(|row| row.fields.as_slice()).collect();
        assert_eq!(fields, [&["x [mm]", "y [mm]"][..], &["1.5", "2"], &["3", "4"], &["5", "6,7"], &["x", "y"]]);
        let places: Vec<&str> = found.iter().map(|row| &text[row.place.clone()]).collect();
        assert_eq!(places, ["\"x [mm]\"; \"y [mm]\"", "1.5 ,\"2\"", "3 \t 4", "5;6,7", "x y"]);
        // only the first row may be a header, and only without a number
        let headers: Vec<bool> = found.iter().map(|row| row.is_header).collect();
        assert_eq!(headers, [true, false, false, false, false]);
        assert!(!rows("x, 1\n").any(|row| row.is_header));
    }
}
