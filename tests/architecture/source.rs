//! The paths that a file names.

use std::collections::{BTreeMap, BTreeSet};

/// A path of a `use`, under the name it goes by in the file.
#[derive(Debug, Clone)]
pub struct Import {
    pub path: Vec<String>,
    /// The name; none for a glob.
    pub name: Option<String>,
    /// Whether it is handed on to others.
    pub is_public: bool,
    pub line: usize,
}

/// What one file holds, without comments, literals and unit tests.
#[derive(Debug, Default)]
pub struct Source {
    /// Modules in files of their own.
    pub children: BTreeSet<String>,
    pub imports: Vec<Import>,
    /// Paths of the code with the line of each; a single word where it may be an import's name.
    pub paths: BTreeMap<Vec<String>, usize>,
    /// Names of items defined here.
    pub items: BTreeSet<String>,
}

#[derive(Debug, Clone, PartialEq)]
struct Token {
    text: String,
    line: usize,
}

impl Source {
    pub fn read(text: &str) -> Source {
        let tokens = without_tests(tokens(text));
        let mut source = Source::default();
        let at = |k: usize| tokens.get(k).map_or("", |token| token.text.as_str());
        let mut k = 0;
        while k < tokens.len() {
            match at(k) {
                "use" => {
                    let line = tokens[k].line;
                    let end = (k..tokens.len()).find(|&e| at(e) == ";").unwrap_or(tokens.len());
                    let is_public =
                        k > 0 && (at(k - 1) == "pub" || (at(k - 1) == ")" && is_visibility(&tokens, k - 1)));
                    let tree: Vec<&str> = (k + 1..end).map(at).collect();
                    use_tree(&tree, &mut Vec::new(), &mut |path, name| {
                        source.imports.push(Import { path, name, is_public, line });
                    });
                    k = end;
                }
                "mod" if at(k + 2) == ";" => {
                    source.children.insert(at(k + 1).to_owned());
                    k += 2;
                }
                "fn" | "struct" | "enum" | "trait" | "type" | "const" | "static" | "union" if is_word(at(k + 1)) => {
                    source.items.insert(at(k + 1).to_owned());
                    k += 2;
                }
                word if is_word(word) && (k == 0 || !["::", "."].contains(&at(k - 1))) => {
                    let (mut path, line) = (vec![word.to_owned()], tokens[k].line);
                    while at(k + 1) == "::" && is_word(at(k + 2)) {
                        path.push(at(k + 2).to_owned());
                        k += 2;
                    }
                    source.paths.entry(path).or_insert(line);
                    k += 1;
                }
                _ => k += 1,
            }
        }
        source
    }
}

fn is_word(text: &str) -> bool {
    text.chars().next().is_some_and(|c| c.is_alphabetic() || c == '_')
}

/// Whether a closing bracket ends `pub(...)`.
fn is_visibility(tokens: &[Token], close: usize) -> bool {
    let open = (0..close).rev().find(|&k| tokens[k].text == "(");
    open.is_some_and(|open| open > 0 && tokens[open - 1].text == "pub")
}

/// Hands on every path of the tree of a `use` with its name.
fn use_tree(tree: &[&str], prefix: &mut Vec<String>, found: &mut impl FnMut(Vec<String>, Option<String>)) {
    let depth = prefix.len();
    let mut k = 0;
    while k < tree.len() {
        match tree[k] {
            "::" => k += 1,
            "{" => {
                let mut parts = vec![k + 1];
                let (mut level, mut end) = (0, k);
                for (j, token) in tree.iter().enumerate().skip(k) {
                    match *token {
                        "{" => level += 1,
                        "}" => level -= 1,
                        "," if level == 1 => parts.push(j + 1),
                        _ => {}
                    }
                    if level == 0 {
                        end = j;
                        break;
                    }
                }
                let ends = parts.iter().skip(1).map(|next| next - 1).chain([end]).collect::<Vec<_>>();
                for (from, to) in parts.iter().zip(ends).filter(|(from, to)| *from < to) {
                    use_tree(&tree[*from..to], prefix, found);
                }
                prefix.truncate(depth);
                return;
            }
            "*" => {
                found(prefix.clone(), None);
                prefix.truncate(depth);
                return;
            }
            "as" => break,
            word => {
                if word != "self" || prefix.is_empty() {
                    prefix.push(word.to_owned());
                }
                k += 1;
            }
        }
    }
    let name =
        if tree.get(k) == Some(&"as") { tree.get(k + 1).map(|s| (*s).to_owned()) } else { prefix.last().cloned() };
    if name.is_some() {
        found(prefix.clone(), name);
    }
    prefix.truncate(depth);
}

