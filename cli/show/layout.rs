//! Lines of a terminal: wrapped, indented, never longer than they should be.

use loadworthy_source::escape_text;

/// Columns of a terminal.
pub(crate) const WIDTH: usize = 80;
/// Characters of free text from a description that are shown.
const LONGEST_TEXT: usize = 120;
/// Longest reason that is shown: some paragraphs.
const LONGEST_REASON: usize = 2000;

/// A text that stands in a description as it may stand in a line: escaped, and cut where it is long.
pub(crate) fn free_text(text: &str) -> String {
    let cut = cut(text, LONGEST_TEXT);
    escape_text(&cut).into_owned()
}

/// The same of what somebody gives as a reason, which is read as a whole.
pub(crate) fn reason_text(text: &str) -> String {
    escape_text(&cut(text, LONGEST_REASON)).into_owned()
}

/// A text with at most so many characters, the last of which is an ellipsis where something was cut.
pub(crate) fn cut(text: &str, most: usize) -> String {
    match text.char_indices().nth(most) {
        None => text.to_owned(),
        Some(_) => {
            let kept = text.chars().take(most.saturating_sub(1)).collect::<String>();
            format!("{kept}…")
        }
    }
}

/// How wide a text is, as far as characters tell.
pub(crate) fn width(text: &str) -> usize {
    text.chars().count()
}

/// Lines of at most `columns` characters, broken at spaces and, where a word is longer than a line, within it. Runs of
/// spaces within a line stay; what cannot be seen is written out.
pub(crate) fn wrapped(text: &str, columns: usize) -> Vec<String> {
    let columns = columns.max(8);
    let mut lines = Vec::new();
    for paragraph in text.split('\n').map(escape_text) {
        let mut line = String::new();
        for word in paragraph.split_inclusive(' ') {
            let fits = width(&line) + width(word.trim_end()) <= columns;
            if !fits && !line.trim().is_empty() {
                lines.push(std::mem::take(&mut line).trim_end().to_owned());
            }
            let mut rest = word;
            while width(rest.trim_end()) > columns {
                let end = rest.char_indices().nth(columns).map_or(rest.len(), |(end, _)| end);
                // A path is broken behind one of its steps where that leaves no short line.
                let step = |ends: &[char]| rest[..end].rfind(ends).map_or(0, |place| place + 1);
                let whole = [step(&['.', '/']), step(&['_', '-'])].into_iter().find(|end| *end * 2 > columns);
                let end = whole.unwrap_or(end);
                lines.push(rest[..end].to_owned());
                rest = &rest[end..];
            }
            line.push_str(rest);
        }
        lines.push(line.trim_end().to_owned());
    }
    lines
}

/// A text behind a word in the left margin: the first line has the word, the others stand below the text.
pub(crate) fn hanging(margin: &str, indent: usize, text: &str) -> String {
    let margin = &*escape_text(margin);
    let indent = indent.max(width(margin) + 1);
    let mut shown = String::new();
    for (place, line) in wrapped(text, WIDTH.saturating_sub(indent)).iter().enumerate() {
        let before = if place == 0 { margin } else { "" };
        let gap = " ".repeat(indent.saturating_sub(width(before)));
        shown.push_str(format!("{before}{gap}{line}").trim_end());
        shown.push('\n');
    }
    shown
}

/// Parts side by side where they fit into a line, otherwise in as many lines as they need; parts are not broken unless one
/// alone is too long.
pub(crate) fn flowing(parts: &[String], gap: usize, columns: usize) -> String {
    let mut lines: Vec<String> = Vec::new();
    for part in parts.iter().filter(|part| !part.is_empty()) {
        match lines.last_mut() {
            Some(line) if width(line) + gap + width(part) <= columns => {
                line.push_str(&" ".repeat(gap));
                line.push_str(part);
            }
            _ => lines.push(part.clone()),
        }
    }
    lines.join("\n")
}

/// A number with its noun.
pub(crate) fn counted(number: usize, one: &str, many: &str) -> String {
    format!("{number} {}", if number == 1 { one } else { many })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_stay_whole_where_they_fit() {
        assert_eq!(wrapped("carried 186 °C   limit 175 °C", 80), ["carried 186 °C   limit 175 °C"]);
        assert_eq!(wrapped("one two three", 9), ["one two", "three"]);
        assert_eq!(wrapped("abcdefghijklmnop", 8), ["abcdefgh", "ijklmnop"]);
        assert_eq!(wrapped("a\nb", 8), ["a", "b"]);
        assert_eq!(wrapped("stages.bridge.carrier", 16), ["stages.bridge.", "carrier"]);
        assert_eq!(wrapped("", 8), [""]);
        assert_eq!(wrapped("link\u{FEFF}", 80), ["link\\u{FEFF}"]);
    }

    #[test]
    fn no_line_is_longer_than_asked() {
        let text = "a ".repeat(40) + &"x".repeat(300) + " µΩ °C";
        for columns in [8, 20, 79] {
            assert!(wrapped(&text, columns).iter().all(|line| width(line) <= columns));
        }
    }

    #[test]
    fn text_hangs_behind_its_margin() {
        assert_eq!(hanging("major", 7, "one"), "major  one\n");
        let long = hanging("would hold", 13, &"word ".repeat(30));
        assert!(long.lines().skip(1).all(|line| line.starts_with("             word")), "{long}");
    }

    #[test]
    fn parts_flow_into_lines() {
        let parts = ["carried 1".to_owned(), "limit 2".to_owned(), String::new(), "allowed 3".to_owned()];
        assert_eq!(flowing(&parts, 3, 80), "carried 1   limit 2   allowed 3");
        assert_eq!(flowing(&parts, 3, 20), "carried 1   limit 2\nallowed 3");
    }

    #[test]
    fn long_text_is_cut() {
        assert_eq!(cut("abcdef", 6), "abcdef");
        assert_eq!(cut("abcdefg", 6), "abcde…");
        assert_eq!(width(&free_text(&"x".repeat(9000))), LONGEST_TEXT);
        assert_eq!(free_text("a\nb"), "a\\u{000A}b");
    }
}
