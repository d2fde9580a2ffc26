//! The laws of merge patches, RFC 7396.

use loadworthy_source::{Content, NodeId, Tree};

/// What a node means, as JSON.
pub(super) fn json(tree: &Tree, node: NodeId) -> serde_json::Value {
    match tree.content(node) {
        Content::Scalar(scalar) if scalar.is_null() => serde_json::Value::Null,
        Content::Scalar(scalar) => match (scalar.as_bool(), scalar.as_i64(), scalar.as_f64()) {
            (Some(truth), ..) => truth.into(),
            (_, Some(whole), _) => whole.into(),
            (_, _, Some(number)) => number.into(),
            _ => scalar.text.into(),
        },
        Content::List(items) => items.iter().map(|&item| json(tree, item)).collect(),
        Content::Map(entries) => entries
            .iter()
            .map(|entry| (tree.key_text(entry.key).to_owned(), json(tree, entry.value)))
            .collect::<serde_json::Map<_, _>>()
            .into(),
    }
}

/// Base and patch as the values of `base` and `patch` of one document, so that they may be of any type.
fn patched(base: &str, patch: &str) -> (Tree, NodeId, NodeId, NodeId) {
    let mut tree = Tree::new();
    let mut problems = Vec::new();
    let text = format!("base: {base}\npatch: {patch}\n");
    let root = tree.read("unit.yaml", text.as_bytes(), &mut problems).expect("a root");
    assert_eq!(problems, []);
    let [base, patch] = tree.entries(root) else { panic!("two entries") };
    let (base, patch) = (base.value, patch.value);
    let merged = tree.patch(base, patch).expect("small");
    (tree, base, patch, merged)
}

