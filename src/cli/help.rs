//! `help`: what commands and keys have in common, one page for each topic.

use super::args::Cli;
use super::exit::Exit;
use super::say::say;
use super::topics::{self, COMMANDS};
use crate::base::Result;
use crate::report::paragraph;
use clap::CommandFactory;
use std::fmt::Write;
use std::io::IsTerminal;

/// Columns where the output is no terminal.
const USUAL: usize = 80;
/// Least and most columns of a page.
const COLUMNS: std::ops::RangeInclusive<usize> = 40..=100;

/// Prints the page of a topic, else the help of a command, else the list of both.
pub fn help(wanted: Option<&str>) -> Result<Exit> {
    let Some(wanted) = wanted else { return say(&contents(columns())) };
    let mut cli = Cli::command();
    cli.build();
    if let Some(text) = topics::find(wanted) {
        let options =
            if COMMANDS.contains(&wanted) { format!("\nOptions: twinplate {wanted} --help\n") } else { String::new() };
        return say(&(page(text, columns()) + &options));
    }
    let found = cli.find_subcommand_mut(wanted).map(|command| command.render_long_help());
    match found {
        Some(help) if std::io::stdout().is_terminal() => say(&help.ansi().to_string()),
        Some(help) => say(&help.to_string()),
        None => say(&contents(columns())),
    }
}

/// Columns of the terminal.
fn columns() -> usize {
    let terminal = terminal_size::terminal_size().filter(|_| std::io::stdout().is_terminal());
    terminal.map_or(USUAL, |(width, _)| usize::from(width.0)).clamp(*COLUMNS.start(), *COLUMNS.end())
}

/// All topics and commands.
fn contents(columns: usize) -> String {
    let mut out = String::new();
    let mut entry = |name: &str, about: &str| paragraph(&mut out, &format!("  {name:<14}"), 16, columns, about);
    for (name, text) in topics::ALL {
        entry(name, title(text));
    }
    let topics = std::mem::take(&mut out);
    let cli = Cli::command();
    let mut entry = |name: &str, about: &str| paragraph(&mut out, &format!("  {name:<14}"), 16, columns, about);
    for command in cli.get_subcommands() {
        entry(command.get_name(), &command.get_about().map(ToString::to_string).unwrap_or_default());
    }
    format!("Topics: twinplate help TOPIC\n{topics}\nCommands: twinplate COMMAND --help\n{out}")
}

fn title(text: &str) -> &str {
    text.lines().next().unwrap_or_default().trim_start_matches('#').trim()
}

/// A topic as lines of at most so many columns. Of its text, `#` marks headings, `-` entries of lists, three backticks lines that stay as
/// they are; a blank line ends a paragraph.
fn page(text: &str, columns: usize) -> String {
    let mut out = String::new();
    let mut open = String::new();
    let mut verbatim = false;
    let end = |out: &mut String, open: &mut String| {
        let text = std::mem::take(open);
        match text.strip_prefix("- ") {
            _ if text.is_empty() => {}
            Some(entry) => paragraph(out, "  - ", 4, columns, entry),
            None => paragraph(out, "", 0, columns, &text),
        }
    };
    for line in text.lines() {
        if line.starts_with("```") {
            end(&mut out, &mut open);
            verbatim = !verbatim;
        } else if verbatim {
            let _ = writeln!(out, "    {line}");
        } else if line.trim().is_empty() {
            end(&mut out, &mut open);
            out.push('\n');
        } else if line.starts_with('#') {
            end(&mut out, &mut open);
            paragraph(&mut out, "", 2, columns, line.trim_start_matches('#'));
        } else {
            if line.starts_with("- ") {
                end(&mut out, &mut open);
            }
            let _ = write!(open, "{}{}", if open.is_empty() { "" } else { " " }, line.trim().replace("**", ""));
        }
    }
    end(&mut out, &mut open);
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pages_fit_the_columns() {
        for (name, text) in topics::ALL {
            for columns in [40, 80, 100] {
                let mut verbatim = text.lines().scan(false, |inside, line| {
                    *inside ^= line.starts_with("```");
                    Some((*inside, line))
                });
                let longest = text.split_whitespace().map(|word| word.chars().count() + 4).max().unwrap_or(0);
                let kept: Vec<&str> = verbatim.by_ref().filter(|(inside, _)| *inside).map(|(_, line)| line).collect();
                for line in page(text, columns).lines() {
                    let fits = line.chars().count() <= columns.max(longest)
                        || line.strip_prefix("    ").is_some_and(|line| kept.contains(&line));
                    assert!(fits, "{name} at {columns}: {line}");
                    assert!(!line.contains("**") && !line.contains("```"), "{name}: {line}");
                }
            }
        }
    }

    #[test]
    fn marks_become_headings_lists_and_lines_that_stay() {
        let text = "# Title: of it\n\nOne line\nand another **one**.\n- first\n  goes on\n- second\n\n```\n# kept   as is\n```\n## End\n";
        let expected =
            "Title: of it\n\nOne line and another one.\n  - first goes on\n  - second\n\n    # kept   as is\nEnd\n";
        assert_eq!(page(text, 80), expected);
    }

    #[test]
    fn every_command_is_known_by_name() {
        let cli = Cli::command();
        let mut commands: Vec<&str> = cli.get_subcommands().map(clap::Command::get_name).collect();
        let mut known = COMMANDS.to_vec();
        commands.sort_unstable();
        known.sort_unstable();
        assert_eq!(commands, known);
    }
}
