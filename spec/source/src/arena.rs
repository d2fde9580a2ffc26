//! The store of nodes, apart from the texts that they stand in.

use crate::scalar::Scalar;
use crate::span::{NodeId, SourceFile, Span, small};
use crate::tree::{Content, Entry};

/// Nodes with their children. Only ever grows, so that numbers stay valid.
#[derive(Debug, Default)]
pub(crate) struct Arena {
    nodes: Vec<Node>,
    entries: Vec<Entry>,
    items: Vec<NodeId>,
    /// Texts that differ from what is written, because escapes or folded lines were resolved.
    resolved: String,
}

#[derive(Copy, Clone, Debug)]
pub(crate) struct Node {
    pub(crate) span: Span,
    pub(crate) body: Body,
}

#[derive(Copy, Clone, Debug)]
pub(crate) enum Body {
    /// Text that stands in the file as it is.
    Written { start: u32, end: u32, plain: bool },
    /// Text in `Arena::resolved`.
    Resolved { start: u32, end: u32, plain: bool },
    /// A range of `Arena::entries`.
    Map { start: u32, end: u32 },
    /// A range of `Arena::items`.
    List { start: u32, end: u32 },
    /// The use of an anchor; never points at another alias.
    Alias { target: NodeId },
}

impl Arena {
    pub(crate) fn len(&self) -> usize {
        self.nodes.len()
    }

    pub(crate) fn node(&self, node: NodeId) -> Node {
        self.nodes[node.index()]
    }

    pub(crate) fn target(&self, node: NodeId) -> NodeId {
        match self.node(node).body {
            Body::Alias { target } => target,
            _ => node,
        }
    }

    pub(crate) fn content<'t>(&'t self, files: &'t [SourceFile], node: NodeId) -> Content<'t> {
        let target = self.node(self.target(node));
        match target.body {
            Body::Written { start, end, plain } => {
                let text = &files[target.span.file.index()].text[start as usize..end as usize];
                Content::Scalar(Scalar { text, plain })
            }
            Body::Resolved { start, end, plain } => {
                Content::Scalar(Scalar { text: &self.resolved[start as usize..end as usize], plain })
            }
            Body::Map { start, end } => Content::Map(&self.entries[start as usize..end as usize]),
            Body::List { start, end } => Content::List(&self.items[start as usize..end as usize]),
            // Not reached: `target` has followed the only step there can be.
            Body::Alias { .. } => Content::Scalar(Scalar { text: "", plain: true }),
        }
    }

    pub(crate) fn add_node(&mut self, span: Span, body: Body) -> NodeId {
        let node = NodeId::new(self.nodes.len());
        self.nodes.push(Node { span, body });
        node
    }

    pub(crate) fn add_map(&mut self, span: Span, entries: &[Entry]) -> NodeId {
        let start = small(self.entries.len());
        self.entries.extend_from_slice(entries);
        let end = small(self.entries.len());
        self.add_node(span, Body::Map { start, end })
    }

    pub(crate) fn add_list(&mut self, span: Span, items: &[NodeId]) -> NodeId {
        let start = small(self.items.len());
        self.items.extend_from_slice(items);
        let end = small(self.items.len());
        self.add_node(span, Body::List { start, end })
    }

    /// Keeps a text that differs from what is written.
    pub(crate) fn add_resolved(&mut self, text: &str, plain: bool) -> Body {
        let start = small(self.resolved.len());
        self.resolved.push_str(text);
        Body::Resolved { start, end: small(self.resolved.len()), plain }
    }
}
