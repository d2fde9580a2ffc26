//! What a change does in the other variants that share the values it changes.
//!
//! A value that a variant patches is its own: a change of one does not reach the other. A value that both take from the
//! same place of the description changes in both, and a change that helps one must not harm the other.

use std::collections::BTreeMap;

use loadworthy_unit::{DutyId, Edit, InputId, Solved, Variant};

use super::group::Key;
use super::judge::judge;
use super::propose::Standing;
use crate::check::{Check, Proposal};
use crate::verdict::Verdict;

/// The other variants of a unit, as they stand.
pub(super) struct Elsewhere<'s, 'u> {
    checks: &'s [&'static dyn Check],
    own: &'u Variant,
    others: Vec<Other<'u>>,
}

struct Other<'u> {
    variant: &'u Variant,
    standing: Standing<'u>,
    inputs: BTreeMap<&'u str, InputId>,
}

impl<'s, 'u> Elsewhere<'s, 'u> {
    /// All variants but one.
    pub(super) fn of(
        checks: &'s [&'static dyn Check],
        own: usize,
        solved: &[Solved<'u>],
        verdicts: &[Vec<Verdict>],
    ) -> Option<Self> {
        let others = solved.iter().zip(verdicts).enumerate().filter(|(v, _)| *v != own);
        let others = others.map(|(_, (solved, verdicts))| Other {
            variant: solved.variant,
            standing: Standing::of(verdicts, solved.variant),
            inputs: by_path(solved.variant),
        });
        Some(Self { checks, own: solved.get(own)?.variant, others: others.collect() })
    }

    /// What is to be said of a change in the other variants; nothing where it does not cure the finding wherever else it
    /// reaches, or harms something there. Checks that break down over it are added to `broke`.
    pub(super) fn besides(
        &self,
        key: &Key<'_>,
        proposal: &Proposal,
        broke: &mut Vec<(&'static str, String)>,
    ) -> Option<Vec<String>> {
        let mut besides = Vec::new();
        for other in &self.others {
            let edits: Vec<Edit> =
                proposal.edits.iter().filter_map(|(edit, _)| reaching(self.own, other, *edit)).collect();
            if edits.is_empty() {
                if other.standing.has(key) {
                    let name = other.variant.name.as_deref().unwrap_or("another variant");
                    besides.push(format!("does not reach {name}, where it still fails"));
                }
                continue;
            }
            for solved in Solved::with(other.variant, &[edits]) {
                let (verdicts, broken) = judge(self.checks, &solved);
                let is_whole = broken.is_empty();
                broke.extend(broken);
                if !is_whole || !other.standing.is_kept(key, other.variant, &verdicts) {
                    return None;
                }
            }
        }
        Some(besides)
    }
}

fn by_path(variant: &Variant) -> BTreeMap<&str, InputId> {
    let inputs = variant.tables.inputs().iter().enumerate();
    inputs.map(|(place, input)| (input.path.as_str(), InputId::new(place))).collect()
}

/// The edit as the other variant feels it: where both take the value from the same place.
fn reaching(own: &Variant, other: &Other<'_>, edit: Edit) -> Option<Edit> {
    let input = *other.inputs.get(own.tables.input_of(edit.input).path.as_str())?;
    let origins = |variant: &Variant, input: InputId| -> Vec<_> {
        let count = variant.tables.input_of(input).values.len();
        (0..count).filter_map(|duty| variant.tables.stated(input, DutyId::new(duty)).origin.node()).collect()
    };
    let (here, there) = (origins(own, edit.input), origins(other.variant, input));
    there.iter().any(|node| here.contains(node)).then_some(Edit { input, value: edit.value })
}
