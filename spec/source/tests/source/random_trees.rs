//! Random descriptions, printed in block and flow style with a note of where everything was put.

use loadworthy_source::{Content, NodeId, Tree};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;

#[derive(Clone, Debug)]
enum Sketch {
    Word { written: String, means: String },
    Map(Vec<(String, Sketch)>, Look),
    List(Vec<Sketch>, Look),
}

#[derive(Copy, Clone, Debug)]
struct Look {
    flow: bool,
    comment: bool,
}

/// Where a node was printed, children after their parents.
#[derive(Debug, PartialEq)]
struct Printed {
    start: usize,
    end: usize,
    means: Option<String>,
}

struct Printer {
    text: String,
    line_end: &'static str,
    nodes: Vec<Printed>,
}

impl Printer {
    fn node(&mut self, sketch: &Sketch, indent: usize, in_flow: bool, after_dash: bool) -> usize {
        let index = self.nodes.len();
        let start = self.text.len();
        self.nodes.push(Printed { start, end: start, means: None });
        match sketch {
            Sketch::Word { written, means } => {
                self.text.push_str(written);
                self.nodes[index].means = Some(means.clone());
            }
            Sketch::Map(entries, look) if in_flow || look.flow || entries.is_empty() => {
                self.text.push_str("{ ");
                for (position, (key, value)) in entries.iter().enumerate() {
                    if position > 0 {
                        self.text.push_str(" , ");
                    }
                    self.key(key);
                    self.text.push(' ');
                    self.node(value, indent, true, false);
                }
                self.text.push_str(" }");
            }
            Sketch::List(items, look) if in_flow || look.flow || items.is_empty() => {
                self.text.push('[');
                for (position, item) in items.iter().enumerate() {
                    if position > 0 {
                        self.text.push(',');
                    }
                    self.text.push(' ');
                    self.node(item, indent, true, false);
                }
                self.text.push(']');
            }
            Sketch::Map(entries, look) => {
                for (position, (key, value)) in entries.iter().enumerate() {
                    if position > 0 || !after_dash {
                        self.begin_line(indent, look.comment);
                    }
                    self.at_first(index, position);
                    self.key(key);
                    self.text.push(' ');
                    self.node(value, indent + 2, false, false);
                }
            }
            Sketch::List(items, look) => {
                for (position, item) in items.iter().enumerate() {
                    if position > 0 || !after_dash {
                        self.begin_line(indent, look.comment);
                    }
                    self.text.push_str("- ");
                    self.at_first(index, position);
                    self.node(item, indent + 2, false, true);
                }
                // A list begins with its first item, wherever that begins.
                self.nodes[index].start = self.nodes[index + 1].start;
            }
        }
        self.nodes[index].end = self.text.len();
        index
    }

    fn at_first(&mut self, index: usize, position: usize) {
        if position == 0 {
            self.nodes[index].start = self.text.len();
        }
    }

    fn begin_line(&mut self, indent: usize, comment: bool) {
        if comment {
            self.text.push_str("  # µ: [comment");
        }
        if !self.text.is_empty() {
            self.text.push_str(self.line_end);
        }
        self.text.push_str(&" ".repeat(indent));
    }

    fn key(&mut self, key: &str) {
        let start = self.text.len();
        self.text.push_str(key);
        self.nodes.push(Printed { start, end: self.text.len(), means: Some(key.to_owned()) });
        self.text.push(':');
    }
}

fn found(tree: &Tree, node: NodeId, nodes: &mut Vec<Printed>) {
    let span = tree.span(node);
    let means = tree.scalar(node).map(|scalar| scalar.text.to_owned());
    nodes.push(Printed { start: span.range().start, end: span.range().end, means });
    match tree.content(node) {
        Content::Scalar(_) => {}
        Content::Map(entries) => {
            for entry in entries {
                found(tree, entry.key, nodes);
                found(tree, entry.value, nodes);
            }
        }
        Content::List(items) => items.iter().for_each(|&item| found(tree, item, nodes)),
    }
}

fn word() -> impl Strategy<Value = Sketch> {
    let plain = prop_oneof![
        "[a-z][a-z0-9_]{0,8}",
        "-?[0-9]{1,3}(\\.[0-9]{1,2})? (A|mΩ|µF|degC|K/W)",
        "[µΩ牽🔌é]{1,3}",
        "true|null|~|0x1F|1e-6|on",
    ]
    .prop_map(|text: String| Sketch::Word { written: text.clone(), means: text });
    let single = "[a-z:#{}\\[\\], µ-]{0,8}"
        .prop_map(|text: String| Sketch::Word { written: format!("'{text}'"), means: text });
    let double = "[a-z:#,µ🔌]{0,4}".prop_map(|text: String| Sketch::Word {
        written: format!("\"\\t{text}\\u00B5\\\\\""),
        means: format!("\t{text}µ\\"),
    });
    prop_oneof![4 => plain, 1 => single, 1 => double]
}

fn sketch() -> impl Strategy<Value = Sketch> {
    let look = || (any::<bool>(), any::<bool>()).prop_map(|(flow, comment)| Look { flow, comment });
    word().prop_recursive(5, 60, 6, move |inner| {
        let entries = prop::collection::btree_map("[a-zµ][a-z_]{0,6}", inner.clone(), 0..6);
        prop_oneof![
            (entries, look()).prop_map(|(entries, look)| Sketch::Map(entries.into_iter().collect(), look)),
            (prop::collection::vec(inner, 0..6), look()).prop_map(|(items, look)| Sketch::List(items, look)),
        ]
    })
}

proptest! {
    #![proptest_config(ProptestConfig {cases: 512, failure_persistence: None, rng_seed: RngSeed::Fixed(1), ..ProptestConfig::default() })]

    #[test]
    fn every_span_is_where_it_was_printed(
        entries in prop::collection::btree_map("[a-z]{1,5}", sketch(), 1..6),
        flow in any::<bool>(),
        comment in any::<bool>(),
        windows in any::<bool>(),
        mark in any::<bool>(),
    ) {
        let mut printer = Printer {
            text: String::new(),
            line_end: if windows { "\r\n" } else { "\n" },
            nodes: Vec::new(),
        };
        if mark {
            printer.text.push('\u{FEFF}');
            printer.text.push_str(printer.line_end);
        }
        let root = Sketch::Map(entries.into_iter().collect(), Look { flow, comment });
        printer.node(&root, 0, false, true);
        printer.text.push_str(printer.line_end);

        let mut tree = Tree::new();
        let mut problems = Vec::new();
        let root = tree.read("random.yaml", printer.text.as_bytes(), &mut problems);
        prop_assert!(problems.is_empty(), "{:?} of {:?}", problems, printer.text);
        let mut nodes = Vec::new();
        found(&tree, root.expect("no problems"), &mut nodes);
        prop_assert_eq!(nodes, printer.nodes, "of {:?}", printer.text);
    }

    #[test]
    fn random_text_never_panics_and_never_fails_silently(text in "[a-c:\\-?,&*!|>'\"%@`{}\\[\\]#~ \t\nµ\\\\]{0,60}") {
        let mut tree = Tree::new();
        let mut problems = Vec::new();
        let root = tree.read("random.yaml", text.as_bytes(), &mut problems);
        prop_assert!(root.is_some() || !problems.is_empty());
        if let Some(root) = root {
            let patched = tree.patch(root, root).expect("small");
            let mut nodes = Vec::new();
            found(&tree, patched, &mut nodes);
            prop_assert!(nodes.iter().all(|node| text.get(node.start..node.end).is_some()));
        }
    }
}
