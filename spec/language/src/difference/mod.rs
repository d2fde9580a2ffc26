//! What changed from one description to another, in the terms of the language.
//!
//! Two trees are walked together, with parts joined. Keys are matched by what they are called, so the order of keys, comments,
//! quotes, and how entries are spread over files make no difference; a quantity is what it comes to, so `0.5 kA` for `500 A`
//! is no change. Items of lists whose order means nothing are compared as a set, and those that the language tells apart by
//! some of their keys, such as curves by their temperature, are matched by these. An entry under another name is recognised by
//! what it holds and what it is joined to ([`Rename`]); what follows from its new name elsewhere is no change of its own.

mod renames;
mod stated;
mod walk;

use loadworthy_source::{NodeId, Tree};

use crate::quantity::Dimension;
use crate::schema::Guide;

/// A description to be compared.
#[derive(Clone, Copy)]
pub struct Described<'d> {
    /// Its files.
    pub tree: &'d Tree,
    /// Where it begins.
    pub root: NodeId,
    /// The number that stands in for what nobody states at a path, where one does.
    pub stands_in: &'d dyn Fn(&str) -> Option<(Dimension, f64)>,
}

/// What changed.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Difference {
    /// Changes in the order of the new description; what it has no more stands behind what is left of its section.
    pub changes: Vec<Change>,
    /// Entries with another name.
    pub renames: Vec<Rename>,
}

/// An entry that has another name and is otherwise what it was, or is where it was.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Rename {
    /// The path that its name stands under, such as `buses` or `cooling.elements`.
    pub section: String,
    /// The name before.
    pub from: String,
    /// The name now.
    pub to: String,
}

/// One change.
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    /// Its path in the new description, or in the old one where it is there no more.
    pub path: String,
    /// What kind of change it is.
    pub kind: ChangeKind,
    /// What stood there; where nothing did and a default stood in, that default.
    pub old: Option<Stated>,
    /// What stands there now; where nothing does and a default stands in, that default.
    pub new: Option<Stated>,
}

/// What kind of change it is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ChangeKind {
    /// An entry with a name of its own, such as a stage, that is new.
    Added,
    /// An entry that is there no more.
    Removed,
    /// An entry that has another name.
    Renamed {
        /// The name before.
        from: String,
        /// The name now.
        to: String,
    },
    /// A value that is another.
    Value,
    /// A value that nobody stated before.
    Stated,
    /// A value that nobody states any more.
    Unstated,
    /// A list whose order means something, with the same items in another order.
    Order,
    /// A list of names with others in it.
    Items {
        /// Items that are new.
        gained: Vec<String>,
        /// Items that are there no more.
        lost: Vec<String>,
    },
}

/// What a description says at a place, or what stands in for it.
#[derive(Clone, Debug, PartialEq)]
pub struct Stated {
    /// Where it stands; absent where a default stands in.
    pub at: Option<NodeId>,
    /// How it is written, in one line; absent where a default stands in.
    pub written: Option<String>,
    /// What it comes to, where it is one quantity, in the unit of its dimension.
    pub amount: Option<(Dimension, f64)>,
}

impl Stated {
    /// Whether nobody states it and a default stands in.
    #[must_use]
    pub const fn is_assumed(&self) -> bool {
        self.written.is_none()
    }
}

impl Change {
    /// Whether it says only what was taken before, or no more what is taken all the same: no figure follows from it.
    #[must_use]
    pub fn keeps_the_amount(&self) -> bool {
        let amounts =
            (self.old.as_ref().and_then(|old| old.amount), self.new.as_ref().and_then(|new| new.amount));
        matches!(amounts, (Some(old), Some(new)) if stated::same_amount(old, new))
    }
}

/// What changed from one description to another. Takes time in proportion to both.
#[must_use]
pub fn difference(old: Described<'_>, new: Described<'_>, guide: &Guide) -> Difference {
    let renames = renames::renames(old, new, guide);
    let changes = walk::changes(old, new, guide, &renames);
    Difference { changes, renames }
}
