//! A proposal as the text to paste: a merge patch over the description, in YAML.

use std::collections::BTreeMap;

use loadworthy_checks::review::Setting;
use loadworthy_source::{Content, NodeId, Tree};
use serde::Serialize;

/// A value, or the keys below one.
#[derive(Serialize)]
#[serde(untagged)]
enum Branch {
    Value(String),
    Word(bool),
    Whole(i64),
    Fraction(f64),
    /// What is removed.
    Nothing(()),
    List(Vec<Branch>),
    Keys(BTreeMap<String, Branch>),
}

/// The merge patch (RFC 7396) that writes some values; it may stand under a name in `variants` or be laid over the
/// description itself.
pub(crate) fn text(settings: &[Setting]) -> Option<String> {
    let mut root = BTreeMap::new();
    for setting in settings {
        let mut steps = setting.path.split('.').peekable();
        let mut keys = &mut root;
        while let Some(step) = steps.next() {
            if steps.peek().is_none() {
                keys.insert(step.to_owned(), value(&setting.written));
                break;
            }
            let below = keys.entry(step.to_owned()).or_insert_with(|| Branch::Keys(BTreeMap::new()));
            match below {
                Branch::Keys(below) => keys = below,
                // Two proposals for one value, one of them inside the other, make no patch.
                _ => return None,
            }
        }
    }
    serde_yaml::to_string(&root).ok()
}

/// A plain number or a word of truth stays one, and a list one; what has a unit is text in YAML.
fn value(written: &str) -> Branch {
    if written == "null" {
        return Branch::Nothing(());
    }
    if written.starts_with('[') {
        let (mut tree, mut problems) = (Tree::new(), Vec::new());
        // A document is a map.
        let root = tree.read("", format!("list: {written}").as_bytes(), &mut problems);
        let list = root.filter(|_| problems.is_empty()).and_then(|root| tree.value_at(root, &["list"]));
        if let Some(list) = list.and_then(|list| branch(&tree, list)) {
            return list;
        }
    }
    match (written.parse(), written.parse(), written.parse()) {
        (Ok(word), ..) => Branch::Word(word),
        (_, Ok(whole), _) => Branch::Whole(whole),
        (.., Ok(fraction)) => Branch::Fraction(fraction),
        _ => Branch::Value(written.to_owned()),
    }
}

/// A list, in brackets, and what stands in it.
fn branch(tree: &Tree, node: NodeId) -> Option<Branch> {
    match tree.content(node) {
        Content::Scalar(scalar) => Some(value(scalar.text)),
        Content::List(items) => {
            items.iter().map(|&item| branch(tree, item)).collect::<Option<_>>().map(Branch::List)
        }
        Content::Map(_) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn setting(path: &str, written: &str) -> Setting {
        Setting { path: path.to_owned(), written: written.to_owned(), instead_of: None }
    }

    #[test]
    fn values_of_one_entry_stand_under_one_key() {
        let settings = [
            setting("stages.drive.switches.high_side.parallel", "3"),
            setting("stages.drive.switches.low_side.parallel", "3"),
            setting("stages.drive.carrier.frequency", "5.6 kHz"),
        ];
        let expected = "stages:\n  drive:\n    carrier:\n      frequency: 5.6 kHz\n    switches:\n      high_side:\n        parallel: 3\n      low_side:\n        parallel: 3\n";
        assert_eq!(text(&settings).as_deref(), Some(expected));
    }

    #[test]
    fn a_word_of_truth_is_no_text() {
        let settings = [setting("cooling.elements.riser.vented", "true")];
        let expected = "cooling:\n  elements:\n    riser:\n      vented: true\n";
        assert_eq!(text(&settings).as_deref(), Some(expected));
    }

    #[test]
    fn a_list_stays_one_and_what_is_removed_is_null() {
        let settings =
            [setting("magnetics.choke.core.at", "[25 degC, 1.5]"), setting("magnetics.choke.trip", "null")];
        let expected =
            "magnetics:\n  choke:\n    core:\n      at:\n      - 25 degC\n      - 1.5\n    trip: null\n";
        assert_eq!(text(&settings).as_deref(), Some(expected));
    }

    #[test]
    fn a_value_below_a_value_is_no_patch() {
        assert_eq!(text(&[setting("a.b", "1"), setting("a.b.c", "2")]), None);
    }
}
