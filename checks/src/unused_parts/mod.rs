//! Is anything declared and used by nothing, or on no path of current or coolant?
//!
//! An entry counts as unused only where no variant uses it, so all variants are judged together. Entries of parts files
//! are a stock to choose from and are passed over.

use std::collections::BTreeSet;

use loadworthy_unit::plan::{Declared, Unused, WhyUnused};
use loadworthy_unit::{NodeId, PartId, Solved};

use crate::check::{About, Change, Check, Failure, Family, Proof, Proposal, Told};
use crate::collect::{Subject, Verdicts, structural};
use crate::review::Place;
use crate::tell::part_at;
use crate::verdict::Grade;
use crate::{fuse_coordination, power_balance, stored_energy};

/// Places that are shown beside the first.
const MOST_PLACES: usize = 4;
const UNUSED: &str = "unused";
const DEAD_END: &str = "dead-end";

static ABOUT: About = About {
    name: "unused-parts",
    former_names: &[],
    question: "Is anything declared and used by nothing, or on no path of current or coolant?",
    page: include_str!("page.md"),
    fails: include_str!("fails.yaml"),
    holds: include_str!("holds.yaml"),
    defects: &[
        (UNUSED, "an entry that nothing names, or that no current and no coolant reaches"),
        (DEAD_END, "a coolant element cools something, and the path does not visit it"),
    ],
    policy: &[],
    since: 2026,
};

/// The check.
pub(crate) struct UnusedParts;

impl Check for UnusedParts {
    fn about(&self) -> &'static About {
        &ABOUT
    }

    fn judges_each_duty_point(&self) -> bool {
        false
    }

    fn compares(&self) -> bool {
        false
    }

    fn judge(&self, solved: &Solved<'_>, out: &mut Verdicts) {
        self.judge_unit(&[solved], core::slice::from_mut(out));
    }

    fn judges_variants_together(&self) -> bool {
        true
    }

    fn judge_unit(&self, all: &[&Solved<'_>], out: &mut [Verdicts]) {
        for (own, (solved, out)) in all.iter().zip(out).enumerate() {
            if out.is_wanted() {
                judge(own, all, solved, out);
            }
        }
    }

    fn tell(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
        let worst = failure.worst;
        let unused = unused_of(solved, worst.part)?;
        let part = solved.variant.path(worst.part);
        let label = if unused.is_dead_end() { "not on the coolant path" } else { why(unused) };
        let (saying, no_proposal) = match (unused.why, unused.what) {
            (WhyUnused::OffThePath { cools: true }, _) => (
                format!(
                    "`{part}` cools something that no coolant passes: the coolant path does not visit it"
                ),
                // Where along the path it belongs, only a person knows.
                Some(format!(
                    "name `{part}` in `cooling.path`, or in a branch of it, at the place where the coolant passes it"
                )),
            ),
            (WhyUnused::NoBus { is_counted_on: true }, Declared::Source) => (
                format!("`{part}` feeds no bus, and a duty point states what it gives: nothing gets it"),
                Some(format!("lead a branch from `{part}` to its bus")),
            ),
            (WhyUnused::NoBus { is_counted_on: true }, _) => (
                format!("`{part}` hangs on no bus, and a duty point states what it takes: nothing gives it"),
                Some(format!("say as `bus` of `{part}` where it hangs, or lead a branch to it")),
            ),
            _ => (format!("`{part}` is declared and used by nothing: {}", why(unused)), None),
        };
        let worked = vec![format!("`{part}` stands on no path from the inlet to the outlet")];
        let worked = if unused.is_dead_end() { worked } else { Vec::new() };
        let mut because: Vec<Place> = Vec::new();
        for other in failure.all.iter().filter(|other| other.part != worst.part) {
            let place = part_at(solved, other.part, label.to_owned());
            if because.len() < MOST_PLACES && !because.contains(&place) {
                because.push(place);
            }
        }
        let at = part_at(solved, worst.part, label.to_owned());
        Some(Told { because, worked, no_proposal, ..Told::new(saying, at) })
    }

    fn propose(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
        let part = solved.variant.path(failure.worst.part);
        if unused_of(solved, failure.worst.part)
            .is_none_or(|unused| unused.is_dead_end() || unused.is_counted_on())
        {
            return Vec::new();
        }
        let change = Change::Reviewed {
            proof: Proof::ExactRule,
            leaves: "every figure as it is".to_owned(),
            side_effects: Vec::new(),
        };
        let leave_out = Proposal { say: format!("leave `{part}` out, or keep it in a parts file"), change };
        vec![Family { tried: format!("without `{part}`"), ladder: vec![leave_out] }]
    }
}

