//! What a YAML file is, by the keys at its top: a description, a parts file, or nothing of ours.
//!
//! This is for files that nobody named, such as those of a folder. Where it is in doubt a file is a description, so
//! that one with a mistake is reviewed and told rather than passed over.

use loadworthy_source::{Content, Entry, NodeId, Tree};

use crate::parts::{SECTIONS, inside};

/// Keys that stand in a description alone.
const DESCRIPTIONS_OWN: &[&str] =
    &["unit", "parts", "surroundings", "isolation", "cooling", "policy", "permits", "variants"];

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
/// A description names its `edition` and has stages, or a section that parts files cannot have; where the edition was
/// forgotten, buses and stages together tell it. A parts file has nothing but sections that parts files may add to,
/// and perhaps an edition for its editor. Of a file that is no YAML, the keys at the beginning of its lines count.
#[must_use]
pub fn kind_of(bytes: &[u8]) -> FileKind {
    let mut tree = Tree::new();
    let root = tree.read("", bytes, &mut Vec::new());
    let by_tree = root.map(|root| keys_of(&tree, root)).filter(|keys| !keys.is_empty());
    let text = String::from_utf8_lossy(bytes);
    let keys = by_tree.unwrap_or_else(|| text.lines().filter_map(key_of_line).map(str::to_owned).collect());
    let has = |key: &str| keys.iter().any(|known| known == key);
    let is_ours = DESCRIPTIONS_OWN.iter().any(|key| has(key)) || has("stages");
    if (has("edition") && is_ours) || (has("buses") && has("stages")) {
        return FileKind::Description { parts: root.map(|root| parts_of(&tree, root)).unwrap_or_default() };
    }
    let adds = keys.iter().any(|key| SECTIONS.contains(&key.as_str()));
    if adds
        && root.is_none_or(|root| sections_are_maps(&tree, root))
        && keys.iter().all(|key| key == "edition" || SECTIONS.contains(&key.as_str()))
    {
        return FileKind::Parts;
    }
    FileKind::Other
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
        assert_eq!(kind("edition: second\nauthor: nobody\n"), FileKind::Other);
        for other in ["", "# nothing\n", "- a\n", "just text", "on: push\njobs: {}\n"] {
            assert_eq!(kind(other), FileKind::Other, "{other}");
        }
    }

    #[test]
    fn every_section_is_known_here() {
        let schema = crate::schema(&[]);
        let keys = schema["properties"].as_object().expect("the sections").keys();
        let known =
            |key: &&str| *key == "edition" || SECTIONS.contains(key) || DESCRIPTIONS_OWN.contains(key);
        assert_eq!(keys.map(String::as_str).filter(|key| !known(key)).collect::<Vec<_>>(), [""; 0]);
    }

    #[test]
    fn a_description_that_is_no_yaml_any_more_is_still_one() {
        assert_eq!(kind("edition: 2026\nunit: { name: [\nstages:\n  a: {\n"), description(&[]));
        assert_eq!(kind_of(b"edition: 2026\nstages: {}\n# \xff\n"), description(&[]));
        assert_eq!(kind("a: [\n"), FileKind::Other);
    }
}
