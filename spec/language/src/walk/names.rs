//! Names that a person gives: to parts, variants, duty points.

use loadworthy_source::{NodeId, Problem, Tree, refused_in_identifier};

use crate::ledger::Ledger;
use crate::quantity::shown;

/// Longer names would tear every table they stand in.
const MOST_CHARACTERS: usize = 64;

/// Notes a name that is none. The dot separates the parts of a path, so it cannot stand in a name.
pub(crate) fn check_name(tree: &Tree, key: NodeId, ledger: &mut Ledger) -> bool {
    let name = tree.key_text(key);
    let proper = |c: char| (c.is_alphanumeric() || matches!(c, '_' | '-')) && !refused_in_identifier(c);
    let good = !name.is_empty()
        && !name.starts_with('-')
        && name.chars().all(proper)
        && name.chars().nth(MOST_CHARACTERS).is_none();
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
