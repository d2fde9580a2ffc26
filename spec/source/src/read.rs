//! Bytes of a file to a document in the tree.

use crate::assemble::{Document, assemble};
use crate::limits::{LARGEST_FILE, LARGEST_TREE};
use crate::problem::{Problem, Problems};
use crate::span::{FileId, NodeId, Span, small};
use crate::tree::{Content, Tree};

impl Tree {
    /// Reads a file and gives its root, which is a map.
    ///
    /// All structural problems of the file are added, in the order of its text; behind the first error of
    /// syntax nothing is read. `None` where nothing usable remains: the bytes are no text, the syntax is
    /// wrong, a limit is passed, an alias has no value, or the document is no map. Whatever else is wrong is
    /// reported and left out: of keys that stand twice the first counts, a value under a key that cannot be
    /// one is dropped, and a tag is ignored.
    ///
    /// The name is what people are shown; nothing is opened.
    pub fn read(&mut self, name: &str, bytes: &[u8], problems: &mut Vec<Problem>) -> Option<NodeId> {
        let mut found = Problems::new();
        let root = self.read_file(name, bytes, &mut found);
        problems.extend(found.finish());
        root
    }

    fn read_file(&mut self, name: &str, bytes: &[u8], problems: &mut Problems) -> Option<NodeId> {
        if self.has_no_room_for(bytes.len()) {
            return self.refuse_size(name, bytes.len(), problems);
        }
        let file = match std::str::from_utf8(bytes) {
            Ok(text) => self.add_file(name, text.to_owned()),
            Err(error) => {
                let file = self.add_file(name, String::from_utf8_lossy(bytes).into_owned());
                problems.add(|| not_utf8(file, bytes, error.valid_up_to()));
                return None;
            }
        };
        let document = self.read_text(file, 0, problems)?;
        let Some(root) = document.root.filter(|&root| !self.is_unwritten(root)) else {
            problems.add(|| {
                Problem::new(
                    "empty",
                    start_of(file),
                    "the file holds no description",
                    "expected keys with their values",
                )
                .with_way_out("write `key: value` on the first line")
            });
            return None;
        };
        if matches!(self.content(root), Content::Map(_)) {
            return Some(root);
        }
        problems.add(|| {
            let message = format!("expected keys with their values, found {}", self.describe(root));
            Problem::new("wrong-type", self.span(root), message, "not a map")
                .with_way_out("write `key: value`")
        });
        None
    }

    pub(crate) fn has_no_room_for(&self, bytes: usize) -> bool {
        bytes > LARGEST_FILE || self.bytes_read() + bytes > LARGEST_TREE
    }

    pub(crate) fn refuse_size(
        &mut self,
        name: &str,
        bytes: usize,
        problems: &mut Problems,
    ) -> Option<NodeId> {
        let file = self.add_file(name, String::new());
        problems.add(|| too_large(start_of(file), bytes));
        None
    }

    /// Reads a file that is in the tree, from a byte on.
    pub(crate) fn read_text(
        &mut self,
        file: FileId,
        from: usize,
        problems: &mut Problems,
    ) -> Option<Document> {
        if let Some(problem) = control_characters(file, &self.file(file).text) {
            problems.add(|| problem);
            return None;
        }
        assemble(&mut self.arena, &self.files, file, from, problems)
    }

    pub(crate) fn is_unwritten(&self, node: NodeId) -> bool {
        self.scalar(node).is_some_and(|scalar| scalar.plain && scalar.text.is_empty())
    }
}

fn start_of(file: FileId) -> Span {
    Span { file, start: 0, end: 0 }
}

fn too_large(at: Span, bytes: usize) -> Problem {
    let mib = 1 << 20;
    let message = if bytes > LARGEST_FILE {
        format!("the file has {bytes} bytes, more than the {} MiB that are read", LARGEST_FILE / mib)
    } else {
        format!("the files have more than the {} MiB together that are read", LARGEST_TREE / mib)
    };
    Problem::new("too-large", at, message, "not read")
        .with_way_out("split the description, or leave out what is not used")
}

fn not_utf8(file: FileId, bytes: &[u8], valid: usize) -> Problem {
    // What is not UTF-8 stands as U+FFFD in the text, and everything before it where it was.
    let at = Span { file, start: small(valid), end: small(valid + '\u{FFFD}'.len_utf8()) };
    let message = if bytes.starts_with(&[0xFF, 0xFE]) || bytes.starts_with(&[0xFE, 0xFF]) {
        "the file is written in UTF-16, not UTF-8".to_owned()
    } else {
        let byte = bytes.get(valid).copied().unwrap_or_default();
        format!("the file is not UTF-8: byte {valid} is 0x{byte:02X}")
    };
    Problem::new("not-utf-8", at, message, "not a character of UTF-8").with_way_out("save the file as UTF-8")
}

/// Characters that YAML does not print: all controls but tab and line breaks, and what is no character.
fn control_characters(file: FileId, text: &str) -> Option<Problem> {
    const MOST_SHOWN: usize = 8;
    let mut found = text.as_bytes().iter().enumerate().filter_map(|(start, &byte)| {
        let refused = match byte {
            b'\t' | b'\n' | b'\r' => return None,
            0..0x20 | 0x7F => true,
            0x20..0x7F => return None,
            // U+0080 to U+009F, U+FFFE and U+FFFF.
            0xC2 => text.as_bytes().get(start + 1).is_some_and(|&next| next < 0xA0),
            0xEF => matches!(text.as_bytes().get(start + 1..start + 3), Some([0xBF, 0xBE | 0xBF])),
            _ => return None,
        };
        let character = text[start..].chars().next().filter(|_| refused)?;
        let span = Span { file, start: small(start), end: small(start + character.len_utf8()) };
        Some((span, format!("U+{:04X}", u32::from(character))))
    });
    let (at, name) = found.next()?;
    let mut problem =
        Problem::new("control-character", at, format!("the control character {name} is not text"), name)
            .with_way_out("remove it; in a quoted text it can be written as an escape");
    problem.also.extend(found.take(MOST_SHOWN));
    Some(problem)
}
