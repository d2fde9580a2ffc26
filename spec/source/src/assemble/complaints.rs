//! What is said where a text cannot be used as it is.

use std::ops::Range;

use crate::events::SyntaxError;
use crate::limits::{MOST_VALUES, too_deep};
use crate::problem::Problem;
use crate::span::{Span, small};

use super::{Assembly, Stop, Value};

impl Assembly<'_> {
    pub(super) fn foreign_tag(&mut self, span: Span) {
        self.problems.add(|| {
            Problem::new("tag", span, "tags are not part of the description language", "a tag")
                .with_way_out("remove the tag, or put the value in quotes")
        });
    }

    /// Something whose value cannot be known: the document is read to its end, and not used.
    pub(super) fn hole(&mut self, span: Span, kind: &'static str, message: &'static str) -> Result<(), Stop> {
        self.usable = false;
        self.problems.add(|| {
            Problem::new(kind, span, message, "an alias").with_way_out(
                "name an anchor, written `&name`, whose value ends before this, or put the text in quotes",
            )
        });
        let node = self.arena.add_resolved("", false);
        let node = self.arena.add_node(span, node);
        self.place(Value { node, size: 1, height: 0 })
    }

    pub(super) fn syntax(&mut self, error: SyntaxError) {
        let mut at = self.span(error.at..error.at);
        // One character is marked, unless the line or the text ends there.
        let next = self.text[at.range().start..].chars().next().filter(|next| !matches!(next, '\n' | '\r'));
        at.end += next.map_or(0, |next| small(next.len_utf8()));
        let bracket = self.open.iter().rfind(|open| !open.opened.is_empty()).map(|open| open.opened);
        let bracket = bracket.filter(|bracket| bracket.start != at.start);
        self.problems.add(|| {
            let mut problem = Problem::new(error.kind, at, error.message, "cannot be read on from here");
            problem.way_out = error.way_out.map(str::to_owned);
            problem.also.extend(bracket.map(|span| (span, "still open here".to_owned())));
            problem
        });
    }

    pub(super) fn second_document(&mut self, range: Range<usize>) {
        let at = self.span(range);
        self.problems.add(|| {
            Problem::new("second-document", at, "a file holds one document", "a second one begins here")
                .with_way_out("move it to a file of its own")
        });
    }

    pub(super) fn too_deep(&mut self, at: Span) -> Stop {
        self.problems.add(|| Problem::new("too-deep", at, too_deep(), "one level too many"));
        Stop
    }

    pub(super) fn too_many(&mut self, at: Span) -> Stop {
        self.problems.add(|| {
            let message = format!(
                "the file holds more than {MOST_VALUES} values, each alias counted with what it repeats"
            );
            Problem::new("too-large", at, message, "the value that is too much")
        });
        Stop
    }
}
