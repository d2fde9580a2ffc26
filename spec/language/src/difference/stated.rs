//! What stands at a place: how it is written, what it comes to, and whether two places say the same.

use loadworthy_source::{Content, NodeId, Tree};

use super::Stated;
use crate::quantity::{Amount, Dimension, QuantityKind};
use crate::schema::Guided;

/// Share by which two numbers may differ that are written in different units.
const EQUAL_WITHIN: f64 = 1e-12;
/// Characters of a value that are kept; more than that tells a reader of changes nothing.
const LONGEST: usize = 400;

/// Whether two numbers of a dimension are the same number.
pub(super) fn same_amount(old: (Dimension, f64), new: (Dimension, f64)) -> bool {
    old.0 == new.0 && same_number(old.1, new.1)
}

fn same_number(old: f64, new: f64) -> bool {
    old.to_bits() == new.to_bits() || (old - new).abs() <= EQUAL_WITHIN * old.abs().max(new.abs())
}

/// What a text comes to where a quantity is asked for.
pub(super) fn amount(text: &str, kind: Option<QuantityKind>) -> Option<(Dimension, f64)> {
    match kind?.read(text) {
        Ok(Amount::Of(dimension, value)) => Some((dimension, value)),
        Ok(Amount::Continuous) | Err(_) => None,
    }
}

/// What stands at a node.
pub(super) fn stated(tree: &Tree, node: NodeId, guided: Option<Guided<'_>>) -> Stated {
    let kind = guided.and_then(Guided::quantity);
    let is_count = kind.is_none() && guided.is_some_and(Guided::takes_numbers);
    let amount = tree.scalar(node).and_then(|scalar| match is_count {
        true => scalar.as_f64().map(|number| (Dimension::Ratio, number)),
        false => amount(scalar.text, kind),
    });
    Stated { at: Some(node), written: Some(in_one_line(tree, node)), amount }
}

/// A value in one line, cut where it is very long.
pub(super) fn in_one_line(tree: &Tree, node: NodeId) -> String {
    let mut text = String::new();
    write(tree, node, &mut text);
    match text.char_indices().nth(LONGEST) {
        Some((end, _)) => format!("{}…", &text[..end]),
        None => text,
    }
}

fn write(tree: &Tree, node: NodeId, text: &mut String) {
    // What is cut off anyway is not written.
    if text.len() > 8 * LONGEST {
        return;
    }
    match tree.content(node) {
        Content::Scalar(scalar) => text.push_str(scalar.text),
        Content::List(items) => {
            text.push('[');
            for (place, item) in items.iter().enumerate() {
                text.push_str(if place == 0 { "" } else { ", " });
                write(tree, *item, text);
            }
            text.push(']');
        }
        Content::Map([]) => text.push_str("{}"),
        Content::Map(entries) => {
            text.push_str("{ ");
            for (place, entry) in entries.iter().enumerate() {
                text.push_str(if place == 0 { "" } else { ", " });
                text.push_str(tree.key_text(entry.key));
                text.push_str(": ");
                write(tree, entry.value, text);
            }
            text.push_str(" }");
        }
    }
}

/// The steps of a reference: a name, and what stands behind its first dot.
pub(super) fn name_and_rest(text: &str) -> (&str, &str) {
    match text.find('.') {
        Some(dot) => text.split_at(dot),
        None => (text, ""),
    }
}

/// Whether two scalars mean the same, given the new name of what has another one.
pub(super) fn same_scalar<'n>(
    (old_tree, old): (&Tree, NodeId),
    (new_tree, new): (&Tree, NodeId),
    kind: Option<QuantityKind>,
    renamed: &dyn Fn(&str) -> Option<&'n str>,
) -> bool {
    let (Some(old), Some(new)) = (old_tree.scalar(old), new_tree.scalar(new)) else { return false };
    if old.text == new.text && old.kind() == new.kind() {
        return true;
    }
    if let (Some(old), Some(new)) = (amount(old.text, kind), amount(new.text, kind)) {
        return same_amount(old, new);
    }
    if let (Some(old), Some(new)) = (old.as_f64(), new.as_f64()) {
        return same_number(old, new);
    }
    match (old.as_bool(), new.as_bool()) {
        (Some(old), Some(new)) => return old == new,
        (None, None) => {}
        _ => return false,
    }
    if old.is_null() || new.is_null() {
        return old.is_null() && new.is_null();
    }
    // Text is the same in quotes and without.
    if old.text == new.text {
        return true;
    }
    let ((from, old_rest), (to, new_rest)) = (name_and_rest(old.text), name_and_rest(new.text));
    old_rest == new_rest && renamed(from) == Some(to)
}

/// Whether two values mean the same, all that is in them included.
pub(super) fn same<'n>(
    (old_tree, old): (&Tree, NodeId),
    (new_tree, new): (&Tree, NodeId),
    guided: Option<Guided<'_>>,
    renamed: &dyn Fn(&str) -> Option<&'n str>,
) -> bool {
    match (old_tree.content(old), new_tree.content(new)) {
        (Content::Scalar(_), Content::Scalar(_)) => {
            let kind = guided.and_then(Guided::quantity);
            same_scalar((old_tree, old), (new_tree, new), kind, renamed)
        }
        (Content::List(olds), Content::List(news)) => {
            // The quantity of a list is that of its items.
            let own = guided.filter(|guided| guided.quantity().is_some());
            let item = own.or_else(|| guided.and_then(Guided::item));
            let mut pairs = olds.iter().zip(news);
            olds.len() == news.len()
                && pairs.all(|(old, new)| same((old_tree, *old), (new_tree, *new), item, renamed))
        }
        (Content::Map(olds), Content::Map(news)) => {
            olds.len() == news.len()
                && olds.iter().all(|old| {
                    let key = old_tree.key_text(old.key);
                    let tags =
                        |tag: &str| new_tree.entry(new, tag).map(|it| new_tree.key_text(it.value).to_owned());
                    let below = guided.and_then(|guided| guided.below(key, &tags));
                    let other =
                        new_tree.entry(new, renamed(key).unwrap_or(key)).or_else(|| new_tree.entry(new, key));
                    other.is_some_and(|other| {
                        same((old_tree, old.value), (new_tree, other.value), below, renamed)
                    })
                })
        }
        _ => false,
    }
}
