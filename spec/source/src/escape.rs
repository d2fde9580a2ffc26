//! Characters that a reader does not see, made visible.

use std::borrow::Cow;
use std::fmt::Write as _;

/// Makes control characters, bidirectional controls, line and paragraph separators, byte-order marks, tag
/// characters and other invisible characters visible as `\u{202E}`.
///
/// Line feeds and tabs are escaped as well: a text that may span lines is to be split into lines first.
///
/// ```
/// # use loadworthy_source::escape_text;
/// assert_eq!(escape_text("µ 5 Ω"), "µ 5 Ω");
/// assert_eq!(escape_text("a\u{202E}b"), "a\\u{202E}b");
/// ```
#[must_use]
pub fn escape_text(text: &str) -> Cow<'_, str> {
    if !text.chars().any(is_hidden) {
        return Cow::Borrowed(text);
    }
    let mut escaped = String::with_capacity(text.len() + 16);
    for character in text.chars() {
        if is_hidden(character) {
            // Writing to a string cannot fail.
            let _ = write!(escaped, "\\u{{{:04X}}}", u32::from(character));
        } else {
            escaped.push(character);
        }
    }
    Cow::Owned(escaped)
}

/// A piece of a description as it may stand in a sentence: escaped, and shortened to 60 characters.
#[must_use]
pub fn shown(text: &str) -> String {
    const LONGEST: usize = 60;
    match text.char_indices().nth(LONGEST) {
        None => escape_text(text).into_owned(),
        Some((end, _)) => format!("{}…", escape_text(&text[..end])),
    }
}

/// Whether a character must not stand in an identifier because a reader does not see it or takes it for a
/// gap: everything that [`escape_text`] escapes, and white space.
#[must_use]
pub fn refused_in_identifier(character: char) -> bool {
    character.is_whitespace() || is_hidden(character)
}

fn is_hidden(character: char) -> bool {
    if character.is_ascii() {
        return character.is_ascii_control();
    }
    character.is_control()
        || matches!(character,
            '\u{AD}'                        // soft hyphen
            | '\u{34F}'                     // grapheme joiner
            | '\u{61C}'                     // Arabic letter mark
            | '\u{115F}' | '\u{1160}' | '\u{3164}' | '\u{FFA0}' // Hangul fillers
            | '\u{17B4}' | '\u{17B5}'       // Khmer inherent vowels
            | '\u{180B}'..='\u{180F}'       // Mongolian selectors and separator
            | '\u{200B}'..='\u{200F}'       // zero-width characters, direction marks
            | '\u{2028}'..='\u{202E}'       // separators, embeddings, overrides
            | '\u{2060}'..='\u{206F}'       // joiners, isolates, deprecated format characters
            | '\u{2800}'                    // blank braille pattern
            | '\u{FDD0}'..='\u{FDEF}'       // not characters
            | '\u{FE00}'..='\u{FE0F}'       // variation selectors
            | '\u{FEFF}'                    // byte-order mark
            | '\u{FFF0}'..='\u{FFFB}'       // unassigned and interlinear marks
            | '\u{FFFE}' | '\u{FFFF}'       // not characters
            | '\u{110BD}' | '\u{110CD}'     // Kaithi number signs
            | '\u{13430}'..='\u{1343F}'     // hieroglyph format controls
            | '\u{1BCA0}'..='\u{1BCA3}'     // shorthand format controls
            | '\u{1D173}'..='\u{1D17A}'     // musical format controls
            | '\u{E0000}'..='\u{E0FFF}'     // tags, further variation selectors
        )
}

#[cfg(test)]
mod tests {
    use std::borrow::Cow;

    use super::{escape_text, refused_in_identifier, shown};

    #[test]
    fn what_is_seen_stays_as_it_is() {
        for text in
            ["", "carrier 8 kHz", "µ μ Ω Ω °C ±", "тяга 牽引 🔌", "a\u{301}\u{301}\u{301}", "1\u{202F}000"]
        {
            assert!(matches!(escape_text(text), Cow::Borrowed(same) if same == text), "{text:?}");
        }
    }

    #[test]
    fn what_is_not_seen_is_written_out() {
        assert_eq!(escape_text("\0a\tb\n"), "\\u{0000}a\\u{0009}b\\u{000A}");
        assert_eq!(escape_text("\u{1b}[31m"), "\\u{001B}[31m");
        assert_eq!(escape_text("\u{2066}x\u{2069}"), "\\u{2066}x\\u{2069}");
        assert_eq!(escape_text("a\u{E0041}"), "a\\u{E0041}");
        for hidden in ['\u{7F}', '\u{85}', '\u{200B}', '\u{2028}', '\u{2029}', '\u{FEFF}', '\u{FE0F}'] {
            let text = hidden.to_string();
            assert_eq!(escape_text(&text), format!("\\u{{{:04X}}}", u32::from(hidden)));
        }
    }

    #[test]
    fn identifiers_hold_nothing_invisible() {
        for character in [' ', '\t', '\u{A0}', '\u{202E}', '\u{200D}', '\0', '\u{3000}'] {
            assert!(refused_in_identifier(character), "{character:?}");
        }
        for character in ['a', 'Z', '9', '_', '-', '.', 'ü', 'Ω', '牽'] {
            assert!(!refused_in_identifier(character), "{character:?}");
        }
    }

    #[test]
    fn long_text_is_shortened_between_characters() {
        assert_eq!(shown(&"Ω".repeat(60)), "Ω".repeat(60));
        assert_eq!(shown(&"Ω".repeat(61)), format!("{}…", "Ω".repeat(60)));
        assert_eq!(shown("a\nb"), "a\\u{000A}b");
    }
}
