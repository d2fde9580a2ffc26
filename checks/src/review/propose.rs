//! Tries what the checks propose, all at once, and keeps what holds.

use std::collections::BTreeMap;
use std::collections::btree_map::Entry;

use loadworthy_unit::{DutyId, Edit, InputId, PartId, Solved};

use super::group::Key;
use super::judge::judge;
use super::side_effects::side_effects;
use super::{Held, Setting};
use crate::check::{Check, Failure, Family, Proposal};
use crate::collect::is_worse;
use crate::figure_text::{comparison, left_or_over};
use crate::verdict::{Outcome, Verdict};

/// Figures, over all lanes and trials of a variant, that a review solves to find proposals.
const EFFORT: usize = 8_000_000;

/// A finding of a variant that asks for proposals.
pub(super) struct Asked<'v> {
    pub(super) key: Key,
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
}

/// A trial, with how all checks judge it.
struct Trial<'v> {
    solved: Solved<'v>,
    verdicts: Vec<Verdict>,
}

/// Answers all findings of a variant from one batch of trials; the first ones first, as far as the effort goes.
pub(super) fn propose(
    checks: &[&dyn Check],
    asked: &[Asked<'_>],
    solved: &Solved<'_>,
    verdicts: &[Verdict],
) -> Vec<Answer> {
    let for_each = solved.variant.lanes.len() * solved.variant.tables.figures().len().max(1);
    let most = (EFFORT / for_each.max(1)).max(1);
    let mut places: BTreeMap<Vec<(InputId, u64)>, usize> = BTreeMap::new();
    let mut trials: Vec<Vec<Edit>> = Vec::new();
    let mut families: Vec<Option<Vec<Family>>> = Vec::new();
    for one in asked {
        let offered = one.check.propose(&Failure { worst: one.worst, all: &one.all }, solved);
        let new: usize = offered.iter().map(|family| family.ladder.len()).sum();
        if trials.len() + new > most {
            families.push(None);
            continue;
        }
        for proposal in offered.iter().flat_map(|family| &family.ladder) {
            if let Entry::Vacant(vacant) = places.entry(identity(proposal)) {
                vacant.insert(trials.len());
                trials.push(proposal.edits.iter().map(|(edit, _)| *edit).collect());
            }
        }
        families.push(Some(offered));
    }
    let tried: Vec<Trial<'_>> = Solved::with(solved.variant, &trials)
        .into_iter()
        .map(|solved| {
            let (verdicts, _) = judge(checks, &solved);
            Trial { solved, verdicts }
        })
        .collect();
    let before = Standing::of(verdicts);
    let answers = asked.iter().zip(families).map(|(one, families)| {
        let Some(families) = families else {
            let nothing =
                "not tried: too many findings in too large a unit; review fewer duty points at a time";
            return Answer { held: Vec::new(), nothing: Some(nothing.to_owned()) };
        };
        let find = |proposal: &Proposal| places.get(&identity(proposal)).and_then(|&place| tried.get(place));
        answer(one, &families, &find, solved, verdicts, &before)
    });
    answers.collect()
}

fn identity(proposal: &Proposal) -> Vec<(InputId, u64)> {
    proposal.edits.iter().map(|(edit, _)| (edit.input, edit.value.to_bits())).collect()
}

fn answer<'t, 'v: 't>(
    asked: &Asked<'_>,
    families: &[Family],
    find: &dyn Fn(&Proposal) -> Option<&'t Trial<'v>>,
    solved: &Solved<'_>,
    verdicts: &[Verdict],
    before: &Standing,
) -> Answer {
    let mut held = Vec::new();
    for family in families {
        let found = family.ladder.iter().find_map(|proposal| {
            let trial = find(proposal)?;
            holds(&asked.key, trial, before).then_some((proposal, trial))
        });
        if let Some((proposal, trial)) = found {
            held.push(Held {
                say: proposal.say.clone(),
                set: settings(proposal, solved, asked.worst.duty),
                leaves: leaves(asked, trial),
                side_effects: side_effects(&asked.key, (solved, &trial.solved), (verdicts, &trial.verdicts)),
            });
        }
    }
    let tried: Vec<&str> =
        families.iter().filter(|f| !f.ladder.is_empty()).map(|family| family.tried.as_str()).collect();
    let nothing = (held.is_empty() && !tried.is_empty())
        .then(|| format!("no single change of these holds without a new failure: {}", tried.join("; ")));
    Answer { held, nothing }
}

/// Which verdicts fail and which are not given.
struct Standing {
    failing: Vec<(&'static str, PartId, &'static str, DutyId)>,
    not_judged: usize,
}

impl Standing {
    fn of(verdicts: &[Verdict]) -> Self {
        let failing = verdicts.iter().filter(|verdict| verdict.fails());
        let mut failing: Vec<_> = failing.map(|v| (v.check, v.part, v.defect, v.duty)).collect();
        failing.sort_unstable();
        let not_judged = verdicts.iter().filter(|v| matches!(v.outcome, Outcome::NotJudged(_))).count();
        Self { failing, not_judged }
    }
}

/// Whether a trial cures the finding in every lane, fails nothing that held and leaves nothing open that was judged.
fn holds(key: &Key, trial: &Trial<'_>, before: &Standing) -> bool {
    let variant = trial.solved.variant;
    let mut not_judged = 0;
    for verdict in &trial.verdicts {
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
                if Key::of(verdict, variant) == *key || before.failing.binary_search(&identity).is_err() {
                    return false;
                }
            }
        }
    }
    not_judged <= before.not_judged
}

/// The worst headroom that a trial leaves to what failed: of the same cause, or of the same check and stage.
fn leaves(asked: &Asked<'_>, trial: &Trial<'_>) -> String {
    let variant = trial.solved.variant;
    let worst = |alike: &dyn Fn(&Key) -> bool| {
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
            format!("{}, {} in {duty}", comparison(compared).carried, left_or_over(compared))
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