#[test]
fn the_examples_of_appendix_a_hold() {
    let cases = [
        (r#"{"a":"b"}"#, r#"{"a":"c"}"#, r#"{"a":"c"}"#),
        (r#"{"a":"b"}"#, r#"{"b":"c"}"#, r#"{"a":"b","b":"c"}"#),
        (r#"{"a":"b"}"#, r#"{"a":null}"#, r#"{}"#),
        (r#"{"a":"b","b":"c"}"#, r#"{"a":null}"#, r#"{"b":"c"}"#),
        (r#"{"a":["b"]}"#, r#"{"a":"c"}"#, r#"{"a":"c"}"#),
        (r#"{"a":"c"}"#, r#"{"a":["b"]}"#, r#"{"a":["b"]}"#),
        (r#"{"a":{"b":"c"}}"#, r#"{"a":{"b":"d","c":null}}"#, r#"{"a":{"b":"d"}}"#),
        (r#"{"a":[{"b":"c"}]}"#, r#"{"a":[1]}"#, r#"{"a":[1]}"#),
        (r#"["a","b"]"#, r#"["c","d"]"#, r#"["c","d"]"#),
        (r#"{"a":"b"}"#, r#"["c"]"#, r#"["c"]"#),
        (r#"{"a":"foo"}"#, r#"null"#, r#"null"#),
        (r#"{"a":"foo"}"#, r#""bar""#, r#""bar""#),
        (r#"{"e":null}"#, r#"{"a":1}"#, r#"{"e":null,"a":1}"#),
        (r#"[1,2]"#, r#"{"a":"b","c":null}"#, r#"{"a":"b"}"#),
        (r#"{}"#, r#"{"a":{"bb":{"ccc":null}}}"#, r#"{"a":{"bb":{}}}"#),
    ];
    for (base, patch, expected) in cases {
        let (tree, _, _, merged) = patched(base, patch);
        let expected: serde_json::Value = serde_json::from_str(expected).expect("JSON");
        assert_eq!(json(&tree, merged), expected, "{base} with {patch}");
    }
}

#[test]
fn what_is_not_touched_keeps_its_nodes() {
    let (tree, base, _, merged) = patched("{ a: { x: 1, y: 2 }, b: { z: 3 } }", "{ a: { x: 5 } }");
    let node = |root, path: &[&str]| tree.value_at(root, path).expect("there");
    assert_eq!(node(merged, &["b"]), node(base, &["b"]));
    assert_eq!(node(merged, &["a", "y"]), node(base, &["a", "y"]));
    assert_ne!(node(merged, &["a"]), node(base, &["a"]));
    assert_eq!(
        tree.span(node(merged, &["a"])),
        tree.span(node(base, &["a"])),
        "a merged map stands at the base's"
    );
    assert_eq!(tree.span(merged), tree.span(base));
    let key = tree.entry(merged, "a").expect("there").key;
    assert_eq!(key, tree.entry(base, "a").expect("there").key, "its key too");
}

#[test]
fn a_patched_value_stands_in_the_patch_and_knows_what_it_replaced() {
    let (tree, base, patch, merged) =
        patched("{ a: { x: 1 A }, b: [1], c: 2 }", "{ a: { x: 5 A }, b: { y: 1 }, d: 9 }");
    let node = |root, path: &[&str]| tree.value_at(root, path).expect("there");
    let new = node(merged, &["a", "x"]);
    assert_eq!(tree.span(new), tree.span(node(patch, &["a", "x"])));
    assert_eq!(tree.replaced(new), Some(node(base, &["a", "x"])));
    assert_eq!(tree.replaced(node(merged, &["b"])), Some(node(base, &["b"])), "a map may replace a list");
    assert_eq!(tree.replaced(node(merged, &["c"])), None);
    assert_eq!(tree.replaced(node(merged, &["d"])), None, "nothing was there");
    assert_eq!(node(merged, &["d"]), node(patch, &["d"]), "so the node of the patch serves");
    assert_eq!(tree.replaced(node(merged, &["a"])), None, "merged, not replaced");
}

#[test]
fn one_anchor_may_replace_two_values() {
    let (tree, base, _, merged) = patched("{ a: { x: 1 }, b: { x: 2 } }", "{ a: &m { x: 5 }, b: *m }");
    let node = |root, path: &[&str]| tree.value_at(root, path).expect("there");
    for path in [["a", "x"], ["b", "x"]] {
        assert_eq!(tree.replaced(node(merged, &path)), Some(node(base, &path)));
        assert_eq!(json(&tree, node(merged, &path)), 5);
    }
}

#[test]
fn patches_stack() {
    let (mut tree, base, patch, first) = patched("{ a: 1, b: 2 }", "{ a: 3 }");
    let second = tree.patch(first, patch).expect("small");
    let node = |root| tree.value_at(root, &["a"]).expect("there");
    assert_eq!(tree.replaced(node(second)), Some(node(first)));
    assert_eq!(tree.replaced(node(first)), Some(node(base)));
    assert_eq!(json(&tree, second), json(&tree, first), "once more changes nothing");
}

#[test]
fn order_is_that_of_the_base_and_then_of_the_patch() {
    let (tree, _, _, merged) =
        patched("{ a: 1, b: 2, c: 3 }", "{ z: 1, c: 9, y: 2, a: null, x: null, w: 1, v: 1 }");
    let keys: Vec<&str> = tree.entries(merged).iter().map(|entry| tree.key_text(entry.key)).collect();
    assert_eq!(keys, ["b", "c", "z", "y", "w", "v"]);
}

#[test]
fn null_in_a_list_or_in_quotes_removes_nothing() {
    let (tree, _, _, merged) = patched("{ a: 1, b: 2 }", "{ a: [null], b: 'null' }");
    assert_eq!(json(&tree, merged), serde_json::json!({ "a": [null], "b": "null" }));
    let (tree, _, _, merged) = patched("{ a: 1, b: 2 }", "{ a: , b: ~ }");
    assert_eq!(json(&tree, merged), serde_json::json!({}));
}
