//! Words of a description that may have been meant for others, and the unit as it would be with them put right.

use loadworthy_source::NodeId;

use crate::variant::Variant;

/// One word that speaks against what else is stated, or two that were exchanged.
///
/// Whether it is a slip nobody knows before both units are judged: what is found of one and not of the other is what comes of it.
#[derive(Clone, Debug)]
pub struct Slip {
    /// What would be written otherwise: one place, or those between which words were exchanged.
    pub moves: Vec<Move>,
    /// The two entries that were exchanged, where their names stand in several places.
    pub exchanged: Option<[String; 2]>,
    /// The first variant that has it.
    pub variant: usize,
    /// Whether all variants have it.
    pub is_everywhere: bool,
    /// All variants with that put right; one that has no such word is as it is described.
    pub variants: Vec<Variant>,
}

/// A key with what stands there and what may have been meant.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Move {
    /// Its path, such as `sensors.front_currents.of`.
    pub path: String,
    /// The entry, such as `front_currents`.
    pub entry: String,
    /// The key, such as `of`.
    pub key: String,
    /// What stands there, as it would be written.
    pub now: String,
    /// What may have been meant, as it would be written.
    pub then: String,
    /// Where it stands.
    pub at: NodeId,
    /// Of a list in which one name differs that name, else all that stands there.
    pub word: String,
    /// The same of what may have been meant.
    pub meant: String,
    /// Where that word stands.
    pub word_at: NodeId,
}
