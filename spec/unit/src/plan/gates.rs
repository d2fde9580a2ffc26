//! The potentials that gates are driven from, and what feeds their drivers.

use crate::ids::{InputId, PartId};

/// A potential that a gate is driven from. Gates may share a supply only where this is the same.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum GateNode {
    /// A negative rail, or the return of a stage that something keeps apart from it; rails that a bar or a stage joins are
    /// one.
    Rail(String),
    /// Not known for want of a key of its stage.
    Unsaid(&'static str),
    /// A node of a stage that moves against every rail, such as the middle of leg u.
    Floating {
        /// The stage.
        stage: String,
        /// The node within it.
        node: String,
    },
}

/// One output that feeds gate drivers.
#[derive(Clone, Debug)]
pub struct GateSupply {
    /// The output.
    pub part: PartId,
    /// The positions that it feeds: stage and position in the plan, and where the description names them.
    pub feeds: Vec<(usize, usize, loadworthy_source::NodeId)>,
    /// Those of them that another output feeds as well.
    pub contested: Vec<(usize, usize)>,
    /// The output that it was exchanged with, as far as what else is stated of both tells.
    pub exchanged: Option<Exchanged>,
    /// All that it feeds as a number: 0 where it is stated and leads to stages that could be read.
    pub named: InputId,
    /// Entries that lead to a position without a gate, such as a diode: its path, and where the description names it.
    pub idle: Vec<(String, loadworthy_source::NodeId)>,
    /// The rail that it is tied to; none for an isolated output.
    pub rail: Option<String>,
    /// The output that charges it through a diode, in the plan.
    pub bootstrap_from: Option<usize>,
}

impl GateSupply {
    /// The positions that it alone feeds, each as often as it is named. What another output feeds as well, or was exchanged, is
    /// driven by neither, as far as anyone can tell.
    pub fn alone(&self) -> impl Iterator<Item = (usize, usize)> + '_ {
        let gates = self.feeds.iter().map(|&(stage, position, _)| (stage, position));
        gates.filter(|gate| self.exchanged.is_none() && !self.contested.contains(gate))
    }

    /// Whether it is not known for all that it is named at whether it feeds that.
    #[must_use]
    pub fn is_contested(&self) -> bool {
        !self.contested.is_empty() || self.exchanged.is_some()
    }
}

/// An output that suits the gates of another one, as that one suits its own.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Exchanged {
    /// The other, in the plan.
    pub with: usize,
    /// What speaks against this one where it is named.
    pub misfits: Vec<Misfit>,
}

/// What speaks against an output at a gate.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Misfit {
    /// It is tied to another rail.
    Rail,
    /// All other outputs give the same device in that stage other voltages.
    Levels,
    /// It is listed by barriers, and by none that stands between that gate and what feeds the output.
    Barrier,
    /// The other windings of its transformer all feed another stage.
    Transformer,
    /// They all feed the other side of that stage.
    Side,
    /// All other outputs that feed as many gates on that side of that stage give another power.
    Power,
    /// It is charged from an output that feeds no low side of that leg.
    Bootstrap,
}

/// A transformer with the outputs that are windings of it.
#[derive(Clone, Debug)]
pub struct GateTransformer {
    /// The transformer.
    pub part: PartId,
    /// Its outputs, in the plan, and where each names it.
    pub outputs: Vec<(usize, loadworthy_source::NodeId)>,
}

/// What keeps two negative rails apart: a branch between them that more than bars carry.
#[derive(Clone, Debug)]
pub struct RailSplit {
    /// The branch.
    pub branch: String,
    /// The rails, each under the name that stands for it.
    pub between: (String, String),
    /// The conductors of it that hold them apart.
    pub by: Vec<Splitter>,
    /// That the branch could not be read, as a number that is missing: it may split the rails or join them.
    pub unread: Option<InputId>,
}

/// A stage without a transformer between buses whose negative rails have two names: it has one minus.
#[derive(Clone, Debug)]
pub struct RailsThrough {
    /// The stage.
    pub stage: PartId,
    /// The rails as its buses name them, and where.
    pub rails: [(String, loadworthy_source::NodeId); 2],
}

/// A conductor between two rails across which a voltage may stand.
#[derive(Clone, Debug)]
pub struct Splitter {
    /// What the description calls it.
    pub name: String,
    /// What it is, such as `shunt`.
    pub kind: &'static str,
    /// Where its branch names it.
    pub at: loadworthy_source::NodeId,
}
