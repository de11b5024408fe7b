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
    /// Whether it is one of the first rows, before any number.
    pub is_header: bool,
}

/// Most rows of a header: a title, names and units.
const MOST_HEADERS: usize = 3;

/// What a number starts with.
const NUMERIC: [char; 13] = ['0', '1', '2', '3', '4', '5', '6', '7', '8', '9', '+', '-', '.'];

/// The rows of a text, in order.
pub(super) fn rows(text: &str) -> impl Iterator<Item = Row<'_>> {
    let (mut start, mut headers) = (0, 0..MOST_HEADERS);
    text.split_inclusive('\n').filter_map(move |line| {
        let content = line.split('#').next().unwrap_or("").trim_start_matches('\u{feff}');
        let row = content.trim();
        let from = start + (row.as_ptr() as usize - line.as_ptr() as usize);
        start += line.len();
        if row.is_empty() {
            return None;
        }
        let fields = fields(row);
        // a number with a unit or a slip of the pen is a mistake to be told, no header
        let is_word = |field: &&str| field.parse::<f64>().is_err() && !field.starts_with(NUMERIC);
        if !fields.iter().all(is_word) {
            headers = 0..0;
        }
        let is_header = headers.next().is_some();
        Some(Row { fields, place: from..from + row.len(), is_header })
    })
}

/// What stands between the fields of a row; none for white space.
pub(super) fn separator(row: &str) -> Option<char> {
    [';', ','].into_iter().find(|separator| row.split(outside_quotes(*separator)).nth(1).is_some())
}

/// The fields of a row, without blanks and quotes round them; a separator between quotes is none.
pub(super) fn fields(row: &str) -> Vec<&str> {
    match separator(row) {
        Some(separator) => row.split(outside_quotes(separator)).map(|field| field.trim().trim_matches('"')).collect(),
        None => row.split_whitespace().collect(),
    }
}

/// Whether a letter, asked for from left to right, is a separator.
fn outside_quotes(separator: char) -> impl FnMut(char) -> bool {
    let mut quoted = false;
    move |letter| {
        quoted ^= letter == '"';
        letter == separator && !quoted
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_of_every_hand_are_read_with_their_places() {
        let text =
            "\u{feff}# pier 3\n\"x [mm]\"; \"y [mm]\"\r\n 1.5 ,\"2\" # bollard\n\n3 \t 4\n5;6,7\nx y\n\"a; b, c\",8";
        let found: Vec<Row> = rows(text).collect();
        let fields: Vec<&[&str]> = found.iter().map(|row| row.fields.as_slice()).collect();
        assert_eq!(
            fields,
            [&["x [mm]", "y [mm]"][..], &["1.5", "2"], &["3", "4"], &["5", "6,7"], &["x", "y"], &["a; b, c", "8"]]
        );
        let places: Vec<&str> = found.iter().map(|row| &text[row.place.clone()]).collect();
        assert_eq!(places, ["\"x [mm]\"; \"y [mm]\"", "1.5 ,\"2\"", "3 \t 4", "5;6,7", "x y", "\"a; b, c\",8"]);
        // only rows before the first number are a header, three at most
        let headers = |text: &str| rows(text).map(|row| row.is_header).collect::<Vec<bool>>();
        assert_eq!(headers(text), [true, false, false, false, false, false]);
        assert_eq!(headers("keel\nx,y\nmm,mm\nx,y\n1,2\n"), [true, true, true, false, false]);
        assert_eq!(headers("x, 1\nx, y\n"), [false, false]);
        assert_eq!(headers("1.5mm, 2mm\n+x, y\n.x y"), [false, false, false]);
    }
}
