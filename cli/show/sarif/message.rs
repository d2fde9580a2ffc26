//! Sentences of a result. A host takes the first one for a title, and square brackets for links.

use loadworthy_source::escape_text;

use crate::show::layout::{cut, width};

/// Characters of a first sentence.
const LONGEST_TITLE: usize = 118;
/// Characters of any other.
const LONGEST: usize = 1200;

/// A text as it may stand in a message: in one line, everything seen, no link in it.
pub(super) fn plain(text: &str) -> String {
    let mut shown = String::new();
    for character in escape_text(&cut(text, LONGEST).replace('\n', "; ")).chars() {
        if matches!(character, '\\' | '[' | ']') {
            shown.push('\\');
        }
        shown.push(character);
    }
    shown
}

/// A link to a related location.
pub(super) fn link(text: &str, id: usize) -> String {
    format!("[{}]({id})", plain(text))
}

/// A first sentence, short enough for a title, and one sentence to whoever splits it.
pub(super) fn title(text: &str) -> String {
    let one = text
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ")
        .replace(". ", ", ")
        .replace("! ", ", ")
        .replace("? ", ", ");
    let shown = plain(&one);
    let shown = if width(&shown) > LONGEST_TITLE { plain(&cut(&one, LONGEST_TITLE / 2)) } else { shown };
    // What was cut may be longer than a title still, where every character of it is written out.
    format!("{}.", cut(shown.trim_end_matches(['.', '!', '?', '\\']), LONGEST_TITLE))
}

/// A sentence with a full stop.
pub(super) fn sentence(text: &str) -> String {
    let text = text.trim_end();
    let end = if text.ends_with(['.', '!', '?', '…']) { "" } else { "." };
    format!("{text}{end}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn brackets_make_no_links() {
        assert_eq!(plain("a [b](1) \\"), "a \\[b\\](1) \\\\");
        assert_eq!(link("at [x]", 2), "[at \\[x\\]](2)");
        assert_eq!(plain("a\u{202e}b"), "a\\\\u{202E}b");
    }

    #[test]
    fn a_title_is_one_short_sentence() {
        assert_eq!(title("a. b! c"), "a, b, c.");
        for hostile in ["x".repeat(500), "[".repeat(500), "\u{202e}".repeat(500), "a. ".repeat(100)] {
            let shown = title(&hostile);
            assert!(
                width(&shown) <= 120 && shown.ends_with('.') && !shown[..shown.len() - 1].contains(". "),
                "{shown}"
            );
        }
    }
}
