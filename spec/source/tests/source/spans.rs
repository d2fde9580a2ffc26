//! That every span is exact to the byte.

use loadworthy_source::{Content, NodeId, Place, Tree};

use super::tree;

/// Every node in the order of the text: its path, its text as written, and what it means where that differs.
fn listing(tree: &Tree, root: NodeId) -> String {
    fn visit(tree: &Tree, node: NodeId, path: &str, lines: &mut Vec<String>) {
        let written = tree.text_of(tree.span(node));
        match tree.content(node) {
            Content::Scalar(scalar) if scalar.text == written => lines.push(format!("{path} {written:?}")),
            Content::Scalar(scalar) => lines.push(format!("{path} {written:?} = {:?}", scalar.text)),
            Content::Map(entries) => {
                lines.push(format!("{path} {written:?}"));
                for entry in entries {
                    let key = tree.key_text(entry.key);
                    let written = tree.text_of(tree.span(entry.key));
                    if written != key {
                        lines.push(format!("{path}.{key} key {written:?}"));
                    }
                    visit(tree, entry.value, &format!("{path}.{key}"), lines);
                }
            }
            Content::List(items) => {
                lines.push(format!("{path} {written:?}"));
                for (index, item) in items.iter().enumerate() {
                    visit(tree, *item, &format!("{path}[{index}]"), lines);
                }
            }
        }
    }
    let mut lines = Vec::new();
    visit(tree, root, "", &mut lines);
    lines.join("\n")
}

#[track_caller]
fn check(text: &str, expected: &[&str]) {
    let (tree, root) = tree(text);
    assert_eq!(listing(&tree, root), expected.join("\n"), "of {text:?}");
}

