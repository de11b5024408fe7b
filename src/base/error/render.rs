//! Mistakes shown with their line, carets and remedy.

use super::problems::{Problem, Problems, order};
use annotate_snippets::{AnnotationKind, Level, Origin, Renderer, Snippet, normalize_untrusted_str};
use std::ops::Range;

/// Most mistakes shown.
const MOST: usize = 1000;

/// Bytes of a line shown whole; of a longer one so many characters before and after the place.
const WHOLE: usize = 160;
const BEFORE: usize = 40;
const AFTER: usize = 80;

impl Problems {
    /// All mistakes as text, sorted by file and place: message, `file:line:column`, the line with carets, the remedy.
    ///
    /// Lines and columns count from 1, columns in characters. `colour` adds terminal escapes. Past the first thousand the
    /// mistakes are only counted.
    pub fn render(&self, colour: bool) -> String {
        let renderer = if colour { Renderer::styled() } else { Renderer::plain() };
        let mut sorted: Vec<&Problem> = self.list.iter().collect();
        sorted.sort_by(|a, b| order(a, b));
        sorted.dedup();
        let more = sorted.len().saturating_sub(MOST);
        sorted.truncate(MOST);
        let texts: Vec<Lines<'_>> = self.texts.iter().map(|(_, text)| Lines::new(text)).collect();
        let mut shown: Vec<String> = sorted
            .into_iter()
            .map(|problem| {
                let known = self.texts.iter().position(|(file, _)| *file == problem.file);
                show(&renderer, problem, known.and_then(|k| texts.get(k)))
            })
            .collect();
        if more > 0 {
            shown.push(format!("and {more} more {}", if more == 1 { "mistake" } else { "mistakes" }));
        }
        shown.join("\n\n")
    }

    /// Line and column, both from 1, of a mistake; none without a span or without the text of its file.
    pub fn line_and_column(&self, problem: &Problem) -> Option<(usize, usize)> {
        let lines = Lines::new(self.text(&problem.file)?);
        let place = lines.place(problem.span.clone()?);
        Some((place.line, place.column))
    }
}

fn show(renderer: &Renderer, problem: &Problem, lines: Option<&Lines<'_>>) -> String {
    let path = problem.file.display().to_string();
    let title = Level::ERROR.primary_title(problem.message.as_str());
    let remedy = Level::HELP.message(normalize_untrusted_str(&problem.remedy));
    let group = match (&problem.span, lines) {
        (Some(span), Some(lines)) => {
            let place = lines.place(span.clone());
            let snippet = Snippet::source(place.window)
                .line_start(place.line)
                .annotation(AnnotationKind::Primary.span(place.marked));
            // The column is right by itself unless the start of the line was cut off.
            if place.cut {
                title.element(Origin::path(path).line(place.line).char_column(place.column)).element(snippet)
            } else {
                title.element(snippet.path(path))
            }
        }
        _ => title.element(Origin::path(path)),
    };
    let group = if problem.remedy.is_empty() { group } else { group.element(remedy) };
    renderer.render(&[group])
}

/// A text with the starts of its lines.
struct Lines<'t> {
    text: &'t str,
    starts: Vec<usize>,
}

/// A place in a text.
struct Place {
    line: usize,
    column: usize,
    /// Whether the window starts after the start of the line.
    cut: bool,
    /// The line, or the part of it near the place.
    window: String,
    /// Byte range of the place in the window.
    marked: Range<usize>,
}

impl<'t> Lines<'t> {
    fn new(text: &'t str) -> Self {
        let starts = std::iter::once(0).chain(text.match_indices('\n').map(|(k, _)| k + 1)).collect();
        Lines { text, starts }
    }

    /// Spans past the end, inside a character or over several lines are brought back to one line.
    fn place(&self, span: Range<usize>) -> Place {
        let start = floor(self.text, span.start);
        let index = self.starts.partition_point(|s| *s <= start).saturating_sub(1);
        let line_start = self.starts.get(index).copied().unwrap_or(0);
        let rest = self.text.get(line_start..).unwrap_or("");
        let line = rest.split('\n').next().unwrap_or("").trim_end_matches('\r');
        let from = floor(line, start - line_start);
        let to = floor(line, span.end.saturating_sub(line_start)).max(from);
        let (head, tail) = line.split_at(from);
        let (left, right) = if line.len() <= WHOLE {
            (0, line.len())
        } else {
            let left = head.char_indices().rev().nth(BEFORE - 1).map_or(0, |(k, _)| k);
            (left, tail.char_indices().nth(AFTER).map_or(line.len(), |(k, _)| from + k))
        };
        let (mut window, mut shift) = (String::new(), 0);
        if left > 0 {
            window.push_str("...");
            shift = 3;
        }
        window.push_str(&line[left..right]);
        if right < line.len() {
            window.push_str("...");
        }
        let marked = from - left + shift..to.min(right) - left + shift;
        Place { line: index + 1, column: head.chars().count() + 1, cut: left > 0, window, marked }
    }
}

