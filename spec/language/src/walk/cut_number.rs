//! A decimal comma between braces: there YAML cuts the number in two, `260,5 V` into the value `260` and a key `5 V`.

use loadworthy_source::{Entry, Problem, Span};

use super::shape::{Map, Shape};
use super::{Subject, Walker, messages};
use crate::quantity::{QuantityKind, shown};

impl Walker<'_> {
    /// Places of the keys that are the second halves of quantities; each is told as the one slip that it is.
    pub(super) fn cut_numbers(&mut self, map: &Map, entries: &[Entry]) -> Vec<usize> {
        let cut = entries.windows(2).enumerate().filter_map(|(place, pair)| {
            let &[first, second] = pair else { return None };
            let whole = self.whole(first, second)?;
            let kind = self.quantity_of(map, first)?;
            Some((place + 1, first, kind, whole))
        });
        let cut: Vec<_> = cut.collect();
        for &(_, first, kind, at) in &cut {
            self.cut_number(kind, at, Subject::under(first.key));
        }
        cut.into_iter().map(|(place, ..)| place).collect()
    }

    fn quantity_of(&self, map: &Map, entry: Entry) -> Option<QuantityKind> {
        match self.shapes.get(map.field(self.tree.key_text(entry.key))?.1) {
            Shape::Quantity(kind) | Shape::Points(kind, _) => Some(*kind),
            _ => None,
        }
    }

    /// The number that two entries were meant as: nothing but a comma stands between a bare number and digits without a value.
    fn whole(&self, first: Entry, second: Entry) -> Option<Span> {
        let tree = self.tree;
        if !tree.key_text(second.key).starts_with(|c: char| c.is_ascii_digit())
            || !tree.scalar(second.value)?.is_null()
        {
            return None;
        }
        let (value, key) = (tree.span(first.value), tree.span(second.key));
        let is_bare = tree.scalar(first.value)?.as_f64().is_some();
        let whole = Span { end: key.end, ..value };
        let joined = value.file == key.file && value.end.checked_add(1) == Some(key.start);
        (is_bare && joined && tree.text_of(whole).contains(',')).then_some(whole)
    }

    fn cut_number(&mut self, kind: QuantityKind, at: Span, subject: Subject) {
        let tree = self.tree;
        self.ledger.note("bad-quantity", at, "", || {
            let written = tree.text_of(at);
            let expected = kind.expected();
            let subject = messages::told(tree, subject);
            let message = format!("{subject} expects {expected}, found {}", shown(written));
            let problem = Problem::new("bad-quantity", at, message, format!("expected {expected}"));
            problem.with_way_out(format!(
                "write `{}`",
                loadworthy_source::escape_text(&written.replacen(',', ".", 1))
            ))
        });
    }
}
