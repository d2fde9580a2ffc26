//! Tries what the checks propose and keeps the least change of each kind that holds.

use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;

use loadworthy_unit::{DutyId, Edit, InputId, PartId, Solved, Variant};

use super::elsewhere::Elsewhere;
use super::group::Key;
use super::judge::{guarded, judge};
use super::side_effects::side_effects;
use super::{Held, Setting};
use crate::check::{Check, Failure, Family, Proposal};
use crate::collect::is_worse;
use crate::figure_text::{comparison, headroom};
use crate::verdict::{Outcome, Verdict};

/// Figures, over all lanes and trials of a variant, that a review solves to find proposals.
const EFFORT: usize = 24_000_000;
/// Figures of trials that are kept for other findings.
const KEPT: usize = 4_000_000;
/// Steps of a ladder that are solved together: few, because the first ones usually hold.
const STEPS: usize = 4;

/// A finding of a variant that asks for proposals.
pub(super) struct Asked<'v> {
    pub(super) key: Key<'v>,
    pub(super) check: &'static dyn Check,
    pub(super) worst: &'v Verdict,
    pub(super) all: Vec<&'v Verdict>,
}

/// What came of it.
#[derive(Default)]
pub(super) struct Answer {
    pub(super) held: Vec<Held>,
    /// Why nothing held, where nothing did.
    pub(super) nothing: Option<String>,
    /// Checks that broke down over it, with what they said.
    pub(super) broke: Vec<(&'static str, String)>,
}

/// A trial, with how all checks judge it.
struct Trial<'u> {
    solved: Solved<'u>,
    verdicts: Vec<Verdict>,
    broken: Broken,
}

/// Checks that broke down, with what they said.
type Broken = Vec<(&'static str, String)>;

/// Solves and judges trials, as far as the effort goes, and keeps some for the next finding that asks for the same.
struct Bench<'s, 'u> {
    checks: &'s [&'static dyn Check],
    variant: &'u Variant,
    /// Trials that may still be solved, and those that may be kept.
    left: usize,
    kept: usize,
    known: BTreeMap<Vec<(InputId, u64)>, Rc<Trial<'u>>>,
}

impl<'s, 'u> Bench<'s, 'u> {
    fn new(checks: &'s [&'static dyn Check], variant: &'u Variant) -> Self {
        let for_each = (variant.lanes.len() * variant.tables.figures().len()).max(1);
        Self {
            checks,
            variant,
            left: EFFORT / for_each,
            kept: (KEPT / for_each).max(STEPS),
            known: BTreeMap::new(),
        }
    }

    /// The first proposal of a ladder that passes, with its trial and what it passes with; an error where the effort is
    /// spent before.
    fn first<'p>(
        &mut self,
        ladder: &'p [Proposal],
        passes: &mut dyn FnMut(&Proposal, &Trial<'_>) -> Option<Vec<String>>,
    ) -> Result<Option<Passed<'p, 'u>>, Spent> {
        for steps in ladder.chunks(STEPS) {
            self.solve(steps)?;
            for proposal in steps {
                if let Some(trial) = self.known.get(&identity(proposal))
                    && let Some(besides) = passes(proposal, trial)
                {
                    return Ok(Some(Passed { proposal, trial: Rc::clone(trial), besides }));
                }
            }
        }
        Ok(None)
    }

    /// Solves what is not known yet, in one batch.
    fn solve(&mut self, steps: &[Proposal]) -> Result<(), Spent> {
        let new: Vec<&Proposal> =
            steps.iter().filter(|step| !self.known.contains_key(&identity(step))).collect();
        if new.len() > self.left {
            return Err(Spent);
        }
        self.left -= new.len();
        if self.known.len() + new.len() > self.kept {
            let wanted: Vec<_> = steps.iter().map(identity).collect();
            self.known.retain(|known, _| wanted.contains(known));
        }
        let edits = |proposal: &&Proposal| proposal.edits.iter().map(|(edit, _)| *edit).collect();
        let trials: Vec<Vec<Edit>> = new.iter().map(edits).collect();
        for (proposal, solved) in new.into_iter().zip(Solved::with(self.variant, &trials)) {
            let (verdicts, broken) = judge(self.checks, &solved);
            self.known.insert(identity(proposal), Rc::new(Trial { solved, verdicts, broken }));
        }
        Ok(())
    }
}