/// The largest character boundary not after a byte position.
fn floor(text: &str, position: usize) -> usize {
    let mut position = position.min(text.len());
    while !text.is_char_boundary(position) {
        position -= 1;
    }
    position
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::path::Path;

    fn problems(text: &str, spans: &[Range<usize>]) -> Problems {
        let file = Path::new("cell.toml");
        let mut problems = Problems::default();
        problems.add_text(file, text);
        for span in spans {
            problems.add(file, Some(span.clone()), "too long", "write less");
        }
        problems
    }

    #[test]
    fn shows_place_line_carets_and_remedy() {
        let text = problems("a = 1\nwidth = \"µ\" # x\r\n", std::slice::from_ref(&(14..18))).to_string();
        assert!(text.contains("error: too long"), "{text}");
        assert!(text.contains("cell.toml:2:9"), "{text}");
        assert!(text.contains("2 | width = \"µ\" # x"), "{text}");
        assert!(text.contains("|         ^^^\n"), "{text}");
        assert!(text.contains("help: write less"), "{text}");
        assert!(!text.contains('\u{1b}'), "{text}");
        assert!(problems("a", std::slice::from_ref(&(0..1))).render(true).contains('\u{1b}'));
    }

    #[test]
    fn sorts_and_drops_repetitions() {
        let all = problems("a\nb\nc\n", &[4..5, 0..1, 4..5, 2..3]);
        let text = all.to_string();
        let at = |place: &str| text.find(place).unwrap_or(usize::MAX);
        assert!(at("cell.toml:1:1") < at("cell.toml:2:1") && at("cell.toml:2:1") < at("cell.toml:3:1"), "{text}");
        assert_eq!(text.matches("error:").count(), 3);
        let Err(crate::base::Error::Input(tidied)) = all.into_result() else { panic!("must be an input error") };
        assert_eq!(tidied.list.len(), 3);
        assert!(Problems::default().into_result().is_ok());
    }

    #[test]
    fn long_lines_are_cut_near_the_place() {
        let line = "é".repeat(5000);
        let all = problems(&line, &[4000..4010, 0..1, 9999..20000, 5001..5001, usize::MAX - 1..usize::MAX]);
        let text = all.to_string();
        assert!(text.contains("cell.toml:1:2001"), "{text}");
        assert!(text.lines().all(|l| l.chars().count() < 200), "{text}");
    }

    #[test]
    #[allow(clippy::reversed_empty_ranges)]
    fn odd_spans_do_not_break_it() {
        for text in ["", "\n", "µ", "a\r\nb", "\t\u{1b}[31m\u{7}x", "日本\n語"] {
            for start in 0..8 {
                for end in 0..10 {
                    assert!(problems(text, std::slice::from_ref(&(start..end))).to_string().contains("cell.toml:"));
                }
            }
        }
    }

    #[test]
    fn shown_column_is_that_of_the_place() {
        for (text, start) in
            [("µ = é \"x\"", 8), ("\t\tab", 2), ("日本語", 3), ("x\n  y\r\n", 4), ("ab", 2), ("a\n", 2)]
        {
            let all = problems(text, std::slice::from_ref(&(start..start + 1)));
            let Some((line, column)) = all.line_and_column(&all.list[0]) else { panic!("{text}") };
            assert!(all.to_string().contains(&format!("cell.toml:{line}:{column}\n")), "{text:?}\n{all}");
        }
    }

    #[test]
    fn a_flood_is_counted() {
        let spans: Vec<_> = (0..MOST + 5).map(|k| k..k + 1).collect();
        let text = problems(&"x\n".repeat(2 * MOST), &spans).to_string();
        assert!(text.ends_with("and 5 more mistakes"), "{}", text.len());
    }

    #[test]
    fn merge_keeps_texts_and_mistakes() {
        let mut first = problems("a\n", std::slice::from_ref(&(0..1)));
        let mut second = Problems::default();
        second.add_text(Path::new("seal.csv"), "x,y\n1,z\n");
        second.add(Path::new("seal.csv"), Some(6..7), "not a number", "write digits");
        first.merge(second);
        let text = first.to_string();
        assert!(text.contains("cell.toml:1:1") && text.contains("seal.csv:2:3"), "{text}");
    }
}
