//! Lines of the description, exact, with what is to be said about them.

use std::ops::Range;

use loadworthy_source::{Span, Tree};

use crate::show::layout::cut;
use crate::show::terminal::snippet::OnLine;
use crate::show::terminal::window::{Window, window};

use super::markup::Markup;

/// Characters of a line that are shown around what is marked; most lines are shorter.
const ROOM: usize = 240;
/// Characters of a label.
const LONGEST_LABEL: usize = 240;

/// A stretch of the description and what to write below it.
pub(crate) struct Marked {
    pub(crate) span: Span,
    pub(crate) label: String,
}

/// The marked lines; the first mark is what it is about, and its file comes first.
pub(crate) fn lines(tree: &Tree, marks: &[Marked]) -> Markup {
    let mut out = Markup::new();
    let Some(first) = marks.first() else { return out };
    let mut all: Vec<(OnLine<'_>, &Marked)> =
        marks.iter().map(|mark| (OnLine::of(tree, mark.span), mark)).collect();
    all.sort_by_key(|(on, mark)| {
        (mark.span.file != first.span.file, mark.span.file, on.number, mark.span.start, mark.span.end)
    });
    for of_file in all.chunk_by(|one, next| one.1.span.file == next.1.span.file) {
        let [(on, mark), ..] = of_file else { continue };
        let name = &tree.file(mark.span.file).name;
        out.raw("<div class=\"lines\"><p class=\"file\">").text(name);
        out.raw(":").count(on.number as usize).raw(":").count(on.column as usize).raw("</p>\n");
        for group in of_file.chunk_by(|one, next| one.0.number == next.0.number) {
            line(&mut out, group);
        }
        out.raw("</div>\n");
    }
    out
}

fn line(out: &mut Markup, group: &[(OnLine<'_>, &Marked)]) {
    let [(first, _), ..] = group else { return };
    let ranges: Vec<Range<usize>> = group.iter().map(|(on, _)| on.range.clone()).collect();
    let Window { text, ranges } = window(first.text, &ranges, 0, ROOM, 0);
    out.raw("<div class=\"line\"><span class=\"ln\">").count(first.number as usize).raw("</span><code>");
    let mut done = 0;
    for range in &ranges {
        // Of marks that overlap the first is shown.
        if range.start < done || range.start == range.end {
            continue;
        }
        out.text(text.get(done..range.start).unwrap_or_default());
        out.element("<mark>", text.get(range.clone()).unwrap_or_default(), "</mark>");
        done = range.end;
    }
    out.text(text.get(done..).unwrap_or_default()).raw("</code></div>\n");
    let mut told: Vec<&str> = Vec::new();
    for ((_, mark), range) in group.iter().zip(&ranges) {
        if mark.label.is_empty() || told.contains(&mark.label.as_str()) {
            continue;
        }
        told.push(&mark.label);
        out.raw("<div class=\"label\">");
        // Of several marks each label says which one it is about.
        if group.len() > 1 {
            out.element("<code>", &cut(text.get(range.clone()).unwrap_or_default(), 40), "</code> ");
        }
        out.text(&cut(&mark.label, LONGEST_LABEL)).raw("</div>\n");
    }
}
