//! Places in the files of a description, as a person and as a program names them.

use loadworthy_source::{NodeId, Span, Tree};
use schemars::JsonSchema;
use serde::Serialize;

/// A place as a program needs it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub(crate) struct Place {
    /// Name of the file as it was given.
    pub(crate) file: String,
    /// Line, from 1.
    pub(crate) line: u32,
    /// Column in characters, from 1.
    pub(crate) column: u32,
    /// First byte in the file.
    pub(crate) start: u32,
    /// Byte after the last one.
    pub(crate) end: u32,
}

/// The place of a span.
pub(crate) fn of_span(tree: &Tree, span: Span) -> Place {
    let file = tree.file(span.file);
    let place = file.place(span.start);
    Place {
        file: file.name.clone(),
        line: place.line,
        column: place.column,
        start: span.start,
        end: span.end,
    }
}

/// The place of a node.
pub(crate) fn of_node(tree: &Tree, node: NodeId) -> Place {
    of_span(tree, tree.span(node))
}

/// File, line and column of a node, as an editor follows them.
pub(crate) fn in_short(tree: &Tree, node: NodeId) -> String {
    let Place { file, line, column, .. } = of_node(tree, node);
    format!("{file}:{line}:{column}")
}
