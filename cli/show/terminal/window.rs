//! A line of a description as it may stand in a frame.

use std::ops::Range;

use loadworthy_source::escape_text;

use crate::show::layout::width;

/// Characters that are kept before what is marked, where a line is too long.
const BEFORE: usize = 24;
/// What is seen of a line, and where its marks are in it.
#[derive(Debug, PartialEq, Eq)]
pub(crate) struct Window {
    pub(crate) text: String,
    pub(crate) ranges: Vec<Range<usize>>,
}

/// The whole line where it fits into `room` characters and leaves `beside` the mark at `focus` what its label wants;
/// otherwise a part of it around that mark, with an ellipsis at each cut end. Only as much of a line is looked at as is
/// shown.
pub(crate) fn window(line: &str, marks: &[Range<usize>], focus: usize, room: usize, beside: usize) -> Window {
    let fits = line.len() <= room * 4 && width(&visible(line)) <= room;
    let wanted = marks.get(focus).cloned().unwrap_or(0..0);
    let lead = if line.len() <= room * 4 { width(&visible(&line[..wanted.start])) } else { usize::MAX };
    if fits && lead + beside <= room {
        return shown(line, 0..line.len(), marks, room);
    }
    let from = if lead <= BEFORE { 0 } else { back(line, wanted.start, BEFORE) };
    let to = forth(line, from, room);
    shown(line, from..to, marks, room)
}

/// The part of a line, with its marks moved along. Written-out characters may lengthen it; what then exceeds the room goes.
fn shown(line: &str, part: Range<usize>, marks: &[Range<usize>], room: usize) -> Window {
    let mut text = String::new();
    let lead = if part.start > 0 { "…" } else { "" };
    text.push_str(lead);
    // For each byte offset of the part: where it is in the text that is shown.
    let mut moved = Vec::new();
    let mut columns = width(lead);
    let mut end = part.start;
    for (offset, character) in line[part.clone()].char_indices() {
        let seen = visible_character(character);
        let next = part.start + offset + character.len_utf8();
        let for_an_ellipsis = usize::from(next < line.len());
        if columns + width(&seen) + for_an_ellipsis > room {
            break;
        }
        moved.resize(offset + 1, text.len());
        text.push_str(&seen);
        columns += width(&seen);
        end = next;
        moved.resize(end - part.start, text.len() - seen.len());
    }
    moved.push(text.len());
    let moved_to = |offset: usize| match offset.checked_sub(part.start) {
        None => 0,
        Some(within) => moved.get(within).copied().unwrap_or(text.len()),
    };
    let ranges = marks.iter().map(|mark| moved_to(mark.start)..moved_to(mark.end)).collect();
    if end < line.len() {
        text.push('…');
    }
    Window { text, ranges }
}

fn visible(text: &str) -> String {
    text.chars().map(visible_character).collect()
}

fn visible_character(character: char) -> String {
    match character {
        '\t' => " ".to_owned(),
        character => escape_text(character.encode_utf8(&mut [0; 4])).into_owned(),
    }
}

/// The offset so many characters before another.
fn back(line: &str, from: usize, characters: usize) -> usize {
    line[..from].char_indices().rev().nth(characters.saturating_sub(1)).map_or(0, |(offset, _)| offset)
}

/// The offset so many characters behind another.
fn forth(line: &str, from: usize, characters: usize) -> usize {
    line[from..].char_indices().nth(characters).map_or(line.len(), |(offset, _)| from + offset)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn window_of(line: &str, mark: Range<usize>) -> Window {
        window(line, &[mark], 0, 72, 34)
    }

    fn marked(window: &Window) -> Vec<&str> {
        window.ranges.iter().map(|range| &window.text[range.clone()]).collect()
    }

    #[test]
    fn a_short_line_stays_whole() {
        let line = "  dc_bus: link   # µΩ";
        let window = window_of(line, 10..14);
        assert_eq!(window.text, line);
        assert_eq!(marked(&window), ["link"]);
    }

    #[test]
    fn a_long_line_is_cut_around_its_mark() {
        let line = format!("a: {}target{}", "µ".repeat(500), "z".repeat(500));
        let start = line.find("target").unwrap_or_default();
        let window = window(&line, &[start..start + 6, 0..1], 0, 72, 34);
        assert_eq!(marked(&window)[0], "target");
        assert!(window.text.starts_with("…µ") && window.text.ends_with("z…"), "{}", window.text);
        assert!(width(&window.text) <= 72, "{}", width(&window.text));
        assert_eq!(window.ranges[1], 0..0, "a mark left of the window stands at its edge");
    }

    #[test]
    fn what_cannot_be_seen_is_written_out_and_marks_stay_right() {
        let line = "name: \"a\u{202E}b\"\tx";
        let window = window_of(line, 6..line.len() - 2);
        assert_eq!(window.text, "name: \"a\\u{202E}b\" x");
        assert_eq!(marked(&window), ["\"a\\u{202E}b\""]);
    }

    #[test]
    fn a_line_of_nothing_but_hidden_characters_is_cut_too() {
        let line = "\u{200B}".repeat(3000);
        let window = window_of(&line, 0..line.len());
        assert!(width(&window.text) <= 72 && window.text.ends_with('…'), "{}", window.text);
    }

    #[test]
    fn a_mark_behind_the_line_stays_behind_it() {
        let window = window_of("link:", 5..5);
        assert_eq!(window.ranges.first(), Some(&(5..5)));
    }

    #[test]
    fn a_mark_far_right_leaves_room_for_its_label() {
        let line = format!("{}{{ parallel: 1 }}", "k: ".repeat(18));
        let start = line.find("parallel").unwrap_or_default();
        let window = window_of(&line, start..start + 8);
        assert_eq!(marked(&window), ["parallel"]);
        assert!(width(&window.text[..window.ranges[0].start]) <= BEFORE + 1, "{}", window.text);
    }
}
