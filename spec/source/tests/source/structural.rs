//! Structural problems: kind, sentence, marked text, and what remains.

use super::{marked, problems};

/// One line for each problem: kind, marked text, sentence.
#[track_caller]
fn check(text: &str, usable: bool, expected: &[&str]) {
    let (tree, root, found) = problems(text.as_bytes());
    let lines: Vec<String> = found
        .iter()
        .map(|problem| format!("{} {:?} {}", problem.kind, marked(&tree, problem), problem.message))
        .collect();
    assert_eq!(lines, expected, "of {text:?}");
    assert_eq!(root.is_some(), usable, "{text:?}");
}

#[test]
fn a_key_that_stands_twice_is_marked_at_both_places() {
    let (tree, root, found) = problems(b"a: 1\nb: 2\n'a': 3\na: 4\n");
    assert_eq!(found.len(), 2);
    assert_eq!(found[0].message, "the key `a` stands twice in one map");
    assert_eq!(marked(&tree, &found[0]), "'a'");
    assert_eq!(found[0].also[0].0.start, 0, "the first one is the other place");
    assert_eq!(found[1].also[0].0.start, 0, "also for the third");
    let root = root.expect("usable");
    let keys: Vec<&str> = tree.entries(root).iter().map(|entry| tree.key_text(entry.key)).collect();
    assert_eq!(keys, ["a", "b"]);
    assert_eq!(
        tree.scalar(tree.entries(root)[0].value).map(|scalar| scalar.text),
        Some("1"),
        "the first counts"
    );
}

#[test]
fn keys_that_stand_twice_are_found_in_long_maps_too() {
    let mut text: String = (0..100).map(|index| format!("k{index}: {index}\n")).collect();
    text.push_str("k7: again\nk99: again\n");
    let (tree, root, found) = problems(text.as_bytes());
    let keys: Vec<&str> = found.iter().map(|problem| marked(&tree, problem)).collect();
    assert_eq!(keys, ["k7", "k99"]);
    assert_eq!(tree.entries(root.expect("usable")).len(), 100);
}

#[test]
fn a_merge_key_is_a_key_like_others() {
    check("a: &x { b: 1 }\nc: { <<: *x }", true, &[]);
}

#[test]
fn several_problems_of_one_file_come_in_the_order_of_its_text() {
    check(
        "a: !new 1\nb: { [x]: 1, c: 2, c: 3 }\nd: !!int seven\n",
        true,
        &[
            r#"tag "!new" tags are not part of the description language"#,
            r#"key-is-no-text "[x]" a key is a text, not a map or a list"#,
            r#"duplicate-key "c" the key `c` stands twice in one map"#,
            r#"tag "!!int" `seven` is not what its tag says"#,
        ],
    );
}

#[test]
fn tags_of_the_core_schema_pass() {
    let (tree, root, found) =
        problems(b"a: !!str 5\nb: !!int 5\nc: !!float 5\nd: !!map {}\ne: !!seq []\nf: ! 5\ng: !!int '5'");
    assert_eq!(found, []);
    let root = root.expect("usable");
    let number =
        |key| tree.scalar(tree.entry(root, key).expect("there").value).and_then(|scalar| scalar.as_f64());
    assert_eq!(number("a"), None);
    assert_eq!(number("b"), Some(5.0));
    assert_eq!(number("c"), Some(5.0));
    assert_eq!(number("f"), None);
    assert_eq!(number("g"), Some(5.0));
}

