//! Tries what the checks propose and keeps the least change of each kind that holds.
//!
//! What no edit expresses cannot be tried here: it counts where its check found out itself that it holds, and says so.

use std::collections::BTreeMap;
use std::rc::Rc;

use loadworthy_unit::{DutyId, Edit, InputId, Solved};

use super::elsewhere::Elsewhere;
use super::group::Key;
use super::judge::{Broke, guarded, judge_trial};
use super::side_effects::side_effects;
use super::{Held, JudgedBy, Setting};
use crate::cause::origin_of;
use crate::check::{Change, Check, Failure, Family, Proof, Proposal};
use crate::collect::is_worse;
use crate::figure_text::{comparison, headroom};
use crate::verdict::{Fault, Verdict};

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
    /// Checks that broke down over it.
    pub(super) broke: Vec<Broke>,
}

/// A trial, with how all checks judge it.
struct Trial<'u> {
    solved: Solved<'u>,
    verdicts: Vec<Verdict>,
    broken: Vec<Broke>,
}

/// Solves and judges trials, as far as the effort goes, and keeps some for the next finding that asks for the same.
struct Bench<'s, 'u> {
    checks: &'s [&'static dyn Check],
    /// Place of the variant, and all variants as they are described.
    unit: (usize, &'s [Solved<'u>]),
    /// Trials that may still be solved, and those that may be kept.
    left: usize,
    kept: usize,
    known: BTreeMap<Vec<(InputId, u64)>, Rc<Trial<'u>>>,
}

impl<'s, 'u> Bench<'s, 'u> {
    fn new(checks: &'s [&'static dyn Check], unit: (usize, &'s [Solved<'u>])) -> Self {
        let variant = unit.1[unit.0].variant;
        let for_each = (variant.lanes.len() * variant.tables.figures().len()).max(1);
        Self {
            checks,
            unit,
            left: EFFORT / for_each,
            kept: (KEPT / for_each).max(STEPS),
            known: BTreeMap::new(),
        }
    }

    /// The first proposal of a ladder that passes, with what it passes with; an error where the effort is spent before.
    fn first<'p>(
        &mut self,
        ladder: &'p [Proposal],
        passes: &mut dyn FnMut(&Proposal, &Trial<'u>) -> Option<Vec<String>>,
    ) -> Result<Option<Passed<'p, 'u>>, Spent> {
        for steps in ladder.chunks(STEPS) {
            self.solve(steps)?;
            for proposal in steps {
                match &proposal.change {
                    Change::Edit(_) => {
                        if let Some(trial) = self.known.get(&identity(proposal))
                            && let Some(besides) = passes(proposal, trial)
                        {
                            return Ok(Some(Passed::Tried { proposal, trial: Rc::clone(trial), besides }));
                        }
                    }
                    // A check that does not say what is left does not know whether it holds.
                    Change::Reviewed { leaves, .. } if leaves.trim().is_empty() => {}
                    Change::Reviewed { proof, leaves, side_effects } => {
                        let say = &proposal.say;
                        return Ok(Some(Passed::Reviewed { say, proof: *proof, leaves, side_effects }));
                    }
                }
            }
        }
        Ok(None)
    }

    /// Solves what is not known yet, in one batch.
    fn solve(&mut self, steps: &[Proposal]) -> Result<(), Spent> {
        let is_new = |step: &&Proposal| {
            matches!(step.change, Change::Edit(_)) && !self.known.contains_key(&identity(step))
        };
        let new: Vec<&Proposal> = steps.iter().filter(is_new).collect();
        if new.len() > self.left {
            return Err(Spent);
        }
        self.left -= new.len();
        if self.known.len() + new.len() > self.kept {
            let wanted: Vec<_> = steps.iter().map(identity).collect();
            self.known.retain(|known, _| wanted.contains(known));
        }
        let edits = |proposal: &&Proposal| proposal.edits().iter().map(|(edit, _)| *edit).collect();
        let trials: Vec<Vec<Edit>> = new.iter().map(edits).collect();
        let (own, described) = self.unit;
        for (proposal, solved) in new.into_iter().zip(Solved::with(described[own].variant, &trials)) {
            let (verdicts, broken) = judge_trial(self.checks, &solved, own, described);
            self.known.insert(identity(proposal), Rc::new(Trial { solved, verdicts, broken }));
        }
        Ok(())
    }
}

