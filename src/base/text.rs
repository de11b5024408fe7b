//! Texts of users and files on their way into messages and reports.

use std::borrow::Cow;

/// A text without control characters, which could steer a terminal: white space becomes blanks, the others U+FFFD.
///
/// ```
/// use twinplate::base::text::printable;
/// assert_eq!(printable("pier\u{1b}[31m"), "pier\u{fffd}[31m");
/// assert_eq!(printable("caisson"), "caisson");
/// ```
pub fn printable(text: &str) -> Cow<'_, str> {
    if text.contains(char::is_control) {
        Cow::Owned(text.replace(['\n', '\r', '\t'], " ").replace(char::is_control, "\u{fffd}"))
    } else {
        Cow::Borrowed(text)
    }
}

/// At most forty characters of a text, for messages.
///
/// ```
/// use twinplate::base::text::shortened;
/// assert_eq!(shortened("pier"), "pier");
/// assert_eq!(shortened(&"pier".repeat(11)), format!("{}...", "pier".repeat(10)));
/// ```
pub fn shortened(text: &str) -> String {
    match text.char_indices().nth(40) {
        Some((end, _)) => format!("{}...", &text[..end]),
        None => text.to_owned(),
    }
}

/// A word as it can be typed on a command line, by the rules of the POSIX shell: nothing is special within single quotes, and one of them
/// is written outside.
///
/// ```
/// use twinplate::base::text::quoted;
/// assert_eq!(quoted("meshes/seal.toml"), "meshes/seal.toml");
/// assert_eq!(quoted("--even-lines=20"), "--even-lines=20");
/// assert_eq!(quoted("20 mm"), "'20 mm'");
/// assert_eq!(quoted(""), "''");
/// assert_eq!(quoted("a'b$"), r"'a'\''b$'");
/// ```
pub fn quoted(word: &str) -> String {
    let plain = |c: char| c.is_alphanumeric() || "_./=,:+-@%".contains(c);
    if !word.is_empty() && word.chars().all(plain) {
        return word.to_owned();
    }
    format!("'{}'", word.replace('\'', "'\\''"))
}