#[test]
fn block_collections_reach_from_first_child_to_last() {
    check(
        "a:\n  b: 1\n  c: two words   # comment\n\n# more\nd: 3\n",
        &[
            r#" "a:\n  b: 1\n  c: two words   # comment\n\n# more\nd: 3""#,
            r#".a "b: 1\n  c: two words""#,
            r#".a.b "1""#,
            r#".a.c "two words""#,
            r#".d "3""#,
        ],
    );
    check(
        "list:\n  - 1\n  - x: y\n    z: w\n  - - 2\n    - 3\n",
        &[
            r#" "list:\n  - 1\n  - x: y\n    z: w\n  - - 2\n    - 3""#,
            r#".list "1\n  - x: y\n    z: w\n  - - 2\n    - 3""#,
            r#".list[0] "1""#,
            r#".list[1] "x: y\n    z: w""#,
            r#".list[1].x "y""#,
            r#".list[1].z "w""#,
            r#".list[2] "2\n    - 3""#,
            r#".list[2][0] "2""#,
            r#".list[2][1] "3""#,
        ],
    );
    check("a:\n- 1\n- 2\n\n", &[r#" "a:\n- 1\n- 2""#, r#".a "1\n- 2""#, r#".a[0] "1""#, r#".a[1] "2""#]);
}

#[test]
fn flow_collections_have_their_brackets() {
    check(
        "a: { b: [1, 'two' ,\"3\"] , c: {} , d: [ ] }  # end",
        &[
            r#" "a: { b: [1, 'two' ,\"3\"] , c: {} , d: [ ] }""#,
            r#".a "{ b: [1, 'two' ,\"3\"] , c: {} , d: [ ] }""#,
            r#".a.b "[1, 'two' ,\"3\"]""#,
            r#".a.b[0] "1""#,
            r#".a.b[1] "'two'" = "two""#,
            r#".a.b[2] "\"3\"" = "3""#,
            r#".a.c "{}""#,
            r#".a.d "[ ]""#,
        ],
    );
    check(
        "a: [b: 1 , c]",
        &[r#" "a: [b: 1 , c]""#, r#".a "[b: 1 , c]""#, r#".a[0] "b: 1""#, r#".a[0].b "1""#, r#".a[1] "c""#],
    );
    check("{ a: 1,\n  b: 2 }", &[r#" "{ a: 1,\n  b: 2 }""#, r#".a "1""#, r#".b "2""#]);
}

#[test]
fn a_value_that_is_not_written_stands_behind_its_colon() {
    for (text, at) in [
        ("a:\nb: 1", 2),
        ("a:   # nothing\nb: 1", 2),
        ("a  :", 4),
        ("\"a\" :\r\nb: 1", 5),
        ("{ a: , b: 1 }", 4),
        ("µ:", 3),
    ] {
        let (tree, root) = tree(text);
        let value = tree.entries(root)[0].value;
        let span = tree.span(value);
        assert_eq!((span.start, span.end), (at, at), "{text:?}");
        assert!(tree.scalar(value).is_some_and(|scalar| scalar.is_null() && scalar.text.is_empty()));
    }
    check("a: [1, ~]", &[r#" "a: [1, ~]""#, r#".a "[1, ~]""#, r#".a[0] "1""#, r#".a[1] "~""#]);
    check("a:\n  -\n  - 1", &[r#" "a:\n  -\n  - 1""#, r#".a "\n  - 1""#, r#".a[0] """#, r#".a[1] "1""#]);
}

#[test]
fn quoted_and_folded_text_is_marked_as_written() {
    check(
        "a: 'it''s'  \nb: \"\\u00B5 \\x41\"\n\"c d\": x\n",
        &[
            r#" "a: 'it''s'  \nb: \"\\u00B5 \\x41\"\n\"c d\": x""#,
            r#".a "'it''s'" = "it's""#,
            r#".b "\"\\u00B5 \\x41\"" = "µ A""#,
            r#".c d key "\"c d\"""#,
            r#".c d "x""#,
        ],
    );
    check(
        "a: plain\n   folded   \nb: \"q\n  r\"",
        &[
            r#" "a: plain\n   folded   \nb: \"q\n  r\"""#,
            r#".a "plain\n   folded" = "plain folded""#,
            r#".b "\"q\n  r\"" = "q r""#,
        ],
    );
    check("a: ''\nb: \"\"", &[r#" "a: ''\nb: \"\"""#, r#".a "''" = """#, r#".b "\"\"" = """#]);
}

#[test]
fn block_text_ends_with_its_last_line() {
    check(
        "a: |\n  one\n  two\n\n\nb: >-\n  three\n  four\n# end\n",
        &[
            r#" "a: |\n  one\n  two\n\n\nb: >-\n  three\n  four""#,
            r#".a "one\n  two" = "one\ntwo\n""#,
            r#".b "three\n  four" = "three four""#,
        ],
    );
}

#[test]
fn wide_characters_count_their_bytes() {
    check(
        "µ: 5 mΩ\n𝛀: [🔌, é]\n",
        &[r#" "µ: 5 mΩ\n𝛀: [🔌, é]""#, r#".µ "5 mΩ""#, r#".𝛀 "[🔌, é]""#, r#".𝛀[0] "🔌""#, r#".𝛀[1] "é""#],
    );
}

#[test]
fn windows_line_ends_and_a_byte_order_mark_shift_nothing() {
    check(
        "\u{FEFF}a: 1\r\nb:\r\n  c: 2 A\r\n",
        &[r#" "a: 1\r\nb:\r\n  c: 2 A""#, r#".a "1""#, r#".b "c: 2 A""#, r#".b.c "2 A""#],
    );
    let (tree, root) = tree("\u{FEFF}a: 1\r\nb: 2\r\n");
    let first = tree.span(tree.entries(root)[0].key);
    assert_eq!((first.start, first.end), (3, 4), "the mark counts three bytes");
    let file = &tree.files()[0];
    assert_eq!(file.place(first.start), Place { line: 1, column: 1 }, "but no column");
    assert_eq!(file.place(tree.span(tree.entries(root)[1].value).start), Place { line: 2, column: 4 });
}

#[test]
fn anchors_and_tags_are_not_part_of_the_value() {
    check(
        "a: &x 5 A\nb: *x\nc: &y { d: 1 }\ne: !!str 7\nf: &z\n  g: 1\nh: *z\n",
        &[
            r#" "a: &x 5 A\nb: *x\nc: &y { d: 1 }\ne: !!str 7\nf: &z\n  g: 1\nh: *z""#,
            r#".a "5 A""#,
            r#".b "*x" = "5 A""#,
            r#".c "{ d: 1 }""#,
            r#".c.d "1""#,
            r#".e "7""#,
            r#".f "g: 1""#,
            r#".f.g "1""#,
            r#".h "*z""#,
            r#".h.g "1""#,
        ],
    );
}

#[test]
fn explicit_keys_are_read_like_others() {
    check("? a\n: b\n? c\n: d", &[r#" "a\n: b\n? c\n: d""#, r#".a "b""#, r#".c "d""#]);
}

#[test]
fn places_count_lines_and_characters() {
    let text = "a: µµ x\r\nb: 1\rc: 2\n\nd: 3";
    let (tree, _) = tree(text);
    let file = &tree.files()[0];
    let place = |needle: &str| {
        let offset = text.find(needle).expect("in the text");
        let Place { line, column } = file.place(u32::try_from(offset).expect("small"));
        (line, column)
    };
    assert_eq!(place("a"), (1, 1));
    assert_eq!(place("x"), (1, 7));
    assert_eq!(place("b"), (2, 1));
    assert_eq!(place("1"), (2, 4));
    assert_eq!(place("c"), (3, 1), "a lone carriage return ends a line");
    assert_eq!(place("d"), (5, 1));
    assert_eq!(file.place(4), Place { line: 1, column: 4 }, "inside a character is its start");
    assert_eq!(file.place(u32::MAX), Place { line: 5, column: 5 });
    assert_eq!(file.line_count(), 5);
    assert_eq!(file.line(1), Some("a: µµ x"));
    assert_eq!(file.line(4), Some(""));
    assert_eq!(file.line(5), Some("d: 3"));
    assert_eq!(file.line(0), None);
    assert_eq!(file.line(6), None);
}
