//! Strokes and letters of the drawings.
//!
//! Letters are of one width, so that what fits into a box is known before any browser draws it.

use super::markup::Markup;

/// Size of a name.
pub(crate) const NAME: f64 = 13.0;
/// Size of what stands below it.
pub(crate) const SMALL: f64 = 12.0;
/// Width of a letter of one width, as a share of its size; a little more than any common one has.
const LETTER: f64 = 0.615;

/// How far a drawing is made smaller before it is scrolled.
const SHRINKS_TO: f64 = 0.7;

/// How wide a text is at most.
pub(crate) fn width(text: &str, size: f64) -> f64 {
    text.chars().map(letter).sum::<f64>() * size
}

/// How wide a character is at most. What stands for a hidden one is counted as it is written out.
fn letter(character: char) -> f64 {
    let code = u32::from(character);
    if loadworthy_source::escape_text(character.encode_utf8(&mut [0; 4])).len() > character.len_utf8() {
        return 10.0 * LETTER;
    }
    match code {
        0x300..=0x36F => 0.2,
        0..=0x52F | 0x2010..=0x2027 | 0x2030..=0x205E => LETTER,
        0x530..=0x2E7F => 1.0,
        0x1F000.. => 1.5,
        _ => 1.15,
    }
}

/// The beginning of a text that fits into a room, with an ellipsis where something was left out.
pub(crate) fn fitted(text: &str, size: f64, room: f64) -> String {
    // A room that was measured for the text is room enough.
    if width(text, size) <= room + 0.5 {
        return text.to_owned();
    }
    let mut left = room / size - LETTER;
    let mut kept = String::new();
    for character in text.chars() {
        left -= letter(character);
        if left < 0.0 {
            break;
        }
        kept.push(character);
    }
    kept.push('…');
    kept
}

/// Where a label stands against its point.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Anchor {
    Start,
    Middle,
    End,
}

/// A label in a room of its own; what does not fit is cut, and its whole is in its title.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Label {
    pub(crate) class: &'static str,
    pub(crate) size: f64,
    pub(crate) anchor: Anchor,
    pub(crate) room: f64,
}

impl Label {
    pub(crate) const fn name(room: f64) -> Self {
        Self { class: "n", size: NAME, anchor: Anchor::Start, room }
    }

    pub(crate) const fn small(room: f64) -> Self {
        Self { class: "s", size: SMALL, anchor: Anchor::Start, room }
    }

    pub(crate) const fn class(self, class: &'static str) -> Self {
        Self { class, ..self }
    }

    pub(crate) const fn anchored(self, anchor: Anchor) -> Self {
        Self { anchor, ..self }
    }

    pub(crate) fn put(self, out: &mut Markup, (x, y): (f64, f64), said: &str) {
        if said.is_empty() {
            return;
        }
        let shown = fitted(said, self.size, self.room);
        out.raw("<text class=\"").raw(self.class).raw("\" x=\"").at(x).raw("\" y=\"").at(y);
        out.raw(match self.anchor {
            Anchor::Start => "\">",
            Anchor::Middle => "\" text-anchor=\"middle\">",
            Anchor::End => "\" text-anchor=\"end\">",
        });
        if shown != said {
            // A title is read where the label is pointed at.
            out.element("<title>", said, "</title>");
        }
        out.text(&shown).raw("</text>\n");
    }
}

/// A rectangle.
pub(crate) fn rect(out: &mut Markup, class: &'static str, (x, y): (f64, f64), (w, h): (f64, f64)) {
    out.raw("<rect class=\"").raw(class).raw("\" x=\"").at(x).raw("\" y=\"").at(y);
    out.raw("\" width=\"").at(w.max(0.0)).raw("\" height=\"").at(h).raw("\"/>\n");
}

/// A circle.
pub(crate) fn circle(out: &mut Markup, class: &'static str, (x, y): (f64, f64), r: f64) {
    out.raw("<circle class=\"").raw(class).raw("\" cx=\"").at(x).raw("\" cy=\"").at(y);
    out.raw("\" r=\"").at(r).raw("\"/>\n");
}

/// A stroke through points.
pub(crate) fn stroke(out: &mut Markup, class: &'static str, points: &[(f64, f64)]) {
    out.raw("<path class=\"").raw(class).raw("\" d=\"");
    for (place, (x, y)) in points.iter().enumerate() {
        out.raw(if place == 0 { "M" } else { "L" }).at(*x).raw(" ").at(*y);
    }
    out.raw("\"/>\n");
}

/// A filled shape.
pub(crate) fn shape(out: &mut Markup, class: &'static str, points: &[(f64, f64)]) {
    out.raw("<path class=\"").raw(class).raw("\" d=\"");
    for (place, (x, y)) in points.iter().enumerate() {
        out.raw(if place == 0 { "M" } else { "L" }).at(*x).raw(" ").at(*y);
    }
    out.raw("Z\"/>\n");
}

/// The number of a finding in a ring, as items are numbered on a drawing.
pub(crate) fn ring(out: &mut Markup, (x, y): (f64, f64), number: usize) {
    circle(out, "ring", (x, y), 10.0);
    out.raw("<text class=\"ringed\" text-anchor=\"middle\" x=\"").at(x).raw("\" y=\"").at(y + 4.0);
    out.raw("\">").count(number).raw("</text>\n");
}

/// Opens a drawing of a size, with its name; its facts stand as text beside it.
pub(crate) fn open(out: &mut Markup, (w, h): (f64, f64), id: &str, title: &str) {
    out.raw("<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"");
    out.text(title).raw("\">\n<svg class=\"drawing\" role=\"img\" aria-labelledby=\"").text(id);
    // It may shrink a little to fit, and is scrolled beyond that.
    out.raw("\" width=\"").at(w).raw("\" height=\"").at(h).raw("\" style=\"min-width:").at(SHRINKS_TO * w);
    out.raw("px\" viewBox=\"0 0 ").at(w).raw(" ").at(h).raw("\">\n<title id=\"").text(id).raw("\">");
    out.text(title).raw("</title>\n");
}

/// Closes a drawing.
pub(crate) fn close(out: &mut Markup) {
    out.raw("</svg>\n</div>\n");
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_does_not_fit_is_cut_and_kept_in_its_title() {
        let mut out = Markup::new();
        Label::name(60.0).put(&mut out, (1.0, 2.0), "traction_bridge");
        let text = out.into_text();
        assert!(text.contains("<title>traction_bridge</title>tracti…"), "{text}");
        let shown = fitted("traction_bridge", NAME, 60.0);
        assert!(width(&shown, NAME) <= 60.0, "{shown}");
    }

    #[test]
    fn a_hidden_character_takes_the_room_that_it_is_written_with() {
        assert!(width("\u{202E}", 10.0) >= width("\\u{202E}", 10.0));
    }

    #[test]
    fn wide_letters_take_more_room() {
        assert!(width("電", 10.0) > width("a", 10.0));
    }
}
