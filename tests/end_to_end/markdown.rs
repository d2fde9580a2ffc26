//! The comment beside a change: read by a reader of Markdown, as a host does it.

use std::fmt::Write as _;

use comrak::nodes::{AstNode, NodeValue};
use comrak::{Arena, Options, parse_document};

use super::program::{Folder, assert_shown, run, run_in, template, text_of};

/// Bytes that a comment may have.
const ROOM: usize = 60_000;

/// What a reader makes of a comment.
#[derive(Default)]
pub(super) struct Read {
    /// Rows of each table, with the number of their cells.
    pub(super) tables: Vec<Vec<usize>>,
    /// Lines of HTML.
    html: Vec<String>,
    /// Text of what is folded and what is not, as one.
    pub(super) text: String,
    /// Text outside of code.
    prose: String,
    others: Vec<String>,
}

fn read(markdown: &str) -> Read {
    let mut options = Options::default();
    options.extension.table = true;
    options.extension.autolink = true;
    options.extension.strikethrough = true;
    options.extension.footnotes = true;
    options.extension.math_dollars = true;
    let arena = Arena::new();
    let mut read = Read::default();
    visit(parse_document(&arena, markdown, &options), &mut read);
    read
}

fn visit<'a>(node: &'a AstNode<'a>, read: &mut Read) {
    match &node.data.borrow().value {
        NodeValue::Text(text) => {
            read.text.push_str(text);
            read.prose.push_str(text);
        }
        NodeValue::Code(code) => read.text.push_str(&code.literal),
        NodeValue::CodeBlock(block) => read.text.push_str(&block.literal),
        NodeValue::HtmlBlock(html) => read.html.extend(html.literal.lines().map(str::to_owned)),
        NodeValue::Table(_) => read.tables.push(Vec::new()),
        NodeValue::TableRow(_) => {
            if let Some(table) = read.tables.last_mut() {
                table.push(node.children().count());
            }
        }
        NodeValue::SoftBreak => read.text.push(' '),
        NodeValue::Document
        | NodeValue::Paragraph
        | NodeValue::TableCell
        | NodeValue::List(_)
        | NodeValue::Item(_)
        | NodeValue::Strong
        | NodeValue::Heading(_) => {}
        other => read.others.push(format!("{other:?}")),
    }
    for child in node.children() {
        visit(child, read);
    }
    if matches!(node.data.borrow().value, NodeValue::Paragraph | NodeValue::TableCell | NodeValue::Item(_)) {
        read.text.push('\n');
        read.prose.push('\n');
    }
}

/// A comment in which nothing is obeyed that was not written by the program.
pub(super) fn harmless(markdown: &str) -> Read {
    assert!(markdown.len() <= ROOM, "{} bytes", markdown.len());
    let hidden = markdown.lines().find(|line| loadworthy_source::escape_text(line) != *line);
    assert!(hidden.is_none(), "{hidden:?}");
    let read = read(markdown);
    assert!(read.others.is_empty(), "{:?}", read.others);
    for table in &read.tables {
        assert!(table.iter().all(|cells| *cells == table[0]), "{table:?}");
    }
    let (mut open, mut closed) = (0, 0);
    for line in &read.html {
        let bare = line.replace("<code>", "").replace("</code>", "");
        match bare.as_str() {
            "<details>" => open += 1,
            "</details>" => closed += 1,
            summary => {
                let inner =
                    summary.strip_prefix("<summary>").and_then(|rest| rest.strip_suffix("</summary>"));
                assert!(inner.is_some_and(|inner| !inner.contains('<')), "{line}");
            }
        }
    }
    assert_eq!(open, closed);
    for found in ["@", "#", "://", "www."] {
        assert!(!read.prose.contains(found), "{found}");
    }
    read
}

fn markdown(arguments: &[&str]) -> String {
    run(&[&["review", "--format", "markdown"], arguments].concat()).out
}

#[test]
fn a_small_unit() {
    let folder = Folder::new();
    folder.put("unit.yaml", template("Track drive", "60"));
    let ran = run_in(&folder, &["review", "unit.yaml", "--format", "markdown"]);
    assert_eq!(ran.code, Some(1));
    harmless(&ran.out);
    assert_shown!("markdown", ran.out);
}

#[test]
fn several_files_one_of_them_broken_one_missing() {
    let folder = Folder::new();
    folder.put("broken.yaml", template("x", "60").replace("feeds: track_motor", "feeds: trak_motor"));
    let arguments = ["review", "--format=markdown", "broken.yaml", "missing.yaml"];
    let ran = run_in(&folder, &arguments);
    assert_eq!(ran.code, Some(2));
    harmless(&ran.out);
    assert_shown!("markdown-files", ran.out);
}

#[test]
fn the_verdict_comes_first_and_every_finding_is_shown() {
    for example in
        ["harbour-shuttle", "peat-harvester", "snow-groomer", "timber-forwarder", "vineyard-carrier"]
    {
        let name = format!("examples/{example}.yaml");
        let read = harmless(&markdown(&[&name, "--faults"]));
        let json: serde_json::Value =
            serde_json::from_str(&run(&["review", &name, "--format", "json"]).out).expect("JSON");
        let findings = json["reviews"][0]["findings"].as_array().expect("a list");
        let first = if json["exit"] == 0 { "Holds" } else { "Fails" };
        assert!(read.text.starts_with(first), "{}", read.text);
        assert_eq!(read.tables.len(), 1);
        assert_eq!(read.tables[0].len(), findings.len() + 1, "{name}");
        for finding in findings {
            let said = finding["message"].as_str().expect("a text").replace('`', "");
            assert!(read.text.contains(&said), "{said}");
        }
        for caution in json["reviews"][0]["cautions"].as_array().expect("a list") {
            assert!(read.text.contains(caution.as_str().expect("a text")));
        }
    }
}

