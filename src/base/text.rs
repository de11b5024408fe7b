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
