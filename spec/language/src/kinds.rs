//! What a YAML file is, by the keys at its top: a description, a parts file, or nothing of ours.
//!
//! This is for files that nobody named, such as those of a folder. Where it is in doubt a file is a description, so
//! that one with a mistake is reviewed and told rather than passed over.

use loadworthy_source::{Content, Entry, NodeId, Problem, Span, Tree};

use crate::parts::{SECTIONS, inside};

/// Sections that make a circuit, which a stock of parts beside an edition has not.
const CIRCUIT: &[&str] = &["sources", "buses", "stages"];
/// How a file says that it is a description.
const EDITION: &[u8] = b"edition:";

/// What a file is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum FileKind {
    /// A description, with the parts files that it names, by their paths relative to it.
    Description {
        /// Paths as they are opened.
        parts: Vec<String>,
    },
    /// Entries that descriptions may join to theirs.
    Parts,
    /// Something else.
    Other,
}

/// What a file is.
///
/// Buses and stages together, or an `edition`, make a description, however broken the rest is. A parts file has nothing but
/// sections that parts files may add to, and perhaps an edition for its editor. An empty file, one in an encoding that is not
/// read, and one that is no text but mentions an edition are descriptions that cannot be read. Of a file that is no YAML, the
/// keys at the beginning of its lines count.
#[must_use]
pub fn kind_of(bytes: &[u8]) -> FileKind {
    if cannot_be_read(bytes) {
        return FileKind::Description { parts: Vec::new() };
    }
    let (mut tree, mut problems) = (Tree::new(), Vec::new());
    let root = tree.read("", bytes, &mut problems);
    let text = String::from_utf8_lossy(bytes);
    let mut keys = root.map(|root| keys_of(&tree, root)).unwrap_or_default();
    if keys.is_empty() || !problems.is_empty() {
        keys.extend(text.lines().filter_map(key_of_line).map(str::to_owned));
    }
    let has = |key: &str| keys.iter().any(|known| known == key);
    let is_whole = problems.is_empty() && root.is_some_and(|root| sections_are_maps(&tree, root));
    let is_stock = adds_only(&keys);
    // Of broken entries nobody can tell whether a description is meant; those that one names are its parts all the same.
    let is_broken = is_stock && !problems.is_empty();
    if (has("buses") && has("stages")) || is_broken || (has("edition") && !(is_stock && is_whole)) {
        return FileKind::Description { parts: root.map(|root| parts_of(&tree, root)).unwrap_or_default() };
    }
    if is_stock && root.is_none_or(|root| sections_are_maps(&tree, root)) {
        return FileKind::Parts;
    }
    FileKind::Other
}

/// What is wrong with a file that is reviewed on its own and has nothing but entries for descriptions; such a file may name
/// an edition for its editor, and reads as a description without anything to judge.
#[must_use]
pub fn alone(tree: &Tree, root: NodeId) -> Option<Problem> {
    let first = tree.entries(root).first()?.key;
    is_parts_file(tree, root).then(|| parts_file(tree.span(first)))
}

pub(crate) fn parts_file(at: Span) -> Problem {
    Problem::new("parts-file", at, "this is a parts file", "entries for descriptions, and no unit")
        .with_way_out("review a description that names it under `parts`")
}

/// Whether a document has nothing but entries that descriptions may join to theirs.
pub(crate) fn is_parts_file(tree: &Tree, root: NodeId) -> bool {
    adds_only(&keys_of(tree, root)) && sections_are_maps(tree, root)
}

/// Whether these keys are those of a parts file.
fn adds_only(keys: &[String]) -> bool {
    let has = |key: &str| keys.iter().any(|known| known == key);
    let is_circuit =
        if has("edition") { CIRCUIT.iter().any(|key| has(key)) } else { has("buses") && has("stages") };
    SECTIONS.iter().any(|key| has(key))
        && keys.iter().all(|key| key == "edition" || SECTIONS.contains(&key.as_str()))
        && !is_circuit
}

/// Whether a file with the name of a description is none that anybody can read: a saving that went wrong, or an editor
/// that wrote another encoding.
fn cannot_be_read(bytes: &[u8]) -> bool {
    let is_blank = bytes.iter().all(u8::is_ascii_whitespace);
    let is_utf_16 = bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]);
    let is_no_text = || std::str::from_utf8(bytes).is_err() || bytes.contains(&0);
    let mentions = || {
        let shown = bytes.iter().copied().filter(|&byte| byte != 0).collect::<Vec<_>>();
        shown.windows(EDITION.len()).any(|window| window == EDITION)
    };
    is_blank || is_utf_16 || (is_no_text() && mentions())
}

fn keys_of(tree: &Tree, root: NodeId) -> Vec<String> {
    let Content::Map(entries) = tree.content(root) else { return Vec::new() };
    let key = |entry: &Entry| tree.scalar(entry.key).and_then(|scalar| scalar.as_text()).map(str::to_owned);
    entries.iter().filter_map(key).collect()
}

