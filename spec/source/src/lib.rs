//! Text to a tree in which every key and value has its span.
//!
//! Reads YAML into one arena over all files of a description ([`Tree`]), finds the structural problems of
//! each file, joins and patches documents, and hands subtrees to `serde` without losing where they stand.
//! It knows no power electronics, opens no file and prints nothing.

mod arena;
mod assemble;
mod becoming;
mod describe;
mod deserialize;
mod escape;
mod events;
mod limits;
mod located;
mod mend;
mod nearest;
mod overlay;
mod patch;
mod problem;
mod read;
mod scalar;
mod span;
mod tree;
mod union;

pub use deserialize::{Gaps, UNREAD};
pub use escape::{escape_text, refused_in_identifier, shown};
pub use located::{Located, LocatedText};
pub use nearest::{clearly_meant, nearest};
pub use problem::{MOST_PROBLEMS, Meant, Problem, Problems};
pub use scalar::{Scalar, ScalarKind};
pub use span::{FileId, NodeId, Place, SourceFile, Span};
pub use tree::{Content, Entry, Tree};
