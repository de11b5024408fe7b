//! The pages of `help`: that they are there, fit, and name what the program knows.

use crate::{CASE, run};
use std::collections::BTreeSet;
use std::path::Path;

/// What `help` lists, topics and commands.
fn listed() -> (Vec<String>, Vec<String>) {
    let (out, error, code) = run(Path::new("."), &["help"]);
    assert_eq!((code, error.as_str()), (0, ""));
    let names = |text: &str| -> Vec<String> {
        let lines = text.lines().filter(|line| line.starts_with("  ") && !line.starts_with("   "));
        lines.filter_map(|line| line.split_whitespace().next().map(str::to_owned)).collect()
    };
    let (topics, commands) = out.split_once("\nCommands").unwrap();
    (names(topics), names(commands))
}

fn page(topic: &str) -> String {
    let (out, error, code) = run(Path::new("."), &["help", topic]);
    assert_eq!((code, error.as_str()), (0, ""), "{topic}");
    out
}

#[test]
fn every_topic_has_a_page_and_every_command_its_help() {
    let (topics, commands) = listed();
    for topic in ["units", "case-file", "outlines", "gap-tables", "figures", "convergence", "departure", "rig", "files"]
    {
        assert!(topics.iter().any(|known| known == topic), "{topic} is not among {topics:?}");
    }
    for topic in ["exit-codes", "scripts", "bounds", "picture", "limits", "sources"] {
        assert!(topics.iter().any(|known| known == topic), "{topic} is not among {topics:?}");
    }
    for topic in &topics {
        let page = page(topic);
        assert!(page.lines().count() > 5, "{topic}");
        // no terminal here: 80 columns, save for lines that stay as they are
        for line in page.lines().filter(|line| !line.starts_with("    ")) {
            assert!(line.chars().count() <= 80, "{topic}: {line}");
        }
    }
    for command in commands.iter().filter(|command| !topics.contains(command)) {
        assert!(page(command).contains(&format!("Usage: twinplate {command}")), "{command}");
    }
    assert!(page("rig").ends_with("Options: twinplate rig --help\n"));
    let (out, error, code) = run(Path::new("."), &["help", "unit"]);
    assert_eq!((code, out.as_str()), (2, ""));
    assert!(error.contains("units"), "{error}");
}

/// What a command finds can be had as JSON; these find nothing but print texts, or JSON anyway.
#[test]
fn every_command_that_finds_something_prints_json() {
    let (_, commands) = listed();
    for command in commands.iter().filter(|command| !["completions", "manual"].contains(&command.as_str())) {
        let (help, _, code) = run(Path::new("."), &[command, "--help"]);
        assert_eq!(help.contains("--json"), !["help", "schema"].contains(&command.as_str()), "{command} {code}");
    }
    let folder = tempfile::tempdir().unwrap();
    for words in [&["start", "museum", "--json"][..], &["schema"], &["schema", "case"]] {
        let (out, error, code) = run(folder.path(), words);
        assert_eq!((code, error.as_str()), (0, ""), "{words:?}");
        assert!(serde_json::from_str::<serde_json::Value>(&out).unwrap().is_object(), "{words:?}");
    }
    assert!(folder.path().join("museum/case.toml").is_file());
}

/// `twinplate help WORD` is said in the README, in the pages, in the help of commands, and in messages: each WORD must be known.
#[test]
fn every_page_that_is_named_exists() {
    let (topics, commands) = listed();
    let known: BTreeSet<&str> =
        topics.iter().chain(&commands).map(String::as_str).chain(["TOPIC", "COMMAND", "lists"]).collect();
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut texts = vec![("README.md".to_owned(), std::fs::read_to_string(root.join("README.md")).unwrap())];
    texts.extend(topics.iter().map(|topic| (topic.clone(), page(topic))));
    texts.extend(commands.iter().map(|c| (format!("{c} --help"), run(root, &[c, "--help"]).0)));
    texts.push(("--help".into(), run(root, &["--help"]).0));
    texts.extend(crate::sources(&root.join("src")));
    let mut found = 0;
    for (place, text) in texts {
        let text = text.replace("\\n", " ");
        let words: Vec<&str> = text.split_whitespace().collect();
        for three in words.windows(3).filter(|three| three[0].ends_with("twinplate") && three[1] == "help") {
            let word = three[2].trim_matches(|c: char| !c.is_alphanumeric());
            assert!(known.contains(word), "{place} names the page \"{word}\", which does not exist");
            found += 1;
        }
    }
    assert!(found > 10, "{found}");
}

/// Whatever key a table of the case allows is explained.
#[test]
fn every_key_of_a_case_is_on_a_page() {
    let pages: String = ["case-file", "outlines", "gap-tables", "rig"].map(page).concat();
    let words: BTreeSet<&str> = pages.split(|c: char| !(c.is_alphanumeric() || c == '_')).collect();
    let wrong = "zzz = 1\n";
    let tables = CASE.replace("gap = \"0.5 mm\"", "gap = { at = 1e-3, zzz = 1 }");
    let all = ["[cell]\n", "[fluid]\n", "[drive]\n", "[[obstacle]]\n", "[[probe]]\n"];
    let tables = all.into_iter().fold(tables, |text, head| text.replace(head, &format!("{head}{wrong}")));
    let others =
        ["mesh", "streaklines", "tolerance", "departure", "rig"].map(|name| format!("[{name}]\n{wrong}")).concat();
    let shape = |inner: &str| format!("[[obstacle]]\n{inner}\n");
    let shapes = ["circle", "ellipse", "polygon", "four_digit", "joukowski", "teardrop"];
    let shapes: String = shapes.map(|kind| shape(&format!("{kind} = {{ zzz = 1 }}"))).concat();
    let outlines =
        ["outline = { file = \"a.svg\", zzz = 1 }", "outline = { points = [], zzz = 1 }"].map(shape).concat();
    let sweep = "[sweep]\nreduced_reynolds = { zzz = 1 }\n";
    let text = format!("{wrong}{tables}{others}{shapes}{outlines}{sweep}");
    let loaded = twinplate::input::case::parse(&text, Path::new("case.toml"));
    let mut keys = BTreeSet::new();
    let mut lists = 0;
    for problem in &loaded.problems.list {
        if let Some((_, list)) = problem.remedy.split_once("allowed here: ") {
            keys.extend(list.split(", ").map(str::to_owned));
            lists += 1;
        }
    }
    // the file, five tables that must be there, gap, five that may, eight shapes, the range of a sweep
    assert_eq!(lists, 1 + 5 + 1 + 5 + 8 + 1, "{}", loaded.problems);
    for key in &keys {
        assert!(words.contains(key.as_str()), "no page explains the key {key}");
    }
    assert!(keys.len() > 70, "{}", keys.len());
}

/// The page of exit codes has a line for each, with the words that the help of the program has.
#[test]
fn exit_codes_are_explained() {
    let page = page("exit-codes");
    let help = run(Path::new("."), &["--help"]).0.split_whitespace().collect::<Vec<_>>().join(" ");
    for exit in twinplate::cli::Exit::ALL {
        let (code, meaning) = (exit.code(), exit.meaning());
        assert!(page.contains(&format!("  - {code}: {meaning}")), "{code} {meaning}: {page}");
        assert!(help.contains(&format!("{code} {meaning}")), "{help}");
    }
    assert_eq!(twinplate::cli::Exit::ALL.map(|exit| exit.code()), [0, 1, 2, 3, 4]);
}