/// A proposal that passes, with what is to be said of it besides.
struct Passed<'p, 'u> {
    proposal: &'p Proposal,
    trial: Rc<Trial<'u>>,
    besides: Vec<String>,
}

/// The effort is spent.
struct Spent;

fn identity(proposal: &Proposal) -> Vec<(InputId, u64)> {
    proposal.edits.iter().map(|(edit, _)| (edit.input, edit.value.to_bits())).collect()
}

/// Answers all findings of a variant: every finding's first family of changes, then every finding's second.
pub(super) fn propose(
    checks: &[&'static dyn Check],
    asked: &[Asked<'_>],
    solved: &Solved<'_>,
    verdicts: &[Verdict],
    elsewhere: &Elsewhere<'_, '_>,
) -> Vec<Answer> {
    let mut bench = Bench::new(checks, solved.variant);
    let before = Standing::of(verdicts, solved.variant);
    let mut answers: Vec<Answer> = asked.iter().map(|_| Answer::default()).collect();
    let mut spent = vec![false; asked.len()];
    let offered = asked.iter().zip(&mut answers).map(|(one, answer)| {
        guarded(|| one.check.propose(&Failure { worst: one.worst, all: &one.all }, solved)).unwrap_or_else(
            |said| {
                answer.broke.push((one.key.check, said));
                Vec::new()
            },
        )
    });
    let offered: Vec<Vec<Family>> = offered.collect();
    for round in 0..offered.iter().map(Vec::len).max().unwrap_or(0) {
        for (k, one) in asked.iter().enumerate() {
            let Some(family) = offered[k].get(round) else { continue };
            let Answer { held, broke, .. } = &mut answers[k];
            let mut cures = |proposal: &Proposal, trial: &Trial<'_>| {
                // Verdicts of a check that broke down are missing: the rest proves nothing.
                if !trial.broken.is_empty() {
                    broke.extend(trial.broken.iter().cloned());
                    return None;
                }
                if !before.is_kept(&one.key, solved.variant, &trial.verdicts) {
                    return None;
                }
                elsewhere.besides(&one.key, proposal, broke)
            };
            match bench.first(&family.ladder, &mut cures) {
                Ok(Some(Passed { proposal, trial, besides })) => held.push(Held {
                    say: proposal.say.clone(),
                    set: settings(proposal, solved, one.worst.duty),
                    leaves: leaves(one, &trial),
                    side_effects: besides
                        .into_iter()
                        .chain(side_effects(&one.key, (solved, &trial.solved), (verdicts, &trial.verdicts)))
                        .collect(),
                }),
                Ok(None) => {}
                Err(Spent) => spent[k] = true,
            }
        }
    }
    for ((answer, families), spent) in answers.iter_mut().zip(&offered).zip(spent) {
        let tried: Vec<&str> =
            families.iter().filter(|f| !f.ladder.is_empty()).map(|family| family.tried.as_str()).collect();
        answer.nothing = match (answer.held.is_empty(), spent) {
            (true, true) => Some(TOO_LARGE.to_owned()),
            (true, false) if !answer.broke.is_empty() => Some(BROKE.to_owned()),
            (true, false) if !tried.is_empty() => {
                Some(format!("no single change of these holds without a new failure: {}", tried.join("; ")))
            }
            _ => None,
        };
    }
    answers
}

const TOO_LARGE: &str = "not all was tried: too many findings in too large a unit";
const BROKE: &str = "a check broke down over what was tried, so nothing is known to hold";

/// A verdict apart from how it ended.
type Identity = (&'static str, PartId, &'static str, DutyId);

fn identity_of(verdict: &Verdict) -> Identity {
    (verdict.check, verdict.part, verdict.defect, verdict.duty)
}

/// A failure as it stands before a change.
struct Failing<'u> {
    key: Key<'u>,
    /// Whether it says that there is no solution, instead of comparing a figure.
    is_unsolved: bool,
}

/// Which verdicts fail, and which are not given.
pub(super) struct Standing<'u> {
    failing: BTreeMap<Identity, Failing<'u>>,
    not_judged: BTreeSet<Identity>,
}

