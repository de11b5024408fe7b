//! Reading of tables and their keys, every mistake kept with its place.

use super::InputFile;
use super::asked::{Asked, Form, Notes, Question};
use crate::base::error::Problems;
use crate::base::text::shortened;
use std::ops::Range;
use std::path::Path;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// A value with its place.
pub(crate) type Value<'d> = Spanned<DeValue<'d>>;

/// Collects the mistakes of one file.
pub(crate) struct Reader<'a> {
    file: &'a Path,
    /// The mistakes so far.
    pub problems: Problems,
    /// The files read so far.
    pub inputs: Vec<InputFile>,
    notes: Option<Notes>,
}

/// A table whose keys have been checked against those it may have.
#[derive(Clone)]
pub(crate) struct Table<'d> {
    /// How messages call it.
    pub name: String,
    /// Its header, or the whole of an inline table; none for the file itself.
    pub span: Option<Range<usize>>,
    entries: Option<&'d DeTable<'d>>,
}

impl<'d> Table<'d> {
    /// A table that is not there: every key is missing.
    pub fn absent(name: &str) -> Self {
        Table { name: name.to_owned(), span: None, entries: None }
    }

    /// The value of a key.
    pub fn get(&self, key: &str) -> Option<&'d Value<'d>> {
        self.entries?.get(key)
    }

    /// The place of a key.
    pub fn key_span(&self, key: &str) -> Option<Range<usize>> {
        self.entries?.get_key_value(key).map(|(key, _)| key.span())
    }
}

impl<'a> Reader<'a> {
    pub fn new(file: &'a Path) -> Self {
        Reader { file, problems: Problems::default(), inputs: Vec::new(), notes: None }
    }

    /// The same, noting what is asked of the file.
    pub fn noting(file: &'a Path, root: &DeTable<'_>) -> Self {
        Reader { notes: Some(Notes::new(root)), ..Reader::new(file) }
    }

    /// What was asked of the file.
    pub fn into_asked(self) -> Vec<Asked> {
        self.notes.map_or_else(Vec::new, Notes::into_asked)
    }

    /// Notes a form that is asked of a value.
    pub fn note(&mut self, value: &Value<'_>, form: Form) {
        if let Some(notes) = &mut self.notes {
            notes.add(Some(value.span()), None, Question::Value(form));
        }
    }

    /// Notes a form that is asked of a key, there or not.
    pub fn note_key(&mut self, table: &Table<'_>, key: &str, form: Form) {
        if let (Some(notes), Some(_)) = (&mut self.notes, table.entries) {
            notes.add(table.span.clone(), Some(key), Question::Value(form));
        }
    }

    /// Notes keys of which a table must have exactly one, whatever is said where it has not.
    pub fn note_one_of(&mut self, table: &Table<'_>, keys: &[&str]) {
        self.note_table(table, || Question::OneOf(owned(keys)));
    }

    fn note_table(&mut self, table: &Table<'_>, question: impl FnOnce() -> Question) {
        if let (Some(notes), Some(_)) = (&mut self.notes, table.entries) {
            notes.add(table.span.clone(), None, question());
        }
    }

