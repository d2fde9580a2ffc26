//! Any bytes: reading, patching and looking at the tree never panics, and every span can be shown.
//!
//! ```text
//! cargo +nightly fuzz run reading --fuzz-dir tests/fuzz -s none tests/fuzz/corpus/reading tests/fuzz/seeds/reading -- -dict=tests/fuzz/yaml.dict
//! ```

#![no_main]

use libfuzzer_sys::fuzz_target;
use loadworthy_source::{Content, NodeId, Problem, Span, Tree};

fuzz_target!(|bytes: &[u8]| {
    let mut tree = Tree::new();
    let mut problems = Vec::new();
    let root = tree.read("fuzzed.yaml", bytes, &mut problems);
    assert!(root.is_some() || !problems.is_empty(), "neither a root nor a problem");
    if let Some(root) = root {
        look_at(&tree, root);
        // A map patched with itself loses its nulls and nothing else; once more changes nothing.
        let once = tree.patch(root, root).expect("small enough");
        let twice = tree.patch(once, once).expect("small enough");
        look_at(&tree, once);
        assert_eq!(meaning(&tree, once), meaning(&tree, twice));
        let joined = tree.union(root, &[once, twice], &["a", "devices"], &mut problems);
        look_at(&tree, joined);
        if let Ok(value) = std::str::from_utf8(bytes)
            && let Some(laid) = tree.overlay("--with", root, &["a", "b"], value, &mut problems)
        {
            look_at(&tree, laid);
        }
        let _ = tree.deserialize::<std::collections::BTreeMap<String, Vec<f64>>>(root);
    }
    problems.iter().for_each(|problem| look_at_problem(&tree, problem));
});

fn look_at_problem(tree: &Tree, problem: &Problem) {
    let places = problem.also.iter().map(|also| also.0).chain([problem.at]);
    places.for_each(|span| look_at_span(tree, span));
}

fn look_at_span(tree: &Tree, span: Span) {
    let file = tree.file(span.file);
    let text = file.text.get(span.range());
    assert!(text.is_some(), "{span:?} cannot be shown");
    assert!(file.place(span.start) <= file.place(span.end));
}

/// Each node that is written once; aliases bound the number of visits.
fn look_at(tree: &Tree, root: NodeId) {
    let mut seen = vec![false; tree.node_count()];
    let mut left = vec![root];
    while let Some(node) = left.pop() {
        if std::mem::replace(&mut seen[node.index()], true) {
            continue;
        }
        look_at_span(tree, tree.span(node));
        left.extend(tree.replaced(node));
        match tree.content(node) {
            Content::Scalar(scalar) => {
                let _ = (scalar.kind(), scalar.as_f64(), tree.describe(node));
            }
            Content::Map(entries) => {
                for entry in entries {
                    assert!(tree.scalar(entry.key).is_some(), "a key is a scalar");
                    left.extend([entry.key, entry.value]);
                }
            }
            Content::List(items) => left.extend(items),
        }
    }
}

/// The first nodes in reading order; enough to compare, and bounded where aliases repeat.
fn meaning(tree: &Tree, root: NodeId) -> Vec<String> {
    let mut lines = Vec::new();
    let mut left = vec![root];
    while let Some(node) = left.pop()
        && lines.len() < 1000
    {
        match tree.content(node) {
            Content::Scalar(scalar) => lines.push(scalar.text.to_owned()),
            Content::Map(entries) => {
                lines.push(format!("map of {}", entries.len()));
                left.extend(entries.iter().flat_map(|entry| [entry.value, entry.key]));
            }
            Content::List(items) => {
                lines.push(format!("list of {}", items.len()));
                left.extend(items);
            }
        }
    }
    lines
}
