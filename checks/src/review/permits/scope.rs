//! Which failures of a finding a permit bears on.

use std::collections::BTreeSet;

use loadworthy_unit::trace::Operand;
use loadworthy_unit::{Permit, Variant};

use super::super::group::{Group, first_two};
use super::{is_at, places};
use crate::verdict::Verdict;

/// What a permit bears on in a finding that it names: its own part, and what the finding names beside it, unless that states
/// its limit in an entry of its own. Of such a limit nobody has said anything.
pub(super) struct Scope<'a> {
    permit: &'a Permit,
    /// Entries that state the limits of what it names.
    entries: BTreeSet<&'a str>,
}

impl<'a> Scope<'a> {
    pub(super) fn of(
        permit: &'a Permit,
        group: &Group,
        variants: &'a [Variant],
        verdicts: &[Vec<Verdict>],
    ) -> Self {
        let all = places(group).map(|(v, place)| (&verdicts[v][place], &variants[v]));
        let named = all.filter(|(verdict, variant)| {
            names(permit, variant.path(verdict.part)) && covers(permit, verdict, variant)
        });
        let entries = named.filter_map(|(verdict, variant)| entry(verdict, variant)).collect();
        Self { permit, entries }
    }

    /// Whether it bears on a failure of the finding.
    pub(super) fn has(&self, verdict: &Verdict, variant: &Variant) -> bool {
        covers(self.permit, verdict, variant)
            && (names(self.permit, variant.path(verdict.part))
                || entry(verdict, variant).is_none_or(|entry| self.entries.contains(entry)))
    }
}

/// Whether a failure lies in the duty point and variant of a permit. What is so whatever is asked lies in no duty point.
pub(super) fn covers(permit: &Permit, verdict: &Verdict, variant: &Variant) -> bool {
    let duty = verdict.duty().map(|duty| variant.duties[duty.index()].name.as_str());
    let is_asked = |asked: &str, name: Option<&str>| name == Some(asked);
    permit.duty.as_ref().is_none_or(|asked| is_asked(&asked.value, duty))
        && permit.variant.as_ref().is_none_or(|asked| is_asked(&asked.value, variant.name.as_deref()))
}

/// Whether a permit calls a part by its name, or by that of what it lies in.
fn names(permit: &Permit, path: &str) -> bool {
    let only = permit.only.iter().flat_map(|only| &only.value);
    is_at(&permit.part.value, path) || only.into_iter().any(|one| is_at(&one.value, path))
}

/// Section and name of the entry that states the limit of a failure; none where no entry does.
fn entry<'v>(verdict: &Verdict, variant: &'v Variant) -> Option<&'v str> {
    match verdict.comparison()?.limit_from? {
        Operand::Input(input) => Some(first_two(&variant.tables.input_of(input).path)),
        Operand::Figure(_) | Operand::Curve(_) => None,
    }
}
