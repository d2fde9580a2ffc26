//! Whatever stands in a text, a reader of Markdown shows that text and nothing else.

use comrak::nodes::{AstNode, NodeValue};
use comrak::{Arena, Options, parse_document};
use loadworthy_source::escape_text;
use proptest::prelude::*;

use super::*;

/// What a reader makes of Markdown: its text, and the kinds of everything in it.
#[derive(Debug, Default)]
struct Read {
    /// Text of each leaf.
    leaves: Vec<Leaf>,
    /// Rows of tables, each with its cells as plain text.
    rows: Vec<Vec<String>>,
    /// Whatever is neither text nor what we put there.
    else_: Vec<String>,
}

#[derive(Debug)]
struct Leaf {
    text: String,
    is_code: bool,
}

fn read(markdown: &str) -> Read {
    let mut options = Options::default();
    let extension = &mut options.extension;
    extension.table = true;
    extension.autolink = true;
    extension.strikethrough = true;
    extension.tasklist = true;
    extension.footnotes = true;
    extension.math_dollars = true;
    extension.math_code = true;
    extension.superscript = true;
    extension.underline = true;
    extension.alerts = true;
    let arena = Arena::new();
    let mut read = Read::default();
    visit(parse_document(&arena, markdown, &options), &mut read);
    read
}

fn visit<'a>(node: &'a AstNode<'a>, read: &mut Read) {
    match &node.data.borrow().value {
        NodeValue::Text(text) => read.leaves.push(Leaf { text: text.to_string(), is_code: false }),
        NodeValue::Code(code) => read.leaves.push(Leaf { text: code.literal.clone(), is_code: true }),
        NodeValue::CodeBlock(block) => read.leaves.push(Leaf { text: block.literal.clone(), is_code: true }),
        NodeValue::TableRow(_) => read.rows.push(Vec::new()),
        NodeValue::Document | NodeValue::Paragraph | NodeValue::Table(_) | NodeValue::TableCell => {}
        other => read.else_.push(format!("{other:?}")),
    }
    let from = read.leaves.len();
    for child in node.children() {
        visit(child, read);
    }
    if matches!(node.data.borrow().value, NodeValue::TableCell) {
        let text = read.leaves[from..].iter().map(|leaf| leaf.text.as_str()).collect::<String>();
        if let Some(row) = read.rows.last_mut() {
            row.push(text);
        }
    }
}

/// As a browser shows white space.
fn collapsed(text: &str) -> String {
    text.split([' ', '\n']).filter(|word| !word.is_empty()).collect::<Vec<_>>().join(" ")
}

fn expected(text: &str) -> String {
    collapsed(&escape_text(text))
}

fn whole(read: &Read) -> String {
    collapsed(&read.leaves.iter().map(|leaf| leaf.text.as_str()).collect::<String>())
}

/// What hosts find in running text beyond Markdown: people, issues, revisions, addresses, pictures.
fn assert_inert(read: &Read) {
    assert!(read.else_.is_empty(), "{:?}", read.else_);
    for leaf in read.leaves.iter().filter(|leaf| !leaf.is_code) {
        let lower = leaf.text.to_lowercase();
        for found in ["@", "#", "gh-1", "://", "www.", ":smile:", "$", "`"] {
            assert!(!lower.contains(found), "{found} in {leaf:?}");
        }
        let digits = lower.split(|character: char| !character.is_ascii_hexdigit());
        assert!(digits.clone().all(|run| run.len() < LIKE_A_REVISION), "{leaf:?}");
    }
}

fn in_a_table(cell: &str) -> String {
    format!("| one | two |\n|---|---|\n| {cell} | kept |\n| next | row |\n")
}

const HOSTILE: &[&str] = &[
    "@somebody",
    "#12",
    "GH-12",
    "team/unit#3",
    "www.x.invalid",
    "http://x.invalid/a",
    "a@b.invalid",
    "](http://x.invalid)",
    "![x](y)",
    "[x][y]",
    "[^1]",
    "<script>",
    "<b>",
    "<!--",
    "-->",
    "&amp;",
    "&#64;",
    "`",
    "``",
    "```",
    "|",
    "\\|",
    "\\",
    "*",
    "**",
    "_",
    "__a__",
    "~~",
    "$x$",
    ":smile:",
    "---",
    "===",
    "- ",
    "+",
    "1.",
    "2)",
    "# ",
    "> ",
    "[x] ",
    "deadbeef0",
    "\n",
    "\r",
    "\t",
    "\u{202e}",
    "\u{200b}",
    "\u{1b}[31m",
    "{{x}}",
    "a_b.c",
    "12 mΩ",
    "%",
    "/close",
    "'",
    "\"",
    "(",
    ")",
    "!",
    "^",
    "  ",
    "\u{a0}",
    "e\u{301}",
    "[!NOTE]",
    "Ω²",
    "<details>",
];

