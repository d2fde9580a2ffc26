//! The checks that a permit may name. The reader takes any name that looks like one, so that a permit for a check that is gone is
//! told by the review; an editor offers those that there are, and tells one that is misspelt.

use serde_json::{Map, Value, json};

pub(super) fn compose(root: &mut Map<String, Value>, checks: &[(&str, &str)]) {
    let check = root
        .get_mut("$defs")
        .and_then(|all| all.pointer_mut("/Permit/properties/check"))
        .and_then(Value::as_object_mut)
        .filter(|_| !checks.is_empty());
    let Some(check) = check else { return };
    check.shift_remove("pattern");
    let (names, asks): (Vec<&str>, Vec<&str>) = checks.iter().copied().unzip();
    check.insert("enum".to_owned(), json!(names));
    check.insert("markdownEnumDescriptions".to_owned(), json!(asks));
}
