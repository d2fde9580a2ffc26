//! The located tree: all files of a description in one arena.

use crate::arena::Arena;
use crate::scalar::Scalar;
use crate::span::{FileId, NodeId, SourceFile, Span};

/// Everything that was read, as one arena of keys and values over all files.
///
/// Nodes are never changed or removed; joining and patching add new ones that share what is unchanged. The
/// functions that take a [`NodeId`] or a [`Span`] expect one of this tree.
#[derive(Debug, Default)]
pub struct Tree {
    pub(crate) files: Vec<SourceFile>,
    pub(crate) arena: Arena,
    /// Pairs of a patched value and the value it replaced, rising by the first.
    replaced: Vec<(NodeId, NodeId)>,
    bytes_read: usize,
    entries_written: usize,
}

/// A key with its value.
#[derive(Copy, Clone, Eq, PartialEq, Hash, Debug)]
pub struct Entry {
    /// The key, always a scalar.
    pub key: NodeId,
    /// The value.
    pub value: NodeId,
}

/// What a node holds, with aliases resolved.
#[derive(Copy, Clone, Eq, PartialEq, Debug)]
pub enum Content<'t> {
    /// Text, number, truth value or nothing.
    Scalar(Scalar<'t>),
    /// Keys with values, each key once, in the order of the text.
    Map(&'t [Entry]),
    /// Values in the order of the text.
    List(&'t [NodeId]),
}

impl Tree {
    /// A tree without files.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// All files, in the order in which they were read.
    #[must_use]
    pub fn files(&self) -> &[SourceFile] {
        &self.files
    }

    /// One file.
    #[must_use]
    pub fn file(&self, file: FileId) -> &SourceFile {
        &self.files[file.index()]
    }

    /// Where a node stands: a scalar with its quotes, a flow collection with its brackets, a block collection
    /// from its first key or item to the end of its last value. Anchors and tags are not part of it. The use
    /// of an alias has its own span, and its content is the target's. A value that is not written has an
    /// empty span behind its key's colon.
    #[must_use]
    pub fn span(&self, node: NodeId) -> Span {
        self.arena.node(node).span
    }

    /// The text of a span.
    #[must_use]
    pub fn text_of(&self, span: Span) -> &str {
        self.file(span.file).text.get(span.range()).unwrap_or_default()
    }

    /// What a node holds.
    #[must_use]
    pub fn content(&self, node: NodeId) -> Content<'_> {
        self.arena.content(&self.files, node)
    }

    /// The node whose content it has: itself, or the target of an alias.
    #[must_use]
    pub fn target(&self, node: NodeId) -> NodeId {
        self.arena.target(node)
    }

    /// The scalar, unless it is a map or a list.
    #[must_use]
    pub fn scalar(&self, node: NodeId) -> Option<Scalar<'_>> {
        match self.content(node) {
            Content::Scalar(scalar) => Some(scalar),
            _ => None,
        }
    }

    /// The entries of a map; none where it is not a map.
    #[must_use]
    pub fn entries(&self, node: NodeId) -> &[Entry] {
        match self.content(node) {
            Content::Map(entries) => entries,
            _ => &[],
        }
    }

    /// The text of a key; empty where the node is no scalar.
    #[must_use]
    pub fn key_text(&self, key: NodeId) -> &str {
        self.scalar(key).map_or("", |scalar| scalar.text)
    }

    /// The entry of a map with that key. Takes time in proportion to the map.
    #[must_use]
    pub fn entry(&self, map: NodeId, key: &str) -> Option<Entry> {
        self.entries(map).iter().copied().find(|entry| self.key_text(entry.key) == key)
    }

    /// The value under a path of keys.
    #[must_use]
    pub fn value_at(&self, root: NodeId, path: &[&str]) -> Option<NodeId> {
        path.iter().try_fold(root, |node, key| self.entry(node, key).map(|entry| entry.value))
    }

    /// For a value that stands in a patch: the value that it replaced.
    #[must_use]
    pub fn replaced(&self, node: NodeId) -> Option<NodeId> {
        let index = self.replaced.binary_search_by_key(&node, |pair| pair.0).ok()?;
        Some(self.replaced[index].1)
    }

    /// How many nodes there are; every [`NodeId::index`] is below it.
    #[must_use]
    pub fn node_count(&self) -> usize {
        self.arena.len()
    }

    pub(crate) fn add_file(&mut self, name: &str, text: String) -> FileId {
        let file = FileId::new(self.files.len());
        self.bytes_read += text.len();
        self.files.push(SourceFile::new(name, text));
        file
    }

    pub(crate) fn bytes_read(&self) -> usize {
        self.bytes_read
    }

    pub(crate) fn note_replaced(&mut self, new: NodeId, old: NodeId) {
        self.replaced.push((new, old));
    }

    /// Counts entries written by joining and patching, and says how many there were altogether.
    pub(crate) fn count_written(&mut self, entries: usize) -> usize {
        self.entries_written = self.entries_written.saturating_add(entries);
        self.entries_written
    }
}
