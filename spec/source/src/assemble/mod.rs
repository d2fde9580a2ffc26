//! Events to nodes: spans, anchors, duplicate keys, depth and size.

mod complaints;
mod keys;
mod scalars;

use std::ops::Range;

use crate::arena::{Arena, Body};
use crate::events::{Event, Events, Label, Step};
use crate::limits::{DEEPEST, MOST_VALUES};
use crate::problem::Problems;
use crate::scalar::Scalar;
use crate::span::{FileId, NodeId, SourceFile, Span, small};
use crate::tree::{Content, Entry};

/// The first document of a text.
pub(crate) struct Document {
    /// Its value; `None` where nothing is written.
    pub(crate) root: Option<NodeId>,
    /// How many maps and lists stand inside one another, aliases included.
    pub(crate) height: usize,
}

/// Reads a file from a byte on into nodes. `None` where the document cannot be used; the problems say why.
pub(crate) fn assemble(
    arena: &mut Arena,
    files: &[SourceFile],
    file: FileId,
    from: usize,
    problems: &mut Problems,
) -> Option<Document> {
    let text = files[file.index()].text.as_str();
    let mut assembly = Assembly {
        arena,
        files,
        file,
        text,
        from,
        problems,
        open: Vec::new(),
        entries: Vec::new(),
        items: Vec::new(),
        anchors: Vec::new(),
        root: None,
        usable: true,
    };
    let mut documents = 0;
    for event in Events::of(&text[from..]) {
        let event = match event {
            Ok(event) => event,
            Err(error) => {
                assembly.syntax(error);
                return None;
            }
        };
        if matches!(event.step, Step::Document) {
            documents += 1;
            if documents > 1 {
                assembly.second_document(event.range);
                break;
            }
        }
        assembly.step(event).ok()?;
    }
    let document = match assembly.root {
        Some(root) => Document { root: Some(root.node), height: root.height },
        None => Document { root: None, height: 0 },
    };
    assembly.usable.then_some(document)
}

/// A limit was passed; reading on would only repeat it.
struct Stop;

/// A finished value with its measures, aliases expanded.
#[derive(Copy, Clone)]
struct Value {
    node: NodeId,
    size: u64,
    height: usize,
}

/// A map or list whose end is not read yet.
struct Collection {
    map: bool,
    opened: Span,
    anchor: Option<usize>,
    /// Where its children begin in `Assembly::entries` or `Assembly::items`.
    from: usize,
    /// The key that waits for its value; `Some(None)` is a refused key whose value is left out.
    key: Option<Option<NodeId>>,
    first: Option<u32>,
    last: u32,
    size: u64,
    height: usize,
}

struct Assembly<'a> {
    arena: &'a mut Arena,
    files: &'a [SourceFile],
    file: FileId,
    text: &'a str,
    from: usize,
    problems: &'a mut Problems,
    open: Vec<Collection>,
    entries: Vec<Entry>,
    items: Vec<NodeId>,
    /// By number; `None` while its collection is open.
    anchors: Vec<Option<Value>>,
    root: Option<Value>,
    usable: bool,
}