#[test]
fn tags_on_collections_are_problems() {
    check("a: !set { b: 1 }", true, &[r#"tag "!set" tags are not part of the description language"#]);
    check("a: !!map [1]", true, &[r#"tag "!!map" tags are not part of the description language"#]);
    check("a: !!binary x", true, &[r#"tag "!!binary" tags are not part of the description language"#]);
    check(
        "%TAG !e! tag:example.org,2000:\n---\na: !e!x 1",
        false,
        &[r#"syntax "%" directives are not part of the description language"#],
    );
}

#[test]
fn keys_that_cannot_be_one_leave_the_rest() {
    check(": 1\na: 2", true, &[r#"empty-key "" a value has no key"#]);
    check(
        "? { x: 1 }\n: 1\na: 2",
        true,
        &[r#"key-is-no-text "{ x: 1 }" a key is a text, not a map or a list"#],
    );
    check("a: &m [1]\n*m : 2", true, &[r#"key-is-no-text "*m" a key is a text, not a map or a list"#]);
    let (tree, root, found) = problems(b"a: &m word\n*m : 2");
    assert_eq!(found, []);
    assert_eq!(tree.key_text(tree.entries(root.expect("usable"))[1].key), "word");
}

#[test]
fn an_alias_needs_a_finished_anchor() {
    check("a: &x [1, *x]", false, &[r#"self-reference "*x" this alias stands inside what it repeats"#]);
    check(
        "a: *later\nb: &later 1\nc: *never",
        false,
        &[
            r#"unknown-anchor "*later" no anchor of this name stands before it"#,
            r#"unknown-anchor "*never" no anchor of this name stands before it"#,
        ],
    );
    // The name is given again, and its new value is not finished where it is used.
    check(
        "a: &x 1\nb: &x { c: *x }",
        false,
        &[r#"self-reference "*x" this alias stands inside what it repeats"#],
    );
}

#[test]
fn a_file_holds_one_map() {
    check("", false, &[r#"empty "" the file holds no description"#]);
    check("# nothing\n\n", false, &[r#"empty "" the file holds no description"#]);
    check("---\n...\n", false, &[r#"empty "" the file holds no description"#]);
    check("---\n# first\na: 1\n...\n", true, &[]);
    check("- 1\n- 2", false, &[r#"wrong-type "1\n- 2" expected keys with their values, found a list"#]);
    check(
        "just text",
        false,
        &[r#"wrong-type "just text" expected keys with their values, found the text `just text`"#],
    );
    check("a: 1\n---\nb: 2\n", true, &[r#"second-document "---" a file holds one document"#]);
}

#[test]
fn the_first_error_of_syntax_ends_the_reading() {
    check("a: [1, 2\nb: 3", false, &[r#"syntax ":" `:` stands where no key can be"#]);
    check("a: 1\n\tb: 2", false, &[r#"syntax "\t" a tab stands where lines are indented"#]);
    check("a:\n\tb: 1", false, &[r#"syntax "\t" a tab stands where lines are indented"#]);
    check("a: 1\nb:2\nc: 3", false, &[r#"syntax "b" expected `:` behind the key"#]);
    check("a: 'it's'", false, &[r#"syntax "s" text follows a closed quote"#]);
    check("a: `x`", false, &[r#"syntax "`" a backtick cannot begin a value"#]);
    check("a: 'open", false, &[r#"syntax "'" a quote is not closed"#]);
    check("a: b: c", false, &[r#"syntax ":" `:` stands where no key can be"#]);
    check("a: @x", false, &[r#"syntax "@" `@` cannot begin a value"#]);
    check("a: {b: 1]", false, &[r#"syntax "{" `{` is closed with `]`"#]);
    let (tree, _, found) = problems(b"x: { a: 1, a: 2 }\ny: [1, 2\nb: 3");
    assert_eq!(found.len(), 2, "what stands before it is reported as well");
    assert_eq!(found[0].kind, "duplicate-key");
    let (bracket, label) = &found[1].also[0];
    assert_eq!((tree.text_of(*bracket), label.as_str()), ("[", "still open here"));
}

#[test]
fn names_in_sentences_are_made_visible() {
    check(
        "\"a\\u202Eb\": 1\n\"a\\u202Eb\": 2",
        true,
        &[r#"duplicate-key "\"a\\u202Eb\"" the key `a\u{202E}b` stands twice in one map"#],
    );
}
