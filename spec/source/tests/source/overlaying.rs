//! One value laid over a description from outside.

use loadworthy_source::{NodeId, Problem, Tree};

use super::marked;
use super::patching::json;

fn overlay(text: &str, path: &[&str], value: &str) -> (Tree, NodeId, Option<NodeId>, Vec<Problem>) {
    let mut tree = Tree::new();
    let mut problems = Vec::new();
    let base = tree.read("unit.yaml", text.as_bytes(), &mut problems).expect("a root");
    let laid = tree.overlay("--with", base, path, value, &mut problems);
    (tree, base, laid, problems)
}

#[test]
fn the_new_value_stands_in_the_argument() {
    let (tree, base, laid, problems) =
        overlay("duty: { hill: { inlet: 60 degC, flow: 9 L/min } }", &["duty", "hill", "inlet"], "65 degC");
    assert_eq!(problems, []);
    let laid = laid.expect("a root");
    let path = ["duty", "hill", "inlet"];
    let new = tree.value_at(laid, &path).expect("there");
    let span = tree.span(new);
    let file = tree.file(span.file);
    assert_eq!((file.name.as_str(), file.text.as_str()), ("--with", "duty.hill.inlet=65 degC"));
    assert_eq!(tree.text_of(span), "65 degC");
    assert_eq!(tree.replaced(new), tree.value_at(base, &path));
    assert_eq!(
        tree.value_at(laid, &["duty", "hill", "flow"]),
        tree.value_at(base, &["duty", "hill", "flow"])
    );
}

#[test]
fn a_key_that_was_not_there_is_marked_in_the_argument() {
    let (tree, _, laid, problems) = overlay("a: { b: 1 }", &["a", "µ", "c"], "2");
    assert_eq!(problems, []);
    let laid = laid.expect("a root");
    assert_eq!(json(&tree, laid), serde_json::json!({ "a": { "b": 1, "µ": { "c": 2 } } }));
    let new = tree.value_at(laid, &["a"]).and_then(|a| tree.entry(a, "µ")).expect("there");
    assert_eq!(tree.text_of(tree.span(new.key)), "µ");
    let inner = tree.entry(new.value, "c").expect("there");
    assert_eq!(tree.text_of(tree.span(inner.key)), "c");
    assert_eq!(tree.text_of(tree.span(inner.value)), "2");
}

#[test]
fn maps_merge_and_null_removes() {
    let (tree, _, laid, _) = overlay("a: { b: 1, c: 2 }", &["a"], "{ b: 5, c: null, d: 6 }");
    assert_eq!(json(&tree, laid.expect("a root")), serde_json::json!({ "a": { "b": 5, "d": 6 } }));
    let (tree, _, laid, _) = overlay("a: { b: 1, c: 2 }", &["a", "b"], "null");
    assert_eq!(json(&tree, laid.expect("a root")), serde_json::json!({ "a": { "c": 2 } }));
}

#[test]
fn a_value_that_cannot_be_read_is_a_problem() {
    let check = |value: &str, kind: &str, mark: &str| {
        let (tree, _, laid, problems) = overlay("a: 1", &["a"], value);
        assert_eq!(laid, None, "{value:?}");
        assert_eq!(problems.len(), 1, "{value:?}");
        assert_eq!((problems[0].kind, marked(&tree, &problems[0])), (kind, mark), "{value:?}");
        assert_eq!(tree.file(problems[0].at.file).name, "--with");
    };
    check("", "empty", "=");
    check("  ", "empty", "=");
    check("[1, @]", "syntax", "@");
    check("5\0", "control-character", "\0");
    check("*x", "unknown-anchor", "*x");
    check(&"[".repeat(100), "too-deep", "[");
    check(&format!("{}{}", "[".repeat(64), "]".repeat(64)), "too-deep", "a");
    let (tree, _, laid, problems) = overlay("a: 1", &[], "5");
    assert_eq!((laid, problems[0].message.as_str()), (None, "expected a path before `=`"));
    assert_eq!(tree.file(problems[0].at.file).text, "=5");
}

#[test]
fn a_deep_path_is_refused() {
    let path = ["a"; 65];
    let (_, _, laid, problems) = overlay("a: 1", &path, "5");
    assert_eq!((laid, problems[0].kind), (None, "too-deep"));
    let (_, _, laid, problems) = overlay("a: 1", &path[..64], "5");
    assert!(laid.is_some() && problems.is_empty());
}