/// Why nothing uses an entry, in words.
const fn why(unused: &Unused) -> &'static str {
    match (unused.why, unused.what) {
        (WhyUnused::NoBus { .. }, Declared::Source) => "it feeds no bus",
        (WhyUnused::NoBus { .. }, _) => "it hangs on no bus",
        (WhyUnused::NeverAsked, _) => "no duty point asks anything for it",
        (WhyUnused::OffThePath { .. }, _) => "the coolant path does not visit it",
        (WhyUnused::Unnamed, what) => match what {
            Declared::Bus => "nothing feeds it and nothing hangs on it",
            Declared::Machine => "no stage feeds it",
            Declared::Conductor => "it stands in no branch",
            Declared::Controller => "it commands no stage",
            Declared::Device => "it is fitted nowhere",
            Declared::CapacitorType => "no bank is built from it",
            Declared::Magnetic | Declared::Source | Declared::Load | Declared::Element => "no stage names it",
        },
    }
}

fn unused_of<'v>(solved: &Solved<'v>, part: PartId) -> Option<&'v Unused> {
    solved.variant.plan.unused.iter().find(|unused| unused.part == part)
}

fn judge(own: usize, all: &[&Solved<'_>], solved: &Solved<'_>, out: &mut Verdicts) {
    let variant = solved.variant;
    let others = all.iter().enumerate().filter(|&(v, _)| v != own).map(|(_, other)| other);
    let elsewhere: Vec<BTreeSet<NodeId>> = others.map(|other| unused_in(other)).collect();
    let lacks_a_feed = power_balance::lacks_a_feed(solved);
    let lacks_a_conductor =
        stored_energy::lacks_a_conductor(solved) || fuse_coordination::lacks_a_fuse(solved);
    for unused in &variant.plan.unused {
        let at = variant.tables.part_of(unused.part).at;
        // What the variant itself adds, no other one could use.
        if !unused.is_own && elsewhere.iter().any(|other| !other.contains(&at)) {
            continue;
        }
        // What lacks in the way from a source, around its contactor, or as a fuse, is told there, with what was meant for it.
        let is_told = match unused.what {
            Declared::Conductor => lacks_a_conductor || lacks_a_feed,
            Declared::Source => lacks_a_feed,
            _ => false,
        };
        if is_told {
            continue;
        }
        let (defect, grade) = match unused.why {
            WhyUnused::OffThePath { cools: true } => (DEAD_END, Grade::Minor),
            WhyUnused::NoBus { is_counted_on: true } => (UNUSED, Grade::Major),
            _ => (UNUSED, Grade::Note),
        };
        // A branch that is gone leaves all that stood in it.
        let kin = (unused.what == Declared::Conductor).then_some(unused.section);
        let subject = Subject { kin, ..subject(unused.part, defect) };
        out.put(solved, subject, structural(Ok(false), grade), Vec::new());
    }
    // What somebody buys and a branch or a stage names: of a bus or a place it is no news.
    let wired = variant.plan.conductors.iter().map(|conductor| conductor.part);
    let wound = variant.plan.magnetics.iter().map(|magnetic| magnetic.part);
    let named: BTreeSet<&str> = variant.plan.unused.iter().map(|unused| variant.path(unused.part)).collect();
    for part in wired.chain(wound) {
        if !named.contains(variant.path(part)) {
            out.put(solved, subject(part, UNUSED), structural(Ok(true), Grade::Note), Vec::new());
        }
    }
}

/// Entries that a variant declares and does not use.
fn unused_in(solved: &Solved<'_>) -> BTreeSet<NodeId> {
    let tables = &solved.variant.tables;
    solved.variant.plan.unused.iter().map(|unused| tables.part_of(unused.part).at).collect()
}

const fn subject(part: PartId, defect: &'static str) -> Subject {
    Subject { part, defect, lane: None, kin: None }
}