/// A proposal that passes.
enum Passed<'p, 'u> {
    /// It was tried; with what is to be said of it besides.
    Tried { proposal: &'p Proposal, trial: Rc<Trial<'u>>, besides: Vec<String> },
    /// Its check stands for it.
    Reviewed { say: &'p str, proof: Proof, leaves: &'p str, side_effects: &'p [String] },
}

/// The effort is spent.
struct Spent;

fn identity(proposal: &Proposal) -> Vec<(InputId, u64)> {
    proposal.edits().iter().map(|(edit, _)| (edit.input, edit.value.to_bits())).collect()
}

/// Answers all findings of a variant: every finding's first family of changes, then every finding's second.
pub(super) fn propose(
    checks: &[&'static dyn Check],
    asked: &[Asked<'_>],
    verdicts: &[Verdict],
    elsewhere: &Elsewhere<'_, '_>,
) -> Vec<Answer> {
    let ((own, unit), solved) = (elsewhere.described(), elsewhere.own());
    let mut bench = Bench::new(checks, elsewhere.described());
    let mut answers: Vec<Answer> = asked.iter().map(|_| Answer::default()).collect();
    let mut spent = vec![false; asked.len()];
    let offered = asked.iter().zip(&mut answers).map(|(one, answer)| {
        guarded(|| one.check.propose(&Failure { worst: one.worst, all: &one.all, unit }, solved))
            .unwrap_or_else(|said| {
                answer.broke.push(Broke { check: one.key.check, variant: Some(own), said });
                Vec::new()
            })
    });
    let offered: Vec<Vec<Family>> = offered.collect();
    for round in 0..offered.iter().map(Vec::len).max().unwrap_or(0) {
        for (k, one) in asked.iter().enumerate() {
            let Some(family) = offered[k].get(round) else { continue };
            let Answer { held, broke, .. } = &mut answers[k];
            let mut mends = |proposal: &Proposal, trial: &Trial<'_>| {
                // Verdicts of a check that broke down are missing: the rest proves nothing.
                if !trial.broken.is_empty() {
                    broke.extend(trial.broken.iter().cloned());
                    return None;
                }
                if !elsewhere.standing().is_mended(&one.key, &trial.verdicts) {
                    return None;
                }
                elsewhere.besides(&one.key, proposal, &trial.solved, broke)
            };
            match bench.first(&family.ladder, &mut mends) {
                Ok(Some(Passed::Reviewed { say, proof, leaves, side_effects })) => held.push(Held {
                    judged_by: JudgedBy::OwnCheck(proof),
                    say: say.to_owned(),
                    set: Vec::new(),
                    leaves: leaves.to_owned(),
                    side_effects: elsewhere
                        .untried(&one.key)
                        .into_iter()
                        .chain(side_effects.iter().cloned())
                        .collect(),
                }),
                Ok(Some(Passed::Tried { proposal, trial, besides })) => held.push(Held {
                    judged_by: JudgedBy::AllChecks,
                    say: proposal.say.clone(),
                    set: settings(proposal, solved, one.worst.duty()),
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
    let own = worst(&|key| *key == asked.key);
    let is_structural = matches!(asked.worst.fault(), Some(Fault::Structural));
    // Headroom of something else would say nothing of a structure that is right again.
    let found = if is_structural {
        own
    } else {
        own.or_else(|| worst(&|key| key.stage == asked.key.stage)).or_else(|| worst(&|_| true))
    };
    match found.and_then(|verdict| Some((verdict, verdict.comparison()?))) {
        Some((verdict, compared)) => {
            let duty = verdict.duty().map(|duty| &variant.duties[duty.index()].name);
            let place = duty.map_or_else(String::new, |duty| format!(" in {duty}"));
            format!("{} ({}){place}", headroom(compared), comparison(compared).carried)
        }
        None if is_structural => "nothing of this kind".to_owned(),
        None => "a solution".to_owned(),
    }
}

fn settings(proposal: &Proposal, solved: &Solved<'_>, duty: Option<DutyId>) -> Vec<Setting> {
    let tables = &solved.variant.tables;
    let mut settings = Vec::new();
    for (edit, written) in proposal.edits() {
        let input = tables.input_of(edit.input);
        if !input.path.starts_with("duty.*") {
            settings.push(Setting {
                path: input.path.clone(),
                written: written.clone(),
                instead_of: origin_of(solved.variant, edit.input, duty).node(),
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
