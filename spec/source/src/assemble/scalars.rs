//! Scalars: their spans, their text, and what a tag makes of them.

use std::ops::Range;

use crate::arena::Body;
use crate::escape::shown;
use crate::events::{Label, Style};
use crate::problem::Problem;
use crate::scalar::{Scalar, ScalarKind};
use crate::span::{NodeId, Span, small};

use super::Assembly;

impl Assembly<'_> {
    pub(super) fn scalar(
        &mut self,
        text: &str,
        style: Style,
        range: Range<usize>,
        tag: Option<Label<'_>>,
    ) -> NodeId {
        let mut span = self.span(range);
        if span.is_empty() && text.is_empty() && self.waits_for_value() {
            let place = self.behind_colon(span.start);
            span = Span { start: place, end: place, ..span };
        }
        let written = &self.text[span.range()];
        if style == Style::Block {
            let end = span.start as usize + written.trim_end_matches([' ', '\t', '\r', '\n']).len();
            span.end = small(end);
        }
        let mut plain = style == Style::Plain;
        if let Some(tag) = tag {
            plain = self.tagged(text, plain, tag);
        }
        let inner = match style {
            Style::Plain => Some(span.start..span.end),
            Style::Quoted if span.end - span.start >= 2 => Some(span.start + 1..span.end - 1),
            _ => None,
        };
        let as_written = inner.filter(|range| {
            self.text.get(range.start as usize..range.end as usize).is_some_and(|written| written == text)
        });
        let body = match as_written {
            Some(Range { start, end }) => Body::Written { start, end, plain },
            None => self.arena.add_resolved(text, plain),
        };
        self.arena.add_node(span, body)
    }

    pub(super) fn waits_for_value(&self) -> bool {
        self.open.last().is_some_and(|collection| collection.map && collection.key.is_some())
    }

    /// The place behind the colon that follows, if only blanks stand before it.
    pub(super) fn behind_colon(&self, from: u32) -> u32 {
        let rest = &self.text[from as usize..];
        let blanks = rest.len() - rest.trim_start_matches([' ', '\t']).len();
        if rest[blanks..].starts_with(':') { from + small(blanks) + 1 } else { from }
    }

    /// Whether the scalar means what it is written as, rather than text.
    pub(super) fn tagged(&mut self, text: &str, plain: bool, tag: Label<'_>) -> bool {
        let span = self.span(tag.range);
        let kind = Scalar { text, plain: true }.kind();
        let fits = match tag.core.as_deref() {
            Some("str" | "!") => return false,
            Some("null") => kind == ScalarKind::Null,
            Some("bool") => kind == ScalarKind::Truth,
            Some("int") => kind == ScalarKind::Whole,
            Some("float") => matches!(kind, ScalarKind::Whole | ScalarKind::Fraction),
            _ => {
                self.foreign_tag(span);
                return plain;
            }
        };
        if !fits {
            let text = shown(text);
            self.problems.add(|| {
                Problem::new("tag", span, format!("`{text}` is not what its tag says"), "the tag")
                    .with_way_out("remove the tag")
            });
        }
        plain || fits
    }
}
