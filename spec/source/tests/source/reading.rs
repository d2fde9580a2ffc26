//! The tree as it is looked at.

use loadworthy_source::{Content, ScalarKind, Tree};

use super::tree;

#[test]
fn content_follows_aliases_and_spans_do_not() {
    let (tree, root) = tree("base: &b { x: 1 }\nuse: *b\n");
    let [base, used] = tree.entries(root) else { panic!("two entries") };
    assert_ne!(base.value, used.value);
    assert_eq!(tree.target(used.value), base.value);
    assert_eq!(tree.entries(used.value), tree.entries(base.value));
    assert_eq!(tree.text_of(tree.span(used.value)), "*b");
}

#[test]
fn an_alias_of_an_alias_reaches_the_value() {
    let (tree, root) = tree("a: &a 5\nb: &c [*a]\nd: [*c, *a]\n");
    let list = tree.value_at(root, &["d"]).expect("there");
    let Content::List([inner, number]) = tree.content(list) else { panic!("two items") };
    assert!(matches!(tree.content(*inner), Content::List([_])));
    assert_eq!(tree.scalar(*number).and_then(|scalar| scalar.as_i64()), Some(5));
}

#[test]
fn paths_lead_to_values() {
    let (tree, root) = tree("a: { b: { c: 1 } }\nd: 2\n");
    let found = tree.value_at(root, &["a", "b", "c"]).expect("there");
    assert_eq!(tree.text_of(tree.span(found)), "1");
    assert_eq!(tree.value_at(root, &[]), Some(root));
    assert_eq!(tree.value_at(root, &["a", "x"]), None);
    assert_eq!(tree.value_at(root, &["d", "x"]), None);
}

#[test]
fn words_say_what_is_there() {
    let (tree, root) = tree("a:\nb: ~\nc: 5\nd: 1.5\ne: true\nf: on\ng: ''\nh: {}\ni: [1]\nj: '5'\n");
    let words: Vec<String> = tree.entries(root).iter().map(|entry| tree.describe(entry.value)).collect();
    assert_eq!(
        words,
        [
            "nothing",
            "`~`, which is nothing",
            "the number `5`",
            "the number `1.5`",
            "the truth value `true`",
            "the text `on`",
            "an empty text",
            "an empty map",
            "a list",
            "the text `5`",
        ]
    );
    assert_eq!(tree.scalar(tree.entries(root)[9].value).map(|scalar| scalar.kind()), Some(ScalarKind::Text));
}

#[test]
fn files_keep_apart() {
    let mut tree = Tree::new();
    let mut problems = Vec::new();
    let first = tree.read("unit.yaml", b"a: first", &mut problems).expect("a root");
    let second =
        tree.read("parts/more.yaml", "µµµ: \"s\\x65cond\"".as_bytes(), &mut problems).expect("a root");
    assert_eq!(problems, []);
    let value = |root| tree.scalar(tree.entries(root)[0].value).map(|scalar| scalar.text);
    assert_eq!(value(first), Some("first"));
    assert_eq!(value(second), Some("second"));
    let names: Vec<&str> = tree.files().iter().map(|file| file.name.as_str()).collect();
    assert_eq!(names, ["unit.yaml", "parts/more.yaml"]);
    assert_eq!(tree.file(tree.span(second).file).name, "parts/more.yaml");
    assert!(tree.span(second).file.index() == 1 && first.index() < second.index());
}
