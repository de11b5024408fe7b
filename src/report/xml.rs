//! Text as XML writes it.

use std::borrow::Cow;

/// A text fit for the inside of an element or an attribute.
pub(super) fn escaped(text: &str) -> Cow<'_, str> {
    if !text.contains(['&', '<', '>', '"', '\'']) {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len() + 16);
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&apos;"),
            _ => out.push(c),
        }
    }
    Cow::Owned(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_of_xml_stand_for_themselves() {
        assert_eq!(escaped("<pier> & \"seal's\""), "&lt;pier&gt; &amp; &quot;seal&apos;s&quot;");
        assert!(matches!(escaped("Quai, 3 µm"), Cow::Borrowed(_)), "nothing to do");
    }
}
