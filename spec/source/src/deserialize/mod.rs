//! Subtrees to typed values by `serde`, without losing where things stand.
//!
//! Numbers, truth values and text mean what the core schema of YAML 1.2 says. An enum whose serde name begins
//! with `$tag=` is chosen by a key of the map that holds it:
//!
//! ```
//! # use loadworthy_source::{Located, Tree};
//! # use serde::Deserialize;
//! #[derive(Deserialize)]
//! #[serde(rename = "$tag=kind", rename_all = "snake_case")]
//! enum Part {
//!     Bar(Bar),
//! }
//! #[derive(Deserialize)]
//! struct Bar {
//!     width: Located<f64>,
//! }
//!
//! let mut tree = Tree::new();
//! let root = tree.read("parts.yaml", b"{ kind: bar, width: 25 }", &mut Vec::new()).expect("a map");
//! let Part::Bar(bar) = tree.deserialize(root).expect("a part");
//! assert_eq!(bar.width.value, 25.0);
//! assert_eq!(tree.text_of(tree.span(bar.width.at)), "25");
//! ```

mod children;
mod choice;
mod failure;
mod gaps;
mod reader;

use serde::Deserialize;

use crate::problem::Problem;
use crate::span::NodeId;
use crate::tree::Tree;

pub use gaps::{Gaps, UNREAD};
use reader::Reader;

impl Tree {
    /// Reads a value from a node and what stands below it.
    ///
    /// # Errors
    /// The first problem, at the node that it is about: a key that is not known, a key that is missing, a value
    /// of another type, or a value that the type refuses.
    #[expect(clippy::result_large_err, reason = "it is rare, and the caller keeps it in a list of problems")]
    pub fn deserialize<'t, T: Deserialize<'t>>(&'t self, node: NodeId) -> Result<T, Problem> {
        self.deserialize_around(node, Gaps::NONE)
    }

    /// Reads a value from a node of which some values cannot be read.
    ///
    /// # Errors
    /// As [`Tree::deserialize`].
    #[expect(clippy::result_large_err, reason = "it is rare, and the caller keeps it in a list of problems")]
    pub fn deserialize_around<'t, T: Deserialize<'t>>(
        &'t self,
        node: NodeId,
        gaps: &'t Gaps,
    ) -> Result<T, Problem> {
        T::deserialize(Reader::of(self, node, gaps)).map_err(|failure| failure.into_problem(self, node))
    }
}
