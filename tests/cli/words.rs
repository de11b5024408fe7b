//! The library is no program: it does not know the options of the command line.

use std::path::Path;

/// The texts in quotes of a Rust source, with their lines; comments and characters are passed over.
fn literals(source: &str) -> Vec<(usize, String)> {
    let chars: Vec<char> = source.chars().collect();
    let at = |k: usize| chars.get(k).copied().unwrap_or(' ');
    let (mut found, mut k, mut line) = (Vec::new(), 0, 1);
    while k < chars.len() {
        let raw = at(k) == 'r' && !(k > 0 && (at(k - 1).is_alphanumeric() || at(k - 1) == '_') && at(k - 1) != 'b');
        let hashes = if raw { chars[k + 1..].iter().take_while(|c| **c == '#').count() } else { 0 };
        if at(k) == '/' && at(k + 1) == '/' {
            k += chars[k..].iter().take_while(|c| **c != '\n').count();
        } else if at(k) == '\'' && (at(k + 1) == '\\' || at(k + 2) == '\'') {
            // a character; a lifetime has no second quote
            let escaped = usize::from(at(k + 1) == '\\');
            k += 2 + escaped;
            k += chars[k.min(chars.len())..].iter().take_while(|c| **c != '\'').count() + 1;
        } else if at(k) == '"' || (raw && at(k + 1 + hashes) == '"') {
            let start = line;
            k += if raw { hashes + 2 } else { 1 };
            let mut text = String::new();
            let ends = |k: usize| at(k) == '"' && (1..=hashes).all(|h| at(k + h) == '#');
            while k < chars.len() && !ends(k) {
                if at(k) == '\\' && !raw {
                    k += 1;
                }
                line += usize::from(at(k) == '\n');
                text.push(at(k));
                k += 1;
            }
            k += 1 + hashes;
            found.push((start, text));
        } else {
            line += usize::from(at(k) == '\n');
            k += 1;
        }
    }
    found
}

/// The first option of a command line in a text.
fn option(text: &str) -> Option<String> {
    text.match_indices("--").find_map(|(k, _)| {
        let before = text[..k].chars().next_back();
        let name: String = text[k + 2..].chars().take_while(|c| c.is_ascii_lowercase() || *c == '-').collect();
        let alone = before.is_none_or(|c| c.is_whitespace() || c.is_ascii_punctuation() && c != '-');
        (alone && name.starts_with(|c: char| c.is_ascii_lowercase())).then_some(format!("--{name}"))
    })
}

#[test]
fn the_library_names_no_options() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut wrong = Vec::new();
    for (file, source) in crate::sources(&root) {
        if file.starts_with("cli/") {
            continue;
        }
        for (line, text) in literals(&source) {
            wrong.extend(option(&text).map(|option| format!("src/{file}:{line} names {option}")));
        }
    }
    assert!(wrong.is_empty(), "options belong to src/cli:\n{}", wrong.join("\n"));
}

#[test]
fn texts_in_quotes_are_found() {
    let source = "// \"--no\"\nlet a = 'x'; let b: &'static str = \"say --error\\\n  on\"; // --no\nlet c = r#\"a \"--raw\" one\"#;\n\
                  let d = '\"'; let e = \"plain\"; let f = b\"--bytes\"; let g = '\\''; let h = \"\";\n\
                  let i = \"a \\\" or --all\";";
    let found: Vec<(usize, Option<String>)> =
        literals(source).iter().map(|(line, text)| (*line, option(text))).collect();
    let named = |option: &str| Some(option.to_owned());
    assert_eq!(
        found,
        [(2, named("--error")), (4, named("--raw")), (5, None), (5, named("--bytes")), (5, None), (6, named("--all"))]
    );
    assert_eq!(option("--levels 3"), named("--levels"));
    assert_eq!(option("a--b, 1--2 and <!-- -- -->"), None);
}
