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

/// The name of a quantity for reading: what it is, and where or of which effect. Names of probes stay as the case has them.
pub fn in_words(name: &str) -> String {
    let plain = |key: &str| {
        let words: Vec<&str> = key.split('_').map(|word| if word == "rms" { "(rms)" } else { word }).collect();
        let words = match words.as_slice() {
            [most @ .., "m" | "m2" | "m3", "per", "s"] | [most @ .., "per", "s"] if !most.is_empty() => most,
            [most @ .., "deg" | "m" | "pa" | "s"] if !most.is_empty() => most,
            all => all,
        };
        words.join(" ")
    };
    match name.split('.').collect::<Vec<_>>().as_slice() {
        ["probe" | "probes", middle @ .., quantity] => format!("{} at {}", plain(quantity), middle.join(".")),
        ["departure", "contributions", effect, quantity] | ["departure", effect, quantity] => {
            format!("{} by {}", plain(quantity), plain(effect))
        }
        ["departure", "verdict", "measures", measure, value] if plain(value) == "value" => {
            format!("{} (verdict)", plain(measure))
        }
        [of @ .., quantity] if !of.is_empty() && plain(quantity) == "value" => in_words(&of.join(".")),
        [one] => plain(one),
        [section, middle @ .., quantity] => {
            let of = [*section].iter().chain(middle).map(|key| plain(key)).collect::<Vec<_>>().join(", ");
            format!("{} ({of})", plain(quantity))
        }
        [] => String::new(),
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantities_are_named_in_words() {
        for (name, words) in [
            ("shape_factor", "shape factor"),
            ("probe.first pier.speed_ratio", "speed ratio at first pier"),
            ("probe.no_2.pressure", "pressure at no_2"),
            ("departure.edge_layer.speed_rms", "speed (rms) by edge layer"),
            ("departure.contributions.total.speed_rms", "speed (rms) by total"),
            ("drive.head_m", "head (drive)"),
            ("shape_factor.value", "shape factor"),
            ("departure.verdict.measures.shift.value_m", "shift (verdict)"),
            ("drive.flow_rate_m3_per_s", "flow rate (drive)"),
            ("bubbles.one.speed_m_per_s", "speed (bubbles, one)"),
        ] {
            assert_eq!(in_words(name), words);
        }
    }
}
