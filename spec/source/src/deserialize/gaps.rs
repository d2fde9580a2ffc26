//! What cannot be read of a node while the rest of it can.

use crate::span::NodeId;

/// What stands in place of the text of a value that cannot be read. No scalar that anyone wrote for a value is empty.
pub const UNREAD: &str = "";

/// Values that cannot be read, and keys that are not what they were meant to be.
#[derive(Debug, Default)]
pub struct Gaps {
    /// Values: as text they are [`UNREAD`], as numbers none.
    pub values: Vec<NodeId>,
    /// Keys that are spelt wrongly, each with the one that was meant.
    pub meant: Vec<(NodeId, String)>,
    /// Keys that are none at all, and are left out with their values.
    pub no_keys: Vec<NodeId>,
}

impl Gaps {
    /// None: everything is read as it stands.
    pub(crate) const NONE: &Self = &Self { values: Vec::new(), meant: Vec::new(), no_keys: Vec::new() };

    pub(crate) fn holds(&self, value: NodeId) -> bool {
        self.values.contains(&value)
    }

    pub(crate) fn meant(&self, key: NodeId) -> Option<&str> {
        self.meant.iter().find(|(own, _)| *own == key).map(|(_, meant)| meant.as_str())
    }

    pub(crate) fn leaves_out(&self, key: NodeId) -> bool {
        self.no_keys.contains(&key)
    }
}
