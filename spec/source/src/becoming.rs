//! What is to be written for one map to say what another one says.

use crate::span::NodeId;
use crate::tree::{Content, Entry, Tree};

/// What cannot stand in a plain scalar within brackets.
const SPECIAL: [char; 14] = ['[', ']', '{', '}', ',', ':', '#', '&', '*', '!', '|', '>', '\'', '"'];

impl Tree {
    /// The merge patch (RFC 7396) that makes one map say what another one says: a path of keys with the text of a value for
    /// each, `null` for what is removed. Nothing where one of them is no map, or a value cannot be written plainly in a line.
    #[must_use]
    pub fn becoming(&self, from: NodeId, to: NodeId) -> Option<Vec<(Vec<String>, String)>> {
        let (Content::Map(old), Content::Map(new)) = (self.content(from), self.content(to)) else {
            return None;
        };
        let mut changes = Vec::new();
        self.turn(old, new, &mut Vec::new(), &mut changes)?;
        Some(changes)
    }

    // Both are at most 64 maps deep, so recursion is safe.
    fn turn(
        &self,
        old: &[Entry],
        new: &[Entry],
        path: &mut Vec<String>,
        changes: &mut Vec<(Vec<String>, String)>,
    ) -> Option<()> {
        let value = |entries: &[Entry], key: &str| {
            entries.iter().find(|entry| self.key_text(entry.key) == key).map(|entry| entry.value)
        };
        for entry in old {
            let key = self.key_text(entry.key);
            if value(new, key).is_none() {
                changes.push(([path.as_slice(), &[key.to_owned()]].concat(), "null".to_owned()));
            }
        }
        for entry in new {
            let key = self.key_text(entry.key);
            let known = value(old, key);
            path.push(key.to_owned());
            if let Content::Map(below) = self.content(entry.value) {
                let known = known.map_or(&[][..], |known| self.entries(known));
                self.turn(known, below, path, changes)?;
            } else {
                let text = self.line(entry.value)?;
                if known.and_then(|known| self.line(known)).as_ref() != Some(&text) {
                    changes.push((path.clone(), text));
                }
            }
            path.pop();
        }
        Some(())
    }

    /// A value in one line.
    fn line(&self, node: NodeId) -> Option<String> {
        match self.content(node) {
            Content::Scalar(scalar) => {
                let is_alike = if scalar.plain { !scalar.is_null() } else { is_text(scalar.text) };
                let is_line = !scalar.text.contains('\n') && !scalar.text.contains(SPECIAL);
                (is_alike && is_line).then(|| scalar.text.to_owned())
            }
            Content::List(items) => {
                let items = items.iter().map(|&item| self.line(item)).collect::<Option<Vec<_>>>()?;
                Some(format!("[{}]", items.join(", ")))
            }
            Content::Map(_) => None,
        }
    }
}

/// Whether what stands in quotes is the same text without them: in JSON every text has quotes.
fn is_text(text: &str) -> bool {
    let is_word = text.starts_with(char::is_alphanumeric) && !text.ends_with(char::is_whitespace);
    let means_else = matches!(text.to_ascii_lowercase().as_str(), "null" | "true" | "false");
    let is_number = text.parse::<f64>().is_ok() || text.starts_with("0x") || text.starts_with("0o");
    is_word && !means_else && !is_number
}

#[cfg(test)]
mod tests {
    use super::*;

    fn becoming(from: &str, to: &str) -> Option<Vec<(String, String)>> {
        let mut tree = Tree::new();
        let mut problems = Vec::new();
        let from = tree.read("from.yaml", from.as_bytes(), &mut problems).expect("a document");
        let to = tree.read("to.yaml", to.as_bytes(), &mut problems).expect("a document");
        assert!(problems.is_empty(), "{problems:?}");
        let changes = tree.becoming(from, to)?;
        // Written in turn, they come to the same.
        let mut written = from;
        for (path, text) in &changes {
            let path: Vec<&str> = path.iter().map(String::as_str).collect();
            written = tree.overlay("(written)", written, &path, text, &mut problems).expect("a value");
        }
        assert!(problems.is_empty(), "{problems:?}");
        assert_eq!(tree.becoming(written, to), Some(Vec::new()));
        Some(changes.into_iter().map(|(path, text)| (path.join("."), text)).collect())
    }

    #[test]
    fn only_what_differs_is_written_and_what_is_gone_is_removed() {
        let from = "current: 400 A\nmelting: 60e3 A^2 s\ncore: { area: 2 cm^2, at: [25 degC, 100 degC], loss: 3 W }\n";
        let to = "current: 500 A\nresistance: 0.2 mohm\nmelting: 60e3 A^2 s\ncore: { area: 2 cm^2, at: [25 degC, 120 degC] }\n";
        let expected = [
            ("current", "500 A"),
            ("resistance", "0.2 mohm"),
            ("core.loss", "null"),
            ("core.at", "[25 degC, 120 degC]"),
        ];
        let mut found = becoming(from, to).expect("changes");
        let mut expected = expected.map(|(path, text)| (path.to_owned(), text.to_owned())).to_vec();
        found.sort();
        expected.sort();
        assert_eq!(found, expected);
    }

    #[test]
    fn a_list_takes_the_place_of_a_value_and_a_map_that_of_nothing() {
        let found = becoming("a: 1\n", "a: [1, 2]\nb: { c: { d: x y } }\n").expect("changes");
        assert_eq!(found, [("a".to_owned(), "[1, 2]".to_owned()), ("b.c.d".to_owned(), "x y".to_owned())]);
    }

    #[test]
    fn what_cannot_be_written_plainly_is_refused() {
        assert_eq!(becoming("a: 1\n", "a: 'it: is'\n"), None);
        assert_eq!(becoming("a: 1\n", "a: [{ b: 1 }]\n"), None);
        // In JSON all texts stand in quotes; what would be something else without them is left alone.
        let text = |text: &str| Some(vec![("a".to_owned(), text.to_owned())]);
        assert_eq!(becoming("a: 1\n", r#"{"a": "320 uH"}"#), text("320 uH"));
        assert_eq!(becoming("a: 320 uH\n", r#"{"a": "320 uH"}"#), Some(Vec::new()));
        for quoted in ["5", "1e3", "0x1F", "true", "Null", "", " x", "- x", "~"] {
            assert_eq!(becoming("a: 1\n", &format!("{{\"a\": \"{quoted}\"}}")), None, "{quoted}");
        }
        let mut tree = Tree::new();
        let root = tree.read("a.yaml", b"a: [1]\n", &mut Vec::new()).expect("a document");
        let list = tree.value_at(root, &["a"]).expect("a list");
        assert_eq!(tree.becoming(list, root), None);
    }
}
