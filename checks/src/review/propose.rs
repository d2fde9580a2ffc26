//! Tries what the checks propose and keeps the least change of each kind that holds.

use std::collections::BTreeMap;
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
    /// What the check said as it broke down, where it did.
    pub(super) broke: Option<String>,
}

/// A trial, with how all checks judge it.
struct Trial<'u> {
    solved: Solved<'u>,
    verdicts: Vec<Verdict>,
}

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

    /// The first proposal of a ladder that passes, with its trial; an error where the effort is spent before.
    fn first<'p>(
        &mut self,
        ladder: &'p [Proposal],
        passes: &dyn Fn(&Proposal, &Trial<'_>) -> bool,
    ) -> Result<Option<(&'p Proposal, Rc<Trial<'u>>)>, Spent> {
        for steps in ladder.chunks(STEPS) {
            self.solve(steps)?;
            for proposal in steps {
                if let Some(trial) = self.known.get(&identity(proposal))
                    && passes(proposal, trial)
                {
                    return Ok(Some((proposal, Rc::clone(trial))));
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
            let (verdicts, _) = judge(self.checks, &solved);
            self.known.insert(identity(proposal), Rc::new(Trial { solved, verdicts }));
        }
        Ok(())
    }
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
    let before = Standing::of(verdicts);
    let mut answers: Vec<Answer> = asked.iter().map(|_| Answer::default()).collect();
    let mut spent = vec![false; asked.len()];
    let offered = asked.iter().zip(&mut answers).map(|(one, answer)| {
        guarded(|| one.check.propose(&Failure { worst: one.worst, all: &one.all }, solved)).unwrap_or_else(
            |said| {
                answer.broke = Some(said);
                Vec::new()
            },
        )
    });
    let offered: Vec<Vec<Family>> = offered.collect();
    for round in 0..offered.iter().map(Vec::len).max().unwrap_or(0) {
        for (k, one) in asked.iter().enumerate() {
            let Some(family) = offered[k].get(round) else { continue };
            let cures = |proposal: &Proposal, trial: &Trial<'_>| {
                before.is_kept(&one.key, solved.variant, &trial.verdicts)
                    && elsewhere.holds(&one.key, proposal)
            };
            match bench.first(&family.ladder, &cures) {
                Ok(Some((proposal, trial))) => answers[k].held.push(Held {
                    say: proposal.say.clone(),
                    set: settings(proposal, solved, one.worst.duty),
                    leaves: leaves(one, &trial),
                    side_effects: side_effects(
                        &one.key,
                        (solved, &trial.solved),
                        (verdicts, &trial.verdicts),
                    ),
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
            (true, false) if !tried.is_empty() => {
                Some(format!("no single change of these holds without a new failure: {}", tried.join("; ")))
            }
            _ => None,
        };
    }
    answers
}

const TOO_LARGE: &str = "not all was tried: too many findings in too large a unit";

/// Which verdicts fail, and how many are not given.
pub(super) struct Standing {
    failing: Vec<(&'static str, PartId, &'static str, DutyId)>,
    not_judged: usize,
}

impl Standing {
    pub(super) fn of(verdicts: &[Verdict]) -> Self {
        let failing = verdicts.iter().filter(|verdict| verdict.fails());
        let mut failing: Vec<_> = failing.map(|v| (v.check, v.part, v.defect, v.duty)).collect();
        failing.sort_unstable();
        let not_judged = verdicts.iter().filter(|v| matches!(v.outcome, Outcome::NotJudged(_))).count();
        Self { failing, not_judged }
    }

    /// Whether a trial is without the finding in every lane, fails nothing that held and leaves nothing open that was
    /// judged.
    pub(super) fn is_kept(&self, key: &Key<'_>, variant: &Variant, tried: &[Verdict]) -> bool {
        let mut not_judged = 0;
        for verdict in tried {
            match verdict.outcome {
                Outcome::Holds(_) => {}
                Outcome::NotJudged(_) => {
                    not_judged += 1;
                    if Key::of(verdict, variant) == *key {
                        return false;
                    }
                }
                Outcome::Fails { .. } => {
                    let identity = (verdict.check, verdict.part, verdict.defect, verdict.duty);
                    if Key::of(verdict, variant) == *key || self.failing.binary_search(&identity).is_err() {
                        return false;
                    }
                }
            }
        }
        not_judged <= self.not_judged
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