    /// The folder of the file, to which names of other files are relative.
    pub fn folder(&self) -> &'a Path {
        self.file.parent().unwrap_or(Path::new(""))
    }

    /// Adds a mistake.
    pub fn fail(&mut self, span: Option<Range<usize>>, message: impl Into<String>, remedy: impl Into<String>) {
        self.problems.add(self.file, span, message, remedy);
    }

    /// The file itself as a table.
    pub fn root<'d>(&mut self, name: &str, entries: &'d DeTable<'d>, allowed: &[&str]) -> Table<'d> {
        let table = Table { name: name.to_owned(), span: None, entries: Some(entries) };
        self.check_keys(&table, allowed);
        table
    }

    /// A value that must be a table with no other keys than the allowed ones.
    pub fn table<'d>(&mut self, value: &'d Value<'d>, name: &str, allowed: &[&str]) -> Option<Table<'d>> {
        let Some(entries) = value.get_ref().as_table() else {
            let remedy = format!("write a table with the keys {}", allowed.join(", "));
            self.wrong_type(value, name, "a table", &remedy);
            return None;
        };
        let table = Table { name: name.to_owned(), span: Some(value.span()), entries: Some(entries) };
        self.check_keys(&table, allowed);
        Some(table)
    }

    /// A table of the file that may be left out.
    pub fn section<'d>(&mut self, root: &Table<'d>, key: &str, allowed: &[&str]) -> Table<'d> {
        let name = format!("[{key}]");
        let read = root.get(key).and_then(|value| self.table(value, &name, allowed));
        read.unwrap_or_else(|| Table::absent(&name))
    }

    /// A table of the file that must be there; none, with the mistake noted, if it is not.
    pub fn needed_section<'d>(&mut self, root: &Table<'d>, key: &str, allowed: &[&str]) -> Option<Table<'d>> {
        self.note_table(root, || Question::Needed(key.to_owned()));
        let name = format!("[{key}]");
        match root.get(key) {
            Some(value) => self.table(value, &name, allowed),
            None => {
                let remedy = format!("add a table {name} with keys out of {}", allowed.join(", "));
                self.fail(None, format!("the table {name} is missing"), remedy);
                None
            }
        }
    }

    /// The elements of an array of tables of the file; a single table counts as one.
    pub fn list<'d>(&mut self, root: &Table<'d>, key: &str) -> Vec<&'d Value<'d>> {
        self.note_key(root, key, Form::Tables);
        match root.get(key) {
            None => Vec::new(),
            Some(value) => match value.get_ref() {
                DeValue::Array(elements) => elements.iter().collect(),
                DeValue::Table(_) => vec![value],
                _ => {
                    self.wrong_type(value, key, "an array of tables", &format!("write [[{key}]] above its keys"));
                    Vec::new()
                }
            },
        }
    }

    fn check_keys(&mut self, table: &Table<'_>, allowed: &[&str]) {
        self.note_table(table, || Question::Table(table.name.clone(), owned(allowed)));
        let Some(entries) = table.entries else { return };
        for (key, _) in entries.iter() {
            let word: &str = key.get_ref();
            if !allowed.contains(&word) {
                let near = nearest(word, allowed).map_or(String::new(), |known| format!("did you mean \"{known}\"? "));
                let message = format!("unknown key \"{}\" in {}", shortened(word), table.name);
                self.fail(Some(key.span()), message, format!("{near}allowed here: {}", allowed.join(", ")));
            }
        }
    }

    /// The value of a key that must be there.
    pub fn needed<'d>(&mut self, table: &Table<'d>, key: &str, example: &str) -> Option<&'d Value<'d>> {
        self.note_table(table, || Question::Needed(key.to_owned()));
        let value = table.get(key);
        if value.is_none() {
            let message = format!("{} lacks the key \"{key}\"", table.name);
            self.fail(table.span.clone(), message, format!("add {key} = {example}"));
        }
        value
    }

    /// The one of several keys that must be there exactly once.
    pub fn exactly_one<'d, 'k>(&mut self, table: &Table<'d>, keys: &[&'k str]) -> Option<(&'k str, &'d Value<'d>)> {
        self.note_table(table, || Question::OneOf(owned(keys)));
        let mut found: Vec<_> = keys.iter().filter_map(|key| Some((*key, table.get(key)?))).collect();
        found.sort_by_key(|(_, value)| value.span().start);
        match found.as_slice() {
            [one] => Some(*one),
            [] => {
                let message = format!("{} has none of {}", table.name, keys.join(", "));
                self.fail(table.span.clone(), message, "give exactly one of them");
                None
            }
            [(first, _), others @ ..] => {
                for (key, _) in others {
                    let message = format!("{} has both \"{first}\" and \"{key}\"", table.name);
                    let remedy = format!("keep exactly one of {}", keys.join(", "));
                    self.fail(table.key_span(key), message, remedy);
                }
                None
            }
        }
    }
}

fn owned(words: &[&str]) -> Vec<String> {
    words.iter().map(|word| (*word).to_owned()).collect()
}

/// The known word most like a mistyped one, if it differs in no more than a third of its letters.
pub(crate) fn nearest<'k>(word: &str, known: &[&'k str]) -> Option<&'k str> {
    let length = word.chars().count();
    if length > 40 {
        return None;
    }
    let distance = |candidate: &str| strsim::damerau_levenshtein(&word.to_lowercase(), candidate);
    let best = known.iter().copied().min_by_key(|candidate| distance(candidate))?;
    (distance(best) <= (length.max(best.len()) / 3).max(1)).then_some(best)
}
