//! Paragraphs of a width.

use std::fmt::Write;

/// A paragraph broken at blanks: the first line begins with `first`, later ones are indented.
pub fn paragraph(out: &mut String, first: &str, indent: usize, width: usize, text: &str) {
    let mut row = first.to_owned();
    let mut empty = true;
    for word in text.split_whitespace() {
        if !empty && row.chars().count() + 1 + word.chars().count() > width {
            let _ = writeln!(out, "{row}");
            row = " ".repeat(indent);
            empty = true;
        }
        if !empty {
            row.push(' ');
        }
        row.push_str(word);
        empty = false;
    }
    let _ = writeln!(out, "{row}");
}