/// Whether what stands under every key but the edition has entries, as sections have.
fn sections_are_maps(tree: &Tree, root: NodeId) -> bool {
    let Content::Map(entries) = tree.content(root) else { return false };
    let is_edition =
        |entry: &Entry| tree.scalar(entry.key).is_some_and(|key| key.as_text() == Some("edition"));
    entries.iter().all(|entry| is_edition(entry) || matches!(tree.content(entry.value), Content::Map(_)))
}

fn parts_of(tree: &Tree, root: NodeId) -> Vec<String> {
    let Some(parts) = tree.entry(root, "parts") else { return Vec::new() };
    let Content::List(items) = tree.content(parts.value) else { return Vec::new() };
    let path = |&item: &NodeId| inside(tree.scalar(item)?.as_text()?).ok();
    items.iter().filter_map(path).collect()
}

/// The key that begins a line, where one does.
fn key_of_line(line: &str) -> Option<&str> {
    let (key, rest) = line.split_once(':')?;
    let is_word = !key.is_empty() && key.bytes().all(|byte| byte.is_ascii_lowercase() || byte == b'_');
    (is_word && rest.chars().next().is_none_or(char::is_whitespace)).then_some(key)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn kind(text: &str) -> FileKind {
        kind_of(text.as_bytes())
    }

    fn description(parts: &[&str]) -> FileKind {
        FileKind::Description { parts: parts.iter().map(|part| (*part).to_owned()).collect() }
    }

    #[test]
    fn descriptions_are_told_from_parts_files_and_from_what_others_write() {
        assert_eq!(kind("edition: 2026\nstages: {}\n"), description(&[]));
        let named = "edition: 2026\nparts: [./parts/a.yaml, ../no.yaml]\nvariants: {}\n";
        assert_eq!(kind(named), description(&["parts/a.yaml"]));
        assert_eq!(kind("{ \"edition\": 2026, \"unit\": { name: x } }"), description(&[]));
        assert_eq!(
            kind("buses: {}\nstages: {}\nsources: {}\n"),
            description(&[]),
            "its edition was forgotten"
        );
        assert_eq!(kind("devices: {}\ncapacitor_types: {}\n"), FileKind::Parts);
        assert_eq!(kind("edition: 2026\nduty: {}\n"), FileKind::Parts, "for its editor");
        assert_eq!(kind("stages: [build, test]\nvariables: {}\n"), FileKind::Other);
        assert_eq!(kind("stages: [build, test]\n"), FileKind::Other, "sections have entries");
        assert_eq!(kind("edition: 2026\nbuses: {}\nsources: {}\n"), description(&[]), "its stages were lost");
        assert_eq!(kind("edition: 2026\nstagse: {}\n"), description(&[]));
        for other in ["# nothing\n", "- a\n", "just text", "on: push\njobs: {}\n"] {
            assert_eq!(kind(other), FileKind::Other, "{other}");
        }
    }

    #[test]
    fn every_section_is_known_here() {
        let schema = crate::schema(&[], &[]);
        let keys = schema["properties"].as_object().expect("the sections").keys();
        for key in keys.map(String::as_str).filter(|key| *key != "edition" && !SECTIONS.contains(key)) {
            let text = format!("edition: 2026\n{key}: {{}}\ndevices: {{}}\n");
            assert_eq!(kind(&text), description(&[]), "{key} stands in a description alone");
        }
        assert!(CIRCUIT.iter().all(|key| SECTIONS.contains(key)));
    }

    #[test]
    fn a_description_that_is_no_yaml_any_more_is_still_one() {
        assert_eq!(kind("edition: 2026\nunit: { name: [\nstages:\n  a: {\n"), description(&[]));
        assert_eq!(kind_of(b"edition: 2026\nstages: {}\n# \xff\n"), description(&[]));
        assert_eq!(kind("edition: 2026\ndevices: {\n"), description(&[]), "who knows what it was");
        assert_eq!(kind("buses:\n\t- a\n"), description(&[]));
        assert_eq!(kind("a: [\n"), FileKind::Other);
    }

    #[test]
    fn what_cannot_be_read_is_told_and_not_passed_over() {
        let in_pairs = |text: &str| text.encode_utf16().flat_map(u16::to_le_bytes).collect::<Vec<_>>();
        assert_eq!(kind(""), description(&[]));
        assert_eq!(kind(" \n\n"), description(&[]));
        assert_eq!(kind_of(&in_pairs("\u{feff}edition: 2026\n")), description(&[]));
        assert_eq!(kind_of(&in_pairs("edition: 2026\n")), description(&[]), "without its mark");
        assert_eq!(kind_of(b"# M\xfcller\n\"x\": 1\n  edition: 2026\n"), description(&[]));
        assert_eq!(kind_of(b"# M\xfcller\nother: 1\n"), FileKind::Other);
    }
}