impl<'u> Standing<'u> {
    pub(super) fn of(verdicts: &[Verdict], variant: &'u Variant) -> Self {
        let failing = verdicts.iter().filter(|verdict| verdict.fails()).map(|verdict| {
            let failing =
                Failing { key: Key::of(verdict, variant), is_unsolved: verdict.comparison().is_none() };
            (identity_of(verdict), failing)
        });
        let not_judged = verdicts.iter().filter(|v| matches!(v.outcome, Outcome::NotJudged(_)));
        Self { failing: failing.collect(), not_judged: not_judged.map(identity_of).collect() }
    }

    /// Whether the finding is among the failures.
    pub(super) fn has(&self, key: &Key<'_>) -> bool {
        self.failing.values().any(|failing| failing.key == *key)
    }

    /// Whether a trial judges all that failed with the finding and finds that it holds, fails nothing that held and
    /// leaves nothing open that was judged.
    pub(super) fn is_kept(&self, key: &Key<'_>, variant: &Variant, tried: &[Verdict]) -> bool {
        let harms = |verdict: &Verdict| match verdict.outcome {
            Outcome::Holds(_) => false,
            Outcome::NotJudged(_) => {
                Key::of(verdict, variant) == *key || !self.not_judged.contains(&identity_of(verdict))
            }
            Outcome::Fails { .. } => {
                Key::of(verdict, variant) == *key || !self.failing.contains_key(&identity_of(verdict))
            }
        };
        let mut cured = self.failing.iter().filter(|(_, failing)| failing.key == *key);
        !tried.iter().any(harms) && cured.all(|(identity, failing)| is_cured(identity, failing, tried))
    }
}

/// Whether a trial says that what failed holds; a failure that is merely no longer spoken of is not cured.
fn is_cured(identity: &Identity, failing: &Failing<'_>, tried: &[Verdict]) -> bool {
    let holds = |verdict: &&Verdict| matches!(verdict.outcome, Outcome::Holds(_));
    if let Some(same) = tried.iter().find(|verdict| identity_of(verdict) == *identity) {
        return holds(&same);
    }
    let (check, part, _, duty) = *identity;
    // A comparison may give way to another one of the same part. Where there was no solution the check, now that there
    // is one, speaks of other parts.
    let mut instead = tried
        .iter()
        .filter(|v| v.check == check && v.duty == duty && (failing.is_unsolved || v.part == part));
    if failing.is_unsolved {
        instead.any(|verdict| holds(&verdict))
    } else {
        instead.next().is_some_and(|verdict| holds(&verdict)) && instead.all(|verdict| holds(&verdict))
    }
}

/// The worst headroom that a trial leaves to what failed: of the same cause, or of the same check and stage.
fn leaves(asked: &Asked<'_>, trial: &Trial<'_>) -> String {
    let variant = trial.solved.variant;
    let worst = |alike: &dyn Fn(&Key<'_>) -> bool| {
        let those = trial.verdicts.iter().filter(|verdict| {
            verdict.check == asked.key.check
                && verdict.comparison().is_some()
                && alike(&Key::of(verdict, variant))
        });
        those.reduce(|worst, one| if is_worse(one, worst) { one } else { worst })
    };
    let found = worst(&|key| *key == asked.key).or_else(|| worst(&|key| key.stage == asked.key.stage));
    match found.or_else(|| worst(&|_| true)).and_then(|verdict| Some((verdict, verdict.comparison()?))) {
        Some((verdict, compared)) => {
            let duty = &variant.duty_of(verdict.lane).name;
            format!("{} ({}) in {duty}", headroom(compared), comparison(compared).carried)
        }
        None => "a solution".to_owned(),
    }
}

fn settings(proposal: &Proposal, solved: &Solved<'_>, duty: DutyId) -> Vec<Setting> {
    let tables = &solved.variant.tables;
    let mut settings = Vec::new();
    for (edit, written) in &proposal.edits {
        let input = tables.input_of(edit.input);
        if !input.path.starts_with("duty.*") {
            settings.push(Setting {
                path: input.path.clone(),
                written: written.clone(),
                instead_of: tables.stated(edit.input, duty).origin.node(),
            });
            continue;
        }
        // An edit stands in all duty points; each states the value at a place of its own.
        for (place, one) in solved.variant.duties.iter().enumerate() {
            settings.push(Setting {
                path: tables.input_path(edit.input, &one.name),
                written: written.clone(),
                instead_of: tables.stated(edit.input, DutyId::new(place)).origin.node(),
            });
        }
    }
    settings
}
