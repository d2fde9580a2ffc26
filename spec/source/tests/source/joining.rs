//! Parts files add entries to sections.

use loadworthy_source::{NodeId, Problem, Tree};

use super::marked;
use super::patching::json;

fn union(base: &str, parts: &[&str]) -> (Tree, NodeId, NodeId, Vec<Problem>) {
    let mut tree = Tree::new();
    let mut problems = Vec::new();
    let base = tree.read("unit.yaml", base.as_bytes(), &mut problems).expect("a root");
    let parts: Vec<NodeId> = parts
        .iter()
        .enumerate()
        .map(|(index, text)| {
            tree.read(&format!("part{index}.yaml"), text.as_bytes(), &mut problems).expect("a root")
        })
        .collect();
    assert_eq!(problems, []);
    let joined = tree.union(base, &parts, &["devices", "capacitors"], &mut problems);
    (tree, base, joined, problems)
}

#[test]
fn entries_are_added_behind_those_of_the_base() {
    let (tree, base, joined, problems) = union(
        "edition: 1\ndevices: { a: 1 }\nduty: {}",
        &["devices: { b: 2 }", "capacitors: { x: 1 }\ndevices: { c: 3 }", "capacitors: { y: 2 }"],
    );
    assert_eq!(problems, []);
    assert_eq!(
        json(&tree, joined).to_string(),
        r#"{"edition":1,"devices":{"a":1,"b":2,"c":3},"duty":{},"capacitors":{"x":1,"y":2}}"#
    );
    let node = |root, path: &[&str]| tree.value_at(root, path).expect("there");
    assert_eq!(tree.span(node(joined, &["devices"])), tree.span(node(base, &["devices"])));
    assert_eq!(node(joined, &["devices", "a"]), node(base, &["devices", "a"]));
    let added = tree.span(node(joined, &["devices", "c"]));
    assert_eq!((tree.file(added.file).name.as_str(), tree.text_of(added)), ("part1.yaml", "3"));
}

#[test]
fn without_additions_the_base_stays_itself() {
    let (_, base, joined, problems) = union("devices: { a: 1 }", &[]);
    assert_eq!((base, problems.len()), (joined, 0));
}

#[test]
fn a_section_of_one_part_alone_is_shared() {
    let (tree, _, joined, _) = union("edition: 1", &["devices: { b: 2 }"]);
    let devices = tree.value_at(joined, &["devices"]).expect("there");
    assert_eq!(tree.file(tree.span(devices).file).name, "part0.yaml");
    assert_eq!(tree.text_of(tree.span(devices)), "{ b: 2 }");
}

#[test]
fn an_entry_defined_twice_is_marked_at_both_places_and_the_first_stays() {
    let (tree, _, joined, problems) =
        union("devices: { a: 1 }", &["devices: { b: 2, a: 5 }", "devices: { b: 3 }"]);
    let lines: Vec<_> = problems
        .iter()
        .map(|problem| {
            let (other, _) = problem.also[0];
            let name = |span: loadworthy_source::Span| tree.file(span.file).name.clone();
            (problem.kind, problem.message.clone(), name(problem.at), name(other))
        })
        .collect();
    let line = |name: &str, at: &str, other: &str| {
        ("defined-twice", format!("`{name}` is defined twice"), at.to_owned(), other.to_owned())
    };
    assert_eq!(lines, [line("a", "part0.yaml", "unit.yaml"), line("b", "part1.yaml", "part0.yaml")]);
    assert_eq!(json(&tree, joined), serde_json::json!({ "devices": { "a": 1, "b": 2 } }));
}

#[test]
fn other_keys_cannot_stand_in_a_part() {
    let (tree, _, joined, problems) = union("edition: 1", &["edition: 1\ndevises: {}\ndevices: { a: 1 }"]);
    let lines: Vec<_> =
        problems.iter().map(|problem| (marked(&tree, problem), problem.way_out.as_deref())).collect();
    assert_eq!(
        lines,
        [
            ("edition", Some("a parts file holds entries of `devices`, `capacitors`")),
            ("devises", Some("write `devices`")),
        ]
    );
    assert_eq!(problems[0].message, "`edition` cannot stand in a parts file");
    assert_eq!(json(&tree, joined), serde_json::json!({ "edition": 1, "devices": { "a": 1 } }));
}

#[test]
fn a_section_that_is_no_map_is_a_problem() {
    let (tree, _, joined, problems) = union("devices: { a: 1 }", &["devices: [b]", "devices:"]);
    let messages: Vec<&str> = problems.iter().map(|problem| problem.message.as_str()).collect();
    assert_eq!(
        messages,
        [
            "expected named entries under `devices`, found a list",
            "expected named entries under `devices`, found nothing",
        ]
    );
    assert_eq!(json(&tree, joined), serde_json::json!({ "devices": { "a": 1 } }));
}

#[test]
fn a_broken_section_of_the_base_is_left_to_the_caller() {
    let (tree, base, joined, problems) = union("devices: 5", &["devices: { a: 1 }"]);
    assert_eq!(problems, []);
    assert_eq!(json(&tree, joined), json(&tree, base));
}
