//! Keys that merge one map into another, which YAML 1.1 has and this language has not: what an entry says would then stand
//! in two places, with an order between them.

use loadworthy_source::{NodeId, Problem, Tree};

use crate::ledger::Ledger;

/// Whether a key merges another map into its own; it is noted then, and what the other map says is not read here.
pub(crate) fn merges(tree: &Tree, key: NodeId, ledger: &mut Ledger) -> bool {
    let is_merge = tree.scalar(key).is_some_and(|key| key.plain && key.text == "<<");
    if is_merge {
        let at = tree.span(key);
        ledger.note("unknown-key", at, "", || {
            Problem::new("unknown-key", at, "merge keys are not read", "merges a map into this one")
                .with_way_out("write its keys out here; aliases are read: `key: *name` repeats a whole value")
        });
    }
    is_merge
}
