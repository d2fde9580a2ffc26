//! Names that a person gives: to parts, variants, duty points.

use loadworthy_source::{NodeId, Problem, Tree, refused_in_identifier};

use super::merges::merges;
use super::shape::Dots;
use crate::ledger::Ledger;
use crate::quantity::shown;

/// Longer names would tear every table they stand in.
const MOST_CHARACTERS: usize = 64;

/// Notes a name that is none. The dot separates the parts of a path, so it cannot stand in a name.
pub(crate) fn check_name(tree: &Tree, key: NodeId, ledger: &mut Ledger) -> bool {
    check_key(tree, key, Dots::Refused, ledger)
}

/// Notes a key that is neither a name nor that of a switch position: a stage, a dot, and its position.
pub(crate) fn check_place(tree: &Tree, key: NodeId, ledger: &mut Ledger) -> bool {
    check_key(tree, key, Dots::Allowed, ledger)
}

fn proper(c: char) -> bool {
    (c.is_alphanumeric() || matches!(c, '_' | '-')) && !refused_in_identifier(c)
}

fn is_name(name: &str) -> bool {
    !name.is_empty()
        && !name.starts_with('-')
        && name.chars().all(proper)
        && name.chars().nth(MOST_CHARACTERS).is_none()
}

/// Notes a key that is no name, nor that of a switch position where one may stand.
pub(super) fn check_key(tree: &Tree, key: NodeId, dots: Dots, ledger: &mut Ledger) -> bool {
    if merges(tree, key, ledger) {
        return false;
    }
    let name = tree.key_text(key);
    let good = match name.split_once('.') {
        Some((stage, position)) if dots == Dots::Allowed => is_name(stage) && is_name(position),
        _ => is_name(name),
    };
    if !good {
        ledger.note("bad-name", tree.span(key), "", || {
            let problem = |label: &str| {
                Problem::new("bad-name", tree.span(key), format!("{} cannot be a name", shown(name)), label)
            };
            let way_out = || {
                let cleaned = name.chars().map(|c| if proper(c) { c } else { '_' }).take(MOST_CHARACTERS);
                let cleaned = cleaned.collect::<String>();
                format!("write e.g. `{}`", cleaned.trim_start_matches('-'))
            };
            match name.chars().find(|c| !proper(*c)) {
                Some('.') if dots == Dots::Allowed => {
                    let mut steps = name.split('.').filter(|step| is_name(step));
                    let problem = problem("one dot stands between a stage and its switch position");
                    match (steps.next(), steps.next()) {
                        (Some(stage), Some(position)) => {
                            problem.with_way_out(format!("write `{stage}.{position}`"))
                        }
                        _ => problem,
                    }
                }
                _ if name.is_empty() => problem("a name has at least one letter"),
                Some('.') => problem("a dot separates the parts of a path").with_way_out(way_out()),
                Some(_) => problem("letters, digits, `_` and `-` make a name").with_way_out(way_out()),
                None if name.starts_with('-') => {
                    problem("a name does not begin with `-`").with_way_out(way_out())
                }
                None => problem("a name has at most 64 characters"),
            }
        });
    }
    good
}