fn any_text() -> impl Strategy<Value = String> {
    let piece = prop_oneof![
        3 => prop::sample::select(HOSTILE).prop_map(str::to_owned),
        2 => "[ -~]{0,6}",
        1 => "\\PC{0,4}",
        1 => Just(" ".to_owned()),
        1 => "[a-z]{1,6}",
    ];
    prop::collection::vec(piece, 0..9).prop_map(|pieces| pieces.concat())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(3000))]

    #[test]
    fn running_text_stays_text(said in any_text()) {
        let shown = text(&said);
        for markdown in [shown.clone(), format!("Our words {shown} and more.")] {
            let read = read(&markdown);
            assert_inert(&read);
            let all = whole(&read);
            let inner = all.strip_prefix("Our words").and_then(|rest| rest.strip_suffix("and more.")).unwrap_or(&all);
            prop_assert_eq!(inner.trim_matches(' '), expected(&said));
        }
        prop_assert!(!shown.contains(['|', '\n', '\r']));
    }

    #[test]
    fn a_name_stays_a_name(said in any_text()) {
        let read = read(&format!("x {} y", code(&said)));
        assert_inert(&Read { leaves: Vec::new(), ..read });
        let read = self::read(&format!("x {} y", code(&said)));
        prop_assert_eq!(whole(&read), collapsed(&format!("x {} y", escape_text(&said))));
        prop_assert!(read.leaves.iter().all(|leaf| leaf.is_code || !leaf.text.contains(['@', '#'])));
    }

    #[test]
    fn a_message_of_ours_is_inert(said in any_text()) {
        let read = read(&format!("- {}", message(&said)));
        let found = read.else_.iter().filter(|kind| !kind.starts_with("List") && !kind.starts_with("Item"));
        prop_assert_eq!(found.count(), 0, "{:?}", read);
        assert_inert(&Read { else_: Vec::new(), ..read });
    }

    #[test]
    fn a_table_stays_a_table(said in any_text(), is_name in any::<bool>()) {
        let cell = if is_name { code(&said) } else { text(&said) };
        let read = read(&in_a_table(&cell));
        prop_assert!(read.else_.is_empty(), "{:?}", read);
        prop_assert_eq!(read.rows.len(), 3);
        prop_assert!(read.rows.iter().all(|row| row.len() == 2));
        prop_assert_eq!(&read.rows[1][1], "kept");
        prop_assert_eq!(collapsed(&read.rows[1][0]), expected(&said));
    }

    #[test]
    fn a_fence_is_left_by_nothing(said in any_text()) {
        let read = read(&format!("{}\nbehind\n", fence("yaml", &said)));
        prop_assert!(read.else_.is_empty(), "{:?}", read);
        prop_assert_eq!(read.leaves.len(), 2);
        prop_assert_eq!(&read.leaves[1].text, "behind");
        let lines = said.trim_end_matches('\n').split('\n').map(escape_text).collect::<Vec<_>>().join("\n");
        prop_assert_eq!(read.leaves[0].text.trim_end_matches('\n'), lines.trim_end_matches('\n'));
    }

    #[test]
    fn html_holds_no_tag_of_a_name(said in any_text()) {
        let shown = html_code(&said);
        prop_assert!(!shown.contains('\n'));
        let inner = shown.strip_prefix("<code>").and_then(|rest| rest.strip_suffix("</code>")).unwrap_or_default();
        prop_assert!(!inner.contains(['<', '>']));
        let back = inner.replace("&lt;", "<").replace("&gt;", ">").replace("&amp;", "&");
        prop_assert_eq!(back, escape_text(&said));
    }
}

#[test]
fn quiet_text_stays_readable() {
    assert_eq!(
        text("carries 163 °C (7.9 K over), limit 175 °C"),
        "carries 163 °C (7.9 K over), limit 175 °C"
    );
    assert_eq!(
        text("parallel: 1 -> 2 at high_side and low_side"),
        "parallel: 1 -&gt; 2 at `high_side` and `low_side`"
    );
    assert_eq!(text("leads to step_up.1, step_up.2."), "leads to `step_up.1`, `step_up.2`.");
    assert_eq!(message("leaves 564 V at `link`, and more"), "leaves 564 V at `link`, and more");
    assert_eq!(message("`a`"), "`a`");
    assert_eq!(message("one ` alone"), "one `` ` `` alone");
}

#[test]
fn what_hosts_obey_is_code() {
    assert_eq!(text("ask @somebody about #12 or GH-12"), "ask `@somebody` about `#12` or `GH-12`");
    assert_eq!(text("a high-side switch"), "a high-side switch");
    assert_eq!(text("see http://x.invalid."), "see `http://x.invalid`.");
    assert_eq!(text("a|b"), "`a`&#124;`b`");
    assert_eq!(code("a|b`c"), "`a`&#124;`` b`c ``".replace("`` b`c ``", "``b`c``"));
    assert_eq!(text("1. first"), "`1.` first");
    assert_eq!(text("\u{1b}[31m"), "`\\u{001B}[31m`");
    assert_eq!(fence("yaml", "a: ```\n"), "````yaml\na: ```\n````\n");
}