impl Assembly<'_> {
    fn step(&mut self, Event { range, step }: Event<'_>) -> Result<(), Stop> {
        match step {
            Step::Document => Ok(()),
            Step::Scalar { text, style, anchor, tag } => {
                let node = self.scalar(&text, style, range, tag);
                let value = Value { node, size: 1, height: 0 };
                self.define(anchor, Some(value));
                self.place(value)
            }
            Step::Open { map, anchor, tag } => self.open(map, anchor, tag, range),
            Step::Close => self.close(range),
            Step::Alias { anchor } => {
                let span = self.span(range);
                let Some(target) = self.anchors.get(anchor).copied().flatten() else {
                    return self.hole(span, "self-reference", "this alias stands inside what it repeats");
                };
                let depth = self.open.len() + target.height;
                if depth > DEEPEST {
                    return Err(self.too_deep(span));
                }
                let target_node = self.arena.target(target.node);
                let node = self.arena.add_node(span, Body::Alias { target: target_node });
                self.place(Value { node, ..target })
            }
            Step::UnknownAlias => {
                let span = self.span(range);
                self.hole(span, "unknown-anchor", "no anchor of this name stands before it")
            }
        }
    }

    fn span(&self, range: Range<usize>) -> Span {
        // The parser promises ordered offsets on character boundaries; a defect there must not become one here.
        let boundary = |offset: usize| {
            let mut offset = (self.from + offset).min(self.text.len());
            while !self.text.is_char_boundary(offset) {
                offset -= 1;
            }
            small(offset)
        };
        let start = boundary(range.start);
        Span { file: self.file, start, end: boundary(range.end).max(start) }
    }

    fn define(&mut self, anchor: Option<usize>, value: Option<Value>) {
        if let Some(anchor) = anchor {
            if self.anchors.len() <= anchor {
                self.anchors.resize(anchor + 1, None);
            }
            self.anchors[anchor] = value;
        }
    }

    fn open(
        &mut self,
        map: bool,
        anchor: Option<usize>,
        tag: Option<Label<'_>>,
        range: Range<usize>,
    ) -> Result<(), Stop> {
        let opened = self.span(range);
        if self.open.len() >= DEEPEST {
            return Err(self.too_deep(opened));
        }
        if let Some(tag) = tag {
            let own = if map { "map" } else { "seq" };
            let span = self.span(tag.range);
            if tag.core.as_deref().is_none_or(|core| core != own && core != "!") {
                self.foreign_tag(span);
            }
        }
        self.define(anchor, None);
        self.open.push(Collection {
            map,
            opened,
            anchor,
            from: if map { self.entries.len() } else { self.items.len() },
            key: None,
            first: None,
            last: opened.end,
            size: 1,
            height: 0,
        });
        Ok(())
    }

    fn close(&mut self, range: Range<usize>) -> Result<(), Stop> {
        let closed = self.span(range);
        let Some(collection) = self.open.pop() else { return Ok(()) };
        // Block collections have no brackets: they reach from their first child to their last.
        let start = if collection.opened.is_empty() {
            collection.first.unwrap_or(collection.opened.start)
        } else {
            collection.opened.start
        };
        let end = if closed.is_empty() { collection.last } else { closed.end };
        let span = Span { file: self.file, start, end: end.max(start) };
        let node = if collection.map {
            let entries = self.distinct(collection.from);
            self.arena.add_map(span, &entries)
        } else {
            let items = self.items.split_off(collection.from);
            self.arena.add_list(span, &items)
        };
        let value = Value { node, size: collection.size, height: collection.height + 1 };
        self.define(collection.anchor, Some(value));
        self.place(value)
    }

    fn span_of(&self, node: NodeId) -> Span {
        self.arena.node(node).span
    }

    fn scalar_of(&self, node: NodeId) -> Option<Scalar<'_>> {
        match self.arena.content(self.files, node) {
            Content::Scalar(scalar) => Some(scalar),
            _ => None,
        }
    }

    /// Gives a finished value to the collection that is open, or to the document.
    fn place(&mut self, value: Value) -> Result<(), Stop> {
        let span = self.span_of(value.node);
        let depth = self.open.len();
        let Some(parent) = self.open.last_mut() else {
            self.root = Some(value);
            return Ok(());
        };
        parent.first.get_or_insert(span.start);
        parent.last = parent.last.max(span.end);
        parent.height = parent.height.max(value.height);
        match parent.key {
            None if parent.map => {
                let key = self.as_key(value.node, span);
                self.open[depth - 1].key = Some(key);
                return Ok(());
            }
            None => self.items.push(value.node),
            Some(key) => {
                parent.key = None;
                if let Some(key) = key {
                    self.entries.push(Entry { key, value: value.node });
                }
            }
        }
        parent.size = parent.size.saturating_add(value.size);
        if parent.size > MOST_VALUES { Err(self.too_many(span)) } else { Ok(()) }
    }
}
