//! What is written, read back.

use loadworthy_source::{Content, NodeId, Tree};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;

use super::*;

fn scalar(text: &str, plain: bool) -> Value<'_> {
    Value::Scalar { text: text.into(), plain }
}

fn shown(entries: &[Entry<'_>]) -> String {
    text(entries, 0).expect("it can be written")
}

#[test]
fn numbers_keep_their_digits_and_texts_stay_texts() {
    let list = Value::List(vec![scalar("1.50", true), scalar("1.50", false), scalar("75 A", true)]);
    let entries = [
        Entry::new("power_factor", scalar("0.90", true)),
        Entry::new("zero", scalar("0", true)),
        Entry::new("hex", scalar("0x1F", true)),
        Entry::new("small", scalar("1e-6", true)),
        Entry::new("truth", scalar("True", true)),
        Entry::new("nothing", scalar("~", true)),
        Entry::new("revision", scalar("0.90", false)),
        Entry::new("word", scalar("off", true)),
        Entry::new("list", list),
        Entry::new("empty", Value::Map(Vec::new())),
    ];
    let expected = "power_factor: 0.90\nzero: 0\nhex: 0x1F\nsmall: 1e-6\ntruth: True\nnothing: null\n\
                    revision: \"0.90\"\nword: \"off\"\nlist: [1.50, \"1.50\", 75 A]\nempty: {}\n";
    assert_eq!(shown(&entries), expected);
}

#[test]
fn comments_stand_where_they_belong() {
    let mut note = Entry::new("note", scalar("one\n# two\n- three", false));
    note.beside = "a note".to_owned();
    let mut carrier = Entry::new("carrier", Value::Map(vec![note]));
    carrier.above = vec![String::new(), "what follows".to_owned()];
    carrier.beside = "behind\nthe key".to_owned();
    carrier.below = vec!["also: phase".to_owned()];
    let long = "word ".repeat(24) + "end";
    let mut item = Entry::new("long", scalar(&long, true));
    item.beside = "folded".to_owned();
    let items = [Entry::new("a", scalar("1 V", true)), item].map(|entry| Value::Map(vec![entry]));
    let mut last = Entry::new("points", Value::List(items.into()));
    last.below = vec!["the end".to_owned()];
    insta::assert_snapshot!(shown(&[Entry::new("edition", scalar("2026", true)), carrier, last]), @r"
    edition: 2026

    # what follows
    carrier:  # behind\u{000A}the key
      note: |-  # a note
        one
        # two
        - three
      # also: phase
    points:
    - {a: 1 V}
    - long: >-  # folded
        word word word word word word word word word word word word word word word word
        word word word word word word word word end
    # the end
    ");
}

fn values() -> impl Strategy<Value = Value<'static>> {
    let texts = prop_oneof![
        any::<String>(),
        "[ \\n#:'\"a-]{0,12}",
        "[-+]?[0-9.]{1,4}([eE][0-9]{1,2})?",
        "(on|off|yes|no|null|~|true|0x1F|0b1|1_0|12:30|=|<<|---|\\.\\.\\.)",
        "[a-z ]{70,120}",
    ];
    let scalars = (texts, any::<bool>()).prop_map(|(text, plain)| {
        // Without quotes there are only texts that a file can hold without them.
        let is_word = !text.is_empty() && text.chars().all(|one| one.is_ascii_alphanumeric() || one == '.');
        let is_number = Scalar { text: &text, plain: true }.as_f64().is_some();
        let plain = is_number || (plain && is_word);
        Value::Scalar { text: text.into(), plain }
    });
    scalars.prop_recursive(4, 24, 4, |inner| {
        let key = "[a-z_]{1,8}";
        let entries = prop::collection::btree_map(key, (inner.clone(), any::<bool>()), 0..4);
        let entries = entries.prop_map(|entries| {
            let entry = |(key, (value, commented)): (String, (Value<'static>, bool))| {
                let mut entry = Entry::new(key, value);
                if commented {
                    entry.above = vec![String::new(), "above".to_owned()];
                    entry.beside = "beside # it\n".to_owned();
                    entry.below = vec!["below".to_owned()];
                }
                entry
            };
            Value::Map(entries.into_iter().map(entry).collect())
        });
        prop_oneof![entries, prop::collection::vec(inner, 0..4).prop_map(Value::List)]
    })
}

/// What a reader finds, numbers and texts told apart.
fn found(tree: &Tree, node: NodeId) -> String {
    match tree.content(node) {
        Content::Scalar(scalar) => match scalar.kind() {
            ScalarKind::Text => format!("{:?}", scalar.text),
            ScalarKind::Null => "null".to_owned(),
            _ => scalar.text.to_owned(),
        },
        Content::List(items) => items.iter().map(|item| found(tree, *item) + ",").collect(),
        Content::Map(entries) => entries
            .iter()
            .map(|one| format!("{}: {};", tree.key_text(one.key), found(tree, one.value)))
            .collect(),
    }
}

fn given(value: &Value<'_>) -> String {
    match value {
        Value::Scalar { text, plain } => match (Scalar { text, plain: *plain }).kind() {
            ScalarKind::Text => format!("{text:?}"),
            ScalarKind::Null => "null".to_owned(),
            _ => text.to_string(),
        },
        Value::List(items) => items.iter().map(|item| given(item) + ",").collect(),
        Value::Map(entries) => {
            entries.iter().map(|one| format!("{}: {};", one.key, given(&one.value))).collect()
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig {failure_persistence: None, rng_seed: RngSeed::Fixed(1), ..ProptestConfig::default() })]

    #[test]
    fn what_is_written_is_read_again(values in prop::collection::vec(values(), 1..4)) {
        let entries = ["a", "b", "c"].into_iter().zip(values).map(|(key, value)| {
            let mut entry = Entry::new(key, value);
            entry.above.push(String::new());
            entry
        });
        let entries = entries.collect::<Vec<_>>();
        let written = shown(&entries);
        let mut tree = Tree::new();
        let mut problems = Vec::new();
        let root = tree.read("written", written.as_bytes(), &mut problems);
        prop_assert!(problems.is_empty(), "{:?}\n{}", problems, written);
        let root = root.expect("a document");
        prop_assert_eq!(found(&tree, root), given(&Value::Map(entries)), "{}", written);
    }
}

#[test]
fn nothing_hidden_is_written() {
    let hostile = "a\u{1b}[31m\u{202E}\u{E0041}\u{2028}\u{feff}\t\r\n \"'\\ # x: y\u{a0}µ";
    let lines = "fine\n::error file=x::forged\n";
    let entries = [Entry::new("name", scalar(hostile, false)), Entry::new("note", scalar(lines, false))];
    let written = shown(&entries);
    assert_eq!(written.lines().count(), 2, "{written}");
    assert!(written.lines().all(|line| !has_hidden(line)), "{written}");
    let mut tree = Tree::new();
    let root = tree.read("written", written.as_bytes(), &mut Vec::new()).expect("it is YAML");
    let read = |key: &str| tree.value_at(root, &[key]).and_then(|node| tree.scalar(node)).map(|one| one.text);
    assert_eq!((read("name"), read("note")), (Some(hostile), Some(lines)));
}
