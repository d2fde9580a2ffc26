//! Spans as regions that a host can underline.

use std::ops::Range;

use loadworthy_source::SourceFile;

use super::log::Region;

/// Lines of a region at most; a host shows a result beside a change only where all its lines are in it.
const MOST_LINES: u32 = 10;

/// The region of a stretch of bytes: without white space at its end; where it would be empty, of the text before it; where it is long,
/// of its first line.
pub(super) fn of(file: &SourceFile, range: Range<usize>) -> Region {
    let range = within(&file.text, range);
    let region = exact(file, range.clone());
    if region.end_line - region.start_line < MOST_LINES {
        return region;
    }
    let first = file.text[range.clone()].find(['\n', '\r']).unwrap_or(range.len());
    let text = file.text[range.start..range.start + first].trim_end();
    exact(file, range.start..range.start + text.len())
}

/// The region of a range, as it is.
pub(super) fn exact(file: &SourceFile, range: Range<usize>) -> Region {
    let place = |offset: usize| file.place(u32::try_from(offset).unwrap_or(u32::MAX));
    let (start, end) = (place(range.start), place(range.end));
    Region { start_line: start.line, start_column: start.column, end_line: end.line, end_column: end.column }
}

/// A range with something to be seen in it, if there is anything in the text.
fn within(text: &str, range: Range<usize>) -> Range<usize> {
    let is_blank = |character: char| character.is_whitespace() || character == '\u{FEFF}';
    let marked = text.get(range.clone()).unwrap_or_default();
    let seen = marked.trim_end_matches(is_blank);
    if !seen.is_empty() {
        return range.start..range.start + seen.len();
    }
    // What is not written stands behind its key: the line up to there, or the one before.
    let before = text.get(..range.start).unwrap_or_default().trim_end_matches(is_blank);
    if !before.is_empty() {
        let line = before.rfind(['\n', '\r']).map_or(0, |end| end + 1);
        let start = before.len() - before[line..].trim_start_matches(is_blank).len();
        return start..before.len();
    }
    let behind = text.trim_start_matches(is_blank);
    let start = text.len() - behind.len();
    let line = behind.split(['\n', '\r']).next().unwrap_or_default().trim_end_matches(is_blank);
    start..start + line.len()
}

#[cfg(test)]
mod tests {
    use loadworthy_source::Tree;

    use super::*;

    fn region(text: &str, range: Range<usize>) -> Region {
        let mut tree = Tree::new();
        tree.read("a.yaml", text.as_bytes(), &mut Vec::new());
        of(&tree.files()[0], range)
    }

    /// What the region of a range covers, read from the text by lines and characters.
    fn covered(text: &str, range: Range<usize>) -> String {
        let region = region(text, range);
        let lines =
            text.strip_prefix('\u{FEFF}').unwrap_or(text).split('\n').map(|line| line.trim_end_matches('\r'));
        let lines = lines.collect::<Vec<_>>();
        let index = |number: u32| usize::try_from(number).expect("small") - 1;
        let part = |line: usize, from: usize, to: usize| {
            lines[line].chars().skip(from).take(to - from).collect::<String>()
        };
        let (start, end) = (index(region.start_line), index(region.end_line));
        if start == end {
            return part(start, index(region.start_column), index(region.end_column));
        }
        let mut all = vec![part(start, index(region.start_column), lines[start].chars().count())];
        all.extend(lines[start + 1..end].iter().map(|&line| line.to_owned()));
        all.push(part(end, 0, index(region.end_column)));
        all.join("\n")
    }

    #[test]
    fn a_region_covers_what_is_marked() {
        let text = "\u{FEFF}µ: \"🔋Ω\"\r\nlist:\n  - a\n  - b\n";
        let at = |marked: &str| {
            let start = text.find(marked).expect("it is there");
            start..start + marked.len()
        };
        assert_eq!(covered(text, at("\"🔋Ω\"")), "\"🔋Ω\"");
        assert_eq!(covered(text, at("µ")), "µ");
        assert_eq!(covered(text, at("- a\n  - b\n")), "- a\n  - b");
    }

    #[test]
    fn nothing_is_marked_by_what_stands_before_it() {
        let text = "stages:\n  drive:   \n\n";
        let end = text.find("   \n").expect("it is there");
        assert_eq!(covered(text, end..end), "drive:");
        assert_eq!(covered(text, text.len()..text.len()), "drive:");
        assert_eq!(covered("\n  a: 1\n", 0..0), "a: 1");
    }

    #[test]
    fn of_many_lines_the_first_is_marked() {
        let text = format!("a:\n{}", "  b: 1\n".repeat(20));
        assert_eq!(covered(&text, 0..text.len()), "a:");
    }

    #[test]
    fn an_empty_text_has_a_place() {
        let nowhere = Region { start_line: 1, start_column: 1, end_line: 1, end_column: 1 };
        assert_eq!(region("", 0..0), nowhere);
    }
}
