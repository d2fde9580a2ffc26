//! Where a value comes from.

use loadworthy_language::defaults::Default as Assumption;
use loadworthy_source::NodeId;

/// Where a value comes from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Origin {
    /// It stands in the description.
    Written(NodeId),
    /// A variant put it there in place of another.
    Patched {
        /// The value in force, in the patch.
        at: NodeId,
        /// The value that it replaced.
        replaced: NodeId,
    },
    /// A default of the edition stands in for it.
    Assumed {
        /// The default.
        assumption: &'static Assumption,
        /// The entry that it would stand in.
        near: NodeId,
    },
    /// Nothing states it, and nothing may stand in for it.
    Absent {
        /// The entry that it would stand in.
        near: Option<NodeId>,
    },
    /// The entry that states it is broken.
    Broken(NodeId),
}

impl Origin {
    /// The place in the description to point at.
    #[must_use]
    pub fn node(self) -> Option<NodeId> {
        match self {
            Self::Written(at) | Self::Patched { at, .. } | Self::Broken(at) => Some(at),
            Self::Assumed { near, .. } => Some(near),
            Self::Absent { near } => near,
        }
    }

    /// Whether a person put the value there.
    #[must_use]
    pub fn is_written(self) -> bool {
        matches!(self, Self::Written(_) | Self::Patched { .. })
    }
}
