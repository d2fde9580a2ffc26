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
    standing: Standing,
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
            standing: Standing::of(verdicts),
            inputs: by_path(solved.variant),
        });
        Some(Self { checks, own: solved.get(own)?.variant, others: others.collect() })
    }

    /// Whether a change cures the finding, or leaves it cured, wherever else it reaches, and harms nothing there.
    pub(super) fn holds(&self, key: &Key<'_>, proposal: &Proposal) -> bool {
        self.others.iter().all(|other| {
            let edits: Vec<Edit> =
                proposal.edits.iter().filter_map(|(edit, _)| reaching(self.own, other, *edit)).collect();
            if edits.is_empty() {
                return true;
            }
            Solved::with(other.variant, &[edits]).iter().all(|solved| {
                let (verdicts, _) = judge(self.checks, solved);
                other.standing.is_kept(key, solved.variant, &verdicts)
            })
        })
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
