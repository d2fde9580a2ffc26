//! What carries the current between two nodes, in order.

use loadworthy_physics::{Current, Time};
use loadworthy_source::Located;
use schemars::JsonSchema;
use serde::Deserialize;

use crate::quantity::{Given, Ratio};

/// Conductors in series between two nodes, or around one of another branch. No two branches join the same two nodes: conductors
/// that share a current are one entry, with the section, the rating and the resistance of all of them.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Branch {
    /// Where it starts: a source, a bus, a stage, a load, or a negative rail.
    pub from: Option<Located<String>>,
    /// Where it ends.
    pub to: Option<Located<String>>,
    /// The conductor that it leads around, in place of `from` and `to`; pre-charge goes this way.
    pub around: Option<Located<String>>,
    /// The conductors in order, entries of `conductors`.
    pub through: Option<Located<Vec<Located<String>>>>,
    /// Current that loads take from the bus while it is pre-charged through this branch; none unless said otherwise.
    pub load: Option<Given<Current>>,
    /// Share of the source's voltage that is left across the contactor as it closes after this pre-charge; 5 % unless said
    /// otherwise.
    pub rest: Option<Given<Ratio>>,
    /// Time within which this pre-charge must be done; none is asked for unless stated. Shorter than what the control waits for
    /// before it gives up.
    pub within: Option<Given<Time>>,
    /// The fuse that protects it, where none of its own does: on the way from a source to it. One that stands in no branch
    /// stands within the source that the branch leads from.
    pub protected_by: Option<Located<String>>,
    /// The contactor that parts it from its source, where none of its own does: in the branch back to that source, or in no
    /// branch and so within the source, where it carries what the branch does.
    pub parted_by: Option<Located<String>>,
}