#[test]
fn what_is_accepted_is_shown_with_reason_person_and_day() {
    let permits = "permits=[{ check: output-reach, part: track_bridge, up_to: 108 %, reason: \"| @somebody said #12 <b>\", accepted_by: \"the ](http://x.invalid) team\", until: 2027-03-31 }]";
    let read =
        harmless(&markdown(&["examples/peat-harvester.yaml", "--with", permits, "--on", "2027-03-20"]));
    assert!(read.text.starts_with("Holds at grade major (1 minor, 1 note); verdicts"), "{}", read.text);
    for said in [
        "Accepted by permits, held against 2027-03-20",
        "up to 108 % by the ](http://x.invalid) team until 2027-03-31, which ends in 11 days",
        "| @somebody said #12 <b>",
    ] {
        assert!(read.text.contains(said), "{said}: {}", read.text);
    }
}

#[test]
fn hostile_names_stay_text() {
    let names = [
        "](http://x.invalid) **b** | `c` <details>",
        "</summary></details><script>alert(1)</script>",
        "@somebody #12 GH-3 www.x.invalid",
        "a\\n\\n| forged | row |\\n|---|---|\\n",
        "``` ```` ~~~",
        "\\e[31m\\u202e\\0",
        "<!-- ![x](y)",
    ];
    let folder = Folder::new();
    for name in names {
        let whole = template(name, "60").replace("track_bridge", "br_ücke_@x");
        let mut whole = whole.replace("climb:", "\"climb\":");
        let _ = write!(
            whole,
            "\npermits:\n  - {{ check: output-reach, part: br_ücke_@x, up_to: 200 %, reason: \"{name}\", accepted_by: \"{name}\", until: 2027-03-31 }}\n"
        );
        folder.put("a`|b.yaml", whole);
        let ran =
            run_in(&folder, &["review", "--format=markdown", "a`|b.yaml", "--on", "2027-01-01", "--faults"]);
        harmless(&ran.out);
        let again =
            run_in(&folder, &["review", "--format=markdown", "a`|b.yaml", "a`|b.yaml", "--on", "2027-01-01"]);
        harmless(&again.out);
    }
}

#[test]
fn many_findings_fit_and_what_is_left_out_is_counted() {
    let whole = text_of("tests/end_to_end/descriptions/hostile.template.yaml")
        .replace("@@NAME@@", "x")
        .replace("@@VALUE@@", "60");
    let block = |from: &str, to: &str| {
        let start = whole.find(from).expect("it is there") + from.len();
        let end = start + whole[start..].find(to).expect("it is there");
        whole[start..end].to_owned()
    };
    let (stage, machine) = (block("stages:\n", "machines:"), block("machines:\n", "devices:"));
    let load = whole
        .lines()
        .find(|line| line.contains("track_motor: { electrical"))
        .expect("it is there")
        .to_owned();
    let cools = "track_bridge: { face_a: 0.055 K/W }";
    let number = 300;
    let each = |text: &str, end: &str| {
        let named = |place: usize| text.replace("track_", &format!("track_number_{place}_")) + end;
        (0..number).map(named).collect::<String>()
    };
    let many = whole
        .replace(&stage, &each(&stage, ""))
        .replace(&machine, &each(&machine, ""))
        .replace(&load, each(&load, "\n").trim_end())
        .replace(cools, each(cools, ", ").trim_end_matches(", "))
        .replace("flow: 8 L/min", "flow: 8000 L/min");
    let folder = Folder::new();
    folder.put("many.yaml", many);
    let ran = run_in(&folder, &["review", "--format=markdown", "many.yaml"]);
    assert_eq!(ran.code, Some(1), "{}", ran.err);
    let read = harmless(&ran.out);
    assert!(ran.out.len() > ROOM * 9 / 10, "the room is used: {}", ran.out.len());
    let left_out = |what: &str| {
        let told = format!(" {what}: `loadworthy review --all many.yaml`");
        let line = ran.out.lines().find_map(|line| line.strip_prefix('+')?.strip_suffix(&told));
        line.map_or(0, |number| number.trim_end_matches(" more").parse::<usize>().expect("a number"))
    };
    let (rows, folded) =
        (read.tables[0].len() - 1, read.html.iter().filter(|line| *line == "<details>").count());
    let json = run_in(&folder, &["review", "--format=json", "many.yaml"]).out;
    let json: serde_json::Value = serde_json::from_str(&json).expect("JSON");
    let all = json["reviews"][0]["findings"].as_array().expect("a list").len();
    assert!(all >= number && left_out("findings in full") > 0);
    assert_eq!(rows + left_out("findings"), all);
    assert_eq!(folded + left_out("findings in full"), all);
    assert!(read.text.contains("A concept-stage aid"), "cautions are never left out");
}