/// The tokens without the items marked `#[cfg(test)]`.
fn without_tests(tokens: Vec<Token>) -> Vec<Token> {
    const MARK: [&str; 7] = ["#", "[", "cfg", "(", "test", ")", "]"];
    let mut kept = Vec::with_capacity(tokens.len());
    let mut k = 0;
    while k < tokens.len() {
        let marked =
            MARK.iter().enumerate().all(|(j, mark)| tokens.get(k + j).is_some_and(|token| token.text == *mark));
        if !marked {
            kept.push(tokens[k].clone());
            k += 1;
            continue;
        }
        k += MARK.len();
        let (mut level, mut is_use) = (0, false);
        while k < tokens.len() {
            match tokens[k].text.as_str() {
                "use" if level == 0 => is_use = true,
                "{" => level += 1,
                "}" => level -= 1,
                _ => {}
            }
            let ends = match tokens[k].text.as_str() {
                ";" => level == 0,
                "}" => level == 0 && !is_use,
                _ => false,
            };
            k += 1;
            if ends {
                break;
            }
        }
    }
    kept
}

/// Words, `::` and single signs; comments and literals are left out.
fn tokens(text: &str) -> Vec<Token> {
    let chars: Vec<char> = text.chars().collect();
    let at = |k: usize| chars.get(k).copied().unwrap_or('\0');
    let mut found = Vec::new();
    let (mut k, mut line) = (0, 1);
    while k < chars.len() {
        let start = k;
        let c = chars[k];
        let mut push = |text: String| found.push(Token { text, line });
        if c == '/' && at(k + 1) == '/' {
            k = (k..chars.len()).find(|&e| chars[e] == '\n').unwrap_or(chars.len());
        } else if c == '/' && at(k + 1) == '*' {
            let mut level = 1;
            k += 2;
            while k < chars.len() && level > 0 {
                match (at(k), at(k + 1)) {
                    ('/', '*') => (level, k) = (level + 1, k + 2),
                    ('*', '/') => (level, k) = (level - 1, k + 2),
                    _ => k += 1,
                }
            }
        } else if let Some(end) = raw_text_end(&chars, k) {
            k = end;
        } else if c == '"' {
            k += 1;
            while k < chars.len() && chars[k] != '"' {
                k += if chars[k] == '\\' { 2 } else { 1 };
            }
            k += 1;
        } else if c == '\'' && (at(k + 1) == '\\' || at(k + 2) == '\'') {
            k += if at(k + 1) == '\\' { 3 } else { 2 };
            while k < chars.len() && chars[k] != '\'' {
                k += 1;
            }
            k += 1;
        } else if c.is_alphanumeric() || c == '_' {
            k = (k..chars.len()).find(|&e| !(chars[e].is_alphanumeric() || chars[e] == '_')).unwrap_or(chars.len());
            push(chars[start..k].iter().collect());
        } else if c == ':' && at(k + 1) == ':' {
            k += 2;
            push("::".to_owned());
        } else {
            k += 1;
            if !c.is_whitespace() {
                push(c.to_string());
            }
        }
        line += chars[start..k.min(chars.len())].iter().filter(|c| **c == '\n').count();
    }
    found
}

/// Where a raw text that starts here ends, as `r"..."`, `r#"..."#` or `br#"..."#`.
fn raw_text_end(chars: &[char], start: usize) -> Option<usize> {
    let at = |k: usize| chars.get(k).copied().unwrap_or('\0');
    if start > 0 && (chars[start - 1].is_alphanumeric() || chars[start - 1] == '_') {
        return None;
    }
    let mut k = start + usize::from(at(start) == 'b');
    if at(k) != 'r' {
        return None;
    }
    k += 1;
    let marks = (k..).take_while(|&j| at(j) == '#').count();
    k += marks;
    if at(k) != '"' {
        return None;
    }
    let closes = |j: usize| at(j) == '"' && (1..=marks).all(|m| at(j + m) == '#');
    (k + 1..chars.len()).find(|&j| closes(j)).map(|j| j + 1 + marks)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn paths_are_read_and_the_rest_is_not() {
        let source = Source::read(
            r##"
            //! [`crate::not::a_link`]
            pub(crate) use super::{a::{self, B as C}, d::*};
            use crate::e;
            mod child;
            /* crate::not::this /* nor::that */ */
            const TEXT: &str = "crate::not::either \" use x;";
            const RAW: &str = r#"use "crate::not"; "#;
            fn f<'a>(c: char) -> bool { c == '"' || c == '\'' || e::G::new() == crate::h::i::<u8>(c) }
            #[cfg(test)]
            use crate::not::here;
            #[cfg(test)]
            mod tests { use super::not; fn x() { crate::not::x() } }
            fn last() { self::k() }
            "##,
        );
        let of = |i: &Import| (i.path.join("::"), i.name.clone().unwrap_or_default(), i.is_public, i.line);
        let found: Vec<_> = source.imports.iter().map(of).collect();
        let expected = [
            ("super::a", "a", true, 3),
            ("super::a::B", "C", true, 3),
            ("super::d", "", true, 3),
            ("crate::e", "e", false, 4),
        ];
        assert_eq!(found, expected.map(|(p, n, public, line)| (p.to_owned(), n.to_owned(), public, line)));
        let joined: Vec<String> = source.paths.keys().filter(|p| p.len() > 1).map(|p| p.join("::")).collect();
        assert_eq!(joined, ["crate::h::i", "e::G::new", "self::k"]);
        assert_eq!(source.children.iter().collect::<Vec<_>>(), ["child"]);
        assert!(source.items.contains("last") && source.items.contains("TEXT"));
    }
}
