//! What a change does in the other variants that share the values it changes.
//!
//! A value that a variant patches is its own: a change of one does not reach the other. A value that both take from the
//! same place of the description changes in both, and a change that helps one must not harm the other. Checks may judge variants together, so the whole unit is judged with the change.

use std::collections::BTreeMap;

use loadworthy_unit::{DutyId, Edit, InputId, NodeId, Solved, Variant};

use super::anew::{Described, Judged};
use super::group::Key;
use super::judge::Broke;
use super::standing::Standing;
use crate::check::Proposal;

/// A unit as it is described, seen from one of its variants.
pub(super) struct Elsewhere<'s, 'u> {
    own: usize,
    described: &'s Described<'s, 'u>,
    standings: Vec<Standing<'s, 'u>>,
    /// By path; several may read what is written once, such as the halves of a centre tap.
    inputs: Vec<BTreeMap<&'u str, Vec<InputId>>>,
}

impl<'s, 'u> Elsewhere<'s, 'u> {
    /// All variants, seen from one.
    pub(super) fn of(own: usize, described: &'s Described<'s, 'u>) -> Self {
        let standings = described.solved.iter().zip(described.verdicts);
        let standings = standings.map(|(solved, verdicts)| Standing::of(verdicts, solved.variant)).collect();
        let inputs = described.solved.iter().map(|solved| by_path(solved.variant)).collect();
        Self { own, described, standings, inputs }
    }

    /// The variant itself, solved as it is described.
    pub(super) fn own(&self) -> &'s Solved<'u> {
        &self.described.solved[self.own]
    }

    /// Place of the variant, and all of them as they are described.
    pub(super) fn described(&self) -> (usize, &'s Described<'s, 'u>) {
        (self.own, self.described)
    }

    /// How the variant itself stands.
    pub(super) fn standing(&self) -> &Standing<'s, 'u> {
        &self.standings[self.own]
    }

    /// What is to be said of a change in the other variants; nothing where it does not cure the finding wherever else it
    /// reaches, or harms something. Checks that break down over it are added to `broke`.
    pub(super) fn besides(
        &self,
        key: &Key<'_>,
        proposal: &Proposal,
        (trial, judged): (&Solved<'u>, &Judged<'_>),
        broke: &mut Vec<Broke>,
    ) -> Option<Vec<String>> {
        let mut besides = Vec::new();
        let solved = self.described.solved;
        if solved.len() < 2 {
            return Some(besides);
        }
        let reached: Vec<Option<Solved<'u>>> = (0..solved.len()).map(|v| self.reached(v, proposal)).collect();
        let mut all: Vec<&Solved<'u>> = Vec::new();
        for (v, (described, reached)) in solved.iter().zip(&reached).enumerate() {
            all.push(if v == self.own { trial } else { reached.as_ref().unwrap_or(described) });
        }
        let is_reached = |v: usize| v == self.own || reached[v].is_some();
        let (verdicts, mut broken) = self.described.try_all(&all, (self.own, judged));
        // What breaks down over a variant that feels nothing of the change did so before.
        broken.retain(|one| one.variant.is_none_or(is_reached));
        if !broken.is_empty() {
            broke.extend(broken);
            return None;
        }
        for (v, (standing, verdicts)) in self.standings.iter().zip(&verdicts).enumerate() {
            if is_reached(v) && !standing.is_mended(key, verdicts) || standing.is_harmed(verdicts) {
                return None;
            }
            if !is_reached(v) && standing.has(key) {
                besides.push(format!("does not reach {}, where it still fails", self.name(v)));
            }
        }
        Some(besides)
    }

    /// What is to be said of a change that its check found to hold in this variant, and that nobody tried in the others.
    pub(super) fn untried(&self, key: &Key<'_>) -> Option<String> {
        let others = (0..self.standings.len()).filter(|&v| v != self.own && self.standings[v].has(key));
        let names: Vec<&str> = others.map(|v| self.name(v)).collect();
        (!names.is_empty()).then(|| format!("not tried in {}, where it fails too", names.join(", ")))
    }

    fn name(&self, v: usize) -> &'u str {
        self.described.solved[v].variant.name.as_deref().unwrap_or("another variant")
    }

    /// Another variant solved with what it feels of a change; nothing where it feels none.
    fn reached(&self, v: usize, proposal: &Proposal) -> Option<Solved<'u>> {
        if v == self.own {
            return None;
        }
        let edits = proposal.edits().iter().flat_map(|(edit, _)| self.reaching(v, *edit));
        let edits: Vec<Edit> = edits.collect();
        (!edits.is_empty()).then(|| self.described.solved[v].trial(&edits))
    }

    /// The edit as another variant feels it: where both take the value from the same place.
    fn reaching(&self, v: usize, edit: Edit) -> impl Iterator<Item = Edit> {
        let (own, other) = (self.own().variant, self.described.solved[v].variant);
        let alike = self.inputs[v].get(own.tables.input_of(edit.input).path.as_str());
        let here = origins(own, edit.input);
        let is_reached =
            move |input: &&InputId| origins(other, **input).iter().any(|node| here.contains(node));
        alike.into_iter().flatten().filter(is_reached).map(move |&input| Edit { input, ..edit })
    }
}

/// The places that the values of an input come from.
fn origins(variant: &Variant, input: InputId) -> Vec<NodeId> {
    let count = variant.tables.input_of(input).values.len();
    (0..count).filter_map(|duty| variant.tables.stated(input, DutyId::new(duty)).origin.node()).collect()
}

fn by_path(variant: &Variant) -> BTreeMap<&str, Vec<InputId>> {
    let mut inputs: BTreeMap<&str, Vec<InputId>> = BTreeMap::new();
    for (place, input) in variant.tables.inputs().iter().enumerate() {
        inputs.entry(input.path.as_str()).or_default().push(InputId::new(place));
    }
    inputs
}
